//! Purified water: what a membrane gives on a cold day, and the tank that a clean-out needs.

use uom::si::f64::{Time, Volume, VolumeRate};
use uom::si::time::{hour, minute};
use uom::si::volume::liter;
use uom::si::volume_rate::liter_per_minute;

use super::quantity::{OutOfRange, WaterTemperature, within};

/// A second published table: temperature, factor (water treatment guide).
const TABLE: [(f64, f64); 6] = [
    (5.0, 2.58),
    (10.0, 1.89),
    (15.0, 1.47),
    (20.0, 1.19),
    (25.0, 1.0),
    (30.0, 0.85),
];

/// A flow from litres an hour, the unit of small membranes.
pub fn litres_per_hour(value: f64) -> VolumeRate {
    VolumeRate::new::<liter_per_minute>(value / 60.0)
}

/// The litres an hour of a flow.
pub fn in_litres_per_hour(flow: VolumeRate) -> f64 {
    flow.get::<liter_per_minute>() * 60.0
}

/// Temperature correction by formula: exp(E (1/T - 1/298.15)), E = 3020 K below 25 °C, 2640 above.
///
/// The rated flow is divided by it. Source: fit to a thin-film membrane maker's chart, within
/// 0.002 of it from 10 to 29 °C. Range: 0 to 40 °C.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::ro::correction_by_formula;
/// assert!((correction_by_formula(WaterTemperature::new(15.0)?) - 1.422).abs() < 0.002);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
pub fn correction_by_formula(feed: WaterTemperature) -> f64 {
    let energy = if feed.degrees() < 25.0 {
        3020.0
    } else {
        2640.0
    };
    (energy * (1.0 / feed.kelvin() - 1.0 / 298.15)).exp()
}

/// Temperature correction by the second table, straight lines between its rows. The two sources
/// differ by 11 % at 10 °C and 25 % at 5 °C. Range: 5 to 30 °C.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::ro::correction_by_table;
/// assert_eq!(correction_by_table(WaterTemperature::new(10.0)?)?, 1.89);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A temperature outside the table.
pub fn correction_by_table(feed: WaterTemperature) -> Result<f64, OutOfRange> {
    let t = within("The feed water", feed.degrees(), 5.0, 30.0, "\u{a0}°C")?;
    let mut factor = 1.0;
    for pair in TABLE.windows(2) {
        let [(t0, f0), (t1, f1)] = *pair else {
            continue;
        };
        if t >= t0 {
            factor = f0 + (f1 - f0) * (t - t0) / (t1 - t0);
        }
    }
    Ok(factor)
}

/// Flow of a membrane at a feed temperature: the rated flow (25 °C) over the larger of the two
/// corrections, because too little water stops a clean-out and too much does not.
///
/// A flow measured with bucket and clock always wins. Range: 5 to 30 °C, rated 0.1 to 10 000 L/h.
///
/// ```
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::ro::{flow_at, in_litres_per_hour, litres_per_hour};
/// let rated = litres_per_hour(12.0);
/// let cold = flow_at(rated, WaterTemperature::new(10.0)?)?;
/// assert!((in_litres_per_hour(cold) - 6.349).abs() < 1e-3);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn flow_at(rated: VolumeRate, feed: WaterTemperature) -> Result<VolumeRate, OutOfRange> {
    supply_in_range("The rated flow", rated)?;
    Ok(rated / correction_by_formula(feed).max(correction_by_table(feed)?))
}

fn supply_in_range(what: &'static str, flow: VolumeRate) -> Result<f64, OutOfRange> {
    within(what, in_litres_per_hour(flow), 0.1, 10_000.0, "\u{a0}L/h")
}

/// Water drawn at once at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draw {
    /// When, from the start of the work.
    pub at: Time,
    /// How much.
    pub volume: Volume,
}

/// The tank that lets a slow membrane serve quick draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Buffer {
    /// Water that must stand in the tank at the start, and its least size.
    pub volume: Volume,
    /// How long before the start the tank must begin to fill from empty.
    pub prefill: Time,
}

/// The buffer that a list of draws needs at a supply: the largest lack of water, where what the
/// membrane gives while the tank is full is lost.
///
/// Range: supply 0.1 to 10 000 L/h; draws in order, each 0 to 100 000 L, within 90 days.
///
/// ```
/// use slackwater::science::ro::{Draw, buffer, litres_per_hour};
/// use uom::si::f64::{Time, Volume};
/// use uom::si::time::{hour, minute};
/// use uom::si::volume::liter;
/// let draws: Vec<Draw> = (0..4)
///     .map(|i| Draw {
///         at: Time::new::<minute>(45.0 * f64::from(i)),
///         volume: Volume::new::<liter>(90.0),
///     })
///     .collect();
/// let tank = buffer(&draws, litres_per_hour(7.0))?;
/// assert!((tank.volume.get::<liter>() - 344.25).abs() < 1e-9);
/// assert!((tank.prefill.get::<hour>() - 49.18).abs() < 0.01);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range, or draws out of order.
pub fn buffer(draws: &[Draw], supply: VolumeRate) -> Result<Buffer, OutOfRange> {
    let per_hour = supply_in_range("The supply", supply)?;
    let (mut lack, mut most, mut last) = (0.0f64, 0.0f64, 0.0);
    for draw in draws {
        let at = draw.at.get::<hour>();
        within(
            "The time of a draw",
            at * 60.0,
            last * 60.0,
            129_600.0,
            "\u{a0}min",
        )?;
        let litres = within(
            "A draw",
            draw.volume.get::<liter>(),
            0.0,
            100_000.0,
            "\u{a0}L",
        )?;
        lack = (lack - per_hour * (at - last)).max(0.0) + litres;
        most = most.max(lack);
        last = at;
    }
    let volume = Volume::new::<liter>(most);
    let prefill = Time::new::<minute>(most / per_hour * 60.0);
    Ok(Buffer { volume, prefill })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(t: f64) -> WaterTemperature {
        WaterTemperature::new(t).unwrap()
    }

    proptest! {
        #[test]
        fn the_safer_of_both_is_taken(t in 5.0..=30.0f64) {
            let rated = litres_per_hour(12.0);
            let flow = flow_at(rated, at(t)).unwrap();
            prop_assert!(flow <= rated / correction_by_formula(at(t)) * (1.0 + 1e-12));
            prop_assert!(flow <= rated / correction_by_table(at(t)).unwrap() * (1.0 + 1e-12));
        }

        /// An independent second way: run the tank and see that it never runs dry.
        #[test]
        fn the_buffer_never_runs_dry_and_is_not_too_large(
            gaps in proptest::collection::vec(0.0..10.0f64, 1..12), supply in 1.0..50.0f64,
        ) {
            let mut hours = 0.0;
            let draws: Vec<Draw> = gaps.iter().map(|gap| {
                hours += gap;
                Draw { at: Time::new::<hour>(hours), volume: Volume::new::<liter>(90.0) }
            }).collect();
            let size = buffer(&draws, litres_per_hour(supply)).unwrap()
                .volume.get::<liter>();
            let (mut level, mut last, mut lowest) = (size, 0.0, size);
            for draw in &draws {
                let now = draw.at.get::<hour>();
                level = (level + supply * (now - last)).min(size) - 90.0;
                lowest = lowest.min(level);
                last = now;
            }
            prop_assert!(lowest.abs() < 1e-6, "{lowest}");
        }
    }

    #[test]
    fn the_table_is_met_at_its_rows_and_not_beyond() {
        for (t, factor) in TABLE {
            assert!((correction_by_table(at(t)).unwrap() - factor).abs() < 1e-12);
        }
        assert!(correction_by_table(at(4.9)).is_err() && correction_by_table(at(30.1)).is_err());
    }

    #[test]
    fn draws_out_of_order_are_refused() {
        let draw = |h| Draw {
            at: Time::new::<hour>(h),
            volume: Volume::new::<liter>(10.0),
        };
        let supply = litres_per_hour(7.0);
        assert!(buffer(&[draw(2.0), draw(1.0)], supply).is_err());
        assert_eq!(buffer(&[], supply).unwrap().volume.get::<liter>(), 0.0);
    }
}
