use uom::si::time::millisecond;

use super::*;
use crate::register::checks::tests::parts;
use crate::register::flow_tests::TestFigures;
use crate::science::pump::Operating;
use crate::science::stored::{Millilitres, Milliseconds, TenthsCelsius};
use crate::science::viscosity::Liquid;
use crate::text::Name;

fn timing(kind: Timed, month: u32, seconds: f64) -> Timing {
    Timing {
        figures: TestFigures {
            kind,
            caught: (kind == Timed::Flow).then(|| Millilitres::new(10_000).unwrap()),
            took: Milliseconds::nearest(Time::new::<second>(seconds)).unwrap(),
            water: None,
            lift: None,
        },
        on: NaiveDate::from_ymd_opt(2026, 1, 5)
            .unwrap()
            .checked_add_months(chrono::Months::new(month))
            .unwrap(),
        flow_version: 1,
        by: Name::parse("Tobit A.").unwrap(),
        cleanout: None,
    }
}

fn flood(seconds: &[f64]) -> Trend {
    let timings: Vec<Timing> = (0..)
        .zip(seconds)
        .map(|(month, seconds)| timing(Timed::Flood, month, *seconds))
        .collect();
    trends(&parts(), &timings, Units::Metric).remove(0)
}

#[test]
fn a_flood_that_takes_ever_longer_is_likely_clogging() {
    let trend = flood(&[
        300.0, 304.0, 302.0, 310.0, 316.0, 322.0, 331.0, 338.0, 345.0,
    ]);
    assert!(
        trend.verdict.starts_with("likely clogging, see the ports"),
        "{}",
        trend.verdict
    );
    assert!(trend.look && trend.brought == Brought::None);
    let change = trend.change.unwrap();
    assert!(change.starts_with("It changes by 6.3"), "{change}");
    assert_eq!(trend.readings[0].measured, "5\u{a0}min 0\u{a0}s");
    let [(_, from), (_, to)] = trend.drawing.line.unwrap();
    assert!(from < to);
}

#[test]
fn few_readings_say_so_and_level_ones_are_steady() {
    let three = flood(&[300.0, 320.0, 340.0]);
    assert_eq!(three.verdict, "too few readings: 3 of 4");
    assert!(three.change.is_none() && three.drawing.line.is_none());
    let six = flood(&[300.0, 302.0, 299.0, 301.0, 300.0, 301.0]);
    assert_eq!(
        six.verdict,
        "steady so far, from 6 readings; it is tested from 8 on"
    );
    let nine = flood(&[
        300.0, 303.0, 299.0, 301.0, 304.0, 300.0, 302.0, 299.0, 301.0,
    ]);
    assert_eq!(nine.verdict, "steady");
    // A fall that a clock hardly tells is none, however regular it is.
    let slight = flood(&[
        300.0, 300.2, 300.4, 300.6, 300.8, 301.0, 301.2, 301.4, 301.6,
    ]);
    assert_eq!(slight.verdict, "steady");
    let weak = flood(&[300.0, 312.0, 324.0, 336.0, 348.0]);
    assert!(
        weak.verdict.starts_with("a weak sign") || weak.look,
        "{}",
        weak.verdict
    );
}

#[test]
fn a_sudden_clog_is_told_with_its_day() {
    let trend = flood(&[300.0, 303.0, 299.0, 301.0, 300.0, 380.0]);
    assert_eq!(
        trend.verdict,
        "slowed suddenly, from 5 June 2026 on: see the strainer, the ports and the pump"
    );
    assert!(trend.look);
}

#[test]
fn two_timings_of_one_day_are_one_reading() {
    let mut timings: Vec<Timing> = (0..4).map(|_| timing(Timed::Drain, 0, 500.0)).collect();
    timings[1].figures.took = Milliseconds::new(520_000).unwrap();
    let trend = trends(&parts(), &timings, Units::Metric).remove(0);
    assert_eq!(trend.verdict, "too few readings: 1 of 4");
    assert_eq!(trend.readings.len(), 4);
}

#[test]
fn a_series_out_of_range_is_shown_with_why_it_is_not_judged() {
    let trend = flood(&[2.0, 2.0, 2.0, 2.0]);
    assert!(
        trend.verdict.starts_with("not judged: "),
        "{}",
        trend.verdict
    );
    assert!(trend.look);
    assert_eq!(trend.readings.len(), 4);
}

#[test]
fn some_readings_without_a_temperature_are_told_apart() {
    let mut timings: Vec<Timing> = (0..4)
        .map(|month| timing(Timed::Flow, month, 45.0))
        .collect();
    timings[0].figures.water = Some(TenthsCelsius::new(120).unwrap());
    let trend = trends(&parts(), &timings, Units::Metric).remove(0);
    assert_eq!(trend.brought, Brought::Some);
}

#[test]
fn cold_water_is_not_taken_for_a_clog() {
    // What the pump of the fixture brings through its tube, in water that gets colder every month.
    let parts = parts();
    let point = checks::working_point(&parts, Units::Metric).unwrap();
    let brings = |celsius: i64| {
        let water = WaterTemperature::new(celsius as f64).unwrap();
        match point
            .curve
            .operating_point(point.lift, &point.run, &Liquid::water(water))
            .unwrap()
        {
            Operating::Flow(point) => point.flow,
            Operating::NoFlow => panic!("0.9 m is within reach"),
        }
    };
    let measured = |with_temperature: bool| -> Vec<Timing> {
        (0..9)
            .map(|month| {
                let celsius = 38 - 4 * i64::from(month);
                let seconds = (litres(10.0) / brings(celsius)).get::<millisecond>() / 1000.0;
                let mut timing = timing(Timed::Flow, month, seconds);
                timing.figures.water =
                    with_temperature.then(|| TenthsCelsius::new(celsius * 10).unwrap());
                timing
            })
            .collect()
    };
    let known = trends(&parts, &measured(true), Units::Metric).remove(0);
    assert_eq!(known.verdict, "steady");
    assert_eq!(known.brought, Brought::All);
    let at_20 = known.readings[0].compared.clone();
    assert!(
        known
            .readings
            .iter()
            .all(|reading| reading.compared == at_20)
    );
    let unknown = trends(&parts, &measured(false), Units::Metric).remove(0);
    let points = &unknown.drawing.points;
    assert!(points[0].value > points[8].value, "cold water slows it");
    assert_eq!(unknown.brought, Brought::None);
}

#[test]
fn what_was_measured_stands_beside_what_is_reckoned() {
    // The fixture is reckoned to bring between 12.8 and 16.6 L/min.
    let said = |seconds| {
        let timings = [timing(Timed::Flow, 2, seconds)];
        let mut checks = checks::all(&parts(), Units::Metric);
        beside(&mut checks, &timings, 1, Units::Metric);
        let lift = checks
            .into_iter()
            .find(|check| check.kind == checks::Kind::Lift);
        lift.and_then(|check| check.measured)
            .unwrap()
            .replace('\u{a0}', " ")
    };
    assert_eq!(
        said(40.0),
        "Measured 15 L/min on 5 March 2026, Tobit A.: within what is reckoned."
    );
    // 10 L/min are 22 % less than 12.807.
    assert_eq!(
        said(60.0),
        "Measured 10 L/min on 5 March 2026, Tobit A.: 22 % less than reckoned."
    );
}

#[test]
fn a_new_pump_begins_a_new_series() {
    // Ever slower with the old pump, then steady with the new one.
    let mut parts = parts();
    parts.system.flow_version = 2;
    let mut timings: Vec<Timing> = (0..)
        .zip([200.0, 215.0, 230.0, 245.0, 260.0, 275.0, 290.0, 305.0])
        .map(|(month, seconds)| timing(Timed::Flood, month, seconds))
        .collect();
    let old = trends(&parts, &timings, Units::Metric).remove(0);
    assert_eq!(
        old.verdict,
        "not timed since the pump or the loop was changed"
    );
    assert!(old.broken && !old.look && old.drawing.line.is_none());
    timings.extend(
        (8..)
            .zip([201.0, 199.0, 200.0, 202.0])
            .map(|(month, seconds)| {
                let mut timing = timing(Timed::Flood, month, seconds);
                timing.flow_version = 2;
                timing
            }),
    );
    let new = trends(&parts, &timings, Units::Metric).remove(0);
    assert!(
        new.verdict.starts_with("steady so far, from 4"),
        "{}",
        new.verdict
    );
    assert_eq!(
        new.drawing.points.len(),
        12,
        "the old ones stay in the picture"
    );
    assert_eq!(new.drawing.breaks, [(timings[7].on, timings[8].on)]);
    assert_eq!(
        new.drawing.line.map(|[from, _]| from.0),
        Some(timings[8].on)
    );
    assert_eq!(
        new.readings.iter().filter(|reading| reading.before).count(),
        8
    );
}

#[test]
fn a_drain_is_brought_to_20_degrees_by_its_pipe() {
    let parts = parts();
    let at = |celsius: Option<i64>| {
        let mut timing = timing(Timed::Drain, 1, 300.0);
        timing.figures.water = celsius.map(|celsius| TenthsCelsius::new(celsius * 10).unwrap());
        trends(&parts, &[timing], Units::Metric).remove(0)
    };
    assert_eq!(at(None).brought, Brought::None);
    let cold = at(Some(8));
    assert_eq!(cold.brought, Brought::All);
    let twenty = at(Some(20)).drawing.points[0].value;
    assert!((twenty - 300.0).abs() < 1e-6);
    let brought = cold.drawing.points[0].value;
    assert!(
        brought < 300.0 && brought > 270.0,
        "cold water is thicker: {brought}"
    );
}
