//! The SQL of moving stock and of parting a lot.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::made::part_of_made;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{LotId, PersonId, ProductId, StockEntryId, StoreId};
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::stock::Lot;
use crate::stock::ledger::EntryKind;
use crate::text::Note;

/// One end of a move, whose change was reckoned in this same transaction.
#[derive(Clone, Debug)]
pub struct NewMove {
    pub lot: LotId,
    pub kind: EntryKind,
    pub change: MillilitreChange,
    pub from: Option<StoreId>,
    pub to: Option<StoreId>,
    /// The lot at the other end, where the lot was parted.
    pub other: Option<LotId>,
    pub reason: Note,
    pub person: PersonId,
    pub at: Moment,
}

pub async fn enter_move(tx: &mut WriteTx, new: &NewMove) -> sqlx::Result<StockEntryId> {
    sqlx::query_scalar!(
        r#"insert into stock_entry (lot_id, kind, change_ml, reason, person_id, at, from_store_id, to_store_id, other_lot_id)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) returning id as "id!: StockEntryId""#,
        new.lot, new.kind, new.change, new.reason, new.person, new.at, new.from, new.to, new.other,
    )
    .fetch_one(tx.conn())
    .await
}

/// Puts a whole lot into a store.
pub async fn put_into(
    tx: &mut WriteTx,
    lot: LotId,
    store: StoreId,
    kept_in: &str,
) -> sqlx::Result<()> {
    sqlx::query!(
        "update lot set store_id = ?2, kept_in = ?3, version = version + 1 where id = ?1",
        lot,
        store,
        kept_in,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// Marks a lot as open from a day on, where it was sealed.
pub async fn open(tx: &mut WriteTx, lot: LotId, today: NaiveDate) -> sqlx::Result<()> {
    sqlx::query!(
        "update lot set opened_on = ?2, version = version + 1 where id = ?1 and opened_on is null",
        lot,
        today,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// A part that goes on as a lot of its own.
#[derive(Clone, Debug)]
pub struct NewPart {
    pub code: String,
    pub store: Option<StoreId>,
    pub kept_in: String,
    pub container: Option<Millilitres>,
    pub opened_on: Option<NaiveDate>,
}

/// Writes the part down with the dates of its lot, and with the assay that counts for it. Its first
/// entry is written in the same transaction.
pub async fn insert_part(
    tx: &mut WriteTx,
    of: &Lot,
    new: &NewPart,
    at: Moment,
) -> sqlx::Result<LotId> {
    let id = sqlx::query_scalar!(
        r#"insert into lot (product_id, code, received_on, opened_on, retest_on, kept_in, loss_permille_per_year, created_at,
                            store_id, container_ml, litre_cost_hundredths, part_of, strength_permille)
           select product_id, ?2, received_on, ?3, retest_on, ?4, loss_permille_per_year, ?5, ?6, ?7, litre_cost_hundredths, id, strength_permille
             from lot where id = ?1 returning id as "id!: LotId""#,
        of.id, new.code, new.opened_on, new.kept_in, at, new.store, new.container,
    )
    .fetch_one(tx.conn())
    .await?;
    if of.made.is_some() {
        part_of_made(tx, of.id, id).await?;
    }
    if let Some(assay) = &of.assay {
        let note = format!(
            "As found for lot {}, from which this was parted. {}",
            of.code, assay.note
        );
        sqlx::query!(
            "insert into assay (lot_id, ww_ppm, method, assayed_on, person_id, at, note)
             select ?1, ww_ppm, method, assayed_on, person_id, ?3, substr(?4, 1, 2000) from assay where id = ?2",
            id,
            assay.id,
            at,
            note,
        )
        .execute(tx.conn())
        .await?;
    }
    Ok(id)
}

/// Every code that lots of a product have or had.
pub async fn codes(conn: &mut SqliteConnection, product: ProductId) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar!("select code from lot where product_id = ?1", product)
        .fetch_all(conn)
        .await
}
