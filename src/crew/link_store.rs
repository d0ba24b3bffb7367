//! The SQL of links that set a password.

use sqlx::SqliteConnection;

use super::link::{Link, Purpose};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, SignInLinkId};

/// A link to be kept.
#[derive(Clone, Debug)]
pub struct NewLink {
    pub token_hash: String,
    pub person_id: PersonId,
    pub purpose: Purpose,
    pub made_by: Option<PersonId>,
    pub made_at: Moment,
    pub expires_at: Moment,
}

pub async fn insert(tx: &mut WriteTx, new: &NewLink) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into sign_in_link (token_hash, person_id, purpose, made_by, made_at, expires_at) values (?1, ?2, ?3, ?4, ?5, ?6)",
        new.token_hash,
        new.person_id,
        new.purpose,
        new.made_by,
        new.made_at,
        new.expires_at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// Ends every link of somebody that was not used.
pub async fn end_of(tx: &mut WriteTx, person: PersonId, now: Moment) -> sqlx::Result<()> {
    sqlx::query!(
        "update sign_in_link set ended_at = ?2 where person_id = ?1 and used_at is null and ended_at is null",
        person,
        now
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// The link, while it can be used and its person is crew.
pub async fn open(
    conn: &mut SqliteConnection,
    token_hash: &str,
    now: Moment,
) -> sqlx::Result<Option<Link>> {
    sqlx::query_as!(
        Link,
        r#"select l.id as "id: SignInLinkId", l.person_id as "person_id: PersonId", l.purpose as "purpose: Purpose"
             from sign_in_link l join person p on p.id = l.person_id
            where l.token_hash = ?1 and l.expires_at > ?2 and l.used_at is null and l.ended_at is null
              and p.ended_at is null and p.sign_in is not null"#,
        token_hash,
        now,
    )
    .fetch_optional(conn)
    .await
}

pub async fn use_up(tx: &mut WriteTx, id: SignInLinkId, now: Moment) -> sqlx::Result<()> {
    sqlx::query!(
        "update sign_in_link set used_at = ?2 where id = ?1",
        id,
        now
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// When the link of somebody that can be used stops working.
pub async fn open_until(
    conn: &mut SqliteConnection,
    person: PersonId,
    now: Moment,
) -> sqlx::Result<Option<Moment>> {
    sqlx::query_scalar!(
        r#"select expires_at as "expires_at: Moment" from sign_in_link
            where person_id = ?1 and expires_at > ?2 and used_at is null and ended_at is null"#,
        person,
        now,
    )
    .fetch_optional(conn)
    .await
}
