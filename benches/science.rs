//! How long the science takes, and how many lines a second the calculators answer.
//!
//! `cargo bench --bench science`. Timing is printed, never asserted: machines differ.

#![allow(
    clippy::unwrap_used,
    reason = "a benchmark of a call that fails is none"
)]

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};

use slackwater::cli::calc::answer_line;
use slackwater::science::drain::{Draining, full_pipe_time};
use slackwater::science::flood_time::{Rise, flood_time};
use slackwater::science::pipe::{Run, colebrook};
use slackwater::science::pump::Band;
use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
use slackwater::science::trend::{mann_kendall, theil_sen};
use slackwater::science::viscosity::Liquid;
use uom::si::area::square_meter;
use uom::si::f64::{Area, VolumeRate};
use uom::si::volume_rate::liter_per_minute;

fn main() {
    divan::main();
}

fn pump() -> Band {
    Band::from_two_points(metres(2.4), VolumeRate::new::<liter_per_minute>(25.0)).unwrap()
}

fn run() -> Run {
    Run::new(millimetres(19.05), metres(3.0), 5.0).unwrap()
}

#[divan::bench]
fn friction_factor() -> f64 {
    colebrook(black_box(22_000.0), black_box(7.9e-5)).unwrap()
}

#[divan::bench]
fn operating_point(bencher: Bencher) {
    let (pump, run, water) = (pump(), run(), Liquid::water(WaterTemperature::TWENTY));
    bencher.bench(|| {
        pump.upper
            .operating_point(black_box(metres(0.9)), &run, &water)
    });
}

#[divan::bench]
fn flooding(bencher: Bencher) {
    let (pump, run, water) = (pump(), run(), Liquid::water(WaterTemperature::TWENTY));
    let rise = Rise {
        free_area: Area::new::<square_meter>(1.2096),
        depth: millimetres(75.0),
        lift: metres(0.9),
        reservoir_area: Some(Area::new::<square_meter>(0.3)),
    };
    bencher.bench(|| flood_time(black_box(&rise), &pump.lower, &run, &water));
}

#[divan::bench]
fn draining(bencher: Bencher) {
    let (run, water) = (run(), Liquid::water(WaterTemperature::TWENTY));
    let bench = Draining {
        free_area: Area::new::<square_meter>(1.2096),
        from: millimetres(75.0),
        to: millimetres(4.0),
        drop: metres(0.6),
    };
    bencher.bench(|| full_pipe_time(black_box(&bench), &run, &water));
}

/// A pump's flow once a month for 1, 4 and 40 years.
#[divan::bench(args = [12, 48, 480])]
fn trend(bencher: Bencher, months: u32) {
    let points: Vec<(f64, f64)> = (0..months)
        .map(|n| {
            (
                f64::from(n),
                13.0 - 0.01 * f64::from(n) + f64::from(n * 7 % 5) * 0.1,
            )
        })
        .collect();
    let flows: Vec<f64> = points.iter().map(|(_, flow)| *flow).collect();
    bencher.bench(|| {
        (
            theil_sen(black_box(&points)),
            mann_kendall(black_box(&flows)),
        )
    });
}

/// One call of each of six calculators, as JSON lines: the count is lines a second.
#[divan::bench]
fn lines(bencher: Bencher) {
    let lines = [
        r#"{"calc":"dose","stock":"35 % w/w","target":"3 % w/v","volume":180,"heel":12,"jug":2}"#,
        r#"{"calc":"rinse","start":30000,"retained":8,"fill":170,"limit":5}"#,
        r#"{"calc":"vapour","strength":"3 % w/w","celsius":25}"#,
        r#"{"calc":"operating-point","max_head":2400,"max_flow":25,"lift":900,"bore":19,"tube":3000}"#,
        r#"{"calc":"drain-time","area":1.2,"from":75,"drop":600,"bore":25.4,"tube":1500}"#,
        r#"{"calc":"flood-time","area":1.2,"depth":75,"max_head":2400,"max_flow":25,"lift":900,"bore":19,"tube":3000}"#,
    ];
    bencher
        .counter(ItemsCount::new(lines.len()))
        .bench(|| lines.map(|line| answer_line(black_box(line), 1).to_string()));
}
