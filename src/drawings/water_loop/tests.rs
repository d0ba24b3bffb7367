use proptest::prelude::*;

use super::sheet::Letters;
use super::*;

fn bench(name: &str, length_mm: u32, floor_mm: u32) -> Bench {
    Bench {
        name: name.into(),
        length_mm,
        width_mm: 600,
        floor_mm,
        wall_mm: 200,
        media_mm: Some(110),
        overflow_mm: 90,
        clean_out_mm: Some(120),
    }
}

/// North 2 of Orrelby Glasshouses, with the benches given.
pub(in crate::drawings) fn system(benches: Vec<Bench>) -> WaterLoop {
    WaterLoop {
        name: "North 2".into(),
        benches,
        reservoir: Reservoir {
            height_mm: 520,
            says: "240\u{a0}L to the brim".into(),
            levels: vec![
                Level::now(0.333, "flooded 80\u{a0}L"),
                Level::drained(0.744, "drained 178.6\u{a0}L"),
                Level::heel(0.075, "heel 18\u{a0}L"),
            ],
        },
        pump: Pump {
            submersible: true,
            says: "submersible, lifts 1.36\u{a0}m".into(),
        },
        tubing: vec!["fill, 25\u{a0}mm bore, 4.7\u{a0}m in all".into()],
        shown: Shown::CleanOut,
    }
}

/// Loops of one to five benches, side by side and over each other, to be looked at.
pub(in crate::drawings) fn examples() -> Vec<WaterLoop> {
    let two = || vec![bench("Bench 1", 1_200, 760), bench("Bench 2", 1_600, 1_240)];
    let low = (1..=4)
        .map(|i| bench(&format!("Bench {i}"), 2_400, 800))
        .collect();
    let steps = (1..=3)
        .map(|i| bench(&format!("Long bench {i}, left"), 900 * i, 500 * i))
        .collect();
    let many = (1..=5)
        .map(|i| bench(&format!("Bench {i}"), 1_000, 1_000))
        .collect();
    let mut bare = system(vec![Bench {
        media_mm: None,
        clean_out_mm: None,
        ..bench("Bench", 900, 700)
    }]);
    bare.pump.submersible = false;
    bare.shown = Shown::Growing;
    vec![
        system(two()),
        system(low),
        system(steps),
        system(many),
        bare,
    ]
}

#[test]
fn heights_are_to_scale() {
    let two = system(vec![
        bench("Bench 1", 1_200, 760),
        bench("Bench 2", 1_600, 1_240),
    ]);
    let layout = Layout::of(&two);
    let per_mm = (layout.columns[0].floor - layout.columns[1].floor) / 480.0;
    assert!((per_mm - 510.0 / 1_440.0).abs() < 1e-9, "{per_mm} px/mm");
    assert!((layout.ground - layout.brim - 520.0 * per_mm).abs() < 1e-9);
    assert!((layout.columns[0].floor - layout.columns[0].rim - 200.0 * per_mm).abs() < 1e-9);
}

#[test]
fn the_riser_is_drawn_only_for_a_clean_out() {
    let mut one = system(vec![bench("Bench 1", 1_200, 760)]);
    let svg = one.to_string();
    assert!(svg.contains("dr-temp") && svg.contains("Riser, 30\u{a0}mm"));
    assert!(svg.contains(">120</text>") && svg.contains(">90</text>"));
    one.shown = Shown::Growing;
    let svg = one.to_string();
    assert!(!svg.contains("dr-temp") && !svg.contains("iser") && !svg.contains(">120</text>"));
}

#[test]
fn of_more_than_four_benches_three_are_drawn_and_the_rest_is_said() {
    let many = system(
        (1..=6)
            .map(|i| bench(&format!("Bench {i}"), 1_000, 800))
            .collect(),
    );
    let svg = many.to_string();
    assert_eq!(svg.matches("class=\"dr-media\"").count(), 3);
    assert!(svg.contains("and 3 more benches"), "{svg}");
    assert!(svg.contains("Bench 6, 1.00 by 0.60\u{a0}m: floor at 800\u{a0}mm"));
}

#[test]
fn names_are_escaped_and_the_same_system_gives_the_same_picture() {
    let one = system(vec![bench("<b>\"1\"", 1_200, 760)]);
    assert!(!one.to_string().contains("<b>"));
    assert_eq!(one.to_string(), one.clone().to_string());
}

#[test]
fn a_level_that_is_no_number_stands_on_the_floor() {
    assert_eq!(Level::now(f64::NAN, "").part, 0.0);
    assert_eq!(Level::now(7.0, "").part, 1.0);
}

/// Left, top, right and bottom of a piece of text, by the width of its letters.
fn bounds(letters: &Letters) -> [f64; 4] {
    let high = if letters.face == sheet::Face::Soft {
        9.0
    } else {
        10.0
    };
    let right = letters.x + letters.face.width(&letters.says);
    [letters.x, letters.y - high, right, letters.y + 2.0]
}

fn no_text_overlaps(system: &WaterLoop) -> Result<(), TestCaseError> {
    let sheet = system.sheet();
    for (i, a) in sheet.letters.iter().enumerate() {
        let [left, top, right, bottom] = bounds(a);
        prop_assert!(
            left >= -1.0 && right <= 436.0,
            "{a:?} leaves the sheet, to {right}"
        );
        prop_assert!(
            top >= -1.0 && bottom <= sheet.height,
            "{a:?} leaves {}",
            sheet.height
        );
        for b in &sheet.letters[..i] {
            let [l, t, r, btm] = bounds(b);
            let apart = left >= r || l >= right || top >= btm || t >= bottom;
            prop_assert!(apart, "{a:?} lies on {b:?}");
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn labels_do_not_lie_on_each_other(
        benches in prop::collection::vec((400..3_000u32, 450..1_600u32, 120..300u32, 40..110u32, 0..40u32), 1..6),
        height_mm in 250..450u32,
        levels in (0.0..0.2f64, 0.2..0.6f64, 0.6..0.95f64),
        submersible: bool,
        long_names: bool,
    ) {
        let benches = benches
            .into_iter()
            .enumerate()
            .map(|(i, (length, floor, wall, overflow, riser))| Bench {
                name: if long_names { format!("North bay, bench {i}, by the door") } else { format!("Bench {i}") },
                length_mm: length,
                wall_mm: wall,
                overflow_mm: overflow,
                clean_out_mm: (riser > 0).then_some(overflow + riser),
                ..bench("", 0, floor)
            })
            .collect();
        let mut system = system(benches);
        system.reservoir.height_mm = height_mm;
        system.reservoir.levels = vec![
            Level::heel(levels.0, "heel 12.5\u{a0}L"),
            Level::now(levels.1, "flooded 80.4\u{a0}L"),
            Level::drained(levels.2, "drained 178.6\u{a0}L"),
        ];
        system.pump.submersible = submersible;
        no_text_overlaps(&system)?;
    }
}
