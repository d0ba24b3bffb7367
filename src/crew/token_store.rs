//! The SQL of tokens.

use std::sync::Arc;

use sqlx::SqliteConnection;

use super::token::{Room, Token};
use super::{AgeBand, Role, Via, Who};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{ApiTokenId, PersonId};
use crate::text::Name;

/// A token to be kept.
#[derive(Clone, Debug)]
pub struct NewToken {
    pub token_hash: String,
    pub person_id: PersonId,
    pub name: Name,
    /// Rooms as a JSON list.
    pub writes_in: String,
    pub made_at: Moment,
    pub expires_at: Moment,
}

pub async fn insert(tx: &mut WriteTx, new: &NewToken) -> sqlx::Result<ApiTokenId> {
    sqlx::query_scalar!(
        r#"insert into api_token (token_hash, person_id, name, writes_in, made_at, expires_at)
           values (?1, ?2, ?3, ?4, ?5, ?6) returning id as "id!: ApiTokenId""#,
        new.token_hash,
        new.person_id,
        new.name,
        new.writes_in,
        new.made_at,
        new.expires_at,
    )
    .fetch_one(tx.conn())
    .await
}

/// Words that no room has any more open nothing.
fn rooms(stored: &str) -> Vec<Room> {
    let words: Vec<String> = serde_json::from_str(stored).unwrap_or_default();
    words
        .iter()
        .filter_map(|word| Room::from_code(word))
        .collect()
}

/// All that ever were, the newest first.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Token>> {
    let rows = sqlx::query!(
        r#"select t.id as "id!: ApiTokenId", t.name as "name: Name", t.person_id as "person_id: PersonId",
                  p.name as "person: Name", t.writes_in, t.made_at as "made_at: Moment", t.expires_at as "expires_at: Moment",
                  t.seen_at as "seen_at: Moment", (t.ended_at is not null or p.ended_at is not null) as "ended!: bool"
             from api_token t join person p on p.id = t.person_id order by t.id desc"#
    )
    .fetch_all(conn)
    .await?;
    let token = rows.into_iter().map(|row| Token {
        id: row.id,
        name: row.name,
        person_id: row.person_id,
        person: row.person,
        writes_in: rooms(&row.writes_in),
        made_at: row.made_at,
        expires_at: row.expires_at,
        seen_at: row.seen_at,
        ended: row.ended,
    });
    Ok(token.collect())
}

/// What a token that lives leads to.
#[derive(Clone, Debug)]
pub struct Found {
    pub id: ApiTokenId,
    pub who: Who,
    pub writes_in: Vec<Room>,
    pub seen_at: Option<Moment>,
}

pub async fn who(
    conn: &mut SqliteConnection,
    token_hash: &str,
    now: Moment,
) -> anyhow::Result<Option<Found>> {
    let row = sqlx::query!(
        r#"select t.id as "id!: ApiTokenId", t.name as "token: Name", t.writes_in, t.seen_at as "seen_at: Moment",
                  p.id as "person!: PersonId", p.name as "name: Name", p.role as "role: Role", p.age_band as "age_band: AgeBand"
             from api_token t join person p on p.id = t.person_id
            where t.token_hash = ?1 and t.ended_at is null and t.expires_at > ?2 and p.ended_at is null"#,
        token_hash,
        now,
    )
    .fetch_optional(&mut *conn)
    .await?;
    let (Some(row), Some(site)) = (row, crate::site::store::current(conn).await?) else {
        return Ok(None);
    };
    Ok(Some(Found {
        id: row.id,
        writes_in: rooms(&row.writes_in),
        seen_at: row.seen_at,
        who: Who {
            id: row.person,
            name: row.name,
            role: row.role,
            age_band: row.age_band,
            site: Arc::new(site),
            guide: Arc::default(),
            via: Via::Token(row.token),
        },
    }))
}

pub async fn seen(tx: &mut WriteTx, id: ApiTokenId, now: Moment) -> sqlx::Result<()> {
    sqlx::query!("update api_token set seen_at = ?2 where id = ?1", id, now)
        .execute(tx.conn())
        .await?;
    Ok(())
}

/// Whose it is and how it is called, while it has not ended.
pub async fn open(
    conn: &mut SqliteConnection,
    id: ApiTokenId,
) -> sqlx::Result<Option<(PersonId, Name)>> {
    let row = sqlx::query!(
        r#"select person_id as "person_id: PersonId", name as "name: Name" from api_token where id = ?1 and ended_at is null"#,
        id
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| (row.person_id, row.name)))
}

pub async fn end(tx: &mut WriteTx, id: ApiTokenId, now: Moment) -> sqlx::Result<()> {
    sqlx::query!(
        "update api_token set ended_at = ?2 where id = ?1 and ended_at is null",
        id,
        now
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
