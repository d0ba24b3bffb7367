//! The SQL of kit.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{KitId, SiteId};
use crate::register::kit::{Kit, KitFigures, KitKind};
use crate::text::{Name, Note};

struct Row {
    id: KitId,
    name: Name,
    kind: KitKind,
    count: i64,
    note: Note,
    retired: bool,
    version: i64,
}

impl From<Row> for Kit {
    fn from(row: Row) -> Self {
        Self {
            id: row.id,
            figures: KitFigures {
                name: row.name,
                kind: row.kind,
                count: row.count,
                note: row.note,
            },
            retired: row.retired,
            version: row.version,
        }
    }
}

/// All kit, pumps first, retired last.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Kit>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: KitId", name as "name: Name", kind as "kind: KitKind", count, note as "note: Note",
                  retired_at is not null as "retired!: bool", version
             from kit
            order by retired_at is not null, case kind when 'portable pump' then 0 when 'riser set' then 1 else 2 end, name"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Kit::from).collect())
}

pub async fn by_id(conn: &mut SqliteConnection, id: KitId) -> sqlx::Result<Option<Kit>> {
    let all = all(conn).await?;
    Ok(all.into_iter().find(|kit| kit.id == id))
}

pub async fn insert(tx: &mut WriteTx, site: SiteId, new: &KitFigures) -> sqlx::Result<KitId> {
    sqlx::query_scalar!(
        r#"insert into kit (site_id, name, kind, count, note) values (?1, ?2, ?3, ?4, ?5) returning id as "id!: KitId""#,
        site, new.name, new.kind, new.count, new.note,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    id: KitId,
    version: i64,
    new: &KitFigures,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update kit set name = ?3, kind = ?4, count = ?5, note = ?6, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id,
        version,
        new.name,
        new.kind,
        new.count,
        new.note,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

pub async fn retire(tx: &mut WriteTx, id: KitId, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update kit set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id, at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
