//! Dilution by parts, as labels print it: one part to so many. It holds where both strengths count
//! by volume of solution; for percent by weight use the balance of [`super::dose`].

use crate::science::quantity::{OutOfRange, Volume, within};
use crate::science::strength::Strength;

/// What '1:10' means. Published charts do both, so the meaning is asked for, never guessed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RatioMeaning {
    /// One part and N parts of water: 1 + N parts in all.
    OneAndN,
    /// One part in N parts of mix.
    OneInN,
}

/// The concentrate in a mix of 1:N: V / (1 + N), or V / N.
///
/// # Errors
/// N outside 1 to 10 000, or not a number.
///
/// ```
/// use slackwater::science::dilution::{RatioMeaning, concentrate_by_ratio};
/// use slackwater::science::units::VolumeUnit;
/// let gallon = VolumeUnit::UsGallon.of(1.0);
/// let ounces = |meaning| {
///     VolumeUnit::UsFluidOunce.count(concentrate_by_ratio(gallon, 10.0, meaning).unwrap())
/// };
/// assert!((ounces(RatioMeaning::OneAndN) - 11.64).abs() < 0.01);
/// assert!((ounces(RatioMeaning::OneInN) - 12.8).abs() < 0.01);
/// ```
pub fn concentrate_by_ratio(
    mix: Volume,
    n: f64,
    meaning: RatioMeaning,
) -> Result<Volume, OutOfRange> {
    let n = within("The N of 1:N", n, 1.0, 10_000.0, "")?;
    Ok(match meaning {
        RatioMeaning::OneAndN => mix / (1.0 + n),
        RatioMeaning::OneInN => mix / n,
    })
}

/// Parts of water for each part of stock: strength ÷ target − 1. None when the two strengths are
/// not on one basis by volume, or the target is not the weaker one.
///
/// ```
/// use slackwater::science::dilution::parts_of_water;
/// use slackwater::science::strength::{Basis, Strength};
/// let percent = |p| Strength::new(p, Basis::PercentWv).unwrap();
/// assert!((parts_of_water(percent(3.5), percent(0.5)).unwrap() - 6.0).abs() < 1e-12);
/// assert!(parts_of_water(percent(0.5), percent(3.5)).is_none());
/// ```
pub fn parts_of_water(stock: Strength, target: Strength) -> Option<f64> {
    let from = stock.value() * stock.basis().grams_per_litre_each()?;
    let to = target.value() * target.basis().grams_per_litre_each()?;
    (to > 0.0 && from > to).then(|| from / to - 1.0)
}
