//! Calculators of contact, and of rates at another temperature.

use uom::si::f64::{MassConcentration, Time};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, part, percent_off};
use super::question::Question;
use crate::science::decay::DecayRate;
use crate::science::soak::{Contact, cold_factor};
use crate::science::tolerances::{DECAY_RATE, DOSED, RESIDUAL, TEMPERATURE_C};

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "contact",
        says: "Strength over time of a soak, by a decay rate or by the strengths at both ends",
        asks: Question::Soak,
        headlines: &["Contact of {contact}."],
        sources: &[
            "First-order loss and its integral; two readings alone bias it (Aqua 57(3):165, 2008)",
        ],
        inputs: &[
            must(
                "start",
                Kind::Concentration,
                (0.01, 200_000.0),
                "strength at the start",
            )
            .off(part(DOSED).own("start_off")),
            may(
                "rate",
                Kind::Number("a minute"),
                (0.0, 10.0),
                "decay rate; without it the end is asked for",
            )
            .off(part(DECAY_RATE).own("rate_off")),
            may(
                "end",
                Kind::Concentration,
                (0.01, 200_000.0),
                "strength at the end, without a rate",
            )
            .off(part(RESIDUAL)),
            may("time", Kind::Time, (0.0, 10_080.0), "time of the soak"),
            may(
                "aim",
                Kind::Number("mg·min/L"),
                (0.0, 1e9),
                "contact to reach, by the rate",
            ),
            percent_off(
                "start_off",
                "10",
                "start may be off by; either way: a strip by half",
            ),
            percent_off("rate_off", "30", "rate may be off by; either way"),
        ],
        outputs: &[
            gives("contact", Kind::Number("mg·min/L"), "strength over time"),
            gives(
                "contact_least",
                Kind::Number("mg·min/L"),
                "strength at the end times the time, as labels count",
            ),
            gives("end_mg_per_l", Kind::Concentration, "strength at the end"),
            gives("aim_min", Kind::Time, "time until the contact aimed at"),
        ],
        cautions: &[
            "A record of a soak; no label is met by it. Start and end alone bias it. The label's strength and time win.",
        ],
        example: &["start=200", "rate=0.015", "time=60", "aim=6000"],
        run: contact,
    },
    Calculator {
        name: "warmth",
        says: "How a rate, or the time that a label's germs need, changes with temperature",
        asks: Question::Soak,
        headlines: &["The rate there is {factor} times the rate here."],
        sources: &[
            "Arrhenius; 57.6 kJ/mol: calorimetry of 35 % peroxide",
            "Colder soak: about twice the contact for each 10 °C, drinking-water contact guidance",
        ],
        inputs: &[
            must(
                "from",
                Kind::Temperature,
                (-20.0, 60.0),
                "temperature of the rate, or of the label",
            )
            .off(amount(TEMPERATURE_C).read()),
            must(
                "to",
                Kind::Temperature,
                (-20.0, 60.0),
                "temperature to carry it to",
            )
            .off(amount(TEMPERATURE_C).read()),
            or(
                "energy",
                Kind::Number("kJ/mol"),
                "57.6",
                (10.0, 150.0),
                "activation energy; 57.6 was found for 35 % peroxide",
            ),
            may(
                "rate",
                Kind::Number("a minute"),
                (0.0, 10.0),
                "rate to carry over",
            ),
        ],
        outputs: &[
            gives(
                "factor",
                Kind::Number(""),
                "the rate there over the rate here",
            ),
            gives("rate", Kind::Number("a minute"), "the rate there"),
            gives(
                "cold_factor",
                Kind::Number(""),
                "contact that a colder soak needs over the label's",
            ),
        ],
        cautions: &[
            "To judge whether an earlier reading is wise. Warmth never shortens a label's time.",
        ],
        example: &["from=20", "to=30"],
        run: warmth,
    },
];

fn contact(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let start = inputs.concentration("start")?;
    let in_mg = |c: MassConcentration| c.get::<milligram_per_liter>();
    let Some(rate) = inputs.maybe("rate") else {
        if inputs.maybe("aim").is_some() {
            return Err("Give the decay rate to reckon a time with").on("rate");
        }
        let (end, time) = (inputs.concentration("end")?, inputs.time("time")?);
        let found = Contact::between(start, end, time).on("end")?;
        answer.number(
            "contact",
            found.mg_min_per_litre(),
            "({start} − {end}) ÷ ln({start} ÷ {end}) × {time}",
        );
        answer.number(
            "contact_least",
            in_mg(end) * time.get::<minute>(),
            "{end} × {time}",
        );
        return Ok(());
    };
    if inputs.maybe("end").is_some() {
        return Err("Give the decay rate or the end, not both").on("end");
    }
    let rate = DecayRate::per_minute(rate).on("rate")?;
    if inputs.maybe("time").is_none() && inputs.maybe("aim").is_none() {
        return Err("Give the time, or the contact to reach").on("time");
    }
    if inputs.maybe("time").is_some() {
        let time: Time = inputs.time("time")?;
        let found = Contact::of_soak(start, rate, time).on("start")?;
        answer.number(
            "contact",
            found.mg_min_per_litre(),
            "{start} × (1 − exp(−{rate} × {time})) ÷ {rate}",
        );
        let end = in_mg(rate.after(start, time));
        answer.number(
            "contact_least",
            end * time.get::<minute>(),
            "{end_mg_per_l} × {time}",
        );
        answer.number("end_mg_per_l", end, "{start} × exp(−{rate} × {time})");
    }
    if let Some(aim) = inputs.maybe("aim") {
        match Contact::time_to(aim, start, rate).on("aim")? {
            Some(time) => answer.number(
                "aim_min",
                time.get::<minute>(),
                "−ln(1 − {rate} × {aim} ÷ {start}) ÷ {rate}",
            ),
            None => answer.none("aim_min", "never: the strength is gone before"),
        }
    }
    Ok(())
}

fn warmth(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (from, to) = (inputs.air("from")?, inputs.air("to")?);
    let energy = inputs.number("energy")?;
    // A small rate leaves room for the factor within the range of rates.
    let probe = 1e-6;
    let factor = DecayRate::per_minute(probe)
        .on("rate")?
        .at_temperature(energy, from, to)
        .on("energy")?
        .in_per_minute()
        / probe;
    answer.number(
        "factor",
        factor,
        "exp({energy} ÷ R × (1 ÷ {from} − 1 ÷ {to})), in kelvin, R = 8.314 J/(mol K)",
    );
    if let Some(rate) = inputs.maybe("rate") {
        let there = DecayRate::per_minute(rate)
            .on("rate")?
            .at_temperature(energy, from, to)
            .on("rate")?;
        answer.number("rate", there.in_per_minute(), "{=rate} × {=factor}");
    }
    answer.number(
        "cold_factor",
        cold_factor(from, to),
        "2^(({from} − {to}) ÷ 10 °C), never below 1",
    );
    Ok(())
}
