//! Calculators of strength and dose.

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, CELSIUS, Calculator, gives, may, must, or};
use super::dosing;
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{found, label_off, part, percent_off, strength_label};
use super::published::{DENSITY, HEAT, MOLAR};
use super::question::Question;
use crate::science::peroxide::{self, YearlyLoss, heat_of_decomposition, oxygen_of_decomposition};
use crate::science::quantity::{
    in_grams, in_grams_per_litre, in_kilograms_per_litre, in_litres, solute_in,
};
use crate::science::show;
use crate::science::strength::{Basis, Strength};
use crate::science::tolerances::{AGEING, ENTERED_VOLUME};

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
            "{concentrate_l} of concentrate into {water_l} of purified water; poured to the marks, the finished solution is {poured_ww}.",
            "{concentrate_l} of concentrate into {water_l} of purified water; the finished solution is {finished_ww}.",
        ],
        sources: &[
            "Conservation of mass over heel, retained water, concentrate and fresh water",
            "Range: law of propagation of uncertainty, JCGM 100:2008, k = 2",
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
            percent_off(
                "volume_off",
                "10",
                "volume may be off by; either way: a metered fill 2 %",
            ),
            label_off("stock_off"),
            percent_off("jug_off", "2", "scale of the jug may be off by; either way"),
        ],
        outputs: &[
            gives("concentrate_l", Kind::Volume, "concentrate").plain(),
            gives("concentrate_kg", Kind::Mass, "concentrate by weight").plain(),
            gives("water_l", Kind::Volume, "purified water").plain(),
            gives("water_kg", Kind::Mass, "purified water by weight").plain(),
            gives(
                "peroxide_kg",
                Kind::Mass,
                "pure peroxide in the finished solution",
            )
            .plain(),
            gives("finished_ww", Kind::Number("% w/w"), "finished solution").ranged(),
            gives("batches", Kind::Number(""), "batches").plain(),
            gives("pours", Kind::Number(""), "pours").plain(),
            gives(
                "poured_l",
                Kind::Volume,
                "sum of the pours, rounded to marks",
            )
            .plain(),
            gives(
                "poured_ww",
                Kind::Number("% w/w"),
                "what the rounded pours give",
            )
            .ranged(),
            gives(
                "label_rule_l",
                Kind::Volume,
                "what percent against percent would say",
            )
            .plain(),
            gives(
                "label_rule_misses",
                Kind::Number("%"),
                "how far that misses",
            )
            .plain(),
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
        run: dosing::dose,
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
            STRENGTH_OF.off(found(strength_label).own("strength_off")),
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
            )
            .off(part(AGEING)),
            CELSIUS,
            label_off("strength_off"),
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
            STRENGTH_OF.off(found(strength_label).own("strength_off")),
            must("volume", Kind::Volume, (0.001, 1e6), "volume of it")
                .off(part(ENTERED_VOLUME).own("volume_off")),
            CELSIUS,
            label_off("strength_off"),
            percent_off("volume_off", "10", "volume may be off by; either way"),
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
    answer.number("percent_ww", w.percent(), "{=strength} by weight");
    let model = peroxide::PEROXIDE_DENSITY_MODEL;
    answer.number(
        "density_kg_per_l",
        in_kilograms_per_litre(density),
        format!("{model}, at {{=percent_ww}} and {{=celsius}}"),
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
    answer.number("percent_ww", w, "{=strength} by weight, at {=celsius}");
    answer.number(
        "percent_wv",
        on(Basis::PercentWv)?,
        format!("{{=percent_ww}} × {} kg/L", show::figures(density, 4)),
    );
    answer.number(
        "grams_per_l",
        on(Basis::GramsPerLitre)?,
        "10 × {=percent_wv}",
    );
    answer.number(
        "strength_mg_per_l",
        on(Basis::MilligramsPerLitre)?,
        "1000 × {=grams_per_l}",
    );
    let moles = given.moles_per_litre(t).on("strength")?;
    answer.number("moles_per_l", moles, "{=grams_per_l} ÷ 34.0147 g/mol");
    answer.number(
        "volume_strength",
        on(Basis::VolumeStrength)?,
        "{=moles_per_l} × 22.414 L/mol ÷ 2",
    );
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
    let density = peroxide::density(left, t).on("strength")?;
    let grams = in_grams_per_litre(peroxide::concentration(left, t).on("strength")?);
    answer.number(
        "grams_per_l",
        grams,
        format!(
            "10 × {{=percent_ww}} × {} kg/L",
            show::figures(in_kilograms_per_litre(density), 4)
        ),
    );
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
    answer.number(
        "heat_least_kj",
        heat.least.value / 1000.0,
        "{=peroxide_kg} × 94.6 kJ/mol ÷ 34.0147 g/mol",
    );
    answer.number(
        "heat_most_kj",
        heat.most.value / 1000.0,
        "{=peroxide_kg} × 98.0 kJ/mol ÷ 34.0147 g/mol",
    );
    answer.number(
        "oxygen_l",
        in_litres(oxygen_of_decomposition(peroxide, t.into())),
        "{=peroxide_kg} ÷ 34.0147 g/mol ÷ 2, as a gas at {=celsius} and 1 atm",
    );
    Ok(())
}
