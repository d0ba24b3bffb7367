//! Who is where, and when: the usual week of the crew and of the rooms, the days that are not as usual,
//! the site's closed days, and the real time that follows from all of them.
//!
//! Nothing here is changed or deleted. A new week counts from its day on; a correction of days is a new
//! row in the place of the old one.

pub mod about;
pub mod calendar;
pub mod closed_pages;
pub mod crew_pages;
pub mod days;
pub mod days_pages;
pub mod import_pages;
pub mod load;
pub mod owned_pages;
pub mod span;
pub mod store;
pub mod times;
pub mod week;
pub mod week_pages;

pub use days::{DayRange, NewDays, Source, UnusualDays, What, in_order_on};
pub use load::Times;
pub use span::{DaySpan, Span};
pub use times::{PersonTimes, RoomTimes, Shift, SiteDays};
pub use week::{Stretch, UsualWeek, Week, in_force, parse_hours};

use crate::ids::{KitId, PersonId, RoomId, SiteId};

/// Whose hours or days they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Owner {
    Person(PersonId),
    Room(RoomId),
    Kit(KitId),
    Site(SiteId),
}

#[cfg(test)]
mod tests;
