//! The SQL of training.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, SkillId, TrainingId};
use crate::text::{Name, Note};

/// What somebody was taught.
#[derive(Clone, Debug)]
pub struct Training {
    pub id: TrainingId,
    pub held_on: NaiveDate,
    pub topics: Note,
    pub trainer: Name,
    pub evidence: Note,
    pub entered_by: Name,
    /// Why it does not count, where it was withdrawn.
    pub withdrawn: Option<Note>,
}

/// An entry to be written.
#[derive(Clone, Debug)]
pub struct NewTraining {
    pub held_on: NaiveDate,
    pub topics: Note,
    pub trainer: Name,
    pub evidence: Note,
}

/// All of one person, the newest day first.
pub async fn of(conn: &mut SqliteConnection, person: PersonId) -> sqlx::Result<Vec<Training>> {
    sqlx::query_as!(
        Training,
        r#"select t.id as "id!: TrainingId", t.held_on as "held_on: NaiveDate", t.topics as "topics: Note",
                  t.trainer as "trainer: Name", t.evidence as "evidence: Note", p.name as "entered_by: Name",
                  w.reason as "withdrawn?: Note"
             from training t
             join person p on p.id = t.entered_by
             left join training_withdrawn w on w.training_id = t.id
            where t.person_id = ?1 order by t.held_on desc, t.id desc"#,
        person,
    )
    .fetch_all(conn)
    .await
}

/// The trainings that show the skills of a person, each with its skill; also those that were withdrawn.
pub async fn shown_by(
    conn: &mut SqliteConnection,
    person: PersonId,
) -> sqlx::Result<Vec<(SkillId, TrainingId)>> {
    let rows = sqlx::query!(
        r#"select s.skill_id as "skill!: SkillId", s.training_id as "training!: TrainingId"
             from skill_training s join skill k on k.id = s.skill_id where k.person_id = ?1"#,
        person,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.skill, row.training))
        .collect())
}

/// Says that a training shows a skill. The table refuses one of another person.
pub async fn show_by(tx: &mut WriteTx, skill: SkillId, training: TrainingId) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into skill_training (skill_id, training_id) values (?1, ?2)",
        skill,
        training,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

pub async fn insert(
    tx: &mut WriteTx,
    person: PersonId,
    new: &NewTraining,
    by: PersonId,
    at: Moment,
) -> sqlx::Result<TrainingId> {
    sqlx::query_scalar!(
        r#"insert into training (person_id, held_on, topics, trainer, evidence, entered_by, at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7) returning id as "id!: TrainingId""#,
        person,
        new.held_on,
        new.topics,
        new.trainer,
        new.evidence,
        by,
        at,
    )
    .fetch_one(tx.conn())
    .await
}

pub async fn withdraw(
    tx: &mut WriteTx,
    id: TrainingId,
    reason: &Note,
    by: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into training_withdrawn (training_id, reason, withdrawn_by, at) values (?1, ?2, ?3, ?4)",
        id,
        reason,
        by,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
