//! Water that leaves a free surface: an open bench, a reservoir without a lid, a puddle. To plan a top-up
//! and to know how damp a room gets; no re-entry may rest on it.

use uom::si::area::{square_foot, square_meter};
use uom::si::available_energy::kilojoule_per_kilogram;
use uom::si::f64::{AvailableEnergy, MassRate, Pressure, Velocity};
use uom::si::mass_rate::{kilogram_per_hour, kilogram_per_second, pound_per_minute};
use uom::si::pressure::{kilopascal, millimeter_of_mercury, pascal};
use uom::si::velocity::meter_per_second;

use super::quantity::{Area, OutOfRange, WaterTemperature, within};
use super::vapour::water_pressure;

/// Heat that passes from air to a wet surface, in still air, kW/(m² kPa), and what each metre a second of
/// air over it adds. They are 95 Btu/(h ft² inHg) and 0.425 for each foot a minute in SI, rounded.
const CARRIER: (f64, f64) = (0.089, 0.0782);
/// What quiet water gave of that, as measured.
pub const QUIET: f64 = 0.74;
/// Kilograms an hour from a square metre for each kilogram of water in a kilogram of air, and what each
/// metre a second adds.
const BY_HUMIDITY: (f64, f64) = (25.0, 19.0);
/// Coefficient of the pool formula, in pounds, feet, millimetres of mercury, metres a second.
const POOL: f64 = 0.284;
/// Gas constant as the pool formula takes it, atm cm³/(mol K).
const POOL_GAS: f64 = 82.05;
/// Molar mass of water over that of dry air.
const WATER_OVER_AIR: f64 = 0.621_98;
/// One atmosphere, Pa.
const ATMOSPHERE: f64 = 101_325.0;
/// The largest surface, m².
const LARGEST: f64 = 10_000.0;
/// The fastest air, m/s: a draught of vents, not a storm.
const FASTEST: f64 = 10.0;

/// A free surface with the air that runs over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeSurface {
    area_m2: f64,
    metres_a_second: f64,
}

/// Heat that a kilogram of water takes with it as it evaporates.
///
/// r = 2500.9 − 2.3645 t − 0.00018 t², kJ/kg, t in °C. Source: fitted here to steam tables (IAPWS; from
/// memory), within 0.2 kJ/kg. Range: 0 to 40 °C.
///
/// ```
/// use slackwater::science::evaporation::latent_heat;
/// use slackwater::science::quantity::WaterTemperature;
/// use uom::si::available_energy::kilojoule_per_kilogram;
/// let heat = latent_heat(WaterTemperature::TWENTY).get::<kilojoule_per_kilogram>();
/// assert!((heat - 2453.5).abs() < 0.2);
/// ```
pub fn latent_heat(temperature: WaterTemperature) -> AvailableEnergy {
    let t = temperature.degrees();
    AvailableEnergy::new::<kilojoule_per_kilogram>(2500.9 - 2.3645 * t - 0.000_18 * t * t)
}

/// Pressure of the water vapour in air of a relative humidity: a part of what air of its temperature can
/// hold. Range: 0 to 100 %, air at 0 to 40 °C.
///
/// ```
/// use slackwater::science::evaporation::vapour_in_air;
/// use slackwater::science::quantity::WaterTemperature;
/// use uom::si::pressure::pascal;
/// let half = vapour_in_air(50.0, WaterTemperature::TWENTY).unwrap();
/// assert!((half.get::<pascal>() - 1169.6).abs() < 0.1);
/// assert!(vapour_in_air(101.0, WaterTemperature::TWENTY).is_err());
/// ```
///
/// # Errors
/// A humidity outside the range.
pub fn vapour_in_air(percent: f64, air: WaterTemperature) -> Result<Pressure, OutOfRange> {
    let part = within("The humidity of the air", percent, 0.0, 100.0, "\u{a0}%")? / 100.0;
    Ok(water_pressure(air) * part)
}

/// Kilograms of water in a kilogram of dry air at a pressure of vapour: x = 0.62198 p/(1 atm − p). Range: up
/// to the 7.4 kPa of air full of vapour at 40 °C.
///
/// ```
/// use slackwater::science::evaporation::water_in_air;
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::vapour::water_pressure;
/// // Full of vapour at 25 °C: 0.0201 kg in a kilogram, as charts of damp air show.
/// let full = water_in_air(water_pressure(WaterTemperature::new(25.0).unwrap()));
/// assert!((full - 0.0201).abs() < 0.0001);
/// ```
pub fn water_in_air(vapour: Pressure) -> f64 {
    let p = vapour.get::<pascal>();
    WATER_OVER_AIR * p / (ATMOSPHERE - p)
}

impl FreeSurface {
    /// A surface of this area, with air running over it this fast.
    ///
    /// ```
    /// use slackwater::science::evaporation::FreeSurface;
    /// use uom::si::area::square_meter;
    /// use uom::si::f64::{Area, Velocity};
    /// use uom::si::velocity::meter_per_second;
    /// let area = Area::new::<square_meter>(2.88);
    /// assert!(FreeSurface::new(area, Velocity::new::<meter_per_second>(0.1)).is_ok());
    /// assert!(FreeSurface::new(area, Velocity::new::<meter_per_second>(20.0)).is_err());
    /// ```
    ///
    /// # Errors
    /// An area outside 0.0001 to 10 000 m², air outside 0 to 10 m/s.
    pub fn new(area: Area, air: Velocity) -> Result<Self, OutOfRange> {
        let area = area.get::<square_meter>();
        let air = air.get::<meter_per_second>();
        Ok(Self {
            area_m2: within("The surface", area, 0.000_1, LARGEST, "\u{a0}m²")?,
            metres_a_second: within("The air over it", air, 0.0, FASTEST, "\u{a0}m/s")?,
        })
    }

    /// Water that evaporates, by the vapour that is missing in the air over it; none from water that is
    /// colder than the dew point of the air, where it gathers instead.
    ///
    /// W = A (p_w − p_a)(0.089 + 0.0782 v)/r, with pressures in kPa, v in m/s and r the latent heat in kJ/kg
    /// at the temperature of the water. Source: Carrier's equation as ASHRAE gives it, (95 + 0.425 v) in
    /// US units, seen in a stored abstract; SI constants from memory, and they agree. Quiet water gave
    /// 74 % of it, as measured ([`QUIET`]). Water and air at 0 to 40 °C.
    ///
    /// ```
    /// use slackwater::science::evaporation::{FreeSurface, vapour_in_air};
    /// use slackwater::science::quantity::WaterTemperature;
    /// use uom::si::area::square_meter;
    /// use uom::si::f64::{Area, Velocity};
    /// use uom::si::mass_rate::kilogram_per_hour;
    /// use uom::si::velocity::meter_per_second;
    /// // A bench of 2.88 m² at 22 °C, in air of 22 °C and 60 %: 0.434 kg an hour.
    /// let bench = FreeSurface::new(
    ///     Area::new::<square_meter>(2.88),
    ///     Velocity::new::<meter_per_second>(0.1),
    /// )?;
    /// let t = WaterTemperature::new(22.0)?;
    /// let lost = bench.evaporates(t, vapour_in_air(60.0, t)?);
    /// assert!((lost.get::<kilogram_per_hour>() - 0.4338).abs() < 0.0001);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn evaporates(&self, water: WaterTemperature, in_air: Pressure) -> MassRate {
        let missing = (water_pressure(water) - in_air)
            .get::<kilopascal>()
            .max(0.0);
        let (still, moved) = CARRIER;
        let kilowatts = self.area_m2 * missing * (still + moved * self.metres_a_second);
        let heat = latent_heat(water).get::<kilojoule_per_kilogram>();
        MassRate::new::<kilogram_per_second>(kilowatts / heat)
    }

    /// The same by kilograms of water in a kilogram of dry air: what the air could hold at the temperature of
    /// the water, and what it holds.
    ///
    /// g = (25 + 19 v) A (x_s − x), kg/h. Source: a worked example of an engineering reference, quoted on a
    /// stored page. Range: 0 to 0.1 kg/kg each.
    ///
    /// ```
    /// use slackwater::science::evaporation::FreeSurface;
    /// use uom::si::area::square_meter;
    /// use uom::si::f64::{Area, Velocity};
    /// use uom::si::mass_rate::kilogram_per_second;
    /// use uom::si::velocity::meter_per_second;
    /// // 25 m by 20 m under 0.5 m/s: 0.04 kg a second.
    /// let pool = FreeSurface::new(
    ///     Area::new::<square_meter>(500.0),
    ///     Velocity::new::<meter_per_second>(0.5),
    /// )?;
    /// let lost = pool.evaporates_by_humidity(0.019826, 0.0115)?;
    /// assert!((lost.get::<kilogram_per_second>() - 0.0399).abs() < 0.0001);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// More water in air than the range.
    pub fn evaporates_by_humidity(&self, full: f64, holds: f64) -> Result<MassRate, OutOfRange> {
        let full = within("What the air can hold", full, 0.0, 0.1, "\u{a0}kg/kg")?;
        let holds = within("What the air holds", holds, 0.0, 0.1, "\u{a0}kg/kg")?;
        let (still, moved) = BY_HUMIDITY;
        let each = still + moved * self.metres_a_second;
        Ok(MassRate::new::<kilogram_per_hour>(
            each * self.area_m2 * (full - holds).max(0.0),
        ))
    }

    /// Any liquid that evaporates from a pool into air that holds none of it.
    ///
    /// Q = 0.284 v^0.78 M^(2/3) A p/(82.05 T), lb/min, with v in m/s, M in g/mol, A in ft², p in mmHg, T in K.
    /// Source: US EPA, guidance for risk management programs, 1999, equation D-1 (coefficient from memory; it
    /// agrees with the 0.67 cm/s for water that the guidance names). In wind tunnels the power of the air
    /// was 0.10 and not 0.78: in the slow air of a room it says too little, so less than 0.1 m/s is not
    /// reckoned with. Range: 0.1 to 10 m/s, 2 to 500 g/mol, up to 1 atm, liquid at 0 to 40 °C.
    ///
    /// ```
    /// use slackwater::science::evaporation::FreeSurface;
    /// use slackwater::science::quantity::WaterTemperature;
    /// use uom::si::area::square_meter;
    /// use uom::si::f64::{Area, Pressure, Velocity};
    /// use uom::si::mass_rate::gram_per_second;
    /// use uom::si::pressure::millimeter_of_mercury;
    /// use uom::si::velocity::meter_per_second;
    /// let pool = FreeSurface::new(
    ///     Area::new::<square_meter>(1.0),
    ///     Velocity::new::<meter_per_second>(1.5),
    /// )?;
    /// let pressure = Pressure::new::<millimeter_of_mercury>(23.77);
    /// let lost = pool.pool(18.02, pressure, WaterTemperature::new(25.0)?)?;
    /// assert!((lost.get::<gram_per_second>() - 0.2118).abs() < 0.0001);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Slower air, or a molar mass or pressure outside the range.
    pub fn pool(
        &self,
        grams_per_mole: f64,
        pressure: Pressure,
        liquid: WaterTemperature,
    ) -> Result<MassRate, OutOfRange> {
        let air = within(
            "The air over a pool",
            self.metres_a_second,
            0.1,
            FASTEST,
            "\u{a0}m/s",
        )?;
        let molar_mass = within("The molar mass", grams_per_mole, 2.0, 500.0, "\u{a0}g/mol")?;
        let mmhg = pressure.get::<millimeter_of_mercury>();
        let mmhg = within("The vapour pressure", mmhg, 0.0, 760.0, "\u{a0}mmHg")?;
        let square_feet = Area::new::<square_meter>(self.area_m2).get::<square_foot>();
        let numerator = POOL * air.powf(0.78) * molar_mass.powf(2.0 / 3.0) * square_feet * mmhg;
        Ok(MassRate::new::<pound_per_minute>(
            numerator / (POOL_GAS * liquid.kelvin()),
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn surface(area: f64, air: f64) -> FreeSurface {
        FreeSurface::new(
            Area::new::<square_meter>(area),
            Velocity::new::<meter_per_second>(air),
        )
        .unwrap()
    }

    proptest! {
        #[test]
        fn drier_or_faster_air_and_warmer_water_take_more(
            t in 5.0..35.0f64, humidity in 5.0..90.0f64, air in 0.0..4.0f64,
        ) {
            let lost = |t: f64, humidity: f64, air: f64| {
                let water = WaterTemperature::new(t).unwrap();
                let there = vapour_in_air(humidity, WaterTemperature::TWENTY).unwrap();
                surface(2.0, air).evaporates(water, there).value
            };
            prop_assert!(lost(t, humidity + 1.0, air) <= lost(t, humidity, air));
            prop_assert!(lost(t, humidity, air + 0.1) >= lost(t, humidity, air));
            prop_assert!(lost(t + 1.0, humidity, air) >= lost(t, humidity, air));
        }

        /// Two published formulas, one by pressures and one by the water in air, are within a third.
        #[test]
        fn two_published_formulas_are_not_far_apart(t in 10.0..35.0f64, humidity in 10.0..80.0f64, air in 0.0..1.0f64) {
            let water = WaterTemperature::new(t).unwrap();
            let there = vapour_in_air(humidity, water).unwrap();
            let surface = surface(2.0, air);
            let first = surface.evaporates(water, there).value;
            let second = surface
                .evaporates_by_humidity(water_in_air(water_pressure(water)), water_in_air(there))
                .unwrap()
                .value;
            prop_assert!((first / second - 1.0).abs() < 0.34, "{first} {second}");
        }
    }

    #[test]
    fn nothing_leaves_where_the_air_is_full_and_what_cannot_be_is_refused() {
        let t = WaterTemperature::TWENTY;
        let full = vapour_in_air(100.0, t).unwrap();
        assert_eq!(surface(2.0, 1.0).evaporates(t, full).value, 0.0);
        let cold = WaterTemperature::new(5.0).unwrap();
        assert_eq!(surface(2.0, 1.0).evaporates(cold, full).value, 0.0);
        let none = surface(1.0, 1.0).pool(18.0, Pressure::new::<pascal>(0.0), t);
        assert_eq!(none.unwrap().value, 0.0);
        assert!(surface(1.0, 0.05).pool(18.0, full, t).is_err());
        assert!(surface(1.0, 1.0).evaporates_by_humidity(0.2, 0.0).is_err());
    }
}
