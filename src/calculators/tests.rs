use super::{all, work_typed};
use crate::science::units::Units;

#[test]
fn every_calculator_answers_in_a_sentence_in_every_unit() {
    let mut told = 0;
    for calculator in all() {
        let pairs: Vec<(&str, &str)> = calculator
            .example
            .iter()
            .filter_map(|word| word.split_once('='))
            .collect();
        let answer = work_typed(calculator, &pairs).unwrap();
        for units in Units::ALL {
            let sentence = calculator.headline(&answer, units);
            assert!(!sentence.contains(['{', '}']), "{sentence}");
            assert!(sentence.ends_with('.'), "{sentence}");
            told += 1;
        }
        for input in calculator.inputs {
            for units in Units::ALL {
                let hint = input.hint(input.kind.usual_unit(units), units);
                assert!(!input.label().is_empty() && !hint.contains('{'), "{hint}");
            }
        }
    }
    assert!(told >= 81, "{told}");
}

#[test]
fn every_calculator_says_where_its_formulas_come_from() {
    for calculator in all() {
        assert!(!calculator.sources.is_empty(), "{}", calculator.name);
    }
}

/// The example of a calculator, worked out.
fn example(calculator: &'static super::Calculator) -> super::Answer {
    let pairs: Vec<(&str, &str)> = calculator
        .example
        .iter()
        .filter_map(|word| word.split_once('='))
        .collect();
    work_typed(calculator, &pairs).unwrap()
}

/// Every number of every example is reached by a line with numbers in it, those of the sentence above
/// all; no brace is left over.
#[test]
fn every_number_is_reached_by_a_worked_line() {
    let (mut faults, mut reached) = (Vec::new(), 0);
    for calculator in all() {
        let answer = example(calculator);
        for line in &answer.lines {
            let worked = line.working.contains(|c: char| c.is_ascii_digit());
            let is_number = matches!(line.found, super::Found::Number(_) | super::Found::List(_));
            if line.working.contains(['{', '}']) || (is_number && !worked) {
                faults.push(format!(
                    "{} of {}: '{}'",
                    line.key, calculator.name, line.working
                ));
            }
            reached += usize::from(is_number);
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(reached > 250, "{reached}");
}

#[test]
fn a_range_holds_its_number_and_says_what_it_is_made_of() {
    let mut ranged = Vec::new();
    for calculator in all() {
        let answer = example(calculator);
        for range in &answer.ranges {
            let number = answer.number_of(range.key).unwrap();
            let of = format!("{} of {}", range.key, calculator.name);
            let output = calculator.output(range.key).unwrap();
            assert!(
                calculator.may_range(output),
                "{of} is listed without a range"
            );
            // Rounding to marks, and laws that bend, put the number off the middle, never outside.
            assert!(
                range.lower <= number && number <= range.upper,
                "{of}: {range:?} {number}"
            );
            assert!(range.lower < range.upper, "{of}");
            let shares: f64 = range.made_of.iter().map(|part| part.share).sum();
            assert!((shares - 1.0).abs() < 1e-6, "{of}: {shares}");
            for part in &range.made_of {
                assert!(
                    !part.what.is_empty() && !part.how.is_empty(),
                    "{of}: {part:?}"
                );
            }
        }
        if calculator.headline_range(&answer).is_some() {
            ranged.push(calculator.name);
        }
    }
    for name in [
        "dose",
        "dose-by-weight",
        "titration",
        "stock-age",
        "decomposition",
        "warming",
        "bench",
        "system",
        "media-bucket",
        "usual-media",
        "pipe",
        "pump-curve",
        "operating-point",
        "flood-time",
        "drain-time",
        "overflow",
        "hole",
        "standpipe",
        "mixing",
        "rinse",
        "soak",
        "top-up",
        "decay",
        "contact",
        "air-clearing",
        "air-build-up",
        "air-changes",
        "vapour",
        "oxygen",
        "flow-test",
        "membrane",
        "water-tank",
        "chlorine-added",
        "fitting",
        "barb",
    ] {
        assert!(ranged.contains(&name), "{name} gives no range");
    }
}

/// Worked by hand: 2 mL ±1 %, 35.28 mL ±0.05 mL and 0.02 mol/L ±1 %, each divided by √3; relative
/// √(0.01² + 0.001417² + 0.01²) ÷ √3 × 2 = 1.641 %.
#[test]
fn the_range_of_a_titration_is_the_one_worked_by_hand() {
    let answer = example(super::find("titration").unwrap());
    let range = answer.range_of("grams_per_l").unwrap();
    let grams = answer.number_of("grams_per_l").unwrap();
    assert!(
        (range.upper / grams - 1.01641).abs() < 2e-5,
        "{range:?} {grams}"
    );
    assert!((range.lower / grams - (1.0 - 0.01641)).abs() < 2e-5);
    assert!((range.made_of[0].share - 0.495).abs() < 0.003, "{range:?}");
}

/// A second way: the same loop through the science's own range of a system.
#[test]
fn the_range_of_a_system_without_media_is_that_of_the_register() {
    use crate::science::flood::{Bench, BenchMeasures, FloodTo, Reservoir, WaterLoop, hold_range};
    use crate::science::quantity::{Known, litres, millimetres as mm};
    let pairs = [
        ("length", "1200"),
        ("width", "600"),
        ("overflow", "60"),
        ("wall", "180"),
        ("margin", "90"),
        ("reservoir", "200"),
        ("heel", "18"),
        ("cover", "20"),
    ];
    let answer = work_typed(super::find("system").unwrap(), &pairs).unwrap();
    let range = answer.range_of("total_l").unwrap();
    let bench = BenchMeasures::plain(mm(1200.0), mm(600.0), mm(60.0), mm(180.0));
    let system = WaterLoop {
        benches: vec![Bench::new(bench).unwrap()],
        tubing: vec![],
        reservoir: Reservoir {
            capacity: litres(200.0),
            heel: litres(18.0),
            over_heel: litres(20.0),
        },
    };
    let to = FloodTo::CleanOut {
        margin: mm(90.0),
        freeboard: mm(15.0),
    };
    let second = hold_range(&system, to, &[], Known::Measured).unwrap().total;
    let total = answer.number_of("total_l").unwrap();
    assert!(
        (total - second.value).abs() < 1e-9,
        "{total} {}",
        second.value
    );
    let wide = (range.upper - range.lower) / 2.0;
    assert!(
        (wide / second.expanded() - 1.0).abs() < 0.02,
        "{wide} {}",
        second.expanded()
    );
}

/// The answer of a rinse is a whole number; its range is one too, and the residual is reckoned for it.
#[test]
fn a_rinse_says_between_how_many_rinses() {
    let answer = example(super::find("rinse").unwrap());
    let rinses = answer.range_of("rinses").unwrap();
    assert_eq!((rinses.lower.fract(), rinses.upper.fract()), (0.0, 0.0));
    assert!(rinses.lower < rinses.upper);
    let left = answer.range_of("residual_mg_per_l").unwrap();
    assert!(left.upper > answer.number_of("residual_mg_per_l").unwrap());
    let line = answer
        .lines
        .iter()
        .find(|line| line.key == "carried_over")
        .unwrap();
    assert_eq!(
        line.working.replace('\u{a0}', " "),
        "retained ÷ (retained + fill) = 8 L ÷ (8 L + 170 L)"
    );
}

/// Where published sources differ the site's choice is used, what was typed goes before it, and the
/// safer one stands in for both.
#[test]
fn a_choice_between_sources_reaches_every_calculator_that_it_stands_on() {
    use crate::science::sources::{Choices, Question};
    let ask = |name: &str, pairs: &[(&str, &str)], chosen: &[(Question, &str)], key: &str| {
        let choices: Vec<_> = chosen
            .iter()
            .map(|(of, code)| (*of, (*code).to_owned()))
            .collect();
        let calculator = super::find(name).unwrap();
        let answer = super::work_typed_by(calculator, pairs, &Choices::new(choices)).unwrap();
        let said = answer
            .cautions
            .iter()
            .any(|caution| caution.contains("sources differ"));
        (answer.number_of(key).unwrap_or(f64::NAN), said)
    };
    let close = |(found, said): (f64, bool), expected: f64, saying: bool| {
        assert!((found / expected - 1.0).abs() < 0.01, "{found} {expected}");
        assert_eq!(said, saying, "{expected}");
    };
    let air = [
        ("room", "200"),
        ("changes", "6"),
        ("start", "7.5"),
        ("label", "60"),
    ];
    let limit = |pairs: &[(&str, &str)], chosen: &[(Question, &str)]| {
        ask("air-clearing", pairs, chosen, "limit_mg_per_m3")
    };
    close(limit(&air, &[]), 0.389, true);
    close(limit(&air, &[(Question::AirLimit, "0.5")]), 0.695, true);
    close(limit(&air, &[(Question::AirLimit, "1")]), 1.39, true);
    let typed: Vec<_> = air.into_iter().chain([("limit", "1.4")]).collect();
    close(limit(&typed, &[]), 1.4, false);
    let vapour = [("strength", "3 % w/w"), ("celsius", "20")];
    close(ask("vapour", &vapour, &[], "at_most_ppm"), 7.6, true);
    close(
        ask(
            "vapour",
            &vapour,
            &[(Question::Vapour, "henry")],
            "at_most_ppm",
        ),
        6.7,
        true,
    );
    let cold = [("rated", "12 L/h"), ("celsius", "10")];
    close(
        ask("membrane", &cold, &[], "flow_l_per_h"),
        12.0 / 1.89,
        true,
    );
    close(
        ask(
            "membrane",
            &cold,
            &[(Question::Membrane, "chart")],
            "flow_l_per_h",
        ),
        12.0 / 1.71,
        true,
    );
    let wide = [
        ("max_flow", "5"),
        ("standpipe", "50"),
        ("rim", "75"),
        ("wall", "130"),
        ("clear", "yes"),
        ("return_fits", "yes"),
    ];
    // (Q ÷ (C × π × D))^(2/3), in metres.
    let head =
        |c: f64| (5.0 / 60_000.0 / (c * std::f64::consts::PI * 0.05)).powf(2.0 / 3.0) * 1000.0;
    close(ask("overflow", &wide, &[], "head_mm"), head(1.55), true);
    close(
        ask("overflow", &wide, &[(Question::Weir, "1.66")], "head_mm"),
        head(1.66),
        true,
    );
    let border = |chosen: &[(Question, &str)]| {
        let choices: Vec<_> = chosen
            .iter()
            .map(|(of, code)| (*of, (*code).to_owned()))
            .collect();
        let pairs = [("strength", "52.5 % w/w")];
        super::work_typed_by(
            super::find("transport").unwrap(),
            &pairs,
            &Choices::new(choices),
        )
    };
    // The densities end at 60 %; the number needs none, for a strength by weight.
    let words = |answer: super::Answer| answer.lines.last().unwrap().found.clone();
    assert_eq!(
        words(border(&[]).unwrap()),
        super::Found::Words("UN2015".to_owned())
    );
    let chosen = border(&[(Question::Transport, "60")]).unwrap();
    assert_eq!(words(chosen), super::Found::Words("UN2014".to_owned()));
}
