//! Days out of a calendar file (iCalendar, RFC 5545): events of whole days, repeated ones too. What is
//! not taken is told with its reason.

use std::collections::{BTreeSet, HashMap};

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, TimeZone, Timelike};
use icalendar::parser::{Component, Property, read_calendar, unfold};
use rrule::{RRuleSet, Tz};

use super::DayRange;

/// Days that a calendar names.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Found {
    pub from: NaiveDate,
    /// The last of them.
    pub to: NaiveDate,
    pub name: String,
}

/// An event that is not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skipped {
    pub name: String,
    pub why: String,
}

/// What a calendar holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Read {
    /// The earliest first, none twice.
    pub found: Vec<Found>,
    pub skipped: Vec<Skipped>,
    /// Events that were over before the first day asked for.
    pub over: usize,
}

/// More events than this are not a calendar of holidays.
const MOST_EVENTS: usize = 2_000;
/// More days out of one rule are a mistake in it.
const MOST_REPEATS: u16 = 400;
/// The names are cut to what a table holds.
const LONGEST_NAME: usize = 200;
/// A holiday longer than this is a mistake.
const LONGEST_DAYS: i64 = 400;

impl Found {
    pub fn words(&self) -> String {
        DayRange::new(self.from, Some(self.to)).map_or_else(|why| why, DayRange::words)
    }
}

/// Reads the events from one day up to another.
///
/// ```
/// use slackwater::hours::calendar::read;
/// let file = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nDTSTART;VALUE=DATE:20270405\r\n\
///             DTEND;VALUE=DATE:20270410\r\nSUMMARY:Spring break\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";
/// let read = read(file, "2027-03-04".parse()?, "2028-12-31".parse()?)?;
/// // The end is the first day after it.
/// assert_eq!(read.found[0].words(), "Mon 5 Apr to Fri 9 Apr 2027");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A text that is no calendar.
pub fn read(text: &str, first: NaiveDate, last: NaiveDate) -> Result<Read, String> {
    let text = text.trim_start_matches('\u{feff}').trim();
    if !text.to_ascii_uppercase().starts_with("BEGIN:VCALENDAR") {
        return Err("This is no calendar file: it does not begin with BEGIN:VCALENDAR.".to_owned());
    }
    let whole = format!("{}\r\n", unfold(text));
    let calendar = read_calendar(&whole)
        .map_err(|_| "This calendar file cannot be read. Is all of it there?".to_owned())?;
    let events: Vec<&Component<'_>> = calendar
        .components
        .iter()
        .filter(|component| component.name == "VEVENT")
        .collect();
    if events.len() > MOST_EVENTS {
        return Err(format!(
            "This calendar has {} events. Take one that holds the closed days alone.",
            events.len()
        ));
    }
    let moved = moved_days(&events);
    let mut read = Read::default();
    let mut found = BTreeSet::new();
    for event in events {
        let name = name_of(event);
        match days_of(event, &moved, first, last) {
            Ok(days) => {
                let (ahead, over): (Vec<_>, Vec<_>) = days
                    .into_iter()
                    .partition(|(from, to)| *to >= first && *from <= last);
                if ahead.is_empty() && !over.is_empty() {
                    read.over += 1;
                }
                found.extend(ahead.into_iter().map(|(from, to)| Found {
                    from,
                    to,
                    name: name.clone(),
                }));
            }
            Err(why) => read.skipped.push(Skipped { name, why }),
        }
    }
    read.found = found.into_iter().collect();
    Ok(read)
}

fn name_of(event: &Component<'_>) -> String {
    let name = event
        .find_prop("SUMMARY")
        .map(|summary| summary.val.clone().unescape_text().to_string());
    let plain: String = name
        .unwrap_or_default()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .chars()
        .filter(|c| !c.is_control())
        .take(LONGEST_NAME)
        .collect();
    if plain.is_empty() {
        "without a name".to_owned()
    } else {
        plain
    }
}

/// For each repeated event the days on which one of its turns was moved: that turn stands as an event
/// of its own.
fn moved_days(events: &[&Component<'_>]) -> HashMap<String, BTreeSet<NaiveDate>> {
    let mut moved: HashMap<String, BTreeSet<NaiveDate>> = HashMap::new();
    for event in events {
        if let (Some(uid), Some(turn)) = (event.find_prop("UID"), event.find_prop("RECURRENCE-ID"))
            && let Some(day) = turn.val.as_str().get(..8).and_then(parse_date)
        {
            moved.entry(uid.val.to_string()).or_default().insert(day);
        }
    }
    moved
}

type FirstAndLast = (NaiveDate, NaiveDate);

/// The days of an event, all its turns between two days.
fn days_of(
    event: &Component<'_>,
    moved: &HashMap<String, BTreeSet<NaiveDate>>,
    first: NaiveDate,
    last: NaiveDate,
) -> Result<Vec<FirstAndLast>, String> {
    let cancelled = event
        .find_prop("STATUS")
        .is_some_and(|status| status.val.as_str().eq_ignore_ascii_case("CANCELLED"));
    if cancelled {
        return Err("cancelled".to_owned());
    }
    let start = event.find_prop("DTSTART").ok_or("it has no first day")?;
    let from = whole_day(start)?;
    let length = length_of(event, from)?;
    if length > LONGEST_DAYS {
        return Err(format!("it is {length} days long"));
    }
    let turns = if event.find_prop("RECURRENCE-ID").is_some() {
        vec![from]
    } else {
        turns_of(event, from, first - Days::new(length.unsigned_abs()), last)?
    };
    let uid = event
        .find_prop("UID")
        .map(|uid| uid.val.to_string())
        .unwrap_or_default();
    let elsewhere = moved
        .get(&uid)
        .filter(|_| event.find_prop("RECURRENCE-ID").is_none());
    let days = turns
        .into_iter()
        .filter(|turn| elsewhere.is_none_or(|days| !days.contains(turn)))
        .filter_map(|turn| Some((turn, turn.checked_add_signed(TimeDelta::days(length - 1))?)));
    Ok(days.collect())
}

/// How many days it lasts: to the day before its end, by its duration, or one.
fn length_of(event: &Component<'_>, from: NaiveDate) -> Result<i64, String> {
    if let Some(end) = event.find_prop("DTEND") {
        // Some programs write the same day as the end of a single day.
        return Ok((whole_day(end)? - from).num_days().max(1));
    }
    let Some(duration) = event.find_prop("DURATION") else {
        return Ok(1);
    };
    let written = duration.val.as_str();
    let days = |text: &str| {
        text.parse::<i64>()
            .ok()
            .filter(|days| (1..=10_000).contains(days))
    };
    let plain = written.trim_start_matches('+').strip_prefix('P');
    plain
        .and_then(
            |plain| match (plain.strip_suffix('D'), plain.strip_suffix('W')) {
                (Some(number), _) => days(number),
                (_, Some(weeks)) => days(weeks).map(|weeks| weeks * 7),
                _ => None,
            },
        )
        .ok_or_else(|| format!("its length, {written}, is not whole days"))
}

/// A day, or a midnight that stands for one.
fn whole_day(property: &Property<'_>) -> Result<NaiveDate, String> {
    let written = property.val.as_str().trim();
    let day = written
        .get(..8)
        .and_then(parse_date)
        .ok_or_else(|| format!("'{written}' is not read as a day"))?;
    match written.get(8..).unwrap_or_default().trim_end_matches('Z') {
        "" => Ok(day),
        rest => {
            let time = rest
                .strip_prefix('T')
                .and_then(|time| NaiveTime::parse_from_str(time, "%H%M%S").ok());
            match time {
                Some(time) if time.num_seconds_from_midnight() == 0 && !written.ends_with('Z') => {
                    Ok(day)
                }
                Some(_) => Err("it is at a time of day, not whole days".to_owned()),
                None => Err(format!("'{written}' is not read as a day")),
            }
        }
    }
}

fn parse_date(written: &str) -> Option<NaiveDate> {
    let digits = written.bytes().all(|byte| byte.is_ascii_digit());
    digits
        .then(|| NaiveDate::parse_from_str(written, "%Y%m%d").ok())
        .flatten()
}

/// The first days of all turns of an event between two days. Rules are reckoned in whole days, so no
/// zone and no change of clocks comes into it.
fn turns_of(
    event: &Component<'_>,
    from: NaiveDate,
    first: NaiveDate,
    last: NaiveDate,
) -> Result<Vec<NaiveDate>, String> {
    let of = |name: &'static str| {
        event
            .properties
            .iter()
            .filter(move |property| property.name == name)
    };
    let mut turns = BTreeSet::new();
    for rule in of("RRULE") {
        turns.extend(repeated(rule.val.as_str(), from, first, last)?);
    }
    if of("RRULE").next().is_none() {
        turns.insert(from);
    }
    let listed = |name| -> Result<Vec<NaiveDate>, String> {
        let values = of(name).flat_map(|property| property.val.as_str().split(','));
        values
            .map(|written| {
                let day = written.trim().get(..8).and_then(parse_date);
                day.ok_or_else(|| format!("'{written}' is not read as a day"))
            })
            .collect()
    };
    turns.extend(listed("RDATE")?);
    for day in listed("EXDATE")? {
        turns.remove(&day);
    }
    Ok(turns.into_iter().collect())
}

fn repeated(
    rule: &str,
    from: NaiveDate,
    first: NaiveDate,
    last: NaiveDate,
) -> Result<Vec<NaiveDate>, String> {
    let unread = || format!("its rule, {rule}, is not read");
    if ["HOURLY", "MINUTELY", "SECONDLY"]
        .iter()
        .any(|often| rule.to_ascii_uppercase().contains(often))
    {
        return Err("it comes several times a day".to_owned());
    }
    let set: RRuleSet = format!(
        "DTSTART:{}T000000Z\nRRULE:{}",
        from.format("%Y%m%d"),
        with_times(rule)
    )
    .parse()
    .map_err(|_| unread())?;
    let at = |day: NaiveDate| -> Option<DateTime<Tz>> {
        Tz::UTC
            .from_local_datetime(&day.and_time(NaiveTime::MIN))
            .single()
    };
    let (after, before) = (at(first).ok_or_else(unread)?, at(last).ok_or_else(unread)?);
    let repeats = set.after(after).before(before).all(MOST_REPEATS);
    if repeats.limited {
        return Err(format!("it comes more than {MOST_REPEATS} times"));
    }
    Ok(repeats
        .dates
        .into_iter()
        .map(|turn| turn.date_naive())
        .collect())
}

/// A rule's last day as the moment that the reckoning asks for.
fn with_times(rule: &str) -> String {
    let parts = rule.split(';').map(|part| match part.split_once('=') {
        Some((name, day)) if name.eq_ignore_ascii_case("UNTIL") => {
            let day = day.get(..8).unwrap_or(day);
            format!("UNTIL={day}T000000Z")
        }
        _ => part.to_owned(),
    });
    parts.collect::<Vec<_>>().join(";")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn file(events: &[&str]) -> String {
        let events: String = events
            .iter()
            .map(|event| format!("BEGIN:VEVENT\r\n{event}\r\nEND:VEVENT\r\n"))
            .collect();
        format!(
            "\u{feff}BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//a calendar//EN\r\n{events}END:VCALENDAR"
        )
    }

    fn taken(events: &[&str]) -> Read {
        let day = |text: &str| text.parse().unwrap();
        read(&file(events), day("2027-03-04"), day("2029-03-04")).unwrap()
    }

    fn words(read: &Read) -> Vec<String> {
        read.found
            .iter()
            .map(|found| format!("{}: {}", found.words(), found.name))
            .collect()
    }

    #[test]
    fn whole_days_are_taken_however_they_are_written() {
        let read = taken(&[
            "UID:1\r\nDTSTART;VALUE=DATE:20270405\r\nDTEND;VALUE=DATE:20270410\r\nSUMMARY:Spring break\\, both\r\n  schools",
            "UID:2\r\nDTSTART;VALUE=DATE:20270503\r\nSUMMARY:May day",
            "UID:3\r\nDTSTART;VALUE=DATE:20271220\r\nDURATION:P2W\r\nSUMMARY:Winter",
            "UID:4\r\nDTSTART;TZID=Europe/London:20270601T000000\r\nDTEND;TZID=Europe/London:20270603T000000\r\nSUMMARY:Half term",
            "UID:5\r\nDTSTART;VALUE=DATE:20270503\r\nSUMMARY:May day",
            "UID:6\r\nDTSTART;VALUE=DATE:20270910\r\nDTEND;VALUE=DATE:20270910\r\nSUMMARY:",
        ]);
        assert_eq!(
            words(&read),
            [
                "Mon 5 Apr to Fri 9 Apr 2027: Spring break, both schools",
                "Mon 3 May 2027: May day",
                "Tue 1 Jun to Wed 2 Jun 2027: Half term",
                "Fri 10 Sep 2027: without a name",
                "Mon 20 Dec 2027 to Sun 2 Jan 2028: Winter",
            ]
        );
        assert_eq!((read.skipped.len(), read.over), (0, 0));
    }

    #[test]
    fn what_is_not_taken_is_told_with_its_reason() {
        let read = taken(&[
            "DTSTART:20270405T090000Z\r\nDTEND:20270405T100000Z\r\nSUMMARY:Meeting",
            "DTSTART;VALUE=DATE:20270405\r\nSTATUS:CANCELLED\r\nSUMMARY:Fair",
            "SUMMARY:Some time",
            "DTSTART;VALUE=DATE:20270405\r\nRRULE:FREQ=SOMETIMES\r\nSUMMARY:Odd",
            "DTSTART;VALUE=DATE:20270405\r\nRRULE:FREQ=HOURLY\r\nSUMMARY:Often",
            "DTSTART;VALUE=DATE:20270405\r\nRRULE:FREQ=DAILY\r\nSUMMARY:Always",
            "DTSTART;VALUE=DATE:20270405\r\nDURATION:PT3H\r\nSUMMARY:Short",
            "DTSTART;VALUE=DATE:20210405\r\nSUMMARY:Long ago",
            "DTSTART;VALUE=DATE:20270405\r\nDTEND;VALUE=DATE:20310405\r\nSUMMARY:Ages",
        ]);
        assert_eq!(words(&read), Vec::<String>::new());
        assert_eq!(read.over, 1);
        let why: Vec<String> = read
            .skipped
            .iter()
            .map(|skipped| format!("{}: {}", skipped.name, skipped.why))
            .collect();
        assert_eq!(
            why,
            [
                "Meeting: it is at a time of day, not whole days",
                "Fair: cancelled",
                "Some time: it has no first day",
                "Odd: its rule, FREQ=SOMETIMES, is not read",
                "Often: it comes several times a day",
                "Always: it comes more than 400 times",
                "Short: its length, PT3H, is not whole days",
                "Ages: it is 1461 days long",
            ]
        );
    }

    #[test]
    fn repeated_days_come_in_their_turns_without_those_left_out_or_moved() {
        let read = taken(&[
            "UID:a\r\nDTSTART;VALUE=DATE:20201225\r\nDTEND;VALUE=DATE:20201227\r\nRRULE:FREQ=YEARLY\r\nSUMMARY:Christmas",
            "UID:b\r\nDTSTART;VALUE=DATE:20270503\r\nRRULE:FREQ=YEARLY;BYMONTH=5;BYDAY=1MO;UNTIL=20280601\r\nSUMMARY:May day",
            "UID:c\r\nDTSTART;VALUE=DATE:20270607\r\nRRULE:FREQ=WEEKLY;COUNT=4\r\nEXDATE;VALUE=DATE:20270614\r\nRDATE;VALUE=DATE:20270801\r\nSUMMARY:Training",
            "UID:c\r\nRECURRENCE-ID;VALUE=DATE:20270621\r\nDTSTART;VALUE=DATE:20270622\r\nSUMMARY:Training, moved",
        ]);
        assert_eq!(
            words(&read),
            [
                "Mon 3 May 2027: May day",
                "Mon 7 Jun 2027: Training",
                "Tue 22 Jun 2027: Training, moved",
                "Mon 28 Jun 2027: Training",
                "Sun 1 Aug 2027: Training",
                "Sat 25 Dec to Sun 26 Dec 2027: Christmas",
                "Mon 1 May 2028: May day",
                "Mon 25 Dec to Tue 26 Dec 2028: Christmas",
            ]
        );
    }

    #[test]
    fn what_is_no_calendar_is_refused() {
        let day = |text: &str| text.parse().unwrap();
        for text in ["", "<html>", "BEGIN:VCALENDAR\r\nBEGIN:VEVENT", "BEGIN:"] {
            assert!(
                read(text, day("2027-03-04"), day("2028-03-04")).is_err(),
                "{text}"
            );
        }
    }

    proptest! {
        #[test]
        fn no_text_upsets_it(start in "[0-9TZ]{0,17}", rule in "[A-Z=;,0-9+-]{0,40}", name in "\\PC{0,40}", rest in "\\PC{0,80}") {
            let day = |text: &str| text.parse().unwrap();
            let event = format!("DTSTART:{start}\r\nRRULE:{rule}\r\nSUMMARY:{name}\r\n{rest}");
            if let Ok(read) = read(&file(&[&event]), day("2027-03-04"), day("2028-03-04")) {
                for found in read.found {
                    prop_assert!(found.from <= found.to && found.to >= day("2027-03-04"));
                    prop_assert!(found.name.chars().count() <= LONGEST_NAME);
                }
            }
        }
    }
}
