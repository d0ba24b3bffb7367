//! For how long a room stays closed after a dosing that is still to come.

use sqlx::SqliteConnection;

use super::airing::{self, Closed};
use super::given::{given_of, held_of};
use super::{Cleanout, dose, store};
use crate::register;
use crate::site::Site;

/// For how long the room of a clean-out stays closed after its dosing: as its card says; before there is
/// one, as its dose would; and the usual time while neither the dose nor the air of the room is known.
///
/// # Errors
/// A row that breaks a limit, or a database that does not answer.
pub async fn closed_for(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    site: &Site,
) -> anyhow::Result<Closed> {
    if let Some(card) = store::card_of(conn, cleanout.id).await? {
        return Ok(card.dose.closed());
    }
    let day = cleanout.starts_on;
    let Ok(given) = given_of(conn, cleanout, site, day).await? else {
        return Ok(Closed::USUAL);
    };
    let named = given.lot.reentry;
    let Ok((held, _)) = held_of(conn, cleanout, site).await? else {
        return Ok(Closed::of(named, None));
    };
    let system = register::store::systems::by_id(conn, cleanout.system_id).await?;
    let room = match system {
        Some(system) => register::store::rooms::by_id(conn, system.figures.room_id).await?,
        None => None,
    };
    let sheet = dose::without_jug(cleanout, &held, (given.stock, given.tolerance));
    let airing = room.zip(sheet.ok()).and_then(|(room, sheet)| {
        let strongest = dose::strongest(&sheet);
        airing::of(&room, &sheet, strongest, &site.sources).ok()
    });
    Ok(Closed::of(named, airing.as_ref()))
}
