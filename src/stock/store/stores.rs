//! The SQL of stores.

use sqlx::SqliteConnection;

use super::touched;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{RoomId, SiteId, StoreId};
use crate::science::stored::{Millilitres, TenthsCelsius};
use crate::stock::stores::{MayHold, Store, StoreFigures, StoreKind};
use crate::text::{Name, Note};

struct Row {
    id: StoreId,
    name: Name,
    kind: StoreKind,
    room_id: Option<RoomId>,
    room_name: Option<Name>,
    may_hold: MayHold,
    most: Option<Millilitres>,
    usual: Option<TenthsCelsius>,
    note: Note,
    retired: bool,
    version: i64,
}

impl From<Row> for Store {
    fn from(row: Row) -> Self {
        Self {
            id: row.id,
            figures: StoreFigures {
                name: row.name,
                kind: row.kind,
                room: row.room_id,
                may_hold: row.may_hold,
                most: row.most,
                usual: row.usual,
                note: row.note,
            },
            room_name: row.room_name,
            retired: row.retired,
            version: row.version,
        }
    }
}

async fn select(conn: &mut SqliteConnection, id: Option<StoreId>) -> sqlx::Result<Vec<Store>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select s.id as "id!: StoreId", s.name as "name: Name", s.kind as "kind: StoreKind", s.room_id as "room_id: RoomId",
                  r.name as "room_name?: Name", s.may_hold as "may_hold: MayHold", s.most_ml as "most: Millilitres",
                  s.usual_tenths_c as "usual: TenthsCelsius", s.note as "note: Note",
                  s.retired_at is not null as "retired!: bool", s.version
             from store s left join room r on r.id = s.room_id
            where ?1 is null or s.id = ?1
            order by s.retired_at is not null, s.name"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Store::from).collect())
}

/// Every store by name, retired ones last.
pub async fn stores(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Store>> {
    select(conn, None).await
}

pub async fn store(conn: &mut SqliteConnection, id: StoreId) -> sqlx::Result<Option<Store>> {
    Ok(select(conn, Some(id)).await?.pop())
}

pub async fn insert_store(
    tx: &mut WriteTx,
    site: SiteId,
    new: &StoreFigures,
) -> sqlx::Result<StoreId> {
    sqlx::query_scalar!(
        r#"insert into store (site_id, room_id, name, kind, may_hold, most_ml, usual_tenths_c, note)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) returning id as "id!: StoreId""#,
        site,
        new.room,
        new.name,
        new.kind,
        new.may_hold,
        new.most,
        new.usual,
        new.note,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update_store(
    tx: &mut WriteTx,
    id: StoreId,
    version: i64,
    new: &StoreFigures,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update store set room_id = ?3, name = ?4, kind = ?5, may_hold = ?6, most_ml = ?7, usual_tenths_c = ?8, note = ?9,
                version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id, version, new.room, new.name, new.kind, new.may_hold, new.most, new.usual, new.note,
    )
    .execute(tx.conn())
    .await?;
    Ok(touched(&done))
}

pub async fn retire_store(tx: &mut WriteTx, id: StoreId, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update store set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(touched(&done))
}
