//! Flow and drain times of a system over its clean-outs and tests: whether it slows, how sure that
//! is, and how what was measured stands to what is reckoned.

use chrono::NaiveDate;
use uom::si::f64::VolumeRate;
use uom::si::time::{day, second};
use uom::si::volume_rate::liter_per_minute;

use super::checks::{self, Check, Expected, WorkingPoint};
use super::flow_tests::{Timed, Timing};
use super::hold::Parts;
use crate::drawings::flow_trend::{FlowTrend, Point};
use crate::register::entry;
use crate::science::drain::at_twenty;
use crate::science::flow_test::{Conditions, brought_to};
use crate::science::pipe::Run;
use crate::science::quantity::{Length, OutOfRange, Time, Volume, WaterTemperature, litres};
use crate::science::show;
use crate::science::statistics::mean_and_sd;
use crate::science::stored::{Millilitres, Millimetres};
use crate::science::trend::{
    self, CleanFlow, Clogging, FlowReading, LEAST_READINGS, READINGS_TO_TEST, theil_sen,
};
use crate::science::units::Units;
use crate::site::full_day;

/// So many of the first readings stand for the clean system, once there are more (common practice,
/// no source).
const CLEAN_READINGS: usize = 4;
/// A few readings that happen to agree do not make later ones a fault: their scatter is taken as at
/// least this part of their mean (a bucket and a clock; common practice, no source).
const LEAST_SCATTER: f64 = 0.03;

/// A fall of less than this part is within what a bucket and a clock tell (common practice, no source).
const LEAST_FALL: f64 = 0.03;

/// The timings of one kind, and what they say together.
#[derive(Debug)]
pub struct Trend {
    pub kind: Timed,
    pub readings: Vec<Reading>,
    /// 'likely clogging, see the ports'.
    pub verdict: String,
    /// Whether somebody has to look.
    pub look: bool,
    /// How fast it changes, where that can be said.
    pub change: Option<String>,
    pub drawing: FlowTrend,
    /// Which of the values were brought to 20 °C and one lift.
    pub brought: Brought,
    /// Whether readings from before the pump or the loop was changed stand beside it, unjudged.
    pub broken: bool,
}

/// How many of the values of a trend were brought to 20 °C and one lift.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Brought {
    All,
    /// The others were timed without a water temperature or a lift.
    Some,
    None,
}

/// One timing of a trend, as it was measured and as it is compared.
#[derive(Debug)]
pub struct Reading {
    pub on: NaiveDate,
    pub by: String,
    pub cleanout: Option<(String, String)>,
    pub measured: String,
    /// At 20 °C and the usual lift; empty where it could not be brought there.
    pub compared: String,
    /// Timed before the pump or the loop was changed: another series.
    pub before: bool,
    flow_version: i64,
    rate: VolumeRate,
}

/// What the values are brought to 20 °C by: the pump on its run, the drain in its pipe.
struct Points {
    pump: Option<WorkingPoint>,
    drain: Option<(Length, Run)>,
}

/// The trends of every kind that was timed at all.
pub fn trends(parts: &Parts, timings: &[Timing], units: Units) -> Vec<Trend> {
    let points = Points {
        pump: checks::working_point(parts, units),
        drain: checks::drain_point(parts, units),
    };
    Timed::ALL
        .iter()
        .filter_map(|kind| {
            let own: Vec<&Timing> = timings
                .iter()
                .filter(|timing| timing.figures.kind == *kind)
                .collect();
            if own.is_empty() {
                return None;
            }
            let now = parts.system.flow_version;
            Some(Trend::of(*kind, &own, &points, now, units))
        })
        .collect()
}

/// A time is compared as the rate at which a hundred litres would run: only how it changes counts.
fn nominal() -> Volume {
    litres(100.0)
}

fn measured_rate(timing: &Timing) -> VolumeRate {
    let volume = timing
        .figures
        .caught
        .map_or_else(nominal, Millilitres::volume);
    volume / timing.figures.took.time()
}

/// The rate at 20 °C and the usual lift; none where nothing is known to bring it there by.
fn compared_rate(timing: &Timing, points: &Points) -> Option<VolumeRate> {
    let figures = &timing.figures;
    if figures.kind == Timed::Drain {
        let (drop, run) = points.drain.as_ref()?;
        return at_twenty(measured_rate(timing), *drop, run, timing.water()?)
            .ok()
            .flatten();
    }
    if figures.water.is_none() && figures.lift.is_none() {
        return None;
    }
    let point = points.pump.as_ref()?;
    let usual = Conditions {
        lift: point.lift,
        temperature: WaterTemperature::TWENTY,
    };
    let here = Conditions {
        lift: figures.lift.map_or(point.lift, Millimetres::length),
        temperature: timing.water().unwrap_or(WaterTemperature::TWENTY),
    };
    brought_to(
        measured_rate(timing),
        &here,
        &usual,
        &point.curve,
        &point.run,
    )
    .ok()
    .flatten()
}

fn shown(kind: Timed, rate: VolumeRate, units: Units) -> String {
    match kind {
        Timed::Flow => entry::show_flow_per_minute(rate, units),
        Timed::Flood | Timed::Drain => show::time(nominal() / rate),
    }
}

/// The value on the drawing: a flow in the reader's unit, or seconds.
fn drawn(kind: Timed, rate: VolumeRate, units: Units) -> f64 {
    match kind {
        Timed::Flow => entry::large(units).count(rate * Time::new::<uom::si::time::minute>(1.0)),
        Timed::Flood | Timed::Drain => (nominal() / rate).get::<second>(),
    }
}

fn unit(kind: Timed, units: Units) -> String {
    match kind {
        Timed::Flow => format!("{}/min", entry::large(units).symbol()),
        Timed::Flood | Timed::Drain => "s".to_owned(),
    }
}

impl Trend {
    fn of(kind: Timed, timings: &[&Timing], points: &Points, now: i64, units: Units) -> Self {
        let mut readings: Vec<Reading> = timings
            .iter()
            .map(|timing| {
                let measured = measured_rate(timing);
                let compared = compared_rate(timing, points);
                Reading {
                    on: timing.on,
                    by: timing.by.to_string(),
                    cleanout: timing.cleanout.clone(),
                    measured: shown(kind, measured, units),
                    compared: compared.map_or_else(String::new, |rate| shown(kind, rate, units)),
                    before: timing.flow_version != now,
                    flow_version: timing.flow_version,
                    rate: compared.unwrap_or(measured),
                }
            })
            .collect();
        readings.sort_by_key(|reading| (reading.flow_version, reading.on));
        let brought = match readings
            .iter()
            .filter(|one| !one.compared.is_empty())
            .count()
        {
            0 => Brought::None,
            some if some < readings.len() => Brought::Some,
            _ => Brought::All,
        };
        // What was timed before the pump or the loop was changed says nothing about how it runs now.
        let days = day_means(&readings, now);
        let (verdict, look, clean) = if days.is_empty() {
            let words = "not timed since the pump or the loop was changed".to_owned();
            (words, false, None)
        } else {
            // A series that cannot be judged is still shown, with why.
            judge(&days).unwrap_or_else(|error| (format!("not judged: {error}"), true, None))
        };
        let points: Vec<(f64, f64)> = days
            .iter()
            .map(|(on, rate)| (from_start(&days, *on), drawn(kind, *rate, units)))
            .collect();
        let slope = (points.len() >= LEAST_READINGS)
            .then(|| theil_sen(&points))
            .flatten();
        let unit = unit(kind, units);
        let change = slope.map(|slope| {
            let a_month = |by: f64| show::figures(by * 30.0, 2);
            format!(
                "It changes by {}\u{a0}{unit} in 30 days ({} to {}, 95 times in 100).",
                a_month(slope.slope),
                a_month(slope.low),
                a_month(slope.high)
            )
        });
        let drawing = FlowTrend {
            what: kind.title().to_owned(),
            unit,
            points: readings
                .iter()
                .map(|reading| Point {
                    day: reading.on,
                    value: drawn(kind, reading.rate, units),
                    cleanout: reading.cleanout.is_some(),
                })
                .collect(),
            line: slope
                .zip(days.first().zip(days.last()))
                .zip(points.last())
                .map(|((slope, (first, newest)), last)| {
                    let at_last = slope.intercept + slope.slope * last.0;
                    [(first.0, slope.intercept), (newest.0, at_last)]
                }),
            breaks: readings
                .windows(2)
                .filter_map(|pair| match pair {
                    [a, b] if a.flow_version != b.flow_version => Some((a.on, b.on)),
                    _ => None,
                })
                .collect(),
            since: days.first().map(|first| first.0),
            usual: clean
                .filter(|clean| clean.sd * 3.0 < clean.mean)
                .map(|clean| {
                    let at = |sigmas: f64| drawn(kind, clean.mean + clean.sd * sigmas, units);
                    (at(-3.0), at(3.0))
                }),
        };
        Self {
            kind,
            broken: readings.iter().any(|reading| reading.before),
            readings,
            verdict,
            look,
            change,
            drawing,
            brought,
        }
    }
}

fn from_start(days: &[(NaiveDate, VolumeRate)], on: NaiveDate) -> f64 {
    days.first()
        .map_or(0.0, |(first, _)| (on - *first).num_days() as f64)
}

/// One value a day of the series that runs now: two buckets on one morning are one reading.
fn day_means(readings: &[Reading], now: i64) -> Vec<(NaiveDate, VolumeRate)> {
    let from = readings.partition_point(|reading| reading.flow_version < now);
    readings
        .get(from..)
        .unwrap_or_default()
        .chunk_by(|a, b| a.on == b.on)
        .filter_map(|same| {
            let first = same.first()?;
            let sum = same
                .iter()
                .skip(1)
                .fold(first.rate, |sum, reading| sum + reading.rate);
            Some((first.on, sum / same.len() as f64))
        })
        .collect()
}

/// The verdict in words, whether somebody has to look, and the clean system it is held against.
fn judge(
    days: &[(NaiveDate, VolumeRate)],
) -> Result<(String, bool, Option<CleanFlow>), OutOfRange> {
    let readings: Vec<FlowReading> = days
        .iter()
        .map(|(on, flow)| FlowReading {
            at: Time::new::<day>(from_start(days, *on)),
            flow: *flow,
        })
        .collect();
    let clean = clean_flow(days);
    let count = readings.len();
    let sudden = match clean {
        Some(clean) => match trend::clogging(&readings, Some(clean))? {
            Clogging::SuddenFall { reading } => days.get(reading).map(|(on, _)| *on),
            _ => None,
        },
        None => None,
    };
    let judged = match trend::clogging(&readings, None)? {
        Clogging::LikelyClogging(fall) | Clogging::WeakSign(fall) if fall.part > -LEAST_FALL => {
            Clogging::NoSign
        }
        judged => judged,
    };
    let (words, look) = match (judged, sudden) {
        (Clogging::LikelyClogging(_), Some(on)) => (
            format!(
                "likely clogging, see the ports; its readings together show it from {} on",
                full_day(on)
            ),
            true,
        ),
        (Clogging::LikelyClogging(_), None) => ("likely clogging, see the ports".to_owned(), true),
        (_, Some(on)) => (
            format!(
                "slowed suddenly, from {} on: see the strainer, the ports and the pump",
                full_day(on)
            ),
            true,
        ),
        (Clogging::WeakSign(_), None) => (
            format!("a weak sign that it slows, from {count} readings: time it more often"),
            false,
        ),
        (Clogging::TooFewReadings, None) => (
            format!("too few readings: {count} of {LEAST_READINGS}"),
            false,
        ),
        (Clogging::NoSign | Clogging::SuddenFall { .. }, None) if count < READINGS_TO_TEST => (
            format!(
                "steady so far, from {count} readings; it is tested from {READINGS_TO_TEST} on"
            ),
            false,
        ),
        (Clogging::NoSign | Clogging::SuddenFall { .. }, None) => ("steady".to_owned(), false),
    };
    Ok((words, look, clean))
}

/// The first readings, once there are more.
fn clean_flow(days: &[(NaiveDate, VolumeRate)]) -> Option<CleanFlow> {
    let first = days
        .get(..CLEAN_READINGS)
        .filter(|_| days.len() > CLEAN_READINGS)?;
    let flows: Vec<f64> = first
        .iter()
        .map(|(_, flow)| flow.get::<liter_per_minute>())
        .collect();
    let (mean, sd) = mean_and_sd(&flows)?;
    let rate = VolumeRate::new::<liter_per_minute>;
    Some(CleanFlow {
        mean: rate(mean),
        sd: rate(sd.max(mean * LEAST_SCATTER)),
    })
}

/// What was measured last on the pump and the loop as they are now, said beside what is reckoned.
pub fn beside(checks: &mut [Check], timings: &[Timing], now: i64, units: Units) {
    for check in checks {
        let Some(expected) = check.expected else {
            continue;
        };
        let kind = expected.kind();
        let newest = timings
            .iter()
            .filter(|timing| timing.figures.kind == kind && timing.flow_version == now)
            .max_by_key(|timing| timing.on);
        if let Some(newest) = newest {
            check.measured = Some(compared(newest, &expected, units));
        }
    }
}

fn compared(timing: &Timing, expected: &Expected, units: Units) -> String {
    let took = timing.figures.took.time();
    let (measured, least, most) = match expected {
        Expected::Flow(least, most) => (
            drawn(Timed::Flow, measured_rate(timing), units),
            drawn(Timed::Flow, *least, units),
            drawn(Timed::Flow, *most, units),
        ),
        Expected::Flood(least, most) | Expected::Drain(least, most) => (
            took.get::<second>(),
            least.get::<second>(),
            most.get::<second>(),
        ),
    };
    let words = match timing.figures.kind {
        Timed::Flow => shown(Timed::Flow, measured_rate(timing), units),
        Timed::Flood | Timed::Drain => show::time(took),
    };
    let stands = if measured < least {
        format!(
            "{}\u{a0}% less than reckoned",
            percent(1.0 - measured / least)
        )
    } else if measured > most {
        format!(
            "{}\u{a0}% more than reckoned",
            percent(measured / most - 1.0)
        )
    } else {
        "within what is reckoned".to_owned()
    };
    let at = timing
        .cleanout
        .as_ref()
        .map_or_else(String::new, |(number, _)| format!(", clean-out {number}"));
    format!(
        "Measured {words} on {}, {}{at}: {stands}.",
        full_day(timing.on),
        timing.by
    )
}

fn percent(share: f64) -> String {
    show::figures(share * 100.0, 2)
}

#[cfg(test)]
mod tests;
