//! The only SQL of the logbook.

use sqlx::SqliteConnection;

use super::{Author, BEGINNING, Chain, Entry, Follow, Written};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;

/// Adds an entry inside the caller's transaction.
pub async fn write(
    tx: &mut WriteTx,
    author: &Author,
    entry: Entry,
    at: Moment,
) -> sqlx::Result<()> {
    let last = sqlx::query!("select id, hash from logbook order by id desc limit 1")
        .fetch_optional(tx.conn())
        .await?;
    let mut detail = entry.detail;
    if let (Some(signed), Some(detail)) = (&author.signed, detail.as_object_mut()) {
        detail.insert("signed how".to_owned(), signed.clone().into());
    }
    let (last_id, previous_hash) = last.map_or((0, BEGINNING.to_owned()), |row| (row.id, row.hash));
    let mut new = Written {
        id: last_id + 1,
        at,
        person_id: author.id,
        person_name: author.name.clone(),
        about: entry.about,
        subject: entry.subject,
        what: entry.what,
        detail: detail.to_string(),
        previous_hash,
        hash: String::new(),
    };
    new.hash = new.computed_hash();
    sqlx::query!(
        "insert into logbook (id, at, person_id, person_name, about, subject, what, detail, previous_hash, hash)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        new.id, new.at, new.person_id, new.person_name, new.about, new.subject, new.what, new.detail,
        new.previous_hash, new.hash,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// Which entries are asked for; what is not given does not narrow them.
#[derive(Clone, Debug, Default)]
pub struct Wanted<'a> {
    /// Only entries before this one.
    pub before: Option<i64>,
    /// About one thing, as 'system/3'.
    pub about: Option<&'a str>,
    /// With these words in what it is about, what was done, who did it or the detail.
    pub words: Option<&'a str>,
    pub since: Option<Moment>,
    pub until: Option<Moment>,
}

/// The entries wanted, newest first.
pub async fn page(
    conn: &mut SqliteConnection,
    wanted: &Wanted<'_>,
    most: i64,
) -> sqlx::Result<Vec<Written>> {
    sqlx::query_as!(
        Written,
        r#"select id, at as "at: Moment", person_id as "person_id: PersonId", person_name, about, subject, what,
                  detail, previous_hash, hash
             from logbook
            where (?1 is null or id < ?1)
              and (?2 is null or about = ?2)
              and (?3 is null or instr(lower(subject || ' ' || what || ' ' || person_name || ' ' || detail), lower(?3)) > 0)
              and (?4 is null or at >= ?4)
              and (?5 is null or at < ?5)
            order by id desc limit ?6"#,
        wanted.before, wanted.about, wanted.words, wanted.since, wanted.until, most,
    )
    .fetch_all(conn)
    .await
}

/// The number and the hash of the newest entry: the head of the chain.
pub async fn head(conn: &mut SqliteConnection) -> sqlx::Result<Option<(i64, String)>> {
    let row = sqlx::query!("select id, hash from logbook order by id desc limit 1")
        .fetch_optional(conn)
        .await?;
    Ok(row.map(|row| (row.id, row.hash)))
}

/// Follows the whole chain, a thousand entries at a time.
pub async fn check(conn: &mut SqliteConnection) -> sqlx::Result<Chain> {
    let mut follow = Follow::default();
    let mut after = i64::MIN;
    loop {
        let entries = sqlx::query_as!(
            Written,
            r#"select id, at as "at: Moment", person_id as "person_id: PersonId", person_name, about, subject, what,
                      detail, previous_hash, hash
                 from logbook where id > ?1 order by id limit 1000"#,
            after,
        )
        .fetch_all(&mut *conn)
        .await?;
        let Some(last) = entries.last() else {
            return Ok(follow.end());
        };
        after = last.id;
        for entry in &entries {
            if let Err(broken) = follow.take(entry) {
                return Ok(broken);
            }
        }
    }
}
