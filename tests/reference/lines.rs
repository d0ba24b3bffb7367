//! The same check values by the calculators' lines: whoever asks `slackwater calc --lines` comes to
//! the published numbers, with no line of Rust.
//!
//! A line of `lines.jsonl` names the row, what is asked, and which keys of the answer hold the row's
//! numbers, each with the factor that takes its unit to the row's. `expect` stands in where the row
//! prints more than numbers, `within` (a part) and `amount` where its tolerance is none.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Value as Json, json};
use slackwater::cli::calc::answer_line;

use crate::rows::{Row, read};
use crate::tubing::table;

/// Files of check values that calculators answer for.
const FILES: [&str; 7] = [
    "air.csv",
    "basins.csv",
    "flood.csv",
    "readings.csv",
    "soaks.csv",
    "solutions.csv",
    "tubing.csv",
];

fn path(file: &str) -> String {
    format!("{}/tests/reference/{file}", env!("CARGO_MANIFEST_DIR"))
}

/// The numbers that an answer holds under a key; none where it says that there is none.
fn under(answer: &Json, key: &str, factor: f64) -> Vec<Option<f64>> {
    let times = |number: &Json| number.as_f64().map(|number| number * factor);
    match &answer["answer"][key] {
        Json::Array(numbers) => numbers.iter().map(times).collect(),
        other => vec![times(other)],
    }
}

/// Whether a line answers as its row says; what it answers when not.
fn holds(line: &Json, row: &Row) -> Result<(), String> {
    let answer = answer_line(&line["ask"].to_string(), 1);
    let got: Vec<Option<f64>> = line["gives"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|pair| {
            under(
                &answer,
                pair[0].as_str().unwrap(),
                pair[1].as_f64().unwrap(),
            )
        })
        .collect();
    let expected: Vec<Option<f64>> = match line["expect"].as_array() {
        Some(numbers) => numbers.iter().map(Json::as_f64).collect(),
        None => row.numbers().into_iter().map(Some).collect(),
    };
    let close = |got: Option<f64>, expected: Option<f64>| match (got, expected) {
        (Some(got), Some(expected)) => {
            let allowed = match (line["within"].as_f64(), line["amount"].as_f64()) {
                (Some(part), _) => part * expected.abs(),
                (None, Some(amount)) => amount,
                (None, None) => row.allowed(expected),
            };
            (got - expected).abs() <= allowed
        }
        (got, expected) => got == expected,
    };
    let all = !got.is_empty()
        && got.len() == expected.len()
        && got
            .iter()
            .zip(&expected)
            .all(|(got, expected)| close(*got, *expected));
    if all {
        Ok(())
    } else {
        Err(format!("{got:?} against {expected:?}: {answer}"))
    }
}

#[test]
fn every_line_comes_to_its_row() {
    let rows: BTreeMap<String, Row> = FILES
        .iter()
        .flat_map(|file| read(file))
        .map(|row| (row.id.clone(), row))
        .collect();
    let text = std::fs::read_to_string(path("lines.jsonl")).unwrap();
    let (mut faults, mut asked, mut count) = (Vec::new(), BTreeSet::new(), 0);
    for line in text.lines() {
        let line: Json = serde_json::from_str(line).unwrap();
        let id = line["id"].as_str().unwrap();
        count += 1;
        match rows.get(id).map(|row| holds(&line, row)) {
            None => faults.push(format!("{id}: no such row")),
            Some(Err(fault)) => faults.push(format!("{id}: {fault}")),
            Some(Ok(())) => {
                asked.insert(id.to_owned());
            }
        }
    }
    println!(
        "lines: {count} lines come to {} of {} rows",
        asked.len(),
        rows.len()
    );
    let mut left: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (id, row) in rows.iter().filter(|(id, _)| !asked.contains(*id)) {
        left.entry(row.family()).or_default().push(id);
    }
    for (family, ids) in left {
        println!("  {family}: not asked {}", ids.join(", "));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(asked.len() > 270, "only {} rows are asked", asked.len());
}

#[test]
fn every_point_of_the_friction_table_by_lines() {
    let (mut worst, mut compared) = (0.0f64, 0);
    for point in table() {
        let ask = |calc: Json| answer_line(&calc.to_string(), 1)["answer"].clone();
        let pipe = ask(json!({
            "calc": "pipe", "flow": point.flow, "bore": point.bore_mm, "tube": 1000, "k": 0,
            "celsius": point.celsius,
        }));
        let factors = ask(json!({
            "calc": "friction-factor", "reynolds": point.reynolds,
            "relative_roughness": 0.0015 / point.bore_mm,
        }));
        let smooth = ask(json!({ "calc": "friction-factor", "reynolds": point.reynolds }));
        let rule = ask(json!({
            "calc": "hazen-williams", "flow": point.flow, "bore": point.bore_mm, "tube": 1000,
        }));
        assert!(
            pipe["regime"].as_str().unwrap().starts_with(&point.regime),
            "{} L/min in {} mm",
            point.flow,
            point.bore_mm
        );
        let mut pairs = vec![
            (&pipe["velocity_m_per_s"], Some(point.velocity)),
            (&pipe["reynolds"], Some(point.reynolds)),
            (&pipe["factor"], Some(point.factor)),
            (&pipe["head_mm"], Some(point.head_per_m * 1000.0)),
            (&pipe["pressure_pa"], Some(point.pressure_per_m)),
            (&rule["head_mm"], Some(point.hazen_williams * 1000.0)),
        ];
        let formulas = [
            &factors["laminar"],
            &smooth["colebrook"],
            &factors["colebrook"],
            &factors["haaland"],
            &factors["swamee_jain"],
            &factors["blasius"],
        ];
        pairs.extend(formulas.into_iter().zip(point.formulas));
        for (got, printed) in pairs {
            if let Some(printed) = printed {
                worst = worst.max((got.as_f64().unwrap() / printed - 1.0).abs());
                compared += 1;
            }
        }
    }
    println!("friction table by lines: {compared} numbers, worst part {worst:.1e}");
    assert!(compared > 3000 && worst < 5e-4, "{compared} {worst}");
}
