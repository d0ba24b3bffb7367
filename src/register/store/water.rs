//! The SQL of water supplies.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, SiteId, WaterSupplyId};
use crate::register::water::{
    NewWaterTest, TankLevel, WaterFigures, WaterSource, WaterSupply, WaterTank, WaterTest,
};
use crate::science::stored::{Millilitres, TenthsCelsius};
use crate::text::{Name, Note};

struct Row {
    id: WaterSupplyId,
    name: Name,
    source: WaterSource,
    rinses_only: bool,
    tank_ml: Option<Millilitres>,
    tank_least_ml: Option<Millilitres>,
    retired: bool,
    version: i64,
}

struct TestRow {
    supply_id: WaterSupplyId,
    measured_on: NaiveDate,
    caught_ml: Millilitres,
    seconds: i64,
    water_tenths_c: Option<TenthsCelsius>,
    note: Note,
    person: Name,
    at: Moment,
}

impl From<TestRow> for WaterTest {
    fn from(row: TestRow) -> Self {
        Self {
            new: NewWaterTest {
                measured_on: row.measured_on,
                caught: row.caught_ml,
                seconds: row.seconds,
                water: row.water_tenths_c,
                note: row.note,
            },
            person: row.person,
            at: row.at,
        }
    }
}

struct LevelRow {
    supply_id: WaterSupplyId,
    level_ml: Millilitres,
    person: Name,
    at: Moment,
}

impl From<LevelRow> for TankLevel {
    fn from(row: LevelRow) -> Self {
        Self {
            level: row.level_ml,
            person: row.person,
            at: row.at,
        }
    }
}

/// Every supply with the newest that was measured of it; retired ones last.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<WaterSupply>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: WaterSupplyId", name as "name: Name", source as "source: WaterSource",
                  rinses_only as "rinses_only: bool", tank_ml as "tank_ml: Millilitres",
                  tank_least_ml as "tank_least_ml: Millilitres", retired_at is not null as "retired!: bool", version
             from water_supply order by retired_at is not null, id"#
    )
    .fetch_all(&mut *conn)
    .await?;
    let mut tests = newest_tests(conn).await?;
    let mut levels = newest_levels(conn).await?;
    let supplies = rows.into_iter().map(|row| WaterSupply {
        test: take(&mut tests, |test| test.supply_id == row.id).map(WaterTest::from),
        level: take(&mut levels, |level| level.supply_id == row.id).map(TankLevel::from),
        id: row.id,
        figures: WaterFigures {
            name: row.name,
            source: row.source,
            rinses_only: row.rinses_only,
            tank: row
                .tank_ml
                .zip(row.tank_least_ml)
                .map(|(holds, least)| WaterTank { holds, least }),
        },
        retired: row.retired,
        version: row.version,
    });
    Ok(supplies.collect())
}

fn take<T>(rows: &mut Vec<T>, wanted: impl Fn(&T) -> bool) -> Option<T> {
    let at = rows.iter().position(wanted)?;
    Some(rows.swap_remove(at))
}

pub async fn by_id(
    conn: &mut SqliteConnection,
    id: WaterSupplyId,
) -> sqlx::Result<Option<WaterSupply>> {
    let all = all(conn).await?;
    Ok(all.into_iter().find(|supply| supply.id == id))
}

async fn newest_tests(conn: &mut SqliteConnection) -> sqlx::Result<Vec<TestRow>> {
    sqlx::query_as!(
        TestRow,
        r#"select t.supply_id as "supply_id: WaterSupplyId", t.measured_on as "measured_on: NaiveDate",
                  t.caught_ml as "caught_ml: Millilitres", t.seconds, t.water_tenths_c as "water_tenths_c: TenthsCelsius",
                  t.note as "note: Note", p.name as "person: Name", t.at as "at: Moment"
             from water_test t join person p on p.id = t.person_id
            where not exists (select 1 from water_test later
                               where later.supply_id = t.supply_id
                                 and (later.measured_on, later.id) > (t.measured_on, t.id))"#
    )
    .fetch_all(conn)
    .await
}

async fn newest_levels(conn: &mut SqliteConnection) -> sqlx::Result<Vec<LevelRow>> {
    sqlx::query_as!(
        LevelRow,
        r#"select l.supply_id as "supply_id: WaterSupplyId", l.level_ml as "level_ml: Millilitres",
                  p.name as "person: Name", l.at as "at: Moment"
             from tank_level l join person p on p.id = l.person_id
            where not exists (select 1 from tank_level later where later.supply_id = l.supply_id and later.id > l.id)"#
    )
    .fetch_all(conn)
    .await
}

/// Every test of a supply, the newest first.
pub async fn tests_of(
    conn: &mut SqliteConnection,
    id: WaterSupplyId,
) -> sqlx::Result<Vec<WaterTest>> {
    let rows = sqlx::query_as!(
        TestRow,
        r#"select t.supply_id as "supply_id: WaterSupplyId", t.measured_on as "measured_on: NaiveDate",
                  t.caught_ml as "caught_ml: Millilitres", t.seconds, t.water_tenths_c as "water_tenths_c: TenthsCelsius",
                  t.note as "note: Note", p.name as "person: Name", t.at as "at: Moment"
             from water_test t join person p on p.id = t.person_id
            where t.supply_id = ?1 order by t.measured_on desc, t.id desc"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(WaterTest::from).collect())
}

/// The levels that were seen in a tank, the newest first.
pub async fn levels_of(
    conn: &mut SqliteConnection,
    id: WaterSupplyId,
    most: i64,
) -> sqlx::Result<Vec<TankLevel>> {
    let rows = sqlx::query_as!(
        LevelRow,
        r#"select l.supply_id as "supply_id: WaterSupplyId", l.level_ml as "level_ml: Millilitres",
                  p.name as "person: Name", l.at as "at: Moment"
             from tank_level l join person p on p.id = l.person_id
            where l.supply_id = ?1 order by l.id desc limit ?2"#,
        id,
        most,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(TankLevel::from).collect())
}

pub async fn insert(
    tx: &mut WriteTx,
    site: SiteId,
    new: &WaterFigures,
) -> sqlx::Result<WaterSupplyId> {
    let (holds, least) = (
        new.tank.map(|tank| tank.holds),
        new.tank.map(|tank| tank.least),
    );
    sqlx::query_scalar!(
        r#"insert into water_supply (site_id, name, source, rinses_only, tank_ml, tank_least_ml)
           values (?1, ?2, ?3, ?4, ?5, ?6) returning id as "id!: WaterSupplyId""#,
        site,
        new.name,
        new.source,
        new.rinses_only,
        holds,
        least,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    id: WaterSupplyId,
    version: i64,
    new: &WaterFigures,
) -> sqlx::Result<bool> {
    let (holds, least) = (
        new.tank.map(|tank| tank.holds),
        new.tank.map(|tank| tank.least),
    );
    let done = sqlx::query!(
        "update water_supply set name = ?3, source = ?4, rinses_only = ?5, tank_ml = ?6, tank_least_ml = ?7,
                version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id, version, new.name, new.source, new.rinses_only, holds, least,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

pub async fn insert_test(
    tx: &mut WriteTx,
    id: WaterSupplyId,
    new: &NewWaterTest,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into water_test (supply_id, measured_on, caught_ml, seconds, water_tenths_c, note, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        id, new.measured_on, new.caught, new.seconds, new.water, new.note, person, at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

pub async fn insert_level(
    tx: &mut WriteTx,
    id: WaterSupplyId,
    level: Millilitres,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into tank_level (supply_id, level_ml, person_id, at) values (?1, ?2, ?3, ?4)",
        id,
        level,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

pub async fn retire(tx: &mut WriteTx, id: WaterSupplyId, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update water_supply set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id, at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
