//! How long the benches take to drain, both ways: with the pipe full, and sucking air.

use super::found::{Found, Full, lacks_field, moving};
use super::overflowing::USUAL_FITTINGS;
use super::{Check, Expected, Kind, Verdict};
use crate::register::hold::Parts;
use crate::register::{Purpose, entry};
use crate::science::drain::{DRIBBLE_DEPTH_MM, DrainTime, Draining, dribble_depth, full_pipe_time};
use crate::science::orifice::{Edge, Hole};
use crate::science::pipe::Run;
use crate::science::quantity::{
    Length, OutOfRange, Time, Volume, WaterTemperature, litres, millimetres,
};
use crate::science::show;
use crate::science::units::Units;
use crate::science::viscosity::Liquid;

pub(super) fn drain(found: &Found<'_>) -> Check {
    let (kind, what) = (Kind::Drain, "Time to drain");
    if found.benches.is_empty() {
        return Check::not_yet(kind, what, found.lacks_of_hold());
    }
    let narrowest = found
        .joined(Purpose::Drain)
        .map(|run| run.narrowest.figures.bore);
    let portless = found
        .benches
        .iter()
        .find(|bench| bench.bench.figures.ports.drain_bore.or(narrowest).is_none());
    if let Some(bench) = portless {
        let port = lacks_field(
            "benches",
            bench.bench.id.get(),
            "drain_bore",
            format!("the bore of the drain port of {}", bench.name()),
        );
        let run = found.lacks_part("tubing", "or the drain: its bore and length");
        return Check::not_yet(kind, what, vec![port, run]);
    }
    match worked(found) {
        Ok(check) => check,
        Err(error) => Check::new(kind, what, Verdict::NotYet, format!("{error}.")),
    }
}

/// What the water drains through with its pipe full, and the fall that drives it; none while one of
/// them is not on record.
pub fn drain_point(parts: &Parts, units: Units) -> Option<(Length, Run)> {
    let found = Found::of(parts, units);
    let run = found.joined(Purpose::Drain)?;
    Some((drop_of(&found)?, run.run(&USUAL_FITTINGS, false).ok()?))
}

/// Both times from one level; the pipe's is missing while its run or its drop is not on record.
struct Both {
    hole: Time,
    pipe: Option<Time>,
}

impl Both {
    fn planned(&self) -> Time {
        DrainTime {
            full_pipe: self.pipe.unwrap_or(self.hole),
            hole_only: self.hole,
            dribble: Time::default(),
        }
        .planned()
    }
}

fn worked(found: &Found<'_>) -> Result<Check, OutOfRange> {
    let units = found.units;
    let growing = both(found, Full::Growing)?;
    let clean_out = found
        .benches
        .iter()
        .all(|bench| bench.clean_out.is_some())
        .then(|| both(found, Full::CleanOut))
        .transpose()?;
    let words = |both: &Both| match both.pipe {
        Some(pipe) => format!(
            "{} if the drain sucks air, {} if its pipe runs full",
            show::time(both.hole),
            show::time(pipe)
        ),
        None => format!("{} through the port alone", show::time(both.hole)),
    };
    let mut said = format!("From the overflow: {}.", words(&growing));
    if let Some(both) = &clean_out {
        said += &format!(" From the level of a clean-out: {}.", words(both));
    }
    let longest = clean_out.as_ref().unwrap_or(&growing);
    said += &format!(" Plan with {}.", show::time(longest.planned()));
    let mut check = Check::new(Kind::Drain, "Time to drain", Verdict::Reckoned, said);
    let quick = growing.pipe.unwrap_or(growing.hole);
    let (quick, slow) = if quick < growing.hole {
        (quick, growing.hole)
    } else {
        (growing.hole, quick)
    };
    check.expected = Some(Expected::Drain(quick, slow));
    let run = found.joined(Purpose::Drain);
    for bench in &found.benches {
        let bore = bench
            .bench
            .figures
            .ports
            .drain_bore
            .or(run.as_ref().map(|run| run.narrowest.figures.bore));
        check.line(
            bench.name(),
            "runs out",
            show::volume_fixed(moving(&bench.growing), units, 1),
        );
        if let Some(bore) = bore {
            check.line(
                "Its port, as a sharp-edged hole",
                "",
                entry::show_bore(bore.length(), units),
            );
        }
    }
    match &run {
        Some(run) => {
            check.line("Drain", run.words(&USUAL_FITTINGS, units), "");
            check
                .assumed
                .extend(run.assumed(Purpose::Drain, &USUAL_FITTINGS));
            match drop_of(found) {
                Some(drop) => check.line(
                    "Fall from the port to the end of the pipe",
                    "",
                    show::length(drop, units),
                ),
                None => check.lacks.push(lacks_field(
                    "tubing",
                    run.narrowest.id.get(),
                    "rise",
                    "the rise of the drain, for the time with its pipe full".to_owned(),
                )),
            }
        }
        None => check
            .lacks
            .push(found.lacks_part("tubing", "the drain, for the time with its pipe full")),
    }
    if found
        .benches
        .iter()
        .any(|bench| bench.bench.figures.ports.drain_bore.is_none())
    {
        check
            .assumed
            .push("A port is as wide as the drain (its own bore is not entered).".to_owned());
    }
    check.assumed.push(format!(
        "Reckoned down to {}; the dribble after it is not in these times. A drain that was timed says more.",
        show::length(millimetres(DRIBBLE_DEPTH_MM), units)
    ));
    check.assumed.push("Water at 20\u{a0}°C.".to_owned());
    Ok(check)
}

fn both(found: &Found<'_>, full: Full) -> Result<Both, OutOfRange> {
    let nothing = millimetres(0.0);
    let run = found.joined(Purpose::Drain);
    let mut hole: Option<Time> = None;
    let (mut all, mut highest): (Volume, Length) = (litres(0.0), nothing);
    for bench in &found.benches {
        let bore = bench
            .bench
            .figures
            .ports
            .drain_bore
            .or(run.as_ref().map(|run| run.narrowest.figures.bore));
        let (Some(water), Some(bore)) = (bench.water(full), bore) else {
            continue;
        };
        all += moving(water);
        if water.level > highest {
            highest = water.level;
        }
        let through = Hole::new(bore.length(), Edge::Sharp)?.drain_time(
            moving(water) / water.level,
            water.level,
            lowest(water.level),
        )?;
        if hole.is_none_or(|time| through > time) {
            hole = Some(through);
        }
    }
    let pipe = match (run, drop_of(found)) {
        (Some(run), Some(drop)) => {
            let draining = Draining {
                free_area: all / highest,
                from: highest,
                to: lowest(highest),
                drop,
            };
            let water = Liquid::water(WaterTemperature::TWENTY);
            Some(full_pipe_time(
                &draining,
                &run.run(&USUAL_FITTINGS, false)?,
                &water,
            )?)
        }
        _ => None,
    };
    Ok(Both {
        hole: hole.unwrap_or_default(),
        pipe,
    })
}

fn lowest(level: Length) -> Length {
    if level < dribble_depth() {
        level
    } else {
        dribble_depth()
    }
}

/// From the lowest floor to the end of the drain: its rise, or down to the brim of the reservoir.
fn drop_of(found: &Found<'_>) -> Option<Length> {
    found.joined(Purpose::Drain)?.rise().or_else(|| {
        let floor = found
            .benches
            .iter()
            .map(|bench| bench.bench.figures.floor_height)
            .collect::<Option<Vec<_>>>()?
            .into_iter()
            .min()?
            .length();
        let brim = found.parts.reservoir()?.figures.height?.length();
        (floor > brim).then_some(floor - brim)
    })
}
