//! Units people measure in: one table a dimension, from which both reading and showing work.
//!
//! Factors are exact by definition (NIST Handbook 44, appendix C), where a general unit library
//! rounds the gallon to seven figures.

use super::quantity::{Length, Mass, Volume, grams, in_grams, in_litres, litres, metres};

/// The units a reader chose for pages and sheets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Units {
    /// Litres, millimetres, kilograms, °C.
    #[default]
    Metric,
    /// US gallons and fluid ounces, inches, pounds, °F.
    Us,
    /// Imperial gallons and fluid ounces, inches, pounds, °C.
    Imperial,
}

impl Units {
    /// Every choice.
    pub const ALL: [Self; 3] = [Self::Metric, Self::Us, Self::Imperial];

    /// The text that is stored.
    pub fn code(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Us => "us",
            Self::Imperial => "imperial",
        }
    }

    /// The choice with this stored text.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|units| units.code() == code)
    }

    /// The words on the page of settings.
    pub fn words(self) -> &'static str {
        match self {
            Self::Metric => "litres, millimetres, kilograms, °C",
            Self::Us => "US gallons, inches, pounds, °F",
            Self::Imperial => "imperial gallons, inches, pounds, °C",
        }
    }
}

/// One unit of a dimension: how it is printed, how people type it, how much it is.
#[derive(Debug)]
pub(crate) struct Row<U: 'static> {
    pub unit: U,
    pub symbol: &'static str,
    /// Spellings in lower case without spaces and full stops.
    pub spellings: &'static [&'static str],
    /// How many of the base unit make one.
    pub factor: f64,
}

/// Gives a unit enum its look-ups in its table.
macro_rules! unit_lookups {
    ($unit:ident, $table:ident) => {
        impl $unit {
            pub(crate) fn row(self) -> &'static Row<$unit> {
                // The tables list their units in the order of declaration; a test holds that.
                &$table[self as usize]
            }

            /// Every unit, in the order of the table.
            pub fn all() -> impl Iterator<Item = Self> {
                $table.iter().map(|row| row.unit)
            }

            /// The unit as printed, with no-break spaces inside.
            pub fn symbol(self) -> &'static str {
                self.row().symbol
            }
        }
    };
}

/// Litres in a US gallon: 231 cubic inches, exact.
pub const US_GALLON_LITRES: f64 = 3.785_411_784;
/// Litres in an imperial gallon, exact.
pub const IMPERIAL_GALLON_LITRES: f64 = 4.546_09;
/// Litres in a US fluid ounce: 1/128 US gallon.
pub const US_FLUID_OUNCE_LITRES: f64 = US_GALLON_LITRES / 128.0;
/// Litres in an imperial fluid ounce: 1/160 imperial gallon.
pub const IMPERIAL_FLUID_OUNCE_LITRES: f64 = IMPERIAL_GALLON_LITRES / 160.0;
/// Litres in a cubic foot, exact; flows of air are sold in cubic feet a minute.
pub const CUBIC_FOOT_LITRES: f64 = 28.316_846_592;
/// Grams in a pound avoirdupois, exact.
pub const POUND_GRAMS: f64 = 453.592_37;

/// Units of volume.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum VolumeUnit {
    /// mL, also cm³.
    Millilitre,
    /// L.
    Litre,
    /// m³.
    CubicMetre,
    /// US gallon, 3.785411784 L.
    UsGallon,
    /// Imperial gallon, 4.54609 L.
    ImperialGallon,
    /// US fluid ounce, 29.57 mL.
    UsFluidOunce,
    /// Imperial fluid ounce, 28.41 mL.
    ImperialFluidOunce,
    /// US quart, a quarter of a US gallon, 946 mL.
    UsQuart,
    /// US pint, an eighth of a US gallon, 473 mL.
    UsPint,
    /// Imperial pint, an eighth of an imperial gallon, 568 mL.
    ImperialPint,
    /// US tablespoon, half a US fluid ounce, 14.79 mL; not the spoon of 15 mL of food labels.
    UsTablespoon,
}

pub(crate) const VOLUMES: &[Row<VolumeUnit>] = &[
    Row {
        unit: VolumeUnit::Millilitre,
        symbol: "mL",
        spellings: &[
            "ml",
            "millilitre",
            "millilitres",
            "milliliter",
            "milliliters",
            "cm3",
            "cm³",
            "cc",
        ],
        factor: 0.001,
    },
    Row {
        unit: VolumeUnit::Litre,
        symbol: "L",
        spellings: &["l", "litre", "litres", "liter", "liters", "dm3", "dm³"],
        factor: 1.0,
    },
    Row {
        unit: VolumeUnit::CubicMetre,
        symbol: "m³",
        spellings: &[
            "m3",
            "m³",
            "cubicmetre",
            "cubicmetres",
            "cubicmeter",
            "cubicmeters",
        ],
        factor: 1_000.0,
    },
    Row {
        unit: VolumeUnit::UsGallon,
        symbol: "US\u{a0}gal",
        spellings: &["usgal", "usgals", "usgallon", "usgallons"],
        factor: US_GALLON_LITRES,
    },
    Row {
        unit: VolumeUnit::ImperialGallon,
        symbol: "imp\u{a0}gal",
        spellings: &[
            "impgal",
            "impgals",
            "impgallon",
            "impgallons",
            "imperialgal",
            "imperialgallon",
            "imperialgallons",
            "ukgal",
            "ukgallon",
            "ukgallons",
        ],
        factor: IMPERIAL_GALLON_LITRES,
    },
    Row {
        unit: VolumeUnit::UsFluidOunce,
        symbol: "US\u{a0}fl\u{a0}oz",
        spellings: &["usfloz", "usfluidounce", "usfluidounces"],
        factor: US_FLUID_OUNCE_LITRES,
    },
    Row {
        unit: VolumeUnit::ImperialFluidOunce,
        symbol: "imp\u{a0}fl\u{a0}oz",
        spellings: &[
            "impfloz",
            "imperialfloz",
            "imperialfluidounce",
            "imperialfluidounces",
            "ukfloz",
            "impfluidounce",
            "impfluidounces",
        ],
        factor: IMPERIAL_FLUID_OUNCE_LITRES,
    },
    Row {
        unit: VolumeUnit::UsQuart,
        symbol: "US\u{a0}qt",
        spellings: &["usqt", "usquart", "usquarts"],
        factor: US_GALLON_LITRES / 4.0,
    },
    Row {
        unit: VolumeUnit::UsPint,
        symbol: "US\u{a0}pt",
        spellings: &["uspt", "uspint", "uspints"],
        factor: US_GALLON_LITRES / 8.0,
    },
    Row {
        unit: VolumeUnit::ImperialPint,
        symbol: "imp\u{a0}pt",
        spellings: &[
            "imppt",
            "imppint",
            "imppints",
            "imperialpint",
            "imperialpints",
            "ukpint",
        ],
        factor: IMPERIAL_GALLON_LITRES / 8.0,
    },
    Row {
        unit: VolumeUnit::UsTablespoon,
        symbol: "US\u{a0}tbsp",
        spellings: &["ustbsp", "ustablespoon", "ustablespoons"],
        factor: US_FLUID_OUNCE_LITRES / 2.0,
    },
];
unit_lookups!(VolumeUnit, VOLUMES);

impl VolumeUnit {
    /// The volume of so many of this unit.
    ///
    /// ```
    /// use slackwater::science::quantity::in_litres;
    /// use slackwater::science::units::VolumeUnit;
    /// assert!((in_litres(VolumeUnit::UsGallon.of(1.0)) - 3.785411784).abs() < 1e-12);
    /// assert!((in_litres(VolumeUnit::ImperialGallon.of(1.0)) - 4.54609).abs() < 1e-12);
    /// ```
    pub fn of(self, number: f64) -> Volume {
        litres(number * self.row().factor)
    }

    /// How many of this unit a volume is.
    pub fn count(self, volume: Volume) -> f64 {
        in_litres(volume) / self.row().factor
    }
}

/// Units of length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LengthUnit {
    /// mm.
    Millimetre,
    /// cm.
    Centimetre,
    /// m.
    Metre,
    /// in, 25.4 mm.
    Inch,
    /// ft, 304.8 mm.
    Foot,
}

pub(crate) const LENGTHS: &[Row<LengthUnit>] = &[
    Row {
        unit: LengthUnit::Millimetre,
        symbol: "mm",
        spellings: &[
            "mm",
            "millimetre",
            "millimetres",
            "millimeter",
            "millimeters",
        ],
        factor: 0.001,
    },
    Row {
        unit: LengthUnit::Centimetre,
        symbol: "cm",
        spellings: &[
            "cm",
            "centimetre",
            "centimetres",
            "centimeter",
            "centimeters",
        ],
        factor: 0.01,
    },
    Row {
        unit: LengthUnit::Metre,
        symbol: "m",
        spellings: &["m", "metre", "metres", "meter", "meters"],
        factor: 1.0,
    },
    Row {
        unit: LengthUnit::Inch,
        symbol: "in",
        spellings: &["in", "inch", "inches", "\"", "″"],
        factor: 0.025_4,
    },
    Row {
        unit: LengthUnit::Foot,
        symbol: "ft",
        spellings: &["ft", "foot", "feet", "'", "′"],
        factor: 0.304_8,
    },
];
unit_lookups!(LengthUnit, LENGTHS);

impl LengthUnit {
    /// The length of so many of this unit.
    pub fn of(self, number: f64) -> Length {
        metres(number * self.row().factor)
    }

    /// How many of this unit a length is.
    pub fn count(self, length: Length) -> f64 {
        length.value / self.row().factor
    }
}

/// Units of mass.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MassUnit {
    /// mg.
    Milligram,
    /// g.
    Gram,
    /// kg.
    Kilogram,
    /// lb, 453.59237 g.
    Pound,
    /// oz by weight, 1/16 lb.
    Ounce,
}

pub(crate) const MASSES: &[Row<MassUnit>] = &[
    Row {
        unit: MassUnit::Milligram,
        symbol: "mg",
        spellings: &["mg", "milligram", "milligrams"],
        factor: 0.001,
    },
    Row {
        unit: MassUnit::Gram,
        symbol: "g",
        spellings: &["g", "gram", "grams"],
        factor: 1.0,
    },
    Row {
        unit: MassUnit::Kilogram,
        symbol: "kg",
        spellings: &["kg", "kilogram", "kilograms", "kilo", "kilos"],
        factor: 1_000.0,
    },
    Row {
        unit: MassUnit::Pound,
        symbol: "lb",
        spellings: &["lb", "lbs", "pound", "pounds"],
        factor: POUND_GRAMS,
    },
    Row {
        unit: MassUnit::Ounce,
        symbol: "oz",
        spellings: &["oz", "ounce", "ounces"],
        factor: POUND_GRAMS / 16.0,
    },
];
unit_lookups!(MassUnit, MASSES);

impl MassUnit {
    /// The mass of so many of this unit.
    pub fn of(self, number: f64) -> Mass {
        grams(number * self.row().factor)
    }

    /// How many of this unit a mass is.
    pub fn count(self, mass: Mass) -> f64 {
        in_grams(mass) / self.row().factor
    }
}

/// Units of temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TemperatureUnit {
    /// °C.
    Celsius,
    /// °F: t = (f − 32) / 1.8.
    Fahrenheit,
}

impl TemperatureUnit {
    /// The unit as printed.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        }
    }

    /// Degrees Celsius of a reading in this unit.
    ///
    /// ```
    /// use slackwater::science::units::TemperatureUnit;
    /// assert_eq!(TemperatureUnit::Fahrenheit.to_celsius(68.0), 20.0);
    /// ```
    pub fn to_celsius(self, reading: f64) -> f64 {
        match self {
            Self::Celsius => reading,
            Self::Fahrenheit => (reading - 32.0) / 1.8,
        }
    }

    /// The reading in this unit of so many degrees Celsius.
    ///
    /// ```
    /// use slackwater::science::units::TemperatureUnit;
    /// assert_eq!(TemperatureUnit::Fahrenheit.from_celsius(20.0), 68.0);
    /// ```
    pub fn from_celsius(self, degrees: f64) -> f64 {
        match self {
            Self::Celsius => degrees,
            Self::Fahrenheit => degrees * 1.8 + 32.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_stand_in_the_order_of_their_units() {
        assert!(VOLUMES.iter().all(|row| row.unit.row().unit == row.unit));
        assert!(LENGTHS.iter().all(|row| row.unit.row().unit == row.unit));
        assert!(MASSES.iter().all(|row| row.unit.row().unit == row.unit));
    }

    #[test]
    fn no_spelling_means_two_units() {
        let mut all: Vec<&str> = VOLUMES
            .iter()
            .flat_map(|row| row.spellings)
            .copied()
            .collect();
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count);
    }
}
