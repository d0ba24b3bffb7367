//! The calculator of mixing.

use uom::si::ratio::{percent, ratio};
use uom::si::time::minute;

use super::answer::{Answer, OnField, Refusal, whole};
use super::calculator::{Calculator, gives, may, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::part;
use super::question::Question;
use crate::science::mixing::{
    exchanged_by_flood, floods_until, mixed_after, mixed_after_floods, turnovers, turnovers_until,
};
use crate::science::quantity::litres;
use crate::science::show;
use crate::science::tolerances::{ENTERED_VOLUME, FLOW, KEEPS_USUAL};

pub static ALL: &[Calculator] = &[Calculator {
    name: "mixing",
    says: "How far a pumped system is mixed, by turnovers and by floods",
    asks: Question::Drain,
    headlines: &["{turnovers} turnovers; mixed to {mixed} if the loop runs steadily."],
    sources: &["Well-mixed tank: Gage and Bidwell's law of dilution"],
    inputs: &[
        may("flow", Kind::Flow, (0.0, 2000.0), "flow of the pump").off(part(FLOW)),
        may("time", Kind::Time, (0.0, 20_160.0), "time it has run"),
        may(
            "volume",
            Kind::Volume,
            (0.1, 1e6),
            "the whole wetted volume",
        )
        .off(part(ENTERED_VOLUME)),
        may(
            "turnovers",
            Kind::Number(""),
            (0.0, 1000.0),
            "turnovers, when they are known instead",
        ),
        or(
            "until",
            Kind::Number("%"),
            "95",
            (0.0, 99.9999),
            "part that has to be mixed",
        ),
        may("flood", Kind::Volume, (0.001, 1e6), "water of one flood").off(part(ENTERED_VOLUME)),
        may(
            "retained",
            Kind::Volume,
            (0.0, 1e6),
            "water that the media keep",
        )
        .off(part(KEEPS_USUAL)),
        may("floods", Kind::Number(""), (0.0, 10_000.0), "floods so far"),
    ],
    outputs: &[
        gives("turnovers", Kind::Number(""), "turnovers"),
        gives(
            "mixed",
            Kind::Number("%"),
            "mixed, if the loop runs steadily",
        )
        .at_most(100.0),
        gives(
            "until_turnovers",
            Kind::Number(""),
            "turnovers until the part is mixed",
        ),
        gives(
            "until_min",
            Kind::Time,
            "time until then, if the loop runs steadily",
        ),
        gives(
            "turnover_min",
            Kind::Time,
            "time of one turnover: volume over flow",
        ),
        gives(
            "exchanged",
            Kind::Number("%"),
            "of the media's water that one flood exchanges",
        )
        .at_most(100.0),
        gives(
            "until_floods",
            Kind::Number(""),
            "floods until the part is mixed",
        )
        .plain(),
        gives(
            "mixed_by_floods",
            Kind::Number("%"),
            "mixed by the floods so far",
        )
        .at_most(100.0),
    ],
    cautions: &[
        "A flood-and-drain bench mixes by floods, not by turnovers. No strip is read before it has mixed.",
    ],
    example: &[
        "flow=12.6",
        "time=4 h",
        "volume=160",
        "flood=42",
        "retained=9.6",
    ],
    run: mixing,
}];

fn mixing(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let until = inputs.number("until")? / 100.0;
    let given = |key| inputs.maybe(key).is_some();
    let needed = turnovers_until(until).on("until")?;
    let pumped = given("flow") || given("time") || given("volume");
    if pumped || !given("turnovers") {
        let (flow, volume) = (inputs.flow("flow")?, inputs.volume("volume")?);
        if given("turnovers") {
            return Err("Give the turnovers, or flow, time and volume").on("turnovers");
        }
        let n = turnovers(flow, inputs.time("time")?, volume).on("volume")?;
        answer.number("turnovers", n, "{flow} × {time} ÷ {volume}");
        answer.number(
            "mixed",
            100.0 * mixed_after(n.min(1000.0)).on("time")?,
            "1 − exp(−{turnovers})",
        );
        if flow.value > 0.0 {
            let one = (volume / flow).get::<minute>();
            answer.number(
                "until_min",
                needed * one,
                format!(
                    "{} turnovers × {{volume}} ÷ {{flow}}",
                    show::figures(needed, 4)
                ),
            );
            answer.number("turnover_min", one, "{volume} ÷ {flow}");
        } else {
            answer.none("until_min", "without a flow it never mixes");
        }
    } else {
        let n = inputs.number("turnovers")?;
        answer.number("turnovers", n, "{=turnovers}, as typed");
        answer.number(
            "mixed",
            100.0 * mixed_after(n).on("turnovers")?,
            "1 − exp(−{turnovers})",
        );
    }
    answer.number("until_turnovers", needed, "−ln(1 − {until})");
    if let (Some(flood), Some(retained)) = (inputs.maybe("flood"), inputs.maybe("retained")) {
        let part = exchanged_by_flood(litres(flood), litres(retained)).on("flood")?;
        answer.number(
            "exchanged",
            part.get::<percent>(),
            "{flood} ÷ ({flood} + {retained})",
        );
        match floods_until(until, part.get::<ratio>()) {
            Ok(floods) => answer.number(
                "until_floods",
                f64::from(floods),
                "ln(1 − {until}) ÷ ln(1 − {exchanged}), rounded up",
            ),
            Err(why) => answer.none("until_floods", why.to_string()),
        }
        if let Some(floods) = inputs.maybe("floods") {
            let floods = whole(floods, "floods")?;
            let mixed = mixed_after_floods(part.get::<ratio>(), floods).on("floods")?;
            answer.number(
                "mixed_by_floods",
                100.0 * mixed,
                "1 − (1 − {exchanged})^{floods}",
            );
        }
    } else if given("flood") || given("retained") || given("floods") {
        let missing = if given("flood") { "retained" } else { "flood" };
        return Err("Give the water of a flood and what the media keep, both").on(missing);
    }
    Ok(())
}
