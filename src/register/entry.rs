//! Quantities as people type them into the register, in the reader's units, with limits that are
//! said in the same units.

use std::ops::RangeInclusive;

use uom::si::f64::VolumeRate;
use uom::si::time::{hour, minute};

use crate::science::quantity::{Length, Time, Volume, litres, millimetres as mm};
use crate::science::stored::{
    FittingLosses, Micrometres, Millilitres, MillilitresPerMinute, Millimetres, Permille,
};
use crate::science::units::{LengthUnit, Units, VolumeUnit};
use crate::science::{parse, show};

/// The unit of long measures: a bench, a length of tube.
pub fn long(units: Units) -> LengthUnit {
    match units {
        Units::Metric => LengthUnit::Metre,
        Units::Us | Units::Imperial => LengthUnit::Foot,
    }
}

/// The unit of short measures: a wall, a depth, a bore.
pub fn short(units: Units) -> LengthUnit {
    match units {
        Units::Metric => LengthUnit::Millimetre,
        Units::Us | Units::Imperial => LengthUnit::Inch,
    }
}

/// The unit of volumes, and of the flow of a pump in an hour.
pub fn large(units: Units) -> VolumeUnit {
    show::large_volume_unit(units)
}

/// 'L/h', as pumps are labelled.
pub fn flow_unit(units: Units) -> String {
    format!("{}/h", large(units).symbol())
}

/// A field that may stay empty.
pub fn optional<T>(
    typed: &str,
    read: impl FnOnce(&str) -> Result<T, String>,
) -> Result<Option<T>, String> {
    if typed.trim().is_empty() {
        Ok(None)
    } else {
        read(typed).map(Some)
    }
}

/// A length within limits that are given in millimetres.
pub fn length(
    typed: &str,
    field: LengthUnit,
    units: Units,
    limits: RangeInclusive<i64>,
) -> Result<Millimetres, String> {
    let length = parse::length(typed, Some(field)).map_err(said)?;
    Millimetres::nearest(length)
        .ok()
        .filter(|whole| limits.contains(&whole.get()))
        .ok_or_else(|| {
            let words = |whole: &i64| show::length(mm(*whole as f64), units);
            beyond(
                &show::length(length, units),
                &words(limits.start()),
                &words(limits.end()),
            )
        })
}

/// A volume within limits that are given in millilitres.
pub fn volume(
    typed: &str,
    units: Units,
    limits: RangeInclusive<i64>,
) -> Result<Millilitres, String> {
    let volume = parse::volume(typed, Some(large(units))).map_err(said)?;
    Millilitres::nearest(volume)
        .ok()
        .filter(|whole| limits.contains(&whole.get()))
        .ok_or_else(|| {
            let words = |whole: &i64| show::volume(litres(*whole as f64 / 1000.0), units);
            beyond(
                &show::volume(volume, units),
                &words(limits.start()),
                &words(limits.end()),
            )
        })
}

/// A pump's flow, typed as a volume in an hour; limits in millilitres a minute.
pub fn flow(
    typed: &str,
    units: Units,
    limits: RangeInclusive<i64>,
) -> Result<MillilitresPerMinute, String> {
    let figure = parse::decimal(typed).map_err(said)?;
    let flow = large(units).of(figure) / Time::new::<hour>(1.0);
    MillilitresPerMinute::nearest(flow)
        .ok()
        .filter(|whole| limits.contains(&whole.get()))
        .ok_or_else(|| {
            let words = |whole: &i64| {
                MillilitresPerMinute::new(*whole)
                    .map_or_else(|_| String::new(), |flow| show_flow(flow.flow(), units))
            };
            beyond(
                &show_flow(flow, units),
                &words(limits.start()),
                &words(limits.end()),
            )
        })
}

/// A bore to the micrometre: 19.05 mm is sold as three quarters of an inch. Limits in millimetres.
pub fn bore(typed: &str, units: Units, limits: RangeInclusive<i64>) -> Result<Micrometres, String> {
    let bore = parse::length(typed, Some(short(units))).map_err(said)?;
    Micrometres::nearest(bore)
        .ok()
        .filter(|whole| (limits.start() * 1000..=limits.end() * 1000).contains(&whole.get()))
        .ok_or_else(|| {
            let words = |whole: &i64| show_bore(mm(*whole as f64), units);
            beyond(
                &show_bore(bore, units),
                &words(limits.start()),
                &words(limits.end()),
            )
        })
}

/// The sum of the K of a run's fittings.
pub fn fittings(typed: &str) -> Result<FittingLosses, String> {
    FittingLosses::nearest(parse::decimal(typed).map_err(said)?)
        .map_err(|_| "The sum of the K of fittings lies from 0 to 300.".to_owned())
}

/// A share typed in per cent; limits in thousandths.
pub fn percent(typed: &str, limits: RangeInclusive<i64>) -> Result<Permille, String> {
    let plain = typed.trim().trim_end_matches('%').trim_end();
    let figure = parse::decimal(plain).map_err(said)?;
    Permille::nearest(figure / 100.0)
        .ok()
        .filter(|whole| limits.contains(&whole.get()))
        .ok_or_else(|| {
            let words = |whole: &i64| format!("{}\u{a0}%", trimmed(*whole as f64 / 10.0, 1));
            let typed = format!("{}\u{a0}%", trimmed(figure, 3));
            beyond(&typed, &words(limits.start()), &words(limits.end()))
        })
}

/// How far something may be off either way, typed in per cent; empty for the usual figure.
pub fn own_off(typed: &str, limits: RangeInclusive<i64>) -> Result<Option<Permille>, String> {
    named(
        "How far it may be off",
        optional(typed, |typed| percent(typed, limits)),
    )
}

/// The same as it would be typed.
pub fn typed_off(own: Option<Permille>) -> String {
    own.map(typed_percent).unwrap_or_default()
}

/// The same among the facts of a record; nothing for the usual figure.
pub fn off_fact(own: Option<Permille>) -> String {
    own.map_or_else(String::new, |own| {
        format!("{}\u{a0}% either way", typed_percent(own))
    })
}

/// A count within limits.
pub fn count(typed: &str, limits: RangeInclusive<i64>) -> Result<i64, String> {
    let figure = parse::decimal(typed).map_err(said)?;
    let whole = figure.round();
    if (whole - figure).abs() > f64::EPSILON {
        return Err("Write a whole number.".to_owned());
    }
    let whole = whole as i64;
    if limits.contains(&whole) {
        Ok(whole)
    } else {
        Err(format!(
            "Write a number from {} to {}.",
            show::fixed(*limits.start() as f64, 0),
            show::fixed(*limits.end() as f64, 0)
        ))
    }
}

/// Says which field a complaint is about, for the list of complaints at the top of a form.
pub fn named<T>(what: &str, result: Result<T, String>) -> Result<T, String> {
    result.map_err(|message| {
        let mut letters = message.chars();
        let first = letters.next().map(|first| first.to_lowercase().to_string());
        format!("{what}: {}{}", first.unwrap_or_default(), letters.as_str())
    })
}

fn said(error: parse::ParseError) -> String {
    match error {
        parse::ParseError::OutOfRange(_) => {
            format!("{error}; write the unit if it is another one, as in 1200\u{a0}mm.")
        }
        _ => format!("{error}."),
    }
}

fn beyond(given: &str, least: &str, most: &str) -> String {
    format!(
        "This reads as {given}. It must lie from {least} to {most}; write the unit if it is another one."
    )
}

/// '870 L/h'.
pub fn show_flow(flow: VolumeRate, units: Units) -> String {
    let in_an_hour = large(units).count(flow * Time::new::<hour>(1.0));
    format!("{}\u{a0}{}", show::figures(in_an_hour, 3), flow_unit(units))
}

/// '14.5 L/min'.
pub fn show_flow_per_minute(flow: VolumeRate, units: Units) -> String {
    let unit = large(units);
    let in_a_minute = unit.count(flow * Time::new::<minute>(1.0));
    format!(
        "{}\u{a0}{}/min",
        show::figures(in_a_minute, 3),
        unit.symbol()
    )
}

/// A long measure: '4.7 m' where it is a metre or more, '15.42 ft' in feet.
pub fn show_long(length: Length, units: Units) -> String {
    let unit = long(units);
    if unit.count(length) < 1.0 {
        return show::length(length, units);
    }
    format!("{}\u{a0}{}", trimmed(unit.count(length), 3), unit.symbol())
}

/// The bore of a tube, to the hundredth of a millimetre.
pub fn show_bore(bore: Length, units: Units) -> String {
    let unit = short(units);
    format!("{}\u{a0}{}", trimmed(unit.count(bore), 2), unit.symbol())
}

/// A stored length as it would be typed: exact to the millimetre.
pub fn typed_length(length: Length, unit: LengthUnit) -> String {
    trimmed(unit.count(length), 4)
}

/// A stored volume as it would be typed: exact to the millilitre.
pub fn typed_volume(volume: Volume, units: Units) -> String {
    trimmed(large(units).count(volume), 4)
}

pub fn typed_flow(flow: MillilitresPerMinute, units: Units) -> String {
    trimmed(large(units).count(flow.flow() * Time::new::<hour>(1.0)), 2)
}

pub fn typed_percent(share: Permille) -> String {
    trimmed(share.share() * 100.0, 1)
}

fn trimmed(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_length_in_the_wrong_unit_is_told_what_it_was_read_as() {
        let refused = length("1200", LengthUnit::Metre, Units::Metric, 100..=50_000).unwrap_err();
        assert!(
            refused.contains("must lie from 100\u{a0}mm to 50\u{a0}m"),
            "{refused}"
        );
        let taken = length("1200 mm", LengthUnit::Metre, Units::Metric, 100..=50_000).unwrap();
        assert_eq!(taken.get(), 1_200);
    }

    #[test]
    fn a_share_is_typed_in_per_cent() {
        assert_eq!(percent("9.6 %", 0..=950).unwrap().get(), 96);
        assert!(percent("96", 0..=950).unwrap_err().contains("96\u{a0}%"));
        assert_eq!(typed_percent(Permille::new(96).unwrap()), "9.6");
    }

    #[test]
    fn a_pumps_flow_is_typed_as_on_its_label() {
        assert_eq!(
            flow("870", Units::Metric, 100..=10_000_000).unwrap().get(),
            14_500
        );
        assert_eq!(
            flow("400", Units::Us, 100..=10_000_000).unwrap().get(),
            25_236
        );
    }

    proptest! {
        #[test]
        fn what_is_stored_reads_back_from_the_form(mm in 10i64..50_000, ml in 1_000i64..2_000_000) {
            for units in [Units::Metric, Units::Us, Units::Imperial] {
                let stored = Millimetres::new(mm).unwrap();
                for unit in [long(units), short(units)] {
                    let typed = typed_length(stored.length(), unit);
                    prop_assert_eq!(length(&typed, unit, units, 0..=100_000).unwrap(), stored);
                }
                let stored = Millilitres::new(ml).unwrap();
                let typed = typed_volume(stored.volume(), units);
                prop_assert_eq!(volume(&typed, units, 0..=2_000_000).unwrap(), stored);
            }
        }
    }
}
