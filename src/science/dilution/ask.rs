//! What a dose is asked with.

use super::{DoseTolerances, Jug};
use crate::science::peroxide::{self, PeroxideError, YearlyLoss};
use crate::science::quantity::{Area, Known, MassFraction, Volume, WaterTemperature, litres};
use crate::science::strength::Strength;

/// The age of a stock since its strength was last true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StockAge {
    /// Days since it was filled or assayed.
    pub days: f64,
    /// What it loses in a year.
    pub loss: YearlyLoss,
}

/// A stock: what its label says, and what is known better than the label.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    /// The strength printed on the label.
    pub label: Strength,
    /// The latest titration or retest, which always wins over the label.
    pub assay: Option<Strength>,
    /// The age to reckon a loss for, since the assay if there is one.
    pub age: Option<StockAge>,
}

impl Stock {
    /// A stock taken at its label.
    ///
    /// ```
    /// use slackwater::science::dilution::Stock;
    /// use slackwater::science::strength::{Basis, Strength};
    /// let stock = Stock::labelled(Strength::new(35.0, Basis::PercentWw).unwrap());
    /// assert!(stock.assay.is_none() && stock.age.is_none());
    /// ```
    pub fn labelled(label: Strength) -> Self {
        Self {
            label,
            assay: None,
            age: None,
        }
    }

    /// The strength that the dose is reckoned with, and how it is known.
    ///
    /// ```
    /// use slackwater::science::dilution::Stock;
    /// use slackwater::science::quantity::{Known, WaterTemperature};
    /// use slackwater::science::strength::{Basis, Strength};
    /// let percent = |p| Strength::new(p, Basis::PercentWw).unwrap();
    /// let stock = Stock { assay: Some(percent(33.1)), ..Stock::labelled(percent(35.0)) };
    /// // An assay wins over the label.
    /// assert_eq!(stock.reckoned(WaterTemperature::TWENTY).unwrap(), (percent(33.1), Known::Assay));
    /// ```
    ///
    /// # Errors
    /// A strength above 50 % w/w, or an age outside 0 to 10 years.
    pub fn reckoned(
        &self,
        temperature: WaterTemperature,
    ) -> Result<(Strength, Known), PeroxideError> {
        let (fresh, known) = match self.assay {
            Some(assay) => (assay, Known::Assay),
            None => (self.label, Known::Label),
        };
        match self.age {
            None => Ok((fresh, known)),
            Some(age) => {
                let left = peroxide::aged(fresh.mass_fraction(temperature)?, age.loss, age.days)?;
                Ok((
                    Strength::of_fraction(left, fresh.basis(), temperature)?,
                    Known::Estimated,
                ))
            }
        }
    }
}

/// The volume that the whole system holds when it is flooded for the clean-out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SystemVolume {
    /// The volume the dose is reckoned for.
    pub volume: Volume,
    /// How it is known.
    pub known: Known,
}

impl SystemVolume {
    /// A volume from a metered fill.
    ///
    /// ```
    /// use slackwater::science::dilution::SystemVolume;
    /// use slackwater::science::quantity::{Known, litres};
    /// assert_eq!(SystemVolume::measured(litres(186.0)).known, Known::Measured);
    /// ```
    pub fn measured(volume: Volume) -> Self {
        Self {
            volume,
            known: Known::Measured,
        }
    }

    /// A volume from dimensions and media fractions.
    ///
    /// ```
    /// use slackwater::science::dilution::SystemVolume;
    /// use slackwater::science::quantity::{Known, litres};
    /// assert_eq!(SystemVolume::computed(litres(186.0)).known, Known::Computed);
    /// ```
    pub fn computed(volume: Volume) -> Self {
        Self {
            volume,
            known: Known::Computed,
        }
    }

    /// A volume that the person asking gave.
    ///
    /// ```
    /// use slackwater::science::dilution::SystemVolume;
    /// use slackwater::science::quantity::{Known, litres};
    /// assert_eq!(SystemVolume::entered(litres(186.0)).known, Known::Entered);
    /// ```
    pub fn entered(volume: Volume) -> Self {
        Self {
            volume,
            known: Known::Entered,
        }
    }
}

/// Water that is in the system before anything is added, and counts within its volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AlreadyThere {
    /// What the pump leaves in the reservoir.
    pub heel: Volume,
    /// What the drained media hold back.
    pub retained: Volume,
    /// Its peroxide, usually none.
    pub residual: Strength,
}

impl AlreadyThere {
    /// A dry system.
    ///
    /// ```
    /// use slackwater::science::dilution::AlreadyThere;
    /// assert_eq!(AlreadyThere::nothing().volume().value, 0.0);
    /// ```
    pub fn nothing() -> Self {
        Self {
            heel: litres(0.0),
            retained: litres(0.0),
            residual: Strength::NONE,
        }
    }

    /// Heel and retained water together.
    pub fn volume(&self) -> Volume {
        self.heel + self.retained
    }
}

/// Strengths that the site does not go beyond.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoseLimits {
    /// The strongest stock that is handled, inclusive; never above 50 % w/w.
    pub stock: MassFraction,
    /// The strongest solution that method, label or site permit, inclusive.
    pub target: Option<Strength>,
}

impl Default for DoseLimits {
    /// The limit of the house: stock up to 50 % w/w.
    fn default() -> Self {
        Self {
            stock: peroxide::STRONGEST,
            target: None,
        }
    }
}

/// A question for a dose.
#[derive(Clone, Debug, PartialEq)]
pub struct DoseAsk {
    /// The concentrate.
    pub stock: Stock,
    /// The working strength.
    pub target: Strength,
    /// What the system holds.
    pub volume: SystemVolume,
    /// The water in it already.
    pub already: AlreadyThere,
    /// The temperature of the liquids; one for all of them.
    pub temperature: WaterTemperature,
    /// The jug that measures the concentrate.
    pub jug: Option<Jug>,
    /// Free room in the reservoir, over the heel, for one mix.
    pub batch_room: Option<Volume>,
    /// Plan area of a reservoir with straight walls: 1 m² is a litre for each millimetre.
    pub reservoir_plan: Option<Area>,
    /// Strengths not gone beyond.
    pub limits: DoseLimits,
    /// How far the figures may be off; without it the sheet has no range.
    pub tolerances: Option<DoseTolerances>,
}

impl DoseAsk {
    /// A dose into a dry system, without a jug, within the limits of the house.
    ///
    /// ```
    /// use slackwater::science::dilution::{DoseAsk, Stock, SystemVolume};
    /// use slackwater::science::quantity::{WaterTemperature, litres};
    /// use slackwater::science::strength::{Basis, Strength};
    /// let percent = |p| Strength::new(p, Basis::PercentWw).unwrap();
    /// let ask = DoseAsk::new(
    ///     Stock::labelled(percent(35.0)),
    ///     percent(3.0),
    ///     SystemVolume::entered(litres(180.0)),
    ///     WaterTemperature::TWENTY,
    /// );
    /// assert!(ask.jug.is_none() && ask.batch_room.is_none());
    /// ```
    pub fn new(
        stock: Stock,
        target: Strength,
        volume: SystemVolume,
        temperature: WaterTemperature,
    ) -> Self {
        Self {
            stock,
            target,
            volume,
            already: AlreadyThere::nothing(),
            temperature,
            jug: None,
            batch_room: None,
            reservoir_plan: None,
            limits: DoseLimits::default(),
            tolerances: None,
        }
    }
}
