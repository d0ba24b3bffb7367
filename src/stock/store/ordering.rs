//! The SQL of how products are ordered.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, ProductId};
use crate::science::stored::Millilitres;
use crate::stock::terms::{Entered, OrderTerms, Sizes};
use crate::text::{Name, Note};

struct Row {
    product_id: ProductId,
    lead_days: i64,
    keeping_days: Option<i64>,
    sizes: Sizes,
    least: Option<Millilitres>,
    why: Note,
    person: Name,
    at: Moment,
}

/// Every row, the newest first: the first one of a product counts.
pub async fn all_terms(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Entered>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select o.product_id as "product_id: ProductId", o.lead_days, o.keeping_days, o.sizes_ml as "sizes: Sizes",
                  o.least_ml as "least: Millilitres", o.why as "why: Note", p.name as "person: Name", o.at as "at: Moment"
             from product_ordering o join person p on p.id = o.person_id order by o.id desc"#
    )
    .fetch_all(conn)
    .await?;
    let entered = rows.into_iter().map(|row| Entered {
        product_id: row.product_id,
        terms: OrderTerms {
            lead_days: row.lead_days,
            keeping_days: row.keeping_days,
            sizes: row.sizes,
            least: row.least,
        },
        why: row.why,
        person: row.person,
        at: row.at,
    });
    Ok(entered.collect())
}

pub async fn insert_terms(
    tx: &mut WriteTx,
    product: ProductId,
    new: &OrderTerms,
    why: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into product_ordering (product_id, lead_days, keeping_days, sizes_ml, least_ml, why, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        product,
        new.lead_days,
        new.keeping_days,
        new.sizes,
        new.least,
        why,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
