//! The methods: the written, versioned way to do a clean-out.
//!
//! A version is never changed. A change is the next version, and a job keeps the version it was made
//! from, frozen on its card.

pub mod builtin;
pub mod compare;
pub mod edit_pages;
mod faults;
mod form;
pub mod kit_needs;
pub mod kit_pages;
pub mod kit_store;
pub mod pages;
pub mod store;
pub mod waters;

use serde::{Deserialize, Serialize};

use crate::clock::Moment;
use crate::ids::{MethodId, MethodVersionId};
use crate::science::agents::AgentKind;
use crate::science::quantity::OutOfRange;
use crate::science::stored::{Millimetres, Minutes};
use crate::science::strength::Strength;
use crate::text::{Name, Note};

crate::words! {
    /// Who says that this strength is right.
    pub enum TargetSource {
        Label = "label",
        Adviser = "adviser",
        None = "none",
    }
}

impl TargetSource {
    pub fn words(self) -> &'static str {
        match self {
            Self::Label => "the product label",
            Self::Adviser => "an adviser",
            Self::None => "nobody yet",
        }
    }
}

crate::words! {
    /// The phases of a clean-out in their order: nothing is disinfected before it is clean.
    pub enum Phase {
        Strip = "strip",
        Wash = "wash",
        Dose = "dose",
        Soak = "soak",
        Rinse = "rinse",
        Teardown = "teardown",
        Refit = "refit",
        Check = "check",
    }
}

impl Phase {
    /// As a heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Strip => "Strip",
            Self::Wash => "Wash",
            Self::Dose => "Dose",
            Self::Soak => "Soak",
            Self::Rinse => "Rinse",
            Self::Teardown => "Teardown",
            Self::Refit => "Refit",
            Self::Check => "Check",
        }
    }
}

crate::words! {
    pub enum StepKind {
        /// Done or not.
        Tick = "tick",
        /// A measured value.
        Reading = "reading",
        /// The pours of the dose sheet.
        Pours = "pours",
        /// Begun and ended.
        Timed = "timed",
    }
}

impl StepKind {
    pub fn words(self) -> &'static str {
        match self {
            Self::Tick => "done or not",
            Self::Reading => "a measured value",
            Self::Pours => "the pours of the dose sheet",
            Self::Timed => "begun and ended, so many minutes",
        }
    }
}

crate::words! {
    /// Who may do a step.
    pub enum Least {
        Anybody = "anybody",
        Adult = "adult",
        Concentrate = "concentrate",
        Electrics = "electrics",
    }
}

impl Least {
    pub fn words(self) -> &'static str {
        match self {
            Self::Anybody => "anybody",
            Self::Adult => "an adult",
            Self::Concentrate => "an adult with the skill for concentrate",
            Self::Electrics => "an adult with the skill for pumps and plugs",
        }
    }
}

crate::words! {
    /// What is measured.
    pub enum ReadingKind {
        Peroxide = "peroxide",
        Ph = "ph",
        Ec = "ec",
        Temperature = "temperature",
        Litres = "litres",
        FloodSeconds = "flood seconds",
        DrainSeconds = "drain seconds",
    }
}

impl ReadingKind {
    /// What a release can be bound to.
    pub const LIMITED: [Self; 4] = [Self::Peroxide, Self::Ph, Self::Ec, Self::Temperature];

    pub fn words(self) -> &'static str {
        match self {
            Self::Peroxide => "residual peroxide",
            Self::Ph => "pH",
            Self::Ec => "EC",
            Self::Temperature => "temperature",
            Self::Litres => "litres filled",
            Self::FloodSeconds => "seconds to flood",
            Self::DrainSeconds => "seconds to drain",
        }
    }

    /// What the stored thousandths are thousandths of.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Peroxide => "mg/L",
            Self::Ph => "",
            Self::Ec => "mS/cm",
            Self::Temperature => "°C",
            Self::Litres => "L",
            Self::FloodSeconds | Self::DrainSeconds => "s",
        }
    }
}

crate::words! {
    /// What a step means beyond itself.
    pub enum Marks {
        Nothing = "",
        RiserOn = "riser on",
        RiserOff = "riser off",
        Soak = "soak",
        Rinse = "rinse",
        FreshFill = "fresh fill",
    }
}

impl Marks {
    pub fn words(self) -> &'static str {
        match self {
            Self::Nothing => "nothing more",
            Self::RiserOn => "the clean-out riser goes on here",
            Self::RiserOff => "the clean-out riser comes off here",
            Self::Soak => "this is the soak",
            Self::Rinse => "this counts as a rinse",
            Self::FreshFill => "this is the fresh fill",
        }
    }
}

/// One line on the card.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    pub no: i64,
    pub phase: Phase,
    pub kind: StepKind,
    pub text: String,
    /// What can go wrong, and the detail that finds no room on the card.
    pub caution: String,
    pub least: Least,
    /// Two people stand by; the second is named when it is done.
    pub two_people: bool,
    pub reading: Option<ReadingKind>,
    /// The least minutes of a timed step.
    pub minutes: Option<Minutes>,
    pub marks: Marks,
    /// What it puts into the water, beside the peroxide of the pours.
    #[serde(default)]
    pub agent: Option<AgentKind>,
}

impl Step {
    /// Whether two adults are asked for: nobody pours alone, whatever the method says.
    pub fn asks_two(&self) -> bool {
        self.two_people || self.kind == StepKind::Pours
    }

    /// Whether concentrate, or another agent, is at hand while it is done: in the phase of the dose always.
    pub fn near_concentrate(&self) -> bool {
        self.phase == Phase::Dose || self.least == Least::Concentrate || self.puts().is_some()
    }

    /// What it puts into the water, the pours with it.
    pub fn puts(&self) -> Option<AgentKind> {
        match self.kind {
            StepKind::Pours => Some(AgentKind::HydrogenPeroxide),
            _ => self.agent,
        }
    }

    /// Whether something goes into the water or is rinsed out of it.
    pub fn changes_water(&self) -> bool {
        self.puts().is_some() || self.marks == Marks::Rinse
    }
}

/// Between what a reading must lie for a release, in thousandths of its unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    pub reading: ReadingKind,
    pub at_least_milli: Option<i64>,
    pub at_most_milli: Option<i64>,
    pub why: String,
}

impl Limit {
    /// 'residual peroxide at most 5 mg/L', 'pH from 5.5 to 7.5'.
    pub fn words(&self) -> String {
        let unit = match self.reading.unit() {
            "" => String::new(),
            unit => format!("\u{a0}{unit}"),
        };
        let (what, least, most) = (
            self.reading.words(),
            self.at_least_milli,
            self.at_most_milli,
        );
        match (least.map(thousandths), most.map(thousandths)) {
            (Some(least), Some(most)) => format!("{what} from {least} to {most}{unit}"),
            (None, Some(most)) => format!("{what} at most {most}{unit}"),
            (Some(least), None) => format!("{what} at least {least}{unit}"),
            (None, None) => what.to_owned(),
        }
    }
}

/// Thousandths as a plain decimal: 5500 is '5.5'.
pub fn thousandths(milli: i64) -> String {
    let sign = if milli < 0 { "-" } else { "" };
    let (whole, rest) = (milli.abs() / 1000, milli.abs() % 1000);
    let rest = format!("{rest:03}");
    match rest.trim_end_matches('0') {
        "" => format!("{sign}{whole}"),
        rest => format!("{sign}{whole}.{rest}"),
    }
}

/// What a method asks for: everything of a version but its number and who wrote it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Contents {
    /// The working strength, and where it comes from.
    pub target: Strength,
    pub target_source: TargetSource,
    pub target_reference: String,
    /// How long the dose is recirculated with every bit of media under.
    pub soak: Minutes,
    pub rinses_at_least: i64,
    pub rinse_from: Minutes,
    pub rinse_to: Minutes,
    /// How far water must stand over the top of the media.
    pub cover: Millimetres,
    /// The minutes of each phase, all eight in their order.
    pub phases: Vec<(Phase, Minutes)>,
    pub steps: Vec<Step>,
    pub limits: Vec<Limit>,
}

impl Contents {
    /// All phases together, what a job is planned with.
    pub fn length(&self) -> Result<Minutes, OutOfRange> {
        Minutes::new(self.phases.iter().map(|(_, minutes)| minutes.get()).sum())
    }

    /// The steps of a phase, in order.
    pub fn in_phase(&self, phase: Phase) -> impl Iterator<Item = &Step> {
        self.steps.iter().filter(move |step| step.phase == phase)
    }

    pub fn minutes_of(&self, phase: Phase) -> Option<Minutes> {
        let found = self.phases.iter().find(|(of, _)| *of == phase);
        found.map(|(_, minutes)| *minutes)
    }
}

/// A version as it was written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MethodVersion {
    pub id: MethodVersionId,
    pub method_id: MethodId,
    pub code: String,
    pub name: Name,
    pub retired: bool,
    pub version: i64,
    pub contents: Contents,
    pub why: Note,
    /// Nobody, where it was installed by the server.
    pub written_by: Option<Name>,
    pub at: Moment,
}

impl MethodVersion {
    /// 'FD-1 version 4'.
    pub fn words(&self) -> String {
        format!("{} version {}", self.code, self.version)
    }
}

/// A method with its newest version, for a list to choose from.
#[derive(Clone, Debug, PartialEq)]
pub struct MethodSummary {
    pub id: MethodId,
    pub code: String,
    pub name: Name,
    pub retired: bool,
    pub version_id: MethodVersionId,
    pub version: i64,
    pub target: Strength,
    pub target_source: TargetSource,
    pub target_reference: String,
    pub soak: Minutes,
    pub length: Minutes,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousandths_read_as_plain_decimals() {
        for (milli, text) in [
            (5_500, "5.5"),
            (0, "0"),
            (400, "0.4"),
            (5_000, "5"),
            (-250, "-0.25"),
            (7, "0.007"),
        ] {
            assert_eq!(thousandths(milli), text);
        }
    }

    #[test]
    fn a_limit_is_said_in_words() {
        let limit = |reading, at_least_milli, at_most_milli| Limit {
            reading,
            at_least_milli,
            at_most_milli,
            why: String::new(),
        };
        assert_eq!(
            limit(ReadingKind::Peroxide, None, Some(5_000)).words(),
            "residual peroxide at most 5\u{a0}mg/L"
        );
        assert_eq!(
            limit(ReadingKind::Ph, Some(5_500), Some(7_500)).words(),
            "pH from 5.5 to 7.5"
        );
        assert_eq!(
            limit(ReadingKind::Ec, Some(1), None).words(),
            "EC at least 0.001\u{a0}mS/cm"
        );
    }
}
