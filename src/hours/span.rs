//! Hours on the wall clock, and the real time they are on a day: clocks are put forward and back.

use std::fmt;

use chrono::NaiveDate;
use chrono_tz::Tz;

use crate::clock::Moment;
use crate::site::clock_words;

/// Hours of one day on the site's clocks, in minutes after midnight: from one up to, but without, another.
///
/// ```
/// use slackwater::hours::DaySpan;
/// let morning = DaySpan::new(480, 720)?;
/// assert_eq!(morning.to_string(), "08:00-12:00");
/// assert!(DaySpan::new(720, 480).is_err());
/// # Ok::<(), String>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DaySpan {
    from_min: i64,
    to_min: i64,
}

impl DaySpan {
    /// From midnight to midnight.
    pub const WHOLE_DAY: Self = Self {
        from_min: 0,
        to_min: Self::DAY,
    };

    const DAY: i64 = 1440;

    /// # Errors
    /// An end that is not after the beginning, or a time outside the day.
    pub fn new(from_min: i64, to_min: i64) -> Result<Self, String> {
        if !(0..Self::DAY).contains(&from_min) || !(1..=Self::DAY).contains(&to_min) {
            return Err("Write times from 00:00 to 24:00.".to_owned());
        }
        if to_min <= from_min {
            return Err(format!(
                "{} is not after {}. Hours over midnight are written on both days: up to 24:00, and from 00:00.",
                clock_words(to_min),
                clock_words(from_min)
            ));
        }
        Ok(Self { from_min, to_min })
    }

    pub fn from_min(self) -> i64 {
        self.from_min
    }

    pub fn to_min(self) -> i64 {
        self.to_min
    }

    /// How long it is by the wall clock.
    pub fn minutes(self) -> i64 {
        self.to_min - self.from_min
    }

    pub fn overlaps(self, other: Self) -> bool {
        self.from_min < other.to_min && other.from_min < self.to_min
    }

    /// What is left of it without another: nothing, one piece or two.
    pub fn without(self, other: Self) -> impl Iterator<Item = Self> {
        let piece =
            |from_min: i64, to_min: i64| (from_min < to_min).then_some(Self { from_min, to_min });
        [
            piece(self.from_min, self.to_min.min(other.from_min)),
            piece(self.from_min.max(other.to_min), self.to_min),
        ]
        .into_iter()
        .flatten()
    }

    /// The real time somebody is there who works these hours: nothing in an hour that is left out, and
    /// an hour that comes twice counts once, unless the hours go on through it.
    pub fn on(self, day: NaiveDate, zone: Tz) -> Option<Span> {
        Span::new(
            Moment::on_the_wall(day, self.from_min, zone),
            self.end(day, zone, Moment::on_the_wall),
        )
    }

    /// The real time that these hours may mean: an hour that comes twice is in it both times. This is
    /// for keeping clear of others, where it is better to wait too long.
    pub fn at_most_on(self, day: NaiveDate, zone: Tz) -> Option<Span> {
        Span::new(
            Moment::on_the_wall(day, self.from_min, zone),
            self.end(day, zone, Moment::last_on_the_wall),
        )
    }

    /// One minute after its last minute, so that the end of an hour that comes twice is not its second end.
    fn end(self, day: NaiveDate, zone: Tz, of: fn(NaiveDate, i64, Tz) -> Moment) -> Moment {
        if self.to_min == Self::DAY {
            return day.succ_opt().map_or_else(
                || of(day, self.to_min, zone),
                |next| Moment::day_begins(next, zone),
            );
        }
        let last = of(day, self.to_min - 1, zone);
        let next = last.plus(chrono::TimeDelta::minutes(1));
        // A last minute that is left out ends where the clocks were put forward.
        if is_shown(last, day, self.to_min - 1, zone) {
            next
        } else {
            last
        }
    }
}

fn is_shown(at: Moment, day: NaiveDate, minute: i64, zone: Tz) -> bool {
    use chrono::Timelike;
    let local = at.in_zone(zone);
    local.date_naive() == day && i64::from(local.hour() * 60 + local.minute()) == minute
}

impl fmt::Display for DaySpan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}-{}",
            clock_words(self.from_min),
            clock_words(self.to_min)
        )
    }
}

/// Real time from one moment up to, but without, another; never empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    pub from: Moment,
    pub to: Moment,
}

impl Span {
    /// Nothing, when the end is not after the beginning.
    pub fn new(from: Moment, to: Moment) -> Option<Self> {
        (from < to).then_some(Self { from, to })
    }

    pub fn minutes(self) -> i64 {
        self.to.since(self.from).num_minutes()
    }

    pub fn overlaps(self, other: Self) -> bool {
        self.from < other.to && other.from < self.to
    }
}

/// The same hours, in order, with those that touch or overlap made one.
pub fn joined(mut hours: Vec<DaySpan>) -> Vec<DaySpan> {
    hours.sort_unstable();
    let mut joined: Vec<DaySpan> = Vec::with_capacity(hours.len());
    for next in hours {
        match joined.last_mut() {
            Some(last) if next.from_min <= last.to_min => {
                last.to_min = last.to_min.max(next.to_min);
            }
            _ => joined.push(next),
        }
    }
    joined
}

/// These hours without others.
pub fn without(hours: Vec<DaySpan>, taken: &[DaySpan]) -> Vec<DaySpan> {
    taken.iter().fold(hours, |left, gone| {
        left.into_iter()
            .flat_map(|piece| piece.without(*gone))
            .collect()
    })
}
