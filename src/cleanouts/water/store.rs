//! The SQL of what went into the water.

use sqlx::SqliteConnection;

use super::{Entered, History, OpenJob, What};
use crate::cleanouts::{self, run};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, SystemId, WaterEntryId};
use crate::science::agents::AgentKind;
use crate::text::{Name, Note};

/// An entry as a form gives it.
#[derive(Clone, Debug)]
pub struct NewEntry {
    pub what: What,
    pub agent: Option<AgentKind>,
    pub product: String,
    pub rinses: Option<i64>,
    pub note: Note,
    pub takes_back: Option<WaterEntryId>,
}

pub async fn insert(
    tx: &mut WriteTx,
    system: SystemId,
    new: &NewEntry,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<WaterEntryId> {
    sqlx::query_scalar!(
        r#"insert into water_entry (system_id, what, agent, product, rinses, note, takes_back, person_id, at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) returning id as "id!: WaterEntryId""#,
        system, new.what, new.agent, new.product, new.rinses, new.note, new.takes_back, person, at,
    )
    .fetch_one(tx.conn())
    .await
}

/// Everything that is on record of the water of a system.
pub async fn history(conn: &mut SqliteConnection, system: SystemId) -> anyhow::Result<History> {
    let entries = sqlx::query_as!(
        Entered,
        r#"select w.id as "id!: WaterEntryId", w.what as "what: What", w.agent as "agent: AgentKind", w.product, w.rinses,
                  w.note as "note: Note", w.takes_back as "takes_back: WaterEntryId", p.name as "by: Name",
                  w.at as "at: Moment"
             from water_entry w join person p on p.id = w.person_id
            where w.system_id = ?1 order by w.id"#,
        system,
    )
    .fetch_all(&mut *conn)
    .await?;
    let released = sqlx::query_scalar!(
        r#"select max(d.at) as "at: Moment"
             from release_decision d join cleanout c on c.id = d.cleanout_id
            where c.system_id = ?1 and d.outcome = 'released'"#,
        system,
    )
    .fetch_one(&mut *conn)
    .await?;
    let open = cleanouts::store::of_system(conn, system)
        .await?
        .into_iter()
        .find(|job| job.state.is_open());
    let open = match open {
        None => None,
        Some(job) => match cleanouts::store::card_of(conn, job.id).await? {
            None => None,
            Some(card) => Some(OpenJob {
                number: job.number,
                method: card.method,
                record: run::store::record_of(conn, job.id).await?,
            }),
        },
    };
    Ok(History {
        entries,
        released,
        open,
    })
}
