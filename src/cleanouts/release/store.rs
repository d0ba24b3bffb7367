//! The SQL of decisions.

use anyhow::Context;
use sqlx::SqliteConnection;

use super::{Decision, Kept, Outcome};
use crate::cleanouts::run::By;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, PersonId};
use crate::text::{Name, Note};

/// The decisions on a clean-out, oldest first.
pub async fn decisions_of(
    conn: &mut SqliteConnection,
    id: CleanoutId,
) -> anyhow::Result<Vec<Decision>> {
    let rows = sqlx::query!(
        r#"select d.outcome as "outcome: Outcome", d.findings, d.reason as "reason: Note", d.person_id as "person_id: PersonId",
                  p.name as "name: Name", d.second_person_id as "second_id: PersonId", s.name as "second_name?: Name",
                  d.at as "at: Moment"
             from release_decision d
             join person p on p.id = d.person_id
             left join person s on s.id = d.second_person_id
            where d.cleanout_id = ?1 order by d.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|row| {
            let kept: Kept = serde_json::from_str(&row.findings)
                .with_context(|| format!("the findings of a decision on clean-out {id}"))?;
            Ok(Decision {
                outcome: row.outcome,
                kept,
                reason: row.reason,
                by: By {
                    id: row.person_id,
                    name: row.name,
                },
                second: row
                    .second_id
                    .zip(row.second_name)
                    .map(|(id, name)| By { id, name }),
                at: row.at,
            })
        })
        .collect()
}

/// A decision to be written.
#[derive(Clone, Debug)]
pub struct NewDecision {
    pub cleanout: CleanoutId,
    pub outcome: Outcome,
    pub kept: Kept,
    pub reason: Note,
    pub person: PersonId,
    pub second: Option<PersonId>,
    pub at: Moment,
}

pub async fn insert_decision(tx: &mut WriteTx, new: &NewDecision) -> anyhow::Result<()> {
    let findings = serde_json::to_string(&new.kept)?;
    sqlx::query!(
        "insert into release_decision (cleanout_id, outcome, findings, reason, person_id, second_person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        new.cleanout,
        new.outcome,
        findings,
        new.reason,
        new.person,
        new.second,
        new.at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
