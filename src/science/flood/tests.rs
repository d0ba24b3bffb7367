use super::*;
use crate::science::quantity::{Known, in_litres, in_millimetres, litres, metres, millimetres};
use crate::science::strength::Strength;
use proptest::prelude::*;

fn clay(depth: f64, drainable: f64, retained: f64) -> Bed {
    Bed {
        depth: millimetres(depth),
        lie: Lie::Level,
        fractions: MediaFractions::new(drainable, retained).unwrap(),
        known: Known::Usual,
    }
}

fn bench(length: f64, width: f64, fall: f64, bed: Option<Bed>) -> Bench {
    Bench::new(BenchMeasures {
        fall: millimetres(fall),
        bed,
        ..BenchMeasures::plain(
            metres(length),
            metres(width),
            millimetres(90.0),
            millimetres(180.0),
        )
    })
    .unwrap()
}

/// The loop of the drawings: two benches of clay, 4.7 m of 25 mm tube, a heel of 18 L.
pub(super) fn north_two() -> WaterLoop {
    WaterLoop {
        benches: vec![
            bench(1.2, 0.6, 0.0, Some(clay(110.0, 0.43, 0.04))),
            bench(1.6, 0.6, 0.0, Some(clay(110.0, 0.43, 0.04))),
        ],
        tubing: vec![Tube {
            bore: millimetres(25.0),
            length: metres(4.7),
        }],
        reservoir: Reservoir {
            capacity: litres(240.0),
            heel: litres(18.0),
            over_heel: litres(62.0),
        },
    }
}

#[test]
fn the_system_of_the_drawings_holds_186_litres() {
    let flooded = hold(&north_two(), FloodTo::clean_out()).unwrap();
    let bench = |i: usize| in_litres(flooded.benches[i].water.void + flooded.benches[i].water.free);
    assert!((bench(0) - 41.3).abs() < 0.05 && (bench(1) - 55.0).abs() < 0.05);
    assert!((in_litres(flooded.retained()) - 7.4).abs() < 0.05);
    assert!((in_litres(flooded.total()) - 186.0).abs() < 0.1);
    assert!((in_millimetres(flooded.benches[0].riser) - 30.0).abs() < 1e-9);
    let back = flooded.return_fit();
    assert!(
        (in_litres(back.drained) - 178.6).abs() < 0.1 && (in_litres(back.spare) - 61.4).abs() < 0.1
    );
    assert!(back.fits);
    let wet = in_litres(flooded.fill_when_dry() - flooded.fill_when_wet());
    assert!((wet - in_litres(flooded.retained())).abs() < 1e-9);
    let growing = hold(&north_two(), FloodTo::Overflow).unwrap();
    assert!(growing.total() < flooded.total());
    // While a crop grows the water stands below the top of the media: no free water.
    assert!(
        growing
            .benches
            .iter()
            .all(|bench| bench.water.free.value.abs() < 1e-12)
    );
}

#[test]
fn lines_add_up_to_their_sum() {
    let flooded = hold(&north_two(), FloodTo::clean_out()).unwrap();
    let lines = flooded.lines();
    let (sum, parts) = lines.split_last().unwrap();
    let total: f64 = parts.iter().map(|line| in_litres(line.volume)).sum();
    assert!((total - in_litres(sum.volume)).abs() < 1e-9);
    assert_eq!(parts.iter().filter(|line| line.key == "bench").count(), 2);
    assert_eq!(parts[3].known, Known::Usual);
}

#[test]
fn a_bed_that_follows_the_floor_needs_a_longer_riser() {
    let level = bench(2.4, 1.2, 24.0, Some(clay(100.0, 0.42, 0.096)));
    let mut follows = *level.measures();
    follows.bed = Some(Bed {
        lie: Lie::FollowsFloor,
        ..clay(100.0, 0.42, 0.096)
    });
    let follows = Bench::new(follows).unwrap();
    let riser = |bench: &Bench| {
        in_millimetres(
            bench
                .clean_out_level(millimetres(10.0), millimetres(15.0))
                .riser,
        )
    };
    assert!((riser(&level) - 20.0).abs() < 1e-9);
    assert!((riser(&follows) - 44.0).abs() < 1e-9);
    // A bed as deep everywhere is L W d; raked level it misses the wedge of the fall.
    let wetted = |bench: &Bench| {
        let needed = bench
            .clean_out_level(millimetres(10.0), millimetres(15.0))
            .level;
        in_litres(bench.water_at(needed).unwrap().wetted)
    };
    assert!((wetted(&follows) - 288.0).abs() < 1e-9);
    assert!((wetted(&level) - (288.0 - 2.4 * 1.2 * 12.0)).abs() < 1e-9);
}

#[test]
fn a_wall_that_is_too_low_is_refused_with_how_much() {
    let mut system = north_two();
    system.benches[1] = bench(1.6, 0.6, 0.0, Some(clay(156.0, 0.43, 0.04)));
    let refused = hold(&system, FloodTo::clean_out()).unwrap_err();
    let FloodRefusal::WallTooLow {
        bench: number,
        lower,
        ..
    } = refused
    else {
        panic!("{refused}")
    };
    assert_eq!(number, 2);
    assert!((in_millimetres(lower) - 1.0).abs() < 1e-6);
    system.benches[1] = bench(1.6, 0.6, 0.0, Some(clay(155.0, 0.43, 0.04)));
    assert!(hold(&system, FloodTo::clean_out()).is_ok());
}

#[test]
fn a_bare_bench_floods_over_its_high_end() {
    let mut measures = *bench(2.4, 1.2, 24.0, None).measures();
    measures.overflow = millimetres(20.0);
    let bare = Bench::new(measures).unwrap();
    let needed = bare.clean_out_level(millimetres(10.0), millimetres(15.0));
    assert!((in_millimetres(needed.level) - 34.0).abs() < 1e-9);
    // Partly covered: W h² / (2 s) with s = 1:100.
    let partly = bare.water_at(millimetres(20.0)).unwrap();
    assert!((in_litres(partly.free) - 1.2 * 0.02 * 0.02 / 0.02 * 1000.0).abs() < 1e-9);
    assert_eq!(
        in_litres(bare.water_at(millimetres(0.0)).unwrap().free),
        0.0
    );
}

#[test]
fn what_cannot_be_is_refused() {
    let mut measures = *bench(1.2, 0.6, 0.0, None).measures();
    measures.overflow = millimetres(181.0);
    assert!(matches!(
        Bench::new(measures),
        Err(FloodRefusal::OverflowAboveWall { .. })
    ));
    measures.overflow = millimetres(f64::NAN);
    assert!(matches!(
        Bench::new(measures),
        Err(FloodRefusal::OutOfRange(_))
    ));
    let plain = bench(1.2, 0.6, 0.0, None);
    assert!(plain.water_at(millimetres(-1.0)).is_err());
    assert!(plain.water_at(millimetres(181.0)).is_err());
    let mut system = north_two();
    system.reservoir.capacity = litres(79.0);
    assert!(matches!(
        hold(&system, FloodTo::Overflow),
        Err(FloodRefusal::ReservoirTooSmall { .. })
    ));
    system.benches.clear();
    assert_eq!(hold(&system, FloodTo::Overflow), Err(FloodRefusal::NoBench));
    let mut tight = north_two();
    tight.reservoir.capacity = litres(150.0);
    assert!(
        !hold(&tight, FloodTo::clean_out())
            .unwrap()
            .return_fit()
            .fits
    );
    assert_eq!(
        settle(litres(100.0), &[litres(0.0)]),
        Err(FloodRefusal::NoFill)
    );
}

#[test]
fn solids_take_their_place_from_the_free_water_first() {
    let mut measures = *bench(1.2, 0.6, 0.0, Some(clay(110.0, 0.43, 0.04))).measures();
    measures.displaced = litres(3.0);
    let with = Bench::new(measures)
        .unwrap()
        .water_at(millimetres(120.0))
        .unwrap();
    assert!((in_litres(with.free) - 4.2).abs() < 1e-9);
    measures.displaced = litres(100.0);
    let refused = Bench::new(measures).unwrap().water_at(millimetres(120.0));
    assert!(matches!(refused, Err(FloodRefusal::SolidsTakeAll { .. })));
}

#[test]
fn bucket_tests_that_cannot_be_are_refused() {
    assert!(bucket_test(litres(10.0), litres(4.0), litres(5.0)).is_err());
    assert!(bucket_test(litres(10.0), litres(11.0), litres(5.0)).is_err());
    assert!(bucket_test(litres(0.0), litres(0.0), litres(0.0)).is_err());
    assert!(MediaFractions::agreeing(0.516, 0.42, 0.096).is_ok());
    assert!(matches!(
        MediaFractions::agreeing(0.60, 0.42, 0.096),
        Err(MediaError::Sum { .. })
    ));
    assert!(MediaFractions::new(f64::NAN, 0.1).is_err());
}

#[test]
fn usual_figures_are_sound_and_in_order() {
    for usual in &MEDIA_DEFAULTS {
        assert_eq!(usual.kind.usual().kind, usual.kind);
        assert!(usual.fractions().is_ok());
        assert_eq!(MediaKind::from_code(usual.code), Some(usual.kind));
        assert_eq!(usual.from_memory, usual.source.starts_with("from memory"));
    }
}

#[test]
fn a_metered_fill_of_wet_media_counts_what_was_there() {
    let flooded = hold(&north_two(), FloodTo::clean_out()).unwrap();
    let wet = flooded.already_there(false, Strength::NONE);
    let dry = flooded.already_there(true, Strength::NONE);
    let whole = |metered, already| in_litres(whole_from_fill(metered, already));
    assert!((whole(flooded.fill_when_wet(), &wet) - in_litres(flooded.total())).abs() < 1e-9);
    assert!((whole(flooded.fill_when_dry(), &dry) - in_litres(flooded.total())).abs() < 1e-9);
    let used = settle(flooded.total(), &[litres(160.0), litres(150.0)]).unwrap();
    assert!(used.too_far_apart && used.known() == Known::Measured);
    assert_eq!(used.spread, Some((litres(150.0), litres(160.0))));
}

proptest! {
    /// A second way: the bench is cut into thin slices across its length.
    #[test]
    fn slices_add_up_to_the_closed_form(length in 0.5..10.0f64, width in 0.2..2.0f64, fall in 0.0..60.0f64,
                                        depth in 1.0..170.0f64, level in 1.0..180.0f64, follows in any::<bool>()) {
        let lie = if follows { Lie::FollowsFloor } else { Lie::Level };
        let bench = bench(length, width, fall, Some(Bed { lie, ..clay(depth, 0.42, 0.096) }));
        let water = bench.water_at(millimetres(level)).unwrap();
        let slices = 20_000;
        let (mut wetted, mut open) = (0.0, 0.0);
        for slice in 0..slices {
            let floor = fall * (f64::from(slice) + 0.5) / f64::from(slices);
            let top = if follows { floor + depth } else { depth.max(floor) };
            let area = length * width / f64::from(slices);
            wetted += (level.min(top) - floor).max(0.0) * area;
            open += (level - top).max(0.0) * area;
        }
        prop_assert!((in_litres(water.wetted) - wetted).abs() < 1e-3 * (1.0 + wetted), "{} {wetted}", in_litres(water.wetted));
        prop_assert!((in_litres(water.free) - open).abs() < 1e-3 * (1.0 + open), "{} {open}", in_litres(water.free));
        prop_assert!((in_litres(water.void) - wetted * 0.42).abs() < 1e-3 * (1.0 + wetted));
    }

    #[test]
    fn higher_floods_hold_more(level in 1.0..179.0f64, more in 0.01..1.0f64, fall in 0.0..60.0f64) {
        let bench = bench(2.4, 1.2, fall, Some(clay(100.0, 0.42, 0.096)));
        let at = |mm| { let water = bench.water_at(millimetres(mm)).unwrap(); water.void + water.free };
        prop_assert!(at(level + more) > at(level));
    }
}
