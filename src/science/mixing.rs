//! Mixing: turnovers of a pumped loop, and what one flooding exchanges.

use uom::si::f64::{Ratio, Time, Volume, VolumeRate};
use uom::si::ratio::ratio;
use uom::si::time::minute;
use uom::si::volume::liter;
use uom::si::volume_rate::liter_per_minute;

use super::quantity::{OutOfRange, within};

/// How often a pump turns over a system: n = Q t / V, V the whole wetted volume.
///
/// Range: flow 0 to 2000 L/min, time 0 to 14 days, volume 0.1 to 1e6 L.
///
/// ```
/// use slackwater::science::mixing::turnovers;
/// use uom::si::f64::{Time, Volume, VolumeRate};
/// use uom::si::time::hour;
/// use uom::si::volume::liter;
/// use uom::si::volume_rate::liter_per_minute;
/// let n = turnovers(
///     VolumeRate::new::<liter_per_minute>(12.6),
///     Time::new::<hour>(4.0),
///     Volume::new::<liter>(160.0),
/// )?;
/// assert!((n - 18.9).abs() < 1e-9);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn turnovers(flow: VolumeRate, time: Time, volume: Volume) -> Result<f64, OutOfRange> {
    within(
        "The flow",
        flow.get::<liter_per_minute>(),
        0.0,
        2000.0,
        "\u{a0}L/min",
    )?;
    within("The time", time.get::<minute>(), 0.0, 20_160.0, "\u{a0}min")?;
    within(
        "The wetted volume",
        volume.get::<liter>(),
        0.1,
        1e6,
        "\u{a0}L",
    )?;
    Ok((flow * time / volume).get::<ratio>())
}

/// Part of the water replaced or mixed after n turnovers of a well-mixed tank: 1 - exp(-n).
///
/// Source: Gage and Bidwell's law of dilution; 63, 86 and 95 % after 1, 2 and 3 turnovers were
/// measured in J. Water and Health 16(3):449, 2018. Range: n from 0 to 1000.
///
/// ```
/// use slackwater::science::mixing::mixed_after;
/// assert!((mixed_after(3.0)? - 0.950213).abs() < 1e-6);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A number outside the range.
pub fn mixed_after(turnovers: f64) -> Result<f64, OutOfRange> {
    let n = within("The turnovers", turnovers, 0.0, 1000.0, "")?;
    Ok(-(-n).exp_m1())
}

/// Turnovers until a part of the water is mixed: n = -ln(1 - part). Range: 0 to 0.999999.
///
/// ```
/// use slackwater::science::mixing::turnovers_until;
/// assert!((turnovers_until(0.95)? - 2.99573).abs() < 1e-5);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A part outside the range.
pub fn turnovers_until(part: f64) -> Result<f64, OutOfRange> {
    let part = within("The part mixed", part, 0.0, 0.999_999, "")?;
    Ok(-(-part).ln_1p())
}

/// Part of the water in the media that one flooding exchanges with the reservoir:
/// V_flood / (V_flood + V_retained).
///
/// A flood-and-drain bench mixes by floods, not by turnovers: no strip is read before enough
/// floods have passed. Range: volumes 0 to 1e6 L, not both nothing.
///
/// ```
/// use slackwater::science::mixing::exchanged_by_flood;
/// use uom::si::f64::Volume;
/// use uom::si::ratio::ratio;
/// use uom::si::volume::liter;
/// let l = Volume::new::<liter>;
/// assert!((exchanged_by_flood(l(42.0), l(9.6))?.get::<ratio>() - 0.813953).abs() < 1e-6);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A volume outside the range, or no water at all.
pub fn exchanged_by_flood(flood: Volume, retained: Volume) -> Result<Ratio, OutOfRange> {
    within(
        "The retained water",
        retained.get::<liter>(),
        0.0,
        1e6,
        "\u{a0}L",
    )?;
    within(
        "The flood volume",
        flood.get::<liter>(),
        0.001,
        1e6,
        "\u{a0}L",
    )?;
    Ok(flood / (flood + retained))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn turnovers_and_part_undo_each_other(n in 0.0..13.0f64) {
            let back = turnovers_until(mixed_after(n).unwrap()).unwrap();
            prop_assert!((back - n).abs() < 1e-8);
        }
    }

    #[test]
    fn all_of_the_water_is_never_mixed() {
        assert!(turnovers_until(1.0).is_err());
        let none = Volume::new::<liter>(0.0);
        assert!(exchanged_by_flood(none, none).is_err());
    }
}
