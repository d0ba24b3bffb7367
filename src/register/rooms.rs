//! A room is a closed air space: what is breathed in it matters when concentrate is poured.

use super::facts::Facts;
use crate::ids::RoomId;
use crate::science::show;
use crate::science::stored::{ChangesPerDay, CubicMetres};
use crate::text::{Name, Note};

#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    pub id: RoomId,
    pub figures: RoomFigures,
    pub retired: bool,
    pub version: i64,
}

/// What is on record of a room.
#[derive(Clone, Debug, PartialEq)]
pub struct RoomFigures {
    pub name: Name,
    pub air: Option<CubicMetres>,
    pub air_changes: Option<ChangesPerDay>,
    /// Who says, or which measurement shows, that its air stays below the limit while solution stands open in it.
    pub soak_air: Note,
}

impl RoomFigures {
    pub fn facts(&self) -> Facts {
        let air = self
            .air
            .map(|air| format!("{}\u{a0}m³", show::fixed(air.get() as f64, 0)));
        let changes = self
            .air_changes
            .map(|changes| format!("{} a day", changes.get()));
        vec![
            ("name", self.name.to_string()),
            ("air", air.unwrap_or_default()),
            ("air changes", changes.unwrap_or_default()),
            ("air through the soak", self.soak_air.to_string()),
        ]
    }
}
