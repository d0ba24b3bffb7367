//! Peroxide vapour over a still liquid: the most that air can take up, and what a limit means.

use uom::si::f64::{MassConcentration, Pressure};
use uom::si::mass_concentration::milligram_per_cubic_meter;
use uom::si::pressure::{millimeter_of_mercury, pascal};

use super::peroxide::MOLAR_MASS;
use super::quantity::{MassFraction, OutOfRange, WaterTemperature, in_grams_per_litre, within};

/// Molar mass of water, g/mol.
const WATER_MOLAR_MASS: f64 = 18.015_28;
/// One atmosphere, Pa.
const ATMOSPHERE: f64 = 101_325.0;
/// Gas constant, cal/(mol K), as the activity model states it.
const GAS_CAL: f64 = 1.987_20;
/// Where liquid and vapour of water become one: temperature, K.
const WATER_CRITICAL_K: f64 = 647.096;
/// The pressure there, Pa.
const WATER_CRITICAL_PA: f64 = 22.064e6;
/// Coefficients and powers of the saturation formula of water.
const SATURATION: [(f64, f64); 6] = [
    (-7.859_517_83, 1.0),
    (1.844_082_59, 1.5),
    (-11.786_649_7, 3.0),
    (22.680_741_1, 3.5),
    (-15.961_871_9, 4.0),
    (1.801_225_02, 7.5),
];
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

/// Vapour pressure of pure water.
///
/// ln(p/p_c) = (T_c/T)(a₁θ + a₂θ^1.5 + a₃θ³ + a₄θ^3.5 + a₅θ⁴ + a₆θ^7.5), θ = 1 - T/T_c. Source:
/// IAPWS SR1-86 (1992), after Wagner and Pruss (coefficients from memory, held to 3.1698 kPa at
/// 25 °C). Range: 0 to 40 °C.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::vapour::water_pressure;
/// use uom::si::pressure::pascal;
/// let at_25 = water_pressure(WaterTemperature::new(25.0)?).get::<pascal>();
/// assert!((at_25 - 3169.8).abs() < 0.1);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
pub fn water_pressure(temperature: WaterTemperature) -> Pressure {
    let part = temperature.kelvin() / WATER_CRITICAL_K;
    let theta = 1.0 - part;
    let sum: f64 = SATURATION
        .iter()
        .map(|(a, power)| a * theta.powf(*power))
        .sum();
    Pressure::new::<pascal>(WATER_CRITICAL_PA * (sum / part).exp())
}

/// What leaves a solution at equilibrium.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverSolution {
    /// Partial pressure of peroxide.
    pub peroxide: Pressure,
    /// Partial pressure of water.
    pub water: Pressure,
    /// Mole fraction of peroxide in the liquid.
    pub moles: f64,
    /// Activity coefficient of peroxide, 1 in pure peroxide.
    pub peroxide_activity: f64,
    /// Activity coefficient of water, 1 in pure water.
    pub water_activity: f64,
}

impl OverSolution {
    /// Both pressures together.
    pub fn total(&self) -> Pressure {
        self.peroxide + self.water
    }
}

/// Partial pressures over a solution at equilibrium.
///
/// p = x γ p₀ for each. For peroxide ln γ = x_w² (B₀ + B₁(3 - 4x_w) + B₂(1 - 2x_w)(5 - 6x_w))/(R T),
/// for water ln γ = x² (B₀ + B₁(1 - 4x_w) + B₂(1 - 2x_w)(1 - 6x_w))/(R T), with B₀ = -1017 + 0.97 T,
/// B₁ = 85, B₂ = 13 cal/mol, x the mole fraction of peroxide and x_w = 1 - x. Source: Scatchard,
/// Kavanagh and Ticknor 1952 (coefficients from memory); ±20 %. Range: 0 to 60 % w/w, 0 to 40 °C.
///
/// ```
/// use slackwater::science::quantity::{MassFraction, WaterTemperature};
/// use slackwater::science::vapour::partial_pressures;
/// use uom::si::pressure::millimeter_of_mercury;
/// let over = partial_pressures(MassFraction::from_percent(35.0)?, WaterTemperature::new(30.0)?)?;
/// assert!((over.total().get::<millimeter_of_mercury>() - 23.3).abs() < 0.1);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A strength outside the range.
pub fn partial_pressures(
    strength: MassFraction,
    temperature: WaterTemperature,
) -> Result<OverSolution, OutOfRange> {
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
    let (b0, b1, b2) = (-1017.0 + 0.97 * t, 85.0, 13.0);
    let lean = 1.0 - 2.0 * xw;
    let for_peroxide = b0 + b1 * (3.0 - 4.0 * xw) + b2 * lean * (5.0 - 6.0 * xw);
    let for_water = b0 + b1 * (1.0 - 4.0 * xw) + b2 * lean * (1.0 - 6.0 * xw);
    let peroxide_activity = (xw * xw * for_peroxide / (GAS_CAL * t)).exp();
    let water_activity = (x * x * for_water / (GAS_CAL * t)).exp();
    Ok(OverSolution {
        peroxide: pure_pressure(temperature) * (x * peroxide_activity),
        water: water_pressure(temperature) * (xw * water_activity),
        moles: x,
        peroxide_activity,
        water_activity,
    })
}

/// Vapour over a solution at equilibrium, as an upper bound.
///
/// The peroxide of [`partial_pressures`] as a part of one atmosphere; ±20 %. Range: 0 to 60 % w/w,
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
    let pressure = partial_pressures(strength, temperature)?
        .peroxide
        .get::<pascal>();
    Ok(VapourUpperBound(pressure / ATMOSPHERE * 1e6))
}

/// Which published data the vapour over a weak solution is reckoned with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VapourData {
    /// The activity model, [`over_liquid`]: more vapour.
    Activity,
    /// Henry's law for weak solutions.
    Henry,
}

impl VapourData {
    /// The data that an answer to [`Question::Vapour`](super::sources::Question::Vapour) names.
    ///
    /// ```
    /// use slackwater::science::sources::Question;
    /// use slackwater::science::vapour::VapourData;
    /// let chosen = Question::Vapour.answer(Some("henry"));
    /// assert_eq!(VapourData::of(&chosen), VapourData::Henry);
    /// assert_eq!(VapourData::of(&Question::Vapour.answer(None)), VapourData::Activity);
    /// ```
    pub fn of(answer: &super::sources::Answer) -> Self {
        match answer.published.code {
            "henry" => Self::Henry,
            _ => Self::Activity,
        }
    }
}

/// Strongest solution for Henry's law, % w/w.
const HENRY_TO_PERCENT: f64 = 10.0;
/// Solubility of peroxide at 25 °C, mol in a litre for an atmosphere, and how its logarithm grows with
/// the inverse of the temperature, K.
const HENRY: (f64, f64) = (8.9e4, 7_020.0);

/// Vapour over a solution by the data chosen.
///
/// Henry: p = c/k, k = 8.9·10⁴ mol/(L atm) · exp(7020 K (1/T − 1/298.15 K)), c in mol/L. Source: Henry
/// data for weak solutions (from memory), held to 6.7 and 10.0 ppm over 3 % at 20 and 25 °C; ±20 %.
/// Range: up to 10 % w/w; stronger solutions, and 0 to 60 % w/w by activity, as [`over_liquid`].
///
/// ```
/// use slackwater::science::quantity::{MassFraction, WaterTemperature};
/// use slackwater::science::vapour::{VapourData, over_liquid_by};
/// let three = MassFraction::from_percent(3.0)?;
/// let ppm = |degrees, data| {
///     Ok::<f64, slackwater::science::quantity::OutOfRange>(
///         over_liquid_by(three, WaterTemperature::new(degrees)?, data)?.ppm(),
///     )
/// };
/// assert!((ppm(20.0, VapourData::Henry)? - 6.7).abs() < 0.1);
/// assert!((ppm(25.0, VapourData::Henry)? - 10.0).abs() < 0.1);
/// assert!((ppm(25.0, VapourData::Activity)? - 11.3).abs() < 0.1);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A strength outside the range.
pub fn over_liquid_by(
    strength: MassFraction,
    temperature: WaterTemperature,
    data: VapourData,
) -> Result<VapourUpperBound, OutOfRange> {
    let concentration = super::peroxide::concentration(strength, temperature);
    match (data, concentration) {
        (VapourData::Henry, Ok(c)) if strength.percent() <= HENRY_TO_PERCENT => {
            let (solubility, slope) = HENRY;
            let k = solubility * (slope * (1.0 / temperature.kelvin() - 1.0 / 298.15)).exp();
            let moles = in_grams_per_litre(c) / MOLAR_MASS;
            Ok(VapourUpperBound(moles / k * 1e6))
        }
        _ => over_liquid(strength, temperature),
    }
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
    gas_in_air(ppm, MOLAR_MASS, air)
}

/// Mass of any gas in air at a volume fraction: c = ppm · 10⁻⁶ · M p/(R T) at 1 atm. Range: 0 to 1e6
/// ppm, molar mass 2 to 500 g/mol.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::vapour::gas_in_air;
/// use uom::si::mass_concentration::milligram_per_cubic_meter;
/// // 0.4 ppm of peracetic acid, 76.05 g/mol, the usual limit for a quarter of an hour.
/// let limit = gas_in_air(0.4, 76.05, WaterTemperature::new(25.0)?)?;
/// assert!((limit.get::<milligram_per_cubic_meter>() - 1.24).abs() < 0.01);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A fraction or molar mass outside the range.
pub fn gas_in_air(
    ppm: f64,
    grams_per_mole: f64,
    air: WaterTemperature,
) -> Result<MassConcentration, OutOfRange> {
    let ppm = within("The vapour in air", ppm, 0.0, 1e6, "\u{a0}ppm")?;
    let pure = pure_gas_milligrams(grams_per_mole, air)?;
    Ok(MassConcentration::new::<milligram_per_cubic_meter>(
        ppm * 1e-6 * pure,
    ))
}

/// Volume fraction of a gas from its mass in air, the inverse of [`gas_in_air`]: ppm = c R T/(M p) ·
/// 10⁶ at 1 atm. Range: 0 to 1e6 mg/m³, molar mass 2 to 500 g/mol.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::vapour::gas_ppm;
/// use uom::si::f64::MassConcentration;
/// use uom::si::mass_concentration::milligram_per_cubic_meter;
/// let found = MassConcentration::new::<milligram_per_cubic_meter>(1.4);
/// assert!((gas_ppm(found, 34.0147, WaterTemperature::new(25.0)?)? - 1.007).abs() < 1e-3);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A mass or molar mass outside the range.
pub fn gas_ppm(
    mass: MassConcentration,
    grams_per_mole: f64,
    air: WaterTemperature,
) -> Result<f64, OutOfRange> {
    let found = mass.get::<milligram_per_cubic_meter>();
    let found = within("The mass in air", found, 0.0, 1e6, "\u{a0}mg/m³")?;
    Ok(found / pure_gas_milligrams(grams_per_mole, air)? * 1e6)
}

/// What a cubic metre of the gas alone weighs at 1 atm, mg.
fn pure_gas_milligrams(grams_per_mole: f64, air: WaterTemperature) -> Result<f64, OutOfRange> {
    let molar_mass = within("The molar mass", grams_per_mole, 2.0, 500.0, "\u{a0}g/mol")?;
    Ok(molar_mass * 1000.0 * ATMOSPHERE / (GAS_SI * air.kelvin()))
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

    proptest! {
        /// Gibbs and Duhem bind the two activities together: x d ln γ + x_w d ln γ_w = 0 along the
        /// strength. Two formulas that were written down apart have to keep it.
        #[test]
        fn the_two_activities_belong_together(w in 1.0..58.0f64, t in 0.0..40.0f64) {
            let t = WaterTemperature::new(t).unwrap();
            let at = |w: f64| partial_pressures(MassFraction::from_percent(w).unwrap(), t).unwrap();
            let step = 1e-3;
            let (low, high) = (at(w - step), at(w + step));
            let moles = w / MOLAR_MASS;
            let x = moles / (moles + (100.0 - w) / WATER_MOLAR_MASS);
            let slope = |a: f64, b: f64| (b.ln() - a.ln()) / (2.0 * step);
            let peroxide = x * slope(low.peroxide_activity, high.peroxide_activity);
            let water = (1.0 - x) * slope(low.water_activity, high.water_activity);
            prop_assert!((peroxide + water).abs() < 1e-6 * (1.0 + peroxide.abs()), "{peroxide} {water}");
        }

        #[test]
        fn mass_and_volume_in_air_undo_each_other(ppm in 0.0..1e4f64, m in 2.0..500.0f64, t in 0.0..40.0f64) {
            let t = WaterTemperature::new(t).unwrap();
            let back = gas_ppm(gas_in_air(ppm, m, t).unwrap(), m, t);
            // 1e6 mg/m³ is as far as the way back goes.
            if let Ok(back) = back {
                prop_assert!((back - ppm).abs() <= 1e-9 * ppm.max(1.0));
            }
        }
    }

    #[test]
    fn water_gives_none_and_too_strong_is_refused() {
        let t = WaterTemperature::TWENTY;
        assert_eq!(over_liquid(MassFraction::ZERO, t).unwrap().ppm(), 0.0);
        assert!(over_liquid(MassFraction::from_percent(70.0).unwrap(), t).is_err());
    }
}
