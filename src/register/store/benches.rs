//! The SQL of benches and their bucket tests.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::systems;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{BenchId, BucketTestId, PersonId, SystemId};
use crate::register::benches::{BedFigures, Bench, BenchFigures, BucketFigures, BucketTest, Ports};
use crate::register::{FractionsKnown, Media, MediaLie};
use crate::science::stored::{Micrometres, Millilitres, Millimetres, OverflowCount, Permille};
use crate::text::Name;

struct Row {
    id: BenchId,
    system_id: SystemId,
    name: Name,
    length_mm: Millimetres,
    width_mm: Millimetres,
    floor_fall_mm: Millimetres,
    wall_mm: Millimetres,
    overflow_mm: Millimetres,
    media: Media,
    media_depth_mm: Millimetres,
    media_lie: MediaLie,
    drainable_permille: Permille,
    retained_permille: Permille,
    fractions_known: FractionsKnown,
    recess_ml: Millilitres,
    solids_ml: Millilitres,
    riser_mm: Option<Millimetres>,
    floor_height_mm: Option<Millimetres>,
    overflow_bore: Option<Micrometres>,
    overflows: Option<OverflowCount>,
    overflow_keeps: Option<Permille>,
    drain_bore: Option<Micrometres>,
    retired: bool,
    version: i64,
}

impl From<Row> for Bench {
    fn from(row: Row) -> Self {
        let bed = (row.media != Media::None).then_some(BedFigures {
            media: row.media,
            depth: row.media_depth_mm,
            lie: row.media_lie,
            drainable: row.drainable_permille,
            retained: row.retained_permille,
            fractions_known: row.fractions_known,
        });
        Self {
            id: row.id,
            system_id: row.system_id,
            figures: BenchFigures {
                name: row.name,
                length: row.length_mm,
                width: row.width_mm,
                floor_fall: row.floor_fall_mm,
                wall: row.wall_mm,
                overflow: row.overflow_mm,
                bed,
                recess: row.recess_ml,
                solids: row.solids_ml,
                riser: row.riser_mm,
                floor_height: row.floor_height_mm,
                ports: Ports {
                    overflow_bore: row.overflow_bore,
                    overflows: row.overflows,
                    overflow_keeps: row.overflow_keeps,
                    drain_bore: row.drain_bore,
                },
            },
            retired: row.retired,
            version: row.version,
        }
    }
}

/// The benches of a system, or of every one where none is named, in the order they were entered, retired ones last.
pub async fn of(conn: &mut SqliteConnection, system: Option<SystemId>) -> sqlx::Result<Vec<Bench>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: BenchId", system_id as "system_id: SystemId", name as "name: Name",
                  length_mm as "length_mm: Millimetres", width_mm as "width_mm: Millimetres",
                  floor_fall_mm as "floor_fall_mm: Millimetres", wall_mm as "wall_mm: Millimetres",
                  overflow_mm as "overflow_mm: Millimetres", media as "media: Media",
                  media_depth_mm as "media_depth_mm: Millimetres", media_lie as "media_lie: MediaLie",
                  drainable_permille as "drainable_permille: Permille", retained_permille as "retained_permille: Permille",
                  fractions_known as "fractions_known: FractionsKnown", recess_ml as "recess_ml: Millilitres",
                  solids_ml as "solids_ml: Millilitres", riser_mm as "riser_mm: Millimetres",
                  floor_height_mm as "floor_height_mm: Millimetres", overflow_bore_um as "overflow_bore: Micrometres",
                  overflow_count as "overflows: OverflowCount", overflow_keeps_permille as "overflow_keeps: Permille",
                  drain_bore_um as "drain_bore: Micrometres", retired_at is not null as "retired!: bool", version
             from bench where ?1 is null or system_id = ?1 order by retired_at is not null, id"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Bench::from).collect())
}

pub async fn by_id(conn: &mut SqliteConnection, id: BenchId) -> sqlx::Result<Option<Bench>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: BenchId", system_id as "system_id: SystemId", name as "name: Name",
                  length_mm as "length_mm: Millimetres", width_mm as "width_mm: Millimetres",
                  floor_fall_mm as "floor_fall_mm: Millimetres", wall_mm as "wall_mm: Millimetres",
                  overflow_mm as "overflow_mm: Millimetres", media as "media: Media",
                  media_depth_mm as "media_depth_mm: Millimetres", media_lie as "media_lie: MediaLie",
                  drainable_permille as "drainable_permille: Permille", retained_permille as "retained_permille: Permille",
                  fractions_known as "fractions_known: FractionsKnown", recess_ml as "recess_ml: Millilitres",
                  solids_ml as "solids_ml: Millilitres", riser_mm as "riser_mm: Millimetres",
                  floor_height_mm as "floor_height_mm: Millimetres", overflow_bore_um as "overflow_bore: Micrometres",
                  overflow_count as "overflows: OverflowCount", overflow_keeps_permille as "overflow_keeps: Permille",
                  drain_bore_um as "drain_bore: Micrometres", retired_at is not null as "retired!: bool", version
             from bench where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(Bench::from))
}

/// The bed as it lies in columns: a bench without media has a bed of no depth.
struct BedColumns {
    media: Media,
    depth: i64,
    lie: MediaLie,
    drainable: i64,
    retained: i64,
    known: FractionsKnown,
}

impl BedColumns {
    fn of(bench: &BenchFigures) -> Self {
        match &bench.bed {
            Some(bed) => Self {
                media: bed.media,
                depth: bed.depth.get(),
                lie: bed.lie,
                drainable: bed.drainable.get(),
                retained: bed.retained.get(),
                known: bed.fractions_known,
            },
            None => Self {
                media: Media::None,
                depth: 0,
                lie: MediaLie::Level,
                drainable: 0,
                retained: 0,
                known: FractionsKnown::Given,
            },
        }
    }
}

pub async fn insert(
    tx: &mut WriteTx,
    system: SystemId,
    new: &BenchFigures,
) -> sqlx::Result<BenchId> {
    systems::loop_changed(tx, system).await?;
    let bed = BedColumns::of(new);
    sqlx::query_scalar!(
        r#"insert into bench (system_id, name, length_mm, width_mm, floor_fall_mm, wall_mm, overflow_mm, media,
                              media_depth_mm, media_lie, drainable_permille, retained_permille, fractions_known,
                              recess_ml, solids_ml, riser_mm, floor_height_mm, overflow_bore_um, overflow_count,
                              overflow_keeps_permille, drain_bore_um)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21)
           returning id as "id!: BenchId""#,
        system, new.name, new.length, new.width, new.floor_fall, new.wall, new.overflow, bed.media,
        bed.depth, bed.lie, bed.drainable, bed.retained, bed.known,
        new.recess, new.solids, new.riser, new.floor_height, new.ports.overflow_bore, new.ports.overflows,
        new.ports.overflow_keeps, new.ports.drain_bore,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    was: &Bench,
    version: i64,
    new: &BenchFigures,
) -> sqlx::Result<bool> {
    let bed = BedColumns::of(new);
    let done = sqlx::query!(
        "update bench set name = ?3, length_mm = ?4, width_mm = ?5, floor_fall_mm = ?6, wall_mm = ?7, overflow_mm = ?8,
                media = ?9, media_depth_mm = ?10, media_lie = ?11, drainable_permille = ?12, retained_permille = ?13,
                fractions_known = ?14, recess_ml = ?15, solids_ml = ?16, riser_mm = ?17, floor_height_mm = ?18,
                overflow_bore_um = ?19, overflow_count = ?20, overflow_keeps_permille = ?21, drain_bore_um = ?22,
                version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        was.id, version, new.name, new.length, new.width, new.floor_fall, new.wall, new.overflow,
        bed.media, bed.depth, bed.lie, bed.drainable, bed.retained, bed.known,
        new.recess, new.solids, new.riser, new.floor_height, new.ports.overflow_bore, new.ports.overflows,
        new.ports.overflow_keeps, new.ports.drain_bore,
    )
    .execute(tx.conn())
    .await?;
    if done.rows_affected() > 0 && !was.figures.holds_as(new) {
        systems::loop_changed(tx, was.system_id).await?;
    }
    Ok(done.rows_affected() > 0)
}

pub async fn retire(tx: &mut WriteTx, was: &Bench, at: Moment) -> sqlx::Result<bool> {
    systems::loop_changed(tx, was.system_id).await?;
    let done = sqlx::query!(
        "update bench set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        was.id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

/// The bucket tests of a system's benches, or of every bench where none is named, oldest first.
pub async fn bucket_tests(
    conn: &mut SqliteConnection,
    system: Option<SystemId>,
) -> sqlx::Result<Vec<BucketTest>> {
    let rows = sqlx::query!(
        r#"select t.id as "id!: BucketTestId", t.bench_id as "bench_id: BenchId", t.bulk_ml as "bulk: Millilitres",
                  t.filled_ml as "filled: Millilitres", t.drained_ml as "drained: Millilitres",
                  t.tested_on as "tested_on: NaiveDate", p.name as "by: Name"
             from bucket_test t join bench b on b.id = t.bench_id join person p on p.id = t.person_id
            where ?1 is null or b.system_id = ?1 order by t.id"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| BucketTest {
            id: row.id,
            bench_id: row.bench_id,
            figures: BucketFigures {
                bulk: row.bulk,
                filled: row.filled,
                drained: row.drained,
            },
            tested_on: row.tested_on,
            by: row.by,
        })
        .collect())
}

pub async fn insert_bucket_test(
    tx: &mut WriteTx,
    bench: BenchId,
    new: &BucketFigures,
    tested_on: NaiveDate,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<BucketTestId> {
    sqlx::query_scalar!(
        r#"insert into bucket_test (bench_id, bulk_ml, filled_ml, drained_ml, tested_on, person_id, at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7) returning id as "id!: BucketTestId""#,
        bench, new.bulk, new.filled, new.drained, tested_on, person, at,
    )
    .fetch_one(tx.conn())
    .await
}
