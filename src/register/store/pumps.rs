//! The SQL of pumps.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::systems;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PumpId, SystemId};
use crate::register::PumpKind;
use crate::register::pumps::{Pump, PumpFigures};
use crate::science::stored::{MillilitresPerMinute, Millimetres};
use crate::text::Name;

struct Row {
    id: PumpId,
    system_id: SystemId,
    name: Name,
    kind: PumpKind,
    max_flow: Option<MillilitresPerMinute>,
    max_head: Option<Millimetres>,
    point_flow: Option<MillilitresPerMinute>,
    point_head: Option<Millimetres>,
    lift: Option<Millimetres>,
    last_teardown_on: Option<NaiveDate>,
    retired: bool,
    version: i64,
}

impl From<Row> for Pump {
    fn from(row: Row) -> Self {
        Self {
            id: row.id,
            system_id: row.system_id,
            figures: PumpFigures {
                name: row.name,
                kind: row.kind,
                max_flow: row.max_flow,
                max_head: row.max_head,
                point: row.point_flow.zip(row.point_head),
                lift: row.lift,
                last_teardown: row.last_teardown_on,
            },
            retired: row.retired,
            version: row.version,
        }
    }
}

/// The pumps of a system, or of every one where none is named, retired ones last.
pub async fn of(conn: &mut SqliteConnection, system: Option<SystemId>) -> sqlx::Result<Vec<Pump>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: PumpId", system_id as "system_id: SystemId", name as "name: Name", kind as "kind: PumpKind",
                  max_flow_ml_per_min as "max_flow: MillilitresPerMinute", max_head_mm as "max_head: Millimetres",
                  point_flow_ml_per_min as "point_flow: MillilitresPerMinute", point_head_mm as "point_head: Millimetres",
                  lift_mm as "lift: Millimetres",
                  last_teardown_on as "last_teardown_on: NaiveDate", retired_at is not null as "retired!: bool", version
             from pump where ?1 is null or system_id = ?1 order by retired_at is not null, id"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Pump::from).collect())
}

pub async fn by_id(conn: &mut SqliteConnection, id: PumpId) -> sqlx::Result<Option<Pump>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: PumpId", system_id as "system_id: SystemId", name as "name: Name", kind as "kind: PumpKind",
                  max_flow_ml_per_min as "max_flow: MillilitresPerMinute", max_head_mm as "max_head: Millimetres",
                  point_flow_ml_per_min as "point_flow: MillilitresPerMinute", point_head_mm as "point_head: Millimetres",
                  lift_mm as "lift: Millimetres",
                  last_teardown_on as "last_teardown_on: NaiveDate", retired_at is not null as "retired!: bool", version
             from pump where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(Pump::from))
}

pub async fn insert(tx: &mut WriteTx, system: SystemId, new: &PumpFigures) -> sqlx::Result<PumpId> {
    let (point_flow, point_head) = new.point.unzip();
    systems::flow_changed(tx, system).await?;
    sqlx::query_scalar!(
        r#"insert into pump (system_id, name, kind, max_flow_ml_per_min, max_head_mm, last_teardown_on,
                             point_flow_ml_per_min, point_head_mm, lift_mm)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) returning id as "id!: PumpId""#,
        system,
        new.name,
        new.kind,
        new.max_flow,
        new.max_head,
        new.last_teardown,
        point_flow,
        point_head,
        new.lift,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    id: PumpId,
    version: i64,
    new: &PumpFigures,
) -> sqlx::Result<bool> {
    let (point_flow, point_head) = new.point.unzip();
    let was = by_id(tx.conn(), id).await?;
    let done = sqlx::query!(
        "update pump set name = ?3, kind = ?4, max_flow_ml_per_min = ?5, max_head_mm = ?6, last_teardown_on = ?7,
                point_flow_ml_per_min = ?8, point_head_mm = ?9, lift_mm = ?10, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id,
        version,
        new.name,
        new.kind,
        new.max_flow,
        new.max_head,
        new.last_teardown,
        point_flow,
        point_head,
        new.lift,
    )
    .execute(tx.conn())
    .await?;
    let done = done.rows_affected() > 0;
    if let Some(was) = was.filter(|was| done && was.figures.pumps_otherwise(new)) {
        systems::flow_changed(tx, was.system_id).await?;
    }
    Ok(done)
}

pub async fn retire(tx: &mut WriteTx, id: PumpId, at: Moment) -> sqlx::Result<bool> {
    if let Some(was) = by_id(tx.conn(), id).await? {
        systems::flow_changed(tx, was.system_id).await?;
    }
    let done = sqlx::query!(
        "update pump set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
