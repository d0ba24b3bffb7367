//! The SQL of what was let go of.

use sqlx::SqliteConnection;

use super::LetGo;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, LetGoId, PersonId};
use crate::site::rules::StepRule;
use crate::text::{Name, Note};

/// Everything that was let go of at a clean-out, in order.
pub async fn of_cleanout(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Vec<LetGo>> {
    let rows = sqlx::query!(
        r#"select l.id as "id!: LetGoId", l.rule as "rule: StepRule", l.step_no, l.for_person_id as "person: PersonId",
                  f.name as "person_name: Name", l.why as "why: Note", p.name as "by: Name", l.at as "at: Moment",
                  b.name as "back_by?: Name", t.at as "back_at?: Moment"
             from let_go l
             join person f on f.id = l.for_person_id
             join person p on p.id = l.person_id
             left join let_go_taken_back t on t.let_go_id = l.id
             left join person b on b.id = t.person_id
            where l.cleanout_id = ?1 order by l.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| LetGo {
            id: row.id,
            rule: row.rule,
            step_no: row.step_no,
            person: row.person,
            person_name: row.person_name,
            why: row.why,
            by: row.by,
            at: row.at,
            taken_back: row.back_by.zip(row.back_at),
        })
        .collect())
}

/// A rule that is let go of.
#[derive(Clone, Debug)]
pub struct NewLetGo {
    pub cleanout: CleanoutId,
    pub rule: StepRule,
    pub step_no: Option<i64>,
    pub person: PersonId,
    pub why: Note,
}

pub async fn insert(
    tx: &mut WriteTx,
    new: &NewLetGo,
    by: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into let_go (cleanout_id, rule, step_no, for_person_id, why, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        new.cleanout,
        new.rule,
        new.step_no,
        new.person,
        new.why,
        by,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

pub async fn take_back(
    tx: &mut WriteTx,
    id: LetGoId,
    by: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into let_go_taken_back (let_go_id, person_id, at) values (?1, ?2, ?3)",
        id,
        by,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
