//! Water in fine bores: how high it climbs by itself between grains or fibres, and what it takes to push it
//! through a capillary.

use std::f64::consts::PI;

use uom::si::angle::degree;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::{Angle, Length, Pressure, VolumeRate};
use uom::si::length::{meter, micrometer};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::pressure::pascal;
use uom::si::volume_rate::cubic_meter_per_second;

use super::friction::LAMINAR_BELOW;
use super::pipe::GRAVITY;
use super::quantity::{OutOfRange, WaterTemperature, in_millimetres, within};
use super::viscosity::Liquid;
use super::water;

/// Critical temperature of water, K.
const CRITICAL_K: f64 = 647.096;

/// Surface tension of water against air, N/m.
///
/// σ = 0.2358 θ^1.256 (1 − 0.625 θ), θ = 1 − T/647.096 K. Source: IAPWS R1-76 (coefficients from memory, held to
/// 72.75 mN/m at 20 °C). A trace of detergent takes half of it. Range: 0 to 40 °C.
///
/// ```
/// use slackwater::science::capillary::surface_tension;
/// use slackwater::science::quantity::WaterTemperature;
/// assert!((surface_tension(WaterTemperature::TWENTY) - 0.07275).abs() < 0.00002);
/// ```
pub fn surface_tension(temperature: WaterTemperature) -> f64 {
    let theta = 1.0 - temperature.kelvin() / CRITICAL_K;
    0.2358 * theta.powf(1.256) * (1.0 - 0.625 * theta)
}

/// How high water climbs in a round bore by itself; below nothing where the wall repels it.
///
/// h = 4 σ cos φ/(ρ g d), with φ the angle at which water meets the wall: 0 for clean glass and wetted mineral,
/// above 90° for wax. Source: Jurin's law, any textbook (from memory). Water keeps standing that high over
/// a drain, which is why a shallow bed of fine media drains so little. Range: bores of 1 µm to 10 mm, 0 to
/// 180°, 0 to 40 °C.
///
/// ```
/// use slackwater::science::capillary::rise;
/// use slackwater::science::quantity::{WaterTemperature, in_millimetres, millimetres};
/// use uom::si::angle::degree;
/// use uom::si::f64::Angle;
/// // Pores of 1 mm hold 30 mm of water over the drain.
/// let wet = Angle::new::<degree>(0.0);
/// let height = rise(millimetres(1.0), wet, WaterTemperature::TWENTY).unwrap();
/// assert!((in_millimetres(height) - 29.7).abs() < 0.1);
/// ```
///
/// # Errors
/// A bore or an angle outside the range.
pub fn rise(
    bore: Length,
    angle: Angle,
    temperature: WaterTemperature,
) -> Result<Length, OutOfRange> {
    let d = within(
        "The bore",
        bore.get::<micrometer>(),
        1.0,
        10_000.0,
        "\u{a0}µm",
    )? * 1e-6;
    let angle = angle.get::<degree>();
    let angle = within("The angle at the wall", angle, 0.0, 180.0, "°")?;
    let weight = water::density(temperature).get::<kilogram_per_cubic_meter>() * GRAVITY;
    let pull = 4.0 * surface_tension(temperature) * angle.to_radians().cos();
    Ok(Length::new::<meter>(pull / (weight * d)))
}

/// What a flow takes to be pushed through a capillary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pushed {
    /// The Reynolds number; laminar below 2 040.
    pub reynolds: f64,
    /// The pressure from end to end.
    pub pressure: Pressure,
}

/// What a flow takes to be pushed through a fine straight bore, such as a drip capillary.
///
/// Re = 4 ρ Q/(π d μ), Δp = 128 μ L Q/(π d⁴): the law of Hagen and Poiseuille, laminar flow alone. Source: any
/// textbook (from memory). Ends are not counted. Range: bores of 0.05 to 10 mm, 1 mm to 100 m long.
///
/// ```
/// use slackwater::science::capillary::push;
/// use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
/// use slackwater::science::viscosity::Liquid;
/// use uom::si::f64::VolumeRate;
/// use uom::si::pressure::kilopascal;
/// use uom::si::volume_rate::liter_per_minute;
/// let flow = VolumeRate::new::<liter_per_minute>(0.001);
/// let water = Liquid::water(WaterTemperature::TWENTY);
/// let pushed = push(flow, millimetres(0.75), metres(0.98), &water).unwrap();
/// assert!((pushed.reynolds - 28.2).abs() < 0.1);
/// assert!((pushed.pressure.get::<kilopascal>() - 2.1).abs() < 0.01);
/// ```
///
/// # Errors
/// A bore or a length outside the range, or a flow that is not laminar.
pub fn push(
    flow: VolumeRate,
    bore: Length,
    length: Length,
    liquid: &Liquid,
) -> Result<Pushed, OutOfRange> {
    let d = within("The bore", in_millimetres(bore), 0.05, 10.0, "\u{a0}mm")? / 1000.0;
    let l = within("The length", length.get::<meter>(), 0.001, 100.0, "\u{a0}m")?;
    let q = flow.get::<cubic_meter_per_second>();
    let mu = liquid.viscosity.get::<pascal_second>();
    let rho = liquid.density.get::<kilogram_per_cubic_meter>();
    let reynolds = 4.0 * rho * q / (PI * d * mu);
    // A refusal tells a whole number, rounded up and so above the limit.
    let told = if reynolds > LAMINAR_BELOW {
        reynolds.ceil()
    } else {
        reynolds
    };
    within(
        "The Reynolds number of a capillary, where the flow is laminar,",
        told,
        0.0,
        LAMINAR_BELOW,
        "",
    )?;
    Ok(Pushed {
        reynolds,
        pressure: Pressure::new::<pascal>(128.0 * mu * l * q / (PI * d.powi(4))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::pipe::Run;
    use crate::science::quantity::{metres, millimetres};
    use uom::si::volume_rate::liter_per_minute;

    /// A second way: the same bore as a run of tubing, by its friction factor.
    #[test]
    fn a_capillary_loses_what_a_run_of_tubing_does() {
        let water = Liquid::water(WaterTemperature::TWENTY);
        let flow = VolumeRate::new::<liter_per_minute>(0.3);
        let pushed = push(flow, millimetres(4.0), metres(2.0), &water).unwrap();
        let run = Run::new(millimetres(4.0), metres(2.0), 0.0).unwrap();
        let lost = run.loss(flow, &water).unwrap();
        let head = lost.head().get::<meter>() * water.density.value * GRAVITY;
        assert!((pushed.pressure.value / head - 1.0).abs() < 1e-6);
        assert!((pushed.reynolds / lost.reynolds - 1.0).abs() < 1e-9);
    }

    #[test]
    fn finer_bores_lift_higher_and_wax_pushes_water_down() {
        let t = WaterTemperature::TWENTY;
        let height = |mm: f64, degrees: f64| {
            let height = rise(millimetres(mm), Angle::new::<degree>(degrees), t);
            height.map(in_millimetres)
        };
        assert!((height(0.1, 0.0).unwrap() / height(1.0, 0.0).unwrap() - 10.0).abs() < 1e-9);
        assert!(height(1.0, 110.0).unwrap() < 0.0);
        assert!(height(0.0, 0.0).is_err() && height(11.0, 0.0).is_err());
        assert!(height(1.0, 181.0).is_err());
        let fast = VolumeRate::new::<liter_per_minute>(1.0);
        let water = Liquid::water(t);
        assert!(push(fast, millimetres(1.0), metres(1.0), &water).is_err());
    }
}
