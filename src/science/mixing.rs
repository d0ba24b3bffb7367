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

/// Part of the water that is mixed after so many floods, each of which exchanges a part:
/// 1 - (1 - e)ⁿ.
///
/// The media's difference from the reservoir shrinks by what each flood exchanges; the reservoir
/// itself is taken as mixed between floods. Range: part 0 to 1, floods 0 to 10 000.
///
/// ```
/// use slackwater::science::mixing::mixed_after_floods;
/// assert!((mixed_after_floods(0.813953, 2)? - 0.965387).abs() < 1e-6);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn mixed_after_floods(exchanged: f64, floods: u32) -> Result<f64, OutOfRange> {
    let part = within("The part exchanged", exchanged, 0.0, 1.0, "")?;
    let floods = within("The floods", f64::from(floods), 0.0, 10_000.0, "")?;
    Ok(1.0 - (1.0 - part).powf(floods))
}

/// Floods until a part of the water is mixed: ⌈ln(1 - part)/ln(1 - e)⌉, at least one.
///
/// Range: part 0 to 0.999999, exchanged 0.001 to 1.
///
/// ```
/// use slackwater::science::mixing::floods_until;
/// assert_eq!(floods_until(0.95, 0.813953)?, 2);
/// // Perlite holds back half: it takes five.
/// assert_eq!(floods_until(0.95, 0.483871)?, 5);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn floods_until(part: f64, exchanged: f64) -> Result<u32, OutOfRange> {
    let part = within("The part mixed", part, 0.0, 0.999_999, "")?;
    let each = within("The part exchanged", exchanged, 0.001, 1.0, "")?;
    let mut floods = ((-part).ln_1p() / (-each).ln_1p()).ceil().max(1.0) as u32;
    // Rounding may land one flood too far where the part is met exactly.
    if floods > 1 && mixed_after_floods(each, floods - 1)? >= part {
        floods -= 1;
    }
    Ok(floods)
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

    proptest! {
        /// An independent second way: media and flood exchange water, flood by flood.
        #[test]
        fn floods_mix_as_they_exchange(
            flood in 5.0..80.0f64, retained in 1.0..60.0f64, part in 0.01..0.99f64,
        ) {
            let exchanged = exchanged_by_flood(
                Volume::new::<liter>(flood), Volume::new::<liter>(retained),
            ).unwrap().get::<ratio>();
            let needed = floods_until(part, exchanged).unwrap();
            // Marked water in the media; every flood dilutes it with unmarked water and drains.
            let (mut mark, mut floods) = (1.0, 0);
            while 1.0 - mark < part - 1e-12 {
                mark *= retained / (retained + flood);
                floods += 1;
            }
            prop_assert_eq!(needed, floods);
            prop_assert!((mixed_after_floods(exchanged, floods).unwrap() - (1.0 - mark)).abs() < 1e-9);
        }
    }

    #[test]
    fn all_of_the_water_is_never_mixed() {
        assert!(turnovers_until(1.0).is_err());
        let none = Volume::new::<liter>(0.0);
        assert!(exchanged_by_flood(none, none).is_err());
    }
}
