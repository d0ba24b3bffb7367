//! Products.

use anyhow::Context;
use sqlx::SqliteConnection;

use crate::db::WriteTx;
use crate::ids::ProductId;
use crate::science::strength::{Basis, Strength};
use crate::stock::Product;
use crate::text::{Name, Note};

struct Row {
    id: ProductId,
    name: Name,
    strength_value: f64,
    strength_basis: Basis,
    label_reference: String,
    label_says: Note,
    retired: bool,
    version: i64,
}

impl TryFrom<Row> for Product {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        Ok(Self {
            label: Strength::new(row.strength_value, row.strength_basis)
                .with_context(|| format!("the label of {}", row.name))?,
            id: row.id,
            name: row.name,
            label_reference: row.label_reference,
            label_says: row.label_says,
            retired: row.retired,
            version: row.version,
        })
    }
}

/// Every product, the retired ones last.
pub async fn all(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Product>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: ProductId", name as "name: Name", strength_value, strength_basis as "strength_basis: Basis",
                  label_reference, label_says as "label_says: Note", retired_at is not null as "retired!: bool", version
             from product order by retired_at is not null, name"#
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Product::try_from).collect()
}

/// What stands on the label.
#[derive(Clone, Debug)]
pub struct NewProduct {
    pub name: Name,
    pub label: Strength,
    pub label_reference: String,
    pub label_says: Note,
}

pub async fn insert(tx: &mut WriteTx, new: &NewProduct) -> sqlx::Result<ProductId> {
    let (value, basis) = (new.label.value(), new.label.basis());
    sqlx::query_scalar!(
        r#"insert into product (name, agent, strength_value, strength_basis, label_reference, label_says)
           values (?1, 'hydrogen peroxide', ?2, ?3, ?4, ?5) returning id as "id!: ProductId""#,
        new.name, value, basis, new.label_reference, new.label_says,
    )
    .fetch_one(tx.conn())
    .await
}

/// Writes a changed label; false when somebody else changed it first.
pub async fn update(
    tx: &mut WriteTx,
    id: ProductId,
    version: i64,
    new: &NewProduct,
) -> sqlx::Result<bool> {
    let (value, basis) = (new.label.value(), new.label.basis());
    let done = sqlx::query!(
        "update product set name = ?1, strength_value = ?2, strength_basis = ?3, label_reference = ?4, label_says = ?5,
                version = version + 1 where id = ?6 and version = ?7",
        new.name, value, basis, new.label_reference, new.label_says, id, version,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}
