//! The gap between two crops, and where a clean-out finds room in it.
//!
//! Times are those on the wall of the site, so that a night with a changed clock does not move a
//! working day.

use std::fmt;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike};

pub use crate::site::length_words;
use crate::site::{Hours, day_words};

/// From the day a crop comes off to the day the next goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    pub off_on: NaiveDate,
    /// Whether it is off, not only planned to be.
    pub off_already: bool,
    pub next_on: Option<NaiveDate>,
}

impl Gap {
    /// Days from the turnover to the next planting, once that is known.
    ///
    /// ```
    /// use slackwater::crops::gap::Gap;
    /// let day = |text: &str| text.parse().unwrap();
    /// let gap = Gap { off_on: day("2027-03-08"), off_already: false, next_on: Some(day("2027-03-10")) };
    /// assert_eq!(gap.days(), Some(2));
    /// assert_eq!(gap.words(), "2\u{a0}days");
    /// ```
    pub fn days(&self) -> Option<i64> {
        self.next_on.map(|next| (next - self.off_on).num_days())
    }

    /// '3 days', 'no day between', 'no next planting yet'.
    pub fn words(&self) -> String {
        match self.days() {
            None => "no next planting yet".to_owned(),
            Some(..=0) => "no day between".to_owned(),
            Some(1) => "1\u{a0}day".to_owned(),
            Some(days) => format!("{days}\u{a0}days"),
        }
    }

    /// What does not fit when a clean-out lies from `starts` to `ends`; none when it fits.
    ///
    /// A clean-out starts once the crop is off and ends before the day of the next planting begins.
    pub fn misfit(&self, starts: NaiveDateTime, ends: NaiveDateTime) -> Option<Misfit> {
        let (off_on, day) = (self.off_on, starts.date());
        if day < off_on || (day == off_on && !self.off_already) {
            return Some(Misfit::BeforeTheCropIsOff { off_on });
        }
        self.next_on
            .filter(|next| ends > midnight(*next))
            .map(|next_on| Misfit::AfterTheNextPlanting { next_on })
    }
}

/// How a clean-out lies outside its gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Misfit {
    BeforeTheCropIsOff { off_on: NaiveDate },
    AfterTheNextPlanting { next_on: NaiveDate },
}

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BeforeTheCropIsOff { off_on } => write!(
                f,
                "it starts before the crop is off, on {}",
                day_words(*off_on)
            ),
            Self::AfterTheNextPlanting { next_on } => write!(
                f,
                "it ends after the next planting, on {}",
                day_words(*next_on)
            ),
        }
    }
}

/// Where a clean-out can lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    pub starts: NaiveDateTime,
    pub ends: NaiveDateTime,
}

impl Slot {
    pub fn day(&self) -> NaiveDate {
        self.starts.date()
    }

    /// Minutes after midnight, as a booking stores it.
    pub fn start_min(&self) -> i64 {
        i64::from(self.starts.num_seconds_from_midnight() / 60)
    }
}

/// Why a clean-out finds no room in its gap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoRoom {
    /// The earliest slot there is, which ends after the next planting, and why.
    Late { slot: Slot, why: Why },
    /// The site works on no day of the week, or a clean-out has no length.
    Never,
}

/// Why it cannot be earlier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    NoDayBetween,
    NextIsHere {
        next_on: NaiveDate,
    },
    NoDayWorked {
        off_on: NaiveDate,
        next_on: NaiveDate,
    },
    TooLong {
        length_min: i64,
        off_on: NaiveDate,
        next_on: NaiveDate,
    },
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoDayBetween => {
                f.write_str("no whole day lies between the crop coming off and the next going on")
            }
            Self::NextIsHere { next_on } => {
                write!(
                    f,
                    "the next planting, on {}, leaves too little time from now",
                    day_words(*next_on)
                )
            }
            Self::NoDayWorked { off_on, next_on } => write!(
                f,
                "nobody works on any day between {} and {}",
                day_words(*off_on),
                day_words(*next_on)
            ),
            Self::TooLong {
                length_min,
                off_on,
                next_on,
            } => write!(
                f,
                "the clean-out takes {}, more than the hours worked between {} and {}",
                length_words(*length_min),
                day_words(*off_on),
                day_words(*next_on)
            ),
        }
    }
}

impl fmt::Display for NoRoom {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Late { slot, why } => write!(
                f,
                "It would be late, ready only on {}: {why}.",
                day_words(slot.ends.date())
            ),
            Self::Never => f.write_str("The site works on no day, so there is no time for it."),
        }
    }
}

/// The first slot for a clean-out of this length.
///
/// It starts on the first day worked after the crop is off, when work begins; on the day itself, or
/// today, only when the crop is off already and enough of the day is left, at the next quarter of
/// an hour. One that fits into a working day is not broken over a night; a longer one starts when
/// work begins and runs over into the next days worked. It ends before the day of the next planting
/// begins, or it is late.
///
/// ```
/// use slackwater::crops::gap::{Gap, earliest};
/// use slackwater::site::Hours;
/// let hours = Hours { starts_min: 480, ends_min: 1020, days: [true, true, true, true, true, false, false] };
/// let day = |text: &str| text.parse::<chrono::NaiveDate>().unwrap();
/// let now = day("2027-03-04").and_hms_opt(8, 30, 0).unwrap();
/// // Off on Friday 5, next on Tuesday 9: the weekend is not worked, so it is Monday.
/// let gap = Gap { off_on: day("2027-03-05"), off_already: false, next_on: Some(day("2027-03-09")) };
/// let slot = earliest(&gap, &hours, 390, now).unwrap();
/// assert_eq!(slot.starts.to_string(), "2027-03-08 08:00:00");
/// assert_eq!(slot.ends.to_string(), "2027-03-08 14:30:00");
/// ```
pub fn earliest(
    gap: &Gap,
    hours: &Hours,
    length_min: i64,
    now: NaiveDateTime,
) -> Result<Slot, NoRoom> {
    let today = now.date();
    let first = match gap.off_already {
        true => gap.off_on.max(today),
        // A crop that still stands comes off today at the earliest.
        false => following(gap.off_on.max(today)),
    };
    let slot = slot_from(first, hours, length_min, now).ok_or(NoRoom::Never)?;
    match gap.next_on {
        Some(next_on) if slot.ends > midnight(next_on) => {
            let why = why_late(gap, next_on, first, hours, length_min);
            Err(NoRoom::Late { slot, why })
        }
        _ => Ok(slot),
    }
}

/// This slot and all that follow it, a quarter of an hour apart, on the days worked: one that fits into a working
/// day is not broken over a night, a longer one starts when work begins.
pub fn later(from: Slot, hours: &Hours, length_min: i64) -> impl Iterator<Item = Slot> {
    let a_day = hours.ends_min - hours.starts_min;
    let first = minute_of(from.starts);
    let days = from.day().iter_days().filter(|day| hours.worked(*day));
    let starts = days.flat_map(move |day| {
        let begins = match day == from.day() {
            true => first,
            false => hours.starts_min,
        };
        let last = match length_min > a_day {
            true => begins,
            false => hours.ends_min - length_min,
        };
        let quarters = (begins..=last.max(begins)).step_by(15);
        quarters.filter_map(move |minute| at(day, minute))
    });
    let slots = starts.filter_map(move |starts| {
        let ends = ends(starts, hours, length_min)?;
        Some(Slot { starts, ends })
    });
    std::iter::once(from).chain(slots.skip_while(move |slot| slot.starts <= from.starts))
}

/// When a clean-out that starts then ends: inside the hours worked it stops for the night and goes
/// on when work begins again; one that starts outside them runs through. None beyond the calendar.
pub fn ends(starts: NaiveDateTime, hours: &Hours, length_min: i64) -> Option<NaiveDateTime> {
    let (mut day, mut from) = (starts.date(), minute_of(starts));
    if !hours.worked(day) || !(hours.starts_min..hours.ends_min).contains(&from) {
        return starts.checked_add_signed(TimeDelta::try_minutes(length_min)?);
    }
    let mut left = length_min;
    loop {
        let room = hours.ends_min - from;
        if left <= room {
            return at(day, from + left);
        }
        left -= room;
        day = day.iter_days().skip(1).take(7).find(|d| hours.worked(*d))?;
        from = hours.starts_min;
    }
}

fn slot_from(first: NaiveDate, hours: &Hours, length_min: i64, now: NaiveDateTime) -> Option<Slot> {
    if length_min <= 0 {
        return None;
    }
    let a_day = hours.ends_min - hours.starts_min;
    // Today may be too short, so the same day of the next week is asked too.
    let mut days = first.iter_days().take(8).filter(|day| hours.worked(*day));
    days.find_map(|day| {
        let from = if day == now.date() {
            next_quarter(now).max(hours.starts_min)
        } else {
            hours.starts_min
        };
        let unbroken = from + length_min <= hours.ends_min;
        let runs_over = length_min > a_day && from == hours.starts_min;
        if !unbroken && !runs_over {
            return None;
        }
        let starts = at(day, from)?;
        let ends = ends(starts, hours, length_min)?;
        Some(Slot { starts, ends })
    })
}

fn why_late(
    gap: &Gap,
    next_on: NaiveDate,
    first: NaiveDate,
    hours: &Hours,
    length_min: i64,
) -> Why {
    let off_on = gap.off_on;
    if next_on <= off_on || (!gap.off_already && next_on <= following(off_on)) {
        return Why::NoDayBetween;
    }
    if next_on <= first {
        return Why::NextIsHere { next_on };
    }
    let worked = first
        .iter_days()
        .take_while(|day| *day < next_on)
        .any(|day| hours.worked(day));
    if worked {
        Why::TooLong {
            length_min,
            off_on,
            next_on,
        }
    } else {
        Why::NoDayWorked { off_on, next_on }
    }
}

fn following(day: NaiveDate) -> NaiveDate {
    day.succ_opt().unwrap_or(day)
}

fn midnight(day: NaiveDate) -> NaiveDateTime {
    day.and_time(NaiveTime::MIN)
}

fn at(day: NaiveDate, min: i64) -> Option<NaiveDateTime> {
    midnight(day).checked_add_signed(TimeDelta::try_minutes(min)?)
}

/// The next full quarter of an hour, in minutes after midnight.
fn next_quarter(time: NaiveDateTime) -> i64 {
    let seconds = i64::from(time.num_seconds_from_midnight());
    (seconds + 899) / 900 * 15
}

fn minute_of(time: NaiveDateTime) -> i64 {
    i64::from(time.num_seconds_from_midnight() / 60)
}

#[cfg(test)]
mod tests;
