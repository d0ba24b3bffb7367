//! Under which question of a grower a calculator stands.

use super::calculator::Calculator;
use super::registry;

/// What a grower asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    Dose,
    Holds,
    Pump,
    Drain,
    Soak,
    Air,
    Water,
    Readings,
    Conversions,
}

impl Question {
    /// In the order of the list.
    pub const ALL: [Self; 9] = [
        Self::Dose,
        Self::Holds,
        Self::Pump,
        Self::Drain,
        Self::Soak,
        Self::Air,
        Self::Water,
        Self::Readings,
        Self::Conversions,
    ];

    /// The heading in the list.
    pub fn words(self) -> &'static str {
        match self {
            Self::Dose => "Dose",
            Self::Holds => "What it holds",
            Self::Pump => "Pump and tubing",
            Self::Drain => "Drain and overflow",
            Self::Soak => "Soak and rinse",
            Self::Air => "Air",
            Self::Water => "Water supply",
            Self::Readings => "Readings and statistics",
            Self::Conversions => "Conversions",
        }
    }

    /// The calculators that answer it.
    pub fn calculators(self) -> impl Iterator<Item = &'static Calculator> {
        registry::all().filter(move |calculator| calculator.asks == self)
    }
}
