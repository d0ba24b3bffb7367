//! Rows that are no model: limits, classes, labels, first aid, what was found about plants and germs.
//! The few numbers in them that follow from the science are checked; the rest is left by family.

use slackwater::science::peroxide;
use slackwater::science::quantity::{
    Mass, MassFraction, WaterTemperature, in_grams_per_litre, in_litres,
};
use uom::si::mass::kilogram;

use crate::near::within_amount;
use crate::rows::{Answer, Row, hold, value};

/// Why the rows of a family are left.
fn reason(family: &str) -> Option<&'static str> {
    Some(match family {
        "EXP" => "a limit of law or of a body: the site reads it from its own rule set",
        "GHS" | "FIR" | "TRN" => {
            "a class by strength: it stands in the dated bands that the site keeps, not in a formula"
        }
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

fn answer(row: &Row) -> Option<Answer> {
    match row.id.as_str() {
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
    hold("rules.csv", answer);
}
