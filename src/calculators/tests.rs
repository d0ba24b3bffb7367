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
            assert!(!input.label().is_empty() && !input.hint().contains('{'));
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
