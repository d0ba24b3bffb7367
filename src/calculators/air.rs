//! Calculators of air: vapour, clearing, oxygen.

use uom::si::f64::{MassConcentration, Time, Volume};
use uom::si::mass_concentration::milligram_per_cubic_meter;
use uom::si::time::minute;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::liter_per_minute;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{part, percent_off};
use super::published::MIXED_ROOM;
use super::question::Question;
use crate::science::air::{DecidedBy, Room, fan_flow, stay_out, time_to_remove};
use crate::science::quantity::{Mass, WaterTemperature, grams};
use crate::science::show;
use crate::science::sources;
use crate::science::tolerances::{
    AIR_CHANGES, AIR_READING, EVAPORATES, FLOW, MIXING as TOLERANCE_OF_MIXING,
    ROOM as TOLERANCE_OF_ROOM,
};
use crate::science::units::CUBIC_FOOT_LITRES;
use crate::science::vapour::mass_in_air;

pub(super) const ROOM: Input =
    must("room", Kind::Number("m³"), (1.0, 1e6), "volume of the room").off(part(TOLERANCE_OF_ROOM));
const CHANGES: Input = must(
    "changes",
    Kind::Number("an hour"),
    (0.01, 200.0),
    "air changes an hour",
)
.off(part(AIR_CHANGES).own("changes_off"));
const MIXING: Input = or(
    "mixing",
    Kind::Number(""),
    "3",
    (1.0, 10.0),
    "mixing factor: 1 perfect, 3 usual, 10 dead corners",
)
.off(part(TOLERANCE_OF_MIXING));
const INCOMING: Input = or(
    "incoming",
    Kind::Number("mg/m³"),
    "0",
    (0.0, 1000.0),
    "concentration in the air that comes in",
);
const WINS: &str = "An average of the room, not a leave to enter. Corners and the air over the water stand higher. The label's or the law's re-entry time wins and is never shortened.";

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "air-clearing",
        says: "Minutes until the air of a room is down to a limit, and how long people stay out",
        asks: Question::Air,
        headlines: &[
            "Stay out for {stay_out_min}: {decided_by} decides.",
            "The average is down to the limit after {air_min}; that is no leave to enter.",
        ],
        sources: &[
            MIXED_ROOM,
            "The label's or the law's re-entry time, as typed",
        ],
        inputs: &[
            ROOM,
            CHANGES,
            MIXING,
            must(
                "start",
                Kind::Number("mg/m³"),
                (0.0, 1e6),
                "concentration at the start",
            )
            .off(part(AIR_READING).own("start_off")),
            or(
                "source",
                Kind::Number("mg a minute"),
                "0",
                (0.0, 1e6),
                "what still evaporates",
            )
            .off(part(EVAPORATES).own("source_off")),
            INCOMING,
            may(
                "limit",
                Kind::Number("mg/m³"),
                (0.0001, 1e6),
                "limit; left out, what the site goes by, else the strictest of the published ones",
            ),
            may(
                "label",
                Kind::Time,
                (0.0, 20_160.0),
                "re-entry time of the label",
            ),
            may(
                "rule",
                Kind::Time,
                (0.0, 20_160.0),
                "re-entry time of law or site",
            ),
            percent_off(
                "start_off",
                "20",
                "start may be off by; either way, by tube or meter",
            ),
            percent_off("changes_off", "30", "air changes may be off by; either way"),
            percent_off(
                "source_off",
                "50",
                "what evaporates may be off by; either way",
            ),
        ],
        outputs: &[
            gives(
                "steady_mg_per_m3",
                Kind::Number("mg/m³"),
                "concentration that the source keeps up",
            ),
            gives(
                "limit_mg_per_m3",
                Kind::Number("mg/m³"),
                "limit that is gone by",
            )
            .plain(),
            gives(
                "air_min",
                Kind::Time,
                "until the average is down to the limit",
            ),
            gives("stay_out_min", Kind::Time, "stay out"),
            gives("decided_by", Kind::Words, "what decides it"),
        ],
        cautions: &[WINS],
        example: &[
            "room=200",
            "changes=6",
            "start=7.5",
            "limit=1.4",
            "label=60",
        ],
        run: clearing,
    },
    Calculator {
        name: "air-build-up",
        says: "Concentration in a room after a time, while something evaporates into it",
        asks: Question::Air,
        headlines: &["After that time {after_mg_per_m3}, on the way to {steady_mg_per_m3}."],
        sources: &[MIXED_ROOM],
        inputs: &[
            ROOM,
            may(
                "changes",
                Kind::Number("an hour"),
                (0.01, 200.0),
                "air changes an hour",
            )
            .off(part(AIR_CHANGES).own("changes_off")),
            may(
                "fan",
                Kind::Flow,
                (0.1, 1e7),
                "flow of air through the room, instead",
            )
            .off(part(FLOW)),
            MIXING,
            or(
                "start",
                Kind::Number("mg/m³"),
                "0",
                (0.0, 1e6),
                "concentration at the start",
            )
            .off(part(AIR_READING).own("start_off")),
            or(
                "source",
                Kind::Number("mg a minute"),
                "0",
                (0.0, 1e6),
                "what evaporates",
            )
            .off(part(EVAPORATES).own("source_off")),
            INCOMING,
            must("time", Kind::Time, (0.0, 10_080.0), "time"),
            percent_off(
                "start_off",
                "20",
                "start may be off by; either way, by tube or meter",
            ),
            percent_off("changes_off", "30", "air changes may be off by; either way"),
            percent_off(
                "source_off",
                "50",
                "what evaporates may be off by; either way",
            ),
        ],
        outputs: &[
            gives(
                "after_mg_per_m3",
                Kind::Number("mg/m³"),
                "concentration then, average of the room",
            ),
            gives(
                "steady_mg_per_m3",
                Kind::Number("mg/m³"),
                "concentration that it ends at",
            ),
        ],
        cautions: &[WINS],
        example: &["room=200", "changes=2", "mixing=1", "source=50", "time=30"],
        run: build_up,
    },
    Calculator {
        name: "air-changes",
        says: "Minutes in which ventilation removes a part, and the fan that gives the air changes",
        asks: Question::Air,
        headlines: &[
            "{removed_min} to remove the part at perfect mixing; the air changes take {count_min}; the fan gives {fan_m3_per_h}.",
        ],
        sources: &["Air change tables: US CDC 2003, Table B.1, and Health Canada 1996, Appendix F"],
        inputs: &[
            ROOM,
            CHANGES,
            or(
                "removed",
                Kind::Number("%"),
                "99",
                (0.0, 99.9999),
                "part to remove, once the source has stopped",
            ),
            or(
                "count",
                Kind::Number(""),
                "10",
                (0.0, 100.0),
                "number of air changes to count",
            ),
            MIXING,
            may(
                "fan",
                Kind::Flow,
                (0.1, 1e7),
                "flow of a fan, to see what air changes it gives",
            )
            .off(part(FLOW)),
            percent_off("changes_off", "30", "air changes may be off by; either way"),
        ],
        outputs: &[
            gives(
                "removed_min",
                Kind::Time,
                "until the part is removed, at perfect mixing",
            ),
            gives(
                "count_min",
                Kind::Time,
                "until the air changes are done, by the mixing factor",
            ),
            gives("fan_l_per_min", Kind::Flow, "flow of the fan"),
            gives("fan_m3_per_h", Kind::Number("m³/h"), "the same"),
            gives("fan_m3_per_s", Kind::Number("m³/s"), "the same"),
            gives("fan_ft3_per_min", Kind::Number("ft³/min"), "the same"),
            gives(
                "half_life_min",
                Kind::Time,
                "until half is removed, at perfect mixing",
            ),
            gives(
                "left_after_count",
                Kind::Number(""),
                "part left after the air changes, at perfect mixing",
            ),
            gives(
                "fan_gives",
                Kind::Number("an hour"),
                "air changes that the fan gives",
            ),
        ],
        cautions: &[
            WINS,
            "Choose a fan with 10 to 20 % in hand for ducts and screens.",
        ],
        example: &["room=60", "changes=12"],
        run: changes,
    },
];

fn mg(value: f64) -> MassConcentration {
    MassConcentration::new::<milligram_per_cubic_meter>(value)
}

fn in_mg(concentration: MassConcentration) -> f64 {
    concentration.get::<milligram_per_cubic_meter>()
}

pub(super) fn room_volume(inputs: &Inputs<'_>) -> Result<Volume, Refusal> {
    inputs.number("room").map(Volume::new::<cubic_meter>)
}

fn room(inputs: &Inputs<'_>) -> Result<Room, Refusal> {
    Room::new(
        room_volume(inputs)?,
        inputs.number("changes")?,
        inputs.number("mixing")?,
    )
    .on("room")
}

fn clearing(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let room = room(inputs)?;
    let source: Mass = grams(inputs.number("source")? / 1000.0);
    let incoming = mg(inputs.number("incoming")?);
    let steady = room.steady(source, incoming).on("source")?;
    answer.number(
        "steady_mg_per_m3",
        in_mg(steady),
        "{incoming} + {source} × {mixing} ÷ ({changes} ÷ 60 × {room})",
    );
    let limit = limit(inputs, answer)?;
    let air = room
        .time_to(mg(inputs.number("start")?), steady, limit)
        .on("limit")?;
    match air {
        Some(time) => answer.number(
            "air_min",
            time.get::<minute>(),
            "60 × ln(({start} − {steady_mg_per_m3:steady}) ÷ ({limit_mg_per_m3:limit} − {steady_mg_per_m3:steady})) × {mixing} ÷ {changes}",
        ),
        None => {
            answer.none("air_min", "never, while the source goes on");
            answer.none("stay_out_min", "stop the source first");
            answer.caution(
                "The air does not come down to the limit while the source goes on: nobody goes in.",
            );
            return Ok(());
        }
    }
    let stated = |key| inputs.maybe(key).map(Time::new::<minute>);
    match stay_out(stated("label"), stated("rule"), air) {
        Some(wait) => {
            answer.number(
                "stay_out_min",
                wait.time.get::<minute>(),
                stay_words(inputs),
            );
            answer.words(
                "decided_by",
                match wait.by {
                    DecidedBy::Label => "the label",
                    DecidedBy::Rule => "the law or the site",
                    DecidedBy::Air => "the reckoned air",
                },
            );
        }
        None => {
            answer.none(
                "stay_out_min",
                "give the label's or the law's re-entry time",
            );
            answer.caution("No re-entry time of a label or law was given, and a reckoned one gives no leave to enter.");
        }
    }
    Ok(())
}

/// The limit that was typed, or the one that the site goes by. It is published in ppm; as mass it is
/// smallest at 25 °C.
fn limit(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<MassConcentration, Refusal> {
    if let Some(typed) = inputs.maybe("limit") {
        answer.number("limit_mg_per_m3", typed, "{=limit}, as typed");
        return Ok(mg(typed));
    }
    let by = inputs.source(sources::Question::AirLimit);
    let warm = WaterTemperature::new(25.0).on("limit")?;
    let limit = mass_in_air(by.published.figure, warm).on("limit")?;
    let working = format!("{} at 25 °C and 1 atm", by.published.words);
    answer.number("limit_mg_per_m3", in_mg(limit), working);
    answer.caution(by.to_string());
    Ok(limit)
}

/// Which times the longest was chosen from: those that were given.
fn stay_words(inputs: &Inputs<'_>) -> String {
    let given = [
        ("label", "the label's {=label}"),
        ("rule", "the rule's {=rule}"),
    ];
    let given = given.iter().filter(|(key, _)| inputs.maybe(key).is_some());
    given.fold(
        "the longest: the air's {=air_min}".to_owned(),
        |words, (_, next)| format!("{words}, {next}"),
    )
}

fn build_up(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let volume = room_volume(inputs)?;
    let changes = match (inputs.maybe("changes"), inputs.maybe("fan")) {
        (Some(changes), None) => changes,
        (None, Some(flow)) => flow * 0.06 / inputs.number("room")?,
        (None, None) => return Err("Give the air changes, or the flow of air").on("changes"),
        (Some(_), Some(_)) => return Err("Give the air changes or the flow, not both").on("fan"),
    };
    let room = Room::new(volume, changes, inputs.number("mixing")?).on("fan")?;
    let hourly = format!("{} an hour", show::figures(changes, 4));
    let source: Mass = grams(inputs.number("source")? / 1000.0);
    let steady = room
        .steady(source, mg(inputs.number("incoming")?))
        .on("source")?;
    let after = room
        .after(mg(inputs.number("start")?), steady, inputs.time("time")?)
        .on("time")?;
    answer.number(
        "after_mg_per_m3",
        in_mg(after),
        format!("{{steady_mg_per_m3:steady}} + ({{start}} − {{steady_mg_per_m3:steady}}) × exp(−{hourly} ÷ 60 × {{time}} ÷ {{mixing}})"),
    );
    answer.number(
        "steady_mg_per_m3",
        in_mg(steady),
        format!("{{incoming}} + {{source}} × {{mixing}} ÷ ({hourly} ÷ 60 × {{room}})"),
    );
    Ok(())
}

fn changes(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let per_hour = inputs.number("changes")?;
    let removed = time_to_remove(inputs.number("removed")? / 100.0, per_hour).on("removed")?;
    answer.number(
        "removed_min",
        removed.get::<minute>(),
        "60 × ln(1 ÷ (1 − {removed})) ÷ {changes}",
    );
    let count = room(inputs)?
        .time_for_changes(inputs.number("count")?)
        .on("count")?;
    answer.number(
        "count_min",
        count.get::<minute>(),
        "60 × {count} × {mixing} ÷ {changes}",
    );
    let fan = fan_flow(room_volume(inputs)?, per_hour)
        .on("room")?
        .get::<liter_per_minute>();
    answer.number("fan_l_per_min", fan, "{changes} × {room}");
    answer.number("fan_m3_per_h", fan * 0.06, "{=fan_l_per_min} × 60 ÷ 1000");
    answer.number("fan_m3_per_s", fan / 60_000.0, "{=fan_m3_per_h} ÷ 3600");
    answer.number(
        "fan_ft3_per_min",
        fan / CUBIC_FOOT_LITRES,
        "{=fan_l_per_min} ÷ 28.3168 L",
    );
    let half = time_to_remove(0.5, per_hour).on("changes")?;
    answer.number(
        "half_life_min",
        half.get::<minute>(),
        "60 × ln 2 ÷ {changes}",
    );
    answer.number(
        "left_after_count",
        (-inputs.number("count")?).exp(),
        "exp(−{count})",
    );
    if let Some(flow) = inputs.maybe("fan") {
        let given = flow * 0.06 / inputs.number("room")?;
        answer.number("fan_gives", given, "{fan} × 60 ÷ {room}");
    }
    Ok(())
}
