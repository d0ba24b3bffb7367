//! The SQL of rooms.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{RoomId, SiteId};
use crate::register::rooms::{Room, RoomFigures};
use crate::science::stored::{ChangesPerDay, CubicMetres};
use crate::text::{Name, Note};

struct Row {
    id: RoomId,
    name: Name,
    air_volume_m3: Option<CubicMetres>,
    air_changes_per_day: Option<ChangesPerDay>,
    soak_air: Note,
    retired: bool,
    version: i64,
}

impl From<Row> for Room {
    fn from(row: Row) -> Self {
        let figures = RoomFigures {
            name: row.name,
            air: row.air_volume_m3,
            air_changes: row.air_changes_per_day,
            soak_air: row.soak_air,
        };
        Self {
            id: row.id,
            figures,
            retired: row.retired,
            version: row.version,
        }
    }
}

/// Every room by name, retired ones last.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Room>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: RoomId", name as "name: Name", air_volume_m3 as "air_volume_m3: CubicMetres",
                  air_changes_per_day as "air_changes_per_day: ChangesPerDay", soak_air as "soak_air: Note",
                  retired_at is not null as "retired!: bool", version
             from room order by retired_at is not null, name"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Room::from).collect())
}

pub async fn by_id(conn: &mut SqliteConnection, id: RoomId) -> sqlx::Result<Option<Room>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: RoomId", name as "name: Name", air_volume_m3 as "air_volume_m3: CubicMetres",
                  air_changes_per_day as "air_changes_per_day: ChangesPerDay", soak_air as "soak_air: Note",
                  retired_at is not null as "retired!: bool", version
             from room where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(Room::from))
}

pub async fn insert(tx: &mut WriteTx, site: SiteId, new: &RoomFigures) -> sqlx::Result<RoomId> {
    sqlx::query_scalar!(
        r#"insert into room (site_id, name, air_volume_m3, air_changes_per_day, soak_air) values (?1, ?2, ?3, ?4, ?5)
           returning id as "id!: RoomId""#,
        site,
        new.name,
        new.air,
        new.air_changes,
        new.soak_air,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    id: RoomId,
    version: i64,
    new: &RoomFigures,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update room set name = ?3, air_volume_m3 = ?4, air_changes_per_day = ?5, soak_air = ?6, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id,
        version,
        new.name,
        new.air,
        new.air_changes,
        new.soak_air,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

/// Whether a system in use stands in it.
pub async fn holds_systems(conn: &mut SqliteConnection, id: RoomId) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar!(
        "select count(*) from system where room_id = ?1 and retired_at is null",
        id,
    )
    .fetch_one(conn)
    .await?;
    Ok(found > 0)
}

pub async fn retire(tx: &mut WriteTx, id: RoomId, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update room set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
