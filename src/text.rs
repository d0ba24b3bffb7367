//! Short texts that people type, checked at the door.

use std::fmt;

use chrono::NaiveDate;

/// A name of a person or a thing: one line, 1 to 60 characters.
#[derive(
    Clone,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
    sqlx::Type,
)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Name(String);

impl Name {
    pub const LONGEST: usize = 60;

    pub fn parse(typed: &str) -> Result<Self, String> {
        let text = typed.trim();
        match text.chars().count() {
            0 => Err("Write a name.".to_owned()),
            n if n > Self::LONGEST => Err(format!(
                "Write at most {} characters; this has {n}.",
                Self::LONGEST
            )),
            _ if text.chars().any(char::is_control) => {
                Err("Write it on one line, without control characters.".to_owned())
            }
            _ => Ok(Self(text.to_owned())),
        }
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A remark or a reason: up to 2 000 characters, lines allowed, may be empty.
#[derive(
    Clone, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize, sqlx::Type,
)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Note(String);

impl Note {
    pub const LONGEST: usize = 2000;

    pub fn parse(typed: &str) -> Result<Self, String> {
        let text = typed.trim().replace("\r\n", "\n");
        match text.chars().count() {
            n if n > Self::LONGEST => Err(format!(
                "Write at most {} characters; this has {n}.",
                Self::LONGEST
            )),
            _ if text
                .chars()
                .any(|c| c.is_control() && c != '\n' && c != '\t') =>
            {
                Err("Write it without control characters.".to_owned())
            }
            _ => Ok(Self(text)),
        }
    }

    /// The same, but something must be written.
    pub fn parse_reason(typed: &str) -> Result<Self, String> {
        let note = Self::parse(typed)?;
        if note.is_empty() {
            Err("Write why.".to_owned())
        } else {
            Ok(note)
        }
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A day as a date field sends it, `2027-03-04`, within the years that a site can plan.
pub fn parse_day(typed: &str) -> Result<NaiveDate, String> {
    let day: NaiveDate = typed
        .trim()
        .parse()
        .map_err(|_| "Write a day as year-month-day, such as 2027-03-04.".to_owned())?;
    let year = chrono::Datelike::year(&day);
    if (2000..=2100).contains(&year) {
        Ok(day)
    } else {
        Err(format!("The year {year} is out of reach: 2000 to 2100."))
    }
}

/// The same, where the field may stay empty.
pub fn parse_optional_day(typed: &str) -> Result<Option<NaiveDate>, String> {
    if typed.trim().is_empty() {
        Ok(None)
    } else {
        parse_day(typed).map(Some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_one_trimmed_line() {
        assert_eq!(Name::parse("  North 2 ").unwrap().as_str(), "North 2");
        assert!(Name::parse("  ").unwrap_err().contains("Write a name"));
        assert!(Name::parse("North\u{6}2").is_err());
        assert!(Name::parse(&"x".repeat(61)).unwrap_err().contains("61"));
    }

    #[test]
    fn a_day_is_a_day_of_the_calendar() {
        assert_eq!(parse_day("2028-02-29").unwrap().to_string(), "2028-02-29");
        assert!(parse_day("2027-02-29").is_err());
        assert!(parse_day("1027-02-28").unwrap_err().contains("1027"));
        assert_eq!(parse_optional_day(" ").unwrap(), None);
    }
}
