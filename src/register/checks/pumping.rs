//! Whether the lift is within the pump's reach, what it then brings, and how long it takes to flood.

use uom::si::f64::VolumeRate;

use super::found::{Found, Full, Joined, lacks_field, moving};
use super::{Check, Expected, Kind, Lack, Verdict};
use crate::register::hold::Parts;
use crate::register::pumps::Pump;
use crate::register::{Purpose, entry};
use crate::science::fitting::Fitting;
use crate::science::flood::SystemHold;
use crate::science::flood_time::{Flooding, Rise, flood_time};
use crate::science::pipe::Run;
use crate::science::pump::{Band, Curve, Operating, Point};
use crate::science::quantity::{
    Area, Length, OutOfRange, Time, Volume, WaterTemperature, in_millimetres, litres, millimetres,
};
use crate::science::show;
use crate::science::units::Units;
use crate::science::viscosity::Liquid;

/// What a fill usually has: its mouth in the reservoir and two elbows.
const USUAL_FITTINGS: [Fitting; 3] = [
    Fitting::EntranceStandingIn,
    Fitting::Elbow90Threaded,
    Fitting::Elbow90Threaded,
];

/// Everything that the pump works against, for one level.
struct Work {
    curve: Band,
    most_head: Length,
    run: Run,
    tube: String,
    rise: Rise,
    /// From the water in the reservoir to the flood level or the outlet, benches full.
    lift: Length,
    lift_from: String,
    assumed: Vec<String>,
}

enum Cannot {
    Lacks(Vec<Lack>),
    Says(String),
}

impl From<OutOfRange> for Cannot {
    fn from(error: OutOfRange) -> Self {
        Self::Says(format!("{error}."))
    }
}

/// The head and the flow that the lift is held against.
fn curve<'a>(found: &'a Found<'_>) -> Result<(&'a Pump, Band), Cannot> {
    let lacks = |what: Lack| Cannot::Lacks(vec![what]);
    let pump = found
        .pumps()
        .next()
        .ok_or_else(|| lacks(found.lacks_part("pumps", "the pump")))?;
    let field = |field, what: &str| lacks_field("pumps", pump.id.get(), field, what.to_owned());
    match pump.figures.curve() {
        Some(curve) => Ok((pump, curve?)),
        None => {
            let mut missing = Vec::new();
            if pump.figures.max_flow.is_none() {
                missing.push(field("max_flow", "the pump's most flow"));
            }
            if pump.figures.max_head.is_none() {
                missing.push(field("max_head", "the pump's most head"));
            }
            Err(Cannot::Lacks(missing))
        }
    }
}

fn work(found: &Found<'_>, full: Full) -> Result<Work, Cannot> {
    let mut lacks = found.lacks_of_hold();
    let fill = found.joined(Purpose::Fill);
    if fill.is_none() {
        lacks.push(found.lacks_part("tubing", "the fill: its bore and length"));
    }
    let curve = match curve(found) {
        Ok(curve) => Some(curve),
        Err(Cannot::Lacks(missing)) => {
            lacks.extend(missing);
            None
        }
        Err(says) => return Err(says),
    };
    let measured = curve.and_then(|(pump, _)| pump.figures.lift);
    if measured.is_none() {
        let unknown = found
            .benches
            .iter()
            .filter(|bench| bench.bench.figures.floor_height.is_none());
        lacks.extend(unknown.map(|bench| {
            lacks_field(
                "benches",
                bench.bench.id.get(),
                "floor_height",
                format!(
                    "the height of the floor of {} over the ground",
                    bench.name()
                ),
            )
        }));
    }
    let (Some((pump, curve)), Some(fill), true) = (curve, fill, lacks.is_empty()) else {
        return Err(Cannot::Lacks(lacks));
    };
    let hold = match found.hold(full) {
        Some(Ok(hold)) => hold,
        Some(Err(refusal)) => return Err(Cannot::Says(found.parts.by_name(&refusal))),
        None => return Err(Cannot::Lacks(found.lacks_of_hold())),
    };
    put_together(found, &hold, &fill, (pump, curve), full)
}

fn put_together(
    found: &Found<'_>,
    hold: &SystemHold,
    fill: &Joined<'_>,
    (pump, curve): (&Pump, Band),
    full: Full,
) -> Result<Work, Cannot> {
    let units = found.units;
    let nothing = millimetres(0.0);
    let waters = || found.benches.iter().filter_map(|bench| bench.water(full));
    let depth = waters().fold(nothing, |most, water| longer(most, water.level));
    let moved: Volume = waters().fold(litres(0.0), |sum, water| sum + moving(water));
    let area = found
        .parts
        .reservoir()
        .and_then(|reservoir| reservoir.figures.area());
    let level = |volume: Volume| area.map_or(nothing, |area| volume / area);
    let drained = hold.drained();
    let mut assumed = fill.assumed(Purpose::Fill, &USUAL_FITTINGS);
    let (lift, start, lift_from) = match pump.figures.lift {
        Some(lift) => {
            let lift = lift.length();
            let falls = area.map_or(nothing, |area| moved / area);
            (
                lift,
                longer(nothing, lift - depth - falls),
                "as measured, benches flooded".to_owned(),
            )
        }
        None => {
            let floor = found
                .benches
                .iter()
                .filter_map(|bench| bench.bench.figures.floor_height)
                .fold(nothing, |most, floor| longer(most, floor.length()));
            // Where the fill ends above the water, it lifts to its end.
            let base = match fill.rise() {
                Some(rise) => longer(floor, rise - depth),
                None => floor,
            };
            assumed.push("The reservoir stands on the ground, from which the floors are measured, and the fill begins at its bottom.".to_owned());
            if area.is_none() {
                assumed.push("The level in the reservoir is not known without its inside length and width: the lift is counted from its bottom, the safe side.".to_owned());
            }
            let stands = level(drained - moved);
            (
                longer(nothing, base + depth - stands),
                longer(nothing, base - level(drained)),
                format!(
                    "{} over the ground, less {} of water in the reservoir",
                    show::length(base + depth, units),
                    whole(stands, units)
                ),
            )
        }
    };
    if found.benches.len() > 1 {
        assumed.push("All benches flood together and as if each stood as high as the highest: the safe side.".to_owned());
    }
    assumed.push("Water at 20\u{a0}°C.".to_owned());
    assumed.push(match pump.figures.point {
        None => "The pump's curve lies between a straight line and a parabola through its most head and its most flow: a point between, from its leaflet, narrows this.".to_owned(),
        Some(_) => "The pump's curve goes through its most head, its most flow and the point between.".to_owned(),
    });
    let free_area: Area = moved / depth;
    Ok(Work {
        most_head: curve.upper.shut_off_head(),
        curve,
        run: fill.run(&USUAL_FITTINGS, true)?,
        tube: fill.words(&USUAL_FITTINGS, units),
        rise: Rise {
            free_area,
            depth,
            lift: start,
            reservoir_area: area,
        },
        lift,
        lift_from,
        assumed,
    })
}

/// What flows measured on different days are compared by: the least that the pump gives, its run, and
/// the lift at the overflow.
#[derive(Clone, Debug)]
pub struct WorkingPoint {
    pub curve: Curve,
    pub run: Run,
    pub lift: Length,
}

/// None while the pump, the fill or the lift is not on record.
pub fn working_point(parts: &Parts, units: Units) -> Option<WorkingPoint> {
    let work = work(&Found::of(parts, units), Full::Growing).ok()?;
    Some(WorkingPoint {
        curve: work.curve.lower,
        run: work.run,
        lift: work.lift,
    })
}

fn longer(a: Length, b: Length) -> Length {
    if a > b { a } else { b }
}

fn whole(length: Length, units: Units) -> String {
    show::length(millimetres(in_millimetres(length).round()), units)
}

fn water() -> Liquid {
    Liquid::water(WaterTemperature::TWENTY)
}

/// The lift against the pump's reach, at the level of a clean-out.
pub(super) fn lift(found: &Found<'_>) -> Check {
    let (kind, what) = (Kind::Lift, "Lift and flow");
    let checked = work(found, Full::CleanOut).and_then(|work| Ok(lift_check(&work, found.units)?));
    told(kind, what, checked)
}

fn told(kind: Kind, what: &str, checked: Result<Check, Cannot>) -> Check {
    match checked {
        Ok(check) => check,
        Err(Cannot::Lacks(lacks)) => Check::not_yet(kind, what, lacks),
        Err(Cannot::Says(words)) => Check::new(kind, what, Verdict::NotYet, words),
    }
}

fn lift_check(work: &Work, units: Units) -> Result<Check, OutOfRange> {
    let (kind, what) = (Kind::Lift, "Lift and flow");
    let at = |curve: &Curve| curve.operating_point(work.lift, &work.run, &water());
    let (lift, most) = (
        whole(work.lift, units),
        entry::show_long(work.most_head, units),
    );
    let (Operating::Flow(least), Operating::Flow(upper)) =
        (at(&work.curve.lower)?, at(&work.curve.upper)?)
    else {
        let mut check = Check::new(
            kind,
            what,
            Verdict::DoesNotFit,
            format!(
                "No flow: to the flood level it lifts {lift}, and the pump lifts at most {most}. The water does not get there. Take a pump that lifts higher, or set the reservoir higher."
            ),
        );
        check.line("Lift", work.lift_from.clone(), lift);
        check.line("Most head of the pump", "no flow at it", most);
        check.assumed.clone_from(&work.assumed);
        return Ok(check);
    };
    let flow = |point: &Point| entry::show_flow_per_minute(point.flow, units);
    let brings = between(&flow(&least), &flow(&upper));
    let mut check = Check::new(
        kind,
        what,
        Verdict::Fits,
        format!(
            "Benches flooded for a clean-out, the pump lifts {lift} of at most {most} and brings {brings}."
        ),
    );
    check.expected = Some(Expected::Flow(least.flow, upper.flow));
    check.line("Lift", work.lift_from.clone(), lift);
    check.line("Fill", work.tube.clone(), "");
    check.line(
        "Lost along the tube",
        format!("at {}, {}", flow(&least), least.loss.regime.word()),
        whole(least.loss.friction, units),
    );
    check.line(
        "Lost in the fittings and at the end",
        "",
        whole(least.loss.fittings, units),
    );
    check.line(
        "Head that the pump gives",
        "lift and losses",
        whole(least.head, units),
    );
    check.line("Flow", "where the pump's curve meets them", brings);
    check.assumed.clone_from(&work.assumed);
    Ok(check)
}

fn between(least: &str, most: &str) -> String {
    if least == most {
        least.to_owned()
    } else {
        format!("between {least} and {most}")
    }
}

/// How long the pump takes to fill the benches, by its least and by its most.
#[derive(Clone, Copy, Debug)]
struct Takes {
    /// Nothing where the water stands still below the level.
    slow: Option<Time>,
    quick: Option<Time>,
    first: Option<VolumeRate>,
}

fn takes(work: &Work) -> Result<Takes, OutOfRange> {
    let by = |curve| flood_time(&work.rise, curve, &work.run, &water());
    let time = |flooding: &Flooding| match flooding {
        Flooding::Floods { time, .. } => Some(*time),
        Flooding::Stalls { .. } => None,
    };
    let (slow, quick) = (by(&work.curve.lower)?, by(&work.curve.upper)?);
    Ok(Takes {
        slow: time(&slow),
        quick: time(&quick),
        first: match slow {
            Flooding::Floods { first, .. } => Some(first),
            Flooding::Stalls { .. } => None,
        },
    })
}

/// Time to flood, to the overflow and to the level of a clean-out.
pub(super) fn flood(found: &Found<'_>) -> Check {
    let (kind, what) = (Kind::Flood, "Time to flood");
    told(kind, what, flood_check(found))
}

fn flood_check(found: &Found<'_>) -> Result<Check, Cannot> {
    let (kind, what, units) = (Kind::Flood, "Time to flood", found.units);
    let growing = work(found, Full::Growing)?;
    let clean_out = work(found, Full::CleanOut).ok();
    let to_overflow = takes(&growing)?;
    let to_clean_out = clean_out.as_ref().map(takes).transpose()?;
    let words = |takes: &Takes| match (takes.slow, takes.quick) {
        (Some(slow), Some(quick)) => Some(between(&show::time(quick), &show::time(slow))),
        _ => None,
    };
    let Some(first) = words(&to_overflow) else {
        return Ok(Check::new(
            kind,
            what,
            Verdict::DoesNotFit,
            "The water stands still below the overflow: the lift grows out of the pump's reach.",
        ));
    };
    let second = match &to_clean_out {
        Some(takes) => match words(takes) {
            Some(words) => format!(" To the level of a clean-out, riser on: {words}."),
            None => " It does not reach the level of a clean-out: the lift grows out of the pump's reach."
                .to_owned(),
        },
        None => String::new(),
    };
    let stalls = to_clean_out.is_some_and(|takes| takes.slow.is_none());
    let verdict = if stalls {
        Verdict::DoesNotFit
    } else {
        Verdict::Reckoned
    };
    let mut check = Check::new(
        kind,
        what,
        verdict,
        format!("To the overflow: {first}.{second} Plan with the longest."),
    );
    check.expected = to_overflow
        .quick
        .zip(to_overflow.slow)
        .map(|(quick, slow)| Expected::Flood(quick, slow));
    let last = clean_out.as_ref().unwrap_or(&growing);
    check.line(
        "Water that runs in",
        "all benches",
        show::volume_fixed(last.rise.free_area * last.rise.depth, units, 1),
    );
    check.line("Lift at the start", "", whole(last.rise.lift, units));
    if let Some(flow) = to_overflow.first {
        check.line(
            "Flow at the start, at least",
            "it falls as the lift grows",
            entry::show_flow_per_minute(flow, units),
        );
    }
    check.assumed = growing.assumed;
    check
        .assumed
        .push("The tubing is full when the clock starts.".to_owned());
    Ok(check)
}
