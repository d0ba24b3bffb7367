//! Calculators of soak, decay and rinse.

use uom::si::f64::{MassConcentration, Time};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::ratio::ratio;
use uom::si::time::minute;

use super::answer::{Answer, OnField, Refusal, whole};
use super::calculator::{Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::question::Question;
use crate::science::decay::DecayRate;
use crate::science::quantity::{in_kilograms, in_litres};
use crate::science::rinse::{
    READING_DECIDES, RINSES_WORTH_PLANNING, RinseOutlook, Rinsing, left_by_flush,
};
use crate::science::show;
use crate::science::soak::{Contact, LabelTerm, TopUp, cold_factor, outlook, top_up};

const RATE: Input = must(
    "rate",
    Kind::Number("a minute"),
    (0.0, 10.0),
    "decay rate, the fastest that the strips allow",
);
const LEAST: Input = must(
    "least",
    Kind::Concentration,
    (0.1, 200_000.0),
    "least strength that the label asks for",
);
const LABEL: &str = "The label's strength and time win. More strength buys no shorter time, and time below the label's strength does not count.";

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "rinse",
        says: "Rinses that bring a residue down to a limit, by what the media keep",
        asks: Question::Soak,
        headlines: &[
            "{rinses} rinses are expected to bring it to {residual_mg_per_l}, with {water_l} of water.",
        ],
        sources: &[
            "Serial dilution, no decay counted",
            "Mixing of 0.8: common practice, no source; a strip decides",
        ],
        inputs: &[
            must(
                "start",
                Kind::Concentration,
                (0.0, 700_000.0),
                "strength at the start",
            ),
            or(
                "fresh",
                Kind::Concentration,
                "0",
                (0.0, 1000.0),
                "the same in the fresh water",
            ),
            must(
                "retained",
                Kind::Volume,
                (0.0, 1e6),
                "water that stays after a drain",
            ),
            must("fill", Kind::Volume, (0.001, 1e6), "water of one rinse"),
            or(
                "mixes",
                Kind::Number(""),
                "0.8",
                (0.1, 1.0),
                "part of the retained water that mixes with a fill",
            ),
            must(
                "limit",
                Kind::Concentration,
                (0.01, 700_000.0),
                "limit to come down to",
            ),
            may(
                "rinses",
                Kind::Number(""),
                (0.0, 1000.0),
                "a number of rinses to look at",
            ),
            may(
                "flush",
                Kind::Volume,
                (0.0, 1e6),
                "water flushed through the full system instead, to look at",
            ),
        ],
        outputs: &[
            gives(
                "carried_over",
                Kind::Number(""),
                "part that one drain carries over",
            ),
            gives("rinses", Kind::Number(""), "rinses expected to do"),
            gives("residual_mg_per_l", Kind::Concentration, "expected then"),
            gives("water_l", Kind::Volume, "rinse water"),
            gives(
                "flush_l",
                Kind::Volume,
                "water that a flush of the full system takes instead",
            ),
            gives(
                "after_mg_per_l",
                Kind::Concentration,
                "after the rinses looked at",
            ),
            gives(
                "flush_left",
                Kind::Number(""),
                "part that the flush looked at leaves",
            ),
        ],
        cautions: &[READING_DECIDES],
        example: &["start=3 % w/v", "retained=8", "fill=170", "limit=5"],
        run: rinse,
    },
    Calculator {
        name: "soak",
        says: "Whether a soak stays above what the label asks for, and its contact",
        asks: Question::Soak,
        headlines: &[
            "Keeps the label's strength all the time: {keeps_label}. At the end {least_mg_per_l} are left.",
        ],
        sources: &[
            "First-order loss and its integral",
            "Colder water: about twice the contact for each 10 °C, drinking-water contact guidance",
        ],
        inputs: &[
            must(
                "start",
                Kind::Concentration,
                (0.0, 200_000.0),
                "strength at the start",
            ),
            RATE,
            LEAST,
            must(
                "time",
                Kind::Time,
                (0.5, 10_080.0),
                "time that the label asks for",
            ),
            may(
                "label_celsius",
                Kind::Temperature,
                (0.0, 60.0),
                "temperature that the label asks for",
            ),
            may(
                "celsius",
                Kind::Temperature,
                (0.0, 40.0),
                "temperature of the solution",
            ),
        ],
        outputs: &[
            gives(
                "keeps_label",
                Kind::Words,
                "whether it keeps the label's strength all the time",
            ),
            gives("least_mg_per_l", Kind::Concentration, "strength at the end"),
            gives(
                "below_after_min",
                Kind::Time,
                "falls below the label's strength after",
            ),
            gives("contact", Kind::Number("mg·min/L"), "strength over time"),
            gives(
                "cold_factor",
                Kind::Number("×"),
                "contact that a colder soak would need",
            ),
        ],
        cautions: &[LABEL],
        example: &["start=200", "rate=0.015", "least=100", "time=60"],
        run: soak,
    },
    Calculator {
        name: "top-up",
        says: "When to add peroxide during a soak, and how much",
        asks: Question::Soak,
        headlines: &[
            "After {due_after_min} bring the solution to {bring_to_mg_per_l}: {peroxide_kg} of pure peroxide.",
            "{plan}.",
        ],
        sources: &["First-order loss and mass balance"],
        inputs: &[
            must("now", Kind::Concentration, (0.0, 200_000.0), "strength now"),
            RATE,
            LEAST,
            must(
                "left",
                Kind::Time,
                (0.5, 10_080.0),
                "time that is left of the soak",
            ),
            or(
                "margin",
                Kind::Number(""),
                "0.1",
                (0.0, 1.0),
                "margin over the label's strength",
            ),
            must(
                "most",
                Kind::Concentration,
                (0.1, 200_000.0),
                "strength allowed at most",
            ),
            must("volume", Kind::Volume, (0.1, 1e6), "volume of the solution"),
        ],
        outputs: &[
            gives("plan", Kind::Words, "what to do"),
            gives("due_after_min", Kind::Time, "add after"),
            gives(
                "bring_to_mg_per_l",
                Kind::Concentration,
                "bring the solution to",
            ),
            gives(
                "peroxide_kg",
                Kind::Mass,
                "pure peroxide that this takes; 'dose' turns it into concentrate",
            ),
            gives("lasts_min", Kind::Time, "lasts"),
        ],
        cautions: &[
            LABEL,
            "Adding concentrate to a full system needs the same goggles, shield and gloves as the first dose. Add it to the reservoir, with the pump running.",
        ],
        example: &[
            "now=200",
            "rate=0.015",
            "least=100",
            "left=60",
            "most=400",
            "volume=180",
        ],
        run: topping_up,
    },
];

fn in_mg(concentration: MassConcentration) -> f64 {
    concentration.get::<milligram_per_liter>()
}

fn minutes(time: Time) -> f64 {
    time.get::<minute>()
}

fn rinse(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let fill = inputs.volume("fill")?;
    let mixes = inputs.number("mixes")?;
    let rinsing = Rinsing::new(
        inputs.concentration("start")?,
        inputs.concentration("fresh")?,
        inputs.volume("retained")?,
        fill,
        mixes,
    )
    .on("start")?;
    let limit = inputs.concentration("limit")?;
    answer.number(
        "carried_over",
        rinsing.carried_over().get::<ratio>(),
        "retained ÷ (retained + fill)",
    );
    match rinsing.needed(limit).on("limit")? {
        RinseOutlook::Expected(estimate) | RinseOutlook::TooMany(estimate) => {
            let working = format!(
                "each leaves {} of the part that mixes",
                show::figures(rinsing.carried_over().get::<ratio>(), 3)
            );
            answer.number("rinses", f64::from(estimate.rinses), working);
            answer.number(
                "residual_mg_per_l",
                estimate.residual.milligrams_per_litre(),
                "",
            );
            answer.number(
                "water_l",
                in_litres(estimate.water),
                format!(
                    "{} × {} L",
                    estimate.rinses,
                    show::figures(in_litres(fill), 4)
                ),
            );
            if estimate.rinses > RINSES_WORTH_PLANNING {
                answer.caution("So many rinses are no plan: replace the media.");
            }
        }
        RinseOutlook::FreshWaterTooStrong => {
            answer.none(
                "rinses",
                "the fresh water itself holds as much as the limit allows",
            );
        }
    }
    match rinsing.flush_water(limit) {
        Some(water) => answer.number(
            "flush_l",
            in_litres(water),
            "(retained + fill) × ln(start ÷ limit), above fresh water",
        ),
        None => answer.none("flush_l", "no flush gets there either"),
    }
    if let Some(rinses) = inputs.maybe("rinses") {
        let after = rinsing.after(whole(rinses, "rinses")?);
        answer.number(
            "after_mg_per_l",
            after.milligrams_per_litre(),
            "fresh + (start − fresh) × ((1 − mixes) + mixes × carried over)^rinses",
        );
    }
    if inputs.maybe("flush").is_some() {
        let system = inputs.volume("retained")? + fill;
        let left = left_by_flush(inputs.volume("flush")?, system).on("flush")?;
        answer.number(
            "flush_left",
            left.get::<ratio>(),
            "exp(−flush ÷ (retained + fill))",
        );
    }
    Ok(())
}

fn soak(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (start, time) = (inputs.concentration("start")?, inputs.time("time")?);
    let rate = DecayRate::per_minute(inputs.number("rate")?).on("rate")?;
    let term = LabelTerm::new(inputs.concentration("least")?, time).on("least")?;
    let found = outlook(start, rate, &term).on("start")?;
    answer.words(
        "keeps_label",
        if found.keeps_label() { "yes" } else { "no" },
    );
    answer.number(
        "least_mg_per_l",
        in_mg(found.least),
        "start × exp(−rate × time)",
    );
    match found.falls_below_after {
        Some(time) => answer.number("below_after_min", minutes(time), "ln(start ÷ least) ÷ rate"),
        None => answer.none("below_after_min", "not within the time"),
    }
    let contact = Contact::of_soak(start, rate, time).on("start")?;
    answer.number(
        "contact",
        contact.mg_min_per_litre(),
        "a record, no label is met by it",
    );
    if inputs.maybe("celsius").is_some() && inputs.maybe("label_celsius").is_some() {
        let factor = cold_factor(inputs.air("label_celsius")?, inputs.air("celsius")?);
        answer.number(
            "cold_factor",
            factor,
            "2 for each 10 °C colder, never below 1",
        );
        if factor > 1.0 {
            answer.caution(
                "The solution is colder than the label's temperature: warm it or ask the maker.",
            );
        }
    }
    Ok(())
}

fn topping_up(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let rate = DecayRate::per_minute(inputs.number("rate")?).on("rate")?;
    let term = LabelTerm::new(inputs.concentration("least")?, inputs.time("left")?).on("left")?;
    let plan = top_up(
        inputs.concentration("now")?,
        rate,
        &term,
        inputs.number("margin")?,
        inputs.concentration("most")?,
        inputs.volume("volume")?,
    )
    .on("most")?;
    match plan {
        TopUp::NotNeeded => answer.words("plan", "nothing: the strength holds to the end"),
        TopUp::CannotHold => answer.words(
            "plan",
            "drain, clean and start again: something eats the peroxide",
        ),
        TopUp::Due {
            after,
            to,
            peroxide,
            lasts,
        } => {
            let once = after + lasts >= term.time;
            answer.words(
                "plan",
                if once {
                    "add once"
                } else {
                    "add, and again when that is used up"
                },
            );
            answer.number(
                "due_after_min",
                minutes(after),
                "ln(now ÷ (least × (1 + margin))) ÷ rate",
            );
            answer.number(
                "bring_to_mg_per_l",
                in_mg(to),
                "least × (1 + margin) × exp(rate × rest), at most what is allowed",
            );
            answer.number("peroxide_kg", in_kilograms(peroxide), "difference × volume");
            answer.number("lasts_min", minutes(lasts), "");
            if now_below(inputs, &term)? {
                answer.caution(
                    "The strength is below the label's already: the time so far does not count.",
                );
            }
        }
    }
    Ok(())
}

fn now_below(inputs: &Inputs<'_>, term: &LabelTerm) -> Result<bool, Refusal> {
    Ok(inputs.concentration("now")? < term.least)
}
