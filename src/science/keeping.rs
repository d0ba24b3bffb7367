//! How fast concentrate ages in a store that is warmer or cooler than the room its figure is for.

use super::peroxide::YearlyLoss;
use super::quantity::{Celsius, OutOfRange, within};

/// What falling apart asks for, in kJ/mol: 57.6 was found by calorimetry of 35 % peroxide, the figure
/// that the calculator of decay goes by. Impurities lower it, so it is no promise.
pub const ACTIVATION_KJ_PER_MOL: f64 = 57.6;

/// The temperature that a yearly loss is written for: an ordinary room, 20 °C (common practice, no source).
pub const WRITTEN_FOR_C: f64 = 20.0;

/// The loss in a year at another temperature, by Arrhenius: with k = -ln(1 - loss),
/// k₂ = k exp(Eₐ/R (1/293.15 K - 1/T)) and loss₂ = 1 - exp(-k₂).
///
/// An estimate for closed, clean, stabilised concentrate until somebody assays it. A loss that would
/// pass half in a year is given as half: stock so warm is not reckoned with but tested.
/// Range: -20 to 50 °C.
///
/// ```
/// use slackwater::science::keeping::loss_at;
/// use slackwater::science::peroxide::YearlyLoss;
/// use slackwater::science::quantity::Celsius;
/// let at = |t| loss_at(YearlyLoss::USUAL, Celsius::new(t).unwrap()).unwrap().get();
/// assert!((at(20.0) - 0.02).abs() < 1e-12);
/// // Ten degrees more: 2.18 times as fast, by 57 600 / 8.314 × (1/293.15 - 1/303.15) = 0.7796.
/// assert!((at(30.0) - 0.04310).abs() < 1e-4);
/// assert!(at(5.0) < 0.006);
/// assert!(loss_at(YearlyLoss::USUAL, Celsius::new(60.0).unwrap()).is_err());
/// ```
///
/// # Errors
/// Outside the range.
pub fn loss_at(loss: YearlyLoss, store: Celsius) -> Result<YearlyLoss, OutOfRange> {
    within(
        "The temperature of a store",
        store.degrees(),
        -20.0,
        50.0,
        "\u{a0}°C",
    )?;
    let written_for = WRITTEN_FOR_C + 273.15;
    let exponent =
        ACTIVATION_KJ_PER_MOL * 1000.0 / 8.314_462_618 * (1.0 / written_for - 1.0 / store.kelvin());
    let rate = -(1.0 - loss.get()).ln() * exponent.exp();
    YearlyLoss::new((1.0 - (-rate).exp()).min(0.5))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn warmer_stock_loses_more_and_never_more_than_half(loss in 0.001..=0.5f64, t in -20.0..49.0f64) {
            let loss = YearlyLoss::new(loss).unwrap();
            let at = |t| loss_at(loss, Celsius::new(t).unwrap()).unwrap().get();
            prop_assert!(at(t + 1.0) >= at(t));
            prop_assert!(at(t) > 0.0 && at(t) <= 0.5);
        }
    }
}
