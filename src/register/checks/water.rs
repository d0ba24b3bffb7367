//! Whether the reservoir gives and takes back the water, and whether the walls hold it.

use super::found::{BenchAt, Found, Full, moving};
use super::{Check, Kind, Verdict};
use crate::science::flood::FREEBOARD_MM;
use crate::science::quantity::{Volume, in_millimetres, millimetres};
use crate::science::show;
use crate::science::stored::Millimetres;
use crate::science::units::Units;

/// Whether the reservoir holds the flood with its heel and the pump's cover, and takes it back.
pub(super) fn reservoir(found: &Found<'_>) -> Check {
    let (kind, what, units) = (Kind::Reservoir, "Reservoir", found.units);
    let hold = match found.hold(Full::CleanOut) {
        None => return Check::not_yet(kind, what, found.lacks_of_hold()),
        Some(Err(refusal)) => {
            return Check::new(kind, what, Verdict::NotYet, found.parts.by_name(&refusal));
        }
        Some(Ok(hold)) => hold,
    };
    let volume = |volume| show::volume(volume, units);
    let back = hold.return_fit();
    let no_tubing = found.parts.tubing_in_use().next().is_none();
    let (drained, capacity) = (volume(back.drained), volume(hold.capacity));
    let mut check = if !back.fits {
        let over = volume(-back.spare);
        Check::new(
            kind,
            what,
            Verdict::DoesNotFit,
            format!(
                "Drained, {drained} would stand in a reservoir that takes only {capacity}: {over} run over. Flood fewer benches at a time, or put in a larger reservoir."
            ),
        )
    } else {
        let verdict = if no_tubing {
            Verdict::NotYet
        } else {
            Verdict::Fits
        };
        let without = if no_tubing {
            " Without the tubing, which is not entered yet."
        } else {
            ""
        };
        let spare = volume(back.spare);
        Check::new(
            kind,
            what,
            verdict,
            format!(
                "Drained, {drained} stand in a reservoir that takes {capacity}: {spare} to spare.{without}"
            ),
        )
    };
    if no_tubing {
        check
            .lacks
            .push(found.lacks_part("tubing", "the tubing and what it holds"));
    }
    for (bench, held) in found.benches.iter().zip(&hold.benches) {
        let label = format!(
            "{}, flooded to {}",
            bench.name(),
            show::length(held.water.level, units)
        );
        check.line(label, "runs back", fixed(moving(&held.water), units));
    }
    check.line("Tubing, full", "runs back", fixed(hold.tubing, units));
    check.line(
        "Over the heel",
        "keeps the pump covered",
        fixed(hold.over_heel, units),
    );
    check.line("Heel", "the pump leaves it", fixed(hold.heel, units));
    check.line(
        "When all has drained",
        "the sum of these",
        fixed(back.drained, units),
    );
    check.line("What it takes", "as entered", fixed(hold.capacity, units));
    check.line("To spare", "", fixed(back.spare, units));
    check
}

fn fixed(volume: Volume, units: Units) -> String {
    show::volume_fixed(volume, units, 1)
}

/// Whether water stands over the pump while the benches are flooded.
pub(super) fn cover(found: &Found<'_>) -> Option<Check> {
    let reservoir = found.parts.reservoir()?;
    let over = reservoir.figures.pump_need.volume();
    let words = if over.value > 0.0 {
        format!(
            "Flooded, {} stand over the heel: the pump stays covered.",
            show::volume(over, found.units)
        )
    } else {
        "Flooded, the reservoir is drawn down to the heel: the pump may suck air.".to_owned()
    };
    Some(Check::new(
        Kind::Cover,
        "Cover of the pump",
        Verdict::of(over.value > 0.0),
        words,
    ))
}

/// Whether wall and riser suit the level that wets all media.
pub(super) fn wall(bench: &BenchAt<'_>, units: Units) -> Check {
    let length = |length| show::length(length, units);
    let needed = &bench.needed;
    let riser_kept = bench.bench.figures.riser.map(Millimetres::length);
    let what = format!("Wall and riser, {}", bench.name());
    let (fits, words) = if needed.fits {
        let dry = length(needed.freeboard);
        if in_millimetres(needed.riser) <= 0.0 {
            let words = format!(
                "The overflow alone floods it to {}, over all media; {dry} of wall stay dry.",
                length(needed.level)
            );
            match riser_kept {
                Some(kept) => (
                    false,
                    format!(
                        "{words} It needs no riser: the one of {} that is kept would flood it higher than is reckoned here.",
                        length(kept)
                    ),
                ),
                None => (true, words),
            }
        } else {
            let words = format!(
                "A clean-out riser of {} lifts the flood level to {}, over all media; {dry} of wall stay dry.",
                length(needed.riser),
                length(needed.level)
            );
            match riser_kept {
                Some(kept) if in_millimetres(kept - needed.riser).abs() < 0.5 => {
                    (true, format!("{words} The one that is kept is right."))
                }
                Some(kept) if kept < needed.riser => (
                    false,
                    format!(
                        "{words} The one that is kept, {}, is too short: media would stay dry.",
                        length(kept)
                    ),
                ),
                Some(kept) => (
                    false,
                    format!(
                        "{words} The one that is kept, {}, is longer: cut it, or the bench holds more than is reckoned here.",
                        length(kept)
                    ),
                ),
                None => (true, words),
            }
        }
    } else {
        let lower = length(millimetres(FREEBOARD_MM) - needed.freeboard);
        (
            false,
            format!(
                "All media are wet at {}, too near the rim of the wall at {} or over it. Take media out until the bed is {lower} lower, or raise the wall.",
                length(needed.level),
                length(bench.bench.figures.wall.length()),
            ),
        )
    };
    let mut check = Check::new(Kind::Wall, what, Verdict::of(fits), words);
    check.line(
        "Highest point to get wet",
        "media, or the floor at its far end",
        length(needed.top),
    );
    check.line(
        "Flood level",
        "10\u{a0}mm over it, or the overflow",
        length(needed.level),
    );
    check.line("Riser", "flood level less overflow", length(needed.riser));
    check.line(
        "Wall that stays dry",
        "wall less flood level; at least 15\u{a0}mm",
        length(needed.freeboard),
    );
    check
}
