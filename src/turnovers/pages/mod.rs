//! The pages of turnovers, one file for each thing that is done.

mod import;
mod list;
mod moved;
pub mod new;
mod off;
mod one;
mod plant;
mod systems;

pub use import::{form as import_form, save as import_save};
pub use list::list;
pub use moved::{Input as MoveInput, form as move_form, looked as move_looked, save as move_save};
pub use new::{form as new_form, save as new_save};
pub use off::{form as off_form, save as off_save};
pub use one::show;
pub use plant::{drop_intended, form as plant_form, save as plant_save};
pub use systems::{list as systems_list, show as system_show};

use std::sync::Arc;

use chrono::{NaiveDate, NaiveDateTime};
use sqlx::SqliteConnection;

use super::board::{Board, Stand};
use crate::clock::Moment;
use crate::crew::Who;
use crate::crops::{self, Planting, Stage};
use crate::ids::PlantingId;
use crate::logbook::Entry;
use crate::site::{Site, day_words};
use crate::web::AppError;

/// Where a planting is found.
pub fn path(id: PlantingId) -> String {
    format!("/turnovers/{id}")
}

/// A planting with its system as it stands now.
struct Found {
    planting: Planting,
    stand: Arc<Stand>,
}

async fn find(
    conn: &mut SqliteConnection,
    site: &Site,
    now: Moment,
    id: PlantingId,
) -> Result<Found, AppError> {
    let planting = crops::store::by_id(conn, id)
        .await?
        .filter(|planting| planting.stage != Stage::Dropped)
        .ok_or(AppError::NotFound("planting"))?;
    let stand = Board::one(conn, site, now, site.today(now), planting.system_id)
        .await?
        .ok_or(AppError::NotFound("system in use"))?;
    Ok(Found { planting, stand })
}

impl Found {
    fn subject(&self) -> String {
        format!("{}, {}", self.stand.name(), self.planting.words())
    }

    fn entry(&self, what: &str) -> Entry {
        Entry::about("planting", self.planting.id.get(), self.subject(), what)
    }

    /// What a form says when somebody else was first.
    fn changed_meanwhile(&self) -> AppError {
        AppError::Conflict(format!(
            "Somebody changed {} while you were writing. Open it again and look before you write.",
            self.subject()
        ))
    }
}

fn local(site: &Site, now: Moment) -> NaiveDateTime {
    now.in_zone(site.zone).naive_local()
}

fn day_or(day: Option<NaiveDate>, otherwise: &str) -> String {
    day.map_or_else(|| otherwise.to_owned(), day_words)
}

fn typed(day: Option<NaiveDate>) -> String {
    day.map(|day| day.to_string()).unwrap_or_default()
}

/// What somebody may do on these pages.
#[derive(Clone, Copy)]
struct May {
    /// Say that a crop is off or planted.
    work: bool,
    /// Add and move turnovers.
    plan: bool,
    import: bool,
}

impl May {
    fn of(who: &Who) -> Self {
        Self {
            work: who.is_at_least(crate::crew::Role::Hand),
            plan: who.is_at_least(crate::crew::Role::Lead),
            import: who.is_at_least(crate::crew::Role::Coordinator),
        }
    }
}
