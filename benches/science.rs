//! How long the science takes, and how many lines a second the calculators answer.
//!
//! `cargo bench --bench science`. Timing is printed, never asserted: machines differ. What has a goal
//! is printed once more as a ratio to it.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark of a call that fails is none, and ratios are printed"
)]

use std::time::Instant;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};

use slackwater::cli::calc::answer_line;
use slackwater::science::dilution::{DoseAsk, Jug, Stock, SystemVolume, dose};
use slackwater::science::drain::{Draining, full_pipe_time};
use slackwater::science::flood::{
    Bed, Bench, BenchMeasures, FloodTo, Lie, MediaFractions, Reservoir, Tube, WaterLoop, hold,
};
use slackwater::science::flood_time::{Rise, flood_time};
use slackwater::science::pipe::{Run, colebrook};
use slackwater::science::pump::Band;
use slackwater::science::quantity::{Known, WaterTemperature, litres, metres, millimetres};
use slackwater::science::strength::{Basis, Strength};
use slackwater::science::trend::{mann_kendall, theil_sen};
use slackwater::science::units::Units;
use slackwater::science::viscosity::Liquid;
use uom::si::area::square_meter;
use uom::si::f64::{Area, VolumeRate};
use uom::si::volume_rate::liter_per_minute;

/// Goals in nanoseconds a call: the whole sheet of a dose, and its parts within it.
const SHEET_GOAL: f64 = 50_000.0;
const DOSE_GOAL: f64 = 20_000.0;
const VOLUME_GOAL: f64 = 10_000.0;
const POINT_GOAL: f64 = 10_000.0;

fn main() {
    divan::main();
    // A run of the tests calls this too, with arguments of its own.
    if std::env::args().any(|argument| argument == "--bench") {
        println!("nanoseconds a call, median of 31 runs, and the ratio to the goal");
        let ask = dose_ask();
        ratio("dose", DOSE_GOAL, || dose(black_box(&ask)).unwrap());
        let (system, to) = (system(), FloodTo::clean_out());
        ratio("volume", VOLUME_GOAL, || {
            hold(black_box(&system), to).unwrap()
        });
        let (pump, run, water) = (pump(), run(), Liquid::water(WaterTemperature::TWENTY));
        ratio("operating point", POINT_GOAL, || {
            pump.lower
                .operating_point(black_box(metres(0.9)), &run, &water)
                .unwrap()
        });
        ratio("dose sheet", SHEET_GOAL, || {
            sheet(black_box(&system), black_box(&ask))
        });
    }
}

/// Prints what a call takes beside its goal.
fn ratio<T>(name: &str, goal: f64, call: impl Fn() -> T) {
    let calls = 2000;
    let mut runs: Vec<f64> = (0..31)
        .map(|_| {
            let start = Instant::now();
            for _ in 0..calls {
                black_box(call());
            }
            start.elapsed().as_nanos() as f64 / f64::from(calls)
        })
        .collect();
    runs.sort_by(f64::total_cmp);
    let median = runs[runs.len() / 2];
    println!(
        "  {name}: {median:.0} ns, {:.3} of its goal of {goal} ns",
        median / goal
    );
}

/// Two benches with clay, tubing and a reservoir.
fn system() -> WaterLoop {
    let mut measures = BenchMeasures::plain(
        metres(2.4),
        metres(1.2),
        millimetres(75.0),
        millimetres(200.0),
    );
    measures.bed = Some(Bed {
        depth: millimetres(100.0),
        lie: Lie::Level,
        fractions: MediaFractions::new(0.42, 0.096).unwrap(),
        known: Known::Usual,
    });
    WaterLoop {
        benches: vec![Bench::new(measures).unwrap(); 2],
        tubing: vec![Tube {
            bore: millimetres(25.0),
            length: metres(4.7),
        }],
        reservoir: Reservoir {
            capacity: litres(600.0),
            heel: litres(12.0),
            over_heel: litres(20.0),
        },
    }
}

fn dose_ask() -> DoseAsk {
    let percent = |value, basis| Strength::new(value, basis).unwrap();
    let mut ask = DoseAsk::new(
        Stock::labelled(percent(35.0, Basis::PercentWw)),
        percent(3.0, Basis::PercentWv),
        SystemVolume::entered(litres(320.0)),
        WaterTemperature::TWENTY,
    );
    ask.jug = Some(Jug::new(litres(2.0), litres(0.05)).unwrap());
    ask
}

/// All of a dose sheet: what the system holds, the dose with its pours, the sentence, every line.
fn sheet(system: &WaterLoop, ask: &DoseAsk) -> (String, usize) {
    let held = hold(system, FloodTo::clean_out()).unwrap();
    let ask = DoseAsk {
        volume: SystemVolume::computed(held.total()),
        already: held.already_there(false, Strength::NONE),
        ..ask.clone()
    };
    let sheet = dose(&ask).unwrap();
    (
        sheet.sentence(Units::Metric),
        sheet.lines(Units::Metric).len() + held.lines().len(),
    )
}

#[divan::bench]
fn dose_by_balance(bencher: Bencher) {
    let ask = dose_ask();
    bencher.bench(|| dose(black_box(&ask)));
}

#[divan::bench]
fn volume_of_a_system(bencher: Bencher) {
    let system = system();
    bencher.bench(|| hold(black_box(&system), FloodTo::clean_out()));
}

#[divan::bench]
fn whole_dose_sheet(bencher: Bencher) {
    let (system, ask) = (system(), dose_ask());
    bencher.bench(|| sheet(black_box(&system), black_box(&ask)));
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
