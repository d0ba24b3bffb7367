//! How long a bench takes to drain: quick while the drain pipe runs full, slow once it sucks air.

use std::f64::consts::PI;

use uom::si::f64::{Area, Length, Time, VolumeRate};
use uom::si::length::{meter, millimeter};
use uom::si::ratio::ratio;
use uom::si::time::second;
use uom::si::volume_rate::cubic_meter_per_second;

use super::numeric::{falling_root, integral};
use super::orifice::{Edge, Hole, free_area_m2};
use super::pipe::{GRAVITY, Run};
use super::quantity::{OutOfRange, WaterTemperature, within};
use super::viscosity::Liquid;

/// Where draining is no longer reckoned: below this the drain whirls and sucks air, and the rest
/// dribbles out of puddles and media films. 4 mm, of the 3 to 5 mm of the design notes.
pub const DRIBBLE_DEPTH_MM: f64 = 4.0;

/// A bench that drains through a hole into a pipe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draining {
    /// Free plan area: plan area times the drainable fraction of the media.
    pub free_area: Area,
    /// Water height at the start, over the hole.
    pub from: Length,
    /// Water height at the end; [`DRIBBLE_DEPTH_MM`] or more for a real bench.
    pub to: Length,
    /// Height of the hole over the pipe's outlet.
    pub drop: Length,
}

impl Draining {
    /// Area in m², and the heads over the outlet at start and end in m.
    fn checked(&self) -> Result<(f64, f64, f64), OutOfRange> {
        let area = free_area_m2(self.free_area)?;
        let from = within(
            "The water height at the start",
            self.from.get::<meter>(),
            0.0,
            5.0,
            "\u{a0}m",
        )?;
        let to = within(
            "The water height at the end",
            self.to.get::<meter>(),
            0.0,
            from,
            "\u{a0}m",
        )?;
        let drop = within(
            "The drop to the outlet",
            self.drop.get::<meter>(),
            0.0,
            20.0,
            "\u{a0}m",
        )?;
        within(
            "The head left at the end",
            (to + drop) * 1000.0,
            1.0,
            25_000.0,
            "\u{a0}mm",
        )?;
        Ok((area, from + drop, to + drop))
    }
}

/// The two ends between which a drain time lies. Plan with [`DrainTime::planned`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrainTime {
    /// The pipe runs full all the time and its drop pulls.
    pub full_pipe: Time,
    /// The drain sucks air: only the water over the hole drives it.
    pub hole_only: Time,
    /// What was added for the dribble at the end.
    pub dribble: Time,
}

impl DrainTime {
    /// The time to plan with: the slower of the two, and the dribble.
    ///
    /// ```
    /// use slackwater::science::drain::DrainTime;
    /// use uom::si::f64::Time;
    /// use uom::si::time::minute;
    /// let min = Time::new::<minute>;
    /// let time = DrainTime { full_pipe: min(2.6), hole_only: min(15.9), dribble: min(5.0) };
    /// assert!((time.planned().get::<minute>() - 20.9).abs() < 1e-12);
    /// ```
    pub fn planned(&self) -> Time {
        let slow = if self.full_pipe > self.hole_only {
            self.full_pipe
        } else {
            self.hole_only
        };
        slow + self.dribble
    }
}

/// Flow out of a bench while the pipe runs full, at a head over the pipe's outlet:
/// H = (1 + ΣK + f L/D) V²/2g, solved for V by bracketing. Range: head 1 mm to 25 m.
///
/// ```
/// use slackwater::science::drain::full_pipe_flow;
/// use slackwater::science::pipe::Run;
/// use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
/// use slackwater::science::viscosity::Liquid;
/// use uom::si::volume_rate::liter_per_minute;
/// let water = Liquid::water(WaterTemperature::TWENTY);
/// let pipe = Run::new(millimetres(19.05), metres(1.5), 1.5)?;
/// let flow = full_pipe_flow(metres(0.65), &pipe, &water)?;
/// assert!((flow.get::<liter_per_minute>() - 29.339).abs() < 1e-3);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A head outside the range.
pub fn full_pipe_flow(head: Length, pipe: &Run, liquid: &Liquid) -> Result<VolumeRate, OutOfRange> {
    let head = within(
        "The head over the outlet",
        head.get::<meter>() * 1000.0,
        1.0,
        25_000.0,
        "\u{a0}mm",
    )? / 1000.0;
    Ok(VolumeRate::new::<cubic_meter_per_second>(flow_at(
        head, pipe, liquid,
    )))
}

/// The same in m and m³/s.
fn flow_at(head: f64, pipe: &Run, liquid: &Liquid) -> f64 {
    let section = PI / 4.0 * pipe.bore().get::<meter>().powi(2);
    // With no loss at all the velocity head is the whole head: the flow lies below this.
    let most = section * (2.0 * GRAVITY * head).sqrt();
    let spare = |q: f64| head - (q / section).powi(2) / (2.0 * GRAVITY) - pipe.head_at(q, liquid);
    falling_root(spare, 0.0, most, most * 1e-7)
}

/// Time to drain while the pipe runs full.
///
/// t = ∫ A dh / (a V(H)), H = h + drop = (1 + ΣK + f L/D) V²/2g: the velocity head at the outlet
/// is counted here, so the run's ΣK must not hold the exit loss. Simpson's rule over √H, 24
/// panels. Range: area 0.001 to 1000 m², heights 0 to 5 m falling, drop 0 to 20 m, and at least
/// 1 mm of head left at the end.
///
/// ```
/// use slackwater::science::drain::{Draining, full_pipe_time};
/// use slackwater::science::pipe::Run;
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::viscosity::Liquid;
/// use uom::si::area::square_meter;
/// use uom::si::f64::{Area, Length};
/// use uom::si::length::{meter, millimeter};
/// use uom::si::time::minute;
///
/// let water = Liquid::water(WaterTemperature::TWENTY);
/// let m = Length::new::<meter>;
/// let pipe = Run::new(Length::new::<millimeter>(19.05), m(1.5), 1.5)?;
/// let bench = Draining {
///     free_area: Area::new::<square_meter>(2.88),
///     from: m(0.05),
///     to: m(0.0),
///     drop: m(0.6),
/// };
/// assert!((full_pipe_time(&bench, &pipe, &water)?.get::<minute>() - 5.0113).abs() < 1e-3);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A measure outside the range.
pub fn full_pipe_time(bench: &Draining, pipe: &Run, liquid: &Liquid) -> Result<Time, OutOfRange> {
    let (area, from, to) = bench.checked()?;
    // The flow goes nearly with the root of the head: over s = √H the integrand hardly bends.
    let seconds = integral(
        |s| 2.0 * s * area / flow_at(s * s, pipe, liquid),
        to.sqrt(),
        from.sqrt(),
        24,
    );
    Ok(Time::new::<second>(seconds))
}

/// Time to drain while the pipe runs full, with a friction factor that is held constant, to check
/// a drain time by hand.
///
/// t = (A/a) √(2 (1 + ΣK + f L/D)/g) (√H₁ - √H₂), H over the pipe's outlet. Range: as
/// [`full_pipe_time`]; friction factor 0.005 to 0.2.
///
/// ```
/// use slackwater::science::drain::{Draining, full_pipe_time_at};
/// use slackwater::science::pipe::Run;
/// use slackwater::science::quantity::{metres, millimetres};
/// use uom::si::area::square_meter;
/// use uom::si::f64::Area;
/// use uom::si::time::minute;
/// let pipe = Run::new(millimetres(19.05), metres(1.5), 1.5)?;
/// let bench = Draining {
///     free_area: Area::new::<square_meter>(2.88),
///     from: metres(0.05),
///     to: metres(0.0),
///     drop: metres(0.6),
/// };
/// assert!((full_pipe_time_at(&bench, &pipe, 0.028)?.get::<minute>() - 5.21759).abs() < 1e-5);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A measure outside the range.
pub fn full_pipe_time_at(
    bench: &Draining,
    pipe: &Run,
    friction_factor: f64,
) -> Result<Time, OutOfRange> {
    let (area, from, to) = bench.checked()?;
    let f = within("The friction factor", friction_factor, 0.005, 0.2, "")?;
    let resistance = 1.0 + pipe.k_sum() + f * (pipe.length() / pipe.bore()).get::<ratio>();
    let section = PI / 4.0 * pipe.bore().get::<meter>().powi(2);
    let seconds = area / section * (2.0 * resistance / GRAVITY).sqrt() * (from.sqrt() - to.sqrt());
    Ok(Time::new::<second>(seconds))
}

/// Both drain times of a bench: with its pipe full, and through the hole alone, plus a dribble
/// time of the grower's own (measured, or 0).
///
/// The hole has the bore of the pipe and a sharp edge. Range: as [`full_pipe_time`], dribble 0 to
/// 4 h.
///
/// ```
/// use slackwater::science::drain::{Draining, drain_time};
/// use slackwater::science::pipe::Run;
/// use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
/// use slackwater::science::viscosity::Liquid;
/// use uom::si::area::square_meter;
/// use uom::si::f64::{Area, Time};
/// use uom::si::time::minute;
/// let bench = Draining {
///     free_area: Area::new::<square_meter>(1.2096),
///     from: millimetres(75.0),
///     to: millimetres(4.0),
///     drop: metres(0.6),
/// };
/// let pipe = Run::new(millimetres(25.4), metres(1.5), 1.5)?;
/// let water = Liquid::water(WaterTemperature::TWENTY);
/// let time = drain_time(&bench, &pipe, Time::new::<minute>(5.0), &water)?;
/// // Once the drain sucks air, only the water over the hole drives it: plan with that.
/// assert!(time.hole_only > time.full_pipe * 3.0);
/// assert_eq!(time.planned(), time.hole_only + time.dribble);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A measure outside the range.
pub fn drain_time(
    bench: &Draining,
    pipe: &Run,
    dribble: Time,
    liquid: &Liquid,
) -> Result<DrainTime, OutOfRange> {
    within(
        "The dribble time",
        dribble.get::<second>() / 60.0,
        0.0,
        240.0,
        "\u{a0}min",
    )?;
    let hole = Hole::new(pipe.bore(), Edge::Sharp)?;
    Ok(DrainTime {
        full_pipe: full_pipe_time(bench, pipe, liquid)?,
        hole_only: hole.drain_time(bench.free_area, bench.from, bench.to)?,
        dribble,
    })
}

/// The height at which reckoning stops, [`DRIBBLE_DEPTH_MM`].
pub fn dribble_depth() -> Length {
    Length::new::<millimeter>(DRIBBLE_DEPTH_MM)
}

/// A drain rate brought to 20 °C: Q₂₀ = Q_T · Q_pipe(20 °C)/Q_pipe(T), as the full pipe would run under
/// the same fall in both; none where the pipe gives no flow.
///
/// It is the most that the temperature can have done: a drain that sucks air runs as its hole lets it,
/// and that hardly depends on the water's thickness. Range: fall as [`full_pipe_flow`].
///
/// ```
/// use slackwater::science::drain::at_twenty;
/// use slackwater::science::pipe::Run;
/// use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
/// use uom::si::f64::VolumeRate;
/// use uom::si::volume_rate::liter_per_minute;
/// let pipe = Run::new(millimetres(19.05), metres(1.5), 1.5)?;
/// let cold = VolumeRate::new::<liter_per_minute>(20.0);
/// let brought = at_twenty(cold, metres(0.65), &pipe, WaterTemperature::new(8.0)?)?.unwrap();
/// assert!(brought > cold && brought < cold * 1.05);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A fall outside the range.
pub fn at_twenty(
    measured: VolumeRate,
    drop: Length,
    pipe: &Run,
    water: WaterTemperature,
) -> Result<Option<VolumeRate>, OutOfRange> {
    let flow = |temperature| full_pipe_flow(drop, pipe, &Liquid::water(temperature));
    let (here, there) = (flow(water)?, flow(WaterTemperature::TWENTY)?);
    Ok((here.value > 0.0).then(|| measured * (there.value / here.value)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::quantity::WaterTemperature;
    use proptest::prelude::*;
    use uom::si::area::square_meter;
    use uom::si::time::minute;

    fn water() -> Liquid {
        Liquid::water(WaterTemperature::TWENTY)
    }

    fn bench(from_m: f64, drop_m: f64) -> Draining {
        let m = Length::new::<meter>;
        let free_area = Area::new::<square_meter>(2.88);
        Draining {
            free_area,
            from: m(from_m),
            to: m(0.004),
            drop: m(drop_m),
        }
    }

    fn pipe(bore_mm: f64, length_m: f64) -> Run {
        Run::new(
            Length::new::<millimeter>(bore_mm),
            Length::new::<meter>(length_m),
            1.5,
        )
        .unwrap()
    }

    proptest! {
        #[test]
        fn a_longer_drop_drains_sooner_and_a_longer_pipe_later(
            bore in 12.0..50.0f64, drop in 0.05..1.0f64, length in 0.5..5.0f64,
        ) {
            let time = |drop, length| {
                full_pipe_time(&bench(0.05, drop), &pipe(bore, length), &water()).unwrap()
            };
            prop_assert!(time(drop * 1.5, length) < time(drop, length));
            prop_assert!(time(drop, length * 1.5) > time(drop, length));
        }
    }

    proptest! {
        /// An independent second way: the flow does not stay as it is at the start, nor as it is at
        /// the end, so the closed forms with those two factors hold the integral between them.
        #[test]
        fn constant_friction_holds_the_integral_between(
            bore in 12.0..50.0f64, drop in 0.05..1.0f64, length in 0.5..5.0f64,
        ) {
            let (bench, pipe) = (bench(0.05, drop), pipe(bore, length));
            let time = full_pipe_time(&bench, &pipe, &water()).unwrap();
            let ends = [0.012, 0.06].map(|f| full_pipe_time_at(&bench, &pipe, f).unwrap());
            prop_assert!(ends[0] < time && time < ends[1], "{:?} {:?}", ends, time);
        }
    }

    #[test]
    fn the_plan_takes_the_slow_one() {
        let dribble = Time::new::<minute>(5.0);
        let time = drain_time(&bench(0.05, 0.6), &pipe(25.4, 1.5), dribble, &water()).unwrap();
        assert!(time.hole_only > time.full_pipe * 3.0);
        assert_eq!(time.planned(), time.hole_only + dribble);
        // A long thin pipe with hardly any drop is slower than its hole.
        let time = drain_time(&bench(0.05, 0.0), &pipe(12.7, 20.0), dribble, &water()).unwrap();
        assert_eq!(time.planned(), time.full_pipe + dribble);
    }

    #[test]
    fn the_last_millimetre_is_refused() {
        let mut dry = bench(0.05, 0.0);
        dry.to = Length::new::<millimeter>(0.0);
        assert!(full_pipe_time(&dry, &pipe(25.4, 1.5), &water()).is_err());
        assert_eq!(dribble_depth().get::<millimeter>(), 4.0);
    }
}
