//! Calculators of soak, decay and rinse.

use uom::si::f64::{MassConcentration, Time};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, part, percent_off};
use super::question::Question;
use super::rinsing;
use crate::science::decay::DecayRate;
use crate::science::quantity::in_kilograms;
use crate::science::rinse::READING_DECIDES;
use crate::science::soak::{Contact, LabelTerm, TopUp, cold_factor, outlook, top_up};
use crate::science::tolerances::{
    COUNTED_FILL, DECAY_RATE, DOSED, ENTERED_VOLUME, KEEPS_USUAL, MIXES, RESIDUAL, TEMPERATURE_C,
};

const RATE: Input = must(
    "rate",
    Kind::Number("a minute"),
    (0.0, 10.0),
    "decay rate, the fastest that the strips allow",
)
.off(part(DECAY_RATE).own("rate_off"));
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
            )
            .off(part(DOSED).own("start_off")),
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
            )
            .off(part(KEEPS_USUAL).own("retained_off")),
            must("fill", Kind::Volume, (0.001, 1e6), "water of one rinse")
                .off(part(COUNTED_FILL).own("fill_off")),
            or(
                "mixes",
                Kind::Number(""),
                "0.8",
                (0.1, 1.0),
                "part of the retained water that mixes with a fill",
            )
            .off(amount(MIXES)),
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
            percent_off(
                "start_off",
                "10",
                "start may be off by; either way: a strip by half",
            ),
            percent_off(
                "retained_off",
                "30",
                "retained water may be off by; either way: a bucket test 15 %",
            ),
            percent_off("fill_off", "3", "fill may be off by; either way"),
        ],
        outputs: &[
            gives(
                "carried_over",
                Kind::Number(""),
                "part that one drain carries over",
            )
            .at_most(1.0),
            gives(
                "rinses_exact",
                Kind::Number(""),
                "rinses before they are rounded up",
            ),
            gives("rinses", Kind::Number(""), "rinses expected to do").ranged(),
            gives("residual_mg_per_l", Kind::Concentration, "expected then").ranged(),
            gives("water_l", Kind::Volume, "rinse water").ranged(),
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
            )
            .at_most(1.0),
        ],
        cautions: &[READING_DECIDES],
        example: &["start=3 % w/v", "retained=8", "fill=170", "limit=5"],
        run: rinsing::rinse,
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
            )
            .off(part(DOSED).own("start_off")),
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
            )
            .off(amount(TEMPERATURE_C).read()),
            percent_off(
                "start_off",
                "10",
                "start may be off by; either way: a strip by half",
            ),
            percent_off("rate_off", "30", "rate may be off by; either way"),
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
            must("now", Kind::Concentration, (0.0, 200_000.0), "strength now")
                .off(part(RESIDUAL).own("now_off")),
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
            must("volume", Kind::Volume, (0.1, 1e6), "volume of the solution")
                .off(part(ENTERED_VOLUME).own("volume_off")),
            percent_off(
                "now_off",
                "50",
                "strength now may be off by; either way: half a step of a strip",
            ),
            percent_off("rate_off", "30", "rate may be off by; either way"),
            percent_off("volume_off", "10", "volume may be off by; either way"),
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
        "{start} × exp(−{rate} × {time})",
    );
    match found.falls_below_after {
        Some(time) => answer.number(
            "below_after_min",
            minutes(time),
            "ln({start} ÷ {least}) ÷ {rate}",
        ),
        None => answer.none("below_after_min", "not within the time"),
    }
    let contact = Contact::of_soak(start, rate, time).on("start")?;
    answer.number(
        "contact",
        contact.mg_min_per_litre(),
        "({start} − {least_mg_per_l:end}) ÷ {rate}; a record, no label is met by it",
    );
    if inputs.maybe("celsius").is_some() && inputs.maybe("label_celsius").is_some() {
        let factor = cold_factor(inputs.air("label_celsius")?, inputs.air("celsius")?);
        answer.number(
            "cold_factor",
            factor,
            "2^(({label_celsius} − {celsius}) ÷ 10 °C), never below 1",
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
                "ln({now} ÷ ({least} × (1 + {margin}))) ÷ {rate}",
            );
            answer.number(
                "bring_to_mg_per_l",
                in_mg(to),
                "{least} × (1 + {margin}) × exp({rate} × ({left} − {due_after_min})), at most {most}",
            );
            answer.number("peroxide_kg", in_kilograms(peroxide), "({bring_to_mg_per_l} − {least} × (1 + {margin})) × {volume}, or from now where that is lower");
            answer.number(
                "lasts_min",
                minutes(lasts),
                "ln({bring_to_mg_per_l} ÷ ({least} × (1 + {margin}))) ÷ {rate}",
            );
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
