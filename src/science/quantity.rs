//! Quantities the house reckons in: dimension algebra from `uom`, temperatures with bounds, mass
//! fractions, and the word for how a figure is known.
//!
//! Litres, millimetres and the like are only names at the door; inside everything is SI.

use thiserror::Error;
use uom::si::length::{meter, millimeter};
use uom::si::mass::{gram, kilogram};
use uom::si::mass_concentration::gram_per_liter;
use uom::si::volume::liter;

pub use uom::si::f64::{
    Area, Energy, Length, Mass, MassConcentration, MassDensity, MolarConcentration, Ratio, Time,
    Volume,
};

/// A volume from litres.
///
/// ```
/// use slackwater::science::quantity::{in_litres, litres};
/// assert!((in_litres(litres(180.0) + litres(6.0)) - 186.0).abs() < 1e-9);
/// ```
pub fn litres(value: f64) -> Volume {
    Volume::new::<liter>(value)
}

/// The litres of a volume.
pub fn in_litres(volume: Volume) -> f64 {
    volume.get::<liter>()
}

/// A length from millimetres.
///
/// ```
/// use slackwater::science::quantity::{in_millimetres, metres, millimetres};
/// assert!((in_millimetres(metres(1.2) + millimetres(30.0)) - 1230.0).abs() < 1e-9);
/// ```
pub fn millimetres(value: f64) -> Length {
    Length::new::<millimeter>(value)
}

/// The millimetres of a length.
pub fn in_millimetres(length: Length) -> f64 {
    length.get::<millimeter>()
}

/// A length from metres.
pub fn metres(value: f64) -> Length {
    Length::new::<meter>(value)
}

/// A mass from grams.
pub fn grams(value: f64) -> Mass {
    Mass::new::<gram>(value)
}

/// The grams of a mass.
pub fn in_grams(mass: Mass) -> f64 {
    mass.get::<gram>()
}

/// The kilograms of a mass.
pub fn in_kilograms(mass: Mass) -> f64 {
    mass.get::<kilogram>()
}

/// A mass concentration from grams of solute in a litre of solution.
pub fn grams_per_litre(value: f64) -> MassConcentration {
    MassConcentration::new::<gram_per_liter>(value)
}

/// The grams of solute in a litre of solution.
pub fn in_grams_per_litre(concentration: MassConcentration) -> f64 {
    concentration.get::<gram_per_liter>()
}

/// The kilograms that a litre weighs.
pub fn in_kilograms_per_litre(density: MassDensity) -> f64 {
    density.value / 1000.0
}

/// The solute in a volume of solution: mass = volume × concentration.
///
/// ```
/// use slackwater::science::quantity::{grams_per_litre, in_grams, litres, solute_in};
/// // 186 L at 30 g/L hold 5 580 g.
/// assert!((in_grams(solute_in(litres(186.0), grams_per_litre(30.0))) - 5580.0).abs() < 1e-9);
/// ```
pub fn solute_in(volume: Volume, concentration: MassConcentration) -> Mass {
    Mass::new::<kilogram>(volume.value * concentration.value)
}

/// A value that does not lie within the limits of its quantity.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("{what} must lie from {least} to {most}{unit}, and {given}{unit} does not")]
pub struct OutOfRange {
    /// The quantity, as a sentence begins with it: "The temperature of the liquid".
    pub what: &'static str,
    /// The least value allowed, inclusive.
    pub least: f64,
    /// The greatest value allowed, inclusive.
    pub most: f64,
    /// The value that was given.
    pub given: f64,
    /// The unit with the no-break space before it, or nothing.
    pub unit: &'static str,
}

/// Gives `value` back if it is finite and within the limits, both inclusive.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    least: f64,
    most: f64,
    unit: &'static str,
) -> Result<f64, OutOfRange> {
    if value.is_finite() && value >= least && value <= most {
        Ok(value)
    } else {
        Err(OutOfRange {
            what,
            least,
            most,
            given: value,
            unit,
        })
    }
}

/// A temperature in degrees Celsius, of air or of water, from -50 to 150 °C.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Celsius(f64);

impl Celsius {
    /// The coldest temperature that is taken for one, in °C.
    pub const LEAST: f64 = -50.0;
    /// The hottest temperature that is taken for one, in °C.
    pub const MOST: f64 = 150.0;

    /// A temperature of `degrees` °C.
    ///
    /// ```
    /// use slackwater::science::quantity::Celsius;
    /// assert!(Celsius::new(-50.0).is_ok() && Celsius::new(150.1).is_err());
    /// ```
    ///
    /// # Errors
    /// Outside -50 to 150 °C, or not a number.
    pub fn new(degrees: f64) -> Result<Self, OutOfRange> {
        within(
            "A temperature",
            degrees,
            Self::LEAST,
            Self::MOST,
            "\u{a0}°C",
        )
        .map(Self)
    }

    /// Degrees Celsius.
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// Kelvin: T = t + 273.15.
    pub fn kelvin(self) -> f64 {
        self.0 + 273.15
    }
}

/// A temperature of the liquid at which the density models here hold: 0 to 40 °C.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// assert_eq!(WaterTemperature::new(20.0).unwrap().degrees(), 20.0);
/// let refused = WaterTemperature::new(41.0).unwrap_err();
/// assert_eq!(
///     refused.to_string(),
///     "The temperature of the liquid must lie from 0 to 40\u{a0}°C, and 41\u{a0}°C does not"
/// );
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct WaterTemperature(f64);

impl WaterTemperature {
    /// The coldest liquid that the models cover, in °C.
    pub const LEAST: f64 = 0.0;
    /// The warmest liquid that the models cover, in °C.
    pub const MOST: f64 = 40.0;
    /// 20 °C, at which strengths are usually printed.
    pub const TWENTY: Self = Self(20.0);

    /// A liquid at `degrees` °C.
    ///
    /// ```
    /// use slackwater::science::quantity::WaterTemperature;
    /// assert!(WaterTemperature::new(40.0).is_ok() && WaterTemperature::new(40.1).is_err());
    /// ```
    ///
    /// # Errors
    /// Outside 0 to 40 °C, or not a number.
    pub fn new(degrees: f64) -> Result<Self, OutOfRange> {
        within(
            "The temperature of the liquid",
            degrees,
            Self::LEAST,
            Self::MOST,
            "\u{a0}°C",
        )
        .map(Self)
    }

    /// Degrees Celsius.
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// Kelvin: T = t + 273.15.
    pub fn kelvin(self) -> f64 {
        self.0 + 273.15
    }
}

impl TryFrom<Celsius> for WaterTemperature {
    type Error = OutOfRange;
    fn try_from(temperature: Celsius) -> Result<Self, OutOfRange> {
        Self::new(temperature.degrees())
    }
}

impl From<WaterTemperature> for Celsius {
    fn from(temperature: WaterTemperature) -> Self {
        Self(temperature.0)
    }
}

/// Mass of solute over mass of solution, 0 to 1.
///
/// ```
/// use slackwater::science::quantity::MassFraction;
/// assert_eq!(MassFraction::from_percent(35.0).unwrap().get(), 0.35);
/// assert!(MassFraction::new(1.01).is_err());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct MassFraction(f64);

impl MassFraction {
    /// No solute at all.
    pub const ZERO: Self = Self(0.0);
    /// Half solute, half water by weight.
    pub const HALF: Self = Self(0.5);

    /// A fraction of 0 to 1.
    ///
    /// # Errors
    /// Outside 0 to 1, or not a number.
    pub fn new(fraction: f64) -> Result<Self, OutOfRange> {
        within("A mass fraction", fraction, 0.0, 1.0, "").map(Self)
    }

    /// From percent by weight.
    ///
    /// ```
    /// use slackwater::science::quantity::MassFraction;
    /// assert_eq!(MassFraction::from_percent(35.0)?.get(), 0.35);
    /// assert!(MassFraction::from_percent(100.1).is_err());
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Outside 0 to 100 %, or not a number.
    pub fn from_percent(percent: f64) -> Result<Self, OutOfRange> {
        within(
            "A strength by weight",
            percent,
            0.0,
            100.0,
            "\u{a0}%\u{a0}w/w",
        )
        .map(|percent| Self(percent / 100.0))
    }

    /// The fraction.
    pub fn get(self) -> f64 {
        self.0
    }

    /// Percent by weight.
    pub fn percent(self) -> f64 {
        self.0 * 100.0
    }
}

/// How a figure is known. Pages draw each with a mark of its own and always print the word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Known {
    /// Somebody measured it.
    Measured,
    /// Reckoned from other figures on the same sheet.
    Computed,
    /// Printed on a label or asked for by the method.
    Label,
    /// Titrated.
    Assay,
    /// From a published formula.
    Formula,
    /// A usual figure that nobody measured here.
    Usual,
    /// Reckoned from age; nobody measured it.
    Estimated,
    /// Typed in by the person who asked.
    Entered,
}

impl Known {
    /// Every way, in the order of a key.
    pub const ALL: [Self; 8] = [
        Self::Measured,
        Self::Computed,
        Self::Label,
        Self::Assay,
        Self::Formula,
        Self::Usual,
        Self::Estimated,
        Self::Entered,
    ];

    /// The text that is stored.
    pub fn code(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Computed => "computed",
            Self::Label => "label",
            Self::Assay => "assay",
            Self::Formula => "formula",
            Self::Usual => "usual",
            Self::Estimated => "estimated",
            Self::Entered => "entered",
        }
    }

    /// The way with this stored text.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|known| known.code() == code)
    }

    /// The word on screens.
    pub fn words(self) -> &'static str {
        match self {
            Self::Assay => "titrated",
            Self::Usual => "usual figure, not measured",
            Self::Estimated => "estimated, not measured",
            Self::Entered => "as entered",
            other => other.code(),
        }
    }
}
