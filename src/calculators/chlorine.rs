//! Calculators of hypochlorite, by its available chlorine.

use uom::si::mass_density::kilogram_per_cubic_meter;

use super::agents::{LABEL, milligrams};
use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, Calculator, Input, gives, may, must};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{part, percent_off};
use super::published::AVAILABLE;
use super::question::Question;
use crate::science::chlorine::{ChlorineBasis, ChlorineStrength, product_for, strength_when_added};
use crate::science::quantity::{MassConcentration, MassDensity, in_grams_per_litre, in_litres};
use crate::science::show;
use crate::science::tolerances::{ENTERED_VOLUME, HYPOCHLORITE, JUG_SCALE};
use crate::science::units::VolumeUnit;

const BLEACH: &str = "Never with acid, ammonia, quaternary ammonium or peroxide: poisonous gas, heat or pressure. Bleach loses strength with age, warmth and light.";

const BASES: &[&str] = &["available", "trade", "hypochlorite"];

const STRENGTH: Input = must(
    "strength",
    Kind::Number("%"),
    (0.0, 25.0),
    "percent as the label of the product prints it",
);
const BASIS: Input = must(
    "basis",
    Kind::Choice(BASES),
    ANY,
    "what that percent counts: available chlorine by weight; trade, grams of available chlorine in 100 mL; or sodium hypochlorite by weight",
);
const DENSITY: Input = may(
    "density",
    Kind::Number("kg/L"),
    (0.9, 1.4),
    "what a litre of the product weighs; needed with a percent by weight",
);

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "chlorine-strength",
        says: "A hypochlorite strength on each of the three bases that labels call percent",
        asks: Question::Dose,
        headlines: &[
            "{trade_percent}, {available_ww}, {hypochlorite_ww}.",
            "{trade_percent}; give what a litre weighs for the others.",
            "{available_ww}, {hypochlorite_ww}; give what a litre weighs for grams in a litre.",
        ],
        sources: &[AVAILABLE],
        inputs: &[STRENGTH, BASIS, DENSITY],
        outputs: &[
            gives(
                "available_g_per_l",
                Kind::Number("g/L"),
                "available chlorine in a litre",
            ),
            gives("trade_percent", Kind::Number("trade %"), "trade percent"),
            gives(
                "available_ww",
                Kind::Number("% available by weight"),
                "available chlorine by weight",
            ),
            gives(
                "hypochlorite_ww",
                Kind::Number("% NaOCl by weight"),
                "sodium hypochlorite by weight",
            ),
        ],
        cautions: &[BLEACH],
        example: &["strength=12.5", "basis=trade", "density=1.16"],
        run: chlorine_strength,
    },
    Calculator {
        name: "chlorine-dose",
        says: "Hypochlorite product for a volume of solution of a given available chlorine",
        asks: Question::Dose,
        headlines: &["{product_l} of product and {water_l} of water."],
        sources: &[AVAILABLE],
        inputs: &[
            STRENGTH,
            BASIS,
            DENSITY,
            must(
                "target",
                Kind::Concentration,
                (0.001, 100_000.0),
                "available chlorine wanted",
            ),
            must("volume", Kind::Volume, (0.001, 1e6), "finished solution"),
        ],
        outputs: &[
            gives("product_l", Kind::Volume, "product"),
            gives("water_l", Kind::Volume, "water"),
            gives(
                "product_fl_oz",
                Kind::Number("US fl oz"),
                "product in US fluid ounces",
            ),
            gives(
                "product_to_water_l",
                Kind::Volume,
                "product, if the volume is the water that it is added to",
            ),
        ],
        cautions: &[LABEL, BLEACH],
        example: &[
            "strength=5.25",
            "basis=trade",
            "target=50 mg/L",
            "volume=1000 US gal",
        ],
        run: chlorine_dose,
    },
    Calculator {
        name: "chlorine-added",
        says: "Available chlorine when an amount of hypochlorite product is added to water",
        asks: Question::Dose,
        headlines: &[
            "{counted_mg_per_l} of available chlorine; charts print {not_counted_mg_per_l}.",
        ],
        sources: &[AVAILABLE],
        inputs: &[
            STRENGTH.off(part(HYPOCHLORITE).own("strength_off")),
            BASIS,
            DENSITY,
            must("product", Kind::Volume, (0.0, 1e6), "product added")
                .off(part(JUG_SCALE).own("product_off")),
            must(
                "water",
                Kind::Volume,
                (0.001, 1e6),
                "water that it is added to",
            )
            .off(part(ENTERED_VOLUME).own("water_off")),
            percent_off(
                "strength_off",
                "10",
                "label may be off by; either way, as the product ages",
            ),
            percent_off(
                "product_off",
                "2",
                "product may be off by; either way, by the scale of its jug",
            ),
            percent_off("water_off", "10", "water may be off by; either way"),
        ],
        outputs: &[
            gives(
                "counted_mg_per_l",
                Kind::Concentration,
                "with the product counted into the volume",
            ),
            gives(
                "not_counted_mg_per_l",
                Kind::Concentration,
                "as charts print it, the product not counted",
            ),
        ],
        cautions: &[LABEL, BLEACH],
        example: &[
            "strength=5.25",
            "basis=trade",
            "product=1 US fl oz",
            "water=1 US gal",
        ],
        run: chlorine_added,
    },
];

/// The strength of the product and, where it is known, what a litre of it weighs.
fn product_of(inputs: &Inputs<'_>) -> Result<(ChlorineStrength, Option<MassDensity>), Refusal> {
    let basis = match inputs.choice("basis")? {
        "trade" => ChlorineBasis::Trade,
        "hypochlorite" => ChlorineBasis::HypochloriteByWeight,
        _ => ChlorineBasis::AvailableByWeight,
    };
    let strength = ChlorineStrength::new(inputs.number("strength")?, basis).on("strength")?;
    let density = inputs.maybe("density");
    let density = density.map(|kg| MassDensity::new::<kilogram_per_cubic_meter>(kg * 1000.0));
    Ok((strength, density))
}

/// Available chlorine of the product, said on the answer by the caller.
fn available(inputs: &Inputs<'_>) -> Result<MassConcentration, Refusal> {
    let (strength, density) = product_of(inputs)?;
    strength.available(density).on("density")
}

fn chlorine_strength(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (strength, density) = product_of(inputs)?;
    match strength.available(density) {
        Ok(found) => answer.number(
            "available_g_per_l",
            in_grams_per_litre(found),
            "10 × {=trade_percent}",
        ),
        Err(why) => answer.none("available_g_per_l", why.to_string()),
    }
    for (key, basis, said) in [
        (
            "trade_percent",
            ChlorineBasis::Trade,
            "{=available_ww} × {=density}",
        ),
        (
            "available_ww",
            ChlorineBasis::AvailableByWeight,
            "0.9525 × {=hypochlorite_ww}",
        ),
        (
            "hypochlorite_ww",
            ChlorineBasis::HypochloriteByWeight,
            "{=available_ww} ÷ 0.9525",
        ),
    ] {
        match strength.on(basis, density) {
            Ok(found) => answer.number(key, found.percent(), said),
            Err(why) => answer.none(key, why.to_string()),
        }
    }
    Ok(())
}

fn chlorine_dose(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (stock, target) = (available(inputs)?, inputs.concentration("target")?);
    let volume = inputs.volume("volume")?;
    let product = product_for(volume, target, stock).on("target")?;
    let working = format!(
        "{} L × {} mg/L ÷ {} g/L",
        show::figures(in_litres(volume), 4),
        show::figures(milligrams(target), 4),
        show::figures(in_grams_per_litre(stock), 4)
    );
    answer.number("product_l", in_litres(product), working);
    answer.number(
        "water_l",
        in_litres(volume - product),
        "{volume} − {product_l}",
    );
    answer.number(
        "product_fl_oz",
        VolumeUnit::UsFluidOunce.count(product),
        "{=product_l} ÷ 29.5735 mL",
    );
    let part = target.value / (stock.value - target.value);
    answer.number(
        "product_to_water_l",
        in_litres(volume) * part,
        format!(
            "{{volume}} × {{target}} ÷ ({} g/L − {{target}})",
            show::figures(in_grams_per_litre(stock), 4)
        ),
    );
    Ok(())
}

fn chlorine_added(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (product, water) = (inputs.volume("product")?, inputs.volume("water")?);
    let stock = available(inputs)?;
    let holds = format!("{} g/L", show::figures(in_grams_per_litre(stock), 4));
    let added = strength_when_added(product, stock, water).on("water")?;
    answer.number(
        "counted_mg_per_l",
        milligrams(added.counted),
        format!("{holds} × {{product}} ÷ ({{water}} + {{product}})"),
    );
    answer.number(
        "not_counted_mg_per_l",
        milligrams(added.not_counted),
        format!("{holds} × {{product}} ÷ {{water}}"),
    );
    Ok(())
}
