//! How long a pump takes to flood a bench, while the lift grows.

use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Time, VolumeRate};
use uom::si::length::meter;
use uom::si::time::second;
use uom::si::volume_rate::cubic_meter_per_second;

use super::numeric::integral;
use super::pipe::Run;
use super::pump::Curve;
use super::quantity::{OutOfRange, within};
use super::viscosity::Liquid;

/// The rise of the water in a bench while the reservoir falls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rise {
    /// Free plan area of the bench: plan area times the drainable fraction of its media.
    pub free_area: Area,
    /// Height to flood, from the empty bench.
    pub depth: Length,
    /// Lift at the start: bench floor over the reservoir's level.
    pub lift: Length,
    /// Plan area of the reservoir; none when its level is held.
    pub reservoir_area: Option<Area>,
}

/// What a flooding takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Flooding {
    /// The water reaches the height.
    Floods {
        /// Time to the height.
        time: Time,
        /// Flow at the start.
        first: VolumeRate,
        /// Flow at the height.
        last: VolumeRate,
    },
    /// The pump's reach ends first, with the water standing this high.
    Stalls {
        /// Water height in the bench where the flow ends.
        at: Length,
    },
}

/// Time to flood, from the operating point at every height.
///
/// t = ∫ A dz / Q(z), lift(z) = lift + z + A z / A_reservoir; Simpson's rule over 24 panels, quasi
/// steady. About 7 % longer than the first flow held constant in a usual system. Range: area
/// 0.01 to 1000 m², depth 1 to 1000 mm, lift 0 to 100 m.
///
/// ```
/// use slackwater::science::flood_time::{Flooding, Rise, flood_time};
/// use slackwater::science::pipe::Run;
/// use slackwater::science::pump::Band;
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::viscosity::Liquid;
/// use uom::si::area::square_meter;
/// use uom::si::f64::{Area, Length, VolumeRate};
/// use uom::si::length::{meter, millimeter};
/// use uom::si::time::minute;
/// use uom::si::volume_rate::liter_per_minute;
///
/// let water = Liquid::water(WaterTemperature::TWENTY);
/// let m = Length::new::<meter>;
/// let pump = Band::from_two_points(m(2.4), VolumeRate::new::<liter_per_minute>(25.0))?;
/// let run = Run::new(Length::new::<millimeter>(19.05), m(3.0), 5.0)?;
/// let rise = Rise {
///     free_area: Area::new::<square_meter>(1.2096),
///     depth: m(0.075),
///     lift: m(0.9),
///     reservoir_area: Some(Area::new::<square_meter>(0.30)),
/// };
/// let Flooding::Floods { time, .. } = flood_time(&rise, &pump.upper, &run, &water)? else {
///     unreachable!("the lift ends at 1.28 m")
/// };
/// assert!((time.get::<minute>() - 5.866).abs() < 1e-3);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A measure outside the range.
pub fn flood_time(
    rise: &Rise,
    pump: &Curve,
    run: &Run,
    liquid: &Liquid,
) -> Result<Flooding, OutOfRange> {
    let area = within(
        "The free bench area",
        rise.free_area.get::<square_meter>(),
        0.01,
        1000.0,
        "\u{a0}m²",
    )?;
    let depth = within(
        "The flood depth",
        rise.depth.get::<meter>(),
        0.001,
        1.0,
        "\u{a0}m",
    )?;
    let lift = within("The lift", rise.lift.get::<meter>(), 0.0, 100.0, "\u{a0}m")?;
    let fall_per_rise = match rise.reservoir_area {
        None => 0.0,
        Some(reservoir) => {
            area / within(
                "The reservoir area",
                reservoir.get::<square_meter>(),
                0.01,
                1000.0,
                "\u{a0}m²",
            )?
        }
    };
    let lift_at = |z: f64| lift + z * (1.0 + fall_per_rise);
    let flow_at = |z: f64| pump.flow_against(lift_at(z), run, liquid);
    let (Some(first), Some(last)) = (flow_at(0.0), flow_at(depth)) else {
        let reach = (pump.shut_off_head().get::<meter>() - lift) / (1.0 + fall_per_rise);
        return Ok(Flooding::Stalls {
            at: Length::new::<meter>(reach.max(0.0)),
        });
    };
    let seconds = integral(
        |z| area / flow_at(z).unwrap_or(f64::MIN_POSITIVE),
        0.0,
        depth,
        24,
    );
    Ok(Flooding::Floods {
        time: Time::new::<second>(seconds),
        first: VolumeRate::new::<cubic_meter_per_second>(first),
        last: VolumeRate::new::<cubic_meter_per_second>(last),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::pump::Band;
    use crate::science::quantity::WaterTemperature;
    use proptest::prelude::*;
    use uom::si::length::millimeter;
    use uom::si::volume_rate::liter_per_minute;

    fn flooding(lift_m: f64, depth_m: f64, reservoir_m2: Option<f64>) -> Flooding {
        let water = Liquid::water(WaterTemperature::TWENTY);
        let m = Length::new::<meter>;
        let pump =
            Band::from_two_points(m(2.4), VolumeRate::new::<liter_per_minute>(25.0)).unwrap();
        let run = Run::new(Length::new::<millimeter>(19.05), m(3.0), 5.0).unwrap();
        let rise = Rise {
            free_area: Area::new::<square_meter>(1.2),
            depth: m(depth_m),
            lift: m(lift_m),
            reservoir_area: reservoir_m2.map(Area::new::<square_meter>),
        };
        flood_time(&rise, &pump.upper, &run, &water).unwrap()
    }

    proptest! {
        #[test]
        fn the_time_lies_between_first_and_last_flow(
            lift in 0.0..1.2f64, depth in 0.01..0.2f64, reservoir in 0.3..5.0f64,
        ) {
            let Flooding::Floods { time, first, last } = flooding(lift, depth, Some(reservoir))
            else {
                return Err(TestCaseError::fail("within reach"));
            };
            let volume = Area::new::<square_meter>(1.2) * Length::new::<meter>(depth);
            prop_assert!(time >= volume / first && time <= volume / last);
        }

        #[test]
        fn a_falling_reservoir_takes_longer(lift in 0.0..1.2f64, depth in 0.01..0.2f64) {
            let time = |reservoir| match flooding(lift, depth, reservoir) {
                Flooding::Floods { time, .. } => time,
                Flooding::Stalls { .. } => Time::new::<second>(f64::INFINITY),
            };
            prop_assert!(time(Some(0.5)) > time(None));
        }
    }

    #[test]
    fn the_pump_stalls_where_its_reach_ends() {
        let Flooding::Stalls { at } = flooding(2.3, 0.2, None) else {
            panic!("2.5 m is too high")
        };
        assert!((at.get::<meter>() - 0.1).abs() < 1e-12);
        let Flooding::Stalls { at } = flooding(3.0, 0.2, None) else {
            panic!("3 m is too high")
        };
        assert_eq!(at.get::<meter>(), 0.0);
    }
}
