//! Calculators of tubing, pumps, drains and overflows.

use uom::si::area::square_meter;
use uom::si::f64::{Area, Time};
use uom::si::length::millimeter;
use uom::si::ratio::percent;
use uom::si::time::minute;
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::liter_per_minute;

use super::calculator::{
    ANY, Answer, CELSIUS, Calculator, Input, Inputs, OnField, Refusal, gives, may, must, or,
};
use super::kind::Kind;
use crate::science::drain::{Draining, drain_time};
use crate::science::fitting::barb_k;
use crate::science::flood_time::{Flooding, Rise, flood_time};
use crate::science::mixing::{exchanged_by_flood, mixed_after, turnovers};
use crate::science::overflow::{self, Fault, Limit, OverflowLine, Standpipe, overflow_check};
use crate::science::pipe::{Regime, Run, Wall};
use crate::science::pump::{Band, Curve, Operating};
use crate::science::quantity::{in_millimetres, litres};
use crate::science::show;
use crate::science::viscosity::Liquid;

const BORE: Input = must(
    "bore",
    Kind::Length,
    (3.0, 200.0),
    "inside bore of the tube",
);
const TUBE: Input = must("tube", Kind::Length, (0.0, 200_000.0), "length of the tube");
const K: Input = or(
    "k",
    Kind::Number(""),
    "5",
    (0.0, 300.0),
    "sum of the fittings' K (exit 1, entrance 0.5, threaded elbow 1.5, check valve 2; ±30 %)",
);
const RIBBED: Input = or(
    "ribbed",
    Kind::Number(""),
    "1",
    (1.0, 6.0),
    "loss over a smooth tube's: 1 smooth, 2 to 4 corrugated",
);
const MAX_HEAD: Input = must(
    "max_head",
    Kind::Length,
    (10.0, 100_000.0),
    "head at which no water comes",
);
const MAX_FLOW: Input = must(
    "max_flow",
    Kind::Flow,
    (0.01, 2000.0),
    "flow against no head",
);
const LIFT: Input = must(
    "lift",
    Kind::Length,
    (0.0, 100_000.0),
    "from the reservoir's level to the bench water or outlet",
);
const AREA: Input = must(
    "area",
    Kind::Number("m²"),
    (0.01, 1000.0),
    "free bench area: plan area × drainable fraction of the media",
);
const PUMP: &str = "Two published numbers do not make a curve: the truth lies between upper and lower. A flow measured with bucket and clock wins.";

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "pipe",
        says: "Head that a flow loses in a tube and its fittings",
        inputs: &[
            must("flow", Kind::Flow, (0.0, 2000.0), "flow"),
            BORE,
            TUBE,
            K,
            RIBBED,
            CELSIUS,
        ],
        outputs: &[
            gives("velocity_m_per_s", Kind::Number("m/s"), "velocity"),
            gives("reynolds", Kind::Number(""), "Reynolds number"),
            gives("regime", Kind::Words, "how it flows"),
            gives("friction_mm", Kind::Length, "lost to the wall"),
            gives("fittings_mm", Kind::Length, "lost to the fittings"),
            gives("head_mm", Kind::Length, "lost in all"),
        ],
        cautions: &[],
        example: &["flow=20 L/min", "bore=19.05", "tube=3 m"],
        run: pipe,
    },
    Calculator {
        name: "barb",
        says: "What a narrow barb costs, as K of its tube",
        inputs: &[
            must("barb", Kind::Length, (2.0, 200.0), "bore of the barb"),
            must("bore", Kind::Length, (2.0, 200.0), "bore of the tube"),
        ],
        outputs: &[gives(
            "k",
            Kind::Number(""),
            "K to add to the sum of the run",
        )],
        cautions: &["Textbook values, from memory, ±30 %."],
        example: &["barb=12.7", "bore=19.05"],
        run: barb,
    },
    Calculator {
        name: "operating-point",
        says: "Flow that a pump gives through a tube against a lift",
        inputs: &[MAX_HEAD, MAX_FLOW, LIFT, BORE, TUBE, K, RIBBED, CELSIUS],
        outputs: &[
            gives("upper_l_per_min", Kind::Flow, "at most, by a parabola"),
            gives("upper_head_mm", Kind::Length, "head at that flow"),
            gives(
                "lower_l_per_min",
                Kind::Flow,
                "at least, by a straight line",
            ),
            gives("lower_head_mm", Kind::Length, "head at that flow"),
        ],
        cautions: &[PUMP],
        example: &[
            "max_head=2.4 m",
            "max_flow=25 L/min",
            "lift=0.9 m",
            "bore=19.05",
            "tube=3 m",
        ],
        run: operating_point,
    },
    Calculator {
        name: "flood-time",
        says: "How long a pump takes to flood a bench while the lift grows",
        inputs: &[
            AREA,
            must("depth", Kind::Length, (1.0, 1000.0), "height to flood"),
            may(
                "reservoir",
                Kind::Number("m²"),
                (0.01, 1000.0),
                "plan area of the reservoir; without it the level is held",
            ),
            MAX_HEAD,
            MAX_FLOW,
            LIFT,
            BORE,
            TUBE,
            K,
            RIBBED,
            CELSIUS,
        ],
        outputs: &[
            gives(
                "quickest_min",
                Kind::Time,
                "with the most that the pump may give",
            ),
            gives("slowest_min", Kind::Time, "with the least; plan with it"),
            gives(
                "stalls_at_mm",
                Kind::Length,
                "height at which the pump's reach ends",
            ),
        ],
        cautions: &[PUMP],
        example: &[
            "area=1.2096",
            "depth=75",
            "reservoir=0.3",
            "max_head=2.4 m",
            "max_flow=25",
            "lift=0.9 m",
            "bore=19.05",
            "tube=3 m",
        ],
        run: flooding,
    },
    Calculator {
        name: "drain-time",
        says: "How long a bench takes to drain: pipe full, and hole alone",
        inputs: &[
            AREA,
            must(
                "from",
                Kind::Length,
                (1.0, 5000.0),
                "water over the hole at the start",
            ),
            or(
                "to",
                Kind::Length,
                "4",
                (0.0, 5000.0),
                "water at the end; below 4 mm it dribbles",
            ),
            or(
                "drop",
                Kind::Length,
                "0",
                (0.0, 20_000.0),
                "hole over the pipe's outlet",
            ),
            BORE,
            TUBE,
            or(
                "k",
                Kind::Number(""),
                "1.5",
                (0.0, 300.0),
                "sum of the fittings' K without the exit",
            ),
            or(
                "dribble",
                Kind::Time,
                "0",
                (0.0, 240.0),
                "time for the rest to dribble out, measured",
            ),
            CELSIUS,
        ],
        outputs: &[
            gives("full_pipe_min", Kind::Time, "while the pipe runs full"),
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
        inputs: &[
            MAX_FLOW,
            must(
                "standpipe",
                Kind::Length,
                (5.0, 300.0),
                "inside bore of the overflow",
            ),
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
            ),
            must(
                "wall",
                Kind::Length,
                (5.0, 1500.0),
                "height of the wall over the floor",
            ),
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
            gives("dry_wall_mm", Kind::Length, "wall left over it"),
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
    Calculator {
        name: "mixing",
        says: "How far a pumped system is mixed, and what one flood exchanges",
        inputs: &[
            must("flow", Kind::Flow, (0.0, 2000.0), "flow of the pump"),
            must("time", Kind::Time, (0.0, 20_160.0), "time it has run"),
            must(
                "volume",
                Kind::Volume,
                (0.1, 1e6),
                "the whole wetted volume",
            ),
            may("flood", Kind::Volume, (0.001, 1e6), "water of one flood"),
            may(
                "retained",
                Kind::Volume,
                (0.0, 1e6),
                "water that the media keep",
            ),
        ],
        outputs: &[
            gives("turnovers", Kind::Number(""), "turnovers"),
            gives(
                "mixed",
                Kind::Number("%"),
                "mixed, if the loop runs steadily",
            ),
            gives(
                "exchanged",
                Kind::Number("%"),
                "of the media's water that one flood exchanges",
            ),
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
    },
];

fn run_of(inputs: &Inputs<'_>) -> Result<Run, Refusal> {
    let run = Run::new(
        inputs.length("bore")?,
        inputs.length("tube")?,
        inputs.number("k")?,
    )
    .on("bore")?;
    match inputs.maybe("ribbed") {
        Some(times) if times > 1.0 => run
            .with_wall(Wall::Corrugated {
                times_smooth: times,
            })
            .on("ribbed"),
        _ => Ok(run),
    }
}

fn band_of(inputs: &Inputs<'_>) -> Result<Band, Refusal> {
    Band::from_two_points(inputs.length("max_head")?, inputs.flow("max_flow")?).on("max_head")
}

fn area(inputs: &Inputs<'_>, key: &'static str) -> Result<Area, Refusal> {
    inputs.number(key).map(Area::new::<square_meter>)
}

fn pipe(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let run = run_of(inputs)?;
    let loss = run
        .loss(
            inputs.flow("flow")?,
            &Liquid::water(inputs.water("celsius")?),
        )
        .on("flow")?;
    answer.number(
        "velocity_m_per_s",
        loss.velocity.get::<meter_per_second>(),
        "flow ÷ (π ÷ 4 × bore²)",
    );
    answer.number(
        "reynolds",
        loss.reynolds,
        "velocity × bore × density ÷ viscosity",
    );
    answer.words("regime", loss.regime.word());
    answer.number(
        "friction_mm",
        in_millimetres(loss.friction),
        "Darcy-Weisbach, Colebrook",
    );
    answer.number("fittings_mm", in_millimetres(loss.fittings), "ΣK × V² ÷ 2g");
    answer.number("head_mm", in_millimetres(loss.head()), "");
    if loss.regime == Regime::Transitional {
        answer.caution(
            "The flow is neither laminar nor turbulent: the loss may be 30 % off either way.",
        );
    }
    Ok(())
}

fn barb(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let k = barb_k(inputs.length("barb")?, inputs.length("bore")?).on("barb")?;
    answer.number(
        "k",
        k,
        "sudden contraction, then expansion, by the velocity in the tube",
    );
    Ok(())
}

fn operating_point(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (band, run) = (band_of(inputs)?, run_of(inputs)?);
    let (lift, water) = (
        inputs.length("lift")?,
        Liquid::water(inputs.water("celsius")?),
    );
    let ends: [(&Curve, &'static str, &'static str); 2] = [
        (&band.upper, "upper_l_per_min", "upper_head_mm"),
        (&band.lower, "lower_l_per_min", "lower_head_mm"),
    ];
    for (curve, flow, head) in ends {
        match curve.operating_point(lift, &run, &water).on("lift")? {
            Operating::Flow(point) => {
                let lost = show::figures(in_millimetres(point.loss.head()), 4);
                answer.number(
                    flow,
                    point.flow.get::<liter_per_minute>(),
                    format!("lift + {lost} mm of loss"),
                );
                answer.number(head, in_millimetres(point.head), "");
            }
            Operating::NoFlow => answer.none(flow, "no flow: the lift is out of the pump's reach"),
        }
    }
    Ok(())
}

fn flooding(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (band, run) = (band_of(inputs)?, run_of(inputs)?);
    let water = Liquid::water(inputs.water("celsius")?);
    let rise = Rise {
        free_area: area(inputs, "area")?,
        depth: inputs.length("depth")?,
        lift: inputs.length("lift")?,
        reservoir_area: inputs.maybe("reservoir").map(Area::new::<square_meter>),
    };
    for (curve, key) in [(&band.upper, "quickest_min"), (&band.lower, "slowest_min")] {
        match flood_time(&rise, curve, &run, &water).on("depth")? {
            Flooding::Floods { time, first, last } => {
                let working = format!(
                    "{} L/min at first, {} at last",
                    show::figures(first.get::<liter_per_minute>(), 4),
                    show::figures(last.get::<liter_per_minute>(), 4)
                );
                answer.number(key, time.get::<minute>(), working);
            }
            Flooding::Stalls { at } => {
                answer.none(key, "the pump does not reach that height");
                if key == "slowest_min" {
                    answer.number("stalls_at_mm", in_millimetres(at), "");
                }
            }
        }
    }
    Ok(())
}

fn draining(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let bench = Draining {
        free_area: area(inputs, "area")?,
        from: inputs.length("from")?,
        to: inputs.length("to")?,
        drop: inputs.length("drop")?,
    };
    let water = Liquid::water(inputs.water("celsius")?);
    let time = drain_time(&bench, &run_of(inputs)?, inputs.time("dribble")?, &water).on("to")?;
    let minutes = |time: Time| time.get::<minute>();
    answer.number("full_pipe_min", minutes(time.full_pipe), "the drop pulls");
    answer.number(
        "hole_only_min",
        minutes(time.hole_only),
        "only the water over the hole drives it",
    );
    answer.number("planned_min", minutes(time.planned()), "");
    Ok(())
}

fn overflow(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let count = inputs.number("count")?;
    if count.fract() != 0.0 {
        return Err("Give a whole number of overflows").on("count");
    }
    let yes = |key| inputs.choice(key).map(|word| word == "yes");
    let bench = overflow::Bench {
        standpipe: Standpipe::new(inputs.length("standpipe")?).on("standpipe")?,
        count: count as u32,
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
        "flow against no head ÷ overflows ÷ part kept when clogged",
    );
    answer.number("head_mm", in_millimetres(check.head), "");
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
        "rim + water over it",
    );
    answer.number(
        "dry_wall_mm",
        in_millimetres(check.dry_wall),
        "wall − highest water",
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

fn mixing(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let n = turnovers(
        inputs.flow("flow")?,
        inputs.time("time")?,
        inputs.volume("volume")?,
    )
    .on("volume")?;
    answer.number("turnovers", n, "flow × time ÷ volume");
    answer.number(
        "mixed",
        100.0 * mixed_after(n.min(1000.0)).on("time")?,
        "1 − exp(−turnovers)",
    );
    if let (Some(flood), Some(retained)) = (inputs.maybe("flood"), inputs.maybe("retained")) {
        let part = exchanged_by_flood(litres(flood), litres(retained)).on("flood")?;
        answer.number(
            "exchanged",
            part.get::<percent>(),
            "flood ÷ (flood + retained)",
        );
    }
    Ok(())
}
