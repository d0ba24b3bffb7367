//! Measuring a flow with a bucket and a clock, and comparing flows taken on different days.

use uom::si::f64::{Length, Time, Volume, VolumeRate};
use uom::si::ratio::ratio;
use uom::si::time::second;
use uom::si::volume::liter;
use uom::si::volume_rate::liter_per_minute;

use super::pipe::Run;
use super::pump::{Curve, Operating};
use super::quantity::{OutOfRange, WaterTemperature, within};
use super::statistics::{mean_and_sd, t95};
use super::viscosity::Liquid;

/// A flow and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredFlow {
    /// The flow.
    pub flow: VolumeRate,
    /// Its error, ±; none from one run of a bucket whose errors were not given.
    pub error: VolumeRate,
}

/// Flow from one bucket: Q = V/t, relative error √((s_V/V)² + (s_t/t)²).
///
/// Range: volume 0.1 to 1000 L, time 1 s to 1 h, errors from 0 to half of each.
///
/// ```
/// use slackwater::science::flow_test::from_bucket;
/// use uom::si::f64::{Time, Volume};
/// use uom::si::time::second;
/// use uom::si::volume::liter;
/// use uom::si::volume_rate::liter_per_minute;
/// let (l, s) = (Volume::new::<liter>, Time::new::<second>);
/// let test = from_bucket(l(10.0), l(0.1), s(47.6), s(0.5))?;
/// assert!((test.flow.get::<liter_per_minute>() - 12.60504).abs() < 1e-5);
/// assert!((test.error.get::<liter_per_minute>() - 0.18281).abs() < 1e-5);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn from_bucket(
    volume: Volume,
    volume_error: Volume,
    time: Time,
    time_error: Time,
) -> Result<MeasuredFlow, OutOfRange> {
    let v = within(
        "The volume caught",
        volume.get::<liter>(),
        0.1,
        1000.0,
        "\u{a0}L",
    )?;
    let t = within("The time", time.get::<second>(), 1.0, 3600.0, "\u{a0}s")?;
    let sv = volume_error.get::<liter>();
    let sv = within("The error of the volume", sv, 0.0, v / 2.0, "\u{a0}L")?;
    let st = within(
        "The error of the time",
        time_error.get::<second>(),
        0.0,
        t / 2.0,
        "\u{a0}s",
    )?;
    let flow = volume / time;
    Ok(MeasuredFlow {
        flow,
        error: flow * (sv / v).hypot(st / t),
    })
}

/// Mean of repeated flows with its 95 % error: t s/√n.
///
/// Range: 2 to 50 flows of 0.01 to 2000 L/min.
///
/// ```
/// use slackwater::science::flow_test::mean_of;
/// use uom::si::f64::VolumeRate;
/// use uom::si::volume_rate::liter_per_minute;
/// let runs = [12.6, 12.7, 12.57].map(VolumeRate::new::<liter_per_minute>);
/// let mean = mean_of(&runs)?;
/// assert!((mean.flow.get::<liter_per_minute>() - 12.6233).abs() < 1e-4);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// Too few or too many flows, or one outside the range.
pub fn mean_of(flows: &[VolumeRate]) -> Result<MeasuredFlow, OutOfRange> {
    let count = flows.len() as f64;
    let too_few = || OutOfRange {
        what: "The number of runs",
        least: 2.0,
        most: 50.0,
        given: count,
        unit: "",
    };
    within("The number of runs", count, 2.0, 50.0, "")?;
    let mut litres = Vec::with_capacity(flows.len());
    for flow in flows {
        let flow = flow.get::<liter_per_minute>();
        litres.push(within("A flow", flow, 0.01, 2000.0, "\u{a0}L/min")?);
    }
    let (mean, sd) = mean_and_sd(&litres).ok_or_else(too_few)?;
    let t = t95(flows.len() - 1).ok_or_else(too_few)?;
    let rate = VolumeRate::new::<liter_per_minute>;
    Ok(MeasuredFlow {
        flow: rate(mean),
        error: rate(t * sd / count.sqrt()),
    })
}

/// The conditions under which a flow was measured, or to which it is brought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// From the reservoir's level to the outlet or bench water level.
    pub lift: Length,
    /// Water temperature.
    pub temperature: WaterTemperature,
}

/// A flow brought to other conditions, by what the pump's curve would give under both:
/// Q = Q_measured Q_curve(there)/Q_curve(here); none when the curve gives no flow under one.
///
/// Bring every flow to 20 °C and one lift before looking for a trend.
///
/// ```
/// use slackwater::science::flow_test::{Conditions, brought_to};
/// use slackwater::science::pipe::Run;
/// use slackwater::science::pump::Band;
/// use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
/// use uom::si::f64::VolumeRate;
/// use uom::si::volume_rate::liter_per_minute;
/// let pump = Band::from_two_points(metres(2.4), VolumeRate::new::<liter_per_minute>(25.0))?;
/// let run = Run::new(millimetres(19.05), metres(3.0), 5.0)?;
/// let cold = Conditions { lift: metres(1.0), temperature: WaterTemperature::new(10.0)? };
/// let usual = Conditions { lift: metres(0.9), temperature: WaterTemperature::TWENTY };
/// let measured = VolumeRate::new::<liter_per_minute>(12.0);
/// let flow = brought_to(measured, &cold, &usual, &pump.lower, &run)?.unwrap();
/// assert!(flow > measured);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A lift outside 0 to 100 m.
pub fn brought_to(
    measured: VolumeRate,
    here: &Conditions,
    there: &Conditions,
    pump: &Curve,
    run: &Run,
) -> Result<Option<VolumeRate>, OutOfRange> {
    let flow = |at: &Conditions| {
        pump.operating_point(at.lift, run, &Liquid::water(at.temperature))
            .map(|point| match point {
                Operating::Flow(point) => Some(point.flow),
                Operating::NoFlow => None,
            })
    };
    let (Some(here), Some(there)) = (flow(here)?, flow(there)?) else {
        return Ok(None);
    };
    Ok(Some(measured * (there / here).get::<ratio>()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::pump::Band;
    use crate::science::quantity::{metres, millimetres};

    #[test]
    fn a_flow_brought_to_its_own_conditions_stays() {
        let pump = Band::from_two_points(metres(2.4), VolumeRate::new::<liter_per_minute>(25.0));
        let run = Run::new(millimetres(19.05), metres(3.0), 5.0).unwrap();
        let at = Conditions {
            lift: metres(1.0),
            temperature: WaterTemperature::TWENTY,
        };
        let measured = VolumeRate::new::<liter_per_minute>(12.0);
        let curve = pump.unwrap().lower;
        assert_eq!(
            brought_to(measured, &at, &at, &curve, &run),
            Ok(Some(measured))
        );
        let high = Conditions {
            lift: metres(2.4),
            ..at
        };
        assert_eq!(brought_to(measured, &high, &at, &curve, &run), Ok(None));
    }

    #[test]
    fn one_run_has_no_scatter_and_wild_errors_are_refused() {
        assert!(mean_of(&[VolumeRate::new::<liter_per_minute>(12.0)]).is_err());
        let (l, s) = (Volume::new::<liter>, Time::new::<second>);
        assert!(from_bucket(l(10.0), l(6.0), s(47.6), s(0.5)).is_err());
        assert!(from_bucket(l(10.0), l(0.1), s(0.0), s(0.0)).is_err());
    }
}
