//! Clogging: whether the flow of a pump falls over months, and how sure that is.
//!
//! Compare flows at the same lift and 20 °C (see [`flow_test`](super::flow_test)); otherwise a
//! cold morning or a full reservoir looks like a clog.

use uom::si::f64::{Time, VolumeRate};
use uom::si::time::day;
use uom::si::volume_rate::liter_per_minute;

use super::chart::Cusum;
use super::quantity::{OutOfRange, within};
use super::statistics::{Z95, median, two_sided_p};

/// Fewer readings than this say nothing.
pub const LEAST_READINGS: usize = 4;
/// From so many readings on a trend is tested; below it can only be a weak sign.
pub const READINGS_TO_TEST: usize = 8;
/// A sudden fall is called when the sum passes so many standard deviations (4 to 5 is usual).
pub const SUDDEN_LIMIT_SD: f64 = 4.5;

/// Slope of a series by Theil and Sen, with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Median of the slopes of all pairs.
    pub slope: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// median(y) - slope · median(t).
    pub intercept: f64,
    /// Pairs with different times.
    pub pairs: usize,
}

/// Theil-Sen slope of points (time, value); none when no two times differ.
///
/// Interval by Sen's ranks from Kendall's variance with ties. Source: Theil 1950, Sen 1968. Pairs
/// at equal times are left out.
///
/// ```
/// use slackwater::science::trend::theil_sen;
/// let flow = [12.9, 12.8, 13.0, 12.7, 12.8, 12.5, 12.6, 12.4, 12.5, 12.2, 12.3, 12.0];
/// let points: Vec<(f64, f64)> = (0..).map(f64::from).zip(flow).collect();
/// let slope = theil_sen(&points).unwrap();
/// assert!((slope.slope + 0.078888889).abs() < 1e-8);
/// assert!((slope.low + 0.10).abs() < 1e-9 && (slope.high + 0.05).abs() < 1e-9);
/// ```
pub fn theil_sen(points: &[(f64, f64)]) -> Option<Slope> {
    if points.iter().any(|(t, y)| !t.is_finite() || !y.is_finite()) {
        return None;
    }
    let mut slopes: Vec<f64> = Vec::new();
    for (i, (t0, y0)) in points.iter().enumerate() {
        for (t1, y1) in points.iter().skip(i + 1) {
            if t0 != t1 {
                slopes.push((y1 - y0) / (t1 - t0));
            }
        }
    }
    slopes.sort_by(f64::total_cmp);
    let slope = median(&slopes)?;
    let (times, values): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let variance = kendall_variance(&values, &times);
    let pairs = slopes.len();
    let (n, reach) = (pairs as f64, Z95 * variance.max(0.0).sqrt());
    // Ranks are rounded half to even, as the reference computation does.
    let lower = ((n - reach) / 2.0).round_ties_even() - 1.0;
    let upper = ((n + reach) / 2.0).round_ties_even();
    let at = |rank: f64| slopes.get(rank.clamp(0.0, n - 1.0) as usize).copied();
    Some(Slope {
        slope,
        low: at(lower)?,
        high: at(upper)?,
        intercept: median(&values)? - slope * median(&times)?,
        pairs,
    })
}

/// Variance of Kendall's S: (n(n-1)(2n+5) - Σ over ties u(u-1)(2u+5))/18.
fn kendall_variance(values: &[f64], times: &[f64]) -> f64 {
    let part = |n: f64| n * (n - 1.0) * (2.0 * n + 5.0);
    (part(values.len() as f64)
        - ties(values).map(part).sum::<f64>()
        - ties(times).map(part).sum::<f64>())
        / 18.0
}

/// Sizes of the groups of equal values.
fn ties(values: &[f64]) -> impl Iterator<Item = f64> + use<> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
        .chunk_by(|a, b| a == b)
        .map(|group| group.len() as f64)
        .collect::<Vec<_>>()
        .into_iter()
}

/// Mann-Kendall test for a trend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MannKendall {
    /// Rising pairs less falling pairs.
    pub s: f64,
    /// Variance of S, corrected for ties.
    pub variance: f64,
    /// (S ∓ 1)/√variance, with the continuity correction.
    pub z: f64,
    /// Two-sided probability of so large a z without a trend.
    pub p: f64,
}

/// Mann-Kendall test of values in order of time; none for fewer than three, or when all are equal.
///
/// With correction for ties and for continuity, so that p differs a little from a plain Kendall
/// tau test. Source: Mann 1945, Kendall 1975.
///
/// ```
/// use slackwater::science::trend::mann_kendall;
/// let flow = [12.9, 12.8, 13.0, 12.7, 12.8, 12.5, 12.6, 12.4, 12.5, 12.2, 12.3, 12.0];
/// let test = mann_kendall(&flow).unwrap();
/// assert_eq!(test.s, -52.0);
/// assert!((test.p - 0.000441810).abs() < 1e-9);
/// ```
pub fn mann_kendall(values: &[f64]) -> Option<MannKendall> {
    if values.len() < 3 || values.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let mut s = 0.0;
    for (i, a) in values.iter().enumerate() {
        for b in values.iter().skip(i + 1) {
            s += f64::from(i8::from(b > a) - i8::from(b < a));
        }
    }
    let variance = kendall_variance(values, &[]);
    if variance <= 0.0 {
        return None;
    }
    let z = if s == 0.0 {
        0.0
    } else {
        (s - s.signum()) / variance.sqrt()
    };
    Some(MannKendall {
        s,
        variance,
        z,
        p: two_sided_p(z),
    })
}

/// A flow measured on a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowReading {
    /// When, from any fixed day.
    pub at: Time,
    /// Flow at the same lift and 20 °C as the others.
    pub flow: VolumeRate,
}

/// Flow of the clean system: after teardown and refit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CleanFlow {
    /// Mean of the readings taken then.
    pub mean: VolumeRate,
    /// Standard deviation of single readings, above zero.
    pub sd: VolumeRate,
}

/// How fast the flow falls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fall {
    /// Change over 30 days; below zero when it falls.
    pub per_month: VolumeRate,
    /// Change over the whole series as part of the flow at its start.
    pub part: f64,
    /// Probability of such a series without a trend; none where it is not tested.
    pub p: Option<f64>,
}

/// What the flows say about clogging.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Clogging {
    /// Fewer than [`LEAST_READINGS`]: nothing can be said.
    TooFewReadings,
    /// No fall that stands out from the scatter.
    NoSign,
    /// Four to seven readings that fall: take more.
    WeakSign(Fall),
    /// The flow falls steadily: clogging is likely. Look at strainer, impeller and tubing.
    LikelyClogging(Fall),
    /// The flow fell suddenly against the clean system, from this reading on (counted from 0):
    /// something blocks it, or the pump fails.
    SuddenFall {
        /// Place of the reading at which the sum passed its limit.
        reading: usize,
    },
}

/// Judges flows in order of time.
///
/// Fewer than 4: nothing. 4 to 7: Theil-Sen, a weak sign when its whole interval lies below zero.
/// 8 or more: Mann-Kendall at 5 %, likely when the slope falls. Before both, with a clean flow: a
/// lower CUSUM with slack 0.5 s and limit [`SUDDEN_LIMIT_SD`] s finds a sudden fall. Range: flows
/// 0.01 to 2000 L/min, times rising.
///
/// ```
/// use slackwater::science::trend::{Clogging, FlowReading, clogging};
/// use uom::si::f64::{Time, VolumeRate};
/// use uom::si::time::day;
/// use uom::si::volume_rate::liter_per_minute;
/// let flow = [12.9, 12.8, 13.0, 12.7, 12.8, 12.5, 12.6, 12.4, 12.5, 12.2, 12.3, 12.0];
/// let readings: Vec<FlowReading> = (0..)
///     .zip(flow)
///     .map(|(month, flow)| FlowReading {
///         at: Time::new::<day>(30.0 * f64::from(month)),
///         flow: VolumeRate::new::<liter_per_minute>(flow),
///     })
///     .collect();
/// assert!(matches!(clogging(&readings, None)?, Clogging::LikelyClogging(_)));
/// assert_eq!(clogging(&readings[..3], None)?, Clogging::TooFewReadings);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A flow outside the range, a time that does not rise, or a standard deviation that is not above
/// zero.
pub fn clogging(
    readings: &[FlowReading],
    clean: Option<CleanFlow>,
) -> Result<Clogging, OutOfRange> {
    let mut last = f64::MIN;
    let mut points = Vec::with_capacity(readings.len());
    for reading in readings {
        let at = within("The day of a flow", reading.at.get::<day>(), last, 1e6, "")?;
        points.push((at, litres(reading.flow)?));
        last = at + 1e-6;
    }
    let flows: Vec<f64> = points.iter().map(|(_, flow)| *flow).collect();
    if let Some(clean) = clean
        && let Some(reading) = sudden_fall(&flows, clean)?
    {
        return Ok(Clogging::SuddenFall { reading });
    }
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Ok(Clogging::TooFewReadings);
    };
    let Some(slope) = theil_sen(&points).filter(|_| points.len() >= LEAST_READINGS) else {
        return Ok(Clogging::TooFewReadings);
    };
    let start = slope.intercept + slope.slope * first.0;
    let fall = |p| Fall {
        per_month: VolumeRate::new::<liter_per_minute>(slope.slope * 30.0),
        part: slope.slope * (last.0 - first.0) / start,
        p,
    };
    if points.len() < READINGS_TO_TEST {
        return Ok(if slope.high < 0.0 {
            Clogging::WeakSign(fall(None))
        } else {
            Clogging::NoSign
        });
    }
    Ok(match mann_kendall(&flows) {
        Some(test) if test.p < 0.05 && test.s < 0.0 => Clogging::LikelyClogging(fall(Some(test.p))),
        _ => Clogging::NoSign,
    })
}

fn litres(flow: VolumeRate) -> Result<f64, OutOfRange> {
    within(
        "The flow",
        flow.get::<liter_per_minute>(),
        0.01,
        2000.0,
        "\u{a0}L/min",
    )
}

fn sudden_fall(flows: &[f64], clean: CleanFlow) -> Result<Option<usize>, OutOfRange> {
    let sd = clean.sd.get::<liter_per_minute>();
    let sd = within(
        "The scatter of the clean flow",
        sd,
        1e-6,
        2000.0,
        "\u{a0}L/min",
    )?;
    let sums = Cusum::of(flows, litres(clean.mean)?, 0.5 * sd)?;
    Ok(sums.first_low_over(SUDDEN_LIMIT_SD * sd))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn readings(flows: &[f64]) -> Vec<FlowReading> {
        (0..)
            .zip(flows)
            .map(|(month, flow)| FlowReading {
                at: Time::new::<day>(30.0 * f64::from(month)),
                flow: VolumeRate::new::<liter_per_minute>(*flow),
            })
            .collect()
    }

    fn clean(mean: f64, sd: f64) -> CleanFlow {
        let l = VolumeRate::new::<liter_per_minute>;
        CleanFlow {
            mean: l(mean),
            sd: l(sd),
        }
    }

    proptest! {
        #[test]
        fn a_straight_line_gives_its_slope(
            slope in -1.0..1.0f64, start in -50.0..50.0f64, n in 2u8..30,
        ) {
            let points: Vec<(f64, f64)> =
                (0..n).map(|i| (f64::from(i), start + slope * f64::from(i))).collect();
            let found = theil_sen(&points).unwrap();
            prop_assert!((found.slope - slope).abs() < 1e-9);
            prop_assert!((found.intercept - start).abs() < 1e-8);
            prop_assert!(found.low <= found.slope + 1e-9 && found.high >= found.slope - 1e-9);
        }

        #[test]
        fn turning_the_series_round_turns_the_test_round(
            values in proptest::collection::vec(0.0..10.0f64, 3..20),
        ) {
            let back: Vec<f64> = values.iter().rev().copied().collect();
            let (a, b) = (mann_kendall(&values).unwrap(), mann_kendall(&back).unwrap());
            prop_assert!((a.s + b.s).abs() < 1e-12 && (a.p - b.p).abs() < 1e-12);
            prop_assert!((0.0..=1.0).contains(&a.p));
        }
    }

    #[test]
    fn five_falling_readings_are_a_weak_sign() {
        let few = readings(&[13.0, 12.7, 12.4, 12.0, 11.8]);
        let Clogging::WeakSign(fall) = clogging(&few, None).unwrap() else {
            panic!("falls")
        };
        assert!(fall.per_month.get::<liter_per_minute>() < -0.25);
        assert!(fall.part < -0.08 && fall.p.is_none());
        let level = readings(&[13.0, 12.9, 13.1, 12.8, 13.0]);
        assert_eq!(clogging(&level, None).unwrap(), Clogging::NoSign);
    }

    #[test]
    fn a_rising_flow_is_no_clog() {
        let rising: Vec<f64> = (0..12).map(|i| 10.0 + 0.2 * f64::from(i)).collect();
        assert_eq!(
            clogging(&readings(&rising), None).unwrap(),
            Clogging::NoSign
        );
    }

    #[test]
    fn a_sudden_fall_is_found_against_the_clean_flow() {
        let flows = readings(&[12.9, 13.1, 12.9, 13.0, 11.9, 11.8]);
        assert_eq!(
            clogging(&flows, Some(clean(13.0, 0.2))).unwrap(),
            Clogging::SuddenFall { reading: 4 }
        );
    }

    #[test]
    fn readings_out_of_order_and_a_scatter_of_nothing_are_refused() {
        let mut flows = readings(&[12.9, 13.1, 12.9]);
        flows.swap(0, 1);
        assert!(clogging(&flows, None).is_err());
        assert!(clogging(&readings(&[12.9]), Some(clean(13.0, 0.0))).is_err());
    }

    #[test]
    fn equal_values_have_no_trend_to_test() {
        assert_eq!(mann_kendall(&[3.0; 9]), None);
        assert_eq!(theil_sen(&[(1.0, 2.0), (1.0, 3.0)]), None);
    }
}
