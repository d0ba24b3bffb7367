//! A tubing run: a length of tube with its purpose. Full of water, it belongs to what a system holds.

use super::facts::Facts;
use super::part::Part;
use super::{Purpose, TubeWall, entry};
use crate::ids::TubingRunId;
use crate::science::flood::Tube;
use crate::science::show;
use crate::science::stored::{FittingLosses, Micrometres, Millimetres};
use crate::science::units::Units;
use crate::text::Name;

pub type TubingRun = Part<TubingRunId, TubingFigures>;

/// What is on record of a tubing run.
#[derive(Clone, Debug, PartialEq)]
pub struct TubingFigures {
    pub name: Name,
    pub purpose: Purpose,
    pub bore: Micrometres,
    pub length: Millimetres,
    /// From its lower to its upper end.
    pub rise: Option<Millimetres>,
    /// The sum of the loss coefficients K of its fittings, without the exit.
    pub fittings: Option<FittingLosses>,
    pub wall: Option<TubeWall>,
}

impl TubingFigures {
    /// A measure that cannot be beside another one: the field, and why.
    pub fn faults(&self, units: Units) -> Vec<(&'static str, String)> {
        let mut faults = Vec::new();
        if let Some(rise) = self.rise.filter(|rise| *rise > self.length) {
            faults.push((
                "rise",
                format!(
                    "A run of {} cannot rise by {}.",
                    show::length(self.length.length(), units),
                    show::length(rise.length(), units)
                ),
            ));
        }
        if self.bore.length() > self.length.length() {
            faults.push((
                "bore",
                format!(
                    "A bore of {} is wider than the run is long.",
                    show::length(self.bore.length(), units)
                ),
            ));
        }
        faults
    }

    pub fn tube(&self) -> Tube {
        Tube {
            bore: self.bore.length(),
            length: self.length.length(),
        }
    }

    /// Whether a fill that was measured before says nothing about this one.
    pub fn holds_as(&self, other: &Self) -> bool {
        (self.bore, self.length) == (other.bore, other.length)
    }

    /// 'fill, 25 mm bore, 4.7 m'.
    pub fn words(&self, units: Units) -> String {
        let bore = entry::show_bore(self.bore.length(), units);
        format!(
            "{}, {bore} bore, {}",
            self.purpose,
            entry::show_long(self.length.length(), units)
        )
    }

    pub fn facts(&self, units: Units) -> Facts {
        let rise = self.rise.map(|rise| show::length(rise.length(), units));
        vec![
            ("name", self.name.to_string()),
            ("purpose", self.purpose.to_string()),
            ("bore", entry::show_bore(self.bore.length(), units)),
            ("length", entry::show_long(self.length.length(), units)),
            ("rise", rise.unwrap_or_default()),
            (
                "fittings",
                self.fittings.map_or_else(String::new, |losses| {
                    format!("K {}", show::figures(losses.k(), 4))
                }),
            ),
            (
                "wall inside",
                self.wall.map(|wall| wall.to_string()).unwrap_or_default(),
            ),
        ]
    }
}
