//! Crops: plantings with their turnovers, the gap between two crops, and how a system stands.
//!
//! A planting is intended, grows, and comes off. Between its turnover and the next planting lies
//! the gap, and in the gap the clean-out. Nothing is planted into a system that was not released.

pub mod form;
pub mod gap;
pub mod standing;
pub mod store;

use chrono::NaiveDate;

use crate::clock::Moment;
use crate::ids::{CleanoutId, PlantingId, SystemId};
use crate::text::{Name, Note};
use gap::Gap;

crate::words! {
    /// How far a planting has come.
    pub enum Stage {
        Intended = "intended",
        Growing = "growing",
        Off = "off",
        /// It was intended and will not be.
        Dropped = "dropped",
    }
}

/// One crop on one system.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planting {
    pub id: PlantingId,
    pub system_id: SystemId,
    pub crop: Name,
    /// The day it was or will be planted.
    pub planted_on: NaiveDate,
    /// The day it is to come off; none for a crop that is cut and comes again.
    pub turnover_on: Option<NaiveDate>,
    /// The day the next one is to go on.
    pub next_on: Option<NaiveDate>,
    pub next_crop: Option<Name>,
    pub stage: Stage,
    /// The day it really came off.
    pub off_on: Option<NaiveDate>,
    /// It stood there when the system was entered.
    pub already_growing: bool,
    /// The release that it went on after.
    pub cleared_by: Option<CleanoutId>,
    pub version: i64,
}

impl Planting {
    /// The gap after it, once the day it comes off is known.
    pub fn gap(&self) -> Option<Gap> {
        let (off_on, off_already) = match self.off_on {
            Some(day) => (day, true),
            None => (self.turnover_on?, false),
        };
        Some(Gap {
            off_on,
            off_already,
            next_on: self.next_on,
        })
    }

    /// Its days as they stand.
    pub fn turnover(&self) -> Turnover {
        Turnover {
            off_on: self.turnover_on,
            next_on: self.next_on,
            next_crop: self.next_crop.clone(),
        }
    }

    pub fn is_growing(&self) -> bool {
        self.stage == Stage::Growing
    }

    pub fn is_intended(&self) -> bool {
        self.stage == Stage::Intended
    }

    pub fn is_off(&self) -> bool {
        self.stage == Stage::Off
    }

    /// Whether it stood or stands on its system.
    pub fn is_grown(&self) -> bool {
        self.is_growing() || self.is_off()
    }

    /// 'Pak choi of 4 Mar 2027', as the logbook and refusals call it.
    pub fn words(&self) -> String {
        format!("{} of {}", self.crop, self.planted_on.format("%-d %b %Y"))
    }
}

/// The days of a turnover: when the crop comes off and when the next goes on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Turnover {
    pub off_on: Option<NaiveDate>,
    pub next_on: Option<NaiveDate>,
    pub next_crop: Option<Name>,
}

/// What a new planting is made from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewPlanting {
    pub system_id: SystemId,
    pub crop: Name,
    pub planted_on: NaiveDate,
    pub turnover: Turnover,
    /// How it comes to be there.
    pub begins: Begins,
}

/// How a planting comes to be on its system.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Begins {
    /// It is a plan for a later day.
    Intended,
    /// It is planted now, into a system that this clean-out was released for.
    ClearedBy(CleanoutId),
    /// It stood there when the system was entered.
    StoodAlready,
}

/// A turnover that was moved: the old days stay beside the new ones.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TurnoverMove {
    pub planting_id: PlantingId,
    pub old_turnover_on: Option<NaiveDate>,
    pub old_next_on: Option<NaiveDate>,
    pub new_turnover_on: Option<NaiveDate>,
    pub new_next_on: Option<NaiveDate>,
    pub reason: Note,
    /// Who moved it; nobody where an import on the command line did.
    pub person: Option<Name>,
    pub at: Moment,
}
