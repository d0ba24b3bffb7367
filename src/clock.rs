//! The one clock. Everything else is told the time, so that a test can fix it.

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use chrono::{DateTime, NaiveDate, NaiveTime, SecondsFormat, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::sqlite::{Sqlite, SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef};

/// Where the time comes from.
#[derive(Clone, Debug)]
pub enum Clock {
    /// The machine's clock.
    System,
    /// A clock that stands until somebody moves it: seconds since 1970, shared with whoever moves it.
    Fixed(Arc<AtomicI64>),
}

impl Clock {
    pub fn fixed(at: Moment) -> Self {
        Self::Fixed(Arc::new(AtomicI64::new(at.0.timestamp())))
    }

    #[expect(
        clippy::disallowed_methods,
        reason = "this is the one place that asks the machine"
    )]
    pub fn now(&self) -> Moment {
        match self {
            Self::System => Moment::from(Utc::now()),
            Self::Fixed(seconds) => Moment::from_seconds(seconds.load(Ordering::Relaxed)),
        }
    }

    /// Moves a fixed clock on; the machine's clock is not ours to move.
    pub fn advance(&self, by: TimeDelta) {
        if let Self::Fixed(seconds) = self {
            seconds.fetch_add(by.num_seconds(), Ordering::Relaxed);
        }
    }
}

/// A moment to the second, in UTC. Stored as `2027-03-04T08:30:00Z`, so that text order is time order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(DateTime<Utc>);

impl Moment {
    fn from_seconds(seconds: i64) -> Self {
        Self(DateTime::from_timestamp(seconds, 0).unwrap_or(DateTime::UNIX_EPOCH))
    }

    /// The same moment on the wall clock of a zone.
    pub fn in_zone(self, zone: Tz) -> DateTime<Tz> {
        self.0.with_timezone(&zone)
    }

    /// The day it is in a zone.
    pub fn day(self, zone: Tz) -> NaiveDate {
        self.in_zone(zone).date_naive()
    }

    /// The first moment of a day in a zone. Where the clocks are put forward at midnight the day
    /// begins when they stand at its first minute.
    pub fn day_begins(day: NaiveDate, zone: Tz) -> Self {
        Self::on_the_wall(day, 0, zone)
    }

    /// When the clocks of a zone show so many minutes after midnight of a day. A time that comes twice
    /// is the first of the two; a time that is left out is the moment at which it is left out.
    pub fn on_the_wall(day: NaiveDate, minute: i64, zone: Tz) -> Self {
        let wanted = day.and_time(NaiveTime::MIN) + TimeDelta::minutes(minute);
        let found = (0..=Self::LONGEST_GAP_MIN).find_map(|later| {
            zone.from_local_datetime(&(wanted + TimeDelta::minutes(later)))
                .earliest()
        });
        found.map_or_else(
            || Self::from(wanted.and_utc()),
            |at| Self::from(at.with_timezone(&Utc)),
        )
    }

    /// The same, but of a time that comes twice the second.
    pub fn last_on_the_wall(day: NaiveDate, minute: i64, zone: Tz) -> Self {
        let wanted = day.and_time(NaiveTime::MIN) + TimeDelta::minutes(minute);
        zone.from_local_datetime(&wanted).latest().map_or_else(
            || Self::on_the_wall(day, minute, zone),
            |at| Self::from(at.with_timezone(&Utc)),
        )
    }

    /// Samoa left out a whole day in 2011; nobody has left out more.
    const LONGEST_GAP_MIN: i64 = 24 * 60;

    /// The quarter of an hour that begins then or next.
    ///
    /// ```
    /// use slackwater::clock::Moment;
    /// let at: Moment = "2027-03-04T08:30:01Z".parse()?;
    /// assert_eq!(at.next_quarter().to_string(), "2027-03-04T08:45:00Z");
    /// assert_eq!(at.next_quarter().next_quarter(), at.next_quarter());
    /// # Ok::<(), chrono::ParseError>(())
    /// ```
    pub fn next_quarter(self) -> Self {
        const QUARTER_S: i64 = 900;
        let past = self.0.timestamp().rem_euclid(QUARTER_S);
        self.plus(TimeDelta::seconds((QUARTER_S - past) % QUARTER_S))
    }

    /// Seconds since the beginning of 1970.
    pub fn seconds(self) -> i64 {
        self.0.timestamp()
    }

    pub fn plus(self, by: TimeDelta) -> Self {
        Self(self.0 + by)
    }

    pub fn since(self, earlier: Self) -> TimeDelta {
        self.0 - earlier.0
    }
}

impl From<DateTime<Utc>> for Moment {
    fn from(at: DateTime<Utc>) -> Self {
        Self::from_seconds(at.timestamp())
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.to_rfc3339_opts(SecondsFormat::Secs, true))
    }
}

impl std::str::FromStr for Moment {
    type Err = chrono::ParseError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        DateTime::parse_from_rfc3339(text).map(|at| Self::from(at.with_timezone(&Utc)))
    }
}

impl serde::Serialize for Moment {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Moment {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

impl sqlx::Type<Sqlite> for Moment {
    fn type_info() -> SqliteTypeInfo {
        <String as sqlx::Type<Sqlite>>::type_info()
    }
}

impl sqlx::Encode<'_, Sqlite> for Moment {
    fn encode_by_ref(&self, buf: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
        <String as sqlx::Encode<'_, Sqlite>>::encode(self.to_string(), buf)
    }
}

impl<'r> sqlx::Decode<'r, Sqlite> for Moment {
    fn decode(value: SqliteValueRef<'r>) -> Result<Self, BoxDynError> {
        Ok(<&str as sqlx::Decode<'r, Sqlite>>::decode(value)?.parse()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_keeps_whole_seconds_and_reads_back() {
        let at: Moment = "2027-03-04T08:30:00.75Z".parse().unwrap();
        assert_eq!(at.to_string(), "2027-03-04T08:30:00Z");
        assert_eq!(at.to_string().parse::<Moment>().unwrap(), at);
    }

    #[test]
    fn the_day_is_the_sites_day() {
        let at: Moment = "2027-03-04T23:30:00Z".parse().unwrap();
        assert_eq!(at.day(chrono_tz::UTC).to_string(), "2027-03-04");
        assert_eq!(at.day(chrono_tz::Europe::Oslo).to_string(), "2027-03-05");
    }

    #[test]
    fn a_day_begins_at_its_midnight_or_where_there_is_none_an_hour_later() {
        let begins = |day: &str, zone| Moment::day_begins(day.parse().unwrap(), zone).to_string();
        assert_eq!(
            begins("2027-03-04", chrono_tz::Europe::Oslo),
            "2027-03-03T23:00:00Z"
        );
        // Beirut put its clocks forward at midnight before 27 March 2022.
        assert_eq!(
            begins("2022-03-27", chrono_tz::Asia::Beirut),
            "2022-03-26T22:00:00Z"
        );
        // Havana put them back at one o'clock on 1 November 2020: midnight came twice.
        assert_eq!(
            begins("2020-11-01", chrono_tz::America::Havana),
            "2020-11-01T04:00:00Z"
        );
    }

    #[test]
    fn a_fixed_clock_stands_until_it_is_moved() {
        let clock = Clock::fixed("2027-03-04T08:30:00Z".parse().unwrap());
        assert_eq!(clock.now(), clock.now());
        clock.advance(TimeDelta::hours(3));
        assert_eq!(clock.now().to_string(), "2027-03-04T11:30:00Z");
    }
}
