//! The measuring jugs in use for pours: no pour is larger than a jug, and each ends on a mark.

use super::entry;
use super::facts::Facts;
use crate::ids::JugId;
use crate::science::show;
use crate::science::stored::{Millilitres, Permille};
use crate::science::tolerances::JUG_SCALE;
use crate::science::units::Units;
use crate::text::Name;

#[derive(Clone, Debug)]
pub struct Jug {
    pub id: JugId,
    pub figures: JugFigures,
    pub retired: bool,
    pub version: i64,
}

/// What is on record of a jug.
#[derive(Clone, Debug, PartialEq)]
pub struct JugFigures {
    pub name: Name,
    pub capacity: Millilitres,
    /// From one mark of its scale to the next.
    pub mark: Millilitres,
    /// How far its scale may be off either way; none for the usual figure.
    pub scale_off: Option<Permille>,
}

impl JugFigures {
    /// A measure that cannot be beside another one: the field, and why.
    pub fn faults(&self, units: Units) -> Vec<(&'static str, String)> {
        let (mark, capacity) = (self.mark.volume(), self.capacity.volume());
        if mark > capacity {
            let (mark, capacity) = (show::volume(mark, units), show::volume(capacity, units));
            return vec![(
                "mark",
                format!("The marks are {mark} apart in a jug of only {capacity}."),
            )];
        }
        Vec::new()
    }

    /// How far its scale may be off, in words: its own figure, or the usual one.
    pub fn scale_words(&self) -> String {
        match self.scale_off {
            Some(own) => entry::off_fact(Some(own)),
            None => format!("usual figure: {}", JUG_SCALE.of_it()),
        }
    }

    pub fn facts(&self, units: Units) -> Facts {
        vec![
            ("name", self.name.to_string()),
            ("holds", show::volume(self.capacity.volume(), units)),
            ("marks", show::volume(self.mark.volume(), units)),
            ("scale off by", entry::off_fact(self.scale_off)),
        ]
    }
}
