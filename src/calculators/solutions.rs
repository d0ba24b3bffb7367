//! Calculators of strength and dose.

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, CELSIUS, Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::published::{DENSITY, HEAT, MOLAR};
use super::question::Question;
use crate::science::dilution::{self, AlreadyThere, DoseAsk, Jug, Stock, StockAge, SystemVolume};
use crate::science::peroxide::{self, YearlyLoss, heat_of_decomposition, oxygen_of_decomposition};
use crate::science::quantity::{
    in_grams, in_grams_per_litre, in_kilograms, in_kilograms_per_litre, in_litres, litres,
    solute_in,
};
use crate::science::show;
use crate::science::strength::{Basis, Strength};
use crate::science::units::Units;

/// What stands beside every answer about concentrate.
const HANDLE: &str = "Goggles, face shield and gloves before the first pour. Add concentrate to water, never water to concentrate. Never mix it with bleach, acid or anything else. The product label and local rules win over every figure here.";
const MODEL: &str = "Densities by the model are good to 0.2 %, from 0 to 50 % w/w and 0 to 40 °C.";

const STRENGTH_OF: super::calculator::Input =
    must("strength", Kind::Strength, ANY, "strength of the solution");

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "density",
        says: "What a litre of a peroxide solution weighs",
        asks: Question::Conversions,
        headlines: &["A litre weighs {density_kg_per_l}; by weight it is {percent_ww}."],
        sources: &[DENSITY],
        inputs: &[STRENGTH_OF, CELSIUS],
        outputs: &[
            gives("density_kg_per_l", Kind::Number("kg/L"), "density"),
            gives("percent_ww", Kind::Number("% w/w"), "strength by weight"),
        ],
        cautions: &[MODEL],
        example: &["strength=35 % w/w", "celsius=20"],
        run: density,
    },
    Calculator {
        name: "strength",
        says: "One strength on every basis that labels use",
        asks: Question::Conversions,
        headlines: &["It is {percent_ww}, which is {percent_wv} or {grams_per_l}."],
        sources: &[
            DENSITY,
            MOLAR,
            "Volume strength: litres of oxygen at 0 °C and 1 atm, 22.414 L/mol ÷ 2, stoichiometry",
        ],
        inputs: &[STRENGTH_OF, CELSIUS],
        outputs: &[
            gives("percent_ww", Kind::Number("% w/w"), "by weight"),
            gives("percent_wv", Kind::Number("% w/v"), "grams in 100 mL"),
            gives("grams_per_l", Kind::Number("g/L"), "grams in a litre"),
            gives(
                "strength_mg_per_l",
                Kind::Concentration,
                "milligrams in a litre",
            ),
            gives(
                "volume_strength",
                Kind::Number("vol"),
                "litres of oxygen from a litre, at 0 °C and 1 atm",
            ),
            gives("moles_per_l", Kind::Number("mol/L"), "moles in a litre"),
        ],
        cautions: &[MODEL],
        example: &["strength=35 % w/w"],
        run: strength,
    },
    Calculator {
        name: "dose",
        says: "Concentrate and water for a system, by mass balance, with the label rule beside it",
        asks: Question::Dose,
        headlines: &[
            "{concentrate_l} of concentrate into {water_l} of purified water; the finished solution is {finished_ww}.",
        ],
        sources: &[
            "Conservation of mass over heel, retained water, concentrate and fresh water",
            DENSITY,
            "Loss of 2 % a year where an age is given: from memory",
        ],
        inputs: &[
            must(
                "stock",
                Kind::Strength,
                ANY,
                "label strength of the concentrate",
            ),
            may(
                "assay",
                Kind::Strength,
                ANY,
                "latest titration of it; wins over the label",
            ),
            may(
                "age",
                Kind::Number("days"),
                (0.0, 3653.0),
                "days since label or assay was true; 2 % a year is taken off",
            ),
            must("target", Kind::Strength, ANY, "working strength"),
            must(
                "volume",
                Kind::Volume,
                (0.001, 1e6),
                "what the whole system holds",
            ),
            or(
                "heel",
                Kind::Volume,
                "0",
                (0.0, 1e6),
                "water that the pump leaves",
            ),
            or(
                "retained",
                Kind::Volume,
                "0",
                (0.0, 1e6),
                "water that the drained media keep",
            ),
            may("residual", Kind::Strength, ANY, "peroxide in that water"),
            may("jug", Kind::Volume, (0.001, 25.0), "top mark of the jug"),
            or(
                "marks",
                Kind::Volume,
                "0.05",
                (0.001, 25.0),
                "how far its marks are apart",
            ),
            may(
                "reservoir",
                Kind::Volume,
                (0.001, 1e6),
                "what the reservoir takes",
            ),
            CELSIUS,
        ],
        outputs: &[
            gives("concentrate_l", Kind::Volume, "concentrate"),
            gives("concentrate_kg", Kind::Mass, "concentrate by weight"),
            gives("water_l", Kind::Volume, "purified water"),
            gives("water_kg", Kind::Mass, "purified water by weight"),
            gives(
                "peroxide_kg",
                Kind::Mass,
                "pure peroxide in the finished solution",
            ),
            gives("finished_ww", Kind::Number("% w/w"), "finished solution"),
            gives("batches", Kind::Number(""), "batches"),
            gives("pours", Kind::Number(""), "pours"),
            gives(
                "poured_l",
                Kind::Volume,
                "sum of the pours, rounded to marks",
            ),
            gives(
                "poured_ww",
                Kind::Number("% w/w"),
                "what the rounded pours give",
            ),
            gives(
                "label_rule_l",
                Kind::Volume,
                "what percent against percent would say",
            ),
            gives(
                "label_rule_misses",
                Kind::Number("%"),
                "how far that misses",
            ),
        ],
        cautions: &[HANDLE],
        example: &[
            "stock=35 % w/w",
            "target=3 % w/v",
            "volume=180 L",
            "heel=12 L",
            "retained=8 L",
            "jug=2 L",
        ],
        run: dose,
    },
    Calculator {
        name: "stock-age",
        says: "What is left of a stock that has stood, as an estimate",
        asks: Question::Dose,
        headlines: &["About {percent_ww} is left, {grams_per_l}."],
        sources: &[
            "First-order loss; 'under 1 % a year' is a maker's claim, 2 % in small packs is from memory",
            DENSITY,
        ],
        inputs: &[
            STRENGTH_OF,
            must(
                "days",
                Kind::Number("days"),
                (0.0, 3653.0),
                "days since that strength was true",
            ),
            or(
                "loss",
                Kind::Number("% a year"),
                "2",
                (0.0, 50.0),
                "loss in a year",
            ),
            CELSIUS,
        ],
        outputs: &[
            gives("percent_ww", Kind::Number("% w/w"), "by weight"),
            gives("grams_per_l", Kind::Number("g/L"), "grams in a litre"),
        ],
        cautions: &[
            "An estimate. Warmth, light, dirt and metals make the loss much larger; a titration wins.",
        ],
        example: &["strength=35 % w/w", "days=365"],
        run: stock_age,
    },
    Calculator {
        name: "decomposition",
        says: "Heat and oxygen when all the peroxide in a volume falls apart",
        asks: Question::Dose,
        headlines: &["Up to {heat_most_kj} of heat and {oxygen_l} of oxygen."],
        sources: &[HEAT, MOLAR, "Oxygen as an ideal gas at 1 atm"],
        inputs: &[
            STRENGTH_OF,
            must("volume", Kind::Volume, (0.001, 1e6), "volume of it"),
            CELSIUS,
        ],
        outputs: &[
            gives("peroxide_kg", Kind::Mass, "pure peroxide"),
            gives(
                "heat_least_kj",
                Kind::Number("kJ"),
                "heat, by the dilute value",
            ),
            gives(
                "heat_most_kj",
                Kind::Number("kJ"),
                "heat, by the pure value",
            ),
            gives("oxygen_l", Kind::Volume, "oxygen at 1 atm"),
        ],
        cautions: &[
            "A can or tank that warms, foams or bulges: leave, keep others out, call the fire service. Caps are vented, never sealed.",
        ],
        example: &["strength=35 % w/w", "volume=25 L"],
        run: decomposition,
    },
];

fn density(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let w = inputs
        .strength("strength")?
        .mass_fraction(t)
        .on("strength")?;
    let density = peroxide::density(w, t).on("strength")?;
    answer.number("percent_ww", w.percent(), "");
    answer.number(
        "density_kg_per_l",
        in_kilograms_per_litre(density),
        peroxide::PEROXIDE_DENSITY_MODEL,
    );
    Ok(())
}

fn strength(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let given = inputs.strength("strength")?;
    let on = |basis| given.on(basis, t).map(Strength::value).on("strength");
    let w = on(Basis::PercentWw)?;
    let density = in_kilograms_per_litre(
        peroxide::density(given.mass_fraction(t).on("strength")?, t).on("strength")?,
    );
    answer.number("percent_ww", w, "");
    answer.number(
        "percent_wv",
        on(Basis::PercentWv)?,
        format!(
            "{} % w/w × {} kg/L",
            show::figures(w, 4),
            show::figures(density, 4)
        ),
    );
    answer.number("grams_per_l", on(Basis::GramsPerLitre)?, "ten times % w/v");
    answer.number(
        "strength_mg_per_l",
        on(Basis::MilligramsPerLitre)?,
        "a thousand times g/L",
    );
    answer.number(
        "volume_strength",
        on(Basis::VolumeStrength)?,
        "11.207 L for a mole in a litre",
    );
    answer.number(
        "moles_per_l",
        given.moles_per_litre(t).on("strength")?,
        "g/L ÷ 34.0147 g/mol",
    );
    Ok(())
}

fn dose(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
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
    answer.number("concentrate_kg", in_kilograms(sheet.concentrate.mass), "");
    answer.number("water_l", in_litres(sheet.water.volume), working("water"));
    answer.number("water_kg", in_kilograms(sheet.water.mass), "");
    answer.number("finished_ww", sheet.target.fraction.percent(), "");
    answer.number("batches", sheet.batches.len() as f64, "");
    match sheet.poured {
        Some(poured) => {
            answer.number("pours", poured.count as f64, "");
            answer.number("poured_l", in_litres(poured.sum), "");
            answer.number("poured_ww", poured.fraction.percent(), "");
        }
        None => answer.none("pours", "no jug was given"),
    }
    match &sheet.label_rule {
        Ok(rule) => {
            answer.number(
                "label_rule_l",
                in_litres(rule.concentrate),
                "percent against percent; not the dose",
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

fn stock_age(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let fresh = inputs
        .strength("strength")?
        .mass_fraction(t)
        .on("strength")?;
    let (loss, days) = (inputs.number("loss")?, inputs.number("days")?);
    let left = peroxide::aged(fresh, YearlyLoss::new(loss / 100.0).on("loss")?, days).on("days")?;
    let working = format!(
        "{} % × (1 − {})^({} ÷ 365.25)",
        show::figures(fresh.percent(), 4),
        show::figures(loss / 100.0, 3),
        show::figures(days, 4)
    );
    answer.number("percent_ww", left.percent(), working);
    let grams = in_grams_per_litre(peroxide::concentration(left, t).on("strength")?);
    answer.number("grams_per_l", grams, "by the density model");
    Ok(())
}

fn decomposition(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let c = inputs
        .strength("strength")?
        .concentration(t)
        .on("strength")?;
    let volume = inputs.volume("volume")?;
    let peroxide = solute_in(volume, c);
    let heat = heat_of_decomposition(peroxide);
    let working = format!(
        "{} g/L × {} L",
        show::figures(in_grams_per_litre(c), 4),
        show::figures(in_litres(volume), 4)
    );
    answer.number("peroxide_kg", in_grams(peroxide) / 1000.0, working);
    answer.number("heat_least_kj", heat.least.value / 1000.0, "94.6 kJ/mol");
    answer.number("heat_most_kj", heat.most.value / 1000.0, "98.0 kJ/mol");
    answer.number(
        "oxygen_l",
        in_litres(oxygen_of_decomposition(peroxide, t.into())),
        "half a mole for a mole",
    );
    Ok(())
}
