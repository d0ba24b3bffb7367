//! What the other rooms say, as it was read: one value that the rest of the plan is worked out from.

use std::collections::HashMap;
use std::sync::Arc;

use super::gaps::Reckoned;
use super::learn::Entered;
use super::timetable::Entry;
use crate::cleanouts::airing::Closed;
use crate::cleanouts::booking::Crew;
use crate::clock::Moment;
use crate::hours::{Owner, PersonTimes, RoomTimes, SiteDays, UnusualDays, UsualWeek};
use crate::ids::{
    CleanoutId, MethodId, MethodVersionId, PersonId, PlanId, PlantingId, RoomId, SystemId,
};
use crate::methods::MethodVersion;
use crate::methods::kit_needs::KitNeed;
use crate::register::hold::Hold;
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
    pub entries: Vec<Entry>,
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
    pub weeks: Vec<UsualWeek>,
    pub unusual: Vec<UnusualDays>,
    pub rooms: Vec<Room>,
    pub supplies: Vec<WaterSupply>,
    pub kits: Vec<Kit>,
    pub kit_needs: HashMap<MethodId, Vec<KitNeed>>,
    pub lots: Vec<Lot>,
    pub jugs: Vec<Jug>,
    pub deliveries: Vec<Delivery>,
    /// What each system holds, where that is known.
    pub holds: Arc<HashMap<SystemId, Hold>>,
    /// The methods in use, and those that open clean-outs were made from.
    pub methods: HashMap<MethodVersionId, MethodVersion>,
    /// The newest version of each method in use, in the order of the methods.
    pub current: Vec<MethodVersionId>,
    pub entered: Vec<Entered>,
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

    pub fn site_days(&self) -> SiteDays {
        SiteDays::new(&self.site, self.days_of(Owner::Site(self.site.id)))
    }

    pub fn days_of(&self, owner: Owner) -> Vec<UnusualDays> {
        let of = self.unusual.iter().filter(|days| days.owner == owner);
        of.cloned().collect()
    }

    pub fn weeks_of(&self, owner: Owner) -> Vec<UsualWeek> {
        let of = self.weeks.iter().filter(|week| week.owner == owner);
        of.cloned().collect()
    }

    pub fn person_times(&self, id: PersonId) -> Option<PersonTimes> {
        let owner = Owner::Person(id);
        Some(PersonTimes {
            kind: self.crew.person(id)?.kind,
            weeks: self.weeks_of(owner),
            absences: self.days_of(owner),
        })
    }

    pub fn room_times(&self, id: RoomId) -> RoomTimes {
        let owner = Owner::Room(id);
        RoomTimes {
            weeks: self.weeks_of(owner),
            exceptions: self.days_of(owner),
        }
    }
}
