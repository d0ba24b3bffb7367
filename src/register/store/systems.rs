//! The SQL of systems.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, RoomId, SystemId};
use crate::register::systems::{Quarantine, System, SystemFigures};
use crate::text::{Name, Note};

struct Row {
    id: SystemId,
    room_id: RoomId,
    room_name: Name,
    name: Name,
    note: Note,
    laid_up_since: Option<NaiveDate>,
    quarantined_since: Option<NaiveDate>,
    quarantine_reason: Option<Note>,
    releases_void_to: Option<CleanoutId>,
    loop_version: i64,
    flow_version: i64,
    retired: bool,
    version: i64,
}

impl From<Row> for System {
    fn from(row: Row) -> Self {
        let quarantine = row
            .quarantined_since
            .zip(row.quarantine_reason)
            .map(|(since, reason)| Quarantine { since, reason });
        Self {
            id: row.id,
            figures: SystemFigures {
                room_id: row.room_id,
                name: row.name,
                note: row.note,
            },
            room_name: row.room_name,
            laid_up_since: row.laid_up_since,
            quarantine,
            releases_void_to: row.releases_void_to,
            loop_version: row.loop_version,
            flow_version: row.flow_version,
            retired: row.retired,
            version: row.version,
        }
    }
}

/// Every system by room and name, retired ones last.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<System>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select s.id as "id!: SystemId", s.room_id as "room_id: RoomId", r.name as "room_name: Name",
                  s.name as "name: Name", s.note as "note: Note", s.laid_up_since as "laid_up_since: NaiveDate",
                  s.quarantined_since as "quarantined_since: NaiveDate", s.quarantine_reason as "quarantine_reason: Note",
                  s.releases_void_to as "releases_void_to: CleanoutId",
                  s.loop_version, s.flow_version, s.retired_at is not null as "retired!: bool", s.version
             from system s join room r on r.id = s.room_id
            order by s.retired_at is not null, r.name, s.name"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(System::from).collect())
}

/// The one in use that was entered first.
pub async fn oldest(conn: &mut SqliteConnection) -> sqlx::Result<Option<(SystemId, Name)>> {
    let row = sqlx::query!(
        r#"select id as "id!: SystemId", name as "name: Name" from system where retired_at is null order by id limit 1"#
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| (row.id, row.name)))
}

pub async fn by_id(conn: &mut SqliteConnection, id: SystemId) -> sqlx::Result<Option<System>> {
    let row = sqlx::query_as!(
        Row,
        r#"select s.id as "id!: SystemId", s.room_id as "room_id: RoomId", r.name as "room_name: Name",
                  s.name as "name: Name", s.note as "note: Note", s.laid_up_since as "laid_up_since: NaiveDate",
                  s.quarantined_since as "quarantined_since: NaiveDate", s.quarantine_reason as "quarantine_reason: Note",
                  s.releases_void_to as "releases_void_to: CleanoutId",
                  s.loop_version, s.flow_version, s.retired_at is not null as "retired!: bool", s.version
             from system s join room r on r.id = s.room_id where s.id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(System::from))
}

pub async fn insert(tx: &mut WriteTx, new: &SystemFigures, at: Moment) -> sqlx::Result<SystemId> {
    sqlx::query_scalar!(
        r#"insert into system (room_id, name, note, created_at) values (?1, ?2, ?3, ?4)
           returning id as "id!: SystemId""#,
        new.room_id,
        new.name,
        new.note,
        at,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    id: SystemId,
    version: i64,
    new: &SystemFigures,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update system set room_id = ?3, name = ?4, note = ?5, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id,
        version,
        new.room_id,
        new.name,
        new.note,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

/// A measure of the loop changed: fills that were measured before say nothing about it.
pub async fn loop_changed(tx: &mut WriteTx, id: SystemId) -> sqlx::Result<()> {
    sqlx::query!(
        "update system set loop_version = loop_version + 1, flow_version = flow_version + 1 where id = ?1",
        id
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// How the water runs changed, and what it fills did not: what was timed before is another series.
pub async fn flow_changed(tx: &mut WriteTx, id: SystemId) -> sqlx::Result<()> {
    sqlx::query!(
        "update system set flow_version = flow_version + 1 where id = ?1",
        id
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

pub async fn set_laid_up(
    tx: &mut WriteTx,
    id: SystemId,
    since: Option<NaiveDate>,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update system set laid_up_since = ?2, version = version + 1
          where id = ?1 and retired_at is null and (laid_up_since is null) = (?2 is not null)",
        id,
        since,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

pub async fn set_quarantine(
    tx: &mut WriteTx,
    id: SystemId,
    quarantine: Option<&Quarantine>,
) -> sqlx::Result<bool> {
    let (since, reason) = (quarantine.map(|q| q.since), quarantine.map(|q| &q.reason));
    let done = sqlx::query!(
        "update system set quarantined_since = ?2, quarantine_reason = ?3, version = version + 1
          where id = ?1 and retired_at is null and (quarantined_since is null) = (?2 is not null)",
        id,
        since,
        reason,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

pub async fn retire(tx: &mut WriteTx, id: SystemId, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update system set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

/// Whether the database refused because a clean-out of the system is open or a crop grows in it.
pub fn is_in_use(error: &sqlx::Error) -> bool {
    error
        .as_database_error()
        .is_some_and(|error| error.message().contains("the system is in use"))
}
