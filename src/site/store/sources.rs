//! The SQL of the choices between published sources.

use chrono_tz::Tz;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::science::sources::{Choices, Question};
use crate::site::sources::Chosen;
use crate::text::{Name, Note};

/// A choice that was made.
#[derive(Clone, Debug)]
pub struct Choice {
    pub question: String,
    pub choice: String,
    pub why: Note,
    pub by: Name,
    pub at: Moment,
}

/// Every choice, newest first: the first of a question is the one that counts.
pub async fn choices(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Choice>> {
    sqlx::query_as!(
        Choice,
        r#"select s.question, s.choice, s.why as "why: Note", p.name as "by: Name", s.at as "at: Moment"
             from source_choice s join person p on p.id = s.person_id
            order by s.id desc"#
    )
    .fetch_all(conn)
    .await
}

/// What is gone by, for a sum that knows no day.
pub async fn in_use(conn: &mut SqliteConnection) -> sqlx::Result<Choices> {
    let choices = choices(conn).await?.into_iter();
    let known = choices.filter_map(|one| Some((Question::from_code(&one.question)?, one.choice)));
    Ok(Choices::new(known.collect()))
}

/// The choice that counts for each question, with its day in this zone.
pub async fn chosen(conn: &mut SqliteConnection, zone: Tz) -> sqlx::Result<Chosen> {
    let rows = sqlx::query!(
        r#"select s.question, s.choice, s.at as "at: Moment" from source_choice s
            where s.id = (select max(n.id) from source_choice n where n.question = s.question)"#
    )
    .fetch_all(conn)
    .await?;
    // A question that is no longer asked answers nothing.
    let newest = rows.into_iter().filter_map(|row| {
        Some((
            Question::from_code(&row.question)?,
            row.choice,
            row.at.day(zone),
        ))
    });
    Ok(Chosen::new(newest.collect()))
}

pub async fn insert(
    tx: &mut WriteTx,
    question: Question,
    choice: &str,
    why: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    let code = question.code();
    sqlx::query!(
        "insert into source_choice (question, choice, why, person_id, at) values (?1, ?2, ?3, ?4, ?5)",
        code,
        choice,
        why,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
