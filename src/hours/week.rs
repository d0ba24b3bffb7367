//! The usual week of somebody, or of the others in a room; a new one counts from its day on.

use chrono::{Datelike, NaiveDate};

use super::Owner;
use super::span::{DaySpan, joined};
use crate::clock::Moment;
use crate::ids::UsualWeekId;
use crate::site::Hours;
use crate::text::Name;

/// Hours of a weekday that are worked as a rule, or that may be worked as overtime.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    pub hours: DaySpan,
    pub overtime: bool,
}

/// The hours of the seven days, Monday first; those of a day are in order and do not overlap.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Week {
    days: [Vec<Stretch>; 7],
    overtime_allowed: bool,
}

impl Week {
    /// More in a day are a slip of the hand.
    pub const MOST_STRETCHES: usize = 8;

    /// # Errors
    /// The weekday, Monday as 0, and what is wrong with its hours.
    pub fn new(
        mut days: [Vec<Stretch>; 7],
        overtime_allowed: bool,
    ) -> Result<Self, (usize, String)> {
        for (weekday, day) in days.iter_mut().enumerate() {
            day.sort_by_key(|stretch| stretch.hours);
            if day.len() > Self::MOST_STRETCHES {
                return Err((
                    weekday,
                    format!("Write at most {} times for a day.", Self::MOST_STRETCHES),
                ));
            }
            let both = day.windows(2).find_map(|pair| match pair {
                [one, next] if one.hours.overlaps(next.hours) => Some((one.hours, next.hours)),
                _ => None,
            });
            if let Some((one, next)) = both {
                return Err((weekday, format!("{one} and {next} overlap.")));
            }
        }
        Ok(Self {
            days,
            overtime_allowed,
        })
    }

    /// The week that the site's own hours make.
    pub fn of_site(hours: Hours) -> Self {
        let usual = DaySpan::new(hours.starts_min, hours.ends_min).ok();
        let mut days: [Vec<Stretch>; 7] = Default::default();
        for (day, worked) in days.iter_mut().zip(hours.days) {
            day.extend(usual.filter(|_| worked).map(|hours| Stretch {
                hours,
                overtime: false,
            }));
        }
        Self {
            days,
            overtime_allowed: false,
        }
    }

    pub fn overtime_allowed(&self) -> bool {
        self.overtime_allowed
    }

    /// All hours of a weekday, Monday as 0, overtime that is not allowed among them.
    pub fn written(&self, weekday: usize) -> &[Stretch] {
        self.days.get(weekday).map_or(&[], Vec::as_slice)
    }

    /// The hours that can be planned with on a day.
    pub fn on(&self, day: NaiveDate) -> impl Iterator<Item = Stretch> {
        self.written(day.weekday().num_days_from_monday() as usize)
            .iter()
            .filter(|stretch| self.overtime_allowed || !stretch.overtime)
            .copied()
    }

    /// The minutes of a week that are worked as a rule.
    pub fn usual_minutes(&self) -> i64 {
        let all = self.days.iter().flatten();
        all.filter(|stretch| !stretch.overtime)
            .map(|stretch| stretch.hours.minutes())
            .sum()
    }

    pub fn is_empty(&self) -> bool {
        self.days.iter().all(Vec::is_empty)
    }

    /// '08:00-12:00, 13:00-17:00' of a weekday, the usual hours or the overtime.
    pub fn words(&self, weekday: usize, overtime: bool) -> String {
        let of_kind = self
            .written(weekday)
            .iter()
            .filter(|stretch| stretch.overtime == overtime);
        hours_words(of_kind.map(|stretch| stretch.hours))
    }
}

/// '08:00-12:00, 13:00-17:00'.
pub fn hours_words(hours: impl Iterator<Item = DaySpan>) -> String {
    let words: Vec<String> = hours.map(|span| span.to_string()).collect();
    words.join(", ")
}

/// A week as it was written, with the day it counts from.
#[derive(Clone, Debug)]
pub struct UsualWeek {
    pub id: UsualWeekId,
    pub owner: Owner,
    pub in_force_from: NaiveDate,
    pub week: Week,
    pub author: Name,
    pub at: Moment,
}

/// The one that counts on a day: of those in force the latest, and of two from the same day the one
/// that was written later.
pub fn in_force(weeks: &[UsualWeek], day: NaiveDate) -> Option<&UsualWeek> {
    weeks
        .iter()
        .filter(|week| week.in_force_from <= day)
        .max_by_key(|week| (week.in_force_from, week.id))
}

/// Hours as people write them: '8-12, 13:00-17:00', '8.30 to 12'. Nothing is no hours.
///
/// ```
/// use slackwater::hours::parse_hours;
/// let read = |typed| parse_hours(typed).map(|hours| hours.iter().map(|span| span.to_string()).collect::<Vec<_>>());
/// assert_eq!(read("8-12, 13.30 to 17"), Ok(vec!["08:00-12:00".to_owned(), "13:30-17:00".to_owned()]));
/// assert_eq!(read(" "), Ok(vec![]));
/// assert!(read("8-12, 11-17").is_err());
/// ```
///
/// # Errors
/// What cannot be read, or hours that overlap.
pub fn parse_hours(typed: &str) -> Result<Vec<DaySpan>, String> {
    let plain = typed.replace(['\u{2013}', '\u{2014}'], "-").to_lowercase();
    let mut hours = plain
        .split([',', ';', '\n'])
        .map(str::trim)
        .filter(|part| !part.is_empty() && *part != "-")
        .map(parse_one)
        .collect::<Result<Vec<_>, _>>()?;
    if hours.len() > Week::MOST_STRETCHES {
        return Err(format!(
            "Write at most {} times for a day.",
            Week::MOST_STRETCHES
        ));
    }
    hours.sort_unstable();
    for pair in hours.windows(2) {
        if let [one, next] = pair
            && one.overlaps(*next)
        {
            return Err(format!("{one} and {next} overlap."));
        }
    }
    Ok(joined(hours))
}

fn parse_one(part: &str) -> Result<DaySpan, String> {
    let unread =
        || format!("'{part}' is not read as hours. Write them as 08:00-12:00, 13:00-17:00.");
    let (from, to) = part
        .split_once('-')
        .or_else(|| part.split_once("to"))
        .ok_or_else(unread)?;
    let from = parse_time(from).ok_or_else(unread)?;
    let to = parse_time(to).ok_or_else(unread)?;
    DaySpan::new(from, to)
}

/// '8', '08:30', '8.30' or '24:00' as minutes after midnight.
fn parse_time(typed: &str) -> Option<i64> {
    let typed = typed.trim();
    let (hour, minute) = typed.split_once([':', '.']).unwrap_or((typed, "00"));
    let digits = |text: &str, most: usize| -> Option<i64> {
        let plain =
            !text.is_empty() && text.len() <= most && text.bytes().all(|b| b.is_ascii_digit());
        plain.then(|| text.parse().ok()).flatten()
    };
    let minute = digits(minute, 2).filter(|read| minute.len() == 2 && *read < 60)?;
    let at = digits(hour, 2)? * 60 + minute;
    (at <= 1440).then_some(at)
}
