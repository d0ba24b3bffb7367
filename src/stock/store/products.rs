//! The SQL of products.

use anyhow::Context;
use sqlx::SqliteConnection;

use super::touched;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::ProductId;
use crate::science::agents::AgentKind;
use crate::science::stored::{Grams, Minutes, Permille};
use crate::science::strength::{Basis, Strength};
use crate::stock::Product;
use crate::stock::printed::{ChlorineAs, Printed, Rate, RateOf};
use crate::text::{Name, Note};

/// What a product is entered or changed with.
#[derive(Clone, Debug)]
pub struct NewProduct {
    pub name: Name,
    pub agent: AgentKind,
    pub label: Printed,
    pub label_reference: String,
    pub label_says: Note,
    pub synonyms: String,
    pub density: Option<Grams>,
    pub reentry: Option<Minutes>,
    pub strength_off: Option<Permille>,
}

pub async fn insert_product(tx: &mut WriteTx, new: &NewProduct) -> sqlx::Result<ProductId> {
    let (value, basis) = parted(new.label.strength);
    let (rate, rate_of) = rated(new.label.rate);
    sqlx::query_scalar!(
        r#"insert into product (name, agent, strength_value, strength_basis, label_reference, label_says, synonyms, density_g_per_l,
                                strength_permille, chlorine_as, rate_milli, rate_of, reentry_min)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13) returning id as "id!: ProductId""#,
        new.name, new.agent, value, basis, new.label_reference, new.label_says, new.synonyms,
        new.density, new.strength_off, new.label.chlorine, rate, rate_of, new.reentry,
    )
    .fetch_one(tx.conn())
    .await
}

/// Changes a product. False when it was changed since it was read.
pub async fn change_product(
    tx: &mut WriteTx,
    id: ProductId,
    version: i64,
    new: &NewProduct,
) -> sqlx::Result<bool> {
    let (value, basis) = parted(new.label.strength);
    let (rate, rate_of) = rated(new.label.rate);
    let done = sqlx::query!(
        "update product set name = ?3, strength_value = ?4, strength_basis = ?5, label_reference = ?6, label_says = ?7,
                synonyms = ?8, density_g_per_l = ?9, strength_permille = ?10, agent = ?11, chlorine_as = ?12, rate_milli = ?13, rate_of = ?14,
                reentry_min = ?15,
                version = version + 1
          where id = ?1 and version = ?2",
        id, version, new.name, value, basis, new.label_reference, new.label_says, new.synonyms, new.density, new.strength_off,
        new.agent, new.label.chlorine, rate, rate_of, new.reentry,
    )
    .execute(tx.conn())
    .await?;
    Ok(touched(&done))
}

/// Takes a product out of the list to receive from, or puts it back.
pub async fn retire_product(
    tx: &mut WriteTx,
    id: ProductId,
    retired_at: Option<Moment>,
) -> sqlx::Result<()> {
    sqlx::query!(
        "update product set retired_at = ?2, version = version + 1 where id = ?1",
        id,
        retired_at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// How a strength lies in two columns.
fn parted(strength: Option<Strength>) -> (Option<f64>, Option<Basis>) {
    (strength.map(Strength::value), strength.map(Strength::basis))
}

fn rated(rate: Option<Rate>) -> (Option<i64>, Option<RateOf>) {
    (rate.map(Rate::milli), rate.map(Rate::of))
}

/// What a label prints, from the columns it lies in.
pub(super) fn printed(
    strength: Option<(f64, Basis)>,
    chlorine: Option<ChlorineAs>,
    rate: Option<(i64, RateOf)>,
) -> anyhow::Result<Printed> {
    Ok(Printed {
        strength: strength
            .map(|(value, basis)| Strength::new(value, basis))
            .transpose()?,
        chlorine,
        rate: rate.map(|(milli, of)| Rate::new(milli, of)).transpose()?,
    })
}

/// The columns of a product, as they lie.
struct Row {
    id: ProductId,
    name: Name,
    agent: AgentKind,
    strength_value: Option<f64>,
    strength_basis: Option<Basis>,
    chlorine_as: Option<ChlorineAs>,
    rate_milli: Option<i64>,
    rate_of: Option<RateOf>,
    label_reference: String,
    label_says: Note,
    synonyms: String,
    density: Option<Grams>,
    reentry: Option<Minutes>,
    strength_off: Option<Permille>,
    retired: bool,
    version: i64,
}

impl TryFrom<Row> for Product {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        Ok(Self {
            label: printed(
                row.strength_value.zip(row.strength_basis),
                row.chlorine_as,
                row.rate_milli.zip(row.rate_of),
            )
            .with_context(|| format!("the label of {}", row.name))?,
            id: row.id,
            name: row.name,
            agent: row.agent,
            label_reference: row.label_reference,
            label_says: row.label_says,
            synonyms: row.synonyms,
            density: row.density,
            reentry: row.reentry,
            strength_off: row.strength_off,
            retired: row.retired,
            version: row.version,
        })
    }
}

/// Every product, retired ones last.
pub async fn products(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Product>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: ProductId", name as "name: Name", agent as "agent: AgentKind", strength_value,
                  strength_basis as "strength_basis: Basis", chlorine_as as "chlorine_as: ChlorineAs",
                  rate_milli, rate_of as "rate_of: RateOf", label_reference, label_says as "label_says: Note",
                  synonyms, density_g_per_l as "density: Grams", strength_permille as "strength_off: Permille",
                  reentry_min as "reentry: Minutes", retired_at is not null as "retired!: bool", version
             from product order by retired_at is not null, name"#
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Product::try_from).collect()
}

pub async fn product(
    conn: &mut SqliteConnection,
    id: ProductId,
) -> anyhow::Result<Option<Product>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: ProductId", name as "name: Name", agent as "agent: AgentKind", strength_value,
                  strength_basis as "strength_basis: Basis", chlorine_as as "chlorine_as: ChlorineAs",
                  rate_milli, rate_of as "rate_of: RateOf", label_reference, label_says as "label_says: Note",
                  synonyms, density_g_per_l as "density: Grams", strength_permille as "strength_off: Permille",
                  reentry_min as "reentry: Minutes", retired_at is not null as "retired!: bool", version
             from product where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await?;
    row.map(Product::try_from).transpose()
}
