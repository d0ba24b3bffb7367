//! Calculators of peroxide that falls apart on the spot, and of the second density.

use uom::si::ratio::percent;
use uom::si::specific_heat_capacity::kilojoule_per_kilogram_kelvin;
use uom::si::temperature_interval::kelvin;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, CELSIUS, Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{found, label_off, strength_label};
use super::published::{DENSITY, HEAT};
use super::question::Question;
use crate::science::decomposition::{self, Ends, HeatValue, heat_capacity, weakest_that_boils};
use crate::science::density_check;
use crate::science::peroxide;
use crate::science::quantity::{MassFraction, in_kilograms_per_litre};
use crate::science::show;
use crate::science::sources;
use crate::science::strength::Basis;
use crate::science::transport::un_number;

const STRENGTH: Input = must("strength", Kind::Strength, ANY, "strength of the solution");

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "warming",
        says: "How warm a solution gets at most when all its peroxide falls apart, and whether it boils",
        asks: Question::Dose,
        headlines: &["It {ends}."],
        sources: &[
            HEAT,
            "Heat capacity: M. Laliberté, J. Chem. Eng. Data 54, 2009, parameters from an open data file",
            "Boiling at 100 °C and 1 atm, heat of steam 2257 kJ/kg: from memory",
        ],
        inputs: &[
            STRENGTH.off(found(strength_label).own("strength_off")),
            CELSIUS,
            or(
                "heat",
                Kind::Choice(&["pure", "dilute"]),
                "pure",
                ANY,
                "heat of decomposition: 98.0 kJ/mol of the pure liquid, the larger and safer, or 94.6 of a dilute solution",
            ),
            label_off("strength_off"),
        ],
        outputs: &[
            gives("ends", Kind::Words, "where it ends"),
            gives(
                "ends_c",
                Kind::Temperature,
                "temperature at the end, if it does not boil",
            ),
            gives(
                "steam_kg_per_kg",
                Kind::Number("kg/kg"),
                "steam at most from a kilogram, if it boils",
            ),
            gives(
                "rise_k",
                Kind::Number("K"),
                "rise if nothing boiled: a measure of the heat, no temperature of a liquid",
            ),
            gives(
                "rise_least_k",
                Kind::Number("K"),
                "the same by the dilute value",
            ),
            gives(
                "heat_capacity_kj_per_kg_k",
                Kind::Number("kJ/(kg K)"),
                "heat capacity of the solution at 25 °C",
            ),
            gives(
                "boils_from_ww",
                Kind::Number("% w/w"),
                "the weakest solution that boils from this temperature",
            ),
        ],
        cautions: &[
            "Two sources differ, 98.0 and 94.6 kJ/mol; the larger is the safer and is used unless the other is asked for.",
            "A can or tank that warms, foams or bulges: leave, keep others out, call the fire service. Caps are vented, never sealed.",
        ],
        example: &["strength=6 % w/w", "celsius=20"],
        run: warming,
    },
    Calculator {
        name: "density-check",
        says: "What a litre weighs by a second published model, beside the one that doses are reckoned with",
        asks: Question::Dose,
        headlines: &[
            "{second_kg_per_l} by the second model, {density_kg_per_l} by the one in use: {differs_percent} apart.",
        ],
        sources: &[
            DENSITY,
            "Second model: M. Laliberté, J. Chem. Eng. Data 54, 2009, parameters from an open data file",
        ],
        inputs: &[STRENGTH, CELSIUS],
        outputs: &[
            gives(
                "density_kg_per_l",
                Kind::Number("kg/L"),
                "by the model in use",
            ),
            gives(
                "second_kg_per_l",
                Kind::Number("kg/L"),
                "by the second model",
            ),
            gives(
                "differs_percent",
                Kind::Number("%"),
                "how far the second lies over the first",
            )
            .signed(),
        ],
        cautions: &["Doses are reckoned with the first model only."],
        example: &["strength=35 % w/w"],
        run: density,
    },
    Calculator {
        name: "transport",
        says: "The number under which a solution travels, by its strength",
        asks: Question::Conversions,
        headlines: &["{percent_ww} by weight: {un_number}."],
        sources: &[
            "Medical management guidelines of the US ATSDR and a letter of the US DOT; none below 8 % is from memory",
        ],
        inputs: &[
            STRENGTH,
            CELSIUS,
            may(
                "border",
                Kind::Number("% w/w"),
                (50.0, 60.0),
                "strength above which it is UN2015; left out, what the site goes by, else the lower of two published ones",
            ),
        ],
        outputs: &[
            gives("percent_ww", Kind::Number("% w/w"), "strength by weight"),
            gives("un_number", Kind::Words, "number for transport"),
        ],
        cautions: &[
            "Who sends a package classes it, by the product's own sheet. This is no advice on transport.",
        ],
        example: &["strength=35 % w/w"],
        run: transport,
    },
];

fn warming(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let start = inputs.water("celsius")?;
    let strength = inputs.strength("strength")?;
    let w = strength.mass_fraction(start).on("strength")?;
    let heat = match inputs.choice("heat")? {
        "dilute" => HeatValue::Dilute,
        _ => HeatValue::Pure,
    };
    let rise = decomposition::rise(w, start, heat).on("strength")?;
    let least = decomposition::rise(w, start, HeatValue::Dilute).on("strength")?;
    let capacity = heat_capacity(w).on("strength")?;
    answer.words("ends", rise.words());
    match rise.ends {
        Ends::Warm(at) => answer.number("ends_c", at.degrees(), "{celsius} + {rise_k}"),
        Ends::Boils { steam } => {
            answer.none("ends_c", "it boils");
            answer.number(
                "steam_kg_per_kg",
                steam.get(),
                "({rise_k} − (100 °C − {celsius})) × {heat_capacity_kj_per_kg_k:heat capacity} ÷ 2257 kJ/kg",
            );
            answer.caution("It boils: steam and oxygen throw hot peroxide out of the vessel.");
        }
    }
    answer.number(
        "rise_k",
        rise.without_boiling.get::<kelvin>(),
        format!(
            "{} × {} kJ/mol ÷ (34.0147 g/mol × {{heat_capacity_kj_per_kg_k:heat capacity}})",
            show::figures(w.get(), 4),
            match heat {
                HeatValue::Dilute => "94.6",
                HeatValue::Pure => "98.0",
            }
        ),
    );
    answer.number(
        "rise_least_k",
        least.without_boiling.get::<kelvin>(),
        "the same with 94.6 kJ/mol",
    );
    answer.number(
        "heat_capacity_kj_per_kg_k",
        capacity.get::<kilojoule_per_kilogram_kelvin>(),
        "by {=strength}, at 25 °C",
    );
    answer.number(
        "boils_from_ww",
        weakest_that_boils(start, heat).percent(),
        "where the rise from {=celsius} just reaches 100 °C",
    );
    Ok(())
}

fn density(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let strength = inputs.strength("strength")?;
    let w = strength.mass_fraction(t).on("strength")?;
    let first = peroxide::density(w, t).on("strength")?;
    let second = density_check::density(w, t).on("strength")?;
    let differs = density_check::differs_by(w, t).on("strength")?;
    answer.number(
        "density_kg_per_l",
        in_kilograms_per_litre(first),
        format!(
            "{}, {{=strength}} at {{=celsius}}",
            peroxide::PEROXIDE_DENSITY_MODEL
        ),
    );
    answer.number(
        "second_kg_per_l",
        in_kilograms_per_litre(second),
        format!(
            "{}, {{=strength}} at {{=celsius}}",
            density_check::CHECK_MODEL
        ),
    );
    answer.number(
        "differs_percent",
        differs.get::<percent>(),
        "{=second_kg_per_l} ÷ {=density_kg_per_l} − 1",
    );
    Ok(())
}

fn transport(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let strength = inputs.strength("strength")?;
    // By weight no density is needed, so stronger solutions have their number too.
    let w = match strength.basis() {
        Basis::PercentWw => MassFraction::from_percent(strength.value()).on("strength")?,
        _ => strength.mass_fraction(t).on("strength")?,
    };
    let by = inputs.source(sources::Question::Transport);
    let border = inputs.maybe("border").unwrap_or(by.published.figure);
    if inputs.maybe("border").is_none() {
        answer.caution(by.to_string());
    }
    answer.number("percent_ww", w.percent(), "{=strength} by weight");
    answer.words(
        "un_number",
        un_number(w, border).unwrap_or("none, below 8 % by weight"),
    );
    Ok(())
}
