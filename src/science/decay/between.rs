//! Decay between readings of which only the range is known: strips to half a step, titrations to a
//! part of themselves, the ends of a scale on one side alone.

use uom::si::f64::{MassConcentration, Time};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;

use super::{DecayRate, NotYet};
use crate::science::quantity::OutOfRange;
use crate::science::soak::Contact;
use crate::science::strip::StrengthBetween;

/// Every rate of decay that goes through the ranges of all readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DecayBetween {
    /// The slowest; none at all where the readings allow that nothing was lost.
    pub slowest: DecayRate,
    /// The fastest; plan with it. None where the last readings have no lower end.
    pub fastest: Option<DecayRate>,
}

/// Between what the rate of a first-order decay lies, from ranges and nothing else.
///
/// A decay ln C = a - k t passes through all ranges ln L to ln U exactly when every pair of readings
/// lets it: k >= (ln L_i - ln U_j)/(t_j - t_i) and k <= (ln U_i - ln L_j)/(t_j - t_i) for each i
/// before j (the start a is eliminated, which leaves these and no more). A lowest colour has no lower
/// end and bounds the rate from below alone; a highest colour likewise from one side.
///
/// ```
/// use slackwater::science::decay::decay_between;
/// use slackwater::science::strip::StrengthBetween;
/// use uom::si::f64::{MassConcentration, Time};
/// use uom::si::mass_concentration::milligram_per_liter;
/// use uom::si::time::minute;
/// let mg = MassConcentration::new::<milligram_per_liter>;
/// let read = |at, from, to| {
///     (Time::new::<minute>(at), StrengthBetween { from: mg(from), to: Some(mg(to)) })
/// };
/// // 300 to 700 mg/L, an hour later 75 to 150: at least half is gone, at most nine tenths.
/// let decay = decay_between(&[read(0.0, 300.0, 700.0), read(60.0, 75.0, 150.0)]).unwrap();
/// assert!((decay.slowest.in_per_minute() - 2f64.ln() / 60.0).abs() < 1e-12);
/// let fastest = decay.fastest.unwrap().in_per_minute();
/// assert!((fastest - (700.0f64 / 75.0).ln() / 60.0).abs() < 1e-12);
/// ```
///
/// # Errors
/// Fewer than two readings, times that do not rise, or ranges that no such decay goes through.
pub fn decay_between(readings: &[(Time, StrengthBetween)]) -> Result<DecayBetween, NotYet> {
    if readings.len() < 2 {
        return Err(NotYet::TooFewReadings);
    }
    let ends: Vec<(f64, f64, f64)> = readings
        .iter()
        .map(|(at, range)| {
            let ln =
                |strength: MassConcentration| strength.get::<milligram_per_liter>().max(0.0).ln();
            (
                at.get::<minute>(),
                ln(range.from),
                range.to.map_or(f64::INFINITY, ln),
            )
        })
        .collect();
    let (mut slowest, mut fastest) = (f64::NEG_INFINITY, f64::INFINITY);
    for (place, (at, low, high)) in ends.iter().enumerate() {
        for (later, later_low, later_high) in ends.iter().skip(place + 1) {
            let passed = later - at;
            if passed <= 0.0 {
                return Err(NotYet::TimesDoNotRise);
            }
            slowest = slowest.max((low - later_high) / passed);
            fastest = fastest.min((high - later_low) / passed);
        }
    }
    // Rounding must not part ranges that touch.
    if fastest < slowest - 1e-12 || fastest < 0.0 {
        return Err(NotYet::NotOneDecay);
    }
    let rate = |k: f64| DecayRate::per_minute(k.clamp(0.0, 10.0)).unwrap_or(DecayRate::NONE);
    Ok(DecayBetween {
        slowest: rate(slowest),
        fastest: fastest.is_finite().then(|| rate(fastest)),
    })
}

/// Between what the contact lies from the first reading to the last, mg·min/L: every leg decays by
/// itself between the weaker ends, and between the stronger ones; the most is none where a reading has
/// no upper end.
///
/// (C0 - C1)/ln(C0/C1) Δt grows with both ends, so the ends of the ranges give the ends of the contact;
/// a leg that may end at nothing adds nothing to the least. A record: no label is met by it.
///
/// ```
/// use slackwater::science::decay::contact_between;
/// use slackwater::science::strip::StrengthBetween;
/// use uom::si::f64::{MassConcentration, Time};
/// use uom::si::mass_concentration::milligram_per_liter;
/// use uom::si::time::minute;
/// let mg = MassConcentration::new::<milligram_per_liter>;
/// let read = |at, from, to| {
///     (Time::new::<minute>(at), StrengthBetween { from: mg(from), to: Some(mg(to)) })
/// };
/// let (least, most) = contact_between(&[read(0.0, 300.0, 700.0), read(60.0, 75.0, 700.0)])?;
/// assert!((least.mg_min_per_litre() - 225.0 / 4f64.ln() * 60.0).abs() < 1e-6);
/// assert!((most.unwrap().mg_min_per_litre() - 42_000.0).abs() < 1e-6);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A strength above 200 000 mg/L, or more than 7 days between two readings.
pub fn contact_between(
    readings: &[(Time, StrengthBetween)],
) -> Result<(Contact, Option<Contact>), OutOfRange> {
    let floor = MassConcentration::new::<milligram_per_liter>(0.01);
    let leg = |from: MassConcentration, to: MassConcentration, passed: Time| {
        if from < floor || to < floor {
            return Ok(Contact::NONE);
        }
        Contact::between(from, to, passed)
    };
    let (mut least, mut most) = (Contact::NONE, Some(Contact::NONE));
    for pair in readings.windows(2) {
        let [(at, first), (later, next)] = pair else {
            continue;
        };
        let passed = *later - *at;
        least = least.and(leg(first.from, next.from, passed)?);
        most = match (most, first.to, next.to) {
            (Some(sum), Some(from), Some(to)) => {
                Some(sum.and(Contact::between(from.max(floor), to.max(floor), passed)?))
            }
            _ => None,
        };
    }
    Ok((least, most))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mg(value: f64) -> MassConcentration {
        MassConcentration::new::<milligram_per_liter>(value)
    }

    fn between(at: f64, from: f64, to: Option<f64>) -> (Time, StrengthBetween) {
        let range = StrengthBetween {
            from: mg(from),
            to: to.map(mg),
        };
        (Time::new::<minute>(at), range)
    }

    proptest! {
        /// Whatever decay made the readings lies within the bounds, however wide the ranges are.
        #[test]
        fn the_true_rate_lies_between(
            start in 50.0..40_000.0f64, k in 0.0..0.05f64,
            wide in prop::collection::vec((0.1..1.0f64, 1.0..3.0f64), 2..7),
        ) {
            let readings: Vec<_> = wide
                .iter()
                .enumerate()
                .map(|(i, (down, up))| {
                    let at = i as f64 * 13.0;
                    let real = start * (-k * at).exp();
                    between(at, real * down, Some(real * up))
                })
                .collect();
            let decay = decay_between(&readings).unwrap();
            prop_assert!(decay.slowest.in_per_minute() <= k + 1e-9);
            prop_assert!(decay.fastest.unwrap().in_per_minute() >= k - 1e-9);
        }

        /// A second way: the area under a decay that went through the ranges lies between the two.
        #[test]
        fn the_true_contact_lies_between(
            start in 50.0..40_000.0f64, k in 0.0..0.05f64, down in 0.1..1.0f64, up in 1.0..3.0f64,
        ) {
            let real = |at: f64| start * (-k * at).exp();
            let readings: Vec<_> = [0.0, 25.0, 60.0]
                .map(|at| between(at, real(at) * down, Some(real(at) * up)))
                .into();
            let (least, most) = contact_between(&readings).unwrap();
            let area = crate::science::numeric::integral(real, 0.0, 60.0, 200);
            prop_assert!(least.mg_min_per_litre() <= area * (1.0 + 1e-6));
            prop_assert!(most.unwrap().mg_min_per_litre() >= area * (1.0 - 1e-6));
        }

        /// A second way: a start and a rate are tried one by one, and every pair that goes through all
        /// ranges has its rate within the bounds.
        #[test]
        fn no_rate_outside_goes_through_all(
            ranges in prop::collection::vec((50.0..400.0f64, 1.05..4.0f64), 2..5),
        ) {
            let readings: Vec<_> = ranges
                .iter()
                .enumerate()
                .map(|(i, (from, up))| between(i as f64 * 20.0, *from, Some(from * up)))
                .collect();
            let found = decay_between(&readings);
            for start in (0..40).map(|i| 50.0 * 1.09f64.powi(i)) {
                for k in (0..60).map(|i| f64::from(i) * 0.002) {
                    let through = readings.iter().all(|(at, range)| {
                        let here = mg(start * (-k * at.get::<minute>()).exp());
                        range.from <= here && range.to.is_none_or(|to| here <= to)
                    });
                    if through {
                        let decay = found.unwrap();
                        prop_assert!(decay.slowest.in_per_minute() <= k + 1e-9);
                        prop_assert!(decay.fastest.is_none_or(|fastest| fastest.in_per_minute() >= k - 1e-9));
                    }
                }
            }
        }
    }

    #[test]
    fn the_ends_of_a_scale_bound_one_side_alone() {
        let to_nothing = decay_between(&[
            between(0.0, 75.0, Some(150.0)),
            between(30.0, 0.0, Some(25.0)),
        ])
        .unwrap();
        assert!((to_nothing.slowest.in_per_minute() - 3f64.ln() / 30.0).abs() < 1e-12);
        assert_eq!(to_nothing.fastest, None);
        let from_above =
            decay_between(&[between(0.0, 700.0, None), between(30.0, 300.0, Some(700.0))]).unwrap();
        assert_eq!(
            (from_above.slowest.in_per_minute(), from_above.fastest),
            (0.0, None)
        );
    }

    #[test]
    fn readings_that_rise_apart_are_no_decay() {
        let rising = [
            between(0.0, 50.0, Some(75.0)),
            between(30.0, 300.0, Some(700.0)),
        ];
        assert_eq!(decay_between(&rising), Err(NotYet::NotOneDecay));
        assert_eq!(decay_between(&rising[..1]), Err(NotYet::TooFewReadings));
    }
}
