//! Calculators of drains, overflows and mixing.

use uom::si::f64::Time;
use uom::si::length::millimeter;
use uom::si::time::minute;
use uom::si::volume_rate::liter_per_minute;

use super::answer::{Answer, OnField, Refusal, whole};
use super::calculator::{ANY, CELSIUS, Calculator, gives, may, must, or};
use super::flows::{AREA, BORE, MAX_FLOW, RIBBED, ROUGHNESS, TUBE, area, run_of};
use super::holes::{CD, EDGE, edge};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, part};
use super::published::{FITTINGS, RISER};
use super::question::Question;
use crate::science::drain::{
    DrainTime, Draining, full_pipe_flow, full_pipe_time, full_pipe_time_at,
};
use crate::science::orifice::{Edge, Hole};
use crate::science::overflow::{self, Fault, Limit, OverflowLine, Standpipe, overflow_check};
use crate::science::pipe::Run;
use crate::science::quantity::in_millimetres;
use crate::science::show;
use crate::science::sources;
use crate::science::tolerances::{BORE as BORE_TOLERANCE, FITTINGS_K, LEVEL_MM, LIFT_MM, TAPE_MM};
use crate::science::viscosity::Liquid;

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "drain-time",
        says: "How long a bench takes to drain: pipe full, and hole alone",
        asks: Question::Drain,
        headlines: &["Plan {planned_min} for the drain."],
        sources: &[
            "Pipe running full: energy equation with Darcy-Weisbach",
            "Hole alone: orifice equation, as course exercises work it; 0.6 for a sharp edge is theirs too",
            FITTINGS,
        ],
        inputs: &[
            AREA,
            must(
                "from",
                Kind::Length,
                (1.0, 5000.0),
                "water over the hole at the start",
            )
            .off(amount(LEVEL_MM).read()),
            or(
                "to",
                Kind::Length,
                "4",
                (0.0, 5000.0),
                "water at the end; below {4} it dribbles",
            ),
            or(
                "drop",
                Kind::Length,
                "0",
                (0.0, 20_000.0),
                "hole over the pipe's outlet",
            )
            .off(amount(LIFT_MM)),
            BORE,
            TUBE,
            or(
                "k",
                Kind::Number(""),
                "1.5",
                (0.0, 300.0),
                "sum of the fittings' K without the exit",
            )
            .off(part(FITTINGS_K)),
            or(
                "dribble",
                Kind::Time,
                "0",
                (0.0, 240.0),
                "time for the rest to dribble out, measured",
            ),
            RIBBED,
            ROUGHNESS,
            EDGE,
            CD,
            may(
                "friction",
                Kind::Number(""),
                (0.005, 0.2),
                "a friction factor held constant, to check by hand",
            ),
            CELSIUS,
        ],
        outputs: &[
            gives("full_pipe_min", Kind::Time, "while the pipe runs full"),
            gives("first_l_per_min", Kind::Flow, "its flow at the start"),
            gives("last_l_per_min", Kind::Flow, "its flow at the end"),
            gives(
                "constant_min",
                Kind::Time,
                "while the pipe runs full, with the constant friction factor",
            ),
            gives("hole_only_min", Kind::Time, "once the drain sucks air"),
            gives(
                "planned_min",
                Kind::Time,
                "to plan with: the slower, and the dribble",
            ),
        ],
        cautions: &["A measured drain wins. Media full of roots drain slower."],
        example: &[
            "area=1.2096",
            "from=75",
            "drop=0.6 m",
            "bore=25.4",
            "tube=1.5 m",
            "dribble=5",
        ],
        run: draining,
    },
    Calculator {
        name: "overflow",
        says: "Whether a bench's overflow passes all that its pump can bring",
        asks: Question::Drain,
        headlines: &[
            "Cannot run over: {safe}. The highest water stands at {highest_water_mm}, {dry_wall_mm} under the wall's top. Wrong: {faults}.",
        ],
        sources: &[
            RISER,
            "Half the capacity under a strainer: common practice, no source",
        ],
        inputs: &[
            MAX_FLOW,
            must(
                "standpipe",
                Kind::Length,
                (5.0, 300.0),
                "inside bore of the overflow",
            )
            .off(part(BORE_TOLERANCE)),
            or(
                "count",
                Kind::Number(""),
                "1",
                (1.0, 20.0),
                "overflows alike",
            ),
            or(
                "strainer",
                Kind::Choice(&["yes", "no"]),
                "no",
                ANY,
                "a strainer or roots at the overflow: half its capacity is counted",
            ),
            must(
                "rim",
                Kind::Length,
                (5.0, 1500.0),
                "height of the rim over the floor, with the riser if it is on",
            )
            .off(amount(LEVEL_MM).read()),
            must(
                "wall",
                Kind::Length,
                (5.0, 1500.0),
                "height of the wall over the floor",
            )
            .off(amount(TAPE_MM)),
            or(
                "freeboard",
                Kind::Length,
                "15",
                (0.0, 200.0),
                "wall that stays dry",
            ),
            may(
                "line_bore",
                Kind::Length,
                (3.0, 200.0),
                "inside bore of the tube below the overflow; without it the water falls free",
            ),
            may(
                "line",
                Kind::Length,
                (0.0, 200_000.0),
                "length of that tube",
            ),
            may(
                "line_drop",
                Kind::Length,
                (0.0, 20_000.0),
                "rim over its outlet",
            ),
            or(
                "line_k",
                Kind::Number(""),
                "1.5",
                (0.0, 300.0),
                "sum of its fittings' K without the exit",
            ),
            must(
                "clear",
                Kind::Choice(&["yes", "no"]),
                ANY,
                "the rim is free of media and screens",
            ),
            must(
                "return_fits",
                Kind::Choice(&["yes", "no"]),
                ANY,
                "the reservoir takes all that comes back",
            ),
            may(
                "weir",
                Kind::Number("√m/s"),
                (1.4, 2.0),
                "coefficient of the rim; left out, what the site goes by, else the safest of those published",
            ),
        ],
        outputs: &[
            gives("safe", Kind::Words, "whether it cannot run over"),
            gives(
                "flow_each_l_per_min",
                Kind::Flow,
                "flow that each overflow must pass",
            ),
            gives(
                "head_mm",
                Kind::Length,
                "water over the rim that this needs",
            ),
            gives("limit", Kind::Words, "what sets it"),
            gives(
                "highest_water_mm",
                Kind::Length,
                "highest water over the floor",
            ),
            gives("dry_wall_mm", Kind::Length, "wall left over it").signed(),
            gives("faults", Kind::Words, "what is wrong"),
        ],
        cautions: &[
            "Try it with water alone, pump at full flow, before any peroxide is in the system.",
        ],
        example: &[
            "max_flow=25",
            "standpipe=32",
            "rim=75",
            "wall=130",
            "clear=yes",
            "return_fits=yes",
        ],
        run: overflow,
    },
];

fn draining(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let bench = Draining {
        free_area: area(inputs, "area")?,
        from: inputs.length("from")?,
        to: inputs.length("to")?,
        drop: inputs.length("drop")?,
    };
    let water = Liquid::water(inputs.water("celsius")?);
    let pipe = run_of(inputs)?;
    let alone = Hole::new(pipe.bore(), edge(inputs)?).on("bore")?;
    let time = DrainTime {
        full_pipe: full_pipe_time(&bench, &pipe, &water).on("to")?,
        hole_only: alone
            .drain_time(bench.free_area, bench.from, bench.to)
            .on("to")?,
        dribble: inputs.time("dribble")?,
    };
    let minutes = |time: Time| time.get::<minute>();
    answer.number("full_pipe_min", minutes(time.full_pipe), "{=area} from {=from} to {=to} over the hole, {=drop} more to the outlet: sum of area × step ÷ flow");
    for (key, height, working) in [
        ("first_l_per_min", bench.from, "driven by {from} + {drop}"),
        ("last_l_per_min", bench.to, "driven by {to} + {drop}"),
    ] {
        let flow = full_pipe_flow(height + bench.drop, &pipe, &water).on("to")?;
        answer.number(key, flow.get::<liter_per_minute>(), working);
    }
    if let Some(factor) = inputs.maybe("friction") {
        let by_hand = full_pipe_time_at(&bench, &pipe, factor).on("friction")?;
        answer.number(
            "constant_min",
            minutes(by_hand),
            "{area} ÷ (π ÷ 4 × {bore}²) × √(2 × (1 + {k} + {friction} × {tube} ÷ {bore}) ÷ g) × (√({from} + {drop}) − √({to} + {drop}))",
        );
    }
    answer.number(
        "hole_only_min",
        minutes(time.hole_only),
        format!(
            "2 × {{area}} × (√{{from}} − √{{to}}) ÷ ({} × π ÷ 4 × {{bore}}² × √2g)",
            show::figures(edge(inputs)?.coefficient(), 3)
        ),
    );
    answer.number(
        "planned_min",
        minutes(time.planned()),
        "the longer of {=full_pipe_min} and {=hole_only_min}, and {=dribble}",
    );
    Ok(())
}

fn overflow(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let count = whole(inputs.number("count")?, "count")?;
    let yes = |key| inputs.choice(key).map(|word| word == "yes");
    let by = inputs.source(sources::Question::Weir);
    let weir = inputs.maybe("weir").unwrap_or(by.published.figure);
    if inputs.maybe("weir").is_none() {
        answer.caution(by.to_string());
    }
    let bench = overflow::Bench {
        standpipe: Standpipe::new(inputs.length("standpipe")?)
            .on("standpipe")?
            .with_coefficients(weir, Edge::Sharp)
            .on("weir")?,
        count,
        clog_factor: if yes("strainer")? {
            overflow::STRAINER_FACTOR
        } else {
            1.0
        },
        rim: inputs.length("rim")?,
        wall: inputs.length("wall")?,
        freeboard: inputs.length("freeboard")?,
        line: overflow_line(inputs)?,
        clear_of_media: yes("clear")?,
        return_fits: yes("return_fits")?,
    };
    let check = overflow_check(&bench, inputs.flow("max_flow")?).on("max_flow")?;
    answer.words("safe", if check.safe() { "yes" } else { "no" });
    answer.number(
        "flow_each_l_per_min",
        check.flow_each.get::<liter_per_minute>(),
        format!(
            "{{max_flow}} ÷ {{count}} ÷ {} left when clogged",
            show::figures(bench.clog_factor, 2)
        ),
    );
    answer.number("head_mm", in_millimetres(check.head), format!("the larger of (Q ÷ ({weir} × π × {{=standpipe}}))^(2/3) and (Q ÷ (Cd × section))² ÷ 2g, Q = {{=flow_each_l_per_min}}"));
    answer.words(
        "limit",
        match check.limit {
            Limit::Rim => "the rim, as a weir",
            Limit::Mouth => "the drowned mouth",
        },
    );
    answer.number(
        "highest_water_mm",
        in_millimetres(check.highest_water),
        "{rim} + {head_mm}",
    );
    answer.number(
        "dry_wall_mm",
        in_millimetres(check.dry_wall),
        "{wall} − {highest_water_mm}",
    );
    let faults: Vec<String> = check.faults.iter().map(fault).collect();
    answer.words(
        "faults",
        if faults.is_empty() {
            "none".to_owned()
        } else {
            faults.join("; ")
        },
    );
    Ok(())
}

fn overflow_line(inputs: &Inputs<'_>) -> Result<Option<OverflowLine>, Refusal> {
    if inputs.maybe("line_bore").is_none() {
        return Ok(None);
    }
    let (bore, length) = (inputs.length("line_bore")?, inputs.length("line")?);
    let run = Run::new(bore, length, inputs.number("line_k")?).on("line_bore")?;
    Ok(Some(OverflowLine {
        run,
        drop: inputs.length("line_drop")?,
    }))
}

fn fault(fault: &Fault) -> String {
    match fault {
        Fault::WallTooLow { by } => {
            format!(
                "the wall is {}\u{a0}mm too low for the freeboard",
                show::fixed(by.get::<millimeter>(), 1)
            )
        }
        Fault::LineTooNarrow { by } => {
            let by = show::fixed(by.get::<millimeter>(), 0);
            format!("the tube below the overflow lacks {by}\u{a0}mm of drop for the flow")
        }
        Fault::NotClear => "media or a screen stand at the rim".into(),
        Fault::ReservoirTooSmall => "the reservoir cannot take the return".into(),
    }
}
