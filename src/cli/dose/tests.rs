use super::*;
use clap::Parser;

#[derive(Debug, Parser)]
struct Line {
    #[command(flatten)]
    args: Args,
}

/// Runs the command with these options: exit code, what it says, what it complains.
fn dose(options: &[&str]) -> (ExitCode, String, String) {
    let line = Line::try_parse_from([&["dose"], options].concat()).unwrap();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(&line.args, &mut out, &mut err).unwrap();
    (
        code,
        String::from_utf8(out).unwrap(),
        String::from_utf8(err).unwrap(),
    )
}

const USUAL: [&str; 16] = [
    "--stock",
    "35 % w/w",
    "--target",
    "3 % w/v",
    "--volume",
    "180 L",
    "--celsius",
    "20",
    "--heel",
    "12 L",
    "--retained",
    "8 L",
    "--jug",
    "2 L",
    "--marks",
    "50 mL",
];

#[test]
fn the_sentence_comes_first_and_the_rest_follows() {
    let (code, out, err) = dose(&USUAL);
    assert_eq!(code, ExitCode::SUCCESS, "{err}");
    assert!(err.is_empty());
    let first = out.lines().next().unwrap();
    assert_eq!(
        first,
        "13.64 L of 35 % w/w stock, poured into the 20 L already there and 146.4 L of purified water, makes 180 L at 3 % w/v."
    );
    for part in [
        "Volume of the solution",
        "Concentrate",
        "Pours:",
        "the label rule",
        "Caution",
    ] {
        assert!(out.contains(part), "{part} is missing:\n{out}");
    }
    assert!(out.contains("so far 13.65 L"), "{out}");
    assert!(
        out.contains("15.43 L, 1.79 L more than the balance"),
        "{out}"
    );
    assert!(out.contains("a litre of this stock weighs 1.13 kg"));
    assert!(!out.contains('\u{a0}'));
}

#[test]
fn json_names_its_units() {
    let (code, out, _) = dose(&[&USUAL[..], &["--json", "--reservoir", "60 L"]].concat());
    assert_eq!(code, ExitCode::SUCCESS);
    let answer: serde_json::Value = serde_json::from_str(&out).unwrap();
    let number = |key: &str| answer[key].as_f64().unwrap();
    assert!((number("concentrate_l") - 13.64).abs() < 0.01);
    assert!((number("peroxide_needed_g") - 5400.0).abs() < 1e-6);
    let masses = number("already_kg") + number("concentrate_kg") + number("water_kg");
    assert!((masses - number("finished_kg")).abs() < 1e-9);
    assert_eq!(answer["batches"].as_array().unwrap().len(), 4);
    assert_eq!(answer["label_rule"]["reasons"][0], "stock_by_weight");
    assert_eq!(answer["target"]["basis"], "% w/v");
    assert_eq!(answer["poured"]["sum_l"].as_f64().unwrap(), 13.65);
}

#[test]
fn refusals_go_to_the_other_stream_with_two() {
    let (code, out, err) = dose(&[
        "--stock", "35 %", "--target", "3 % v/v", "--volume", "40 gal",
    ]);
    assert_eq!(code, ExitCode::from(2));
    assert!(out.is_empty());
    assert_eq!(err.lines().count(), 3, "{err}");
    assert!(err.starts_with("--stock: Write % w/w or % w/v"));
    assert!(err.contains("--volume: Write US gal or imp gal"));
    let (code, _, err) = dose(&[
        "--stock", "60 % w/w", "--target", "3 % w/v", "--volume", "180 L", "--json",
    ]);
    assert_eq!(code, ExitCode::from(2));
    let answer: serde_json::Value = serde_json::from_str(&err).unwrap();
    assert_eq!(answer["refused"][0]["code"], "stock_too_strong");
}

#[test]
fn odd_options_are_complained_about_by_name() {
    let with = |more: &[&str]| dose(&[&USUAL[..], more].concat());
    for (more, expect) in [
        (
            ["--reservoir", "12 L"],
            "--reservoir: The heel fills the reservoir",
        ),
        (["--age-days", "many"], "--age-days: 'many' is not a number"),
        (["--residual", "5"], "--residual: Add the unit"),
        (
            ["--permitted", "2 % w/v"],
            "No dose. 3 % w/v is above the 2 % w/v that is permitted",
        ),
        (
            ["--age-days", "4000"],
            "No dose. The age of a stock must lie from 0 to 3653 days",
        ),
    ] {
        let (code, _, err) = with(&more);
        assert_eq!(code, ExitCode::from(2));
        assert!(err.starts_with(expect), "{err}");
    }
    let (code, _, err) = dose(&[
        "--stock",
        "35 % w/w",
        "--target",
        "3 % w/v",
        "--volume",
        "180",
        "--celsius",
        "41",
    ]);
    assert_eq!(code, ExitCode::from(2));
    assert!(
        err.starts_with("--celsius: The temperature of the liquid must lie from 0 to 40 °C"),
        "{err}"
    );
}

#[test]
fn american_units_name_their_gallon() {
    let (_, out, _) = dose(&[&USUAL[..], &["--units", "us"]].concat());
    assert!(out.starts_with("3.603 US gal of 35 % w/w stock"), "{out}");
    assert!(out.contains("68 °F"));
    assert!(out.contains("67.6 US fl oz (2 L)"), "{out}");
}
