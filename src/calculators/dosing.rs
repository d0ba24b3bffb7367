//! The dose of a system, worked out with its range.

use super::answer::{Answer, OnField, Refusal};
use super::inputs::Inputs;
use crate::science::dilution::{
    self, AlreadyThere, DoseAsk, DoseTolerances, Jug, OwnTolerance, Stock, StockAge, SystemVolume,
};
use crate::science::peroxide::YearlyLoss;
use crate::science::quantity::{in_kilograms, in_kilograms_per_litre, in_litres, litres};
use crate::science::show;
use crate::science::strength::Strength;
use crate::science::units::Units;
use crate::science::water;

pub(super) fn dose(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let stock = Stock {
        label: inputs.strength("stock")?,
        assay: inputs.maybe_strength("assay"),
        age: inputs.maybe("age").map(|days| StockAge {
            days,
            loss: YearlyLoss::USUAL,
        }),
    };
    let system = SystemVolume::entered(inputs.volume("volume")?);
    let mut ask = DoseAsk::new(
        stock,
        inputs.strength("target")?,
        system,
        inputs.water("celsius")?,
    );
    ask.already = AlreadyThere {
        heel: inputs.volume("heel")?,
        retained: inputs.volume("retained")?,
        residual: inputs.maybe_strength("residual").unwrap_or(Strength::NONE),
    };
    if let Some(top) = inputs.maybe("jug") {
        ask.jug = Some(Jug::new(litres(top), inputs.volume("marks")?).on("jug")?);
    }
    if let Some(capacity) = inputs.maybe("reservoir") {
        let room = capacity - in_litres(ask.already.heel);
        let room = if room > 0.0 {
            Ok(litres(room))
        } else {
            Err("The heel fills the reservoir")
        };
        ask.batch_room = Some(room.on("reservoir")?);
    }
    if answer.wants_ranges() {
        ask.tolerances = Some(tolerances(inputs, &ask.volume));
    }
    let sheet = dilution::dose(&ask).whole()?;
    // The sheet words its own working; each line is put beside the number that it belongs to.
    let lines = sheet.lines(Units::Metric);
    let working = |key: &str| {
        lines
            .iter()
            .find(|line| line.key == key)
            .map(|line| line.working.clone())
            .unwrap_or_default()
    };
    answer.number(
        "peroxide_kg",
        in_kilograms(sheet.peroxide_total),
        working("peroxide"),
    );
    answer.number(
        "concentrate_l",
        in_litres(sheet.concentrate.volume),
        working("concentrate"),
    );
    let figures = |number: f64| show::figures(number, 4);
    answer.number(
        "concentrate_kg",
        in_kilograms(sheet.concentrate.mass),
        format!(
            "{{=concentrate_l}} × {} kg/L",
            figures(in_kilograms_per_litre(sheet.stock.density))
        ),
    );
    answer.number("water_l", in_litres(sheet.water.volume), working("water"));
    answer.number(
        "water_kg",
        in_kilograms(sheet.water.mass),
        format!(
            "{{=water_l}} × {} kg/L",
            figures(in_kilograms_per_litre(water::density(ask.temperature)))
        ),
    );
    answer.number(
        "finished_ww",
        sheet.target.fraction.percent(),
        format!(
            "{{=peroxide_kg}} ÷ ({{=volume}} × {} kg/L)",
            figures(in_kilograms_per_litre(sheet.target.density))
        ),
    );
    let batches = sheet.batches.len() as f64;
    match ask.batch_room {
        Some(_) => answer.number(
            "batches",
            batches,
            "what must go in, in parts that fit into {=reservoir} − {=heel}",
        ),
        None => answer.number("batches", batches, "1, as no reservoir limits it"),
    }
    match sheet.poured {
        Some(poured) => {
            answer.number(
                "pours",
                poured.count as f64,
                "{=concentrate_l} in pours of {=jug} at most, batch by batch",
            );
            answer.number(
                "poured_l",
                in_litres(poured.sum),
                "{=concentrate_l} in {=pours} pours, each to a mark of {=marks}",
            );
            answer.number(
                "poured_ww",
                poured.fraction.percent(),
                "{=poured_l} in the place of {=concentrate_l}, in {=volume}",
            );
        }
        None => answer.none("pours", "no jug was given"),
    }
    if let Some(range) = &sheet.range {
        let (weakest, strongest) = (range.weakest_fraction, range.strongest_fraction);
        // With a jug the range stands around what its marks give.
        let key = match sheet.poured {
            Some(_) => "poured_ww",
            None => "finished_ww",
        };
        answer.between(key, weakest.percent(), strongest.percent(), &range.budget);
    }
    match &sheet.label_rule {
        Ok(rule) => {
            answer.number(
                "label_rule_l",
                in_litres(rule.concentrate),
                "{=volume} × {=target} ÷ {=stock}, percent against percent; not the dose",
            );
            answer.number(
                "label_rule_misses",
                rule.misses_by.value * 100.0,
                rule.verdict(),
            );
        }
        Err(_) => answer.none("label_rule_l", "one of the strengths is no percent"),
    }
    answer
        .cautions
        .extend(sheet.warnings.iter().map(dilution::DoseWarning::words));
    Ok(())
}

/// How far the volume, the label and the jug may be off, by the usual figures or the asker's own.
fn tolerances(inputs: &Inputs<'_>, volume: &SystemVolume) -> DoseTolerances {
    let own = |key: &str| {
        let percent = inputs.maybe(key).filter(|_| inputs.is_typed(key))?;
        Some(OwnTolerance {
            half_width: percent / 100.0,
            how: "as typed".to_owned(),
        })
    };
    let usual = match own("volume_off") {
        Some(known) => DoseTolerances::of_volume(volume, known.half_width, &known.how),
        None => DoseTolerances::usual(volume),
    };
    DoseTolerances {
        stock: own("stock_off"),
        jug: own("jug_off"),
        ..usual
    }
}
