//! Readings: what was measured, with what, and which of them counts.

use chrono::NaiveDate;

use uom::si::mass_concentration::milligram_per_liter;

use super::By;
use super::span::usual;
use crate::cleanouts::card::{FrozenLimit, ReadingKind};
use crate::clock::Moment;
use crate::science::quantity::{Celsius, MassConcentration, in_litres, litres};
use crate::science::strip::StrengthBetween;
use crate::science::units::Units;
use crate::science::{parse, show};

crate::words! {
    /// A strip's lowest step says only 'not more than this'.
    pub enum Bound {
        Exact = "exact",
        AtMost = "at most",
    }
}

/// Between what a value lies, in thousandths of its unit; without an upper end where what it was read
/// with has none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    pub from: i64,
    pub to: Option<i64>,
}

impl Span {
    pub fn around(milli: i64, off: i64) -> Self {
        Self {
            from: (milli - off).max(0),
            to: Some(milli + off),
        }
    }

    /// Rounded outwards to thousandths of mg/L.
    pub fn of(range: StrengthBetween) -> Self {
        let milli = |mg: MassConcentration| mg.get::<milligram_per_liter>() * 1000.0;
        Self {
            from: (milli(range.from) + 1e-6).floor() as i64,
            to: range.to.map(|to| (milli(to) - 1e-6).ceil() as i64),
        }
    }

    pub fn strengths(self) -> StrengthBetween {
        let mg = |milli: i64| MassConcentration::new::<milligram_per_liter>(milli as f64 / 1000.0);
        StrengthBetween {
            from: mg(self.from),
            to: self.to.map(mg),
        }
    }
}

/// A measured value, held in thousandths of its unit, with the range that it may lie in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    kind: ReadingKind,
    milli: i64,
    bound: Bound,
    span: Span,
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
    /// Text as it was typed, in the reader's unit where it names none: thousandths of the unit of the
    /// record.
    pub fn parse(kind: ReadingKind, typed: &str, units: Units) -> Result<i64, String> {
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
        Ok((value * 1000.0).round() as i64)
    }

    /// As it lies in its row, with the range it was taken with, or the usual one.
    pub fn stored(kind: ReadingKind, milli: i64, bound: Bound, span: Option<Span>) -> Self {
        Self {
            kind,
            milli,
            bound,
            span: span.unwrap_or_else(|| usual(kind, milli, bound)),
        }
    }

    pub fn span(self) -> Span {
        self.span
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

    /// 'between 3.5 and 7.5 mg/L, read as 5': what is known comes first.
    pub fn words(self, units: Units) -> String {
        let value = words(self.kind, self.milli, units);
        let figure = |milli: i64| plain(milli as f64 / 1000.0);
        let Span { from, to } = self.span;
        match (self.kind, to) {
            (ReadingKind::Peroxide, None) if from == 0 => {
                format!("not above the lowest colour, {value}, whose next one is not on record")
            }
            (ReadingKind::Peroxide, to) => format!(
                "{}, read as {}",
                match to {
                    None => format!("at least {}", words(self.kind, from, units)),
                    Some(to) if from == 0 => format!("at most {}", words(self.kind, to, units)),
                    Some(to) => format!(
                        "between {} and {}",
                        figure(from),
                        words(self.kind, to, units)
                    ),
                },
                figure(self.milli)
            ),
            (ReadingKind::Ph | ReadingKind::Ec, Some(to)) => {
                format!("{value}, between {} and {}", figure(from), figure(to))
            }
            _ => value,
        }
    }

    /// Whether it shows that a limit is kept; if not, why not. The safer end of its range decides: the
    /// upper one under a most, the lower one over a least.
    pub fn keeps(self, limit: &FrozenLimit, units: Units) -> Result<(), String> {
        let Span { from, to } = self.span;
        if let Some(most) = limit.at_most_milli {
            if from > most {
                return Err("It is above the limit.".to_owned());
            }
            if to.is_none_or(|to| to > most) {
                return Err(self.cannot_show(most, units));
            }
        }
        if let Some(least) = limit.at_least_milli {
            if to.is_some_and(|to| to < least) {
                return Err("It is below the limit.".to_owned());
            }
            if from < least {
                return Err(self.cannot_show(least, units));
            }
        }
        Ok(())
    }

    /// The limit lies inside the range. What would show it, in the words of what it was read with.
    fn cannot_show(self, limit: i64, units: Units) -> String {
        let limit = words(self.kind, limit, units);
        match (self.kind, self.span.to) {
            (ReadingKind::Peroxide, None) if self.span.from == 0 => format!(
                "It cannot show the limit of {limit}: how little the lowest colour tells apart is not on record. Choose the strip with its colours, which a coordinator enters under Systems, Strips and pens."
            ),
            (ReadingKind::Peroxide, _) => format!(
                "The limit of {limit} lies inside that range, so this strip cannot show that it is kept, and the same strip once more cannot either. A strip with finer colours there can, or a titration."
            ),
            _ => format!(
                "The limit of {limit} lies inside that range, so this reading cannot show that it is kept. One with a pen that is known better can, or water that lies further inside."
            ),
        }
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
    /// How its range is known, for what was read before nobody knows how.
    pub how: String,
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
        Measured::parse(kind, typed, units)
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
    fn the_safer_end_of_the_range_decides() {
        let read = |milli, bound| Measured::stored(ReadingKind::Peroxide, milli, bound, None);
        let most = limit(None, Some(5000));
        let judged = |reading: Measured, limit| reading.keeps(limit, Units::Metric);
        // A strip that is not on record may be off by half.
        assert!(judged(read(3333, Bound::Exact), &most).is_ok());
        let inside = judged(read(5000, Bound::Exact), &most).unwrap_err();
        assert!(
            inside.contains("5\u{a0}mg/L lies inside") && inside.contains("titration"),
            "{inside}"
        );
        assert_eq!(
            judged(read(10_002, Bound::Exact), &most).unwrap_err(),
            "It is above the limit."
        );
        assert!(judged(read(3000, Bound::AtMost), &most).is_ok());
        assert!(judged(read(5000, Bound::AtMost), &most).is_err());
        // A lowest colour of nothing shows no limit while the next colour is not on record.
        let nothing = judged(read(0, Bound::AtMost), &most).unwrap_err();
        assert!(nothing.contains("not on record"), "{nothing}");
        let shown = Span {
            from: 0,
            to: Some(250),
        };
        let listed = Measured::stored(ReadingKind::Peroxide, 0, Bound::AtMost, Some(shown));
        assert!(judged(listed, &most).is_ok());
        let least = limit(Some(1000), None);
        assert!(judged(read(2000, Bound::Exact), &least).is_ok());
        assert!(
            judged(read(1500, Bound::Exact), &least).is_err(),
            "may be 750"
        );
        assert_eq!(
            judged(read(600, Bound::Exact), &least).unwrap_err(),
            "It is below the limit."
        );
        assert!(judged(read(5000, Bound::AtMost), &least).is_err());
        assert_eq!(
            limit_words(&limit(Some(1000), Some(5000)), Units::Metric),
            "1\u{a0}mg/L to 5\u{a0}mg/L"
        );
    }

    #[test]
    fn a_reading_is_said_as_its_range() {
        let said = |kind, milli, bound, span| {
            Measured::stored(kind, milli, bound, span).words(Units::Metric)
        };
        let strip = |milli, bound, from, to| {
            said(ReadingKind::Peroxide, milli, bound, Some(Span { from, to }))
        };
        assert_eq!(
            strip(20_000, Bound::Exact, 15_000, Some(30_000)),
            "between 15 and 30\u{a0}mg/L, read as 20"
        );
        assert_eq!(
            strip(0, Bound::AtMost, 0, Some(250)),
            "at most 0.25\u{a0}mg/L, read as 0"
        );
        assert_eq!(
            strip(25_000, Bound::Exact, 17_500, None),
            "at least 17.5\u{a0}mg/L, read as 25"
        );
        assert!(strip(0, Bound::AtMost, 0, None).contains("not on record"));
        assert_eq!(
            said(ReadingKind::Ph, 6400, Bound::Exact, None),
            "6.4, between 6.3 and 6.5"
        );
    }

    #[test]
    fn a_correction_replaces_the_figure_and_keeps_the_hour() {
        let reading = |id, at: &str, corrects| Reading {
            id,
            step_no: Some(9),
            value: Measured::stored(ReadingKind::Peroxide, id * 1000, Bound::Exact, None),
            tool: "S-22".to_owned(),
            how: String::new(),
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
