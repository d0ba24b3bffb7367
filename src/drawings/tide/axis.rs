//! The axis of days.

use std::fmt;

use chrono::{Datelike, NaiveDate, NaiveDateTime, TimeDelta, Weekday};

use super::words;

/// Whole weeks from a Monday, so that the heavier rules fall on Mondays, and the time it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Days {
    first: NaiveDate,
    weeks: u8,
    now: Option<NaiveDateTime>,
}

impl Days {
    pub const MAX_WEEKS: u8 = 8;

    /// `weeks` from the Monday of the week that `day` lies in; fewer than 1 becomes 1, more than
    /// [`Days::MAX_WEEKS`] that many, since a day would be too narrow to read.
    pub fn from_week_of(day: NaiveDate, weeks: u8, now: Option<NaiveDateTime>) -> Self {
        let first = day.week(Weekday::Mon).checked_first_day().unwrap_or(day);
        Self {
            first,
            weeks: weeks.clamp(1, Self::MAX_WEEKS),
            now,
        }
    }

    pub fn first(self) -> NaiveDate {
        self.first
    }

    pub fn last(self) -> NaiveDate {
        let span = TimeDelta::days(i64::from(self.weeks) * 7 - 1);
        self.first
            .checked_add_signed(span)
            .unwrap_or(NaiveDate::MAX)
    }

    pub fn shows(self, day: NaiveDate) -> bool {
        (self.first..=self.last()).contains(&day)
    }

    pub(super) fn weeks(self) -> u8 {
        self.weeks
    }

    pub(super) fn count(self) -> f64 {
        f64::from(self.weeks) * 7.0
    }

    /// Days since the first midnight.
    pub(super) fn at(self, time: NaiveDateTime) -> f64 {
        let since = time - self.first.and_time(chrono::NaiveTime::MIN);
        since.as_seconds_f64() / 86_400.0
    }

    /// The time it is, where it lies on the axis.
    pub(super) fn now(self) -> Option<f64> {
        self.now
            .filter(|now| self.shows(now.date()))
            .map(|now| self.at(now))
    }

    /// The time it is, or the start of the axis where that is not known.
    pub(super) fn present(self) -> NaiveDateTime {
        self.now
            .unwrap_or(self.first.and_time(chrono::NaiveTime::MIN))
    }

    fn each(self) -> impl Iterator<Item = NaiveDate> {
        self.first.iter_days().take(usize::from(self.weeks) * 7)
    }
}

/// The head of a tide line: months, days, and the heads of the columns of dates.
pub(super) struct Head {
    pub days: Days,
    pub columns: bool,
}

impl fmt::Display for Head {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let days = self.days;
        let months = words::months(days.first(), days.last());
        write!(
            f,
            "<div class=\"tide-axis\"><span class=\"small soft\">{months}</span>"
        )?;
        f.write_str("<ol class=\"days\" aria-hidden=\"true\">")?;
        let today = days.now.map(|now| now.date());
        for date in days.each() {
            let class = match date.weekday() {
                _ if Some(date) == today => " class=\"today\"",
                Weekday::Mon => " class=\"mon\"",
                _ => "",
            };
            let letter = &date.format("%a").to_string()[..1];
            let number = date.day();
            write!(
                f,
                "<li{class}><span class=\"d\">{letter}</span><span class=\"d\">{number}</span></li>"
            )?;
        }
        f.write_str("</ol>")?;
        if self.columns {
            f.write_str(
                "<p class=\"axis-times\" aria-hidden=\"true\"><span>crop off</span>\
                 <span>clean-out</span><span>crop on</span></p>",
            )?;
        }
        f.write_str("</div>\n")
    }
}

/// The seven days of a card, with their names.
pub(super) struct WeekHead(pub Days);

impl fmt::Display for WeekHead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("<ol class=\"days all\" aria-hidden=\"true\">")?;
        for date in self.0.each() {
            write!(f, "<li><span>{}</span></li>", date.format("%a %-d"))?;
        }
        f.write_str("</ol>")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2027, m, d).unwrap()
    }

    #[test]
    fn the_axis_begins_on_a_monday_and_holds_whole_weeks() {
        let days = Days::from_week_of(day(3, 4), 3, None);
        assert_eq!((days.first(), days.last()), (day(3, 1), day(3, 21)));
        assert_eq!(Days::from_week_of(day(3, 4), 0, None).count(), 7.0);
        assert_eq!(Days::from_week_of(day(3, 4), 99, None).count(), 56.0);
    }

    #[test]
    fn a_time_is_a_fraction_of_days_from_the_first_midnight() {
        let days = Days::from_week_of(day(3, 4), 3, None);
        let at = |m, d, h, min| days.at(day(m, d).and_hms_opt(h, min, 0).unwrap());
        assert_eq!(at(3, 1, 0, 0), 0.0);
        assert_eq!(at(3, 4, 10, 0), 3.0 + 10.0 / 24.0);
        assert_eq!(at(2, 26, 12, 0), -2.5);
    }

    #[test]
    fn now_is_drawn_only_on_a_day_shown() {
        let now = |m, d| day(m, d).and_hms_opt(12, 0, 0);
        assert_eq!(Days::from_week_of(day(3, 4), 1, now(3, 4)).now(), Some(3.5));
        assert_eq!(Days::from_week_of(day(3, 4), 1, now(3, 8)).now(), None);
        let head = Head {
            days: Days::from_week_of(day(3, 4), 1, now(3, 4)),
            columns: true,
        };
        let html = head.to_string();
        assert_eq!(html.matches("<li").count(), 7);
        assert!(html.contains("<li class=\"today\"><span class=\"d\">T</span><span class=\"d\">4"));
    }
}
