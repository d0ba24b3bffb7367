//! The list of systems, room by room.

use std::collections::HashMap;

use askama::Template;
use sqlx::SqliteConnection;

use crate::crew::{Role, Who};
use crate::ids::SystemId;
use crate::register::hold::{Parts, parts_of_all};
use crate::register::rooms::Room;
use crate::register::store;
use crate::register::systems::System;
use crate::science::show;
use crate::science::units::Units;
use crate::site::full_day;
use crate::web::{AppError, Frame, Section};

/// The page. Rooms that know how systems stand give it their words; the register alone knows only
/// which are quarantined or laid up.
#[derive(Debug, Template)]
#[template(path = "register/list.html")]
pub struct SystemsPage {
    frame: Frame,
    may_change: bool,
    rooms: Vec<InRoom>,
    retired: Vec<System>,
}

#[derive(Debug)]
struct InRoom {
    room: Room,
    systems: Vec<Line>,
}

#[derive(Debug)]
struct Line {
    system: System,
    volume: String,
    /// How the volume is known, or what is missing for one.
    known: String,
    state: String,
}

impl SystemsPage {
    /// `states` says how each system stands, where a later room knows.
    pub async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        states: &HashMap<SystemId, String>,
    ) -> Result<Self, AppError> {
        let mut rooms: Vec<InRoom> = store::rooms::all(conn)
            .await?
            .into_iter()
            .map(|room| InRoom {
                room,
                systems: Vec::new(),
            })
            .collect();
        let systems = store::systems::all(conn).await?.into_iter();
        let (retired, in_use) = systems.partition(|system| system.retired);
        for parts in parts_of_all(conn, in_use).await? {
            let line = Line::of(parts, who.site.units, states);
            let room = line.system.figures.room_id;
            if let Some(place) = rooms.iter_mut().find(|place| place.room.id == room) {
                place.systems.push(line);
            }
        }
        rooms.retain(|place| !place.room.retired || !place.systems.is_empty());
        let may_change = who.is_at_least(Role::Coordinator);
        Ok(Self {
            frame: who.frame(Section::Systems),
            may_change,
            rooms,
            retired,
        })
    }
}

impl Line {
    fn of(parts: Parts, units: Units, states: &HashMap<SystemId, String>) -> Self {
        let (volume, known) = match parts.hold() {
            Ok(hold) => (
                show::volume(hold.used.volume(), units),
                hold.used.known().words().to_owned(),
            ),
            Err(why) => ("not known".to_owned(), why.to_string()),
        };
        let system = parts.system;
        let state = states
            .get(&system.id)
            .cloned()
            .unwrap_or_else(|| standing(&system));
        Self {
            system,
            volume,
            known,
            state,
        }
    }
}

fn standing(system: &System) -> String {
    match (&system.quarantine, system.laid_up_since) {
        (Some(quarantine), _) => format!(
            "quarantined since {}: {}",
            full_day(quarantine.since),
            quarantine.reason
        ),
        (None, Some(since)) => format!("laid up since {}", full_day(since)),
        (None, None) => String::new(),
    }
}
