//! The SQL of storage classes.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::db::WriteTx;
use crate::ids::StorageBandId;
use crate::science::classes::{ClassRow, Quantities, Scheme, Signal, StorageRow};
use crate::science::quantity::MassFraction;
use crate::science::stored::Grams;
use crate::site::storage::{NewStorage, StorageBand};

struct Row {
    id: StorageBandId,
    from_ww_ppm: i64,
    below_ww_ppm: i64,
    class: String,
    kept: Option<Grams>,
    closed_use: Option<Grams>,
    open_use: Option<Grams>,
    source: String,
    in_force_from: NaiveDate,
    ended_on: Option<NaiveDate>,
}

/// Every band a rule set ever had, by strength, the newest first where they stand for the same.
pub async fn bands(
    conn: &mut SqliteConnection,
    rule_set: &str,
) -> anyhow::Result<Vec<StorageBand>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: StorageBandId", from_ww_ppm, below_ww_ppm, class, kept_g as "kept: Grams",
                  closed_use_g as "closed_use: Grams", open_use_g as "open_use: Grams", source,
                  in_force_from as "in_force_from: NaiveDate", ended_on as "ended_on: NaiveDate"
             from storage_band where rule_set = ?1 order by from_ww_ppm, id desc"#,
        rule_set,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(StorageBand::try_from).collect()
}

impl TryFrom<Row> for StorageBand {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        let strength = |ppm: i64| MassFraction::new(ppm as f64 / 1e6);
        Ok(Self {
            id: row.id,
            row: StorageRow {
                class: ClassRow {
                    scheme: Scheme::Fire,
                    from: strength(row.from_ww_ppm)?,
                    below: Some(strength(row.below_ww_ppm)?),
                    signal: Signal::None,
                    statements: Vec::new(),
                    pictograms: Vec::new(),
                    words: row.class,
                    source: row.source,
                },
                most: Quantities {
                    kept: row.kept.map(Grams::mass),
                    closed: row.closed_use.map(Grams::mass),
                    open: row.open_use.map(Grams::mass),
                },
            },
            in_force_from: row.in_force_from,
            ended_on: row.ended_on,
        })
    }
}

/// A band as the row it becomes, in force from this day.
pub async fn insert(
    tx: &mut WriteTx,
    rule_set: &str,
    new: &NewStorage,
    source: &str,
    from: NaiveDate,
) -> sqlx::Result<StorageBandId> {
    let (from_ppm, below_ppm) = (new.from.get(), new.below.get());
    sqlx::query_scalar!(
        r#"insert into storage_band (rule_set, from_ww_ppm, below_ww_ppm, class, kept_g, closed_use_g, open_use_g, source,
                                     in_force_from)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) returning id as "id!: StorageBandId""#,
        rule_set, from_ppm, below_ppm, new.class, new.kept, new.closed_use, new.open_use, source, from,
    )
    .fetch_one(tx.conn())
    .await
}

/// Ends a band: it is in force until the day before.
pub async fn end(tx: &mut WriteTx, id: StorageBandId, on: NaiveDate) -> sqlx::Result<()> {
    sqlx::query!(
        "update storage_band set ended_on = ?2 where id = ?1 and ended_on is null",
        id,
        on
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
