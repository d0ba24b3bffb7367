//! Whether a system fits together: reservoir against what drains back, walls and risers against the
//! flood level, overflow against the pump, lift against the pump's reach.

use super::Purpose;
use super::entry;
use super::hold::{BenchLevel, Hold, Parts};
use crate::science::flood::FREEBOARD_MM;
use crate::science::overflow::{self, Standpipe, overflow_check};
use crate::science::quantity::{Length, in_millimetres, millimetres};
use crate::science::show;
use crate::science::units::Units;

/// One finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fit {
    pub words: String,
    pub good: bool,
}

fn fit(good: bool, words: String) -> Fit {
    Fit { words, good }
}

/// Everything that can be said with what is on record.
pub fn fits(parts: &Parts, hold: Option<&Hold>, units: Units) -> Vec<Fit> {
    let Some(hold) = hold else {
        return Vec::new();
    };
    let mut found = vec![comes_back(hold, units)];
    for (level, bench) in hold.benches.iter().zip(parts.benches_in_use()) {
        found.push(riser(level, bench.figures.wall.length(), units));
    }
    found.extend(overflows(parts, hold, units));
    found.push(pump_covered(hold, units));
    found.extend(lift(parts, hold, units));
    found
}

fn comes_back(hold: &Hold, units: Units) -> Fit {
    let back = hold.return_fit();
    let drained = show::volume(back.drained, units);
    let capacity = show::volume(hold.parts.capacity, units);
    if back.fits {
        let spare = show::volume(back.spare, units);
        fit(
            true,
            format!(
                "Drained, {drained} stand in a reservoir that takes {capacity}: {spare} to spare."
            ),
        )
    } else {
        let over = show::volume(-back.spare, units);
        fit(
            false,
            format!(
                "Drained, {drained} would stand in a reservoir that takes only {capacity}: {over} run over. Flood fewer benches at a time, or put in a larger reservoir."
            ),
        )
    }
}

fn riser(level: &BenchLevel, wall: Length, units: Units) -> Fit {
    let length = |length| show::length(length, units);
    let (name, needed) = (&level.name, in_millimetres(level.riser_needed));
    let dry = length(wall - level.level);
    if needed <= 0.0 {
        let words = format!(
            "{name}: the overflow alone floods it to {}, over all media; {dry} of wall stay dry.",
            length(level.level)
        );
        return match level.riser_kept {
            Some(kept) => fit(
                false,
                format!(
                    "{words} It needs no riser: the one of {} that is kept would flood it higher than is reckoned here.",
                    length(kept)
                ),
            ),
            None => fit(true, words),
        };
    }
    let words = format!(
        "{name}: a clean-out riser of {} lifts the flood level to {}, over all media; {dry} of wall stay dry.",
        length(level.riser_needed),
        length(level.level)
    );
    match level.riser_kept {
        Some(kept) if in_millimetres(kept - level.riser_needed).abs() < 0.5 => {
            fit(true, format!("{words} The one that is kept is right."))
        }
        Some(kept) if kept < level.riser_needed => fit(
            false,
            format!(
                "{words} The one that is kept, {}, is too short: media would stay dry.",
                length(kept)
            ),
        ),
        Some(kept) => fit(
            false,
            format!(
                "{words} The one that is kept, {}, is longer: cut it, or the bench holds more than is reckoned here.",
                length(kept)
            ),
        ),
        None => fit(true, words),
    }
}

/// Each bench's overflow against the pump's flow against no head, all of it on one bench.
fn overflows(parts: &Parts, hold: &Hold, units: Units) -> Vec<Fit> {
    let runs = parts
        .tubing_in_use()
        .filter(|run| run.figures.purpose == Purpose::Overflow);
    let narrowest = runs.map(|run| run.figures.bore).min();
    let flow = parts.pump().and_then(|pump| pump.figures.max_flow);
    let (Some(bore), Some(flow)) = (narrowest, flow) else {
        let missing = match (narrowest, flow) {
            (None, None) => "the bore of the overflow and the pump's most flow",
            (None, Some(_)) => "the bore of the overflow",
            (Some(_), _) => "the pump's most flow",
        };
        return vec![fit(
            true,
            format!(
                "Whether the overflow takes all that the pump brings is said once {missing} is entered."
            ),
        )];
    };
    hold.benches
        .iter()
        .zip(parts.benches_in_use())
        .map(|(level, bench)| {
            let checked = Standpipe::new(bore.length()).and_then(|standpipe| {
                let bench = overflow::Bench {
                    standpipe,
                    count: 1,
                    clog_factor: 1.0,
                    rim: level.level,
                    wall: bench.figures.wall.length(),
                    freeboard: millimetres(FREEBOARD_MM),
                    line: None,
                    clear_of_media: true,
                    return_fits: true,
                };
                overflow_check(&bench, flow.flow())
            });
            let (name, bore) = (&level.name, entry::show_bore(bore.length(), units));
            let brings = entry::show_flow_per_minute(flow.flow(), units);
            match checked {
                Ok(check) => {
                    let highest = show::length(millimetres(in_millimetres(check.highest_water).round()), units);
                    let words = format!(
                        "{name}: with all of the pump's {brings} on it, water stands at {highest} over an open overflow of {bore} bore"
                    );
                    if check.safe() {
                        fit(true, format!("{words}, and the wall holds it."))
                    } else {
                        fit(false, format!("{words}: too near the rim of the wall, or over it. Fit a wider overflow, or throttle the pump."))
                    }
                }
                Err(error) => fit(false, format!("{name}: {error}.")),
            }
        })
        .collect()
}

fn pump_covered(hold: &Hold, units: Units) -> Fit {
    if hold.parts.over_heel.value > 0.0 {
        let over = show::volume(hold.parts.over_heel, units);
        fit(
            true,
            format!("Flooded, {over} stand over the heel: the pump stays covered."),
        )
    } else {
        fit(
            false,
            "Flooded, the reservoir is drawn down to the heel: the pump may suck air.".to_owned(),
        )
    }
}

/// From the ground to the highest flood level: more than the pump has to lift while the reservoir
/// has water in it.
fn lift(parts: &Parts, hold: &Hold, units: Units) -> Option<Fit> {
    let head = parts.pump()?.figures.max_head?.length();
    let mut highest = millimetres(0.0);
    for (level, bench) in hold.benches.iter().zip(parts.benches_in_use()) {
        let water = bench.figures.floor_height?.length() + level.level;
        if water > highest {
            highest = water;
        }
    }
    let (lift, most) = (
        entry::show_long(highest, units),
        entry::show_long(head, units),
    );
    Some(if head > highest {
        fit(
            true,
            format!(
                "The highest flood level lies {lift} over the ground; the pump lifts at most {most}."
            ),
        )
    } else {
        fit(
            false,
            format!(
                "The highest flood level lies {lift} over the ground, and the pump lifts at most {most}: it does not get there."
            ),
        )
    })
}
