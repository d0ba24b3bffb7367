//! Calculators of a laboratory: titration, and mixing by weight.

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, CELSIUS, Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, found, label, label_off, part, percent_off};
use super::published::MOLAR;
use super::question::Question;
use crate::science::dilution::Solution;
use crate::science::peroxide::{self, VOLUMES_PER_GRAM_PER_LITRE};
use crate::science::quantity::{
    in_grams_per_litre, in_kilograms, in_kilograms_per_litre, in_litres,
};
use crate::science::show;
use crate::science::titration::{Titrant, by_permanganate, by_thiosulfate, titrant_expected};
use crate::science::tolerances::{BURETTE_LITRES, PIPETTE, SCALE, TITRANT};
use crate::science::uncertainty::{Input, propagate};
use crate::science::water;

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "titration",
        says: "Strength of a stock from a titration",
        asks: Question::Dose,
        headlines: &[
            "The stock holds {grams_per_l}, {percent_ww}.",
            "The stock holds {grams_per_l}.",
        ],
        sources: &[
            "Permanganate: hydrogen peroxide topical solution monograph (USP), assay, 1.701 mg for each mL of 0.1 N",
            "Thiosulfate: iodometric titration of peroxide, application note of an instrument maker",
            MOLAR,
        ],
        inputs: &[
            must(
                "by",
                Kind::Choice(&["permanganate", "thiosulfate"]),
                ANY,
                "titrant",
            ),
            must("sample", Kind::Volume, (0.00001, 1.0), "sample taken")
                .off(part(PIPETTE).own("sample_off")),
            may("titrant", Kind::Volume, (0.0, 1.0), "titrant used")
                .off(amount(BURETTE_LITRES).own("titrant_off")),
            must(
                "molarity",
                Kind::Number("mol/L"),
                (0.0001, 1.0),
                "titrant strength in mol/L (0.1 N permanganate is 0.02)",
            )
            .off(part(TITRANT).own("molarity_off")),
            may(
                "expected",
                Kind::Strength,
                ANY,
                "strength that is expected, to see how much titrant it will take",
            ),
            CELSIUS,
            percent_off(
                "sample_off",
                "1",
                "sample may be off by; either way, by its pipette",
            ),
            or(
                "titrant_off",
                Kind::Volume,
                "0.00005",
                (0.0, 0.1),
                "titrant may be off by; either way, half a mark of the burette",
            ),
            percent_off(
                "molarity_off",
                "1",
                "titrant strength may be off by; either way",
            ),
        ],
        outputs: &[
            gives("grams_per_l", Kind::Number("g/L"), "grams in a litre"),
            gives("percent_wv", Kind::Number("% w/v"), "grams in 100 mL"),
            gives("percent_ww", Kind::Number("% w/w"), "by weight"),
            gives(
                "volume_strength",
                Kind::Number("vol"),
                "litres of oxygen from a litre, at 0 °C and 1 atm",
            ),
            gives(
                "expected_l",
                Kind::Volume,
                "titrant that the expected strength takes",
            ),
        ],
        cautions: &[
            "Permanganate also eats organic matter: for bench water, peracid blends or organically stabilised stock use thiosulfate or a strip.",
        ],
        example: &[
            "by=permanganate",
            "sample=2 mL",
            "titrant=35.28 mL",
            "molarity=0.02",
        ],
        run: titration,
    },
    Calculator {
        name: "dose-by-weight",
        says: "Concentrate and water for a mix that is weighed: strength against strength, exactly",
        asks: Question::Dose,
        headlines: &[
            "Weigh {concentrate_kg} of concentrate into {water_kg} of water for {mix_ww}.",
        ],
        sources: &["Conservation of mass"],
        inputs: &[
            must("stock", Kind::Strength, ANY, "strength of the concentrate")
                .off(found(|inputs| inputs.maybe_strength("stock").map(label)).own("stock_off")),
            must("target", Kind::Strength, ANY, "strength of the mix"),
            must("mix", Kind::Mass, (0.001, 1e6), "mass of the mix"),
            CELSIUS,
            label_off("stock_off"),
            percent_off("scale_off", "1", "scale may be off by; either way"),
        ],
        outputs: &[
            gives("concentrate_kg", Kind::Mass, "concentrate").plain(),
            gives("water_kg", Kind::Mass, "water").plain(),
            gives("concentrate_l", Kind::Volume, "concentrate by volume").plain(),
            gives("water_l", Kind::Volume, "water by volume").plain(),
            gives("mix_l", Kind::Volume, "volume of the mix").plain(),
            gives("mix_ww", Kind::Number("% w/w"), "strength of the mix").ranged(),
        ],
        cautions: &[
            "Goggles, face shield and gloves before the first pour. Add concentrate to water, never water to concentrate. The product label and local rules win over every figure here.",
        ],
        example: &["stock=35 % w/w", "target=6 % w/w", "mix=100"],
        run: by_weight,
    },
];

fn titration(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let sample = inputs.volume("sample")?;
    let (molarity, t) = (inputs.number("molarity")?, inputs.water("celsius")?);
    if let Some(expected) = inputs.maybe_strength("expected") {
        let (by, each) = match inputs.choice("by")? {
            "permanganate" => (Titrant::Permanganate, "5/2"),
            _ => (Titrant::Thiosulfate, "1/2"),
        };
        let strength = expected.concentration(t).on("expected")?;
        let takes = titrant_expected(by, strength, sample, molarity).on("sample")?;
        answer.number(
            "expected_l",
            in_litres(takes),
            format!("{{expected}} × {{sample}} ÷ ({each} × {{molarity}} × 34.0147 g/mol)"),
        );
        if inputs.maybe("titrant").is_none() {
            return Ok(());
        }
    }
    let titrant = inputs.volume("titrant")?;
    let (found, each) = match inputs.choice("by")? {
        "permanganate" => (by_permanganate(sample, titrant, molarity), "5/2"),
        _ => (by_thiosulfate(sample, titrant, molarity), "1/2"),
    };
    let found = found.on("sample")?;
    let grams = in_grams_per_litre(found);
    answer.number(
        "grams_per_l",
        grams,
        format!(
            "{each} × {molarity} mol/L × {} mL × 34.0147 g/mol ÷ {} mL",
            show::figures(in_litres(titrant) * 1000.0, 5),
            show::figures(in_litres(sample) * 1000.0, 5)
        ),
    );
    answer.number("percent_wv", grams / 10.0, "{=grams_per_l} ÷ 10");
    answer.number(
        "volume_strength",
        grams * VOLUMES_PER_GRAM_PER_LITRE,
        "{=grams_per_l} ÷ 34.0147 g/mol × 22.414 L/mol ÷ 2",
    );
    match peroxide::fraction(found, t) {
        Ok(w) => answer.number(
            "percent_ww",
            w.percent(),
            "{=grams_per_l} by the density model, at {=celsius}",
        ),
        Err(why) => answer.none("percent_ww", why.to_string()),
    }
    Ok(())
}

fn by_weight(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let stock = Solution::of(inputs.strength("stock")?, t).on("stock")?;
    let target = Solution::of(inputs.strength("target")?, t).on("target")?;
    if target.fraction >= stock.fraction {
        return Err("The mix must be weaker than the concentrate").on("target");
    }
    let mix = inputs.mass("mix")?;
    let concentrate = mix * (target.fraction.get() / stock.fraction.get());
    let percent = |part: f64| show::figures(part, 4);
    answer.number(
        "concentrate_kg",
        in_kilograms(concentrate),
        format!(
            "{} kg × {} % ÷ {} %, both by weight",
            show::figures(in_kilograms(mix), 4),
            percent(target.fraction.percent()),
            percent(stock.fraction.percent())
        ),
    );
    answer.number(
        "water_kg",
        in_kilograms(mix - concentrate),
        "{mix} − {concentrate_kg}",
    );
    let of_water = water::density(t);
    for (key, from, mass, density) in [
        (
            "concentrate_l",
            "concentrate_kg",
            concentrate,
            stock.density,
        ),
        ("water_l", "water_kg", mix - concentrate, of_water),
        ("mix_l", "mix", mix, target.density),
    ] {
        let density = in_kilograms_per_litre(density);
        let working = format!("{{={from}}} ÷ {} kg/L", show::figures(density, 4));
        answer.number(key, in_kilograms(mass) / density, working);
    }
    let pure = stock.fraction.percent();
    answer.number(
        "mix_ww",
        target.fraction.percent(),
        format!("{{=concentrate_kg}} × {} % ÷ {{=mix}}", percent(pure)),
    );
    if answer.wants_ranges() {
        let (weighed, all) = (in_kilograms(concentrate), in_kilograms(mix));
        let (part, how) = match inputs
            .maybe("scale_off")
            .filter(|_| inputs.is_typed("scale_off"))
        {
            Some(own) => (
                own / 100.0,
                format!("{}\u{a0}% either way, as typed", show::figures(own, 3)),
            ),
            None => (SCALE.half_width, SCALE.of_it()),
        };
        let scale =
            |kilograms: f64| Input::within("scale", how.clone(), kilograms, kilograms * part);
        let mut figures = vec![scale(weighed), scale(all - weighed)];
        figures.extend(inputs.off("stock").map(|label| Input {
            // By weight, whatever the basis of the label.
            value: pure,
            half_width: label.half_width / label.value * pure,
            ..label
        }));
        let strength = |x: &[f64]| match x {
            [poured, water, w, ..] => Ok::<_, Refusal>(poured * w / (poured + water)),
            _ => Ok(target.fraction.percent()),
        };
        let budget = propagate(&figures, strength)?;
        answer.range("mix_ww", &budget);
    }
    Ok(())
}
