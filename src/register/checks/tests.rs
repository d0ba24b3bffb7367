//! A plain bench whose figures are those of the reference rows, so that what a check says can be
//! held against them.

use proptest::prelude::*;

use super::*;
use crate::ids::{BenchId, PumpId, ReservoirId, RoomId, TubingRunId};
use crate::register::benches::{Bench, BenchFigures, Ports};
use crate::register::pumps::{Pump, PumpFigures};
use crate::register::reservoirs::{Reservoir, ReservoirFigures};
use crate::register::systems::{System, SystemFigures};
use crate::register::tubing::{TubingFigures, TubingRun};
use crate::register::{HeelKnown, PumpKind, Purpose};
use crate::science::stored::{
    FittingLosses, Micrometres, Millilitres, MillilitresPerMinute, Millimetres, Permille,
};
use crate::text::{Name, Note};

fn mm(value: i64) -> Millimetres {
    Millimetres::new(value).unwrap()
}

fn um(value: i64) -> Micrometres {
    Micrometres::new(value).unwrap()
}

fn ml(value: i64) -> Millilitres {
    Millilitres::new(value).unwrap()
}

fn name(text: &str) -> Name {
    Name::parse(text).unwrap()
}

/// A bench of 1.2096 m² flooded to 75 mm from a reservoir of 0.30 m², by a pump of 25 L/min and 2.4 m
/// through 3 m of 19.05 mm tube with a sum of K of 5, exit included.
pub(in crate::register) fn parts() -> Parts {
    let run = |id, purpose, bore, length, rise: Option<i64>, fittings| TubingRun {
        id: TubingRunId::from_row(id),
        system_id: SystemId::from_row(1),
        figures: TubingFigures {
            name: name("run"),
            purpose,
            bore: um(bore),
            length: mm(length),
            rise: rise.map(mm),
            fittings: Some(FittingLosses::new(fittings).unwrap()),
            wall: None,
        },
        retired: false,
        version: 1,
    };
    Parts {
        system: System {
            id: SystemId::from_row(1),
            figures: SystemFigures {
                room_id: RoomId::from_row(1),
                name: name("North 1"),
                note: Note::parse("").unwrap(),
            },
            room_name: name("North bay"),
            laid_up_since: None,
            quarantine: None,
            releases_void_to: None,
            loop_version: 1,
            flow_version: 1,
            retired: false,
            version: 1,
        },
        reservoirs: vec![Reservoir {
            id: ReservoirId::from_row(1),
            system_id: SystemId::from_row(1),
            figures: ReservoirFigures {
                plan: Some((mm(600), mm(500))),
                height: Some(mm(550)),
                capacity: ml(150_000),
                pump_need: ml(40_000),
                heel: ml(10_000),
                heel_known: HeelKnown::Measured,
            },
            retired: false,
            version: 1,
        }],
        benches: vec![Bench {
            id: BenchId::from_row(1),
            system_id: SystemId::from_row(1),
            figures: BenchFigures {
                name: name("Bench 1"),
                length: mm(1_200),
                width: mm(1_008),
                floor_fall: mm(0),
                wall: mm(150),
                overflow: mm(75),
                bed: None,
                recess: ml(0),
                solids: ml(0),
                riser: None,
                floor_height: Some(mm(1_100)),
                ports: Ports {
                    overflow_bore: Some(um(32_000)),
                    overflow_keeps: Some(Permille::new(1_000).unwrap()),
                    ..Ports::default()
                },
            },
            retired: false,
            version: 1,
        }],
        bucket_tests: Vec::new(),
        pumps: vec![Pump {
            id: PumpId::from_row(1),
            system_id: SystemId::from_row(1),
            figures: PumpFigures {
                name: name("Pump"),
                kind: PumpKind::Submersible,
                max_flow: Some(MillilitresPerMinute::new(25_000).unwrap()),
                max_head: Some(mm(2_400)),
                point: None,
                lift: Some(mm(900)),
                last_teardown: None,
            },
            retired: false,
            version: 1,
        }],
        tubing: vec![
            run(1, Purpose::Fill, 19_050, 3_000, None, 4_000),
            run(2, Purpose::Drain, 25_400, 1_500, Some(600), 1_500),
        ],
        fills: Vec::new(),
        choices: crate::science::sources::Choices::default(),
    }
}

fn check(parts: &Parts, kind: Kind) -> Check {
    all(parts, Units::Metric)
        .into_iter()
        .find(|check| check.kind == kind)
        .unwrap()
}

fn says(check: &Check, words: &str) {
    let said = check.words.replace('\u{a0}', " ");
    assert!(said.contains(words), "{said}");
}

#[test]
fn the_flow_is_that_of_the_reference_pump() {
    // 12.80685 L/min by the line, 16.60338 by the parabola, against 0.9 m.
    let lift = check(&parts(), Kind::Lift);
    assert_eq!(lift.verdict, Verdict::Fits);
    says(
        &lift,
        "lifts 900 mm of at most 2.4 m and brings between 12.8 L/min and 16.6 L/min",
    );
    let mut high = parts();
    high.pumps[0].figures.lift = Some(mm(2_400));
    let lift = check(&high, Kind::Lift);
    assert_eq!(lift.verdict, Verdict::DoesNotFit);
    says(&lift, "No flow: to the flood level it lifts 2 400 mm");
}

#[test]
fn the_lift_is_reckoned_from_the_heights_where_nobody_measured_it() {
    // Drained: 90.72 L of bench + 0.855 + 0.760 of tubing + 50 = 142.335 L. Flooded 51.615 L stand
    // 172 mm high, and the water 1175 mm over the ground.
    let mut parts = parts();
    parts.pumps[0].figures.lift = None;
    says(
        &check(&parts, Kind::Lift),
        "lifts 1 003 mm of at most 2.4 m",
    );
    // Without straight walls the level is not known, and the lift is counted from the bottom.
    parts.reservoirs[0].figures.plan = None;
    let lift = check(&parts, Kind::Lift);
    says(&lift, "lifts 1 175 mm");
    assert!(
        lift.assumed
            .iter()
            .any(|words| words.contains("the safe side"))
    );
    parts.benches[0].figures.floor_height = None;
    let lift = check(&parts, Kind::Lift);
    assert_eq!(lift.verdict, Verdict::NotYet);
    assert_eq!(lift.lacks[0].href, "/benches/1/change#floor_height");
}

#[test]
fn the_time_to_flood_is_that_of_the_reference_bench() {
    // 5.866 min by the parabola where the lift begins at 0.9 m: flooded it is 0.9 + 0.075 + 0.3024 m.
    let mut parts = parts();
    parts.pumps[0].figures.lift = Some(mm(1_277));
    let flood = check(&parts, Kind::Flood);
    assert_eq!(flood.verdict, Verdict::Reckoned);
    says(&flood, "between 5 min 52 s and");
    // The lift grows out of reach while the bench fills.
    parts.pumps[0].figures.max_head = Some(mm(1_250));
    let flood = check(&parts, Kind::Flood);
    assert_eq!(flood.verdict, Verdict::DoesNotFit);
    says(&flood, "stands still below the overflow");
}

/// (25 L/min ÷ (C × π × 150 mm))^(2/3) over a rim at 75 mm: 6.88 mm with 1.55, 6.13 mm with 1.84.
#[test]
fn a_wide_rim_passes_what_the_source_says_that_the_site_goes_by() {
    use crate::science::sources::{Choices, Question};
    let mut wide = parts();
    wide.benches[0].figures.ports.overflow_bore = Some(um(150_000));
    says(&check(&wide, Kind::Overflow), "the water stands at 82 mm");
    wide.choices = Choices::new(vec![(Question::Weir, "1.84".to_owned())]);
    says(&check(&wide, Kind::Overflow), "the water stands at 81 mm");
}

#[test]
fn the_overflow_is_checked_half_clogged_unless_it_is_entered() {
    // 38.014 mm of head for 25 L/min through 32 mm; four times as much for 50 L/min.
    let overflow = check(&parts(), Kind::Overflow);
    assert_eq!(overflow.verdict, Verdict::Fits);
    says(&overflow, "the water stands at 113 mm; the wall is 150 mm");
    let mut strained = parts();
    strained.benches[0].figures.ports.overflow_keeps = None;
    let overflow = check(&strained, Kind::Overflow);
    assert_eq!(overflow.verdict, Verdict::DoesNotFit);
    says(
        &overflow,
        "stands at 227 mm; the wall is 150 mm. It runs over the wall.",
    );
    assert_eq!(overflow_warnings(&strained, Units::Metric).len(), 1);
    // A riser raises it: 75 + 40 + 38 mm.
    let mut raised = parts();
    raised.benches[0].figures.riser = Some(mm(40));
    let overflow = check(&raised, Kind::Overflow);
    assert_eq!(overflow.verdict, Verdict::DoesNotFit);
    says(
        &overflow,
        "at 113 mm as it grows and at 153 mm with the riser on",
    );
    says(&overflow, "With the riser on it runs over the wall.");
    // A second pump counts too.
    let mut two = parts();
    let second = two.pumps[0].clone();
    two.pumps.push(second);
    says(&check(&two, Kind::Overflow), "the pump's 50 L/min");
    // A long thin tube below it cannot carry what the rim lets through.
    let mut choked = parts();
    let mut tube = choked.tubing[1].clone();
    tube.figures.purpose = Purpose::Overflow;
    tube.figures.bore = um(19_050);
    tube.figures.rise = Some(mm(300));
    choked.tubing.push(tube);
    says(
        &check(&choked, Kind::Overflow),
        "The tube below the overflow does not carry it",
    );
}

#[test]
fn the_drain_is_given_both_ways_and_the_slow_one_is_planned() {
    // 2.88 m² from 50 mm through 25.4 mm: 15.943 min to the last drop, (√50 - √4)/√50 of it to 4 mm.
    let mut parts = parts();
    let bench = &mut parts.benches[0].figures;
    (bench.length, bench.width, bench.overflow) = (mm(2_400), mm(1_200), mm(50));
    let drain = check(&parts, Kind::Drain);
    says(
        &drain,
        "From the overflow: 11 min 26 s if the drain sucks air,",
    );
    says(&drain, "Plan with 11 min 26 s.");
    parts.tubing[1].figures.rise = None;
    parts.benches[0].figures.floor_height = None;
    let drain = check(&parts, Kind::Drain);
    says(&drain, "11 min 26 s through the port alone");
    assert_eq!(drain.lacks[0].href, "/tubing/2/change#rise");
    parts.tubing.pop();
    let drain = check(&parts, Kind::Drain);
    assert_eq!(drain.verdict, Verdict::NotYet);
    assert_eq!(drain.lacks[0].href, "/benches/1/change#drain_bore");
}

#[test]
fn an_empty_system_lacks_everything_and_nothing_is_judged() {
    let mut empty = parts();
    empty.reservoirs.clear();
    empty.benches.clear();
    empty.pumps.clear();
    empty.tubing.clear();
    let checks = all(&empty, Units::Metric);
    assert!(checks.iter().all(|check| check.verdict == Verdict::NotYet));
    assert!(checks.iter().all(|check| !check.lacks.is_empty()));
}

#[test]
fn a_part_that_is_typed_stands_in_for_the_one_on_record() {
    let with = |lift| {
        let mut figures = parts().pumps[0].figures.clone();
        figures.lift = Some(mm(lift));
        parts().with(Draft::Pump(Some(PumpId::from_row(1)), figures))
    };
    assert_eq!(check(&with(3_000), Kind::Lift).verdict, Verdict::DoesNotFit);
    // What a new part lacks is on the page that is being typed.
    let mut empty = parts();
    let mut figures = empty.pumps.pop().unwrap().figures;
    figures.max_head = None;
    let typed = empty.with(Draft::Pump(None, figures));
    assert_eq!(check(&typed, Kind::Lift).lacks[0].href, "#max_head");
}

proptest! {
    #[test]
    fn a_lower_wall_or_a_stronger_pump_never_mends_an_overflow(
        bore in 15_000i64..80_000, keeps in 100i64..1_000, flow in 1_000i64..60_000,
        wall in 90i64..300, riser in 1i64..60,
    ) {
        let safe = |wall: i64, flow: i64, keeps: i64| {
            let mut parts = parts();
            let bench = &mut parts.benches[0].figures;
            bench.wall = mm(wall);
            bench.riser = Some(mm(riser));
            bench.ports.overflow_bore = Some(um(bore));
            bench.ports.overflow_keeps = Some(Permille::new(keeps).unwrap());
            parts.pumps[0].figures.max_flow = Some(MillilitresPerMinute::new(flow).unwrap());
            check(&parts, Kind::Overflow).verdict == Verdict::Fits
        };
        if !safe(wall, flow, keeps) {
            prop_assert!(!safe(wall - 5, flow, keeps));
            prop_assert!(!safe(wall, flow + 500, keeps));
            prop_assert!(!safe(wall, flow, (keeps - 50).max(100)));
        }
    }

    #[test]
    fn whatever_is_entered_every_check_says_something(
        length in 100i64..50_000, width in 100i64..10_000, overflow in 5i64..1_400,
        flow in 100i64..10_000_000, head in 100i64..100_000, bore in 2_000i64..300_000,
        tube in 10i64..500_000, capacity in 1_000i64..100_000_000,
    ) {
        let mut parts = parts();
        let bench = &mut parts.benches[0].figures;
        (bench.length, bench.width) = (mm(length), mm(width));
        (bench.overflow, bench.wall) = (mm(overflow), mm(overflow + 50));
        bench.ports.overflow_bore = Some(um(bore.max(5_000)));
        let pump = &mut parts.pumps[0].figures;
        pump.max_flow = Some(MillilitresPerMinute::new(flow).unwrap());
        (pump.max_head, pump.lift) = (Some(mm(head)), None);
        for run in &mut parts.tubing {
            (run.figures.bore, run.figures.length) = (um(bore), mm(tube));
        }
        let reservoir = &mut parts.reservoirs[0].figures;
        (reservoir.capacity, reservoir.heel, reservoir.pump_need) = (ml(capacity), ml(0), ml(0));
        for check in all(&parts, Units::Metric) {
            prop_assert!(!check.words.is_empty() || !check.lacks.is_empty(), "{check:?}");
            prop_assert!(!check.words.contains("NaN") && !check.words.contains("inf"), "{check:?}");
        }
    }
}
