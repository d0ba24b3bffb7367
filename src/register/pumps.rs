//! Pumps, as their labels give them.

use chrono::NaiveDate;

use super::facts::Facts;
use super::part::Part;
use super::{PumpKind, entry};
use crate::ids::PumpId;
use crate::science::pump::Band;
use crate::science::quantity::{OutOfRange, millimetres};
use crate::science::stored::{MillilitresPerMinute, Millimetres};
use crate::science::units::Units;
use crate::site::full_day;
use crate::text::Name;

pub type Pump = Part<PumpId, PumpFigures>;

/// What is on record of a pump.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpFigures {
    pub name: Name,
    pub kind: PumpKind,
    /// Flow against no head.
    pub max_flow: Option<MillilitresPerMinute>,
    /// Head at which nothing flows any more.
    pub max_head: Option<Millimetres>,
    /// A point of its curve between the two.
    pub point: Option<(MillilitresPerMinute, Millimetres)>,
    /// The lift as measured, benches flooded: from the water in the reservoir to the flood level or
    /// the outlet, whichever is higher.
    pub lift: Option<Millimetres>,
    pub last_teardown: Option<NaiveDate>,
}

impl PumpFigures {
    /// Whether another pump seems to stand there, or this one was set otherwise: its curve differs.
    pub fn pumps_otherwise(&self, other: &Self) -> bool {
        (self.kind, self.max_flow, self.max_head, self.point)
            != (other.kind, other.max_flow, other.max_head, other.point)
    }

    /// Its curve; nothing while the most flow or the most head is not given.
    pub fn curve(&self) -> Option<Result<Band, OutOfRange>> {
        let (flow, head) = (self.max_flow?.flow(), self.max_head?.length());
        Some(match self.point {
            None => Band::from_two_points(head, flow),
            Some((at, lifts)) => {
                Band::from_three_points(head, (at.flow(), lifts.length()), (flow, millimetres(0.0)))
            }
        })
    }

    /// A figure that cannot be beside another one: the field, and why.
    pub fn faults(&self) -> Vec<(&'static str, String)> {
        match (self.point, self.curve()) {
            (Some(_), None) => vec![(
                "point_flow",
                "A point between says nothing without the most flow and the most head. Give all of them, or leave the point empty.".to_owned(),
            )],
            (Some(_), Some(Err(error))) => vec![(
                "point_flow",
                format!("{error}. A point between gives less flow than the most flow, at less head than the most head."),
            )],
            _ => Vec::new(),
        }
    }

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
                "a point between",
                self.point.map_or_else(String::new, |(flow, head)| {
                    format!(
                        "{} at {}",
                        entry::show_flow(flow.flow(), units),
                        entry::show_long(head.length(), units)
                    )
                }),
            ),
            (
                "lift",
                self.lift
                    .map(|lift| entry::show_long(lift.length(), units))
                    .unwrap_or_default(),
            ),
            (
                "taken apart",
                self.last_teardown.map(full_day).unwrap_or_default(),
            ),
        ]
    }
}
