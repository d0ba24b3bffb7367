//! The SQL of PINs.

use sqlx::SqliteConnection;

use super::pin::Standing;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::text::Name;

/// How somebody's PIN stands.
#[derive(Clone, Copy, Debug)]
pub struct Kept {
    pub set_at: Moment,
    pub standing: Standing,
}

pub async fn of(
    conn: &mut SqliteConnection,
    person: PersonId,
    now: Moment,
) -> sqlx::Result<Option<Kept>> {
    let row = sqlx::query!(
        r#"select set_at as "set_at: Moment", failures, failed_at as "failed_at: Moment" from pin where person_id = ?1"#,
        person,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| Kept {
        set_at: row.set_at,
        standing: Standing::of(row.failures, row.failed_at, now),
    }))
}

/// Who can sign on a shared tablet: whoever carries out clean-outs and has a PIN.
pub async fn signers(conn: &mut SqliteConnection) -> sqlx::Result<Vec<(PersonId, Name)>> {
    let rows = sqlx::query!(
        r#"select p.id as "id!: PersonId", p.name as "name: Name"
             from pin join person p on p.id = pin.person_id
            where p.kind = 'person' and p.ended_at is null and p.role <> 'viewer' order by p.name"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}

pub async fn set(tx: &mut WriteTx, person: PersonId, hash: &str, at: Moment) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into pin (person_id, hash, set_at) values (?1, ?2, ?3)
         on conflict (person_id) do update set hash = ?2, set_at = ?3, failures = 0, failed_at = null",
        person,
        hash,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// Whether there was one.
pub async fn remove(tx: &mut WriteTx, person: PersonId) -> sqlx::Result<bool> {
    let done = sqlx::query!("delete from pin where person_id = ?1", person)
        .execute(tx.conn())
        .await?;
    Ok(done.rows_affected() == 1)
}

/// What a try is checked against, or why there is none.
#[derive(Clone, Debug)]
pub enum Try {
    Against { hash: String, failures: i64 },
    Not(Standing),
    NoPin,
}

/// Counts a try as a wrong one before it is looked at, so that many at once are no more than their
/// number allows. [`right`] takes it back.
pub async fn begin_try(tx: &mut WriteTx, person: PersonId, now: Moment) -> sqlx::Result<Try> {
    let row = sqlx::query!(
        r#"select hash, failures, failed_at as "failed_at: Moment" from pin where person_id = ?1"#,
        person,
    )
    .fetch_optional(tx.conn())
    .await?;
    let Some(row) = row else {
        return Ok(Try::NoPin);
    };
    match Standing::of(row.failures, row.failed_at, now) {
        Standing::Open => {
            sqlx::query!(
                "update pin set failures = failures + 1, failed_at = ?2 where person_id = ?1",
                person,
                now,
            )
            .execute(tx.conn())
            .await?;
            Ok(Try::Against {
                hash: row.hash,
                failures: row.failures + 1,
            })
        }
        closed => Ok(Try::Not(closed)),
    }
}

/// The right PIN was typed: wrong tries are counted from the beginning.
pub async fn right(tx: &mut WriteTx, person: PersonId) -> sqlx::Result<()> {
    unlock(tx, person).await.map(|_| ())
}

/// Whether there was something to forget.
pub async fn unlock(tx: &mut WriteTx, person: PersonId) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update pin set failures = 0, failed_at = null where person_id = ?1 and failures > 0",
        person
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}
