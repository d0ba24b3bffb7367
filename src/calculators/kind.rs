//! What a calculator takes and gives: kinds of quantity, read from text or a bare number, each
//! with one unit of its own.

use std::fmt::Write as _;

use crate::science::parse::{self, ParseError};
use crate::science::quantity::{Celsius, in_grams, in_litres, in_millimetres, litres, millimetres};
use crate::science::show;
use crate::science::strength::{Basis, Strength};
use crate::science::units::{
    CUBIC_FOOT_LITRES, IMPERIAL_GALLON_LITRES, LengthUnit, MassUnit, TemperatureUnit,
    US_GALLON_LITRES, Units, VolumeUnit,
};

/// A kind of quantity. A bare number is in the unit of its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Litres.
    Volume,
    /// Millimetres.
    Length,
    /// Kilograms.
    Mass,
    /// Degrees Celsius.
    Temperature,
    /// Litres a minute.
    Flow,
    /// Minutes.
    Time,
    /// Milligrams in a litre.
    Concentration,
    /// A number with this unit, or none.
    Number(&'static str),
    /// A strength that always says its basis; it has no unit of its own.
    Strength,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// Several numbers of this unit, parted by semicolons.
    List(&'static str),
    /// Words, in an answer only.
    Words,
}

/// A value that was read.
#[derive(Clone, Debug, PartialEq)]
pub enum Given {
    /// In the unit of its kind.
    Number(f64),
    /// With its basis.
    Strength(Strength),
    /// One of the words allowed.
    Choice(&'static str),
    /// In the unit of its kind.
    List(Vec<f64>),
}

/// Units of a rate that people type, with what they are in the unit of the kind.
type Rates = &'static [(&'static str, f64)];

const FLOWS: Rates = &[
    ("L/min", 1.0),
    ("mL/min", 0.001),
    ("L/h", 1.0 / 60.0),
    ("L/d", 1.0 / 1440.0),
    ("L/s", 60.0),
    ("m3/h", 1000.0 / 60.0),
    ("m3/min", 1000.0),
    ("m3/s", 60_000.0),
    ("ft3/min", CUBIC_FOOT_LITRES),
    ("cfm", CUBIC_FOOT_LITRES),
    ("US gal/min", US_GALLON_LITRES),
    ("US gal/h", US_GALLON_LITRES / 60.0),
    ("US gal/d", US_GALLON_LITRES / 1440.0),
    ("imp gal/min", IMPERIAL_GALLON_LITRES),
    ("imp gal/h", IMPERIAL_GALLON_LITRES / 60.0),
];

const TIMES: Rates = &[("min", 1.0), ("s", 1.0 / 60.0), ("h", 60.0), ("d", 1440.0)];

impl Kind {
    /// The unit of a bare number, as it stands in texts.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Volume => "L",
            Self::Length => "mm",
            Self::Mass => "kg",
            Self::Temperature => "°C",
            Self::Flow => "L/min",
            Self::Time => "min",
            Self::Concentration => "mg/L",
            Self::Number(unit) | Self::List(unit) => unit,
            Self::Strength | Self::Choice(_) | Self::Words => "",
        }
    }

    /// What may be typed for it, for the list.
    pub fn takes(self) -> String {
        match self {
            Self::Volume => {
                "volume in L, or with mL, m3, US gal, imp gal, US fl oz, imp fl oz".into()
            }
            Self::Length => "length in mm, or with cm, m, in, ft".into(),
            Self::Mass => "mass in kg, or with mg, g, lb, oz".into(),
            Self::Temperature => "temperature in °C, or with F".into(),
            Self::Flow => with_units("flow", FLOWS),
            Self::Time => with_units("time", TIMES),
            Self::Concentration => "concentration in mg/L, or with g/L, ppm, % w/v".into(),
            Self::Number("") => "number".into(),
            Self::Number(unit) => format!("number of {unit}"),
            Self::Strength => "strength with its basis: % w/w, % w/v, vol, g/L, mg/L, ppm".into(),
            Self::Choice(words) => format!("one of {}", words.join(", ")),
            Self::List("") => "numbers parted by ;".into(),
            Self::List(unit) => format!("numbers of {unit} parted by ;"),
            Self::Words => "words".into(),
        }
    }

    /// The units that a form offers; the first is that of a bare number. A strength has no first: it
    /// is never read without its basis. Empty where there is nothing to choose.
    pub fn units(self) -> &'static [&'static str] {
        match self {
            Self::Volume => &[
                "L",
                "mL",
                "m3",
                "US gal",
                "imp gal",
                "US fl oz",
                "imp fl oz",
            ],
            Self::Length => &["mm", "cm", "m", "in", "ft"],
            Self::Mass => &["kg", "g", "mg", "lb", "oz"],
            Self::Temperature => &["°C", "°F"],
            Self::Flow => &[
                "L/min",
                "mL/min",
                "L/h",
                "L/s",
                "m3/h",
                "US gal/min",
                "US gal/h",
                "imp gal/min",
                "imp gal/h",
            ],
            Self::Time => &["min", "s", "h", "d"],
            Self::Concentration => &["mg/L", "g/L", "% w/v"],
            Self::Strength => &["% w/w", "% w/v", "g/L", "mg/L", "vol"],
            Self::Number(_) | Self::List(_) | Self::Choice(_) | Self::Words => &[],
        }
    }

    /// The unit that stands in an empty field, by the units of the site.
    pub fn usual_unit(self, units: Units) -> &'static str {
        match (self, units) {
            (Self::Strength, _) => "",
            (Self::Volume, Units::Us) => "US gal",
            (Self::Volume, Units::Imperial) => "imp gal",
            (Self::Flow, Units::Us) => "US gal/min",
            (Self::Flow, Units::Imperial) => "imp gal/min",
            (Self::Length, Units::Us | Units::Imperial) => "in",
            (Self::Mass, Units::Us | Units::Imperial) => "lb",
            (Self::Temperature, Units::Us) => "°F",
            _ => self.units().first().copied().unwrap_or_default(),
        }
    }

    /// Reads what was typed.
    ///
    /// # Errors
    /// The reason, in the words of the field.
    pub fn read(self, text: &str) -> Result<Given, String> {
        let words = |error: ParseError| error.to_string();
        let number = match self {
            Self::Volume => in_litres(parse::volume(text, Some(VolumeUnit::Litre)).map_err(words)?),
            Self::Length => {
                let length = parse::length(text, Some(LengthUnit::Millimetre)).map_err(words)?;
                in_millimetres(length)
            }
            Self::Mass => {
                in_grams(parse::mass(text, Some(MassUnit::Kilogram)).map_err(words)?) / 1000.0
            }
            Self::Temperature => parse::temperature(text, Some(TemperatureUnit::Celsius))
                .map_err(words)?
                .degrees(),
            Self::Flow => rate(text, FLOWS)?,
            Self::Time => rate(text, TIMES)?,
            Self::Concentration => concentration(text)?,
            Self::Number(unit) => {
                let bare = text.trim();
                let bare = if unit.is_empty() {
                    bare
                } else {
                    bare.trim_end_matches(unit)
                };
                parse::decimal(bare.trim_end()).map_err(words)?
            }
            Self::Strength => {
                return parse::strength(text, None)
                    .map(Given::Strength)
                    .map_err(words);
            }
            Self::Choice(allowed) => {
                let word = text.trim();
                return allowed
                    .iter()
                    .find(|choice| choice.eq_ignore_ascii_case(word))
                    .map(|choice| Given::Choice(choice))
                    .ok_or_else(|| format!("'{word}' is not one of {}", allowed.join(", ")));
            }
            Self::List(_) => {
                let parts = text.split(';').filter(|part| !part.trim().is_empty());
                let numbers: Result<Vec<f64>, ParseError> =
                    parts.map(|part| parse::decimal(part.trim())).collect();
                return numbers.map(Given::List).map_err(words);
            }
            Self::Words => return Err("This is no input".into()),
        };
        Ok(Given::Number(number))
    }

    /// The unit that stands behind a number, where it is one of those offered; else that of a bare one.
    pub fn unit_in(self, text: &str) -> &'static str {
        let text = text.trim();
        let ends = |unit: &&&str| {
            text.strip_suffix(**unit)
                .is_some_and(|rest| !rest.ends_with(char::is_alphabetic))
        };
        let units = self.units().iter().filter(ends);
        units
            .max_by_key(|unit| unit.len())
            .copied()
            .unwrap_or_else(|| self.unit())
    }

    /// A number of this kind counted in another of its units.
    pub fn in_unit(self, number: f64, unit: &str) -> f64 {
        match (self, unit) {
            (Self::Temperature, "°F") => TemperatureUnit::Fahrenheit.from_celsius(number),
            _ => match self.read(&format!("1 {unit}")) {
                Ok(Given::Number(one)) if one != 0.0 => number / one,
                _ => number,
            },
        }
    }

    /// Shows a number of this kind in the reader's units.
    pub fn show(self, number: f64, units: Units) -> String {
        let figures = show::figures(number, 4);
        match self {
            Self::Volume => show::volume(litres(number), units),
            Self::Length => show::length(millimetres(number), units),
            Self::Mass => show::mass(crate::science::quantity::grams(number * 1000.0), units),
            Self::Temperature => match Celsius::new(number) {
                Ok(temperature) => show::temperature(temperature, units),
                Err(_) => format!("{figures}\u{a0}°C"),
            },
            Self::Flow => match units {
                Units::Metric => format!("{figures}\u{a0}L/min"),
                Units::Us => flow(number / US_GALLON_LITRES, "US\u{a0}gal/min"),
                Units::Imperial => flow(number / IMPERIAL_GALLON_LITRES, "imp\u{a0}gal/min"),
            },
            Self::Number("") | Self::List("") => figures,
            _ => format!("{figures}\u{a0}{}", self.unit()),
        }
    }

    /// What the key of an answer of this kind ends with, so that a program sees the unit.
    pub fn key_ending(self) -> &'static str {
        match self {
            Self::Volume => "_l",
            Self::Length => "_mm",
            Self::Mass => "_kg",
            Self::Temperature => "_c",
            Self::Flow => "_l_per_min",
            Self::Time => "_min",
            Self::Concentration => "_mg_per_l",
            _ => "",
        }
    }
}

fn flow(number: f64, unit: &str) -> String {
    format!("{}\u{a0}{unit}", show::figures(number, 4))
}

fn with_units(what: &str, rates: Rates) -> String {
    let mut text = String::new();
    for (place, (unit, _)) in rates.iter().enumerate() {
        let _ = match place {
            0 => write!(text, "{what} in {unit}, or with "),
            1 => write!(text, "{unit}"),
            _ => write!(text, ", {unit}"),
        };
    }
    text
}

fn rate(text: &str, rates: Rates) -> Result<f64, String> {
    let text = text.trim().replace('\u{a0}', " ");
    let split = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let factor = match unit {
        "" => 1.0,
        unit => rates
            .iter()
            .find(|(known, _)| known.eq_ignore_ascii_case(unit))
            .map(|(_, factor)| *factor)
            .ok_or_else(|| {
                let known: Vec<&str> = rates.iter().map(|(unit, _)| *unit).collect();
                format!("'{unit}' is not a unit for this. Use {}", known.join(", "))
            })?,
    };
    let number = parse::decimal(number.trim_end()).map_err(|error| error.to_string())?;
    Ok(number * factor)
}

fn concentration(text: &str) -> Result<f64, String> {
    let read = parse::strength(text, Some(Basis::MilligramsPerLitre)).map_err(|e| e.to_string())?;
    match read.basis() {
        Basis::MilligramsPerLitre => Ok(read.value()),
        Basis::GramsPerLitre => Ok(read.value() * 1000.0),
        Basis::PercentWv => Ok(read.value() * 10_000.0),
        Basis::PercentWw | Basis::VolumeStrength => {
            Err("Give this as mg/L, g/L or % w/v; 'strength' converts other bases".into())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(kind: Kind, text: &str) -> f64 {
        match kind.read(text) {
            Ok(Given::Number(number)) => number,
            other => panic!("{text}: {other:?}"),
        }
    }

    #[test]
    fn a_bare_number_is_in_the_unit_of_its_kind_and_others_are_converted() {
        assert_eq!(number(Kind::Volume, "180"), 180.0);
        assert!((number(Kind::Volume, "10 US gal") - 37.854_117_84).abs() < 1e-9);
        assert!((number(Kind::Length, "1.2 m") - 1200.0).abs() < 1e-9);
        assert!((number(Kind::Flow, "1512 L/h") - 25.2).abs() < 1e-12);
        assert!((number(Kind::Flow, "400 US gal/h") - 25.236_078).abs() < 1e-6);
        assert!((number(Kind::Time, "1,5 h") - 90.0).abs() < 1e-12);
        assert!((number(Kind::Time, "90 s") - 1.5).abs() < 1e-12);
        assert!((number(Kind::Concentration, "3 % w/v") - 30_000.0).abs() < 1e-9);
        assert_eq!(number(Kind::Number("days"), "30 days"), 30.0);
    }

    #[test]
    fn what_cannot_be_meant_is_refused_with_the_units_that_can() {
        let flow = Kind::Flow.read("25 gal/h").unwrap_err();
        assert!(
            flow.contains("US gal/h") && flow.contains("L/min"),
            "{flow}"
        );
        assert!(
            Kind::Concentration
                .read("3 % w/w")
                .unwrap_err()
                .contains("mg/L")
        );
        assert!(
            Kind::Choice(&["level", "steep"])
                .read("flat")
                .unwrap_err()
                .contains("level")
        );
        assert!(Kind::Strength.read("35 %").is_err());
        assert!(Kind::Flow.read("").is_err() && Kind::Time.read("min").is_err());
    }
}
