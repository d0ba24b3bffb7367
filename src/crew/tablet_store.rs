//! The SQL of shared tablets.

use sqlx::SqliteConnection;

use super::tablet::Tablet;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, TabletId};
use crate::text::Name;

pub async fn insert(
    tx: &mut WriteTx,
    name: &Name,
    token_hash: &str,
    by: PersonId,
    now: Moment,
) -> sqlx::Result<TabletId> {
    sqlx::query_scalar!(
        r#"insert into tablet (name, token_hash, made_by, made_at, seen_at) values (?1, ?2, ?3, ?4, ?4)
           returning id as "id!: TabletId""#,
        name,
        token_hash,
        by,
        now,
    )
    .fetch_one(tx.conn())
    .await
}

/// All that ever were, the ended ones last.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Tablet>> {
    sqlx::query_as!(
        Tablet,
        r#"select t.id as "id: TabletId", t.name as "name: Name", p.name as "made_by: Name", t.made_at as "made_at: Moment",
                  t.seen_at as "seen_at: Moment", t.ended_at is not null as "ended!: bool"
             from tablet t join person p on p.id = t.made_by order by t.ended_at is not null, t.name, t.id desc"#
    )
    .fetch_all(conn)
    .await
}

pub async fn by_hash(
    conn: &mut SqliteConnection,
    token_hash: &str,
) -> sqlx::Result<Option<Tablet>> {
    sqlx::query_as!(
        Tablet,
        r#"select t.id as "id: TabletId", t.name as "name: Name", p.name as "made_by: Name", t.made_at as "made_at: Moment",
                  t.seen_at as "seen_at: Moment", t.ended_at is not null as "ended!: bool"
             from tablet t join person p on p.id = t.made_by where t.token_hash = ?1"#,
        token_hash,
    )
    .fetch_optional(conn)
    .await
}

pub async fn seen(tx: &mut WriteTx, id: TabletId, now: Moment) -> sqlx::Result<()> {
    sqlx::query!("update tablet set seen_at = ?2 where id = ?1", id, now)
        .execute(tx.conn())
        .await?;
    Ok(())
}

/// Its name, where it was there to be ended.
pub async fn end(tx: &mut WriteTx, id: TabletId, now: Moment) -> sqlx::Result<Option<Name>> {
    sqlx::query_scalar!(
        r#"update tablet set ended_at = ?2 where id = ?1 and ended_at is null returning name as "name: Name""#,
        id,
        now,
    )
    .fetch_optional(tx.conn())
    .await
}
