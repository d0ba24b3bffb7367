//! What the other rooms say, as it was read: one value that the rest of the plan is worked out from.

use std::collections::HashMap;
use std::sync::Arc;

use super::learn::Done;
use super::takes::Reckoned;
use super::timetable::Entry;
use crate::by_system::BySystem;
use crate::cleanouts::airing::Closed;
use crate::cleanouts::booking::Crew;
use crate::clock::Moment;
use crate::hours::Times;
use crate::ids::{
    CleanoutId, MethodId, MethodVersionId, PersonId, PlanId, PlantingId, RoomId, SystemId,
};
use crate::methods::MethodVersion;
use crate::methods::kit_needs::KitNeed;
use crate::register::hold::{Hold, Parts};
use crate::register::jugs::Jug;
use crate::register::kit::Kit;
use crate::register::rooms::Room;
use crate::register::water::WaterSupply;
use crate::science::stored::Millilitres;
use crate::site::Site;
use crate::stock::Lot;
use crate::stock::delivery::Delivery;
use crate::text::Name;
use crate::turnovers::board::Board;

/// A plan as it was kept.
#[derive(Clone, Debug)]
pub struct Kept {
    pub id: PlanId,
    pub posted: bool,
    pub by: Name,
    pub at: Moment,
    /// Never written again, so that they need not be read again.
    pub entries: Arc<BySystem<Entry>>,
}

/// What is on record of a system, with what it holds.
#[derive(Debug)]
pub struct Held {
    parts: Parts,
    /// Nothing where it cannot be said.
    hold: Option<Hold>,
}

impl Held {
    /// From the record; the sum is that of an earlier reading where the record is still the same, by value.
    pub fn of(parts: Parts, before: Option<&Arc<Self>>) -> Arc<Self> {
        match before.filter(|before| before.parts == parts) {
            Some(before) => Arc::clone(before),
            None => Arc::new(Self {
                hold: parts.hold().ok(),
                parts,
            }),
        }
    }
}

/// What an issued card says of the hours and stock to come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Issued {
    /// Concentrate that is not poured yet.
    pub still_takes: Millilitres,
    /// None on cards of before rinses were reckoned.
    pub rinses: Option<i64>,
    pub closed: Option<Closed>,
    /// When concentrate was poured last, which may be later than it was planned.
    pub last_pour: Option<Moment>,
    /// When the first rinse was over.
    pub rinsed: Option<Moment>,
}

/// Somebody fixed a clean-out to these five beginnings: strip, dose, first rinse, teardown, refit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pin {
    pub system: SystemId,
    pub planting: Option<PlantingId>,
    pub starts: [Moment; 5],
}

/// Everything that a plan depends on.
#[derive(Clone, Debug)]
pub struct Sources {
    /// From when on is planned: a quarter of an hour that has not begun. So what is asked twice within one is
    /// the same question.
    pub now: Moment,
    pub site: Site,
    pub board: Board,
    pub crew: Crew,
    pub times: Arc<Times>,
    pub rooms: Vec<Room>,
    pub supplies: Vec<WaterSupply>,
    pub kits: Vec<Kit>,
    pub kit_needs: HashMap<MethodId, Vec<KitNeed>>,
    pub lots: Vec<Lot>,
    pub jugs: Vec<Jug>,
    pub deliveries: Vec<Delivery>,
    /// What is on record of each system that may be cleaned out.
    pub held: Arc<HashMap<SystemId, Arc<Held>>>,
    /// The methods in use, and those that open clean-outs were made from.
    pub methods: HashMap<MethodVersionId, Arc<MethodVersion>>,
    /// The newest version of each method in use, in the order of the methods.
    pub current: Vec<MethodVersionId>,
    pub done: Arc<Done>,
    /// Of clean-outs with a card, what it was issued with.
    pub cards: HashMap<CleanoutId, Issued>,
    pub pins: Vec<Pin>,
    /// The last posting, and the draft after it.
    pub posted: Option<Kept>,
    pub draft: Option<Kept>,
    pub reckoned: Reckoned,
}

impl Sources {
    pub fn person_name(&self, id: PersonId) -> Option<Name> {
        self.crew.person(id).map(|person| person.name.clone())
    }

    pub fn system_name(&self, id: SystemId) -> String {
        self.board
            .of(id)
            .map(|stand| stand.name().to_string())
            .unwrap_or_default()
    }

    /// What a system holds, where that is known.
    pub fn hold(&self, id: SystemId) -> Option<&Hold> {
        self.held.get(&id)?.hold.as_ref()
    }

    pub fn room(&self, id: RoomId) -> Option<&Room> {
        self.rooms.iter().find(|room| room.id == id)
    }
}
