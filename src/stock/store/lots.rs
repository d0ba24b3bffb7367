//! Lots with their balance, and assays.

use anyhow::Context;
use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{AssayId, LotId, PersonId, ProductId};
use crate::science::stored::Millilitres;
use crate::science::strength::{Basis, Strength};
use crate::stock::{Assay, AssayMethod, AssayPpm, LossPerYear, Lot};
use crate::text::{Name, Note};

struct Row {
    id: LotId,
    product_id: ProductId,
    product: Name,
    strength_value: f64,
    strength_basis: Basis,
    label_reference: String,
    label_says: Note,
    code: String,
    received_on: NaiveDate,
    opened_on: Option<NaiveDate>,
    retest_on: Option<NaiveDate>,
    kept_in: String,
    loss_permille_per_year: i64,
    withdrawn_reason: Option<Note>,
    version: i64,
    on_hand: Millilitres,
    assay_id: Option<AssayId>,
    assay_ppm: Option<i64>,
    assay_method: Option<AssayMethod>,
    assayed_on: Option<NaiveDate>,
    assayed_by: Option<Name>,
    assay_note: Option<String>,
}

impl TryFrom<Row> for Lot {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        let assay = match (
            row.assay_id,
            row.assay_ppm,
            row.assay_method,
            row.assayed_on,
            row.assayed_by,
        ) {
            (Some(id), Some(ppm), Some(method), Some(assayed_on), Some(by)) => Some(Assay {
                id,
                fraction: AssayPpm::new(ppm).map_err(anyhow::Error::msg)?,
                method,
                assayed_on,
                by,
                note: row.assay_note.unwrap_or_default(),
            }),
            _ => None,
        };
        Ok(Self {
            label: Strength::new(row.strength_value, row.strength_basis)
                .with_context(|| format!("the label of {}", row.product))?,
            loss: LossPerYear::from_permille(row.loss_permille_per_year)
                .map_err(anyhow::Error::msg)?,
            id: row.id,
            product_id: row.product_id,
            product: row.product,
            label_reference: row.label_reference,
            label_says: row.label_says,
            code: row.code,
            received_on: row.received_on,
            opened_on: row.opened_on,
            retest_on: row.retest_on,
            kept_in: row.kept_in,
            withdrawn_reason: row.withdrawn_reason,
            assay,
            on_hand: row.on_hand,
            version: row.version,
        })
    }
}

async fn wanted(conn: &mut SqliteConnection, id: Option<LotId>) -> anyhow::Result<Vec<Lot>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select l.id as "id!: LotId", l.product_id as "product_id: ProductId", p.name as "product: Name",
                  p.strength_value, p.strength_basis as "strength_basis: Basis", p.label_reference,
                  p.label_says as "label_says: Note", l.code, l.received_on as "received_on: NaiveDate",
                  l.opened_on as "opened_on: NaiveDate", l.retest_on as "retest_on: NaiveDate", l.kept_in,
                  l.loss_permille_per_year, l.withdrawn_reason as "withdrawn_reason: Note", l.version,
                  (select coalesce(sum(e.change_ml), 0) from stock_entry e where e.lot_id = l.id) as "on_hand!: Millilitres",
                  a.id as "assay_id?: AssayId", a.ww_ppm as "assay_ppm?", a.method as "assay_method?: AssayMethod",
                  a.assayed_on as "assayed_on?: NaiveDate", ap.name as "assayed_by?: Name", a.note as "assay_note?"
             from lot l
             join product p on p.id = l.product_id
             left join assay a on a.id = (select max(id) from assay where lot_id = l.id)
             left join person ap on ap.id = a.person_id
            where ?1 is null or l.id = ?1
            order by p.name, l.received_on, l.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Lot::try_from).collect()
}

/// Every lot with what is on hand of it, by product, the oldest first.
pub async fn with_balance(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Lot>> {
    wanted(conn, None).await
}

pub async fn by_id(conn: &mut SqliteConnection, id: LotId) -> anyhow::Result<Option<Lot>> {
    Ok(wanted(conn, Some(id)).await?.pop())
}

/// A delivery.
#[derive(Clone, Debug)]
pub struct NewLot {
    pub product_id: ProductId,
    pub code: String,
    pub received_on: NaiveDate,
    pub retest_on: Option<NaiveDate>,
    pub kept_in: String,
    pub loss: LossPerYear,
}

pub async fn insert(tx: &mut WriteTx, new: &NewLot, at: Moment) -> sqlx::Result<LotId> {
    let loss = new.loss.permille();
    sqlx::query_scalar!(
        r#"insert into lot (product_id, code, received_on, retest_on, kept_in, loss_permille_per_year, created_at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7) returning id as "id!: LotId""#,
        new.product_id, new.code, new.received_on, new.retest_on, new.kept_in, loss, at,
    )
    .fetch_one(tx.conn())
    .await
}

/// Notes the day a lot was opened, once.
pub async fn open(tx: &mut WriteTx, id: LotId, day: NaiveDate) -> sqlx::Result<()> {
    sqlx::query!(
        "update lot set opened_on = ?1, version = version + 1 where id = ?2 and opened_on is null",
        day,
        id
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// Takes a lot out of use, for good.
pub async fn withdraw(
    tx: &mut WriteTx,
    id: LotId,
    reason: &Note,
    at: Moment,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update lot set withdrawn_at = ?1, withdrawn_reason = ?2, version = version + 1 where id = ?3 and withdrawn_at is null",
        at, reason, id,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A titration to be written down, and the next day to repeat it.
#[derive(Clone, Debug)]
pub struct NewAssay {
    pub lot_id: LotId,
    pub fraction: AssayPpm,
    pub method: AssayMethod,
    pub assayed_on: NaiveDate,
    pub retest_on: Option<NaiveDate>,
    pub note: String,
}

pub async fn insert_assay(
    tx: &mut WriteTx,
    new: &NewAssay,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<AssayId> {
    let ppm = new.fraction.ppm();
    sqlx::query!(
        "update lot set retest_on = ?1, version = version + 1 where id = ?2",
        new.retest_on,
        new.lot_id
    )
    .execute(tx.conn())
    .await?;
    sqlx::query_scalar!(
        r#"insert into assay (lot_id, ww_ppm, method, assayed_on, person_id, at, note)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7) returning id as "id!: AssayId""#,
        new.lot_id,
        ppm,
        new.method,
        new.assayed_on,
        person,
        at,
        new.note,
    )
    .fetch_one(tx.conn())
    .await
}

/// Every assay of a lot, newest first.
pub async fn assays(conn: &mut SqliteConnection, lot: LotId) -> anyhow::Result<Vec<Assay>> {
    let rows = sqlx::query!(
        r#"select a.id as "id!: AssayId", a.ww_ppm, a.method as "method: AssayMethod", a.assayed_on as "assayed_on: NaiveDate",
                  p.name as "by: Name", a.note
             from assay a join person p on p.id = a.person_id where a.lot_id = ?1 order by a.id desc"#,
        lot,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|row| {
            let fraction = AssayPpm::new(row.ww_ppm).map_err(anyhow::Error::msg)?;
            Ok(Assay {
                id: row.id,
                fraction,
                method: row.method,
                assayed_on: row.assayed_on,
                by: row.by,
                note: row.note,
            })
        })
        .collect()
}
