//! Dates and spans in words.

use chrono::{Datelike, NaiveDate, NaiveDateTime, TimeDelta};

use super::Days;

/// "Tue 2" inside the days shown, "26 Feb" or "26 Feb 2026" outside them.
pub(super) fn day(at: NaiveDateTime, days: Days) -> String {
    let date = at.date();
    if days.shows(date) {
        date.format("%a\u{a0}%-d").to_string()
    } else if date.year() == days.first().year() {
        date.format("%-d\u{a0}%b").to_string()
    } else {
        date.format("%-d\u{a0}%b\u{a0}%Y").to_string()
    }
}

/// "Thu 4 March 08:30", for titles and for readers who hear the row.
pub(super) fn moment(at: NaiveDateTime) -> String {
    at.format("%a %-d %B %H:%M").to_string()
}

/// "Thu 4 March 08:30 to 14:30", with the second day where it is another.
pub(super) fn span(start: NaiveDateTime, end: NaiveDateTime) -> String {
    if start.date() == end.date() {
        format!("{} to {}", moment(start), end.format("%H:%M"))
    } else {
        format!("{} to {}", moment(start), moment(end))
    }
}

/// "1 d 7 h", "5 h 30 min", "20 min": the two largest units.
pub(super) fn length(span: TimeDelta) -> String {
    let minutes = span.num_minutes();
    let (d, h, min) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    let parts = [(d, "d"), (h, "h"), (min, "min")];
    let first = parts.iter().position(|p| p.0 > 0).unwrap_or(2);
    let said: Vec<String> = parts[first..]
        .iter()
        .take(2)
        .filter(|p| p.0 > 0 || first == 2)
        .map(|(number, unit)| format!("{number}\u{a0}{unit}"))
        .collect();
    said.join(" ")
}

/// "March 2027", "March to April 2027", "December 2026 to January 2027".
pub(super) fn months(first: NaiveDate, last: NaiveDate) -> String {
    if first.year() != last.year() {
        format!("{} to {}", first.format("%B %Y"), last.format("%B %Y"))
    } else if first.month() != last.month() {
        format!("{} to {}", first.format("%B"), last.format("%B %Y"))
    } else {
        first.format("%B %Y").to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length_of(minutes: i64) -> String {
        length(TimeDelta::minutes(minutes)).replace('\u{a0}', " ")
    }

    #[test]
    fn a_length_is_told_in_its_two_largest_units() {
        assert_eq!(length_of(31 * 60), "1 d 7 h");
        assert_eq!(length_of(31 * 60 + 20), "1 d 7 h");
        assert_eq!(length_of(24 * 60 + 20), "1 d");
        assert_eq!(length_of(330), "5 h 30 min");
        assert_eq!(length_of(120), "2 h");
        assert_eq!(length_of(20), "20 min");
        assert_eq!(length_of(0), "0 min");
    }

    #[test]
    fn months_are_named_once() {
        let date = |y, m| NaiveDate::from_ymd_opt(y, m, 1).unwrap();
        assert_eq!(months(date(2027, 3), date(2027, 3)), "March 2027");
        assert_eq!(months(date(2027, 3), date(2027, 4)), "March to April 2027");
        assert_eq!(
            months(date(2026, 12), date(2027, 1)),
            "December 2026 to January 2027"
        );
    }
}
