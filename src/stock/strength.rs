//! How strong a lot is on a day, and whether what is on hand is enough.

use chrono::NaiveDate;

use super::Lot;
use super::assay::Method;
use crate::science::agents::AgentKind;
use crate::science::dilution::{OwnTolerance, Stock, StockAge};
use crate::science::keeping::loss_at;
use crate::science::peroxide::{PeroxideError, YearlyLoss};
use crate::science::quantity::{Known, OutOfRange, WaterTemperature};
use crate::science::stored::Millilitres;
use crate::science::strength::Strength;
use crate::science::tolerances::{self, CERTIFICATE, OTHER_ASSAY, TITRATION};

/// A loss below this part of the strength is not reckoned: densities are not known better either.
const UNNOTICED: f64 = 0.002;

impl Lot {
    /// What a dose is reckoned from on a day: the label or the newest assay, and its age since. A lot
    /// that can have lost less than densities are known to counts as fresh.
    ///
    /// # Errors
    /// Of another agent than peroxide, or a strength that cannot be reckoned with.
    pub fn stock(&self, day: NaiveDate) -> Result<Stock, NoStock> {
        let label = self.label.strength.filter(|_| self.is_peroxide());
        let label = label.ok_or(NoStock::Other(self.agent))?;
        let assay = self.assay.as_ref();
        let days = (day - self.strong_since()).num_days().max(0) as f64;
        let loss = self.loss_in_store();
        let lost = 1.0 - (1.0 - loss.get()).powf(days / 365.25);
        let age = StockAge { days, loss };
        Ok(Stock {
            label,
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

    /// How far its strength may be off: an assay by its way, else what is entered for the lot, else for
    /// its product. None where the usual figure of a label stands in.
    pub fn tolerance(&self) -> Option<OwnTolerance> {
        let Some(assay) = &self.assay else {
            let lot = format!("lot {}", self.code);
            let own = self.strength_off.map(|off| (off, lot.as_str()));
            let of_product = self.product_off.map(|off| (off, self.product.as_str()));
            let (off, of) = own.or(of_product)?;
            return Some(OwnTolerance::entered(off, of));
        };
        let tolerance = match assay.how {
            Method::Permanganate | Method::Iodometric => TITRATION,
            Method::Certificate => CERTIFICATE,
            Method::Other => OTHER_ASSAY,
        };
        Some(OwnTolerance {
            half_width: tolerance.half_width,
            how: tolerance.source.to_owned(),
        })
    }

    /// The same in words, with the usual figure where nobody knows better.
    pub fn tolerance_words(&self) -> String {
        let usual = || {
            let label = self.label.strength.filter(|_| self.is_peroxide())?;
            let fraction = label.mass_fraction(WaterTemperature::TWENTY).ok()?;
            Some(tolerances::label(fraction.percent()).of_it())
        };
        match self.tolerance() {
            Some(own) => own.said(),
            None => usual().unwrap_or_default(),
        }
    }

    /// Its strength on a day, for stock at 20 °C, and how that is known.
    pub fn strength(&self, day: NaiveDate) -> Result<(Strength, Known), NoStock> {
        Ok(self.stock(day)?.reckoned(WaterTemperature::TWENTY)?)
    }

    /// The day its strength was found on, or, by its label, the day it came.
    pub fn strong_since(&self) -> NaiveDate {
        let assay = self.assay.as_ref();
        assay.map_or(self.received_on, |assay| assay.assayed_on)
    }
}

/// Why no dose of peroxide is worked from a lot.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoStock {
    #[error(
        "This is {0}: it is dosed as its label says, and no dose of peroxide is worked from it"
    )]
    Other(AgentKind),
    #[error(transparent)]
    Peroxide(#[from] PeroxideError),
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
    use crate::science::stored::Permille;

    #[test]
    fn an_assay_goes_before_the_lots_figure_and_that_before_the_products() {
        let mut lot = crate::stock::tests::lot(crate::stock::tests::by_weight(35.0));
        assert_eq!(lot.tolerance(), None);
        assert!(
            lot.tolerance_words()
                .starts_with("5\u{a0}% either way; window")
        );
        lot.product_off = Permille::new(30).ok();
        assert!(lot.tolerance_words().ends_with("entered for Peroxide 35"));
        lot.strength_off = Permille::new(12).ok();
        let own = lot.tolerance().unwrap();
        assert_eq!(
            (own.half_width, own.how.as_str()),
            (0.012, "entered for lot P-118")
        );
    }

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
