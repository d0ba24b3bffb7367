//! Reading what people type: numbers with a point or a comma, and quantities with their unit.
//!
//! Whatever could be read in two ways is refused with both readings, because the number may go
//! into a can of concentrate. No input makes these functions panic.

mod decimal;

pub use decimal::decimal;

use thiserror::Error;

use super::quantity::{Celsius, Length, Mass, OutOfRange, Volume, within};
use super::strength::{Basis, Strength, StrengthError};
use super::units::{
    LENGTHS, LengthUnit, MASSES, MassUnit, Row, TemperatureUnit, VOLUMES, VolumeUnit,
};
use decimal::is_space;

/// Why a typed text is not taken.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum ParseError {
    /// Nothing was typed.
    #[error("Enter a number")]
    Empty,
    /// Longer than any quantity.
    #[error("That is longer than any number with its unit")]
    TooLong,
    /// Not digits with at most one separator.
    #[error("'{typed}' is not a number. Use plain digits, for example 12.5")]
    NotANumber {
        /// What stood where the number should be.
        typed: String,
    },
    /// A comma that may part thousands or decimals.
    #[error("'{typed}' can be read as {whole} or as {decimal}. Write {whole} or {decimal_long}")]
    Ambiguous {
        /// As typed.
        typed: String,
        /// With the comma as a mark of thousands.
        whole: String,
        /// With the comma as the decimal mark.
        decimal: String,
        /// The decimal written so that it can be read in one way only.
        decimal_long: String,
    },
    /// More than one point or comma.
    #[error("'{typed}' has more than one point or comma. Write thousands without a mark: 1234.5")]
    TwoSeparators {
        /// As typed.
        typed: String,
    },
    /// A number without its unit where the field has none of its own.
    #[error("Add the unit: {accepted}")]
    UnitMissing {
        /// The units that are read here.
        accepted: &'static str,
    },
    /// A unit that this field cannot be in.
    #[error("'{unit}' is not a unit for this. Use {accepted}")]
    UnknownUnit {
        /// As typed.
        unit: String,
        /// The units that are read here.
        accepted: &'static str,
    },
    /// 'gal' without whose gallon.
    #[error(
        "Write US gal or imp gal: a US gallon is 3.785\u{a0}L, an imperial gallon 4.546\u{a0}L"
    )]
    BareGallon,
    /// 'fl oz' without whose ounce.
    #[error(
        "Write US fl oz or imp fl oz: a US fluid ounce is 29.57\u{a0}mL, an imperial one 28.41\u{a0}mL"
    )]
    BareFluidOunce,
    /// '%' without its basis.
    #[error(
        "Write % w/w or % w/v: {number}\u{a0}% by weight and {number}\u{a0}% by volume of solution are different strengths. The basis stands on the label or the safety data sheet"
    )]
    BasisMissing {
        /// The number typed.
        number: String,
    },
    /// '% v/v'.
    #[error(
        "% v/v has no agreed meaning for hydrogen peroxide. Look for % w/w, % w/v, vol or g/L on the label, or ask the supplier"
    )]
    VolumeByVolume,
    /// Beyond the limits of the quantity.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Beyond the limits of a strength.
    #[error(transparent)]
    Strength(#[from] StrengthError),
}

const VOLUME_UNITS: &str = "mL, L, m3, US gal, imp gal, US fl oz or imp fl oz";
const LENGTH_UNITS: &str = "mm, cm, m, in or ft";
const MASS_UNITS: &str = "mg, g, kg, lb or oz";
const TEMPERATURE_UNITS: &str = "C or F";
const STRENGTH_UNITS: &str = "% w/w, % w/v, vol, g/L, mg/L or ppm";

/// No typed quantity is longer.
const LONGEST: usize = 60;

/// The largest volume that is taken for one: 1 000 m³.
pub const MOST_LITRES: f64 = 1_000_000.0;
/// The largest length that is read at all: 100 km, so that millimetres typed into a field of metres
/// meet the limits of that field and its words, not these.
pub const MOST_METRES: f64 = 100_000.0;
/// The largest mass that is taken for one: 1 000 t.
pub const MOST_GRAMS: f64 = 1_000_000_000.0;

/// Parts '180 L' into its number and its unit, the unit in lower case without spaces and stops.
fn number_and_unit(text: &str) -> Result<(&str, &str, String), ParseError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(ParseError::Empty);
    }
    if text.chars().count() > LONGEST {
        return Err(ParseError::TooLong);
    }
    let belongs =
        |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−' | '+') || is_space(c);
    let end = text.find(|c| !belongs(c)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    if number.trim().is_empty() {
        return Err(ParseError::NotANumber {
            typed: text.to_owned(),
        });
    }
    let unit = unit.trim();
    let plain = unit
        .chars()
        .filter(|c| !c.is_whitespace() && !is_space(*c) && !matches!(c, '.' | '(' | ')'))
        .flat_map(char::to_lowercase)
        .collect();
    Ok((number.trim(), unit, plain))
}

/// The unit of a text, or the field's own when none was typed.
fn unit_from<U: Copy>(
    table: &'static [Row<U>],
    typed: &str,
    plain: &str,
    field: Option<U>,
    accepted: &'static str,
) -> Result<U, ParseError> {
    if plain.is_empty() {
        return field.ok_or(ParseError::UnitMissing { accepted });
    }
    table
        .iter()
        .find(|row| row.spellings.contains(&plain))
        .map(|row| row.unit)
        .ok_or_else(|| ParseError::UnknownUnit {
            unit: typed.to_owned(),
            accepted,
        })
}

/// A volume, from nothing to 1 000 m³. A number alone takes the unit of the field.
///
/// # Errors
/// Not a number, an unknown unit, 'gal' or 'fl oz' without whose, or beyond the limits.
///
/// ```
/// use slackwater::science::parse;
/// use slackwater::science::quantity::in_litres;
/// use slackwater::science::units::VolumeUnit;
/// assert_eq!(in_litres(parse::volume("180 L", None).unwrap()), 180.0);
/// assert_eq!(in_litres(parse::volume("2,5", Some(VolumeUnit::Litre)).unwrap()), 2.5);
/// assert!((in_litres(parse::volume("10 US gal", None).unwrap()) - 37.85411784).abs() < 1e-9);
/// assert!(parse::volume("10 gal", None).unwrap_err().to_string().starts_with("Write US gal or imp gal"));
/// ```
pub fn volume(text: &str, field: Option<VolumeUnit>) -> Result<Volume, ParseError> {
    let (number, typed, plain) = number_and_unit(text)?;
    match plain.as_str() {
        "gal" | "gals" | "gallon" | "gallons" => return Err(ParseError::BareGallon),
        "floz" | "fluidounce" | "fluidounces" | "oz" | "ounce" | "ounces" => {
            return Err(ParseError::BareFluidOunce);
        }
        _ => {}
    }
    let unit = unit_from(VOLUMES, typed, &plain, field, VOLUME_UNITS)?;
    let factor = unit.row().factor;
    let number = decimal(number)?;
    within("A volume", number * factor, 0.0, MOST_LITRES, "\u{a0}L")?;
    Ok(unit.of(number))
}

/// A length, from nothing to 100 km. A number alone takes the unit of the field.
///
/// # Errors
/// Not a number, an unknown unit, or beyond the limits.
///
/// ```
/// use slackwater::science::parse;
/// use slackwater::science::quantity::in_millimetres;
/// assert!((in_millimetres(parse::length("4 ft", None).unwrap()) - 1219.2).abs() < 1e-9);
/// ```
pub fn length(text: &str, field: Option<LengthUnit>) -> Result<Length, ParseError> {
    let (number, typed, plain) = number_and_unit(text)?;
    let unit = unit_from(LENGTHS, typed, &plain, field, LENGTH_UNITS)?;
    let number = decimal(number)?;
    within(
        "A length",
        number * unit.row().factor,
        0.0,
        MOST_METRES,
        "\u{a0}m",
    )?;
    Ok(unit.of(number))
}

/// A mass, from nothing to 1 000 t. A number alone takes the unit of the field.
///
/// ```
/// use slackwater::science::parse;
/// use slackwater::science::quantity::in_grams;
/// use slackwater::science::units::MassUnit;
/// assert!((in_grams(parse::mass("2 lb", None).unwrap()) - 907.18474).abs() < 1e-9);
/// assert!((in_grams(parse::mass("2,5", Some(MassUnit::Kilogram)).unwrap()) - 2500.0).abs() < 1e-9);
/// assert!(parse::mass("2", None).is_err());
/// ```
///
/// # Errors
/// Not a number, an unknown unit, or beyond the limits.
pub fn mass(text: &str, field: Option<MassUnit>) -> Result<Mass, ParseError> {
    let (number, typed, plain) = number_and_unit(text)?;
    let unit = unit_from(MASSES, typed, &plain, field, MASS_UNITS)?;
    let number = decimal(number)?;
    within(
        "A mass",
        number * unit.row().factor,
        0.0,
        MOST_GRAMS,
        "\u{a0}g",
    )?;
    Ok(unit.of(number))
}

/// A temperature, -50 to 150 °C. A number alone takes the unit of the field.
///
/// # Errors
/// Not a number, an unknown unit, or beyond the limits.
///
/// ```
/// use slackwater::science::parse;
/// assert_eq!(parse::temperature("68 °F", None).unwrap().degrees(), 20.0);
/// ```
pub fn temperature(text: &str, field: Option<TemperatureUnit>) -> Result<Celsius, ParseError> {
    let (number, typed, plain) = number_and_unit(text)?;
    let unit = match plain.trim_start_matches(['°', 'º']) {
        "" if plain.is_empty() => field.ok_or(ParseError::UnitMissing {
            accepted: TEMPERATURE_UNITS,
        })?,
        "c" | "degc" | "celsius" | "degreescelsius" => TemperatureUnit::Celsius,
        "f" | "degf" | "fahrenheit" | "degreesfahrenheit" => TemperatureUnit::Fahrenheit,
        _ => {
            return Err(ParseError::UnknownUnit {
                unit: typed.to_owned(),
                accepted: TEMPERATURE_UNITS,
            });
        }
    };
    Ok(Celsius::new(unit.to_celsius(decimal(number)?))?)
}

/// A strength with its basis. A number alone takes the basis of the field, and so does a bare '%'
/// when the field counts in percent. 'ppm' is read as mg/L.
///
/// # Errors
/// Not a number, a percent whose basis is unknown, '% v/v', an unknown unit, or beyond the limits.
///
/// ```
/// use slackwater::science::parse;
/// use slackwater::science::strength::Basis;
/// let stock = parse::strength("35 % w/w", None).unwrap();
/// assert_eq!((stock.value(), stock.basis()), (35.0, Basis::PercentWw));
/// assert_eq!(parse::strength("5 ppm", None).unwrap().basis(), Basis::MilligramsPerLitre);
/// assert!(parse::strength("35 %", None).unwrap_err().to_string().starts_with("Write % w/w or % w/v"));
/// assert!(parse::strength("35 % v/v", None).is_err());
/// ```
pub fn strength(text: &str, field: Option<Basis>) -> Result<Strength, ParseError> {
    let (number, typed, plain) = number_and_unit(text)?;
    let plain = plain.replace("percent", "%");
    let basis = match plain.as_str() {
        "" => field.ok_or(ParseError::UnitMissing {
            accepted: STRENGTH_UNITS,
        })?,
        "%" => match field {
            Some(basis @ (Basis::PercentWw | Basis::PercentWv)) => basis,
            _ => {
                return Err(ParseError::BasisMissing {
                    number: number.to_owned(),
                });
            }
        },
        "%w/w" | "%ww" | "w/w%" | "%wt" | "wt%" | "%m/m" | "%byweight" | "%wt/wt" => {
            Basis::PercentWw
        }
        "%w/v" | "%wv" | "w/v%" | "%m/v" | "%wt/vol" => Basis::PercentWv,
        "%v/v" | "%vv" | "v/v%" | "%vol" | "vol%" | "%byvolume" | "v/v" => {
            return Err(ParseError::VolumeByVolume);
        }
        "vol" | "vols" | "volume" | "volumes" => Basis::VolumeStrength,
        "g/l" | "gramsperlitre" | "gramsperliter" => Basis::GramsPerLitre,
        "mg/l" | "ppm" | "milligramsperlitre" | "milligramsperliter" => Basis::MilligramsPerLitre,
        _ => {
            return Err(ParseError::UnknownUnit {
                unit: typed.to_owned(),
                accepted: STRENGTH_UNITS,
            });
        }
    };
    Ok(Strength::new(decimal(number)?, basis)?)
}

#[cfg(test)]
mod tests;
