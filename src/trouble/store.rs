//! The only SQL of troubles, and of what rule sets say about stock that is gone.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::{End, LossRule, NewTrouble, Trouble, TroubleKind};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{LotId, PersonId, TroubleId};
use crate::science::quantity::MassFraction;
use crate::text::{Name, Note};

struct Row {
    id: TroubleId,
    kind: TroubleKind,
    lot_id: Option<LotId>,
    subject: String,
    seen: String,
    reason: Note,
    to_tell: String,
    person: Name,
    at: Moment,
    found: Option<Note>,
    told: Option<Note>,
    end_person: Option<Name>,
    end_at: Option<Moment>,
}

impl From<Row> for Trouble {
    fn from(row: Row) -> Self {
        let end = match (row.found, row.told, row.end_person, row.end_at) {
            (Some(found), Some(told), Some(person), Some(at)) => Some(End {
                found,
                told,
                person,
                at,
            }),
            _ => None,
        };
        Self {
            id: row.id,
            kind: row.kind,
            lot_id: row.lot_id,
            subject: row.subject,
            seen: row.seen,
            reason: row.reason,
            to_tell: row.to_tell,
            person: row.person,
            at: row.at,
            end,
        }
    }
}

/// Every trouble, or one; open ones first, then the newest first.
async fn select(conn: &mut SqliteConnection, id: Option<TroubleId>) -> sqlx::Result<Vec<Trouble>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select t.id as "id!: TroubleId", t.kind as "kind: TroubleKind", t.lot_id as "lot_id: LotId", t.subject, t.seen,
                  t.reason as "reason: Note", t.to_tell, p.name as "person: Name", t.at as "at: Moment",
                  e.found as "found?: Note", e.told as "told?: Note", q.name as "end_person?: Name", e.at as "end_at?: Moment"
             from trouble t join person p on p.id = t.person_id
             left join trouble_end e on e.trouble_id = t.id left join person q on q.id = e.person_id
            where ?1 is null or t.id = ?1
            order by e.trouble_id is not null, t.id desc"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Trouble::from).collect())
}

pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Trouble>> {
    select(conn, None).await
}

pub async fn open_ones(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Trouble>> {
    let mut open = select(conn, None).await?;
    open.retain(Trouble::is_open);
    Ok(open)
}

pub async fn by_id(conn: &mut SqliteConnection, id: TroubleId) -> sqlx::Result<Option<Trouble>> {
    Ok(select(conn, Some(id)).await?.pop())
}

pub async fn insert(
    tx: &mut WriteTx,
    new: &NewTrouble,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<TroubleId> {
    sqlx::query_scalar!(
        r#"insert into trouble (kind, lot_id, subject, seen, reason, to_tell, person_id, at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) returning id as "id!: TroubleId""#,
        new.kind,
        new.lot,
        new.subject,
        new.seen,
        new.reason,
        new.to_tell,
        person,
        at,
    )
    .fetch_one(tx.conn())
    .await
}

pub async fn close(
    tx: &mut WriteTx,
    id: TroubleId,
    found: &Note,
    told: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into trouble_end (trouble_id, found, told, person_id, at) values (?1, ?2, ?3, ?4, ?5)",
        id,
        found,
        told,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

struct RuleRow {
    from_ww_ppm: i64,
    says: String,
    source: String,
    in_force_from: NaiveDate,
    ended_on: Option<NaiveDate>,
}

pub async fn loss_rules(
    conn: &mut SqliteConnection,
    rule_set: &str,
) -> anyhow::Result<Vec<LossRule>> {
    let rows = sqlx::query_as!(
        RuleRow,
        r#"select from_ww_ppm, says, source, in_force_from as "in_force_from: NaiveDate", ended_on as "ended_on: NaiveDate"
             from loss_rule where rule_set = ?1"#,
        rule_set,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|row| {
            Ok(LossRule {
                from: MassFraction::new(row.from_ww_ppm as f64 / 1e6)?,
                says: row.says,
                source: row.source,
                in_force_from: row.in_force_from,
                ended_on: row.ended_on,
            })
        })
        .collect()
}
