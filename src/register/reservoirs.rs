//! The tank that the pump draws from. A system has one.

use super::HeelKnown;
use super::facts::Facts;
use super::part::Part;
use crate::ids::ReservoirId;
use crate::science::flood;
use crate::science::quantity::Area;
use crate::science::show;
use crate::science::stored::{Millilitres, Millimetres};
use crate::science::units::Units;

pub type Reservoir = Part<ReservoirId, ReservoirFigures>;

/// What is on record of a reservoir.
#[derive(Clone, Debug, PartialEq)]
pub struct ReservoirFigures {
    /// Length and width inside, where the walls are straight.
    pub plan: Option<(Millimetres, Millimetres)>,
    pub height: Option<Millimetres>,
    pub capacity: Millilitres,
    /// What must stand over the heel, benches flooded.
    pub pump_need: Millilitres,
    pub heel: Millilitres,
    pub heel_known: HeelKnown,
}

impl ReservoirFigures {
    /// A measure that cannot be beside another one: the field, and why.
    pub fn faults(&self, units: Units) -> Vec<(&'static str, String)> {
        let mut faults = Vec::new();
        let needed = self.heel.volume() + self.pump_need.volume();
        if needed > self.capacity.volume() {
            faults.push((
                "pump_need",
                format!(
                    "The heel and the water over it are {} together, more than the {} that the reservoir takes.",
                    show::volume(needed, units),
                    show::volume(self.capacity.volume(), units)
                ),
            ));
        }
        if let (Some((length, width)), Some(height)) = (self.plan, self.height) {
            let body = length.length() * width.length() * height.length();
            // Rounded corners take something off a tank of straight walls; nothing adds to it.
            if self.capacity.volume() > body * 1.02 {
                faults.push((
                    "capacity",
                    format!(
                        "{} do not go into a tank of these inside measures: they make {}.",
                        show::volume(self.capacity.volume(), units),
                        show::volume(body, units)
                    ),
                ));
            }
        }
        faults
    }

    /// Plan area between straight walls: 1 m² is a litre for each millimetre of level.
    pub fn area(&self) -> Option<Area> {
        self.plan
            .map(|(length, width)| length.length() * width.length())
    }

    /// The same, for the sum of a system.
    pub fn for_science(&self) -> flood::Reservoir {
        flood::Reservoir {
            capacity: self.capacity.volume(),
            heel: self.heel.volume(),
            over_heel: self.pump_need.volume(),
        }
    }

    /// Whether a fill that was measured before says nothing about this one.
    pub fn holds_as(&self, other: &Self) -> bool {
        (self.capacity, self.pump_need, self.heel) == (other.capacity, other.pump_need, other.heel)
    }

    pub fn facts(&self, units: Units) -> Facts {
        let length = |whole: Option<Millimetres>| {
            whole.map_or_else(String::new, |whole| show::length(whole.length(), units))
        };
        vec![
            ("length", length(self.plan.map(|plan| plan.0))),
            ("width", length(self.plan.map(|plan| plan.1))),
            ("height", length(self.height)),
            ("takes", show::volume(self.capacity.volume(), units)),
            (
                "over the heel",
                show::volume(self.pump_need.volume(), units),
            ),
            (
                "heel",
                format!(
                    "{}, {}",
                    show::volume(self.heel.volume(), units),
                    self.heel_known
                ),
            ),
        ]
    }
}
