//! A system is one water loop: it gets sick, is dosed, cleaned and released as one.

use chrono::NaiveDate;

use super::facts::Facts;
use crate::ids::{CleanoutId, RoomId, SystemId};
use crate::text::{Name, Note};

#[derive(Clone, Debug, PartialEq)]
pub struct System {
    pub id: SystemId,
    pub figures: SystemFigures,
    pub room_name: Name,
    pub laid_up_since: Option<NaiveDate>,
    pub quarantine: Option<Quarantine>,
    /// The last release that a quarantine has voided.
    pub releases_void_to: Option<CleanoutId>,
    /// Counts on whenever a measure of the loop changes.
    pub loop_version: i64,
    /// Counts on with whatever changes how the water runs: a changed loop, and a changed pump too.
    pub flow_version: i64,
    pub retired: bool,
    pub version: i64,
}

/// What is on record of a system.
#[derive(Clone, Debug, PartialEq)]
pub struct SystemFigures {
    pub room_id: RoomId,
    pub name: Name,
    pub note: Note,
}

/// Nothing goes from this system to another until somebody lifts it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quarantine {
    pub since: NaiveDate,
    pub reason: Note,
}

impl System {
    pub fn path(&self) -> String {
        path(self.id)
    }
}

/// Where a system is found.
pub fn path(id: SystemId) -> String {
    format!("/systems/{id}")
}

impl SystemFigures {
    pub fn facts(&self, room_name: &Name) -> Facts {
        vec![
            ("name", self.name.to_string()),
            ("room", room_name.to_string()),
            ("note", self.note.to_string()),
        ]
    }
}
