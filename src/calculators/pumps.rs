//! Calculators of pumps.

use uom::si::area::square_meter;
use uom::si::f64::{Area, VolumeRate};
use uom::si::length::meter;
use uom::si::power::watt;
use uom::si::time::minute;
use uom::si::volume_rate::liter_per_minute;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{CELSIUS, Calculator, Input, gives, may, must, or};
use super::flows::{AREA, BORE, K, RIBBED, ROUGHNESS, TUBE, area, run_of};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, part, percent_off};
use super::published::{FITTINGS, FRICTION, PUMP_CURVES};
use super::question::Question;
use crate::science::flood_time::{Flooding, Rise, flood_time};
use crate::science::pipe::Regime;
use crate::science::pump::{Band, Curve, Operating, hydraulic_power};
use crate::science::quantity::{in_millimetres, millimetres};
use crate::science::show;
use crate::science::tolerances::{FREE_AREA, LIFT_MM, PRINTED};
use crate::science::viscosity::Liquid;

/// A flow that is printed of a pump.
const fn printed_flow(key: &'static str, says: &'static str) -> Input {
    may(key, Kind::Flow, (0.01, 10_000.0), says).off(part(PRINTED).own("printed_off"))
}

/// A head that is printed of a pump.
const fn printed_head(key: &'static str, least_mm: f64, says: &'static str) -> Input {
    may(key, Kind::Length, (least_mm, 500_000.0), says).off(part(PRINTED).own("printed_off"))
}

const MAX_HEAD: Input = printed_head("max_head", 10.0, "head at which no water comes");
const MAX_FLOW_OF_PUMP: Input = printed_flow("max_flow", "flow against no head");
const MIDDLE_FLOW: Input = printed_flow(
    "middle_flow",
    "a flow printed between, for a curve of three points",
);
const MIDDLE_HEAD: Input = printed_head("middle_head", 0.0, "the head at that flow");
const FAR_HEAD: Input = printed_head(
    "far_head",
    0.0,
    "head left at max_flow, when the third point is not at no head",
);
const DUTY_FLOW: Input = printed_flow(
    "duty_flow",
    "flow at the one point known, instead of the others",
);
const DUTY_HEAD: Input = printed_head("duty_head", 10.0, "head at that point");
const SPEED: Input = or(
    "speed",
    Kind::Number(""),
    "1",
    (0.1, 1.5),
    "speed over the speed of these points",
);
const LIFT: Input = must(
    "lift",
    Kind::Length,
    (0.0, 100_000.0),
    "from the reservoir's level to the bench water or outlet",
)
.off(amount(LIFT_MM).own("lift_off"));
const PUMP: &str = "Published numbers do not make a curve: the truth lies between upper and lower. A flow measured with bucket and clock wins.";
const PRINTED_OFF: Input = percent_off(
    "printed_off",
    "10",
    "what is printed of the pump may be off by; either way",
);

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "pump-curve",
        says: "Head and power of a pump at a flow, from the points that are known of it",
        asks: Question::Pump,
        headlines: &["Between {lower_head_mm} and {upper_head_mm} of head."],
        sources: &[
            PUMP_CURVES,
            "Affinity laws for another speed: flow and head as a published program manual of the US EPA gives them, power from memory",
        ],
        inputs: &[
            MAX_HEAD,
            MAX_FLOW_OF_PUMP,
            MIDDLE_FLOW,
            MIDDLE_HEAD,
            FAR_HEAD,
            DUTY_FLOW,
            DUTY_HEAD,
            SPEED,
            must("flow", Kind::Flow, (0.0, 10_000.0), "flow to look at"),
            CELSIUS,
            PRINTED_OFF,
        ],
        outputs: &[
            gives("upper_head_mm", Kind::Length, "head at most"),
            gives("lower_head_mm", Kind::Length, "head at least"),
            gives("shut_off_mm", Kind::Length, "head at which no water comes"),
            gives(
                "upper_free_l_per_min",
                Kind::Flow,
                "flow against no head, at most",
            ),
            gives("lower_free_l_per_min", Kind::Flow, "the same, at least"),
            gives("exponent", Kind::Number(""), "exponent n of the curve"),
            gives(
                "coefficient",
                Kind::Number("m/(L/min)ⁿ"),
                "coefficient a of the curve",
            ),
            gives("power_w", Kind::Number("W"), "power in the water, at most"),
        ],
        cautions: &[
            PUMP,
            "The plug draws several times the power in the water: small submersible pumps turn 5 to 25 % into it (from memory).",
        ],
        example: &["duty_flow=15", "duty_head=1.5 m", "flow=20"],
        run: pump_curve,
    },
    Calculator {
        name: "operating-point",
        says: "Flow that a pump gives through a tube against a lift",
        asks: Question::Pump,
        headlines: &[
            "Between {lower_l_per_min} and {upper_l_per_min}.",
            "At most {upper_l_per_min}; at worst no flow.",
        ],
        sources: &[PUMP_CURVES, FRICTION, FITTINGS],
        inputs: &[
            MAX_HEAD,
            MAX_FLOW_OF_PUMP,
            MIDDLE_FLOW,
            MIDDLE_HEAD,
            FAR_HEAD,
            DUTY_FLOW,
            DUTY_HEAD,
            SPEED,
            LIFT,
            BORE,
            TUBE,
            K,
            RIBBED,
            ROUGHNESS,
            CELSIUS,
            PRINTED_OFF,
            or(
                "lift_off",
                Kind::Length,
                "20",
                (0.0, 2000.0),
                "lift may be off by; either way, as both levels move",
            ),
        ],
        outputs: &[
            gives("upper_l_per_min", Kind::Flow, "at most"),
            gives("upper_head_mm", Kind::Length, "head at that flow"),
            gives("lower_l_per_min", Kind::Flow, "at least"),
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
        asks: Question::Pump,
        headlines: &[
            "Flooded in {quickest_min} to {slowest_min}; plan with the longer.",
            "Flooded in {quickest_min} at best; at worst the pump does not get there.",
        ],
        sources: &[PUMP_CURVES, FRICTION, FITTINGS],
        inputs: &[
            AREA,
            must("depth", Kind::Length, (1.0, 1000.0), "height to flood"),
            may(
                "reservoir",
                Kind::Number("m²"),
                (0.01, 1000.0),
                "plan area of the reservoir; without it the level is held",
            )
            .off(part(FREE_AREA)),
            MAX_HEAD,
            MAX_FLOW_OF_PUMP,
            MIDDLE_FLOW,
            MIDDLE_HEAD,
            FAR_HEAD,
            DUTY_FLOW,
            DUTY_HEAD,
            SPEED,
            LIFT,
            BORE,
            TUBE,
            K,
            RIBBED,
            ROUGHNESS,
            CELSIUS,
            PRINTED_OFF,
            or(
                "lift_off",
                Kind::Length,
                "20",
                (0.0, 2000.0),
                "lift may be off by; either way, as both levels move",
            ),
        ],
        outputs: &[
            gives(
                "quickest_min",
                Kind::Time,
                "with the most that the pump may give",
            ),
            gives("slowest_min", Kind::Time, "with the least; plan with it"),
            gives(
                "at_first_flow_min",
                Kind::Time,
                "the quickest, if the first flow held; too short",
            ),
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

fn band_of(inputs: &Inputs<'_>) -> Result<Band, Refusal> {
    let given = |key| inputs.maybe(key).is_some();
    let band = if given("duty_flow") || given("duty_head") {
        if let Some(other) = [
            "max_head",
            "max_flow",
            "middle_flow",
            "middle_head",
            "far_head",
        ]
        .into_iter()
        .find(|key| given(key))
        {
            return Err("Give the duty point alone, or the other points without it").on(other);
        }
        let curve = Curve::from_duty_point(inputs.length("duty_head")?, inputs.flow("duty_flow")?)
            .on("duty_head")?;
        Band {
            upper: curve,
            lower: curve,
        }
    } else {
        let (head, flow) = (inputs.length("max_head")?, inputs.flow("max_flow")?);
        if given("middle_flow") || given("middle_head") || given("far_head") {
            let middle = (inputs.flow("middle_flow")?, inputs.length("middle_head")?);
            let far_head = inputs
                .maybe("far_head")
                .map_or(millimetres(0.0), millimetres);
            Band::from_three_points(head, middle, (flow, far_head)).on("middle_head")?
        } else {
            Band::from_two_points(head, flow).on("max_head")?
        }
    };
    let speed = inputs.number("speed")?;
    Ok(Band {
        upper: band.upper.at_speed(speed).on("speed")?,
        lower: band.lower.at_speed(speed).on("speed")?,
    })
}

fn pump_curve(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (band, flow) = (band_of(inputs)?, inputs.flow("flow")?);
    let lpm = |flow: VolumeRate| flow.get::<liter_per_minute>();
    let points = points_of(inputs);
    answer.number(
        "upper_head_mm",
        in_millimetres(band.upper.head(flow)),
        words_of(&band.upper),
    );
    answer.number(
        "lower_head_mm",
        in_millimetres(band.lower.head(flow)),
        words_of(&band.lower),
    );
    answer.number(
        "shut_off_mm",
        in_millimetres(band.upper.shut_off_head()),
        points,
    );
    answer.number("upper_free_l_per_min", lpm(band.upper.free_flow()), points);
    answer.number("lower_free_l_per_min", lpm(band.lower.free_flow()), points);
    answer.number(
        "exponent",
        band.upper.exponent(),
        "n in head = {=shut_off_mm} − a × flowⁿ; the straight lines of a band have 1",
    );
    answer.number(
        "coefficient",
        coefficient(inputs, &band)?,
        "{=shut_off_mm} ÷ ({=upper_free_l_per_min})ⁿ",
    );
    let water = Liquid::water(inputs.water("celsius")?);
    let power = hydraulic_power(flow, band.upper.head(flow), &water).on("flow")?;
    answer.number(
        "power_w",
        power.get::<watt>(),
        "density × 9.807 m/s² × {flow} × {upper_head_mm}",
    );
    Ok(())
}

/// The head of a curve at the flow, with its numbers put in.
fn words_of(curve: &Curve) -> String {
    format!(
        "{} m × (1 − ({{=flow}} ÷ {} L/min)^{}), and 0 beyond",
        show::figures(curve.shut_off_head().get::<meter>(), 4),
        show::figures(curve.free_flow().get::<liter_per_minute>(), 4),
        show::figures(curve.exponent(), 4)
    )
}

/// The points that a curve was laid through.
fn points_of(inputs: &Inputs<'_>) -> &'static str {
    let given = |key| inputs.maybe(key).is_some();
    if given("duty_flow") {
        "one point known, {=duty_flow} at {=duty_head}: 4/3 of its head at no flow, twice its flow at no head"
    } else if given("middle_flow") {
        "through {=max_head} at no flow, {=middle_flow} at {=middle_head}, and {=max_flow} at the end"
    } else {
        "from {=max_head} at no flow to {=max_flow} at no head, at speed {=speed}"
    }
}

/// Coefficient of the power: of the curve through the points, whichever end of the band it is.
fn coefficient(inputs: &Inputs<'_>, band: &Band) -> Result<f64, Refusal> {
    let curve = match inputs.maybe("middle_flow") {
        None => band.upper,
        Some(_) => {
            let far_head = inputs
                .maybe("far_head")
                .map_or(millimetres(0.0), millimetres);
            let middle = (inputs.flow("middle_flow")?, inputs.length("middle_head")?);
            Curve::from_three_points(
                inputs.length("max_head")?,
                middle,
                (inputs.flow("max_flow")?, far_head),
            )
            .and_then(|curve| curve.at_speed(inputs.maybe("speed").unwrap_or(1.0)))
            .on("middle_head")?
        }
    };
    let head = curve.shut_off_head().get::<meter>();
    let free = curve.free_flow().get::<liter_per_minute>();
    Ok(head / free.powf(curve.exponent()))
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
                    format!("where the pump's head is {{=lift}} + {lost} mm of loss"),
                );
                let working = format!("{{lift}} + {lost} mm of loss");
                answer.number(head, in_millimetres(point.head), working);
                if point.loss.regime == Regime::Transitional {
                    answer.caution("The tube flows neither laminar nor turbulent there: what its wall takes may be 30 % off.");
                }
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
                    "{{=depth}} over {{=area}}, {} L/min at first, {} at last",
                    show::figures(first.get::<liter_per_minute>(), 4),
                    show::figures(last.get::<liter_per_minute>(), 4)
                );
                answer.number(key, time.get::<minute>(), working);
                if key == "quickest_min" {
                    let constant = rise.free_area * rise.depth / first;
                    answer.number(
                        "at_first_flow_min",
                        constant.get::<minute>(),
                        format!(
                            "{{area}} × {{depth}} ÷ {} L/min",
                            show::figures(first.get::<liter_per_minute>(), 4)
                        ),
                    );
                }
            }
            Flooding::Stalls { at } => {
                answer.none(key, "the pump does not reach that height");
                if key == "slowest_min" {
                    answer.number(
                        "stalls_at_mm",
                        in_millimetres(at),
                        "where {=lift} and the water's height reach the pump's head",
                    );
                }
            }
        }
    }
    Ok(())
}
