//! Pumps, as their labels give them.

use chrono::NaiveDate;

use super::facts::Facts;
use super::{PumpKind, entry};
use crate::ids::{PumpId, SystemId};
use crate::science::stored::{MillilitresPerMinute, Millimetres};
use crate::science::units::Units;
use crate::site::full_day;
use crate::text::Name;

#[derive(Clone, Debug)]
pub struct Pump {
    pub id: PumpId,
    pub system_id: SystemId,
    pub figures: PumpFigures,
    pub retired: bool,
    pub version: i64,
}

/// What is on record of a pump.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpFigures {
    pub name: Name,
    pub kind: PumpKind,
    /// Flow against no head.
    pub max_flow: Option<MillilitresPerMinute>,
    /// Head at which nothing flows any more.
    pub max_head: Option<Millimetres>,
    pub last_teardown: Option<NaiveDate>,
}

impl PumpFigures {
    pub fn facts(&self, units: Units) -> Facts {
        let flow = self
            .max_flow
            .map(|flow| entry::show_flow(flow.flow(), units));
        let head = self
            .max_head
            .map(|head| entry::show_long(head.length(), units));
        vec![
            ("name", self.name.to_string()),
            ("kind", self.kind.to_string()),
            ("most flow", flow.unwrap_or_default()),
            ("most head", head.unwrap_or_default()),
            (
                "taken apart",
                self.last_teardown.map(full_day).unwrap_or_default(),
            ),
        ]
    }
}
