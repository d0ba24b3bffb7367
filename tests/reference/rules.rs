//! Rows that are no model: limits, classes, labels, first aid, what was found about plants and germs.
//! Classes by strength are held against the bands of a new register, numbers that follow from the science
//! are checked, and the rest is left by family.

use std::collections::HashSet;

use slackwater::science::classes::Signal;
use slackwater::science::quantity::{
    Mass, MassFraction, WaterTemperature, in_grams_per_litre, in_litres,
};
use slackwater::science::sources::Question;
use slackwater::science::{peroxide, transport};
use uom::si::mass::kilogram;

use crate::classes::Bands;
use crate::near::within_amount;
use crate::rows::{Answer, Row, hold, value};

/// Why the rows of a family are left.
fn reason(family: &str) -> Option<&'static str> {
    Some(match family {
        "EXP" => "a limit of law or of a body: the site reads it from its own rule set",
        "GHS" => {
            "above what is handled here, only proposed, or of the substance and not of a solution"
        }
        "FIR" => "what a fire is put out with: words, with no number to compare",
        "LAB" | "PRE" | "REG" => "a duty of law: it stands in the rule sets",
        "INC" => "what must not meet peroxide: words, with no number to compare",
        "SAN" | "EFF" | "PHY" => {
            "what was found about cleaning, germs or plants: no model promises it"
        }
        "ENV" => "a limit for waste water, or a quotient by it: the sewer authority decides",
        "AID" | "PPE" => "first aid and protection: words and times that are shown, not reckoned",
        _ => return None,
    })
}

/// Grams of peroxide in a litre of a strength by weight at 20 °C.
fn grams_in_a_litre(percent: f64) -> f64 {
    let w = MassFraction::from_percent(percent).unwrap();
    in_grams_per_litre(peroxide::concentration(w, WaterTemperature::TWENTY).unwrap())
}

/// The number under which a solution travels, by the safer border.
fn travels(percent: f64) -> Option<&'static str> {
    let border = Question::Transport.dispute().answers[0].figure;
    transport::un_number(MassFraction::from_percent(percent).unwrap(), border)
}

/// A class that holds from a strength to another, both inclusive, as the fire code has it.
fn burns(bands: &Bands, from: f64, to: f64, class: &str) -> bool {
    [from, to].iter().all(|at| bands.fire_class(*at) == class)
}

fn answer(row: &Row, bands: &Bands) -> Option<Answer> {
    let holds = |holds| Some(Answer::Holds(holds));
    match row.id.as_str() {
        "GHS-005" => holds(bands.between("H315", 35.0, 50.0)),
        "GHS-006" => holds(bands.between("H318", 8.0, 50.0)),
        "GHS-007" => holds(bands.between("H319", 5.0, 8.0)),
        "GHS-014" => {
            let label = (Signal::Warning, HashSet::from(["GHS07", "H319"]));
            holds(bands.label(5.0) == label && bands.label(7.9) == label)
        }
        "GHS-017" => holds(bands.label(3.0) == (Signal::None, HashSet::new())),
        "GHS-018" => holds(bands.differ_at(6.0)),
        "FIR-001" => holds(burns(bands, 8.0, 27.5, "oxidiser, class 1")),
        "FIR-002" => holds(burns(bands, 27.51, 52.0, "oxidiser, class 2")),
        "FIR-004" => Some(Answer::Values(bands.most(20.0))),
        "FIR-005" => Some(Answer::Values(bands.most(35.0))),
        "TRN-001" => holds([8.0, 19.99].iter().all(|at| travels(*at) == Some("UN2984"))),
        "TRN-002" => holds([20.0, 52.0].iter().all(|at| travels(*at) == Some("UN2014"))),
        "TRN-003" => holds(travels(60.1) == Some("UN2015") && travels(7.99).is_none()),
        "FIR-007" => {
            let stock = MassFraction::from_percent(35.0).unwrap();
            let density = peroxide::density(stock, WaterTemperature::TWENTY).unwrap();
            value(in_litres(Mass::new::<kilogram>(113.4) / density))
        }
        // 6 % w/v down to what a sewage plant stands.
        "ENV-003" => within_amount(60_000.0 / 4.66, 12_876.0, 0.6),
        // Millilitres of a 3 % product in a litre of water, the added volume not counted.
        "PHY-009" => Some(Answer::Values(
            [1.25, 2.5].map(|ml| ml * grams_in_a_litre(3.0)).to_vec(),
        )),
        _ => reason(row.family()).map(Answer::Left),
    }
}

#[test]
fn rules_and_findings() {
    let bands = Bands::read();
    hold("rules.csv", |row| answer(row, &bands));
}
