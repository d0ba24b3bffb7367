use super::*;
use proptest::prelude::*;

fn mm(v: f64) -> Length {
    Length::new::<millimeter>(v)
}

fn litres(v: f64) -> VolumeRate {
    VolumeRate::new::<liter_per_minute>(v)
}

fn bench(bore_mm: f64, wall_mm: f64) -> Bench {
    Bench {
        standpipe: Standpipe::new(mm(bore_mm)).unwrap(),
        count: 1,
        clog_factor: 1.0,
        rim: mm(75.0),
        wall: mm(wall_mm),
        freeboard: mm(FREEBOARD_MM),
        line: None,
        clear_of_media: true,
        return_fits: true,
    }
}

proptest! {
    #[test]
    fn the_head_needed_passes_just_that_flow(bore in 10.0..100.0f64, flow in 0.5..60.0f64) {
        let pipe = Standpipe::new(mm(bore)).unwrap();
        let head = pipe.head_needed(litres(flow)).unwrap();
        prop_assume!(head < mm(1000.0));
        let back = pipe.capacity(head).unwrap().flow().get::<liter_per_minute>();
        prop_assert!((back / flow - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_clogged_or_narrower_overflow_is_never_safer(
        bore in 15.0..60.0f64, clog in 0.1..1.0f64, flow in 1.0..60.0f64,
    ) {
        let clean = overflow_check(&bench(bore, 150.0), litres(flow)).unwrap();
        let clogged = Bench { clog_factor: clog, ..bench(bore, 150.0) };
        let clogged = overflow_check(&clogged, litres(flow)).unwrap();
        let narrow = overflow_check(&bench(bore * 0.8, 150.0), litres(flow)).unwrap();
        prop_assert!(clogged.dry_wall <= clean.dry_wall && narrow.dry_wall < clean.dry_wall);
    }
}

#[test]
fn the_wall_that_just_reaches_is_enough() {
    let head = Standpipe::new(mm(32.0))
        .unwrap()
        .head_needed(litres(25.0))
        .unwrap();
    let mut just = bench(32.0, 120.0);
    just.wall = just.rim + head + just.freeboard + mm(1e-9);
    assert!(overflow_check(&just, litres(25.0)).unwrap().safe());
    just.wall -= mm(0.01);
    assert!(!overflow_check(&just, litres(25.0)).unwrap().safe());
}

#[test]
fn every_fault_is_named() {
    let bad = Bench {
        clear_of_media: false,
        return_fits: false,
        ..bench(19.05, 90.0)
    };
    let faults = overflow_check(&bad, litres(25.0)).unwrap().faults;
    assert_eq!(faults.len(), 3);
    assert!(faults.contains(&Fault::NotClear) && faults.contains(&Fault::ReservoirTooSmall));
}

#[test]
fn a_line_that_hardly_falls_is_too_narrow() {
    let line = |bore, drop| {
        let run = Run::new(mm(bore), mm(1500.0), 1.5).unwrap();
        Some(OverflowLine {
            run,
            drop: mm(drop),
        })
    };
    let with = |line| Bench {
        line,
        ..bench(50.0, 130.0)
    };
    assert!(
        overflow_check(&with(line(32.0, 600.0)), litres(25.0))
            .unwrap()
            .safe()
    );
    let flat = overflow_check(&with(line(19.05, 300.0)), litres(25.0)).unwrap();
    // 21 L/min run through this tube at a drop of 300 mm and some head over it.
    assert!(matches!(flat.faults[..], [Fault::LineTooNarrow { by }] if by > mm(50.0)));
}

#[test]
fn two_overflows_share_the_flow() {
    let two = Bench {
        count: 2,
        ..bench(32.0, 120.0)
    };
    let check = overflow_check(&two, litres(25.0)).unwrap();
    assert!((check.flow_each.get::<liter_per_minute>() - 12.5).abs() < 1e-9);
    assert!(overflow_check(&Bench { count: 0, ..two }, litres(25.0)).is_err());
}
