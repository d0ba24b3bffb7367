//! Stock entries: added, never changed.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::lots;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, LotId, PersonId, StockEntryId};
use crate::science::show;
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::science::units::Units;
use crate::stock::{Entry, EntryKind, NotDrawn};
use crate::text::{Name, Note};

/// An entry to be added.
#[derive(Clone, Debug)]
pub struct NewEntry {
    pub lot_id: LotId,
    pub kind: EntryKind,
    pub change: MillilitreChange,
    pub counted: Option<Millilitres>,
    pub cleanout_id: Option<CleanoutId>,
    pub reason: Note,
    pub corrects: Option<StockEntryId>,
}

impl NewEntry {
    pub fn plain(lot_id: LotId, kind: EntryKind, change: MillilitreChange, reason: Note) -> Self {
        Self {
            lot_id,
            kind,
            change,
            counted: None,
            cleanout_id: None,
            reason,
            corrects: None,
        }
    }
}

pub async fn add(
    tx: &mut WriteTx,
    new: &NewEntry,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<StockEntryId> {
    sqlx::query_scalar!(
        r#"insert into stock_entry (lot_id, kind, change_ml, counted_ml, cleanout_id, reason, person_id, at, corrects)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) returning id as "id!: StockEntryId""#,
        new.lot_id, new.kind, new.change, new.counted, new.cleanout_id, new.reason, person, at, new.corrects,
    )
    .fetch_one(tx.conn())
    .await
}

/// Draws from a lot for a clean-out, inside the caller's transaction: nobody else can draw between the
/// look at the balance and the entry. The first draw opens the lot.
pub async fn draw(
    tx: &mut WriteTx,
    lot_id: LotId,
    volume: Millilitres,
    cleanout_id: CleanoutId,
    person: PersonId,
    today: NaiveDate,
    at: Moment,
) -> Result<StockEntryId, NotDrawn> {
    let lot = lots::by_id(tx.conn(), lot_id)
        .await?
        .ok_or_else(|| NotDrawn::Unusable("That lot is not in the stock.".to_owned()))?;
    if let Some(why) = lot.unusable(today) {
        return Err(NotDrawn::Unusable(why));
    }
    if volume > lot.on_hand {
        let on_hand = show::volume(lot.on_hand.volume(), Units::Metric);
        return Err(NotDrawn::NotEnough {
            lot: lot.words(),
            on_hand,
        });
    }
    let change = MillilitreChange::new(-volume.get()).map_err(anyhow::Error::from)?;
    let mut entry = NewEntry::plain(lot_id, EntryKind::Drawn, change, Note::default());
    entry.cleanout_id = Some(cleanout_id);
    lots::open(tx, lot_id, today).await?;
    Ok(add(tx, &entry, person, at).await?)
}

/// Every entry of a lot, newest first.
pub async fn of_lot(conn: &mut SqliteConnection, lot: LotId) -> sqlx::Result<Vec<Entry>> {
    sqlx::query_as!(
        Entry,
        r#"select e.id as "id!: StockEntryId", e.kind as "kind: EntryKind", e.change_ml as "change: MillilitreChange",
                  e.counted_ml as "counted: Millilitres", e.cleanout_id as "cleanout_id: CleanoutId",
                  c.number as "cleanout_number?", e.reason as "reason: Note", p.name as "by: Name", e.at as "at: Moment",
                  e.corrects as "corrects: StockEntryId"
             from stock_entry e
             join person p on p.id = e.person_id
             left join cleanout c on c.id = e.cleanout_id
            where e.lot_id = ?1 order by e.id desc"#,
        lot,
    )
    .fetch_all(conn)
    .await
}
