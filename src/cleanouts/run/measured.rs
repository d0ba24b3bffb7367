//! Readings: what was measured, with what, and which of them counts.

use chrono::NaiveDate;

use super::By;
use crate::cleanouts::card::{FrozenLimit, ReadingKind};
use crate::clock::Moment;
use crate::science::quantity::{Celsius, in_litres, litres};
use crate::science::units::Units;
use crate::science::{parse, show};

crate::words! {
    /// A strip's lowest step says only 'not more than this'.
    pub enum Bound {
        Exact = "exact",
        AtMost = "at most",
    }
}

/// A measured value, held in thousandths of its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    kind: ReadingKind,
    milli: i64,
    bound: Bound,
}

impl ReadingKind {
    pub fn title(self) -> &'static str {
        match self {
            Self::Peroxide => "Peroxide in the water",
            Self::Ph => "pH",
            Self::Ec => "EC",
            Self::Temperature => "Temperature",
            Self::Litres => "Volume filled in",
            Self::FloodSeconds => "Time to flood",
            Self::DrainSeconds => "Time to drain",
        }
    }

    /// The unit that stands in the field.
    pub fn reader_unit(self, units: Units) -> &'static str {
        match self {
            Self::Peroxide => "mg/L",
            Self::Ph => "",
            Self::Ec => "mS/cm",
            Self::Temperature => show::temperature_unit(units).symbol(),
            Self::Litres => show::large_volume_unit(units).symbol(),
            Self::FloodSeconds | Self::DrainSeconds => "s",
        }
    }

    /// Whether it is read off a strip, whose lot and expiry decide whether it can be believed.
    pub fn takes_strip(self) -> bool {
        self == Self::Peroxide
    }

    /// Whether something that is used up or calibrated with is written down beside it.
    pub fn takes_tool(self) -> bool {
        matches!(self, Self::Peroxide | Self::Ph | Self::Ec)
    }

    /// What can be true of water in a bench, in the unit of the record: outside it something was
    /// mistyped or the wrong thing was measured.
    fn plausible(self) -> (f64, f64) {
        match self {
            Self::Peroxide => (0.0, 100_000.0),
            Self::Ph => (0.0, 14.0),
            Self::Ec => (0.0, 20.0),
            Self::Temperature => (0.0, 60.0),
            Self::Litres => (0.0, 100_000.0),
            Self::FloodSeconds | Self::DrainSeconds => (1.0, 36_000.0),
        }
    }
}

impl Measured {
    /// Text as it was typed, in the reader's unit where it names none.
    pub fn parse(
        kind: ReadingKind,
        typed: &str,
        bound: Bound,
        units: Units,
    ) -> Result<Self, String> {
        let value = match kind {
            ReadingKind::Temperature => {
                parse::temperature(typed, Some(show::temperature_unit(units)))
                    .map_err(|error| error.to_string())?
                    .degrees()
            }
            ReadingKind::Litres => in_litres(
                parse::volume(typed, Some(show::large_volume_unit(units)))
                    .map_err(|error| error.to_string())?,
            ),
            _ => parse::decimal(typed).map_err(|error| error.to_string())?,
        };
        let (least, most) = kind.plausible();
        if !(least..=most).contains(&value) {
            let from = words(kind, (least * 1000.0) as i64, units);
            let to = words(kind, (most * 1000.0) as i64, units);
            let given = words(kind, (value.clamp(-1e12, 1e12) * 1000.0) as i64, units);
            return Err(format!(
                "{} is measured here between {from} and {to}; {given} is not. Look again at the figure and its unit.",
                kind.title()
            ));
        }
        // Within the range the thousandths fit many times over.
        Ok(Self {
            kind,
            milli: (value * 1000.0).round() as i64,
            bound,
        })
    }

    /// As it lies in its row.
    pub fn stored(kind: ReadingKind, milli: i64, bound: Bound) -> Self {
        Self { kind, milli, bound }
    }

    pub fn kind(self) -> ReadingKind {
        self.kind
    }

    pub fn milli(self) -> i64 {
        self.milli
    }

    pub fn bound(self) -> Bound {
        self.bound
    }

    /// 'at most 2 mg/L'.
    pub fn words(self, units: Units) -> String {
        let value = words(self.kind, self.milli, units);
        match self.bound {
            Bound::Exact => value,
            Bound::AtMost => format!("at most {value}"),
        }
    }

    /// Whether it shows that a limit is kept; if not, why not.
    ///
    /// 'At most 10' shows nothing about a limit of 5, and nothing about any least.
    pub fn keeps(self, limit: &FrozenLimit, units: Units) -> Result<(), String> {
        if let Some(most) = limit.at_most_milli
            && self.milli > most
        {
            return Err(match self.bound {
                Bound::Exact => "It is above the limit.".to_owned(),
                Bound::AtMost => format!(
                    "A strip whose lowest step is {} cannot show the limit. Take one that reads lower.",
                    words(self.kind, self.milli, units)
                ),
            });
        }
        if let Some(least) = limit.at_least_milli {
            if self.bound == Bound::AtMost {
                return Err("'At most' cannot show that it is enough.".to_owned());
            }
            if self.milli < least {
                return Err("It is below the limit.".to_owned());
            }
        }
        Ok(())
    }
}

/// A value of a kind in the reader's units, from thousandths of the unit of the record.
fn words(kind: ReadingKind, milli: i64, units: Units) -> String {
    let value = milli as f64 / 1000.0;
    match kind {
        ReadingKind::Temperature => Celsius::new(value).map_or_else(
            |_| format!("{value}\u{a0}°C"),
            |celsius| show::temperature(celsius, units),
        ),
        ReadingKind::Litres => show::volume(litres(value), units),
        ReadingKind::Ph if milli % 100 == 0 => show::fixed(value, 1),
        ReadingKind::Ph => plain(value),
        _ => format!("{}\u{a0}{}", plain(value), kind.reader_unit(units)),
    }
}

/// Up to three decimals, none more than there are.
fn plain(value: f64) -> String {
    let text = show::fixed(value, 3);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// 'at most 5 mg/L', '5.5 to 7', 'at least 18 °C'.
pub fn limit_words(limit: &FrozenLimit, units: Units) -> String {
    let value = |milli| words(limit.reading, milli, units);
    match (limit.at_least_milli, limit.at_most_milli) {
        (Some(least), Some(most)) => format!("{} to {}", value(least), value(most)),
        (Some(least), None) => format!("at least {}", value(least)),
        (None, Some(most)) => format!("at most {}", value(most)),
        (None, None) => "no limit".to_owned(),
    }
}

/// A reading on the record.
#[derive(Clone, Debug)]
pub struct Reading {
    pub id: i64,
    pub step_no: Option<i64>,
    pub value: Measured,
    /// Lot of the strip or the buffer, and the last day it is good for.
    pub tool: String,
    pub tool_expires_on: Option<NaiveDate>,
    pub by: By,
    pub at: Moment,
    /// The reading that this one puts right.
    pub corrects: Option<i64>,
}

impl Reading {
    /// Whether the strip was past its last day on a day.
    pub fn expired_on(&self, day: NaiveDate) -> bool {
        self.tool_expires_on.is_some_and(|last| last < day)
    }
}

/// Whether another reading puts this one right.
pub fn is_corrected(readings: &[Reading], id: i64) -> bool {
    readings.iter().any(|reading| reading.corrects == Some(id))
}

/// When it was taken: putting a figure right does not make the water newer.
pub fn taken_at(readings: &[Reading], reading: &Reading) -> Moment {
    let mut first = reading;
    while let Some(earlier) = first.corrects.and_then(|id| {
        readings
            .iter()
            .find(|other| other.id == id && other.id < first.id)
    }) {
        first = earlier;
    }
    first.at
}

/// The readings that count, each with the moment it was taken, oldest first.
pub fn counting(readings: &[Reading]) -> Vec<(Moment, &Reading)> {
    let mut counting: Vec<(Moment, &Reading)> = readings
        .iter()
        .filter(|reading| !is_corrected(readings, reading.id))
        .map(|reading| (taken_at(readings, reading), reading))
        .collect();
    counting.sort_by_key(|(at, reading)| (*at, reading.id));
    counting
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::PersonId;
    use crate::text::Name;

    fn parsed(kind: ReadingKind, typed: &str, units: Units) -> Result<i64, String> {
        Measured::parse(kind, typed, Bound::Exact, units).map(Measured::milli)
    }

    #[test]
    fn a_reading_is_taken_in_the_readers_units() {
        assert_eq!(
            parsed(ReadingKind::Peroxide, "2,5", Units::Metric),
            Ok(2500)
        );
        assert_eq!(parsed(ReadingKind::Ph, "6.05", Units::Metric), Ok(6050));
        assert_eq!(
            parsed(ReadingKind::Temperature, "68", Units::Us),
            Ok(20_000)
        );
        assert_eq!(
            parsed(ReadingKind::Temperature, "20", Units::Metric),
            Ok(20_000)
        );
        assert_eq!(parsed(ReadingKind::Litres, "10", Units::Us), Ok(37_854));
        assert_eq!(parsed(ReadingKind::Litres, "10 L", Units::Us), Ok(10_000));
    }

    #[test]
    fn what_cannot_be_true_is_refused() {
        for (kind, typed) in [
            (ReadingKind::Ph, "65"),
            (ReadingKind::Peroxide, "-1"),
            (ReadingKind::Peroxide, "100001"),
            (ReadingKind::Ec, "1200"),
            (ReadingKind::Temperature, "-4"),
            (ReadingKind::FloodSeconds, "0"),
            (ReadingKind::Litres, "1000000"),
            (ReadingKind::Ph, ""),
            (ReadingKind::Ph, "six"),
        ] {
            assert!(
                parsed(kind, typed, Units::Metric).is_err(),
                "{kind} {typed}"
            );
        }
        let refusal = parsed(ReadingKind::Ph, "65", Units::Metric).unwrap_err();
        assert!(
            refusal.contains("between 0.0 and 14.0; 65.0 is not"),
            "{refusal}"
        );
    }

    fn limit(least: Option<i64>, most: Option<i64>) -> FrozenLimit {
        FrozenLimit {
            reading: ReadingKind::Peroxide,
            at_least_milli: least,
            at_most_milli: most,
            why: String::new(),
        }
    }

    #[test]
    fn a_limit_is_kept_up_to_its_very_value() {
        let read = |milli, bound| Measured::stored(ReadingKind::Peroxide, milli, bound);
        let most = limit(None, Some(5000));
        assert!(read(5000, Bound::Exact).keeps(&most, Units::Metric).is_ok());
        assert!(
            read(5001, Bound::Exact)
                .keeps(&most, Units::Metric)
                .is_err()
        );
        assert!(
            read(5000, Bound::AtMost)
                .keeps(&most, Units::Metric)
                .is_ok()
        );
        let why = read(10_000, Bound::AtMost)
            .keeps(&most, Units::Metric)
            .unwrap_err();
        assert!(why.contains("lowest step is 10\u{a0}mg/L"), "{why}");
        let least = limit(Some(1000), None);
        assert!(
            read(1000, Bound::Exact)
                .keeps(&least, Units::Metric)
                .is_ok()
        );
        assert!(
            read(999, Bound::Exact)
                .keeps(&least, Units::Metric)
                .is_err()
        );
        assert!(
            read(5000, Bound::AtMost)
                .keeps(&least, Units::Metric)
                .is_err()
        );
        assert_eq!(
            limit_words(&limit(Some(1000), Some(5000)), Units::Metric),
            "1\u{a0}mg/L to 5\u{a0}mg/L"
        );
    }

    #[test]
    fn a_correction_replaces_the_figure_and_keeps_the_hour() {
        let reading = |id, at: &str, corrects| Reading {
            id,
            step_no: Some(9),
            value: Measured::stored(ReadingKind::Peroxide, id * 1000, Bound::Exact),
            tool: "S-22".to_owned(),
            tool_expires_on: Some("2027-03-04".parse().unwrap()),
            by: By {
                id: PersonId::from_row(1),
                name: Name::parse("Tobit A.").unwrap(),
            },
            at: at.parse().unwrap(),
            corrects,
        };
        let readings = [
            reading(1, "2027-03-04T10:00:00Z", None),
            reading(2, "2027-03-04T11:00:00Z", None),
            reading(3, "2027-03-04T12:00:00Z", Some(1)),
            reading(4, "2027-03-04T13:00:00Z", Some(3)),
        ];
        let counting: Vec<(String, i64)> = counting(&readings)
            .into_iter()
            .map(|(at, reading)| (at.to_string(), reading.id))
            .collect();
        assert_eq!(
            counting,
            [
                ("2027-03-04T10:00:00Z".to_owned(), 4),
                ("2027-03-04T11:00:00Z".to_owned(), 2)
            ]
        );
        let day = |text: &str| text.parse().unwrap();
        assert!(!readings[0].expired_on(day("2027-03-04")));
        assert!(readings[0].expired_on(day("2027-03-05")));
    }
}
