//! How strong a lot is on a day, and whether what is on hand is enough.

use chrono::NaiveDate;

use super::Lot;
use super::assay::Method;
use crate::science::dilution::{OwnTolerance, Stock, StockAge};
use crate::science::keeping::loss_at;
use crate::science::peroxide::{PeroxideError, YearlyLoss};
use crate::science::quantity::{Known, OutOfRange, WaterTemperature};
use crate::science::stored::Millilitres;
use crate::science::strength::Strength;
use crate::science::tolerances::{CERTIFICATE, OTHER_ASSAY, TITRATION};

/// A loss below this part of the strength is not reckoned: densities are not known better either.
const UNNOTICED: f64 = 0.002;

impl Lot {
    /// What a dose is reckoned from on a day: the label or the newest assay, and its age since. A lot
    /// that can have lost less than densities are known to counts as fresh.
    pub fn stock(&self, day: NaiveDate) -> Result<Stock, PeroxideError> {
        let assay = self.assay.as_ref();
        let days = (day - self.strong_since()).num_days().max(0) as f64;
        let loss = self.loss_in_store();
        let lost = 1.0 - (1.0 - loss.get()).powf(days / 365.25);
        let age = StockAge { days, loss };
        Ok(Stock {
            label: self.label,
            assay: assay.map(|assay| assay.found),
            age: (lost > UNNOTICED).then_some(age),
        })
    }

    /// What it loses in a year where it stands, as if it had stood in its warmest store all the time: a
    /// lot that came out of a hot shed is not stronger for the cool cabinet it stands in now.
    pub fn loss_in_store(&self) -> YearlyLoss {
        let warmest = self.store.as_ref().and_then(|store| store.warmest);
        let there = warmest.and_then(|tenths| tenths.celsius().ok());
        there
            .and_then(|there| loss_at(self.loss, there).ok())
            .unwrap_or(self.loss)
    }

    /// How far an assay may be off, by its way; none of a label, which has a usual figure.
    pub fn tolerance(&self) -> Option<OwnTolerance> {
        let tolerance = match self.assay.as_ref()?.how {
            Method::Permanganate | Method::Iodometric => TITRATION,
            Method::Certificate => CERTIFICATE,
            Method::Other => OTHER_ASSAY,
        };
        Some(OwnTolerance {
            half_width: tolerance.half_width,
            how: tolerance.source.to_owned(),
        })
    }

    /// Its strength on a day, for stock at 20 °C, and how that is known.
    pub fn strength(&self, day: NaiveDate) -> Result<(Strength, Known), PeroxideError> {
        self.stock(day)?.reckoned(WaterTemperature::TWENTY)
    }

    /// The day its strength was found on, or, by its label, the day it came.
    pub fn strong_since(&self) -> NaiveDate {
        let assay = self.assay.as_ref();
        assay.map_or(self.received_on, |assay| assay.assayed_on)
    }
}

/// So much is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Short {
    pub by: Millilitres,
}

/// Whether a lot suffices: what is on hand, less what other clean-outs are booked to draw from it,
/// against what this one needs. What would be left, or by how much it is short.
pub fn enough(
    on_hand: Millilitres,
    booked: Millilitres,
    needed: Millilitres,
) -> Result<Result<Millilitres, Short>, OutOfRange> {
    let wanted = booked.plus(needed)?;
    if wanted <= on_hand {
        Millilitres::new(on_hand.get() - wanted.get()).map(Ok)
    } else {
        let by = Millilitres::new(wanted.get() - on_hand.get())?;
        Ok(Err(Short { by }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_others_are_booked_to_draw_is_not_there_for_this_one() {
        let ml = |amount| Millilitres::new(amount).unwrap();
        assert_eq!(enough(ml(20_000), ml(5_000), ml(15_000)), Ok(Ok(ml(0))));
        assert_eq!(
            enough(ml(20_000), ml(5_001), ml(15_000)),
            Ok(Err(Short { by: ml(1) }))
        );
        assert_eq!(enough(ml(0), ml(0), ml(0)), Ok(Ok(ml(0))));
    }
}
