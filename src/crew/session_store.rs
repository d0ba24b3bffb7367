//! The SQL of sessions.

use std::sync::Arc;

use sqlx::SqliteConnection;

use super::session::{IDLE, LASTS};
use super::{AgeBand, Role, Via, Who};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, SessionId};
use crate::text::Name;
use crate::web::Device;

/// A session that lives.
#[derive(Clone, Debug)]
pub struct Session {
    pub id: SessionId,
    pub person_id: PersonId,
    pub device: Device,
    pub created_at: Moment,
    pub seen_at: Moment,
    pub expires_at: Moment,
}

impl Session {
    /// When it ends if nobody uses it from now on.
    pub fn ends(&self, now: Moment) -> Moment {
        let idle_from = if self.seen_at > now {
            now
        } else {
            self.seen_at
        };
        self.expires_at.min(idle_from.plus(IDLE))
    }
}

/// Whose it is.
pub async fn person_of(
    conn: &mut SqliteConnection,
    id: SessionId,
) -> sqlx::Result<Option<PersonId>> {
    sqlx::query_scalar!(
        r#"select person_id as "person_id: PersonId" from session where id = ?1"#,
        id
    )
    .fetch_optional(conn)
    .await
}

pub async fn insert(
    tx: &mut WriteTx,
    token_hash: &str,
    person: PersonId,
    device: Device,
    now: Moment,
) -> sqlx::Result<()> {
    let (expires, idle_since) = (now.plus(LASTS), now.plus(-IDLE));
    sqlx::query!(
        "delete from session where expires_at <= ?1 or seen_at <= ?2",
        now,
        idle_since
    )
    .execute(tx.conn())
    .await?;
    sqlx::query!(
        "insert into session (token_hash, person_id, device, created_at, seen_at, expires_at) values (?1, ?2, ?3, ?4, ?4, ?5)",
        token_hash, person, device, now, expires,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

pub async fn delete_by_hash(tx: &mut WriteTx, token_hash: &str) -> sqlx::Result<()> {
    sqlx::query!("delete from session where token_hash = ?1", token_hash)
        .execute(tx.conn())
        .await?;
    Ok(())
}

/// How many ended.
pub async fn delete_of(tx: &mut WriteTx, person: PersonId) -> sqlx::Result<u64> {
    let done = sqlx::query!("delete from session where person_id = ?1", person)
        .execute(tx.conn())
        .await?;
    Ok(done.rows_affected())
}

/// Ends all sessions of somebody but one, and says how many they were.
pub async fn delete_others(
    tx: &mut WriteTx,
    person: PersonId,
    but: SessionId,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "delete from session where person_id = ?1 and id <> ?2",
        person,
        but
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected())
}

/// Whether it was there to be ended.
pub async fn delete(tx: &mut WriteTx, person: PersonId, id: SessionId) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "delete from session where person_id = ?1 and id = ?2",
        person,
        id
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// The sessions of somebody that live, the one used last first.
pub async fn of(
    conn: &mut SqliteConnection,
    person: PersonId,
    now: Moment,
) -> sqlx::Result<Vec<Session>> {
    let idle_since = now.plus(-IDLE);
    sqlx::query_as!(
        Session,
        r#"select id as "id: SessionId", person_id as "person_id: PersonId", device as "device: Device",
                  created_at as "created_at: Moment", seen_at as "seen_at: Moment", expires_at as "expires_at: Moment"
             from session where person_id = ?1 and expires_at > ?2 and seen_at > ?3 order by seen_at desc, id desc"#,
        person,
        now,
        idle_since,
    )
    .fetch_all(conn)
    .await
}

pub async fn seen(tx: &mut WriteTx, id: SessionId, now: Moment) -> sqlx::Result<()> {
    sqlx::query!("update session set seen_at = ?2 where id = ?1", id, now)
        .execute(tx.conn())
        .await?;
    Ok(())
}

/// Whoever a session belongs to, while it lasts and the person is still crew; and when it was seen last.
pub async fn who(
    conn: &mut SqliteConnection,
    token_hash: &str,
    now: Moment,
) -> anyhow::Result<Option<(Who, SessionId, Moment)>> {
    let idle_since = now.plus(-IDLE);
    let row = sqlx::query!(
        r#"select p.id as "id!: PersonId", p.name as "name: Name", p.role as "role: Role", p.age_band as "age_band: AgeBand",
                  s.id as "session!: SessionId", s.seen_at as "seen: Moment"
             from session s join person p on p.id = s.person_id
            where s.token_hash = ?1 and s.expires_at > ?2 and s.seen_at > ?3 and p.ended_at is null"#,
        token_hash,
        now,
        idle_since,
    )
    .fetch_optional(&mut *conn)
    .await?;
    let (Some(row), Some(site)) = (row, crate::site::store::current(conn).await?) else {
        return Ok(None);
    };
    let who = Who {
        id: row.id,
        name: row.name,
        role: row.role,
        age_band: row.age_band,
        site: Arc::new(site),
        guide: Arc::default(),
        via: Via::Session(row.session),
    };
    Ok(Some((who, row.session, row.seen)))
}
