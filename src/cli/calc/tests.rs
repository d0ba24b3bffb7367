use std::collections::BTreeSet;

use proptest::prelude::*;
use serde_json::{Value as Json, json};

use super::*;
use crate::calculators::{Found, Given, Kind, Need};

fn worked(name: &str, typed: &[&str]) -> Result<Answer, Vec<Refusal>> {
    let typed: Vec<String> = typed.iter().map(|word| (*word).to_owned()).collect();
    work(calculators::find(name).unwrap(), &typed)
}

fn number(answer: &Answer, key: &str) -> f64 {
    match answer
        .lines
        .iter()
        .find(|line| line.key == key)
        .map(|line| &line.found)
    {
        Some(Found::Number(number)) => *number,
        other => panic!("{key}: {other:?}"),
    }
}

fn by_line(object: &Json) -> Json {
    answer_line(&object.to_string(), 1)
}

#[test]
fn names_and_keys_are_given_once_and_show_their_unit() {
    let names: Vec<&str> = calculators::all()
        .map(|calculator| calculator.name)
        .collect();
    assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), names.len());
    for calculator in calculators::all() {
        let inputs: BTreeSet<&str> = calculator.inputs.iter().map(|input| input.key).collect();
        assert_eq!(inputs.len(), calculator.inputs.len(), "{}", calculator.name);
        assert!(
            !inputs.contains("calc") && !inputs.contains("id"),
            "{}",
            calculator.name
        );
        let outputs: BTreeSet<&str> = calculator.outputs.iter().map(|output| output.key).collect();
        assert_eq!(
            outputs.len(),
            calculator.outputs.len(),
            "{}",
            calculator.name
        );
        for output in calculator.outputs {
            let ending = output.kind.key_ending();
            assert!(
                output.key.ends_with(ending),
                "{} of {}",
                output.key,
                calculator.name
            );
            assert!(!matches!(output.kind, Kind::Choice(_)));
        }
    }
}

#[test]
fn every_usual_value_can_be_read_and_lies_in_its_range() {
    let mut read = 0;
    for calculator in calculators::all() {
        for input in calculator.inputs {
            let Need::Or(usual) = input.need else {
                continue;
            };
            let given = input.kind.read(usual).unwrap();
            if let Given::Number(number) = given {
                let (least, most) = input.range;
                assert!(
                    (least..=most).contains(&number),
                    "{} of {}",
                    input.key,
                    calculator.name
                );
            }
            read += 1;
        }
    }
    assert!(read > 20, "{read}");
}

#[test]
fn every_example_answers_with_declared_keys_and_as_a_line_just_the_same() {
    for calculator in calculators::all() {
        let answer = worked(calculator.name, calculator.example)
            .unwrap_or_else(|refused| panic!("{}: {refused:?}", calculator.name));
        assert!(!answer.lines.is_empty(), "{}", calculator.name);
        for line in &answer.lines {
            assert!(
                calculator.output(line.key).is_some(),
                "{} of {}",
                line.key,
                calculator.name
            );
        }
        let mut object = serde_json::Map::new();
        object.insert("calc".into(), calculator.name.into());
        for word in calculator.example {
            let (key, value) = word.split_once('=').unwrap();
            object.insert(key.into(), value.into());
        }
        let by_line = by_line(&object.into());
        for line in &answer.lines {
            let expected = match &line.found {
                Found::Number(number) => json!(number),
                Found::List(numbers) => json!(numbers),
                Found::Words(words) => json!(words),
                Found::None => Json::Null,
            };
            assert_eq!(
                by_line["answer"][line.key], expected,
                "{} of {}",
                line.key, calculator.name
            );
        }
        assert_eq!(by_line["calc"], calculator.name);
    }
}

#[test]
fn answers_are_those_of_the_science() {
    let dose = worked("dose", &["stock=35 % w/w", "target=6 % w/v", "volume=100"]).unwrap();
    assert!((number(&dose, "concentrate_l") - 15.154).abs() < 0.005);
    assert!((number(&dose, "label_rule_l") - 17.143).abs() < 0.001);
    let flood = worked(
        "flood-time",
        calculators::find("flood-time").unwrap().example,
    )
    .unwrap();
    assert!((number(&flood, "quickest_min") - 5.866).abs() < 0.001);
    let tank = worked(
        "water-tank",
        &["draw=90", "fills=4", "every=45", "supply=7 L/h"],
    )
    .unwrap();
    assert!((number(&tank, "tank_l") - 344.25).abs() < 1e-6);
    let overflow = worked("overflow", calculators::find("overflow").unwrap().example).unwrap();
    assert!((number(&overflow, "head_mm") - 38.014).abs() < 0.001);
    let rinse = worked(
        "rinse",
        &["start=300", "retained=9.6", "fill=42", "limit=1", "mixes=1"],
    )
    .unwrap();
    assert_eq!(number(&rinse, "rinses"), 4.0);
}

#[test]
fn everything_that_is_wrong_is_said_at_once_at_its_field() {
    let refused = worked("dose", &["stock=35 %", "volume=-3", "colour=blue"]).unwrap_err();
    let fields: Vec<&str> = refused.iter().filter_map(|r| r.field.as_deref()).collect();
    assert_eq!(fields, ["colour", "stock", "target", "volume"]);
    let refused = worked("pipe", &["flow=20", "flow=30"]).unwrap_err();
    assert_eq!(refused[0].field.as_deref(), Some("flow"));
    let refused = worked("pipe", &["flow"]).unwrap_err();
    assert!(refused[0].reason.contains("key=value"));
    let refused = worked("pipe", &["flow=20", "bore=1", "tube=3 m"]).unwrap_err();
    assert_eq!(refused[0].field.as_deref(), Some("bore"));
    assert!(
        refused[0].reason.contains("3 to 200"),
        "{}",
        refused[0].reason
    );
}

#[test]
fn a_line_that_cannot_be_answered_is_an_answer() {
    let answer = answer_line("{\"calc\": \"dose\", \"volume\": ", 7);
    assert_eq!(answer["line"], 7);
    assert!(
        answer["refused"][0]["reason"]
            .as_str()
            .unwrap()
            .contains("JSON")
    );
    let answer = by_line(&json!({ "calc": "tides", "id": "a" }));
    assert_eq!(
        (&answer["id"], &answer["refused"][0]["field"]),
        (&json!("a"), &json!("calc"))
    );
    let answer = by_line(&json!({ "volume": 3 }));
    assert_eq!(answer["refused"][0]["field"], "calc");
    let answer = by_line(&json!({ "calc": "density", "strength": 35 }));
    assert_eq!(answer["refused"][0]["field"], "strength");
}

#[test]
fn what_there_is_not_is_null_with_its_reason() {
    let answer = by_line(&json!({
        "calc": "operating-point", "max_head": 2400, "max_flow": 25, "lift": 2500, "bore": 19.05,
        "tube": 3000,
    }));
    assert_eq!(answer["answer"]["upper_l_per_min"], Json::Null);
    assert!(
        answer["why_none"]["upper_l_per_min"]
            .as_str()
            .unwrap()
            .contains("no flow")
    );
}

#[test]
fn a_room_is_entered_on_a_labels_word_only() {
    let mut line =
        json!({ "calc": "air-clearing", "room": 200, "changes": 6, "start": 7.5, "limit": 1.4 });
    let answer = by_line(&line);
    assert_eq!(answer["answer"]["stay_out_min"], Json::Null);
    line["label"] = json!(20);
    let answer = by_line(&line);
    // The air takes longer than the label asks for: the longer wins.
    assert!((answer["answer"]["stay_out_min"].as_f64().unwrap() - 50.353).abs() < 1e-3);
    assert_eq!(answer["answer"]["decided_by"], "the reckoned air");
}

#[test]
fn the_list_names_every_calculator_input_and_output() {
    let mut list = Vec::new();
    text::list(&mut list).unwrap();
    let list = String::from_utf8(list).unwrap();
    for calculator in calculators::all() {
        assert!(list.contains(&format!("{}: {}.", calculator.name, calculator.says)));
        for key in calculator
            .inputs
            .iter()
            .map(|i| i.key)
            .chain(calculator.outputs.iter().map(|o| o.key))
        {
            assert!(
                list.contains(&format!("    {key} ")),
                "{key} of {}",
                calculator.name
            );
        }
        let mut one = Vec::new();
        text::describe(calculator, &mut one).unwrap();
        let one = String::from_utf8(one).unwrap();
        assert!(list.contains(&one), "{}", calculator.name);
        for source in calculator.sources {
            assert!(one.contains(&format!("  source: {source}\n")), "{source}");
        }
        for caution in calculator.cautions {
            assert!(
                one.contains(&format!("  caution: {caution}\n")),
                "{caution}"
            );
        }
    }
}

fn anything() -> impl Strategy<Value = Json> {
    prop_oneof![
        Just(Json::Null),
        any::<bool>().prop_map(Json::from),
        any::<f64>().prop_map(Json::from),
        (-10.0..1000.0f64).prop_map(Json::from),
        "[-0-9.,;%a-zA-Z /]{0,16}".prop_map(Json::from),
        proptest::collection::vec((0.0..500.0f64).prop_map(Json::from), 0..9).prop_map(Json::from),
    ]
}

proptest! {
    /// Whatever stands in a line, the answer is a line: numbers that are finite, or a refusal.
    #[test]
    fn no_line_breaks_a_calculator(
        which in 0usize..100, values in proptest::collection::vec(anything(), 20), keep in any::<u32>(),
    ) {
        let all: Vec<_> = calculators::all().collect();
        let calculator = all[which % all.len()];
        let mut line = serde_json::Map::new();
        line.insert("calc".into(), calculator.name.into());
        for word in calculator.example {
            let (key, value) = word.split_once('=').unwrap();
            line.insert(key.into(), value.into());
        }
        for (place, (input, value)) in calculator.inputs.iter().zip(&values).enumerate() {
            if keep >> place & 1 == 0 {
                line.insert(input.key.into(), value.clone());
            }
        }
        let answer = by_line(&line.into());
        prop_assert!(answer["answer"].is_object() != answer["refused"].is_array());
    }

    /// Numbers within the declared ranges get numbers or a reason, never a silent nothing.
    #[test]
    fn numbers_in_range_are_answered(
        which in 0usize..100, parts in proptest::collection::vec(0.0..=1.0f64, 20),
    ) {
        let all: Vec<_> = calculators::all().collect();
        let calculator = all[which % all.len()];
        let mut line = serde_json::Map::new();
        line.insert("calc".into(), calculator.name.into());
        for word in calculator.example {
            let (key, value) = word.split_once('=').unwrap();
            line.insert(key.into(), value.into());
        }
        for (input, part) in calculator.inputs.iter().zip(&parts) {
            let (least, most) = input.range;
            if most < f64::MAX && !matches!(input.kind, Kind::List(_)) {
                // A high power keeps most numbers small, as those of a bench are.
                line.insert(input.key.into(), json!(least + (most - least) * part.powi(6)));
            }
        }
        let answer = by_line(&line.into());
        if let Some(found) = answer["answer"].as_object() {
            for (key, value) in found {
                let explained = answer["why_none"].get(key).is_some_and(|why| why != "");
                prop_assert!(!value.is_null() || explained, "{key} in {answer}");
            }
        } else {
            prop_assert!(answer["refused"][0]["reason"].as_str().is_some_and(|why| !why.is_empty()));
        }
    }
}

/// Any JSON at all, a few levels deep.
fn any_json() -> impl Strategy<Value = Json> {
    let leaf = prop_oneof![
        Just(Json::Null),
        any::<bool>().prop_map(Json::from),
        any::<i64>().prop_map(Json::from),
        any::<f64>().prop_map(Json::from),
        "\\PC{0,12}".prop_map(Json::from),
    ];
    leaf.prop_recursive(3, 24, 6, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..6).prop_map(Json::from),
            proptest::collection::vec(("[a-z_]{0,8}", inner), 0..6)
                .prop_map(|pairs| Json::Object(pairs.into_iter().collect())),
        ]
    })
}

/// One line, with numbers or with reasons; a reason names its field or says why it has none.
fn is_one_answer(text: &str) -> Result<(), TestCaseError> {
    let answer = answer_line(text, 3);
    prop_assert_eq!(&answer["line"], 3);
    prop_assert!(!answer.to_string().contains('\n'));
    match answer["refused"].as_array() {
        None => prop_assert!(
            answer["answer"]
                .as_object()
                .is_some_and(|found| !found.is_empty())
        ),
        Some(refused) => {
            prop_assert!(answer["answer"].is_null() && !refused.is_empty());
            for refusal in refused {
                prop_assert!(
                    refusal["reason"]
                        .as_str()
                        .is_some_and(|why| !why.is_empty())
                );
                prop_assert!(refusal["field"].is_string() || refusal["field"].is_null());
            }
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn any_text_is_answered_by_one_line(text in "\\PC{0,120}") {
        is_one_answer(&text)?;
    }

    #[test]
    fn any_json_is_answered_by_one_line(value in any_json(), name in 0usize..200) {
        is_one_answer(&value.to_string())?;
        // The same as the inputs of a calculator that there is.
        if let Json::Object(mut line) = value {
            let all: Vec<_> = calculators::all().collect();
            line.insert("calc".into(), all[name % all.len()].name.into());
            is_one_answer(&Json::Object(line).to_string())?;
        }
    }

    /// A line that works, with a piece cut out of it and another put in.
    #[test]
    fn a_spoilt_line_is_answered_by_one_line(
        which in 0usize..200, from in 0.0..1.0f64, cut in 0usize..12, put in "[-0-9eE.,:;\"{}\\[\\]a-z% /]{0,8}",
    ) {
        let all: Vec<_> = calculators::all().collect();
        let calculator = all[which % all.len()];
        let mut line = serde_json::Map::new();
        line.insert("calc".into(), calculator.name.into());
        for word in calculator.example {
            let (key, value) = word.split_once('=').unwrap();
            line.insert(key.into(), value.into());
        }
        let mut letters: Vec<char> = Json::Object(line).to_string().chars().collect();
        let at = (from * letters.len() as f64) as usize;
        let end = (at + cut).min(letters.len());
        letters.splice(at..end, put.chars());
        is_one_answer(&letters.into_iter().collect::<String>())?;
    }
}
