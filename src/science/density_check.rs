//! A second density model for peroxide in water, from other data, beside the one that doses are
//! reckoned with. It never enters a dose: it shows how far two published models differ.

use uom::si::mass_density::kilogram_per_cubic_meter;

use super::peroxide::{self, PeroxideError};
use super::quantity::{MassDensity, MassFraction, Ratio, WaterTemperature, in_kilograms_per_litre};
use super::water;

/// The second model, by its name.
pub const CHECK_MODEL: &str = "apparent-density-2009";

/// Apparent density parameters of hydrogen peroxide: c₀ to c₄.
const C: [f64; 5] = [
    1_245.678_584_625_09,
    1_565.312_936_877_29,
    0.986_168_814_056_093,
    0.002_714_352_110_059_42,
    200.774_931_560_52,
];

/// Density of a solution by the apparent density of what is dissolved.
///
/// 1/ρ = (1 − w)/ρ_water + w/ρ_app, with
/// ρ_app = (c₀ w + c₁) exp(10⁻⁶ (t + c₄)²) / (w + c₂ + c₃ t) in kg/m³ and t in °C.
///
/// Source: M. Laliberté, J. Chem. Eng. Data 54, 2009, fitted on 122 points from 0 to 96 °C; the
/// parameters from an open data file that names the paper. Range here: 0 to 50 % w/w, 0 to 40 °C.
///
/// ```
/// use slackwater::science::density_check::density;
/// use slackwater::science::quantity::{MassFraction, WaterTemperature, in_kilograms_per_litre};
/// let six = density(MassFraction::from_percent(6.0).unwrap(), WaterTemperature::TWENTY).unwrap();
/// assert!((in_kilograms_per_litre(six) - 1.0204).abs() < 0.0001);
/// ```
///
/// # Errors
/// Above 50 % w/w.
pub fn density(
    strength: MassFraction,
    temperature: WaterTemperature,
) -> Result<MassDensity, PeroxideError> {
    // Refuses what the first model refuses, so that the two can always be set side by side.
    peroxide::density(strength, temperature)?;
    let (w, t) = (strength.get(), temperature.degrees());
    let apparent = (C[0] * w + C[1]) * (1e-6 * (t + C[4]).powi(2)).exp() / (w + C[2] + C[3] * t);
    let of_water = in_kilograms_per_litre(water::density(temperature)) * 1000.0;
    let volume = (1.0 - w) / of_water + w / apparent;
    Ok(MassDensity::new::<kilogram_per_cubic_meter>(1.0 / volume))
}

/// How far the second model lies from the first: ρ₂/ρ₁ − 1.
///
/// ```
/// use slackwater::science::density_check::differs_by;
/// use slackwater::science::quantity::{MassFraction, WaterTemperature};
/// let part = differs_by(MassFraction::from_percent(35.0).unwrap(), WaterTemperature::TWENTY).unwrap();
/// assert!(part.value.abs() < 0.002);
/// ```
///
/// # Errors
/// Above 50 % w/w.
pub fn differs_by(
    strength: MassFraction,
    temperature: WaterTemperature,
) -> Result<Ratio, PeroxideError> {
    let second = density(strength, temperature)?;
    Ok(second / peroxide::density(strength, temperature)?
        - Ratio::new::<uom::si::ratio::ratio>(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// What every density here claims: 0.2 %.
        #[test]
        fn the_two_models_agree_to_what_is_claimed(w in 0.0..50.0f64, t in 0.0..40.0f64) {
            let w = MassFraction::from_percent(w).unwrap();
            let differs = differs_by(w, WaterTemperature::new(t).unwrap()).unwrap();
            prop_assert!(differs.value.abs() < 0.002, "{}", differs.value);
        }
    }

    #[test]
    fn water_weighs_what_water_weighs_and_too_strong_is_refused() {
        let t = WaterTemperature::TWENTY;
        let none = density(MassFraction::ZERO, t).unwrap();
        assert!((none - water::density(t)).value.abs() < 1e-9);
        assert!(density(MassFraction::from_percent(50.1).unwrap(), t).is_err());
    }
}
