//! Peroxide vapour over a still liquid: the most that air can take up, and what a limit means.

use uom::si::f64::{MassConcentration, Pressure};
use uom::si::mass_concentration::milligram_per_cubic_meter;
use uom::si::pressure::{millimeter_of_mercury, pascal};

use super::peroxide::MOLAR_MASS;
use super::quantity::{MassFraction, OutOfRange, WaterTemperature, within};

/// Molar mass of water, g/mol.
const WATER_MOLAR_MASS: f64 = 18.015_28;
/// One atmosphere, Pa.
const ATMOSPHERE: f64 = 101_325.0;
/// Gas constant, cal/(mol K), as the activity model states it.
const GAS_CAL: f64 = 1.987_20;
/// Gas constant, J/(mol K).
const GAS_SI: f64 = 8.314_462_618;
/// Published vapour pressures differ by this part.
pub const VAPOUR_SPREAD: f64 = 0.20;

/// Parts per million by volume of peroxide vapour that still air over a liquid can reach at most.
///
/// An upper bound of equilibrium, not a prediction of a room; and mist from spraying can exceed
/// it. There is no odour to warn of it.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct VapourUpperBound(f64);

impl VapourUpperBound {
    /// Parts per million by volume.
    pub fn ppm(self) -> f64 {
        self.0
    }
}

/// Vapour pressure of pure hydrogen peroxide.
///
/// log10 p(mmHg) = 44.5760 - 4025.3/T - 12.996 log10 T + 0.0046055 T. Source: Scatchard,
/// Kavanagh and Ticknor, J. Am. Chem. Soc. 74, 1952 (coefficients from memory); a registration
/// dossier gives 15 to 20 % more. Range: 0 to 40 °C.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::vapour::pure_pressure;
/// use uom::si::pressure::pascal;
/// assert!((pure_pressure(WaterTemperature::TWENTY).get::<pascal>() - 181.0).abs() < 1.0);
/// ```
pub fn pure_pressure(temperature: WaterTemperature) -> Pressure {
    let t = temperature.kelvin();
    let log = 44.5760 - 4025.3 / t - 12.996 * t.log10() + 0.004_605_5 * t;
    Pressure::new::<millimeter_of_mercury>(10f64.powf(log))
}

/// Vapour over a solution at equilibrium, as an upper bound.
///
/// p = x γ p₀, ln γ = x_w² (B₀ + B₁(3 - 4x_w) + B₂(1 - 2x_w)(5 - 6x_w))/(R T) with B₀ = -1017 +
/// 0.97 T, B₁ = 85, B₂ = 13 cal/mol, x the mole fraction of peroxide, x_w = 1 - x. Source:
/// Scatchard, Kavanagh and Ticknor 1952 (coefficients from memory); ±20 %. Range: 0 to 60 % w/w,
/// 0 to 40 °C.
///
/// ```
/// use slackwater::science::quantity::{MassFraction, WaterTemperature};
/// use slackwater::science::vapour::over_liquid;
/// let three = MassFraction::from_percent(3.0)?;
/// let bound = over_liquid(three, WaterTemperature::TWENTY)?;
/// assert!((bound.ppm() - 7.6).abs() < 0.1);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A strength outside the range.
pub fn over_liquid(
    strength: MassFraction,
    temperature: WaterTemperature,
) -> Result<VapourUpperBound, OutOfRange> {
    let w = within(
        "The strength of the liquid",
        strength.percent(),
        0.0,
        60.0,
        "\u{a0}%\u{a0}w/w",
    )? / 100.0;
    let moles = w / MOLAR_MASS;
    let x = moles / (moles + (1.0 - w) / WATER_MOLAR_MASS);
    let xw = 1.0 - x;
    let t = temperature.kelvin();
    let sum =
        (-1017.0 + 0.97 * t) + 85.0 * (3.0 - 4.0 * xw) + 13.0 * (1.0 - 2.0 * xw) * (5.0 - 6.0 * xw);
    let activity = (xw * xw * sum / (GAS_CAL * t)).exp();
    let pressure = x * activity * pure_pressure(temperature).get::<pascal>();
    Ok(VapourUpperBound(pressure / ATMOSPHERE * 1e6))
}

/// Mass of peroxide in air at a volume fraction: c = ppm · 10⁻⁶ · M p/(R T) at 1 atm.
///
/// 1 ppm is 1.39 mg/m³ at 25 °C and 1.41 mg/m³ at 20 °C, which explains the two roundings seen in
/// tables. Range: 0 to 1e6 ppm.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::vapour::mass_in_air;
/// use uom::si::mass_concentration::milligram_per_cubic_meter;
/// let one = mass_in_air(1.0, WaterTemperature::new(25.0)?)?;
/// assert!((one.get::<milligram_per_cubic_meter>() - 1.390).abs() < 0.001);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A fraction outside the range.
pub fn mass_in_air(ppm: f64, air: WaterTemperature) -> Result<MassConcentration, OutOfRange> {
    let ppm = within("The vapour in air", ppm, 0.0, 1e6, "\u{a0}ppm")?;
    // ppm of a gas whose full concentration is in g/m³ comes out in µg/m³.
    let pure_g_per_m3 = MOLAR_MASS * ATMOSPHERE / (GAS_SI * air.kelvin());
    Ok(MassConcentration::new::<milligram_per_cubic_meter>(
        ppm * pure_g_per_m3 / 1000.0,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn stronger_or_warmer_gives_more(w in 0.1..49.0f64, t in 0.0..39.0f64) {
            let ppm = |w, t| {
                let t = WaterTemperature::new(t).unwrap();
                over_liquid(MassFraction::from_percent(w).unwrap(), t).unwrap()
            };
            prop_assert!(ppm(w + 1.0, t) > ppm(w, t));
            prop_assert!(ppm(w, t + 1.0) > ppm(w, t));
        }
    }

    #[test]
    fn water_gives_none_and_too_strong_is_refused() {
        let t = WaterTemperature::TWENTY;
        assert_eq!(over_liquid(MassFraction::ZERO, t).unwrap().ppm(), 0.0);
        assert!(over_liquid(MassFraction::from_percent(70.0).unwrap(), t).is_err());
    }
}
