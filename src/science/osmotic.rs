//! Osmotic pressure of a nutrient solution: what roots and a membrane have to pull against.

use uom::si::f64::{MassConcentration, MolarConcentration, Pressure};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::molar_concentration::mole_per_liter;
use uom::si::pressure::{kilopascal, psi};

use super::quantity::{OutOfRange, WaterTemperature, within};

/// Gas constant, kPa L/(mol K).
const GAS: f64 = 8.314_462_618;
/// Osmotic pressure for each mS/cm at 25 °C: 0.36 atm.
const EACH_MS_PER_CM_KPA: f64 = 0.36 * 101.325;

/// Osmotic pressure of so many dissolved particles: π = c R T.
///
/// Every ion counts by itself: a mole of calcium nitrate is three. Source: van 't Hoff's law, any textbook (from
/// memory); in nutrient solutions the particles pull a few per cent less. Range: 0 to 2 mol/L, 0 to 40 °C.
///
/// ```
/// use slackwater::science::osmotic::by_particles;
/// use slackwater::science::quantity::WaterTemperature;
/// use uom::si::f64::MolarConcentration;
/// use uom::si::molar_concentration::mole_per_liter;
/// use uom::si::pressure::kilopascal;
/// // 30 mmol/L of particles: 73 kPa.
/// let particles = MolarConcentration::new::<mole_per_liter>(0.030);
/// let pressure = by_particles(particles, WaterTemperature::TWENTY).unwrap();
/// assert!((pressure.get::<kilopascal>() - 73.12).abs() < 0.01);
/// ```
///
/// # Errors
/// More particles than the range.
pub fn by_particles(
    particles: MolarConcentration,
    temperature: WaterTemperature,
) -> Result<Pressure, OutOfRange> {
    let c = particles.get::<mole_per_liter>();
    let c = within("The dissolved particles", c, 0.0, 2.0, "\u{a0}mol/L")?;
    Ok(Pressure::new::<kilopascal>(c * GAS * temperature.kelvin()))
}

/// Osmotic pressure by the electrical conductivity at 25 °C: π = 0.36 atm for each mS/cm.
///
/// Source: handbook of the US Salinity Laboratory, 1954 (from memory), for the salts of soils and nutrient
/// solutions; a rule within about a tenth. Range: 0 to 20 mS/cm.
///
/// ```
/// use slackwater::science::osmotic::by_conductivity;
/// use uom::si::pressure::kilopascal;
/// assert!((by_conductivity(2.0).unwrap().get::<kilopascal>() - 73.0).abs() < 0.1);
/// assert!(by_conductivity(-1.0).is_err());
/// ```
///
/// # Errors
/// A conductivity outside the range.
pub fn by_conductivity(ms_per_cm: f64) -> Result<Pressure, OutOfRange> {
    let ec = within("The conductivity", ms_per_cm, 0.0, 20.0, "\u{a0}mS/cm")?;
    Ok(Pressure::new::<kilopascal>(ec * EACH_MS_PER_CM_KPA))
}

/// Osmotic pressure by what is dissolved: π = 1 psi for each 100 mg/L.
///
/// Source: a guide to water treatment, seen. A rule for the feed of a membrane. Range: 0 to 50 000 mg/L.
///
/// ```
/// use slackwater::science::osmotic::by_solids;
/// use uom::si::f64::MassConcentration;
/// use uom::si::mass_concentration::milligram_per_liter;
/// use uom::si::pressure::psi;
/// let feed = MassConcentration::new::<milligram_per_liter>(500.0);
/// assert!((by_solids(feed).unwrap().get::<psi>() - 5.0).abs() < 1e-9);
/// ```
///
/// # Errors
/// More solids than the range.
pub fn by_solids(solids: MassConcentration) -> Result<Pressure, OutOfRange> {
    let mg = solids.get::<milligram_per_liter>();
    let mg = within("What is dissolved", mg, 0.0, 50_000.0, "\u{a0}mg/L")?;
    Ok(Pressure::new::<psi>(mg / 100.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The three rules speak of one thing: a sodium chloride solution of 1 g/L has 34.2 mmol/L of ions and
    /// about 2 mS/cm.
    #[test]
    fn the_three_ways_are_near_each_other() {
        let ions = MolarConcentration::new::<mole_per_liter>(2.0 / 58.44);
        let first = by_particles(ions, WaterTemperature::new(25.0).unwrap()).unwrap();
        let second = by_conductivity(2.0).unwrap();
        let third = by_solids(MassConcentration::new::<milligram_per_liter>(1000.0)).unwrap();
        for other in [second, third] {
            assert!((other / first).value > 0.75 && (other / first).value < 1.0);
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let many = MolarConcentration::new::<mole_per_liter>(2.1);
        assert!(by_particles(many, WaterTemperature::TWENTY).is_err());
        assert!(by_conductivity(f64::NAN).is_err());
        assert!(by_solids(MassConcentration::new::<milligram_per_liter>(60_000.0)).is_err());
    }
}
