//! The SQL of tubing runs.

use sqlx::SqliteConnection;

use super::systems;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{SystemId, TubingRunId};
use crate::register::tubing::{TubingFigures, TubingRun};
use crate::register::{Purpose, TubeWall};
use crate::science::stored::{FittingLosses, Micrometres, Millimetres};
use crate::text::Name;

struct Row {
    id: TubingRunId,
    system_id: SystemId,
    name: Name,
    purpose: Purpose,
    bore_um: Micrometres,
    length_mm: Millimetres,
    rise_mm: Option<Millimetres>,
    fittings: Option<FittingLosses>,
    wall: Option<TubeWall>,
    retired: bool,
    version: i64,
}

impl From<Row> for TubingRun {
    fn from(row: Row) -> Self {
        Self {
            id: row.id,
            system_id: row.system_id,
            figures: TubingFigures {
                name: row.name,
                purpose: row.purpose,
                bore: row.bore_um,
                length: row.length_mm,
                rise: row.rise_mm,
                fittings: row.fittings,
                wall: row.wall,
            },
            retired: row.retired,
            version: row.version,
        }
    }
}

/// The tubing runs of a system, or of every one where none is named, retired ones last.
pub async fn of(
    conn: &mut SqliteConnection,
    system: Option<SystemId>,
) -> sqlx::Result<Vec<TubingRun>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: TubingRunId", system_id as "system_id: SystemId", name as "name: Name",
                  purpose as "purpose: Purpose", bore_um as "bore_um: Micrometres", length_mm as "length_mm: Millimetres",
                  rise_mm as "rise_mm: Millimetres", fittings_milli as "fittings: FittingLosses",
                  tube_wall as "wall: TubeWall", retired_at is not null as "retired!: bool", version
             from tubing_run where ?1 is null or system_id = ?1 order by retired_at is not null, id"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(TubingRun::from).collect())
}

pub async fn by_id(
    conn: &mut SqliteConnection,
    id: TubingRunId,
) -> sqlx::Result<Option<TubingRun>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: TubingRunId", system_id as "system_id: SystemId", name as "name: Name",
                  purpose as "purpose: Purpose", bore_um as "bore_um: Micrometres", length_mm as "length_mm: Millimetres",
                  rise_mm as "rise_mm: Millimetres", fittings_milli as "fittings: FittingLosses",
                  tube_wall as "wall: TubeWall", retired_at is not null as "retired!: bool", version
             from tubing_run where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(TubingRun::from))
}

pub async fn insert(
    tx: &mut WriteTx,
    system: SystemId,
    new: &TubingFigures,
) -> sqlx::Result<TubingRunId> {
    systems::loop_changed(tx, system).await?;
    sqlx::query_scalar!(
        r#"insert into tubing_run (system_id, name, purpose, bore_um, length_mm, rise_mm, fittings_milli, tube_wall)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) returning id as "id!: TubingRunId""#,
        system,
        new.name,
        new.purpose,
        new.bore,
        new.length,
        new.rise,
        new.fittings,
        new.wall,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    was: &TubingRun,
    version: i64,
    new: &TubingFigures,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update tubing_run set name = ?3, purpose = ?4, bore_um = ?5, length_mm = ?6, rise_mm = ?7, fittings_milli = ?8,
                tube_wall = ?9, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        was.id,
        version,
        new.name,
        new.purpose,
        new.bore,
        new.length,
        new.rise,
        new.fittings,
        new.wall,
    )
    .execute(tx.conn())
    .await?;
    if done.rows_affected() > 0 && !was.figures.holds_as(new) {
        systems::loop_changed(tx, was.system_id).await?;
    }
    Ok(done.rows_affected() > 0)
}

pub async fn retire(tx: &mut WriteTx, was: &TubingRun, at: Moment) -> sqlx::Result<bool> {
    systems::loop_changed(tx, was.system_id).await?;
    let done = sqlx::query!(
        "update tubing_run set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        was.id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
