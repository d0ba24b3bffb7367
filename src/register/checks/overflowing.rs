//! Whether each bench's overflow takes all that the pump can bring: against no head, because a bench
//! may be fed through a shorter hose one day.

use uom::si::f64::VolumeRate;
use uom::si::volume_rate::liter_per_minute;

use super::found::{BenchAt, Found, Joined, lacks_field};
use super::{Check, Kind, Lack, Verdict};
use crate::register::{Purpose, entry};
use crate::science::fitting::Fitting;
use crate::science::flood::FREEBOARD_MM;
use crate::science::orifice::Edge;
use crate::science::overflow::{
    Bench, Fault, OverflowCheck, OverflowLine, STRAINER_FACTOR, Standpipe, overflow_check,
};
use crate::science::quantity::{Length, OutOfRange, in_millimetres, millimetres};
use crate::science::show;
use crate::science::sources::Question;
use crate::science::stored::{Micrometres, Millimetres, OverflowCount, Permille};

/// What a line from an overflow usually has: its mouth and an elbow.
pub(super) const USUAL_FITTINGS: [Fitting; 2] = [Fitting::EntranceFlush, Fitting::Elbow90Threaded];

/// One check for each bench.
pub(super) fn overflows(found: &Found<'_>) -> Vec<Check> {
    found
        .benches
        .iter()
        .map(|bench| overflow(found, bench))
        .collect()
}

/// All pumps together, against no head.
fn free_flow(found: &Found<'_>) -> Result<VolumeRate, Lack> {
    let mut flow = None;
    for pump in found.pumps() {
        let most = pump.figures.max_flow.ok_or_else(|| {
            lacks_field(
                "pumps",
                pump.id.get(),
                "max_flow",
                "the pump's most flow".to_owned(),
            )
        })?;
        flow = Some(flow.unwrap_or(VolumeRate::new::<liter_per_minute>(0.0)) + most.flow());
    }
    flow.ok_or_else(|| found.lacks_part("pumps", "the pump and its most flow"))
}

fn overflow(found: &Found<'_>, bench: &BenchAt<'_>) -> Check {
    let what = format!("Overflow, {}", bench.name());
    let line = found.joined(Purpose::Overflow);
    let bore = bench
        .bench
        .figures
        .ports
        .overflow_bore
        .or(line.as_ref().map(|line| line.narrowest.figures.bore));
    let bore = bore.ok_or_else(|| {
        lacks_field(
            "benches",
            bench.bench.id.get(),
            "overflow_bore",
            "the bore of the overflow".to_owned(),
        )
    });
    let (bore, flow) = match (bore, free_flow(found)) {
        (Ok(bore), Ok(flow)) => (bore, flow),
        (bore, flow) => {
            let lacks = bore.err().into_iter().chain(flow.err()).collect();
            return Check::not_yet(Kind::Overflow, what, lacks);
        }
    };
    match worked(found, bench, bore, line.as_ref(), flow, &what) {
        Ok(check) => check,
        Err(error) => Check::new(Kind::Overflow, what, Verdict::NotYet, format!("{error}.")),
    }
}

fn worked(
    found: &Found<'_>,
    bench: &BenchAt<'_>,
    bore: Micrometres,
    tube: Option<&Joined<'_>>,
    flow: VolumeRate,
    what: &str,
) -> Result<Check, OutOfRange> {
    let units = found.units;
    let figures = &bench.bench.figures;
    let count = figures.ports.overflows.map_or(1, OverflowCount::count);
    let keeps = figures
        .ports
        .overflow_keeps
        .map_or(STRAINER_FACTOR, Permille::share);
    let rim = figures.overflow.length();
    let kept = rim + figures.riser.map_or(millimetres(0.0), Millimetres::length);
    let raised = if kept > bench.needed.level {
        kept
    } else {
        bench.needed.level
    };
    let by = found.parts.choices.answer(Question::Weir);
    let weir = by.published.figure;
    let at = |rim: Length| {
        let line = match tube {
            Some(tube) => drop_of(found, bench, tube, rim)
                .map(|drop| {
                    Ok(OverflowLine {
                        run: tube.run(&USUAL_FITTINGS, false)?,
                        drop,
                    })
                })
                .transpose()?,
            None => None,
        };
        let bench = Bench {
            standpipe: Standpipe::new(bore.length())?.with_coefficients(weir, Edge::Sharp)?,
            count,
            clog_factor: keeps,
            rim,
            wall: figures.wall.length(),
            freeboard: millimetres(FREEBOARD_MM),
            line,
            clear_of_media: true,
            return_fits: true,
        };
        overflow_check(&bench, flow)
    };
    let mm = |length: Length| show::length(millimetres(in_millimetres(length).round()), units);
    let (growing, clean_out) = (at(rim)?, at(raised)?);
    let with_riser = raised > rim;
    let safe = growing.safe() && clean_out.safe();
    let brings = entry::show_flow_per_minute(flow, units);
    let stands = if with_riser {
        format!(
            "at {} as it grows and at {} with the riser on",
            mm(growing.highest_water),
            mm(clean_out.highest_water)
        )
    } else {
        format!("at {}", mm(growing.highest_water))
    };
    let first = format!(
        "With all of the pump's {brings} on this bench the water stands {stands}; the wall is {}.",
        mm(figures.wall.length())
    );
    let words = if safe {
        format!("{first} It does not run over.")
    } else {
        format!(
            "{first} {} Never leave this pump running unattended. Fit a wider or a second overflow, or a pump that brings less.",
            faults_in_words(&growing, &clean_out, &mm)
        )
    };
    let mut check = Check::new(Kind::Overflow, what, Verdict::of(safe), words);
    let pumps = found.pumps().count();
    check.line(
        "The pump's flow against no head",
        if pumps > 1 {
            format!("{pumps} pumps together")
        } else {
            String::new()
        },
        brings,
    );
    check.line(
        "What each overflow must pass when partly clogged",
        format!(
            "over {count}, over {}\u{a0}%",
            show::figures(keeps * 100.0, 3)
        ),
        entry::show_flow_per_minute(growing.flow_each, units),
    );
    check.line(
        "Head that this needs over the rim",
        format!("{} bore. {by}", entry::show_bore(bore.length(), units)),
        mm(growing.head),
    );
    let mut highest = |label: &str, rim: Length, checked: &OverflowCheck| {
        check.line(
            label,
            format!("rim at {}, {} of wall dry", mm(rim), mm(checked.dry_wall)),
            mm(checked.highest_water),
        );
    };
    highest("Highest water, growing", rim, &growing);
    if with_riser {
        highest("Highest water, riser on", raised, &clean_out);
    }
    check.assumed.push(format!(
        "At least {} of wall must stay dry (usual figure).",
        mm(millimetres(FREEBOARD_MM))
    ));
    if figures.ports.overflow_keeps.is_none() {
        check.assumed.push("The overflow keeps half of its capacity, behind a strainer or with roots about (usual figure, not measured).".to_owned());
    }
    if figures.ports.overflow_bore.is_none() {
        check
            .assumed
            .push("The standpipe is as wide as the narrowest overflow run.".to_owned());
    }
    check
        .assumed
        .push("The rim stands clear of media and screens: look.".to_owned());
    match tube {
        Some(tube) if drop_of(found, bench, tube, rim).is_some() => {
            check
                .assumed
                .extend(tube.assumed(Purpose::Overflow, &USUAL_FITTINGS));
            check.line(
                "The tube below it",
                "carries the flow in its drop, or it is said above",
                tube.words(&USUAL_FITTINGS, units),
            );
        }
        Some(tube) => check.lacks.push(lacks_field(
            "tubing",
            tube.narrowest.id.get(),
            "rise",
            "the rise of the overflow run, to check the tube too".to_owned(),
        )),
        None => check
            .assumed
            .push("It falls free into the reservoir: no overflow run is entered.".to_owned()),
    }
    Ok(check)
}

/// How far the water falls from the rim to the end of the tube.
fn drop_of(
    found: &Found<'_>,
    bench: &BenchAt<'_>,
    tube: &Joined<'_>,
    rim: Length,
) -> Option<Length> {
    tube.rise().or_else(|| {
        let floor = bench.bench.figures.floor_height?.length();
        let brim = found.parts.reservoir()?.figures.height?.length();
        let drop = floor + rim - brim;
        (drop > millimetres(0.0)).then_some(drop)
    })
}

fn faults_in_words(
    growing: &OverflowCheck,
    clean_out: &OverflowCheck,
    mm: &impl Fn(Length) -> String,
) -> String {
    let when = if growing.safe() {
        "With the riser on it"
    } else {
        "It"
    };
    let worst = if growing.safe() { clean_out } else { growing };
    worst
        .faults
        .iter()
        .map(|fault| match fault {
            Fault::WallTooLow { .. } if worst.dry_wall <= millimetres(0.0) => {
                format!("{when} runs over the wall.")
            }
            Fault::WallTooLow { by } => {
                format!(
                    "{when} comes too near the rim of the wall: {} are missing.",
                    mm(*by)
                )
            }
            Fault::LineTooNarrow { by } => format!(
                "The tube below the overflow does not carry it: it would have to fall {} further.",
                mm(*by)
            ),
            Fault::NotClear => "The rim is not clear.".to_owned(),
            Fault::ReservoirTooSmall => "The reservoir does not take it back.".to_owned(),
        })
        .collect::<Vec<_>>()
        .join(" ")
}
