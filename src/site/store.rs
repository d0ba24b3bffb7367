//! The only SQL of the site.

use anyhow::Context;
use sqlx::SqliteConnection;

use super::{Hours, Site};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::SiteId;
use crate::science::units::Units;
use crate::text::Name;

struct Row {
    id: SiteId,
    name: Name,
    zone: String,
    units: Units,
    rule_set: String,
    address: Option<String>,
    day_starts_min: i64,
    day_ends_min: i64,
    days_worked: String,
    second_signature: bool,
    version: i64,
}

/// The site, once there is one.
pub async fn current(conn: &mut SqliteConnection) -> anyhow::Result<Option<Site>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: SiteId", name as "name: Name", zone, units as "units: Units", rule_set, address,
                  day_starts_min, day_ends_min, days_worked, second_signature as "second_signature: bool", version
             from site order by id limit 1"#
    )
    .fetch_optional(conn)
    .await?;
    row.map(Site::try_from).transpose()
}

impl TryFrom<Row> for Site {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        Ok(Self {
            id: row.id,
            name: row.name,
            zone: row
                .zone
                .parse()
                .map_err(|_| anyhow::anyhow!("site.zone holds '{}', which is no zone", row.zone))?,
            units: row.units,
            rule_set: row.rule_set,
            address: row.address,
            hours: Hours::from_columns(row.day_starts_min, row.day_ends_min, &row.days_worked)
                .context("site.days_worked holds no week")?,
            second_signature: row.second_signature,
            version: row.version,
        })
    }
}

/// What a new site is made from.
#[derive(Clone, Debug)]
pub struct NewSite {
    pub name: Name,
    pub zone: chrono_tz::Tz,
    pub units: Units,
    pub rule_set: String,
    pub address: Option<String>,
}

pub async fn insert(tx: &mut WriteTx, new: &NewSite, at: Moment) -> sqlx::Result<SiteId> {
    let zone = new.zone.name();
    sqlx::query_scalar!(
        r#"insert into site (name, zone, units, rule_set, address, created_at) values (?1, ?2, ?3, ?4, ?5, ?6)
           returning id as "id!: SiteId""#,
        new.name, zone, new.units, new.rule_set, new.address, at,
    )
    .fetch_one(tx.conn())
    .await
}

/// The rule sets a site may stand under: code and name.
pub async fn rule_sets(conn: &mut SqliteConnection) -> sqlx::Result<Vec<(String, String)>> {
    let rows = sqlx::query!("select code, name from rule_set order by name")
        .fetch_all(conn)
        .await?;
    Ok(rows.into_iter().map(|row| (row.code, row.name)).collect())
}
