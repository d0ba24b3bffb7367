//! The SQL of jugs.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{JugId, SiteId};
use crate::register::jugs::{Jug, JugFigures};
use crate::science::stored::{Millilitres, Permille};
use crate::text::Name;

struct Row {
    id: JugId,
    name: Name,
    capacity_ml: Millilitres,
    mark_ml: Millilitres,
    scale_off: Option<Permille>,
    retired: bool,
    version: i64,
}

impl From<Row> for Jug {
    fn from(row: Row) -> Self {
        let figures = JugFigures {
            name: row.name,
            capacity: row.capacity_ml,
            mark: row.mark_ml,
            scale_off: row.scale_off,
        };
        Self {
            id: row.id,
            figures,
            retired: row.retired,
            version: row.version,
        }
    }
}

/// Every jug, the largest first, retired ones last.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Jug>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: JugId", name as "name: Name", capacity_ml as "capacity_ml: Millilitres",
                  mark_ml as "mark_ml: Millilitres", scale_permille as "scale_off: Permille", retired_at is not null as "retired!: bool", version
             from jug order by retired_at is not null, capacity_ml desc, name"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Jug::from).collect())
}

pub async fn by_id(conn: &mut SqliteConnection, id: JugId) -> sqlx::Result<Option<Jug>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: JugId", name as "name: Name", capacity_ml as "capacity_ml: Millilitres",
                  mark_ml as "mark_ml: Millilitres", scale_permille as "scale_off: Permille", retired_at is not null as "retired!: bool", version
             from jug where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(Jug::from))
}

pub async fn insert(tx: &mut WriteTx, site: SiteId, new: &JugFigures) -> sqlx::Result<JugId> {
    sqlx::query_scalar!(
        r#"insert into jug (site_id, name, capacity_ml, mark_ml, scale_permille) values (?1, ?2, ?3, ?4, ?5) returning id as "id!: JugId""#,
        site,
        new.name,
        new.capacity,
        new.mark,
        new.scale_off,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    id: JugId,
    version: i64,
    new: &JugFigures,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update jug set name = ?3, capacity_ml = ?4, mark_ml = ?5, scale_permille = ?6, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id,
        version,
        new.name,
        new.capacity,
        new.mark,
        new.scale_off,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

pub async fn retire(tx: &mut WriteTx, id: JugId, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update jug set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
