//! The site: a nursery or a school, with its zone, units, hours and rule set.

pub mod store;

use chrono::{Datelike, NaiveDate, Timelike, Weekday};
use chrono_tz::Tz;

use crate::clock::Moment;
use crate::ids::SiteId;
use crate::science::units::Units;
use crate::text::Name;

#[derive(Clone, Debug)]
pub struct Site {
    pub id: SiteId,
    pub name: Name,
    pub zone: Tz,
    pub units: Units,
    /// The code of a row in `rule_set`.
    pub rule_set: String,
    /// The address under which people reach this server, for the codes on cards.
    pub address: Option<String>,
    pub hours: Hours,
    pub second_signature: bool,
    pub version: i64,
}

/// When people work: from and to in minutes after midnight, and the days, Monday first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hours {
    pub starts_min: i64,
    pub ends_min: i64,
    pub days: [bool; 7],
}

impl Hours {
    pub fn worked(&self, day: NaiveDate) -> bool {
        self.days
            .get(day.weekday().num_days_from_monday() as usize)
            .copied()
            .unwrap_or(false)
    }

    /// '1111100', as it is stored.
    pub fn days_code(&self) -> String {
        self.days
            .iter()
            .map(|worked| if *worked { '1' } else { '0' })
            .collect()
    }

    pub fn from_columns(starts_min: i64, ends_min: i64, days: &str) -> Option<Self> {
        let days: Vec<bool> = days.chars().map(|c| c == '1').collect();
        Some(Self {
            starts_min,
            ends_min,
            days: days.try_into().ok()?,
        })
    }

    pub fn day_name(index: usize) -> &'static str {
        match Weekday::try_from(u8::try_from(index).unwrap_or(u8::MAX)) {
            Ok(Weekday::Mon) => "Monday",
            Ok(Weekday::Tue) => "Tuesday",
            Ok(Weekday::Wed) => "Wednesday",
            Ok(Weekday::Thu) => "Thursday",
            Ok(Weekday::Fri) => "Friday",
            Ok(Weekday::Sat) => "Saturday",
            Ok(Weekday::Sun) => "Sunday",
            Err(_) => "",
        }
    }
}

impl Site {
    pub fn today(&self, now: Moment) -> NaiveDate {
        now.day(self.zone)
    }

    /// 'Thu 4 March 2027, 08:30', in the site's zone.
    pub fn moment_words(&self, at: Moment) -> String {
        at.in_zone(self.zone)
            .format("%a %-d %B %Y, %H:%M")
            .to_string()
    }

    /// '08:30', in the site's zone.
    pub fn time_words(&self, at: Moment) -> String {
        at.in_zone(self.zone).format("%H:%M").to_string()
    }

    /// Minutes after midnight, in the site's zone.
    pub fn minute_of_day(&self, at: Moment) -> i64 {
        let local = at.in_zone(self.zone);
        i64::from(local.hour() * 60 + local.minute())
    }
}

/// 'Thursday 4 March'.
pub fn day_words(day: NaiveDate) -> String {
    day.format("%A %-d %B").to_string()
}

/// 'Thu 4 Mar'.
pub fn short_day(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

/// '4 March 2027'.
pub fn full_day(day: NaiveDate) -> String {
    day.format("%-d %B %Y").to_string()
}

/// Minutes after midnight as '08:30'.
pub fn clock_words(minute_of_day: i64) -> String {
    format!("{:02}:{:02}", minute_of_day / 60, minute_of_day % 60)
}
