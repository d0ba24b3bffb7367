//! Where water comes from: what a supply gives, what its tank holds, and how both are known.

use chrono::NaiveDate;

use super::facts::Facts;
use crate::clock::Moment;
use crate::ids::WaterSupplyId;
use crate::science::quantity::OutOfRange;
use crate::science::show;
use crate::science::stored::{Millilitres, MillilitresPerMinute, TenthsCelsius};
use crate::science::units::Units;
use crate::text::{Name, Note};

crate::words! {
    /// What water it is.
    pub enum WaterSource {
        Purified = "purified",
        Rainwater = "rainwater",
        Mains = "mains",
    }
}

impl WaterSource {
    pub fn words(self) -> &'static str {
        match self {
            Self::Purified => "purified, through a membrane",
            Self::Rainwater => "rainwater",
            Self::Mains => "mains water",
        }
    }
}

/// What stands in a tank at most, and what is never drawn from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterTank {
    pub holds: Millilitres,
    pub least: Millilitres,
}

impl WaterTank {
    /// What can be drawn from it when it is full.
    pub fn usable(self) -> Millilitres {
        Millilitres::new(self.holds.get() - self.least.get()).unwrap_or(self.holds)
    }
}

/// What is on record of a supply.
#[derive(Clone, Debug, PartialEq)]
pub struct WaterFigures {
    pub name: Name,
    pub source: WaterSource,
    /// Good enough for rinses, though not for the dose and the fresh fill.
    pub rinses_only: bool,
    /// Nothing where it comes straight from the line.
    pub tank: Option<WaterTank>,
}

/// A supply with the newest that was measured of it.
#[derive(Clone, Debug)]
pub struct WaterSupply {
    pub id: WaterSupplyId,
    pub figures: WaterFigures,
    /// The newest test. Without one nobody knows what it gives.
    pub test: Option<WaterTest>,
    /// The newest level that somebody saw.
    pub level: Option<TankLevel>,
    pub retired: bool,
    pub version: i64,
}

/// A test by bucket and clock.
#[derive(Clone, Debug, PartialEq)]
pub struct NewWaterTest {
    pub measured_on: NaiveDate,
    pub caught: Millilitres,
    pub seconds: i64,
    pub water: Option<TenthsCelsius>,
    pub note: Note,
}

#[derive(Clone, Debug)]
pub struct WaterTest {
    pub new: NewWaterTest,
    pub person: Name,
    pub at: Moment,
}

/// How much stood in a tank.
#[derive(Clone, Debug)]
pub struct TankLevel {
    pub level: Millilitres,
    pub person: Name,
    pub at: Moment,
}

impl NewWaterTest {
    pub const CAUGHT_ML: std::ops::RangeInclusive<i64> = 10..=100_000_000;
    pub const SECONDS: std::ops::RangeInclusive<i64> = 1..=86_400;

    /// What was caught over the time it took, rounded down: too little water stops a clean-out and too
    /// much does not.
    ///
    /// ```
    /// use slackwater::register::water::NewWaterTest;
    /// use slackwater::science::stored::Millilitres;
    /// let test = NewWaterTest {
    ///     measured_on: "2027-03-04".parse()?, caught: Millilitres::new(10_000)?, seconds: 1_800, water: None,
    ///     note: Default::default(),
    /// };
    /// assert_eq!(test.rate()?.get(), 333);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A flow beyond what can be stored.
    pub fn rate(&self) -> Result<MillilitresPerMinute, OutOfRange> {
        MillilitresPerMinute::new(self.caught.get() * 60 / self.seconds.max(1))
    }
}

impl WaterFigures {
    pub fn facts(&self, units: Units) -> Facts {
        let volume = |of: fn(WaterTank) -> Millilitres| {
            let tank = self.tank.map(|tank| show::volume(of(tank).volume(), units));
            tank.unwrap_or_default()
        };
        vec![
            ("name", self.name.to_string()),
            ("water", self.source.words().to_owned()),
            (
                "for rinses only",
                if self.rinses_only { "yes" } else { "no" }.to_owned(),
            ),
            ("tank", volume(|tank| tank.holds)),
            ("never drawn below", volume(|tank| tank.least)),
        ]
    }
}
