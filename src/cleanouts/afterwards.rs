//! What comes after the soak: rinses and airing, added to a dose sheet.

use sqlx::SqliteConnection;

use super::card::{FrozenAiring, FrozenDose};
use super::dose::{self, Held};
use super::other_agents::FrozenOther;
use super::{Cleanout, airing, other_agents_pages, rinse_plan};
use crate::science::dilution::DoseSheet;
use crate::site::Site;
use crate::{methods, register};

/// Rinses and airing, with what has to be looked at.
pub async fn add(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    held: &Held,
    sheet: &DoseSheet,
    dose: &mut FrozenDose,
    site: &Site,
) -> anyhow::Result<()> {
    if let Some(method) = methods::store::version(conn, cleanout.method_version_id).await? {
        dose.rinse = rinse_plan::plan(held.wetted(), &method.contents, sheet)?;
        let steps = &method.contents.steps;
        let whole = held.used.volume;
        dose.others = other_agents_pages::frozen(conn, cleanout, steps, whole, site.units).await?;
    }
    let system = register::store::systems::by_id(conn, cleanout.system_id).await?;
    if let Some(system) = system
        && let Some(room) = register::store::rooms::by_id(conn, system.figures.room_id).await?
    {
        dose.airing = Some(airing::of(
            &room,
            sheet,
            dose::strongest(sheet),
            &site.sources,
        )?);
    }
    let rinses = dose
        .rinse
        .as_ref()
        .and_then(|rinse| rinse.warning(site.units));
    let feeds_fire = dose.airing.as_ref().and_then(FrozenAiring::fire_warning);
    let others = dose.others.iter().filter_map(FrozenOther::warning);
    let others: Vec<String> = others.collect();
    dose.warnings
        .extend(rinses.into_iter().chain(feeds_fire).chain(others));
    Ok(())
}
