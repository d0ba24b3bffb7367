//! Calculators of other agents: by the label's rate, by parts, through an injector, and which of them
//! must not meet.

use uom::si::mass_concentration::gram_per_liter;
use uom::si::mass_density::kilogram_per_cubic_meter;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::question::Question;
use crate::science::agents::{AgentKind, incompatible};
use crate::science::dilution::RatioMeaning;
use crate::science::label_rate::{Holds, LabelRate, Product, RateOf, injector_stock};
use crate::science::quantity::{
    MassConcentration, MassDensity, MassFraction, Volume, grams_per_litre, in_kilograms, in_litres,
    litres,
};
use crate::science::units::{MassUnit, VolumeUnit};

/// What stands beside every answer about another agent.
pub(super) const LABEL: &str = "The product label and local rules win. Put on what the label asks for, add the product to the water, and mix it with nothing else.";

const RATES: &[&str] = &[
    "mL/L",
    "g/L",
    "US fl oz/US gal",
    "oz/US gal",
    "imp fl oz/imp gal",
    "1:N",
];

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "label-rate",
        says: "Product and water for a mix by the rate on a label, both ways the rate can be read",
        asks: Question::Dose,
        headlines: &[
            "{product_in_mix_l} of product if the rate counts in the mix, {product_to_water_l} if it is to the water.",
            "{product_kg} of powder, filled up to the mix.",
        ],
        sources: &["Arithmetic of the rate; the label says which reading is meant"],
        inputs: &[
            must(
                "rate",
                Kind::Number(""),
                (0.001, 10_000.0),
                "the number of the rate; for 1:N it is N",
            ),
            must("per", Kind::Choice(RATES), ANY, "what the rate counts"),
            must(
                "mix",
                Kind::Volume,
                (0.001, 1e6),
                "finished mix that is wanted",
            ),
            may(
                "holds",
                Kind::Number(""),
                (0.0, 2_000.0),
                "what acts in the product: g/L of a liquid, % by weight of a powder",
            ),
        ],
        outputs: &[
            gives(
                "product_in_mix_l",
                Kind::Volume,
                "product, if the rate counts in the finished mix (one part in N)",
            ),
            gives("water_in_mix_l", Kind::Volume, "water with it"),
            gives(
                "product_to_water_l",
                Kind::Volume,
                "product, if the rate is to the water (one part and N parts)",
            ),
            gives("water_to_water_l", Kind::Volume, "water with it"),
            gives(
                "product_kg",
                Kind::Mass,
                "product, if it is a powder; fill up to the mix",
            ),
            gives(
                "acting_mg_per_l",
                Kind::Concentration,
                "what acts, in the finished mix (one part in N)",
            ),
            gives(
                "acting_to_water_mg_per_l",
                Kind::Concentration,
                "the same, if the rate is to the water",
            ),
        ],
        cautions: &[LABEL],
        example: &["rate=10", "per=1:N", "mix=5 US gal"],
        run: label_rate,
    },
    Calculator {
        name: "injector",
        says: "Strength of the stock tank of an injector, both ways that makers mean 1:N",
        asks: Question::Dose,
        headlines: &[
            "The stock is {stock_one_in_n_mg_per_l} for one part in N, {stock_one_and_n_mg_per_l} for one part and N.",
        ],
        sources: &["Arithmetic of the ratio; the maker says which reading is meant"],
        inputs: &[
            must(
                "target",
                Kind::Concentration,
                (0.001, 100_000.0),
                "strength wanted behind the injector",
            ),
            must("n", Kind::Number(""), (1.0, 10_000.0), "the N of 1:N"),
        ],
        outputs: &[
            gives(
                "stock_one_in_n_mg_per_l",
                Kind::Concentration,
                "stock, if 1:N is one part in N",
            ),
            gives(
                "stock_one_and_n_mg_per_l",
                Kind::Concentration,
                "stock, if 1:N is one part and N parts of water",
            ),
        ],
        cautions: &[
            "Ask the maker which of the two is meant, and measure behind the injector.",
            LABEL,
        ],
        example: &["target=100 mg/L", "n=100"],
        run: injector,
    },
    Calculator {
        name: "meet",
        says: "What happens when two agents meet in a tank, a bench or a drain",
        asks: Question::Dose,
        headlines: &[
            "May they meet? {may_meet}. {what}.",
            "May they meet? {may_meet}.",
        ],
        sources: &["Each pair's own, in the answer; those from memory say so"],
        inputs: &[
            must("one", Kind::Choice(KINDS), ANY, "one agent"),
            must("other", Kind::Choice(KINDS), ANY, "the other"),
        ],
        outputs: &[
            gives("may_meet", Kind::Words, "whether they may meet"),
            gives("what", Kind::Words, "what happens"),
            gives("source", Kind::Words, "where that stands written"),
        ],
        cautions: &[
            "Only pairs that are known to harm are listed. That a pair is not listed does not say that it is harmless: the labels of both win.",
        ],
        example: &["one=hydrogen peroxide", "other=hypochlorite"],
        run: meet,
    },
    Calculator {
        name: "parts",
        says: "Parts of water for each part of stock, from two strengths by volume",
        asks: Question::Dose,
        headlines: &[
            "{parts} parts of water for one of stock: {stock_l} of stock and {water_l} of water.",
        ],
        sources: &["Arithmetic: strength of the stock ÷ strength wanted − 1"],
        inputs: &[
            must(
                "stock",
                Kind::Number(""),
                (0.0, 1e6),
                "strength of the stock",
            ),
            must(
                "target",
                Kind::Number(""),
                (0.0, 1e6),
                "strength wanted, counted the same way by volume",
            ),
            or(
                "mix",
                Kind::Volume,
                "1 L",
                (0.001, 1e6),
                "mix that is wanted",
            ),
        ],
        outputs: &[
            gives("parts", Kind::Number(""), "parts of water for one of stock"),
            gives("stock_l", Kind::Volume, "stock for the mix"),
            gives("water_l", Kind::Volume, "water for the mix"),
        ],
        cautions: &[
            "It holds where both strengths count grams in a volume, such as % w/v, trade % or mg/L. For percent by weight use 'dose'.",
            LABEL,
        ],
        example: &["stock=3.5", "target=0.5"],
        run: parts,
    },
];

/// Every kind of agent, by its word.
const KINDS: &[&str] = &[
    AgentKind::HydrogenPeroxide.code(),
    AgentKind::PeraceticBlend.code(),
    AgentKind::Hypochlorite.code(),
    AgentKind::ChlorineDioxide.code(),
    AgentKind::QuaternaryAmmonium.code(),
    AgentKind::Acid.code(),
    AgentKind::Alkali.code(),
    AgentKind::Ammonia.code(),
    AgentKind::Alcohol.code(),
    AgentKind::Permanganate.code(),
    AgentKind::Detergent.code(),
    AgentKind::CropConcentrate.code(),
];

fn label_rate(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (rate, mix) = (inputs.number("rate")?, inputs.volume("mix")?);
    let holds = inputs.maybe("holds");
    let fluid = |ounce: VolumeUnit, gallon: VolumeUnit| {
        let each = ounce.of(rate) / gallon.of(1.0);
        [RateOf::Mix, RateOf::Water].map(|of| LabelRate::Liquid { each, of })
    };
    let per = inputs.choice("per")?;
    let readings = match per {
        "mL/L" => fluid(VolumeUnit::Millilitre, VolumeUnit::Litre),
        "US fl oz/US gal" => fluid(VolumeUnit::UsFluidOunce, VolumeUnit::UsGallon),
        "imp fl oz/imp gal" => fluid(VolumeUnit::ImperialFluidOunce, VolumeUnit::ImperialGallon),
        "1:N" => [RatioMeaning::OneInN, RatioMeaning::OneAndN]
            .map(|meaning| LabelRate::Parts { n: rate, meaning }),
        _ => {
            let each = match per {
                "oz/US gal" => MassUnit::Ounce.of(rate) / VolumeUnit::UsGallon.of(1.0),
                _ => MassDensity::new::<kilogram_per_cubic_meter>(rate),
            };
            return powder(LabelRate::Powder { each }, mix, holds, answer);
        }
    };
    let [in_mix, to_water] = readings;
    let holds = holds.map(|grams| Holds::InALitre(grams_per_litre(grams)));
    for (reading, product, water, acting, said) in [
        (
            in_mix,
            "product_in_mix_l",
            "water_in_mix_l",
            "acting_mg_per_l",
            "{mix} × {rate} ({=per})",
        ),
        (
            to_water,
            "product_to_water_l",
            "water_to_water_l",
            "acting_to_water_mg_per_l",
            "{mix} × {rate} ÷ (1 + {rate}), as parts ({=per})",
        ),
    ] {
        let dose = reading.dose(mix).on("rate")?;
        if let Product::Liquid(volume) = dose.product {
            answer.number(product, in_litres(volume), said);
        }
        answer.number(
            water,
            in_litres(dose.water),
            format!("{{mix}} − {{{product}:product}}"),
        );
        if let Some(found) = holds.and_then(|holds| dose.acting(holds, mix)) {
            answer.number(
                acting,
                milligrams(found),
                format!("{{{product}:product}} × {{holds}} ÷ {{mix}}"),
            );
        }
    }
    answer.caution("A rate is read in two ways. Where the label does not say which, ask its maker; the larger amount is the stronger mix.");
    Ok(())
}

fn powder(
    rate: LabelRate,
    mix: Volume,
    holds: Option<f64>,
    answer: &mut Answer,
) -> Result<(), Refusal> {
    let dose = rate.dose(mix).on("rate")?;
    if let Product::Powder(mass) = dose.product {
        answer.number("product_kg", in_kilograms(mass), "{mix} × {rate} ({=per})");
    }
    if let Some(percent) = holds {
        let part = Holds::ByWeight(MassFraction::from_percent(percent).on("holds")?);
        if let Some(found) = dose.acting(part, mix) {
            answer.number(
                "acting_mg_per_l",
                milligrams(found),
                "{rate} ({=per}) × {holds} ÷ 100",
            );
        }
    }
    Ok(())
}

pub(super) fn milligrams(concentration: MassConcentration) -> f64 {
    concentration.get::<gram_per_liter>() * 1000.0
}

fn injector(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (target, n) = (inputs.concentration("target")?, inputs.number("n")?);
    for (key, meaning, said) in [
        (
            "stock_one_in_n_mg_per_l",
            RatioMeaning::OneInN,
            "{target} × {n}",
        ),
        (
            "stock_one_and_n_mg_per_l",
            RatioMeaning::OneAndN,
            "{target} × ({n} + 1)",
        ),
    ] {
        let stock = injector_stock(target, n, meaning).on("n")?;
        answer.number(key, milligrams(stock), said);
    }
    Ok(())
}

fn meet(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let kind = |key| {
        AgentKind::from_code(inputs.choice(key)?)
            .ok_or("Give one of the words")
            .on(key)
    };
    match incompatible(kind("one")?, kind("other")?) {
        Some(pair) => {
            answer.words("may_meet", "no: a full rinse between them");
            answer.words("what", pair.what);
            answer.words("source", pair.source);
        }
        None => answer.words(
            "may_meet",
            "this pair is not listed; read the labels of both",
        ),
    }
    Ok(())
}

fn parts(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (stock, target) = (inputs.number("stock")?, inputs.number("target")?);
    if target <= 0.0 || stock <= target {
        return Err("The target must be above nothing and weaker than the stock").on("target");
    }
    let parts = stock / target - 1.0;
    let mix = in_litres(inputs.volume("mix")?);
    let from_stock = litres(mix / (parts + 1.0));
    answer.number("parts", parts, "{stock} ÷ {target} − 1");
    answer.number("stock_l", in_litres(from_stock), "{mix} ÷ ({parts} + 1)");
    answer.number("water_l", mix - in_litres(from_stock), "{mix} − {stock_l}");
    Ok(())
}
