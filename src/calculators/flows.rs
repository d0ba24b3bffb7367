//! Calculators of tubing and pumps.

use uom::si::area::square_meter;
use uom::si::f64::Area;
use uom::si::time::minute;
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::liter_per_minute;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{CELSIUS, Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use crate::science::fitting::barb_k;
use crate::science::flood_time::{Flooding, Rise, flood_time};
use crate::science::pipe::{Regime, Run, Wall};
use crate::science::pump::{Band, Curve, Operating};
use crate::science::quantity::in_millimetres;
use crate::science::show;
use crate::science::viscosity::Liquid;

pub(super) const BORE: Input = must(
    "bore",
    Kind::Length,
    (3.0, 200.0),
    "inside bore of the tube",
);
pub(super) const TUBE: Input = must("tube", Kind::Length, (0.0, 200_000.0), "length of the tube");
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
pub(super) const MAX_FLOW: Input = must(
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
pub(super) const AREA: Input = must(
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
];

pub(super) fn run_of(inputs: &Inputs<'_>) -> Result<Run, Refusal> {
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

pub(super) fn area(inputs: &Inputs<'_>, key: &'static str) -> Result<Area, Refusal> {
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
