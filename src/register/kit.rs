//! Kit that goes from clean-out to clean-out: portable pumps, riser sets, and how many there are of each.

use super::facts::Facts;
use crate::ids::KitId;
use crate::text::{Name, Note};

crate::words! {
    /// What kit is for.
    pub enum KitKind {
        PortablePump = "portable pump",
        RiserSet = "riser set",
        Other = "other",
    }
}

impl KitKind {
    pub fn words(self) -> &'static str {
        match self {
            Self::PortablePump => "portable pump, with its hose",
            Self::RiserSet => "riser set: the clean-out risers for the benches of one system",
            Self::Other => "other kit",
        }
    }
}

/// What is on record of a kind of kit.
#[derive(Clone, Debug, PartialEq)]
pub struct KitFigures {
    pub name: Name,
    pub kind: KitKind,
    /// How many there are, those out of order among them.
    pub count: i64,
    pub note: Note,
}

#[derive(Clone, Debug)]
pub struct Kit {
    pub id: KitId,
    pub figures: KitFigures,
    pub retired: bool,
    pub version: i64,
}

impl KitFigures {
    pub const COUNT: std::ops::RangeInclusive<i64> = 1..=200;

    pub fn facts(&self) -> Facts {
        vec![
            ("name", self.name.to_string()),
            ("kind", self.kind.code().to_owned()),
            ("count", self.count.to_string()),
            ("note", self.note.to_string()),
        ]
    }
}
