//! Water itself: how much a litre weighs at a temperature.

use uom::si::mass_density::kilogram_per_cubic_meter;

use super::quantity::{MassDensity, WaterTemperature};

/// Density of air-free water at 1 atm.
///
/// ρ = (999.83952 + 16.945176 t − 7.9870401·10⁻³ t² − 46.170461·10⁻⁶ t³ + 105.56302·10⁻⁹ t⁴
/// − 280.54253·10⁻¹² t⁵) / (1 + 16.879850·10⁻³ t), in kg/m³ with t in °C.
///
/// Source: G. S. Kell, J. Chem. Eng. Data, 1975, equation 16 (constants from memory, checked
/// against published densities). The last constant is often copied with two digits swapped,
/// which makes water at 25 °C too light by 0.3 kg/m³; a test guards it.
///
/// ```
/// use slackwater::science::quantity::{WaterTemperature, in_kilograms_per_litre};
/// let density = slackwater::science::water::density(WaterTemperature::new(25.0).unwrap());
/// assert!((in_kilograms_per_litre(density) - 0.99704).abs() < 0.00002);
/// ```
pub fn density(temperature: WaterTemperature) -> MassDensity {
    let t = temperature.degrees();
    let numerator = 999.839_52
        + t * (16.945_176
            + t * (-7.987_040_1e-3
                + t * (-46.170_461e-6 + t * (105.563_02e-9 + t * -280.542_53e-12))));
    MassDensity::new::<kilogram_per_cubic_meter>(numerator / (1.0 + 16.879_850e-3 * t))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_is_heaviest_at_four_degrees() {
        let at = |t| density(WaterTemperature::new(t).unwrap()).value;
        assert!(at(4.0) > at(3.0) && at(4.0) > at(5.0));
        assert!((at(4.0) - 999.97).abs() < 0.01);
        assert!((at(0.0) - 999.84).abs() < 0.01 && (at(40.0) - 992.22).abs() < 0.02);
    }

    #[test]
    fn the_swapped_digits_would_be_seen() {
        let swapped = (density(WaterTemperature::new(25.0).unwrap()).value)
            * (1.0 + 16.879_850e-3 * 25.0)
            / (1.0 + 16.897_850e-3 * 25.0);
        assert!((swapped / 1000.0 - 0.996_73).abs() < 0.000_02);
        assert!((swapped / 1000.0 - 0.997_04).abs() > 0.000_2);
    }
}
