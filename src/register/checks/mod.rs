//! Set-up checks: whether the parts of a system fit together, each with its figures, what was taken
//! for granted, and what is still lacking.
//!
//! The sums are science's. Here the parts on record are put in, or the parts as somebody is typing
//! them; a check that lacks a figure says which one, and where it is entered.

mod draft;
mod draining;
mod found;
mod overflowing;
mod pumping;
mod water;

pub use draft::Draft;
pub use draining::drain_point;
pub use pumping::{WorkingPoint, working_point};

use sqlx::SqliteConnection;
use uom::si::f64::VolumeRate;

use super::flow_tests::Timed;
use super::hold::{Parts, parts_of};
use crate::ids::SystemId;
use crate::science::quantity::Time;
use crate::science::units::Units;
use found::Found;

/// What a check comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    Fits,
    DoesNotFit,
    /// A time: it is given, not judged.
    Reckoned,
    NotYet,
}

impl Verdict {
    pub fn words(self) -> &'static str {
        match self {
            Self::Fits => "fits",
            Self::DoesNotFit => "does not fit",
            Self::Reckoned => "reckoned",
            Self::NotYet => "cannot be told yet",
        }
    }

    fn of(fits: bool) -> Self {
        if fits { Self::Fits } else { Self::DoesNotFit }
    }
}

/// What is checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Reservoir,
    Cover,
    Wall,
    Overflow,
    Lift,
    Flood,
    Drain,
}

/// One check.
#[derive(Clone, Debug)]
pub struct Check {
    pub kind: Kind,
    /// 'Overflow, Bench 1'.
    pub what: String,
    pub verdict: Verdict,
    pub words: String,
    /// Line by line, how it comes about.
    pub lines: Vec<Worked>,
    /// What was taken for granted, with how it is known.
    pub assumed: Vec<String>,
    pub lacks: Vec<Lack>,
    /// What a measurement can be held against.
    pub expected: Option<Expected>,
    /// What was measured last, and how it stands to that.
    pub measured: Option<String>,
}

/// From the least to the most that is reckoned, benches full to their overflow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Expected {
    Flow(VolumeRate, VolumeRate),
    Flood(Time, Time),
    Drain(Time, Time),
}

impl Expected {
    pub fn kind(&self) -> Timed {
        match self {
            Self::Flow(..) => Timed::Flow,
            Self::Flood(..) => Timed::Flood,
            Self::Drain(..) => Timed::Drain,
        }
    }
}

/// One worked line.
#[derive(Clone, Debug)]
pub struct Worked {
    pub label: String,
    pub working: String,
    pub value: String,
}

/// A figure that is not on record, and the field that takes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lack {
    pub what: String,
    pub href: String,
}

impl Check {
    fn new(
        kind: Kind,
        what: impl Into<String>,
        verdict: Verdict,
        words: impl Into<String>,
    ) -> Self {
        Self {
            kind,
            what: what.into(),
            verdict,
            words: words.into(),
            lines: Vec::new(),
            assumed: Vec::new(),
            lacks: Vec::new(),
            expected: None,
            measured: None,
        }
    }

    fn not_yet(kind: Kind, what: impl Into<String>, lacks: Vec<Lack>) -> Self {
        Self {
            lacks,
            ..Self::new(kind, what, Verdict::NotYet, "")
        }
    }

    fn line(
        &mut self,
        label: impl Into<String>,
        working: impl Into<String>,
        value: impl Into<String>,
    ) {
        self.lines.push(Worked {
            label: label.into(),
            working: working.into(),
            value: value.into(),
        });
    }
}

/// Every check of a system with what is on record, in the order of the water.
pub fn all(parts: &Parts, units: Units) -> Vec<Check> {
    let found = Found::of(parts, units);
    let mut checks = vec![water::reservoir(&found)];
    checks.extend(water::cover(&found));
    checks.extend(found.benches.iter().map(|bench| water::wall(bench, units)));
    checks.extend(overflowing::overflows(&found));
    checks.push(pumping::lift(&found));
    checks.push(pumping::flood(&found));
    checks.push(draining::drain(&found));
    checks
}

/// What must be said before a clean-out: each bench that its overflow does not keep from running over.
pub fn overflow_warnings(parts: &Parts, units: Units) -> Vec<String> {
    overflowing::overflows(&Found::of(parts, units))
        .into_iter()
        .filter(|check| check.verdict == Verdict::DoesNotFit)
        .map(|check| format!("{}: {}", check.what, check.words))
        .collect()
}

/// The same of a system on record.
pub async fn overflow_warnings_of(
    conn: &mut SqliteConnection,
    system: SystemId,
    units: Units,
) -> sqlx::Result<Vec<String>> {
    let parts = parts_of(conn, system).await?;
    Ok(parts.map_or_else(Vec::new, |parts| overflow_warnings(&parts, units)))
}

#[cfg(test)]
pub(super) mod tests;
