//! Titrating a stock: what the burette says its strength is.

use super::peroxide::MOLAR_MASS;
use super::quantity::{
    MassConcentration, OutOfRange, Volume, grams_per_litre, in_grams_per_litre, in_litres, litres,
    within,
};

/// Strength by permanganate in acid: five peroxides for two permanganates, so
/// C = 5/2 · c · V_titrant · M / V_sample with c in mol/L. A normality is five times the molarity:
/// 0.1 N permanganate is 0.02 mol/L, and a millilitre of it is 1.7007 mg of peroxide.
///
/// Permanganate also eats organic matter. For water out of a bench, peracid blends or organically
/// stabilised stock use [`by_thiosulfate`] or a strip.
///
/// Source: hydrogen peroxide topical solution monograph (USP), assay, factor 1.701 mg.
///
/// # Errors
/// Titrant outside 0.0001 to 1 mol/L, sample outside 0.01 to 1 000 mL, burette outside 0 to 1 000 mL.
///
/// ```
/// use slackwater::science::quantity::{in_grams_per_litre, litres};
/// use slackwater::science::titration::by_permanganate;
/// // 2 mL of a 3 % w/v solution use 35.28 mL of 0.02 mol/L.
/// let c = by_permanganate(litres(0.002), litres(0.03528), 0.02).unwrap();
/// assert!((in_grams_per_litre(c) - 30.0).abs() < 0.03);
/// ```
pub fn by_permanganate(
    sample: Volume,
    titrant: Volume,
    moles_per_litre: f64,
) -> Result<MassConcentration, OutOfRange> {
    titrated(
        sample,
        titrant,
        moles_per_litre,
        Titrant::Permanganate.peroxide_each(),
    )
}

/// Strength by iodide and thiosulfate: two thiosulfates for one peroxide, so
/// C = 1/2 · c · V_titrant · M / V_sample. For thiosulfate normality and molarity are the same
/// number; a millilitre of 0.1 mol/L is 1.7007 mg of peroxide.
///
/// Source: iodometric titration of peroxide, application note of an instrument maker.
///
/// # Errors
/// Titrant outside 0.0001 to 1 mol/L, sample outside 0.01 to 1 000 mL, burette outside 0 to 1 000 mL.
///
/// ```
/// use slackwater::science::quantity::{in_grams_per_litre, litres};
/// use slackwater::science::titration::by_thiosulfate;
/// let c = by_thiosulfate(litres(0.001), litres(0.001), 0.1).unwrap();
/// assert!((in_grams_per_litre(c) - 1.7007).abs() < 0.0001);
/// ```
pub fn by_thiosulfate(
    sample: Volume,
    titrant: Volume,
    moles_per_litre: f64,
) -> Result<MassConcentration, OutOfRange> {
    titrated(
        sample,
        titrant,
        moles_per_litre,
        Titrant::Thiosulfate.peroxide_each(),
    )
}

/// What a titration uses up, and of what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Titrant {
    /// Permanganate in acid: two for five peroxides.
    Permanganate,
    /// Thiosulfate after iodide: two for one peroxide.
    Thiosulfate,
}

impl Titrant {
    /// Moles of peroxide for a mole of titrant: 5/2 or 1/2.
    ///
    /// ```
    /// use slackwater::science::titration::Titrant;
    /// assert_eq!(Titrant::Permanganate.peroxide_each(), 2.5);
    /// assert_eq!(Titrant::Thiosulfate.peroxide_each(), 0.5);
    /// ```
    pub fn peroxide_each(self) -> f64 {
        match self {
            Self::Permanganate => 2.5,
            Self::Thiosulfate => 0.5,
        }
    }
}

/// Titrant that a sample of an expected strength will use, to choose sample and burette:
/// V = C V_sample/(each · c · M), the inverse of [`by_permanganate`] and [`by_thiosulfate`].
///
/// # Errors
/// Strength outside 0 to 700 g/L, sample outside 0.01 to 1 000 mL, titrant outside 0.0001 to 1 mol/L.
///
/// ```
/// use slackwater::science::quantity::{grams_per_litre, in_litres, litres};
/// use slackwater::science::titration::{Titrant, titrant_expected};
/// let used =
///     titrant_expected(Titrant::Permanganate, grams_per_litre(30.0), litres(0.002), 0.02).unwrap();
/// assert!((in_litres(used) * 1000.0 - 35.28).abs() < 0.01);
/// ```
pub fn titrant_expected(
    titrant: Titrant,
    strength: MassConcentration,
    sample: Volume,
    moles_per_litre: f64,
) -> Result<Volume, OutOfRange> {
    let grams = within(
        "The expected strength",
        in_grams_per_litre(strength),
        0.0,
        700.0,
        "\u{a0}g/L",
    )?;
    // What a millilitre of titrant means for this sample says how many are needed.
    let one = titrated(
        sample,
        litres(0.001),
        moles_per_litre,
        titrant.peroxide_each(),
    )?;
    Ok(litres(0.001) * (grams / in_grams_per_litre(one)))
}

fn titrated(
    sample: Volume,
    titrant: Volume,
    moles_per_litre: f64,
    peroxide_each: f64,
) -> Result<MassConcentration, OutOfRange> {
    let sample_ml = within(
        "The sample",
        in_litres(sample) * 1000.0,
        0.01,
        1_000.0,
        "\u{a0}mL",
    )?;
    let titrant_ml = within(
        "The titrant used",
        in_litres(titrant) * 1000.0,
        0.0,
        1_000.0,
        "\u{a0}mL",
    )?;
    let molar = within("The titrant", moles_per_litre, 0.000_1, 1.0, "\u{a0}mol/L")?;
    Ok(grams_per_litre(
        peroxide_each * molar * titrant_ml * MOLAR_MASS / sample_ml,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::quantity::{in_grams_per_litre, litres};

    #[test]
    fn the_printed_factor_that_is_ten_times_too_big_is_not_ours() {
        let c = by_permanganate(litres(0.001), litres(0.001), 0.02).unwrap();
        assert!((in_grams_per_litre(c) - 1.701).abs() < 0.001);
        assert!(in_grams_per_litre(c) < 2.0);
    }

    #[test]
    fn empty_samples_and_strange_titrants_are_refused() {
        assert!(by_permanganate(litres(0.0), litres(0.01), 0.02).is_err());
        assert!(by_permanganate(litres(0.001), litres(-0.01), 0.02).is_err());
        assert!(by_thiosulfate(litres(0.001), litres(0.01), f64::NAN).is_err());
    }
}
