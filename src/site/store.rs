//! The only SQL of the site.

pub mod first_aid;
pub mod prices;
pub mod rules;
pub mod sources;
pub mod storage;

use anyhow::Context;
use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::bands::{Band, NewBand};
use super::sources::Chosen;
use super::{Hours, RuleSet, Site};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{HazardBandId, SiteId};
use crate::science::classes::{ClassRow, Scheme, Signal};
use crate::science::quantity::MassFraction;
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
    calculators_open: bool,
    version: i64,
}

/// The site, once there is one.
pub async fn current(conn: &mut SqliteConnection) -> anyhow::Result<Option<Site>> {
    let row = sqlx::query_as!(
        Row,
        r#"select id as "id!: SiteId", name as "name: Name", zone, units as "units: Units", rule_set, address,
                  day_starts_min, day_ends_min, days_worked, second_signature as "second_signature: bool",
                  calculators_open as "calculators_open: bool", version
             from site order by id limit 1"#
    )
    .fetch_optional(&mut *conn)
    .await?;
    let Some(row) = row else { return Ok(None) };
    let mut site = Site::try_from(row)?;
    site.sources = sources::chosen(conn, site.zone).await?;
    Ok(Some(site))
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
            calculators_open: row.calculators_open,
            version: row.version,
            sources: Chosen::default(),
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

/// What of a site may be changed.
#[derive(Clone, Debug)]
pub struct Changed {
    pub name: Name,
    pub zone: chrono_tz::Tz,
    pub units: Units,
    pub rule_set: String,
    pub address: Option<String>,
    pub hours: Hours,
    pub second_signature: bool,
    pub calculators_open: bool,
}

/// Whether the row was still the version that was read.
pub async fn update(
    tx: &mut WriteTx,
    id: SiteId,
    version: i64,
    changed: &Changed,
) -> sqlx::Result<bool> {
    let zone = changed.zone.name();
    let days = changed.hours.days_code();
    let done = sqlx::query!(
        "update site set name = ?3, zone = ?4, units = ?5, rule_set = ?6, address = ?7, day_starts_min = ?8,
                day_ends_min = ?9, days_worked = ?10, second_signature = ?11, calculators_open = ?12, version = version + 1
          where id = ?1 and version = ?2",
        id,
        version,
        changed.name,
        zone,
        changed.units,
        changed.rule_set,
        changed.address,
        changed.hours.starts_min,
        changed.hours.ends_min,
        days,
        changed.second_signature,
        changed.calculators_open,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A rule set by its code.
pub async fn rule_set(conn: &mut SqliteConnection, code: &str) -> sqlx::Result<Option<RuleSet>> {
    sqlx::query_as!(
        RuleSet,
        "select code, name, note from rule_set where code = ?1",
        code
    )
    .fetch_optional(conn)
    .await
}

/// The rule sets a site may stand under: code and name.
pub async fn rule_sets(conn: &mut SqliteConnection) -> sqlx::Result<Vec<(String, String)>> {
    let rows = sqlx::query!("select code, name from rule_set order by name")
        .fetch_all(conn)
        .await?;
    Ok(rows.into_iter().map(|row| (row.code, row.name)).collect())
}

struct BandRow {
    id: HazardBandId,
    from_ww_ppm: i64,
    below_ww_ppm: i64,
    signal_word: String,
    classes: String,
    statements: String,
    pictograms: String,
    source: String,
    in_force_from: NaiveDate,
    ended_on: Option<NaiveDate>,
}

/// Every band a rule set ever had, by strength, the newest first where they stand for the same.
pub async fn bands(conn: &mut SqliteConnection, rule_set: &str) -> anyhow::Result<Vec<Band>> {
    let rows = sqlx::query_as!(
        BandRow,
        r#"select id as "id!: HazardBandId", from_ww_ppm, below_ww_ppm, signal_word, classes, statements, pictograms,
                  source, in_force_from as "in_force_from: NaiveDate", ended_on as "ended_on: NaiveDate"
             from hazard_band where rule_set = ?1 order by from_ww_ppm, id desc"#,
        rule_set,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Band::try_from).collect()
}

impl TryFrom<BandRow> for Band {
    type Error = anyhow::Error;

    fn try_from(row: BandRow) -> anyhow::Result<Self> {
        let codes = |text: &str| text.split_whitespace().map(str::to_owned).collect();
        let strength = |ppm: i64| MassFraction::new(ppm as f64 / 1e6);
        let signal = match row.signal_word.as_str() {
            "" => Signal::None,
            "Warning" => Signal::Warning,
            "Danger" => Signal::Danger,
            other => anyhow::bail!("hazard_band {} holds the signal word '{other}'", row.id),
        };
        Ok(Self {
            id: row.id,
            class: ClassRow {
                scheme: Scheme::Hazard,
                from: strength(row.from_ww_ppm)?,
                below: Some(strength(row.below_ww_ppm)?),
                signal,
                statements: codes(&row.statements),
                pictograms: codes(&row.pictograms),
                words: row.classes,
                source: row.source,
            },
            in_force_from: row.in_force_from,
            ended_on: row.ended_on,
        })
    }
}

/// A band as the row it becomes, in force from this day.
pub async fn insert_band(
    tx: &mut WriteTx,
    rule_set: &str,
    new: &NewBand,
    source: &str,
    from: NaiveDate,
) -> sqlx::Result<HazardBandId> {
    let signal = new.signal.words().unwrap_or_default();
    let (from_ppm, below_ppm) = (new.from.get(), new.below.get());
    let (statements, pictograms) = (new.statements.join(" "), new.pictograms.join(" "));
    sqlx::query_scalar!(
        r#"insert into hazard_band (rule_set, from_ww_ppm, below_ww_ppm, signal_word, classes, statements, pictograms,
                                    source, in_force_from)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) returning id as "id!: HazardBandId""#,
        rule_set, from_ppm, below_ppm, signal, new.classes, statements, pictograms, source, from,
    )
    .fetch_one(tx.conn())
    .await
}

/// Ends a band: it is in force until the day before.
pub async fn end_band(tx: &mut WriteTx, id: HazardBandId, on: NaiveDate) -> sqlx::Result<()> {
    sqlx::query!(
        "update hazard_band set ended_on = ?2 where id = ?1 and ended_on is null",
        id,
        on
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
