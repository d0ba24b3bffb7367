//! How far the volume of a system may be off: from its measures and media, or from its fills.

use super::FloodRefusal;
use super::bench::{Bed, Bench, BenchMeasures};
use super::hold::{FloodTo, SystemHold, WaterLoop, hold};
use super::media::MediaFractions;
use crate::science::quantity::{Known, Volume, in_litres, in_millimetres, litres, millimetres};
use crate::science::tolerances::{
    BED_MM, BUCKET_MARK_LITRES, DRAINS_GIVEN, DRAINS_USUAL, FILL_AGAIN, GROOVES, HEEL_MEASURED,
    HEEL_USUAL, KEEPS_GIVEN, KEEPS_USUAL, LEVEL_MM, OVER_HEEL, TAPE_MM, TUBING, Tolerance,
};
use crate::science::uncertainty::{Budget, Input, propagate, repeat_half_width};

/// What a bucket test of a bench's media measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bucket {
    /// Bulk volume of the media.
    pub bulk: Volume,
    /// Water that they took.
    pub soaked: Volume,
    /// Water that drained.
    pub drained: Volume,
}

/// The volume of a system, and of each part of it, with how far each may be off. In litres.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldRange {
    /// The sum of the parts.
    pub total: Budget,
    /// Each bench: what drains from it, and what its media keep.
    pub benches: Vec<(Budget, Budget)>,
    /// The tubing.
    pub tubing: Budget,
    /// The water over the heel.
    pub over_heel: Budget,
    /// The heel.
    pub heel: Budget,
}

impl HoldRange {
    /// What all media keep, in litres.
    pub fn retained(&self) -> Budget {
        together(self.benches.iter().map(|(_, kept)| kept))
    }
}

/// A bench as numbers: length, width, fall, level, depth, what drains and what stays (or bulk, soaked
/// and drained of a bucket test), grooves, solids. Millimetres, parts and litres.
fn inputs(bench: &BenchMeasures, level_mm: f64, bucket: Option<Bucket>) -> Vec<Input> {
    let tape = |value: f64| {
        let off = TAPE_MM.half_width.min(value * 0.1);
        Input::within(
            "Inside measures of the benches",
            TAPE_MM.in_unit("mm"),
            value,
            off,
        )
    };
    let part = |what, tolerance: Tolerance, value: f64| {
        Input::within(what, tolerance.of_it(), value, value * tolerance.half_width)
    };
    let mm = in_millimetres;
    let mut inputs = vec![
        tape(mm(bench.length)),
        tape(mm(bench.width)),
        tape(mm(bench.fall)),
        Input::read(
            "Flood level",
            LEVEL_MM.in_unit("mm"),
            level_mm,
            LEVEL_MM.half_width,
        ),
        part("Grooves and solids", GROOVES, in_litres(bench.recess)),
        part("Grooves and solids", GROOVES, in_litres(bench.displaced)),
    ];
    let Some(bed) = bench.bed else {
        return inputs;
    };
    inputs.push(Input::within(
        "Depth of the media",
        BED_MM.in_unit("mm"),
        mm(bed.depth),
        BED_MM.half_width.min(mm(bed.depth) * 0.5),
    ));
    if let Some(bucket) = bucket {
        let read = |volume: Volume| {
            let off = BUCKET_MARK_LITRES.half_width;
            let how = "50\u{a0}mL either way, half a mark of a bucket; common practice, no source";
            Input::within("Bucket test of the media", how, in_litres(volume), off)
        };
        inputs.extend([bucket.bulk, bucket.soaked, bucket.drained].map(read));
    } else {
        let (drains, keeps, how) = match bed.known {
            Known::Usual => (DRAINS_USUAL, KEEPS_USUAL, "usual figure, "),
            _ => (DRAINS_GIVEN, KEEPS_GIVEN, "figure as given, "),
        };
        let fraction = |what, tolerance: Tolerance, value: f64| {
            let mut input = part(what, tolerance, value);
            input.how.insert_str(0, how);
            input
        };
        inputs.push(fraction(DRAINS, drains, bed.fractions.drainable()));
        inputs.push(fraction(KEEPS, keeps, bed.fractions.retained()));
    }
    inputs
}

const DRAINS: &str = "What drains out of the media";
const KEEPS: &str = "What the media keep";

/// The water in a bench with its measures moved: what drains, and what stays, in litres.
fn water(bench: &BenchMeasures, bucketed: bool, x: &[f64]) -> Result<(f64, f64), FloodRefusal> {
    let at = |place: usize| x.get(place).copied().unwrap_or_default();
    let mut moved = *bench;
    moved.length = millimetres(at(0));
    moved.width = millimetres(at(1));
    moved.fall = millimetres(at(2).max(0.0));
    let level = millimetres(at(3));
    moved.recess = litres(at(4).max(0.0));
    moved.displaced = litres(at(5).max(0.0));
    moved.bed = match bench.bed {
        None => None,
        Some(bed) => {
            let fractions = if bucketed {
                let total = at(8) / at(7);
                let drains = (at(9) / at(7)).min(total);
                MediaFractions::new(drains, total - drains)?
            } else {
                MediaFractions::new(at(7), at(8))?
            };
            Some(Bed {
                depth: millimetres(at(6)),
                fractions,
                ..bed
            })
        }
    };
    // A level that is a little high still is one, not a wall run over.
    moved.wall = moved.wall.max(level);
    let water = Bench::new(moved)?.water_at(level)?;
    Ok((
        in_litres(water.void + water.free),
        in_litres(water.retained),
    ))
}

fn bench_range(
    bench: &BenchMeasures,
    level_mm: f64,
    bucket: Option<Bucket>,
) -> Result<(Budget, Budget, Budget), FloodRefusal> {
    let inputs = inputs(bench, level_mm, bucket);
    let bucketed = bucket.is_some();
    Ok((
        propagate(&inputs, |x| {
            water(bench, bucketed, x).map(|(drains, _)| drains)
        })?,
        propagate(&inputs, |x| {
            water(bench, bucketed, x).map(|(_, stays)| stays)
        })?,
        propagate(&inputs, |x| {
            water(bench, bucketed, x).map(|(drains, stays)| drains + stays)
        })?,
    ))
}

/// The sum of budgets. The usual figures of a medium are off in all benches alike, so what they do to
/// each is added; all else is independent.
fn together<'a>(budgets: impl Iterator<Item = &'a Budget>) -> Budget {
    let mut sum = Budget::exact(0.0);
    for budget in budgets {
        sum.value += budget.value;
        for part in &budget.contributions {
            let alike = [DRAINS, KEEPS].contains(&part.what);
            let found = sum
                .contributions
                .iter_mut()
                .find(|other| alike && other.what == part.what && other.how == part.how);
            match found {
                Some(other) => other.effect += part.effect,
                None => sum.contributions.push(part.clone()),
            }
        }
    }
    sum
}

/// The volume of a system with how far it may be off, from its measures: tape, level, depth of the
/// bed, what the media take, tubing and reservoir.
///
/// `buckets` holds the bucket test of each bench that has one, in the order of the benches. Fractions
/// by a usual figure are taken wide, a supplier's half as wide, a bucket test by half its marks.
/// Source: JCGM 100:2008; the tolerances as [`crate::science::tolerances`] names them.
///
/// # Errors
/// As [`hold`].
///
/// ```
/// use slackwater::science::flood::{Bench, BenchMeasures, FloodTo, Reservoir, WaterLoop, hold_range};
/// use slackwater::science::quantity::{Known, litres, millimetres};
/// let mm = millimetres;
/// let bench = Bench::new(BenchMeasures::plain(mm(1200.0), mm(600.0), mm(90.0), mm(180.0))).unwrap();
/// let reservoir =
///     Reservoir { capacity: litres(200.0), heel: litres(18.0), over_heel: litres(20.0) };
/// let system = WaterLoop { benches: vec![bench], tubing: vec![], reservoir };
/// let range = hold_range(&system, FloodTo::Overflow, &[], Known::Measured).unwrap();
/// // 64.8 L over the floor, 20 L and 18 L in the reservoir.
/// assert!((range.total.value - 102.8).abs() < 1e-9);
/// assert!((range.total.expanded() - 3.0).abs() < 0.1);
/// ```
pub fn hold_range(
    system: &WaterLoop,
    to: FloodTo,
    buckets: &[Option<Bucket>],
    heel_known: Known,
) -> Result<HoldRange, FloodRefusal> {
    let held: SystemHold = hold(system, to)?;
    let mut benches = Vec::with_capacity(system.benches.len());
    let mut totals = Vec::with_capacity(system.benches.len() + 3);
    for (place, (bench, water)) in system.benches.iter().zip(&held.benches).enumerate() {
        let bucket = buckets.get(place).copied().flatten();
        let level = in_millimetres(water.water.level);
        let (drains, stays, both) = bench_range(bench.measures(), level, bucket)?;
        benches.push((drains, stays));
        totals.push(both);
    }
    let part = |what, tolerance: Tolerance, volume: Volume| {
        let value = in_litres(volume);
        let how = tolerance.of_it();
        Budget::of(Input::within(
            what,
            how,
            value,
            value * tolerance.half_width,
        ))
    };
    let heel_tolerance = heel_tolerance(heel_known);
    let tubing = part("Tubing", TUBING, held.tubing);
    let over_heel = part("Water over the heel", OVER_HEEL, held.over_heel);
    let heel = part("Heel", heel_tolerance, held.heel);
    totals.extend([tubing.clone(), over_heel.clone(), heel.clone()]);
    Ok(HoldRange {
        total: together(totals.iter()),
        benches,
        tubing,
        over_heel,
        heel,
    })
}

fn heel_tolerance(known: Known) -> Tolerance {
    if known == Known::Measured {
        HEEL_MEASURED
    } else {
        HEEL_USUAL
    }
}

/// The instrument of a fill, and how far it may be off.
#[derive(Clone, Debug, PartialEq)]
pub struct FillBy {
    /// 'Water meter', 'Jugs counted'.
    pub what: &'static str,
    /// As a part of what went in.
    pub half_width: f64,
    /// How that is known.
    pub how: String,
}

/// The volume of a system by its newest fill, with how far it may be off: the instrument's error on
/// what went in, what was there before by its own parts, and how well the level is met again, which
/// every fill of the same loop says something about.
///
/// `metered` is what went in at the newest fill, `already` what was there before (the parts of it that
/// were), `wholes` the whole volumes of all fills of the loop, the newest among them. The value is the
/// newest fill's, and not a mean: it is what the system was last found to hold.
///
/// ```
/// use slackwater::science::flood::{FillBy, fill_range};
/// use slackwater::science::quantity::litres;
/// use slackwater::science::uncertainty::Budget;
/// let meter = FillBy { what: "Water meter", half_width: 0.02, how: String::new() };
/// let one = fill_range(litres(168.0), &meter, &Budget::exact(18.0), &[litres(186.0)]);
/// assert_eq!(one.value, 186.0);
/// // 2 × √((168 × 0.02 / √3)² + (2.306 × 1.86 / 2)²)
/// assert!((one.expanded() - 5.785).abs() < 0.01);
/// ```
pub fn fill_range(metered: Volume, by: &FillBy, already: &Budget, wholes: &[Volume]) -> Budget {
    let went_in = in_litres(metered);
    let whole = went_in + already.value;
    let repeats: Vec<f64> = wholes.iter().map(|fill| in_litres(*fill)).collect();
    let usual = FILL_AGAIN.half_width * whole;
    let how = match repeats.len() {
        0 | 1 => format!(
            "1\u{a0}% as a standard deviation; {}, with Student's t",
            FILL_AGAIN.source
        ),
        n => format!("the spread of {n} fills, with Student's t"),
    };
    let again = Input::expanded(
        "Filling to the level again",
        how,
        whole,
        repeat_half_width(&repeats, usual),
    );
    let meter = Input::within(by.what, by.how.clone(), went_in, went_in * by.half_width);
    let mut budget = Budget::of(meter).and(already.clone());
    budget.contributions.extend(Budget::of(again).contributions);
    budget
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::flood::tests::north_two;
    use crate::science::uncertainty::tests::monte_carlo;
    use proptest::prelude::*;

    fn buckets(n: usize) -> Vec<Option<Bucket>> {
        let bucket = Bucket {
            bulk: litres(10.0),
            soaked: litres(4.7),
            drained: litres(4.3),
        };
        vec![Some(bucket); n]
    }

    #[test]
    fn the_parts_and_their_ranges_make_the_whole() {
        let system = north_two();
        let held = hold(&system, FloodTo::clean_out()).unwrap();
        let range = hold_range(&system, FloodTo::clean_out(), &[], Known::Measured).unwrap();
        assert!((range.total.value - in_litres(held.total())).abs() < 1e-9);
        assert!((range.retained().value - in_litres(held.retained())).abs() < 1e-9);
        assert!(range.total.expanded() / range.total.value < 0.15);
        let wide = hold_range(&system, FloodTo::clean_out(), &[], Known::Usual).unwrap();
        assert!(wide.total.expanded() > range.total.expanded());
    }

    #[test]
    fn a_bucket_test_narrows_the_range() {
        let system = north_two();
        let at = |buckets: &[Option<Bucket>]| {
            hold_range(&system, FloodTo::clean_out(), buckets, Known::Measured).unwrap()
        };
        let (usual, tested) = (at(&[]), at(&buckets(system.benches.len())));
        assert!(tested.total.expanded() < usual.total.expanded());
        let says = |range: &HoldRange, what| {
            range
                .total
                .contributions
                .iter()
                .any(|part| part.what == what)
        };
        assert!(says(&usual, DRAINS) && !says(&tested, DRAINS));
    }

    /// A second way: many draws of every measure of one bench, usual figures and a bucket test.
    #[test]
    fn many_draws_of_a_bench_give_the_same_range() {
        let system = north_two();
        let bench = system.benches[0].measures();
        for bucket in [None, buckets(1)[0]] {
            let inputs = inputs(bench, 120.0, bucket);
            let (_, _, both) = bench_range(bench, 120.0, bucket).unwrap();
            let drawn = |x: &[f64]| {
                let (drains, stays) = water(bench, bucket.is_some(), x).unwrap();
                drains + stays
            };
            let (mean, sd, (least, most)) = monte_carlo(&inputs, drawn);
            assert!((mean / both.value - 1.0).abs() < 0.005);
            assert!(
                (sd / both.combined() - 1.0).abs() < 0.03,
                "{sd} {}",
                both.combined()
            );
            let width = (most - least) / 2.0;
            // One tolerance that rules the rest ends sooner than a normal curve: k = 2 is cautious.
            let share = width / both.expanded();
            assert!((0.82..1.02).contains(&share), "{share}");
        }
    }

    #[test]
    fn one_medium_is_off_in_all_benches_alike() {
        let one = north_two();
        let mut two = one.clone();
        two.benches.extend(one.benches.clone());
        two.reservoir.capacity = litres(2000.0);
        let effect = |system: &WaterLoop| {
            let range = hold_range(system, FloodTo::clean_out(), &[], Known::Measured).unwrap();
            let parts = range.total.contributions;
            parts
                .iter()
                .find(|part| part.what == DRAINS)
                .unwrap()
                .effect
        };
        assert!((effect(&two) / effect(&one) - 2.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn a_worse_meter_and_fills_further_apart_widen_the_range(
            metered in 20.0..900.0f64, off in 0.0..0.1f64, apart in 0.0..9.0f64,
        ) {
            let at = |off: f64, apart: f64| {
                let by = FillBy { what: "Water meter", half_width: off, how: String::new() };
                let wholes = [litres(metered + 9.0 - apart), litres(metered + 9.0)];
                fill_range(litres(metered), &by, &Budget::exact(9.0), &wholes)
            };
            let narrow = at(off, apart);
            prop_assert!((narrow.value - metered - 9.0).abs() < 1e-9);
            prop_assert!(at(off + 0.01, apart).expanded() > narrow.expanded());
            prop_assert!(at(off, apart + 1.0).expanded() > narrow.expanded());
        }
    }
}
