//! The SQL of reservoirs.

use sqlx::SqliteConnection;

use super::systems;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{ReservoirId, SystemId};
use crate::register::HeelKnown;
use crate::register::reservoirs::{Reservoir, ReservoirFigures};
use crate::science::stored::{Millilitres, Millimetres};

struct Row {
    id: ReservoirId,
    system_id: SystemId,
    length_mm: Option<Millimetres>,
    width_mm: Option<Millimetres>,
    height_mm: Option<Millimetres>,
    capacity_ml: Millilitres,
    pump_need_ml: Millilitres,
    heel_ml: Millilitres,
    heel_known: HeelKnown,
    retired: bool,
    version: i64,
}

impl From<Row> for Reservoir {
    fn from(row: Row) -> Self {
        Self {
            id: row.id,
            system_id: row.system_id,
            figures: ReservoirFigures {
                plan: row.length_mm.zip(row.width_mm),
                height: row.height_mm,
                capacity: row.capacity_ml,
                pump_need: row.pump_need_ml,
                heel: row.heel_ml,
                heel_known: row.heel_known,
            },
            retired: row.retired,
            version: row.version,
        }
    }
}

/// The reservoirs of a system, or of every one where none is named: the one in use first, then those it had.
pub async fn of(
    conn: &mut SqliteConnection,
    system: Option<SystemId>,
) -> sqlx::Result<Vec<Reservoir>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: ReservoirId", system_id as "system_id: SystemId",
                  length_mm as "length_mm: Millimetres", width_mm as "width_mm: Millimetres",
                  height_mm as "height_mm: Millimetres", capacity_ml as "capacity_ml: Millilitres",
                  pump_need_ml as "pump_need_ml: Millilitres", heel_ml as "heel_ml: Millilitres",
                  heel_known as "heel_known: HeelKnown", retired_at is not null as "retired!: bool", version
             from reservoir where ?1 is null or system_id = ?1 order by retired_at is not null, id desc"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Reservoir::from).collect())
}

pub async fn by_id(
    conn: &mut SqliteConnection,
    id: ReservoirId,
) -> sqlx::Result<Option<Reservoir>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: ReservoirId", system_id as "system_id: SystemId",
                  length_mm as "length_mm: Millimetres", width_mm as "width_mm: Millimetres",
                  height_mm as "height_mm: Millimetres", capacity_ml as "capacity_ml: Millilitres",
                  pump_need_ml as "pump_need_ml: Millilitres", heel_ml as "heel_ml: Millilitres",
                  heel_known as "heel_known: HeelKnown", retired_at is not null as "retired!: bool", version
             from reservoir where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(Reservoir::from))
}

pub async fn insert(
    tx: &mut WriteTx,
    system: SystemId,
    new: &ReservoirFigures,
) -> sqlx::Result<ReservoirId> {
    systems::loop_changed(tx, system).await?;
    let (length, width) = (new.plan.map(|plan| plan.0), new.plan.map(|plan| plan.1));
    sqlx::query_scalar!(
        r#"insert into reservoir (system_id, length_mm, width_mm, height_mm, capacity_ml, pump_need_ml, heel_ml, heel_known)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) returning id as "id!: ReservoirId""#,
        system, length, width, new.height, new.capacity, new.pump_need, new.heel, new.heel_known,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    was: &Reservoir,
    version: i64,
    new: &ReservoirFigures,
) -> sqlx::Result<bool> {
    let (length, width) = (new.plan.map(|plan| plan.0), new.plan.map(|plan| plan.1));
    let done = sqlx::query!(
        "update reservoir set length_mm = ?3, width_mm = ?4, height_mm = ?5, capacity_ml = ?6, pump_need_ml = ?7,
                heel_ml = ?8, heel_known = ?9, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        was.id, version, length, width, new.height, new.capacity, new.pump_need, new.heel, new.heel_known,
    )
    .execute(tx.conn())
    .await?;
    if done.rows_affected() > 0 && !was.figures.holds_as(new) {
        systems::loop_changed(tx, was.system_id).await?;
    }
    Ok(done.rows_affected() > 0)
}

pub async fn retire(tx: &mut WriteTx, was: &Reservoir, at: Moment) -> sqlx::Result<bool> {
    systems::loop_changed(tx, was.system_id).await?;
    let done = sqlx::query!(
        "update reservoir set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        was.id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
