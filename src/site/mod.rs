//! The site: a nursery or a school, with its zone, units, hours and rule set.

mod amending;
pub mod amending_pages;
pub mod bands;
pub mod bands_pages;
pub mod first_aid;
pub mod first_aid_pages;
pub mod pages;
pub mod prices;
pub mod prices_pages;
pub mod rules;
pub mod rules_pages;
pub mod sources;
pub mod sources_pages;
pub mod storage;
pub mod storage_pages;
pub mod store;

use chrono::{Datelike, NaiveDate, Timelike, Weekday};
use chrono_tz::Tz;

use self::sources::{Chosen, InUse};
use crate::clock::Moment;
use crate::ids::SiteId;
use crate::science::sources::{Choices, Question};
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
    /// Whether the calculators are shown to visitors who are not signed in.
    pub calculators_open: bool,
    pub version: i64,
    /// What it goes by where published sources differ.
    pub sources: Chosen,
}

/// Somebody who is not signed in, on a page that the site shows to visitors.
#[derive(Clone, Debug)]
pub struct Visitor {
    pub units: Units,
    /// The same figures as for the crew: an address that is sent on gives the same answer.
    pub choices: Choices,
}

/// Whose limits and hazard words are shown beside a strength.
#[derive(Clone, Debug)]
pub struct RuleSet {
    pub code: String,
    pub name: String,
    pub note: String,
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
    /// What is in use for a figure on which sources differ.
    pub fn source(&self, question: Question) -> InUse {
        self.sources.of(question)
    }

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

/// A time of day as a time field sends it, '08:30', as minutes after midnight.
pub fn parse_clock(typed: &str) -> Result<i64, String> {
    let time = chrono::NaiveTime::parse_from_str(typed.trim(), "%H:%M")
        .map_err(|_| "Write a time as hours and minutes, such as 08:30.".to_owned())?;
    Ok(i64::from(time.hour() * 60 + time.minute()))
}

/// The address under which people reach this server, if one is set: `https://name` or
/// `http://name:port`, nothing after it, because paths are added to it.
pub fn parse_address(typed: &str) -> Result<Option<String>, String> {
    let address = typed.trim().trim_end_matches('/');
    if address.is_empty() {
        return Ok(None);
    }
    let host = address
        .strip_prefix("https://")
        .or_else(|| address.strip_prefix("http://"))
        .ok_or("Begin with http:// or https://, as in the address line of a browser.")?;
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | ':' | '[' | ']');
    if host.is_empty() || host.len() > 200 || !host.chars().all(plain) {
        return Err(
            "Write the name and, where it is needed, the port: http://bench.local:8642. Nothing after it."
                .to_owned(),
        );
    }
    Ok(Some(address.to_owned()))
}

/// Minutes as '6 h 30 min'.
pub fn length_words(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, min) => format!("{min}\u{a0}min"),
        (h, 0) => format!("{h}\u{a0}h"),
        (h, min) => format!("{h}\u{a0}h {min}\u{a0}min"),
    }
}

/// Minutes after midnight as '08:30'.
pub fn clock_words(minute_of_day: i64) -> String {
    format!("{:02}:{:02}", minute_of_day / 60, minute_of_day % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_a_name_with_its_port_and_nothing_after_it() {
        let kept = |typed: &str| parse_address(typed).unwrap();
        assert_eq!(kept(" "), None);
        assert_eq!(
            kept("http://bench.local:8642/").as_deref(),
            Some("http://bench.local:8642")
        );
        assert_eq!(
            kept("https://[fd00::1]").as_deref(),
            Some("https://[fd00::1]")
        );
        for wrong in [
            "bench.local",
            "https://",
            "ftp://bench",
            "http://a/b",
            "http://a b",
            "http://a\"onload",
        ] {
            assert!(parse_address(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_time_of_day_reads_back() {
        for minute in [0, 510, 1439] {
            assert_eq!(parse_clock(&clock_words(minute)), Ok(minute));
        }
        for wrong in ["", "24:00", "8.30", "08:60", "8 o'clock"] {
            assert!(parse_clock(wrong).is_err(), "{wrong}");
        }
    }
}
