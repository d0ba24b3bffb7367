//! A strength is a number and the basis it is counted on. There is no strength without its basis.

use thiserror::Error;

/// What a strength is counted on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Basis {
    /// Grams of peroxide in 100 g of solution.
    PercentWw,
    /// Grams of peroxide in 100 mL of solution.
    PercentWv,
    /// Litres of oxygen, at 0 °C and 1 atm, that a litre of solution gives off.
    VolumeStrength,
    /// Grams of peroxide in a litre of solution.
    GramsPerLitre,
    /// Milligrams of peroxide in a litre of solution; 'ppm' is read as this.
    MilligramsPerLitre,
}

impl Basis {
    /// Every basis, in the order of a list to choose from.
    pub const ALL: [Self; 5] = [
        Self::PercentWw,
        Self::PercentWv,
        Self::VolumeStrength,
        Self::GramsPerLitre,
        Self::MilligramsPerLitre,
    ];

    /// The text that is stored, as the tables know it: plain spaces, unlike [`Basis::symbol`].
    pub fn code(self) -> &'static str {
        match self {
            Self::PercentWw => "% w/w",
            Self::PercentWv => "% w/v",
            Self::VolumeStrength => "vol",
            Self::GramsPerLitre => "g/L",
            Self::MilligramsPerLitre => "mg/L",
        }
    }

    /// The basis with this stored text.
    ///
    /// ```
    /// use slackwater::science::strength::Basis;
    /// assert_eq!(Basis::from_code("% w/w"), Some(Basis::PercentWw));
    /// assert_eq!(Basis::from_code("percent"), None);
    /// ```
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|basis| basis.code() == code)
    }

    /// The unit on screens, with no-break spaces inside.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::PercentWw => "%\u{a0}w/w",
            Self::PercentWv => "%\u{a0}w/v",
            Self::VolumeStrength => "vol",
            Self::GramsPerLitre => "g/L",
            Self::MilligramsPerLitre => "mg/L",
        }
    }

    /// What the basis means, for a list to choose from.
    pub fn words(self) -> &'static str {
        match self {
            Self::PercentWw => "% w/w: grams in 100 g of solution (by weight)",
            Self::PercentWv => "% w/v: grams in 100 mL of solution",
            Self::VolumeStrength => "vol: litres of oxygen from a litre, at 0 °C and 1 atm",
            Self::GramsPerLitre => "g/L: grams in a litre of solution",
            Self::MilligramsPerLitre => "mg/L: milligrams in a litre of solution; ppm means this",
        }
    }

    /// The greatest number that can mean anything: pure peroxide, which weighs 1.44 kg a litre.
    ///
    /// ```
    /// use slackwater::science::strength::Basis;
    /// assert_eq!(Basis::PercentWw.most(), 100.0);
    /// ```
    pub fn most(self) -> f64 {
        match self {
            Self::PercentWw => 100.0,
            Self::PercentWv => 145.0,
            Self::VolumeStrength => 480.0,
            Self::GramsPerLitre => 1_450.0,
            Self::MilligramsPerLitre => 1_450_000.0,
        }
    }

    /// Grams in a litre for each unit, on the bases that count by volume of solution.
    pub(crate) fn grams_per_litre_each(self) -> Option<f64> {
        match self {
            Self::PercentWw => None,
            Self::PercentWv => Some(10.0),
            Self::VolumeStrength => Some(1.0 / super::peroxide::VOLUMES_PER_GRAM_PER_LITRE),
            Self::GramsPerLitre => Some(1.0),
            Self::MilligramsPerLitre => Some(0.001),
        }
    }
}

/// A strength that cannot be.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum StrengthError {
    /// Below nothing, not finite, or above pure peroxide.
    #[error("A strength in {} must lie from 0 to {}, and {given} does not", .basis.symbol(), .basis.most())]
    OutOfRange {
        /// The basis asked for.
        basis: Basis,
        /// The number given.
        given: f64,
    },
}

/// A number on a basis: 35 % w/w, 30 g/L, 130 vol.
///
/// ```
/// use slackwater::science::strength::{Basis, Strength};
/// let stock = Strength::new(35.0, Basis::PercentWw).unwrap();
/// assert_eq!(stock.to_string(), "35\u{a0}%\u{a0}w/w");
/// assert!(Strength::new(101.0, Basis::PercentWw).is_err());
/// assert!(Strength::new(f64::NAN, Basis::GramsPerLitre).is_err());
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strength {
    value: f64,
    basis: Basis,
}

impl Strength {
    /// No peroxide at all, as in fresh water.
    pub const NONE: Self = Self {
        value: 0.0,
        basis: Basis::MilligramsPerLitre,
    };

    /// A strength of `value` on `basis`.
    ///
    /// ```
    /// use slackwater::science::strength::{Basis, Strength};
    /// assert!(Strength::new(35.0, Basis::PercentWw).is_ok());
    /// assert!(Strength::new(-1.0, Basis::PercentWw).is_err());
    /// ```
    ///
    /// # Errors
    /// Below nothing, not finite, or above what pure peroxide would read.
    pub fn new(value: f64, basis: Basis) -> Result<Self, StrengthError> {
        if value.is_finite() && value >= 0.0 && value <= basis.most() {
            Ok(Self { value, basis })
        } else {
            Err(StrengthError::OutOfRange {
                basis,
                given: value,
            })
        }
    }

    /// The number.
    pub fn value(self) -> f64 {
        self.value
    }

    /// The basis it is counted on.
    pub fn basis(self) -> Basis {
        self.basis
    }

    /// The number a label would print as percent: the first figure of '35 % w/w' or '3 % w/v',
    /// and of g/L and mg/L the same amount in g per 100 mL. Volume strength has none.
    ///
    /// ```
    /// use slackwater::science::strength::{Basis, Strength};
    /// let percent = |value, basis| Strength::new(value, basis).unwrap().label_percent();
    /// assert_eq!(percent(30.0, Basis::GramsPerLitre), Some(3.0));
    /// assert_eq!(percent(10.0, Basis::VolumeStrength), None);
    /// ```
    pub fn label_percent(self) -> Option<f64> {
        match self.basis {
            Basis::PercentWw | Basis::PercentWv => Some(self.value),
            Basis::GramsPerLitre => Some(self.value / 10.0),
            Basis::MilligramsPerLitre => Some(self.value / 10_000.0),
            Basis::VolumeStrength => None,
        }
    }
}

impl std::fmt::Display for Strength {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&super::show::strength(*self))
    }
}
