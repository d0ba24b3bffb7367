//! Calculators of peroxide that falls apart on the spot, and of the second density.

use uom::si::ratio::percent;
use uom::si::specific_heat_capacity::kilojoule_per_kilogram_kelvin;
use uom::si::temperature_interval::kelvin;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, CELSIUS, Calculator, Input, gives, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::published::{DENSITY, HEAT};
use super::question::Question;
use crate::science::decomposition::{self, Ends, HeatValue, heat_capacity, weakest_that_boils};
use crate::science::density_check;
use crate::science::peroxide;
use crate::science::quantity::in_kilograms_per_litre;

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
            STRENGTH,
            CELSIUS,
            or(
                "heat",
                Kind::Choice(&["pure", "dilute"]),
                "pure",
                ANY,
                "heat of decomposition: 98.0 kJ/mol of the pure liquid, the larger and safer, or 94.6 of a dilute solution",
            ),
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
            ),
        ],
        cautions: &["Doses are reckoned with the first model only."],
        example: &["strength=35 % w/w"],
        run: density,
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
        Ends::Warm(at) => answer.number("ends_c", at.degrees(), "start + rise"),
        Ends::Boils { steam } => {
            answer.none("ends_c", "it boils");
            answer.number(
                "steam_kg_per_kg",
                steam.get(),
                "the heat that is left at 100 °C ÷ 2257 kJ/kg",
            );
            answer.caution("It boils: steam and oxygen throw hot peroxide out of the vessel.");
        }
    }
    answer.number(
        "rise_k",
        rise.without_boiling.get::<kelvin>(),
        "strength × heat ÷ (molar mass × heat capacity)",
    );
    answer.number(
        "rise_least_k",
        least.without_boiling.get::<kelvin>(),
        "with 94.6 kJ/mol",
    );
    answer.number(
        "heat_capacity_kj_per_kg_k",
        capacity.get::<kilojoule_per_kilogram_kelvin>(),
        "by strength, at 25 °C",
    );
    answer.number(
        "boils_from_ww",
        weakest_that_boils(start, heat).percent(),
        "where the rise just reaches 100 °C",
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
        peroxide::PEROXIDE_DENSITY_MODEL,
    );
    answer.number(
        "second_kg_per_l",
        in_kilograms_per_litre(second),
        density_check::CHECK_MODEL,
    );
    answer.number("differs_percent", differs.get::<percent>(), "");
    Ok(())
}
