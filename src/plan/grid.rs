//! Slots of a quarter of an hour between the site's clocks and the planner.
//!
//! A slot is real time: slot 0 begins with the Monday of the first week in the site's zone, and on the
//! days on which clocks change a day has 92 or 100 slots. So a soak keeps its hours, and hours on the
//! wall become the slots in which they really are.

use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, TimeDelta};
use chrono_tz::Tz;

use crate::clock::Moment;
use crate::hours::Span;
use crate::planner::{self, Slot};

/// Minutes of a slot.
pub const SLOT_MIN: u32 = 15;
const SLOT_SECONDS: i64 = SLOT_MIN as i64 * 60;

/// The slots of some whole weeks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    zone: Tz,
    first: NaiveDate,
    days: u64,
    begins: Moment,
    horizon: Slot,
}

impl Grid {
    /// So many weeks from the Monday of the week that a day lies in.
    ///
    /// ```
    /// use slackwater::plan::grid::Grid;
    /// // The week in which the clocks of London are put forward has an hour less.
    /// let grid = Grid::from_week_of("2027-03-24".parse()?, 1, chrono_tz::Europe::London);
    /// assert_eq!(grid.horizon(), 7 * 96 - 4);
    /// # Ok::<(), chrono::ParseError>(())
    /// ```
    pub fn from_week_of(day: NaiveDate, weeks: u8, zone: Tz) -> Self {
        let back = u64::from(day.weekday().num_days_from_monday());
        let first = day.checked_sub_days(Days::new(back)).unwrap_or(day);
        let days = u64::from(weeks) * 7;
        let end = first.checked_add_days(Days::new(days)).unwrap_or(first);
        let begins = Moment::day_begins(first, zone);
        let seconds = Moment::day_begins(end, zone).since(begins).num_seconds();
        Self {
            zone,
            first,
            days,
            begins,
            horizon: Slot::try_from(seconds / SLOT_SECONDS).unwrap_or(0),
        }
    }

    /// The number of slots.
    pub fn horizon(&self) -> Slot {
        self.horizon
    }

    pub fn zone(&self) -> Tz {
        self.zone
    }

    /// Every day of it.
    pub fn days(&self) -> impl Iterator<Item = NaiveDate> + use<> {
        self.first.iter_days().take(self.days as usize)
    }

    /// When a slot begins.
    pub fn moment(&self, slot: Slot) -> Moment {
        self.begins
            .plus(TimeDelta::seconds(i64::from(slot) * SLOT_SECONDS))
    }

    /// The same on the wall clock.
    pub fn local(&self, slot: Slot) -> NaiveDateTime {
        self.moment(slot).in_zone(self.zone).naive_local()
    }

    /// The last slot that has begun by then, from the first to the one after the last.
    pub fn begun_by(&self, at: Moment) -> Slot {
        self.within(at.since(self.begins).num_seconds().div_euclid(SLOT_SECONDS))
    }

    /// The first slot that begins then or later.
    pub fn begins_from(&self, at: Moment) -> Slot {
        let seconds = at.since(self.begins).num_seconds();
        self.within((seconds + SLOT_SECONDS - 1).div_euclid(SLOT_SECONDS))
    }

    fn within(&self, slot: i64) -> Slot {
        Slot::try_from(slot.clamp(0, i64::from(self.horizon))).unwrap_or(0)
    }

    /// The slots that lie wholly in a time: what somebody can be planned with.
    pub fn inside(&self, span: Span) -> Option<planner::Span> {
        let (from, to) = (self.begins_from(span.from), self.begun_by(span.to));
        (from < to).then_some(planner::Span { from, to })
    }

    /// Every slot that a time touches: what is to be kept clear.
    pub fn touched(&self, span: Span) -> Option<planner::Span> {
        let (from, to) = (self.begun_by(span.from), self.begins_from(span.to));
        (from < to).then_some(planner::Span { from, to })
    }

    /// Slots for so many minutes: whole ones, and at least one.
    pub fn slots(minutes: i64) -> Slot {
        let slots = (minutes.max(1) + i64::from(SLOT_MIN) - 1) / i64::from(SLOT_MIN);
        Slot::try_from(slots).unwrap_or(Slot::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ZONES: [Tz; 6] = [
        chrono_tz::Europe::London,
        chrono_tz::America::New_York,
        chrono_tz::Australia::Lord_Howe,
        chrono_tz::America::Havana,
        chrono_tz::Asia::Kathmandu,
        chrono_tz::Pacific::Chatham,
    ];

    proptest! {
        #[test]
        fn a_slot_is_a_quarter_of_an_hour_on_every_day_of_the_year(
            zone in prop::sample::select(&ZONES[..]), day in 0u64..3650, weeks in 1u8..8, slot in 0u32..4000,
        ) {
            let day = NaiveDate::from_ymd_opt(2024, 1, 1).unwrap() + Days::new(day);
            let grid = Grid::from_week_of(day, weeks, zone);
            let slot = slot % grid.horizon();
            let at = grid.moment(slot);
            prop_assert_eq!(grid.begun_by(at), slot);
            prop_assert_eq!(grid.begins_from(at), slot);
            prop_assert_eq!(grid.begun_by(at.plus(TimeDelta::seconds(899))), slot);
            prop_assert_eq!(grid.begins_from(at.plus(TimeDelta::seconds(1))), slot + 1);
            prop_assert_eq!(grid.local(slot), at.in_zone(zone).naive_local());
            // Every day begins with a slot, and the slots of the days are all slots there are.
            let begins: Vec<Slot> = grid
                .days()
                .map(|day| grid.begins_from(Moment::day_begins(day, zone)))
                .collect();
            prop_assert_eq!(begins[0], 0);
            prop_assert!(begins.windows(2).all(|two| (88..=104).contains(&(two[1] - two[0]))));
        }

        #[test]
        fn what_lies_inside_is_touched_and_never_more_than_a_slot_less_at_each_end(
            from in -200_000i64..5_000_000, length in 1i64..200_000,
        ) {
            let grid = Grid::from_week_of("2027-03-24".parse().unwrap(), 4, chrono_tz::Europe::London);
            let from = grid.moment(0).plus(TimeDelta::seconds(from));
            let span = Span { from, to: from.plus(TimeDelta::seconds(length)) };
            if let (Some(inside), Some(touched)) = (grid.inside(span), grid.touched(span)) {
                prop_assert!(touched.from <= inside.from && inside.to <= touched.to);
                prop_assert!(inside.from - touched.from <= 1 && touched.to - inside.to <= 1);
            } else {
                prop_assert!(grid.inside(span).is_none());
            }
        }
    }

    #[test]
    fn minutes_become_whole_slots() {
        assert_eq!([0, 1, 15, 16, 180].map(Grid::slots), [1, 1, 1, 2, 12]);
    }
}
