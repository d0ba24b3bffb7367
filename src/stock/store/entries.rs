//! The SQL of the ledger. Each function reads the balance and adds to it inside the caller's
//! transaction, so that two people cannot both take the last litre.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::by_id;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, LotId, PersonId, StockEntryId};
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::stock::ledger::{self, EntryKind, NotEnough, NotEntered, StockEntry};
use crate::text::{Name, Note};

/// An entry whose change was reckoned in this same transaction.
#[derive(Clone, Debug)]
pub struct NewEntry {
    pub lot: LotId,
    pub kind: EntryKind,
    pub change: MillilitreChange,
    pub counted: Option<Millilitres>,
    pub cleanout: Option<CleanoutId>,
    pub reason: Note,
    pub person: PersonId,
    pub corrects: Option<StockEntryId>,
    pub at: Moment,
}

pub async fn enter(tx: &mut WriteTx, new: &NewEntry) -> sqlx::Result<StockEntryId> {
    sqlx::query_scalar!(
        r#"insert into stock_entry (lot_id, kind, change_ml, counted_ml, cleanout_id, reason, person_id, at, corrects)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) returning id as "id!: StockEntryId""#,
        new.lot, new.kind, new.change, new.counted, new.cleanout, new.reason, new.person, new.at, new.corrects,
    )
    .fetch_one(tx.conn())
    .await
}

/// What is poured, for a clean-out or, with a reason, for something else.
#[derive(Clone, Debug)]
pub struct Draw {
    pub lot: LotId,
    pub amount: Millilitres,
    pub cleanout: Option<CleanoutId>,
    pub reason: Note,
    pub person: PersonId,
    /// The day at the site: a lot that was sealed is open from it on.
    pub today: NaiveDate,
    pub at: Moment,
}

/// Why nothing was drawn.
#[derive(Debug, thiserror::Error)]
pub enum NotDrawn {
    #[error(transparent)]
    NotEnough(#[from] NotEnough),
    /// Withdrawn, nothing asked for, or no such lot.
    #[error("{0}")]
    Refused(String),
    #[error(transparent)]
    Other(#[from] anyhow::Error),
}

impl From<sqlx::Error> for NotDrawn {
    fn from(error: sqlx::Error) -> Self {
        Self::Other(error.into())
    }
}

impl From<NotEntered> for NotDrawn {
    fn from(refusal: NotEntered) -> Self {
        match refusal {
            NotEntered::NotEnough(refusal) => Self::NotEnough(refusal),
            other => Self::Refused(other.to_string()),
        }
    }
}

/// Draws from a lot inside the caller's transaction. A lot that was sealed is open from now on. The
/// caller writes what the logbook should say.
pub async fn draw(tx: &mut WriteTx, draw: &Draw) -> Result<StockEntryId, NotDrawn> {
    let lot = by_id(tx.conn(), draw.lot)
        .await?
        .ok_or_else(|| NotDrawn::Refused("There is no such lot here.".to_owned()))?;
    if lot.withdrawn.is_some() {
        return Err(NotEntered::Withdrawn.into());
    }
    let change = ledger::moved(lot.on_hand, EntryKind::Drawn, draw.amount)?;
    sqlx::query!(
        "update lot set opened_on = ?2, version = version + 1 where id = ?1 and opened_on is null",
        draw.lot,
        draw.today,
    )
    .execute(tx.conn())
    .await?;
    let entry = NewEntry {
        lot: draw.lot,
        kind: EntryKind::Drawn,
        change,
        counted: None,
        cleanout: draw.cleanout,
        reason: draw.reason.clone(),
        person: draw.person,
        corrects: None,
        at: draw.at,
    };
    Ok(enter(tx, &entry).await?)
}

/// Writes the first entry of a lot that has just been received.
pub async fn received(
    tx: &mut WriteTx,
    lot: LotId,
    change: MillilitreChange,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<StockEntryId> {
    let entry = NewEntry {
        lot,
        kind: EntryKind::Received,
        change,
        counted: None,
        cleanout: None,
        reason: Note::default(),
        person,
        corrects: None,
        at,
    };
    enter(tx, &entry).await
}

/// Every entry of a lot, newest first.
pub async fn of_lot(conn: &mut SqliteConnection, lot: LotId) -> sqlx::Result<Vec<StockEntry>> {
    sqlx::query_as!(
        StockEntry,
        r#"select e.id as "id!: StockEntryId", e.lot_id as "lot_id: LotId", e.kind as "kind: EntryKind",
                  e.change_ml as "change: MillilitreChange", e.counted_ml as "counted: Millilitres",
                  e.cleanout_id as "cleanout_id: CleanoutId", c.number as "cleanout_number?", e.reason as "reason: Note",
                  p.name as "person: Name", e.at as "at: Moment", e.corrects as "corrects: StockEntryId",
                  f.name as "from_store?: Name", t.name as "to_store?: Name", e.other_lot_id as "other_lot_id: LotId",
                  o.code as "other_lot_code?"
             from stock_entry e join person p on p.id = e.person_id left join cleanout c on c.id = e.cleanout_id
             left join store f on f.id = e.from_store_id left join store t on t.id = e.to_store_id
             left join lot o on o.id = e.other_lot_id
            where e.lot_id = ?1 order by e.id desc"#,
        lot,
    )
    .fetch_all(conn)
    .await
}
