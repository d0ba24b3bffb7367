//! The run of a clean-out: what was done, poured and measured, step by step.
//!
//! The record is added to, never changed. How far a run has come is worked out from it each time.

mod acts;
mod beside;
#[cfg(test)]
pub mod fixture;
mod job;
mod measured;
pub mod pages;
mod panels;
mod permit;
mod pour_acts;
mod pours;
mod progress;
mod soak;
pub mod span;
pub mod store;
mod trouble_pages;
mod view;

pub use acts::{begin, end, reading, tick, undo};
pub use job::{Job, sentence};
pub use measured::{Bound, Measured, Reading, Span, counting, limit_words};
pub use permit::{Doer, NotYours};
pub use pour_acts::pour;
pub use pours::{Ahead, Dosed};
pub use progress::{PhaseStanding, Progress, Standing, Stretch};
pub use trouble_pages::{note_form, note_trouble};

use chrono::NaiveDate;

use super::card::FrozenStep;
use crate::clock::Moment;
use crate::ids::{LotId, PersonId};
use crate::science::stored::Millilitres;
use crate::text::{Name, Note};

crate::words! {
    /// What was done to a step.
    pub enum What {
        Done = "done",
        Undone = "undone",
        Begun = "begun",
        Ended = "ended",
    }
}

/// Somebody on the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct By {
    pub id: PersonId,
    pub name: Name,
}

/// A tick, the tick taken back, the beginning or the end of a step.
#[derive(Clone, Debug)]
pub struct StepEntry {
    pub id: i64,
    pub step_no: i64,
    pub what: What,
    pub by: By,
    pub second: Option<By>,
    /// The group that helped, with its head count then.
    pub helped: Option<(Name, i64)>,
    pub note: Note,
    pub at: Moment,
}

/// An amount that was really poured.
#[derive(Clone, Debug)]
pub struct Poured {
    pub no: i64,
    pub planned: Millilitres,
    pub poured: Millilitres,
    pub lot_id: LotId,
    pub by: By,
    pub second: Option<By>,
    pub at: Moment,
}

#[derive(Clone, Debug)]
pub struct Trouble {
    pub step_no: Option<i64>,
    pub text: Note,
    pub by: By,
    pub at: Moment,
}

/// All that was entered for one clean-out, each kind in the order it was entered.
#[derive(Clone, Debug, Default)]
pub struct Record {
    pub entries: Vec<StepEntry>,
    pub pours: Vec<Poured>,
    pub readings: Vec<Reading>,
    pub troubles: Vec<Trouble>,
}

impl Record {
    /// Who entered something last, and when.
    pub fn last(&self) -> Option<(Moment, &By)> {
        let entries = self.entries.iter().map(|entry| (entry.at, &entry.by));
        let pours = self.pours.iter().map(|pour| (pour.at, &pour.by));
        let readings = self
            .readings
            .iter()
            .map(|reading| (reading.at, &reading.by));
        entries
            .chain(pours)
            .chain(readings)
            .max_by_key(|(at, _)| *at)
    }

    /// What everybody confirms for himself, each day, before the first pour.
    pub fn protection_of(
        &self,
        step: &FrozenStep,
        person: PersonId,
        day: NaiveDate,
        zone: chrono_tz::Tz,
    ) -> Option<&StepEntry> {
        self.entries.iter().rev().find(|entry| {
            entry.step_no == step.no
                && entry.what == What::Begun
                && entry.by.id == person
                && entry.at.day(zone) == day
        })
    }
}
