//! The SQL of who may let go of which rule at this site.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::site::rules::{Kept, MayLetGo, StepRule};
use crate::text::{Name, Note};

/// A choice that was made.
#[derive(Clone, Debug)]
pub struct Choice {
    pub rule: StepRule,
    pub who: MayLetGo,
    pub why: Note,
    pub by: Name,
    pub at: Moment,
}

/// Every choice, newest first: the first of a rule is the one that counts.
pub async fn choices(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Choice>> {
    sqlx::query_as!(
        Choice,
        r#"select r.rule as "rule: StepRule", r.who as "who: MayLetGo", r.why as "why: Note", p.name as "by: Name",
                  r.at as "at: Moment"
             from rule_choice r join person p on p.id = r.person_id
            order by r.id desc"#
    )
    .fetch_all(conn)
    .await
}

/// What nobody lets go of now.
pub async fn kept(conn: &mut SqliteConnection) -> sqlx::Result<Kept> {
    let rows = sqlx::query!(
        r#"select r.rule as "rule: StepRule", r.who as "who: MayLetGo" from rule_choice r
            where r.id = (select max(n.id) from rule_choice n where n.rule = r.rule)"#
    )
    .fetch_all(conn)
    .await?;
    Ok(Kept::new(rows.into_iter().map(|row| (row.rule, row.who))))
}

pub async fn insert(
    tx: &mut WriteTx,
    rule: StepRule,
    who: MayLetGo,
    why: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into rule_choice (rule, who, why, person_id, at) values (?1, ?2, ?3, ?4, ?5)",
        rule,
        who,
        why,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
