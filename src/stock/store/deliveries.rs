//! The SQL of deliveries that are expected.

use anyhow::Context;
use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{DeliveryId, LotId, PersonId, ProductId};
use crate::science::stored::Millilitres;
use crate::stock::delivery::{Delivery, DeliveryEvent, DeliveryFate, NewDelivery};
use crate::text::{Name, Note};

struct Row {
    id: DeliveryId,
    product_id: ProductId,
    product: Name,
    amount_ml: Millilitres,
    note: Note,
    fate: DeliveryFate,
    expected_on: Option<NaiveDate>,
    lot_id: Option<LotId>,
    lot_code: Option<String>,
}

impl TryFrom<Row> for Delivery {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        Ok(Self {
            expected_on: row
                .expected_on
                .with_context(|| format!("delivery {} without a day", row.id))?,
            id: row.id,
            product_id: row.product_id,
            product: row.product,
            amount: row.amount_ml,
            note: row.note,
            fate: row.fate,
            lot: row.lot_id.zip(row.lot_code),
        })
    }
}

/// Every delivery, or one of them, by the day it is or was expected.
async fn select(
    conn: &mut SqliteConnection,
    one: Option<DeliveryId>,
) -> anyhow::Result<Vec<Delivery>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select d.id as "id!: DeliveryId", d.product_id as "product_id: ProductId", p.name as "product: Name",
                  d.amount_ml as "amount_ml: Millilitres", d.note as "note: Note", e.what as "fate: DeliveryFate",
                  (select x.expected_on from delivery_event x where x.delivery_id = d.id and x.what = 'expected'
                    order by x.id desc limit 1) as "expected_on: NaiveDate",
                  e.lot_id as "lot_id: LotId", l.code as "lot_code?"
             from delivery d join product p on p.id = d.product_id
             join delivery_event e on e.id = (select max(id) from delivery_event where delivery_id = d.id)
             left join lot l on l.id = e.lot_id
            where ?1 is null or d.id = ?1
            order by 7, d.id"#,
        one,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Delivery::try_from).collect()
}

pub async fn deliveries(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Delivery>> {
    select(conn, None).await
}

pub async fn delivery(
    conn: &mut SqliteConnection,
    id: DeliveryId,
) -> anyhow::Result<Option<Delivery>> {
    Ok(select(conn, Some(id)).await?.pop())
}

struct EventRow {
    what: DeliveryFate,
    expected_on: Option<NaiveDate>,
    reason: Note,
    person: Name,
    at: Moment,
}

/// What became of a delivery, the first first.
pub async fn delivery_events(
    conn: &mut SqliteConnection,
    id: DeliveryId,
) -> sqlx::Result<Vec<DeliveryEvent>> {
    let rows = sqlx::query_as!(
        EventRow,
        r#"select e.what as "what: DeliveryFate", e.expected_on as "expected_on: NaiveDate",
                  e.reason as "reason: Note", p.name as "person: Name", e.at as "at: Moment"
             from delivery_event e join person p on p.id = e.person_id where e.delivery_id = ?1 order by e.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    let events = rows.into_iter().map(|row| DeliveryEvent {
        what: row.what,
        expected_on: row.expected_on,
        reason: row.reason,
        person: row.person,
        at: row.at,
    });
    Ok(events.collect())
}

pub async fn insert_delivery(
    tx: &mut WriteTx,
    new: &NewDelivery,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<DeliveryId> {
    let id = sqlx::query_scalar!(
        r#"insert into delivery (product_id, amount_ml, note, person_id, at) values (?1, ?2, ?3, ?4, ?5)
           returning id as "id!: DeliveryId""#,
        new.product_id, new.amount, new.note, person, at,
    )
    .fetch_one(tx.conn())
    .await?;
    let happens = Happens::Expected(new.expected_on, Note::default());
    add_event(tx, id, &happens, person, at).await?;
    Ok(id)
}

/// What happens to a delivery.
#[derive(Clone, Debug)]
pub enum Happens {
    /// It is now expected on this day, for this reason.
    Expected(NaiveDate, Note),
    Received(LotId),
    CalledOff(Note),
}

pub async fn add_event(
    tx: &mut WriteTx,
    id: DeliveryId,
    happens: &Happens,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    let none = Note::default();
    let (what, expected_on, lot, reason) = match happens {
        Happens::Expected(day, why) => (DeliveryFate::Expected, Some(*day), None, why),
        Happens::Received(lot) => (DeliveryFate::Received, None, Some(*lot), &none),
        Happens::CalledOff(why) => (DeliveryFate::CalledOff, None, None, why),
    };
    sqlx::query!(
        "insert into delivery_event (delivery_id, what, expected_on, lot_id, reason, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        id,
        what,
        expected_on,
        lot,
        reason,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
