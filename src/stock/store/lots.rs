//! The SQL of lots and their assays.

use anyhow::Context;
use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::products::printed;
use super::touched;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{AssayId, LotId, PersonId, ProductId, StoreId};
use crate::science::agents::AgentKind;
use crate::science::peroxide::YearlyLoss;
use crate::science::quantity::MassFraction;
use crate::science::stored::{Hundredths, Millilitres, Minutes, Permille, TenthsCelsius};
use crate::science::strength::{Basis, Strength};
use crate::stock::assay::Method;
use crate::stock::made::Made;
use crate::stock::printed::{ChlorineAs, Printed, RateOf};
use crate::stock::{Assay, Lot, StandsIn};
use crate::text::{Name, Note};

/// A delivery. Its first entry is written with it, in the same transaction.
#[derive(Clone, Debug)]
pub struct NewLot {
    pub product_id: ProductId,
    pub code: String,
    pub received_on: NaiveDate,
    pub opened_on: Option<NaiveDate>,
    pub retest_on: Option<NaiveDate>,
    pub kept_in: String,
    pub store: Option<StoreId>,
    pub container: Option<Millilitres>,
    pub litre_cost: Option<Hundredths>,
    pub loss: YearlyLoss,
    pub strength_off: Option<Permille>,
}

/// What of a lot can be changed afterwards.
#[derive(Clone, Debug)]
pub struct LotChange {
    pub opened_on: Option<NaiveDate>,
    pub retest_on: Option<NaiveDate>,
    pub kept_in: String,
    pub container: Option<Millilitres>,
    pub litre_cost: Option<Hundredths>,
    pub loss: YearlyLoss,
    pub strength_off: Option<Permille>,
}

/// A strength that was found.
#[derive(Clone, Debug)]
pub struct NewAssay {
    pub found: MassFraction,
    pub how: Method,
    pub assayed_on: NaiveDate,
    pub note: Note,
}

fn permille(loss: YearlyLoss) -> anyhow::Result<Permille> {
    Ok(Permille::nearest(loss.get())?)
}

pub async fn insert_lot(tx: &mut WriteTx, new: &NewLot, at: Moment) -> anyhow::Result<LotId> {
    let loss = permille(new.loss)?;
    let id = sqlx::query_scalar!(
        r#"insert into lot (product_id, code, received_on, opened_on, retest_on, kept_in, loss_permille_per_year, created_at,
                            store_id, container_ml, litre_cost_hundredths, strength_permille)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12) returning id as "id!: LotId""#,
        new.product_id, new.code, new.received_on, new.opened_on, new.retest_on, new.kept_in, loss, at, new.store,
        new.container, new.litre_cost, new.strength_off,
    )
    .fetch_one(tx.conn())
    .await?;
    Ok(id)
}

/// Changes a lot. False when it was changed since it was read.
pub async fn change_lot(
    tx: &mut WriteTx,
    id: LotId,
    version: i64,
    change: &LotChange,
) -> anyhow::Result<bool> {
    let loss = permille(change.loss)?;
    let done = sqlx::query!(
        "update lot set opened_on = ?3, retest_on = ?4, kept_in = ?5, loss_permille_per_year = ?6, container_ml = ?7,
                litre_cost_hundredths = ?8, strength_permille = ?9, version = version + 1
          where id = ?1 and version = ?2",
        id, version, change.opened_on, change.retest_on, change.kept_in, loss, change.container, change.litre_cost,
        change.strength_off,
    )
    .execute(tx.conn())
    .await?;
    Ok(touched(&done))
}

/// Withdraws a lot for good. False when somebody did so before.
pub async fn withdraw(
    tx: &mut WriteTx,
    id: LotId,
    reason: &Note,
    at: Moment,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update lot set withdrawn_at = ?2, withdrawn_reason = ?3, version = version + 1 where id = ?1 and withdrawn_at is null",
        id, at, reason,
    )
    .execute(tx.conn())
    .await?;
    Ok(touched(&done))
}

/// Writes an assay down. It answers the retest that was due; the next one is due on `retest_on`.
pub async fn insert_assay(
    tx: &mut WriteTx,
    lot: LotId,
    new: &NewAssay,
    retest_on: Option<NaiveDate>,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<AssayId> {
    sqlx::query!(
        "update lot set retest_on = ?2, version = version + 1 where id = ?1",
        lot,
        retest_on,
    )
    .execute(tx.conn())
    .await?;
    let ww_ppm = (new.found.get() * 1e6).round() as i64;
    sqlx::query_scalar!(
        r#"insert into assay (lot_id, ww_ppm, method, assayed_on, person_id, at, note)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7) returning id as "id!: AssayId""#,
        lot,
        ww_ppm,
        new.how,
        new.assayed_on,
        person,
        at,
        new.note,
    )
    .fetch_one(tx.conn())
    .await
}

struct AssayRow {
    id: AssayId,
    ww_ppm: i64,
    how: Method,
    assayed_on: NaiveDate,
    person: Name,
    note: Note,
}

impl TryFrom<AssayRow> for Assay {
    type Error = anyhow::Error;

    fn try_from(row: AssayRow) -> anyhow::Result<Self> {
        Ok(Self {
            id: row.id,
            found: Strength::new(row.ww_ppm as f64 / 10_000.0, Basis::PercentWw)?,
            how: row.how,
            assayed_on: row.assayed_on,
            person: row.person,
            note: row.note,
        })
    }
}

/// Every assay of a lot; the first one counts.
pub async fn assays(conn: &mut SqliteConnection, lot: LotId) -> anyhow::Result<Vec<Assay>> {
    let rows = sqlx::query_as!(
        AssayRow,
        r#"select a.id as "id!: AssayId", a.ww_ppm, a.method as "how: Method", a.assayed_on as "assayed_on: NaiveDate",
                  p.name as "person: Name", a.note as "note: Note"
             from assay a join person p on p.id = a.person_id
            where a.lot_id = ?1 order by a.assayed_on desc, a.id desc"#,
        lot,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Assay::try_from).collect()
}

struct Row {
    id: LotId,
    code: String,
    received_on: NaiveDate,
    opened_on: Option<NaiveDate>,
    retest_on: Option<NaiveDate>,
    kept_in: String,
    store_id: Option<StoreId>,
    store_name: Option<Name>,
    warmest: Option<TenthsCelsius>,
    container: Option<Millilitres>,
    litre_cost: Option<Hundredths>,
    part_of: Option<LotId>,
    part_of_code: Option<String>,
    loss: Permille,
    strength_off: Option<Permille>,
    product_off: Option<Permille>,
    withdrawn_reason: Option<Note>,
    version: i64,
    on_hand: Millilitres,
    product_id: ProductId,
    product: Name,
    agent: AgentKind,
    strength_value: Option<f64>,
    strength_basis: Option<Basis>,
    chlorine_as: Option<ChlorineAs>,
    rate_milli: Option<i64>,
    rate_of: Option<RateOf>,
    label_reference: String,
    label_says: Note,
    reentry: Option<Minutes>,
    assay_id: Option<AssayId>,
    ww_ppm: Option<i64>,
    how: Option<Method>,
    assayed_on: Option<NaiveDate>,
    person: Option<Name>,
    assay_note: Option<Note>,
    made_value: Option<f64>,
    made_basis: Option<Basis>,
    made_concentrate: Option<Millilitres>,
    made_water: Option<Millilitres>,
    made_use_by: Option<NaiveDate>,
}

impl TryFrom<Row> for Lot {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        let found = (
            row.assay_id,
            row.ww_ppm,
            row.how,
            row.assayed_on,
            row.person,
            row.assay_note,
        );
        let assay = match found {
            (Some(id), Some(ww_ppm), Some(how), Some(assayed_on), Some(person), Some(note)) => {
                let row = AssayRow {
                    id,
                    ww_ppm,
                    how,
                    assayed_on,
                    person,
                    note,
                };
                Some(Assay::try_from(row)?)
            }
            _ => None,
        };
        Ok(Self {
            id: row.id,
            product_id: row.product_id,
            // What was mixed here is as strong as it was mixed.
            label: match (row.made_value, row.made_basis) {
                (Some(value), Some(basis)) => Printed::strength(Strength::new(value, basis)?),
                _ => printed(
                    row.strength_value.zip(row.strength_basis),
                    row.chlorine_as,
                    row.rate_milli.zip(row.rate_of),
                )
                .with_context(|| format!("the label of {}", row.product))?,
            },
            made: match (row.made_concentrate, row.made_water, row.made_use_by) {
                (Some(concentrate), Some(water), Some(use_by)) => Some(Made {
                    concentrate,
                    water,
                    use_by,
                }),
                _ => None,
            },
            product: row.product,
            agent: row.agent,
            label_reference: row.label_reference,
            label_says: row.label_says,
            reentry: row.reentry,
            code: row.code,
            received_on: row.received_on,
            opened_on: row.opened_on,
            retest_on: row.retest_on,
            kept_in: row.kept_in,
            store: row.store_id.zip(row.store_name).map(|(id, name)| StandsIn {
                id,
                name,
                warmest: row.warmest,
            }),
            container: row.container,
            litre_cost: row.litre_cost,
            part_of: row.part_of.zip(row.part_of_code),
            loss: YearlyLoss::new(row.loss.share())?,
            strength_off: row.strength_off,
            product_off: row.product_off,
            withdrawn: row.withdrawn_reason,
            assay,
            on_hand: row.on_hand,
            version: row.version,
        })
    }
}

/// Every lot with its balance and the assay that counts: by product, the oldest delivery first, as it
/// is best used up.
pub async fn with_balance(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Lot>> {
    select(conn, None).await
}

pub async fn by_id(conn: &mut SqliteConnection, id: LotId) -> anyhow::Result<Option<Lot>> {
    Ok(select(conn, Some(id)).await?.pop())
}

async fn select(conn: &mut SqliteConnection, id: Option<LotId>) -> anyhow::Result<Vec<Lot>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select l.id as "id!: LotId", l.code, l.received_on as "received_on: NaiveDate",
                  l.opened_on as "opened_on: NaiveDate", l.retest_on as "retest_on: NaiveDate", l.kept_in,
                  l.loss_permille_per_year as "loss: Permille", l.strength_permille as "strength_off: Permille",
                  p.strength_permille as "product_off: Permille", l.withdrawn_reason as "withdrawn_reason: Note", l.version,
                  (select coalesce(sum(e.change_ml), 0) from stock_entry e where e.lot_id = l.id) as "on_hand!: Millilitres",
                  l.store_id as "store_id: StoreId", s.name as "store_name?: Name", l.container_ml as "container: Millilitres",
                  (select max(w.usual_tenths_c) from store w where w.id = l.store_id
                       or w.id in (select e.from_store_id from stock_entry e where e.lot_id = l.id)) as "warmest?: TenthsCelsius",
                  l.litre_cost_hundredths as "litre_cost: Hundredths", l.part_of as "part_of: LotId", o.code as "part_of_code?",
                  p.id as "product_id!: ProductId", p.name as "product: Name", p.agent as "agent: AgentKind", p.strength_value,
                  p.strength_basis as "strength_basis: Basis", p.chlorine_as as "chlorine_as: ChlorineAs",
                  p.rate_milli, p.rate_of as "rate_of: RateOf", p.label_reference, p.label_says as "label_says: Note",
                  p.reentry_min as "reentry: Minutes",
                  a.id as "assay_id?: AssayId", a.ww_ppm as "ww_ppm?", a.method as "how?: Method",
                  a.assayed_on as "assayed_on?: NaiveDate", w.name as "person?: Name", a.note as "assay_note?: Note",
                  m.strength_value as "made_value?", m.strength_basis as "made_basis?: Basis",
                  m.concentrate_ml as "made_concentrate?: Millilitres", m.water_ml as "made_water?: Millilitres",
                  m.use_by as "made_use_by?: NaiveDate"
             from lot l
             join product p on p.id = l.product_id
             left join assay a on a.id = (select n.id from assay n where n.lot_id = l.id order by n.assayed_on desc, n.id desc limit 1)
             left join person w on w.id = a.person_id
             left join store s on s.id = l.store_id
             left join lot o on o.id = l.part_of
             left join made_solution m on m.lot_id = l.id
            where ?1 is null or l.id = ?1
            order by p.name, l.received_on, l.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Lot::try_from).collect()
}
