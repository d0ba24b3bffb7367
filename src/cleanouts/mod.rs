//! The clean-out: one job on one system in one gap, from the proposal to the release.
//!
//! What is decided here is pure. A change of state is a function that returns the new state or a
//! refusal that names what is missing; what a card was issued with is frozen with it.

mod afterwards;
pub mod aired;
pub mod airing;
pub mod booking;
pub mod booking_pages;
pub mod card;
pub mod card_pages;
pub mod choices;
pub mod choices_pages;
pub mod clashes;
mod closed_for;
pub mod code;
pub mod cost;
pub mod dose;
pub mod given;
mod hazards;
pub mod issue;
pub mod offers;
pub mod other_agents;
pub mod other_agents_pages;
mod other_agents_store;
pub mod pages;
pub mod parts;
pub mod propose;
pub mod release;
pub mod rinse_plan;
pub mod rules;
pub mod run;
pub mod sheet_pages;
pub mod store;
pub mod uses_store;
pub mod water;
pub mod week;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

pub use crate::register::MediaWas;

pub use crate::methods::TargetSource;

use crate::crops::gap;
use crate::ids::{CleanoutId, JugId, LotId, MethodVersionId, PersonId, PlantingId, SystemId};
use crate::science::stored::{Millilitres, Minutes, TenthsCelsius};
use crate::science::strength::Strength;
use crate::site::Hours;
use crate::text::{Name, Note};

crate::words! {
    /// Where a clean-out stands.
    pub enum State {
        /// Thought of, with a date that fits; nobody is booked.
        Proposed = "proposed",
        /// Somebody is to do it.
        Booked = "booked",
        /// The card is out, and everything on it is frozen.
        Issued = "issued",
        UnderWay = "under way",
        /// Done as far as it goes, and waiting for the release.
        Held = "held",
        Released = "released",
        CalledOff = "called off",
    }
}

crate::words! {
    /// The water that the dose is made with.
    pub enum Water {
        ReverseOsmosis = "reverse osmosis",
        Distilled = "distilled",
        Deionised = "deionised",
        Rain = "rain",
        Mains = "mains",
        Other = "other",
    }
}

impl Water {
    pub fn words(self) -> &'static str {
        match self {
            Self::ReverseOsmosis => "reverse osmosis",
            Self::Distilled => "distilled",
            Self::Deionised => "deionised",
            Self::Rain => "rain water",
            Self::Mains => "mains water",
            Self::Other => "other water",
        }
    }

    /// Whether it is free of the metals and the organic matter that break peroxide down.
    pub fn is_purified(self) -> bool {
        matches!(
            self,
            Self::ReverseOsmosis | Self::Distilled | Self::Deionised
        )
    }
}

/// Why a state does not change.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotNow {
    #[error("This clean-out is {state}. {why}")]
    State { state: State, why: &'static str },
    #[error("{}", .0.join(" "))]
    Missing(Vec<String>),
}

impl State {
    /// Whether it still holds its system: a system has one open clean-out at a time.
    pub fn is_open(self) -> bool {
        !matches!(self, Self::Released | Self::CalledOff)
    }

    /// Whether date, person and what the dose is worked from can still be chosen.
    pub fn can_change(self) -> bool {
        matches!(self, Self::Proposed | Self::Booked)
    }

    fn refuse<T>(self, why: &'static str) -> Result<T, NotNow> {
        Err(NotNow::State { state: self, why })
    }

    /// Date, person or what the dose is worked from is changed.
    pub fn changed(self) -> Result<Self, NotNow> {
        match self {
            Self::Proposed | Self::Booked => Ok(self),
            _ => self.refuse("What its card says stands. Call it off and propose another one."),
        }
    }

    /// Somebody is booked, or somebody else.
    pub fn booked(self) -> Result<Self, NotNow> {
        self.changed().map(|_| Self::Booked)
    }

    /// The card goes out, when nothing is missing.
    pub fn issued(self, missing: Vec<String>) -> Result<Self, NotNow> {
        match self {
            Self::Proposed | Self::Booked if !missing.is_empty() => Err(NotNow::Missing(missing)),
            Self::Booked => Ok(Self::Issued),
            Self::Proposed => self.refuse("Book somebody first."),
            _ => self.refuse("Its card was issued before, and a card is issued once."),
        }
    }

    /// The first entry of the run.
    pub fn begun(self) -> Result<Self, NotNow> {
        match self {
            Self::Issued | Self::UnderWay => Ok(Self::UnderWay),
            Self::Proposed | Self::Booked => self.refuse("Issue its card first."),
            _ => self.refuse("Nothing more is entered for it."),
        }
    }

    /// The release is asked for and something is missing, or somebody wants it to wait.
    pub fn held(self) -> Result<Self, NotNow> {
        match self {
            Self::UnderWay | Self::Held => Ok(Self::Held),
            _ => self.refuse("Only a clean-out that is under way can be held."),
        }
    }

    /// Work goes on after it was held: another rinse, another reading.
    pub fn resumed(self) -> Result<Self, NotNow> {
        match self {
            Self::Held | Self::UnderWay => Ok(Self::UnderWay),
            _ => self.refuse("Only a clean-out that is held can go on."),
        }
    }

    /// Every limit is met and signed for.
    pub fn released(self, missing: Vec<String>) -> Result<Self, NotNow> {
        match self {
            Self::UnderWay | Self::Held if !missing.is_empty() => Err(NotNow::Missing(missing)),
            Self::UnderWay | Self::Held => Ok(Self::Released),
            _ => self.refuse("Only a clean-out that was carried out can be released."),
        }
    }

    /// It does not take place. Once something is in the water there is only the way through rinse
    /// and release.
    pub fn called_off(self) -> Result<Self, NotNow> {
        match self {
            Self::Proposed | Self::Booked | Self::Issued => Ok(Self::CalledOff),
            Self::UnderWay | Self::Held => self.refuse(
                "It has begun, so it cannot be called off: rinse, take the readings, and let the release decide.",
            ),
            _ => self.refuse("It is closed."),
        }
    }
}

/// One job.
#[derive(Clone, Debug)]
pub struct Cleanout {
    pub id: CleanoutId,
    /// '27-0042'.
    pub number: String,
    pub system_id: SystemId,
    pub system_name: Name,
    pub room_name: Name,
    pub planting_id: Option<PlantingId>,
    pub method_version_id: MethodVersionId,
    pub state: State,
    pub starts_on: NaiveDate,
    pub starts_min: i64,
    pub length: Minutes,
    pub person_id: Option<PersonId>,
    pub person_name: Option<Name>,
    /// Who pours the concentrate.
    pub pours_id: Option<PersonId>,
    pub pours_name: Option<Name>,
    /// Who else takes part.
    pub others: String,
    /// Chosen for the dose.
    pub lot_id: Option<LotId>,
    pub jug_id: Option<JugId>,
    pub target: Strength,
    pub target_source: TargetSource,
    pub target_reference: String,
    pub temperature: TenthsCelsius,
    pub water: Water,
    pub water_on_hand: Option<Millilitres>,
    pub media_was: MediaWas,
    pub called_off_reason: Option<Note>,
    pub version: i64,
}

impl Cleanout {
    pub fn path(&self) -> String {
        path(self.id)
    }

    /// '27-0042, North 2', as the logbook calls it.
    pub fn subject(&self) -> String {
        format!("{}, {}", self.number, self.system_name)
    }

    /// When it starts, on the site's wall clock.
    pub fn starts(&self) -> NaiveDateTime {
        at_minute(self.starts_on, self.starts_min)
    }

    /// When it ends: one that begins in working hours stops for the night.
    pub fn ends(&self, hours: &Hours) -> NaiveDateTime {
        ends(self.starts(), hours, self.length)
    }
}

/// Where a clean-out is found.
pub fn path(id: CleanoutId) -> String {
    format!("/clean-outs/{id}")
}

/// A minute of a day on the wall clock.
pub fn at_minute(day: NaiveDate, minute: i64) -> NaiveDateTime {
    day.and_time(NaiveTime::MIN) + TimeDelta::minutes(minute)
}

/// When a job ends on the wall clock, with nights and days off left out.
pub fn ends(starts: NaiveDateTime, hours: &Hours, length: Minutes) -> NaiveDateTime {
    gap::ends(starts, hours, length.get())
        .unwrap_or_else(|| starts + TimeDelta::minutes(length.get()))
}

/// The number after the last one of a year: '27-0042'.
pub fn number_after(last: Option<&str>, year: i32) -> String {
    let year = year.rem_euclid(100);
    let last = last
        .and_then(|number| number.strip_prefix(&format!("{year:02}-")))
        .and_then(|running| running.parse::<u32>().ok())
        .unwrap_or(0);
    format!("{year:02}-{:04}", last + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clean_out_goes_through_its_states_in_order() {
        let state = State::Proposed.booked().unwrap();
        let state = state.issued(Vec::new()).unwrap();
        let state = state.begun().unwrap();
        let state = state.held().unwrap();
        assert_eq!(state.released(Vec::new()), Ok(State::Released));
    }

    #[test]
    fn a_card_is_not_issued_while_something_is_missing() {
        let missing = vec!["Choose a lot.".to_owned(), "Choose a jug.".to_owned()];
        let refusal = State::Booked.issued(missing).unwrap_err();
        assert_eq!(refusal.to_string(), "Choose a lot. Choose a jug.");
        assert!(
            State::Proposed
                .issued(Vec::new())
                .unwrap_err()
                .to_string()
                .contains("Book somebody")
        );
        assert!(
            State::Issued
                .issued(Vec::new())
                .unwrap_err()
                .to_string()
                .contains("issued once")
        );
    }

    #[test]
    fn no_state_is_left_by_another_way() {
        for state in State::ALL.iter().copied() {
            assert_eq!(
                state.changed().is_ok(),
                matches!(state, State::Proposed | State::Booked),
                "{state}"
            );
            assert_eq!(
                state.begun().is_ok(),
                matches!(state, State::Issued | State::UnderWay),
                "{state}"
            );
            assert_eq!(
                state.released(Vec::new()).is_ok(),
                matches!(state, State::UnderWay | State::Held),
                "{state}"
            );
            assert_eq!(
                state.called_off().is_ok(),
                matches!(state, State::Proposed | State::Booked | State::Issued),
                "{state}"
            );
        }
    }

    #[test]
    fn numbers_run_within_a_year() {
        assert_eq!(number_after(None, 2027), "27-0001");
        assert_eq!(number_after(Some("27-0041"), 2027), "27-0042");
        assert_eq!(number_after(Some("26-0309"), 2027), "27-0001");
    }
}
