//! How warm a solution gets when its peroxide falls apart on the spot, and when it boils.
//!
//! A bound, not a forecast: no heat leaves, all of the peroxide decomposes. A can that is warm to
//! the hand, foams or bulges is left at once, whatever stands here.

use uom::si::f64::{SpecificHeatCapacity, TemperatureInterval};
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::specific_heat_capacity::kilojoule_per_kilogram_kelvin;
use uom::si::temperature_interval::kelvin;

use super::peroxide::{MOLAR_MASS, STRONGEST};
use super::quantity::{Celsius, MassFraction, OutOfRange, WaterTemperature, within};

pub use uom::si::f64::MolarEnergy;

/// Heat of decomposition of the pure liquid, kJ for one mole of peroxide: 285.83 − 187.8 from the
/// enthalpies of formation (reference DEC-002).
pub const HEAT_PURE: f64 = 98.0;

/// Heat of decomposition in dilute solution, kJ for one mole of peroxide (reference DEC-003, from
/// memory).
pub const HEAT_DILUTE: f64 = 94.6;

/// Where water boils at 1 atm, °C. A strong solution boils a few degrees higher, and becomes water as it
/// falls apart; at height it boils earlier.
pub const BOILS_AT: f64 = 100.0;

/// Heat capacity of water at 25 °C, kJ/(kg K) (from memory).
const WATER_HEAT_CAPACITY: f64 = 4.181_3;

/// Heat that turns water at its boiling point into steam, kJ/kg (steam tables, from memory).
const HEAT_OF_STEAM: f64 = 2_257.0;

/// Which of the two published heats a rise is reckoned with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum HeatValue {
    /// [`HEAT_PURE`]: the larger, and so the safer.
    Pure,
    /// [`HEAT_DILUTE`].
    Dilute,
}

impl HeatValue {
    /// Heat for one mole of peroxide.
    ///
    /// ```
    /// use slackwater::science::decomposition::HeatValue;
    /// assert!(HeatValue::Pure.of_a_mole() > HeatValue::Dilute.of_a_mole());
    /// ```
    pub fn of_a_mole(self) -> MolarEnergy {
        MolarEnergy::new::<kilojoule_per_mole>(self.kilojoules())
    }

    fn kilojoules(self) -> f64 {
        match self {
            Self::Pure => HEAT_PURE,
            Self::Dilute => HEAT_DILUTE,
        }
    }
}

/// Heat capacity of a solution at 25 °C: c = (1 − w) c_water + w · 2.58134 w^(−0.15321) kJ/(kg K).
///
/// Source: M. Laliberté, J. Chem. Eng. Data 54, 2009, the parameters for hydrogen peroxide from an
/// open data file; their first term is below 10⁻⁹⁰ at 25 °C. Fitted at 25 °C on four points up to
/// 71.5 % w/w. Range here: 0 to 50 % w/w.
///
/// ```
/// use slackwater::science::decomposition::heat_capacity;
/// use slackwater::science::quantity::MassFraction;
/// use uom::si::specific_heat_capacity::kilojoule_per_kilogram_kelvin;
/// let six = heat_capacity(MassFraction::from_percent(6.0)?)?;
/// assert!((six.get::<kilojoule_per_kilogram_kelvin>() - 4.17).abs() < 0.005);
/// assert!(heat_capacity(MassFraction::from_percent(50.1)?).is_err());
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// Above 50 % w/w.
pub fn heat_capacity(strength: MassFraction) -> Result<SpecificHeatCapacity, OutOfRange> {
    Ok(SpecificHeatCapacity::new::<kilojoule_per_kilogram_kelvin>(
        capacity(in_range(strength)?),
    ))
}

fn capacity(w: f64) -> f64 {
    // w · w^(−0.15321) as one power: nothing divides by zero at w = 0.
    (1.0 - w) * WATER_HEAT_CAPACITY + 2.581_340_419 * w.powf(1.0 - 0.153_211_882)
}

fn in_range(strength: MassFraction) -> Result<f64, OutOfRange> {
    let most = STRONGEST.percent();
    let unit = "\u{a0}%\u{a0}w/w";
    Ok(within("The strength", strength.percent(), 0.0, most, unit)? / 100.0)
}

/// Where a solution ends that keeps all the heat of its decomposition.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// It stays below its boiling point and ends this warm.
    Warm(Celsius),
    /// It boils.
    Boils {
        /// Steam at most, as a part of the mass of the solution.
        steam: MassFraction,
    },
}

/// How warm a solution gets at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rise {
    /// The rise if nothing boiled: a measure of the heat in it. Where it boils, no liquid gets that warm.
    pub without_boiling: TemperatureInterval,
    /// Where it ends.
    pub ends: Ends,
}

impl Rise {
    /// 'ends at 60 °C at most', or 'boils: up to 0.17 kg of steam from a kilogram'. A figure above
    /// the boiling point never stands alone.
    pub fn words(&self) -> String {
        match self.ends {
            Ends::Warm(at) => format!("ends at {:.0}\u{a0}°C at most", at.degrees()),
            Ends::Boils { steam } => format!(
                "boils: up to {:.2}\u{a0}kg of steam from a kilogram, besides the oxygen",
                steam.get()
            ),
        }
    }
}

/// How warm a solution gets when all its peroxide falls apart and no heat leaves.
///
/// ΔT = w q/(M c), with q for a mole of peroxide ([`HeatValue`]), M its molar mass and c by
/// [`heat_capacity`]. Where the start plus ΔT reaches 100 °C, it boils, and what is left of the heat
/// makes steam: (ΔT − (100 − start)) c / 2257 kJ/kg.
///
/// Range: 0 to 50 % w/w, start 0 to 40 °C.
///
/// ```
/// use slackwater::science::decomposition::{Ends, HeatValue, rise};
/// use slackwater::science::quantity::{MassFraction, WaterTemperature};
/// use uom::si::temperature_interval::kelvin;
/// let twenty = WaterTemperature::TWENTY;
/// let six = rise(MassFraction::from_percent(6.0)?, twenty, HeatValue::Dilute)?;
/// assert!((six.without_boiling.get::<kelvin>() - 40.0).abs() < 0.1);
/// assert_eq!(six.words(), "ends at 60\u{a0}°C at most");
/// let stock = rise(MassFraction::from_percent(35.0)?, twenty, HeatValue::Pure)?;
/// assert!(matches!(stock.ends, Ends::Boils { .. }));
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// Above 50 % w/w.
pub fn rise(
    strength: MassFraction,
    start: WaterTemperature,
    heat: HeatValue,
) -> Result<Rise, OutOfRange> {
    let w = in_range(strength)?;
    let c = capacity(w);
    let degrees = degrees(w, heat);
    let left = degrees - (BOILS_AT - start.degrees());
    let ends = if left < 0.0 {
        Ends::Warm(Celsius::new(start.degrees() + degrees)?)
    } else {
        // No more steam than there is water once the peroxide has gone.
        let water = 1.0 - w * OXYGEN_OF_PEROXIDE;
        Ends::Boils {
            steam: MassFraction::new((left * c / HEAT_OF_STEAM).min(water))?,
        }
    };
    Ok(Rise {
        without_boiling: TemperatureInterval::new::<kelvin>(degrees),
        ends,
    })
}

/// The part of its mass that peroxide gives off as oxygen: half of 31.998 g from 34.0147 g.
const OXYGEN_OF_PEROXIDE: f64 = 15.999 / MOLAR_MASS;

fn degrees(w: f64, heat: HeatValue) -> f64 {
    w * heat.kilojoules() * 1000.0 / MOLAR_MASS / capacity(w)
}

/// The weakest solution that boils when all its peroxide falls apart and no heat leaves.
///
/// [`rise`] grows with the strength, so the range from 0 to 50 % w/w is halved until it is narrower
/// than 10⁻⁹.
///
/// ```
/// use slackwater::science::decomposition::{HeatValue, weakest_that_boils};
/// use slackwater::science::quantity::WaterTemperature;
/// let weakest = weakest_that_boils(WaterTemperature::TWENTY, HeatValue::Pure);
/// assert!(weakest.percent() > 11.0 && weakest.percent() < 12.0);
/// ```
pub fn weakest_that_boils(start: WaterTemperature, heat: HeatValue) -> MassFraction {
    let needed = BOILS_AT - start.degrees();
    let (mut low, mut high) = (0.0, STRONGEST.get());
    while high - low > 1e-9 {
        let middle = low + (high - low) / 2.0;
        if degrees(middle, heat) < needed {
            low = middle;
        } else {
            high = middle;
        }
    }
    MassFraction::new(high).unwrap_or(STRONGEST)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn percent(p: f64) -> MassFraction {
        MassFraction::from_percent(p).unwrap()
    }

    fn start(t: f64) -> WaterTemperature {
        WaterTemperature::new(t).unwrap()
    }

    proptest! {
        #[test]
        fn stronger_is_warmer_and_the_larger_heat_is_the_safer(w in 0.1..49.0f64, t in 0.0..40.0f64) {
            let of = |w, heat| rise(percent(w), start(t), heat).unwrap().without_boiling;
            prop_assert!(of(w + 0.5, HeatValue::Pure) > of(w, HeatValue::Pure));
            prop_assert!(of(w, HeatValue::Pure) > of(w, HeatValue::Dilute));
        }

        #[test]
        fn nothing_liquid_ends_above_its_boiling_point(w in 0.0..50.0f64, t in 0.0..40.0f64) {
            match rise(percent(w), start(t), HeatValue::Pure).unwrap().ends {
                Ends::Warm(at) => prop_assert!(at.degrees() < BOILS_AT),
                Ends::Boils { steam } => {
                    prop_assert!(weakest_that_boils(start(t), HeatValue::Pure).percent() <= w + 1e-6);
                    prop_assert!(steam.get() < 1.0);
                }
            }
        }

        /// A second way: the heat is handed over in small parts, each warming or boiling the rest.
        #[test]
        fn the_balance_agrees_with_small_parts(w in 1.0..50.0f64, t in 0.0..40.0f64) {
            let c = capacity(w / 100.0);
            let parts = 20_000;
            let each = w / 100.0 * HEAT_PURE * 1000.0 / MOLAR_MASS / f64::from(parts);
            let (mut at, mut steam) = (t, 0.0);
            for _ in 0..parts {
                if at + each / c < BOILS_AT { at += each / c } else { steam += each / HEAT_OF_STEAM }
            }
            match rise(percent(w), start(t), HeatValue::Pure).unwrap().ends {
                Ends::Warm(ends) => prop_assert!((ends.degrees() - at).abs() < 0.1),
                Ends::Boils { steam: found } => prop_assert!((found.get() - steam).abs() < 1e-3),
            }
        }
    }

    #[test]
    fn water_does_not_warm_and_its_heat_capacity_is_that_of_water() {
        let none = rise(MassFraction::ZERO, start(20.0), HeatValue::Pure).unwrap();
        assert_eq!(none.without_boiling.get::<kelvin>(), 0.0);
        assert!((capacity(0.0) - WATER_HEAT_CAPACITY).abs() < 1e-12);
        assert!(none.words().starts_with("ends at 20"));
    }

    #[test]
    fn a_figure_above_the_boiling_point_says_so() {
        let stock = rise(percent(50.0), start(40.0), HeatValue::Pure).unwrap();
        assert!(stock.words().contains("boils"), "{}", stock.words());
        assert!(rise(percent(50.1), start(20.0), HeatValue::Pure).is_err());
    }
}
