//! Hydrogen peroxide in water: density, bases, ageing, heat and oxygen.

use thiserror::Error;
use uom::si::energy::kilojoule;
use uom::si::mass_density::kilogram_per_cubic_meter;

use super::quantity::{
    Celsius, Energy, Mass, MassConcentration, MassDensity, MassFraction, OutOfRange, Volume,
    WaterTemperature, grams_per_litre, in_grams, in_grams_per_litre, in_kilograms_per_litre,
    litres, within,
};
use super::strength::{Basis, Strength, StrengthError};
use super::water;

/// The density model, by the name that is stored with every dose: the cubic in mass fraction with
/// the Kell equation for water.
pub const PEROXIDE_DENSITY_MODEL: &str = "cubic-kell-1";

/// The strongest solution that the density model covers and that this house doses from: 50 % w/w.
pub const STRONGEST: MassFraction = MassFraction::HALF;

/// g/mol of H2O2. Source: IUPAC masses, compiled data file (reference IDN-001).
pub const MOLAR_MASS: f64 = 34.0147;

/// L/mol of an ideal gas at 0 °C and 1 atm. At 0 °C and 1 bar it is 22.7; volume strength means 1 atm.
pub const GAS_MOLAR_VOLUME: f64 = 22.414;

/// Volume strength of a solution of 1 g/L: half a mole of oxygen comes from a mole of peroxide, so
/// VS = c · 22.414 / 2 = 11.207 c with c in mol/L.
pub const VOLUMES_PER_GRAM_PER_LITRE: f64 = GAS_MOLAR_VOLUME / 2.0 / MOLAR_MASS;

/// Why a property of a solution cannot be given.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum PeroxideError {
    /// Above 50 % w/w, where the density model ends.
    #[error(
        "Densities are known here from 0 to 50\u{a0}%\u{a0}w/w; {given} is stronger. Nothing stronger is handled"
    )]
    TooStrong {
        /// The strength asked for, on its own basis.
        given: Strength,
    },
    /// The number came out beyond what its basis can read.
    #[error(transparent)]
    Strength(#[from] StrengthError),
    /// An argument outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// Density of a solution of mass fraction `w` at 0 to 40 °C.
///
/// ρ(w,t) = ρ_water(t) + B w + C w² + D w³ in g/mL, with
/// B = 0.39763 − 2.8732·10⁻³ t + 3.2488·10⁻⁵ t² − 1.6363·10⁻⁷ t³,
/// C = 0.02206 + 3.5357·10⁻³ t − 6.0947·10⁻⁵ t² + 3.6165·10⁻⁷ t³,
/// D = 0.05187 − 1.9414·10⁻³ t + 3.9061·10⁻⁵ t² − 2.5500·10⁻⁷ t³.
///
/// Source: coefficients from published code, attributed to Easton, Mitchell and Wynne-Jones, Trans.
/// Faraday Soc., 1952 (attribution from memory). Within 0.0003 g/mL of the handbook table at 18 °C;
/// another correlation reads up to 0.0019 higher, so never claim better than 0.2 %.
///
/// # Errors
/// Above 50 % w/w.
///
/// ```
/// use slackwater::science::peroxide;
/// use slackwater::science::quantity::{MassFraction, WaterTemperature, in_kilograms_per_litre};
/// let density =
///     peroxide::density(MassFraction::from_percent(35.0).unwrap(), WaterTemperature::TWENTY).unwrap();
/// assert!((in_kilograms_per_litre(density) - 1.1312).abs() < 0.0001);
/// assert!(peroxide::density(MassFraction::from_percent(50.1).unwrap(), WaterTemperature::TWENTY).is_err());
/// ```
pub fn density(
    w: MassFraction,
    temperature: WaterTemperature,
) -> Result<MassDensity, PeroxideError> {
    if w > STRONGEST {
        return Err(PeroxideError::TooStrong {
            given: Strength::new(w.percent(), Basis::PercentWw)?,
        });
    }
    Ok(cubic_density(w.get(), temperature))
}

/// The formula without its limit of strength; the check with pure peroxide at 25 °C needs it.
fn cubic_density(w: f64, temperature: WaterTemperature) -> MassDensity {
    let t = temperature.degrees();
    let cubic = |a: f64, b: f64, c: f64, d: f64| a + t * (b + t * (c + t * d));
    let first = cubic(0.397_63, -2.873_2e-3, 3.248_8e-5, -1.636_3e-7);
    let second = cubic(0.022_06, 3.535_7e-3, -6.094_7e-5, 3.616_5e-7);
    let third = cubic(0.051_87, -1.941_4e-3, 3.906_1e-5, -2.550_0e-7);
    let added = w * (first + w * (second + w * third));
    water::density(temperature) + MassDensity::new::<kilogram_per_cubic_meter>(added * 1000.0)
}

/// Mass concentration of a solution: C = w ρ(w,t).
///
/// # Errors
/// Above 50 % w/w.
///
/// ```
/// use slackwater::science::peroxide;
/// use slackwater::science::quantity::{MassFraction, WaterTemperature, in_grams_per_litre};
/// let stock = MassFraction::from_percent(35.0).unwrap();
/// let grams = in_grams_per_litre(peroxide::concentration(stock, WaterTemperature::TWENTY).unwrap());
/// assert!((grams - 395.9).abs() < 0.05);
/// ```
pub fn concentration(
    w: MassFraction,
    temperature: WaterTemperature,
) -> Result<MassConcentration, PeroxideError> {
    let density = density(w, temperature)?;
    Ok(grams_per_litre(
        w.get() * in_kilograms_per_litre(density) * 1000.0,
    ))
}

/// Mass fraction of a solution of known mass concentration, the inverse of [`concentration`].
///
/// C rises with w without a bend back, so the interval from 0 to 50 % w/w is halved until it is
/// narrower than 10⁻¹³.
///
/// # Errors
/// When the solution would be stronger than 50 % w/w, or below nothing.
///
/// ```
/// use slackwater::science::peroxide;
/// use slackwater::science::quantity::{WaterTemperature, grams_per_litre};
/// // A stock of 35 % w/v is only 31.35 % by weight.
/// let w = peroxide::fraction(grams_per_litre(350.0), WaterTemperature::TWENTY).unwrap();
/// assert!((w.percent() - 31.35).abs() < 0.06);
/// ```
pub fn fraction(
    c: MassConcentration,
    temperature: WaterTemperature,
) -> Result<MassFraction, PeroxideError> {
    let wanted = in_grams_per_litre(c);
    let reads = |w: f64| w * in_kilograms_per_litre(cubic_density(w, temperature)) * 1000.0;
    let (mut low, mut high) = (0.0, STRONGEST.get());
    let most = reads(high);
    // A solution of exactly 50 % w/w comes back through g/L with the last bit astray.
    if (wanted - most).abs() <= 1e-9 * most {
        return Ok(STRONGEST);
    }
    if wanted > most {
        return Err(PeroxideError::TooStrong {
            given: Strength::new(wanted, Basis::GramsPerLitre)?,
        });
    }
    within("A concentration", wanted, 0.0, most, "\u{a0}g/L")?;
    while high - low > 1e-13 {
        let middle = low + (high - low) / 2.0;
        if reads(middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(MassFraction::new(if wanted == 0.0 {
        0.0
    } else {
        low + (high - low) / 2.0
    })?)
}

/// Density of a solution of known mass concentration.
///
/// # Errors
/// As [`fraction`].
pub fn density_at(
    c: MassConcentration,
    temperature: WaterTemperature,
) -> Result<MassDensity, PeroxideError> {
    density(fraction(c, temperature)?, temperature)
}

impl Strength {
    /// The mass fraction that this strength is at a temperature.
    ///
    /// ```
    /// use slackwater::science::quantity::WaterTemperature;
    /// use slackwater::science::strength::{Basis, Strength};
    /// let stock = Strength::new(35.0, Basis::PercentWv).unwrap();
    /// assert!((stock.mass_fraction(WaterTemperature::TWENTY).unwrap().percent() - 31.35).abs() < 0.06);
    /// ```
    ///
    /// # Errors
    /// When it is above 50 % w/w.
    pub fn mass_fraction(
        self,
        temperature: WaterTemperature,
    ) -> Result<MassFraction, PeroxideError> {
        match self.basis().grams_per_litre_each() {
            None if self.value() > STRONGEST.percent() => {
                Err(PeroxideError::TooStrong { given: self })
            }
            None => Ok(MassFraction::from_percent(self.value())?),
            Some(each) => {
                fraction(grams_per_litre(self.value() * each), temperature).map_err(|error| {
                    match error {
                        PeroxideError::TooStrong { .. } => PeroxideError::TooStrong { given: self },
                        other => other,
                    }
                })
            }
        }
    }

    /// The mass concentration that this strength is at a temperature.
    ///
    /// # Errors
    /// When it is above 50 % w/w.
    ///
    /// ```
    /// use slackwater::science::quantity::{WaterTemperature, in_grams_per_litre};
    /// use slackwater::science::strength::{Basis, Strength};
    /// let target = Strength::new(3.0, Basis::PercentWv).unwrap();
    /// let grams = in_grams_per_litre(target.concentration(WaterTemperature::TWENTY).unwrap());
    /// assert!((grams - 30.0).abs() < 1e-9);
    /// ```
    pub fn concentration(
        self,
        temperature: WaterTemperature,
    ) -> Result<MassConcentration, PeroxideError> {
        match self.basis().grams_per_litre_each() {
            None => concentration(self.mass_fraction(temperature)?, temperature),
            Some(each) => {
                self.mass_fraction(temperature)?;
                Ok(grams_per_litre(self.value() * each))
            }
        }
    }

    /// The strength, on a basis, of a solution of mass fraction `w`.
    ///
    /// ```
    /// use slackwater::science::quantity::{MassFraction, WaterTemperature};
    /// use slackwater::science::strength::{Basis, Strength};
    /// let six = MassFraction::from_percent(6.0).unwrap();
    /// let grams = Strength::of_fraction(six, Basis::GramsPerLitre, WaterTemperature::TWENTY).unwrap();
    /// assert!((grams.value() - 61.2).abs() < 0.1);
    /// ```
    ///
    /// # Errors
    /// Above 50 % w/w.
    pub fn of_fraction(
        w: MassFraction,
        basis: Basis,
        temperature: WaterTemperature,
    ) -> Result<Self, PeroxideError> {
        let value = match basis.grams_per_litre_each() {
            None => {
                density(w, temperature)?;
                w.percent()
            }
            Some(each) => in_grams_per_litre(concentration(w, temperature)?) / each,
        };
        Ok(Self::new(value, basis)?)
    }

    /// The same solution on another basis.
    ///
    /// # Errors
    /// Above 50 % w/w.
    ///
    /// ```
    /// use slackwater::science::quantity::WaterTemperature;
    /// use slackwater::science::strength::{Basis, Strength};
    /// let stock = Strength::new(35.0, Basis::PercentWw).unwrap();
    /// let volumes = stock.on(Basis::VolumeStrength, WaterTemperature::TWENTY).unwrap();
    /// assert!((volumes.value() - 130.4).abs() < 0.1);
    /// ```
    pub fn on(self, basis: Basis, temperature: WaterTemperature) -> Result<Self, PeroxideError> {
        if basis == self.basis() {
            self.mass_fraction(temperature)?;
            return Ok(self);
        }
        if let (Some(from), Some(to)) = (
            self.basis().grams_per_litre_each(),
            basis.grams_per_litre_each(),
        ) {
            self.mass_fraction(temperature)?;
            return Ok(Self::new(self.value() * from / to, basis)?);
        }
        Self::of_fraction(self.mass_fraction(temperature)?, basis, temperature)
    }

    /// Amount concentration in mol/L: c = C / M.
    ///
    /// # Errors
    /// Above 50 % w/w.
    pub fn moles_per_litre(self, temperature: WaterTemperature) -> Result<f64, PeroxideError> {
        Ok(in_grams_per_litre(self.concentration(temperature)?) / MOLAR_MASS)
    }
}

/// The share of its peroxide that a stock loses in a year, 0 up to 50 %.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct YearlyLoss(f64);

impl YearlyLoss {
    /// Clean stabilised concentrate in its own vented can, kept cool and dark. Producers print
    /// 'under 1 % a year'; 2 % in small packs is from memory and is the one taken here.
    pub const USUAL: Self = Self(0.02);

    /// A loss as a fraction of what is there, in a year.
    ///
    /// # Errors
    /// Outside 0 to 0.5, or not a number.
    pub fn new(fraction: f64) -> Result<Self, OutOfRange> {
        within("The loss in a year", fraction, 0.0, 0.5, "").map(Self)
    }

    /// The fraction.
    pub fn get(self) -> f64 {
        self.0
    }
}

/// What is left of a stock after `days`, by first-order loss: w = w₀ (1 − loss)^(days / 365.25),
/// which is w₀ exp(−k days). An estimate: a titration or a retest always wins.
///
/// Valid for closed, clean, stabilised concentrate only. Never use it for a diluted tank, which can
/// lose its strength within hours.
///
/// # Errors
/// Days outside 0 to 3 653.
///
/// ```
/// use slackwater::science::peroxide::{YearlyLoss, aged};
/// use slackwater::science::quantity::MassFraction;
/// let fresh = MassFraction::from_percent(35.0).unwrap();
/// let old = aged(fresh, YearlyLoss::new(0.01).unwrap(), 730.5).unwrap();
/// assert!((old.percent() - 34.30).abs() < 0.01);
/// ```
pub fn aged(fresh: MassFraction, loss: YearlyLoss, days: f64) -> Result<MassFraction, OutOfRange> {
    let days = within("The age of a stock", days, 0.0, 3_653.0, "\u{a0}days")?;
    MassFraction::new(fresh.get() * (1.0 - loss.get()).powf(days / 365.25))
}

/// Heat set free when peroxide falls apart into water and oxygen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// By the dilute value, 94.6 kJ/mol (from memory).
    pub least: Energy,
    /// By the value for the pure liquid, 98.0 kJ/mol (reference DEC-002). Plan with this one.
    pub most: Energy,
}

/// Heat of a mass of peroxide falling apart: q = m / M × 94.6 to 98.0 kJ/mol, for one mole of
/// peroxide, not for the equation with two.
///
/// ```
/// use slackwater::science::peroxide::heat_of_decomposition;
/// use slackwater::science::quantity::grams;
/// // A kilogram of 35 % holds 350 g: about 970 to 1 010 kJ.
/// let heat = heat_of_decomposition(grams(350.0));
/// assert!((heat.least.value / 1000.0 - 973.0).abs() < 15.0);
/// assert!((heat.most.value / 1000.0 - 1009.0).abs() < 15.0);
/// ```
pub fn heat_of_decomposition(peroxide: Mass) -> Heat {
    let moles = in_grams(peroxide) / MOLAR_MASS;
    Heat {
        least: Energy::new::<kilojoule>(moles * 94.6),
        most: Energy::new::<kilojoule>(moles * 98.0),
    }
}

/// Oxygen set free when peroxide falls apart, at 1 atm: V = m / (2 M) × 22.414 L/mol × T / 273.15 K.
///
/// ```
/// use slackwater::science::peroxide::oxygen_of_decomposition;
/// use slackwater::science::quantity::{Celsius, grams, in_litres};
/// // A litre of 35 % w/w holds 395.9 g and gives 130 L at 0 °C, 140 L at 20 °C.
/// let oxygen = |t| in_litres(oxygen_of_decomposition(grams(395.9), Celsius::new(t).unwrap()));
/// assert!((oxygen(0.0) - 130.4).abs() < 0.5);
/// assert!((oxygen(20.0) - 140.0).abs() < 0.5);
/// ```
pub fn oxygen_of_decomposition(peroxide: Mass, air: Celsius) -> Volume {
    let moles = in_grams(peroxide) / MOLAR_MASS / 2.0;
    litres(moles * GAS_MOLAR_VOLUME * air.kelvin() / 273.15)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn pure_peroxide_weighs_what_was_published() {
        // Guards the mistake of squaring the coefficients instead of the mass fraction.
        let pure = in_kilograms_per_litre(cubic_density(1.0, WaterTemperature::new(25.0).unwrap()));
        assert!((pure - 1.443).abs() < 0.002, "{pure}");
    }

    #[test]
    fn the_limit_of_strength_is_inclusive() {
        let t = WaterTemperature::TWENTY;
        for basis in Basis::ALL {
            let fifty = Strength::of_fraction(MassFraction::new(0.5).unwrap(), basis, t).unwrap();
            assert!(fifty.mass_fraction(t).is_ok(), "{fifty}");
            let above = Strength::new(fifty.value() * 1.000_001, basis).unwrap();
            assert!(above.mass_fraction(t).is_err(), "{above}");
            assert!(above.on(Basis::GramsPerLitre, t).is_err());
        }
    }

    #[test]
    fn fresh_water_has_no_strength_on_any_basis() {
        for basis in Basis::ALL {
            let none = Strength::NONE.on(basis, WaterTemperature::TWENTY).unwrap();
            assert!(none.value().abs() < 1e-9);
        }
        assert!(aged(MassFraction::ZERO, YearlyLoss::USUAL, -1.0).is_err());
    }

    proptest! {
        #[test]
        fn every_basis_leads_back(percent in 0.0..=50.0f64, t in 0.0..=40.0f64, from in 0..5usize, to in 0..5usize) {
            let t = WaterTemperature::new(t).unwrap();
            let w = MassFraction::from_percent(percent).unwrap();
            let first = Strength::of_fraction(w, Basis::ALL[from], t).unwrap();
            let second = first.on(Basis::ALL[to], t).unwrap();
            let back = second.on(Basis::ALL[from], t).unwrap();
            prop_assert!((back.value() - first.value()).abs() <= 1e-9 * first.basis().most());
            prop_assert!((second.mass_fraction(t).unwrap().get() - w.get()).abs() < 1e-11);
        }

        #[test]
        fn stronger_is_heavier_and_warmer_is_lighter(percent in 0.1..49.9f64, t in 5.0..39.0f64) {
            let at = |p, t| density(MassFraction::from_percent(p).unwrap(), WaterTemperature::new(t).unwrap()).unwrap();
            prop_assert!(at(percent + 0.1, t) > at(percent, t));
            prop_assert!(at(percent, t + 1.0) < at(percent, t));
        }
    }
}
