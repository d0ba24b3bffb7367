//! What the concentrate and the solution are classed as by their strength, in the rule set of the site.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::card::{FrozenHazard, FrozenHazards};
use super::dose;
use crate::science::dilution::DoseSheet;
use crate::science::quantity::MassFraction;
use crate::science::show;
use crate::site::{self, Site, bands};

/// The bands of both, looked up by what was reckoned; the solution by the upper end of its range.
pub async fn of(
    conn: &mut SqliteConnection,
    site: &Site,
    sheet: &DoseSheet,
    day: NaiveDate,
) -> anyhow::Result<FrozenHazards> {
    let table = site::store::bands(conn, &site.rule_set).await?;
    let name = site::store::rule_set(conn, &site.rule_set).await?;
    let at = |fraction| {
        bands::at(&table, day, fraction)
            .ok()
            .map(|band| FrozenHazard {
                percent_ww: fraction.percent(),
                signal_word: band.class.signal.words().unwrap_or_default().to_owned(),
                classes: band.class.words.clone(),
                statements: band.class.statements.clone(),
                pictograms: band.class.pictograms.clone(),
                source: band.class.source.clone(),
                in_force_from: band.in_force_from,
            })
    };
    Ok(FrozenHazards {
        rule_set: name.map_or_else(|| site.rule_set.clone(), |set| set.name),
        concentrate: at(sheet.stock.fraction),
        solution: at(dose::strongest(sheet)),
    })
}

/// Where the range of the solution reaches from one class into another, the words to say so: it is
/// handled as the higher one.
pub async fn class_crossed(
    conn: &mut SqliteConnection,
    site: &Site,
    sheet: &DoseSheet,
    day: NaiveDate,
) -> anyhow::Result<Option<String>> {
    let Some(range) = &sheet.range else {
        return Ok(None);
    };
    let table = site::store::bands(conn, &site.rule_set).await?;
    let (expected, most) = (dose::handled_at(sheet), dose::strongest(sheet));
    let class = |fraction| {
        bands::at(&table, day, fraction)
            .ok()
            .map(|band| &band.class)
    };
    let (usual, upper) = (class(expected), class(most));
    Ok((usual != upper).then(|| {
        let percent = |fraction: MassFraction| {
            format!("{}\u{a0}%\u{a0}w/w", show::figures(fraction.percent(), 3))
        };
        format!(
            "The solution lies {}, and at its strongest, {} where {} is expected, it is in a higher class: {}. Handle it as that.",
            range.words(),
            percent(most),
            percent(expected),
            upper.map_or("one that the table of the site does not cover", |class| {
                class.words.as_str()
            })
        )
    }))
}
