//! Calculators of tubing and pumps.

use uom::si::area::square_meter;
use uom::si::dynamic_viscosity::millipascal_second;
use uom::si::f64::{Area, DynamicViscosity, Length, VolumeRate};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::power::watt;
use uom::si::time::minute;
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::liter_per_minute;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{CELSIUS, Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use crate::science::flood_time::{Flooding, Rise, flood_time};
use crate::science::pipe::{Regime, Run, SMOOTH_PLASTIC_MM, Wall};
use crate::science::pump::{Band, Curve, Operating, hydraulic_power};
use crate::science::quantity::{MassDensity, in_millimetres, millimetres};
use crate::science::show;
use crate::science::viscosity::Liquid;

pub(super) const FLOW: Input = must("flow", Kind::Flow, (0.0, 2000.0), "flow");
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
pub(super) const RIBBED: Input = or(
    "ribbed",
    Kind::Number(""),
    "1",
    (1.0, 6.0),
    "loss over a smooth tube's: 1 smooth, 2 to 4 corrugated",
);
pub(super) const ROUGHNESS: Input = or(
    "roughness",
    Kind::Length,
    "0.0015",
    (0.0, 5.0),
    "height of the wall's grains: 0.0015 smooth plastic, 0.05 steel, 0.26 old iron",
);
/// The standard acceleration of free fall; books differ in its last digits.
pub(super) const GRAVITY: Input = or(
    "gravity",
    Kind::Number("m/s²"),
    "9.80665",
    (9.7, 9.9),
    "acceleration of free fall, to check a worked example with its own",
);
const STANDARD_GRAVITY: f64 = 9.806_65;
const MAX_HEAD: Input = may(
    "max_head",
    Kind::Length,
    (10.0, 500_000.0),
    "head at which no water comes",
);
const MAX_FLOW_OF_PUMP: Input = may(
    "max_flow",
    Kind::Flow,
    (0.01, 10_000.0),
    "flow against no head",
);
pub(super) const MAX_FLOW: Input = must(
    "max_flow",
    Kind::Flow,
    (0.01, 2000.0),
    "flow against no head",
);
const MIDDLE_FLOW: Input = may(
    "middle_flow",
    Kind::Flow,
    (0.01, 10_000.0),
    "a flow printed between, for a curve of three points",
);
const MIDDLE_HEAD: Input = may(
    "middle_head",
    Kind::Length,
    (0.0, 500_000.0),
    "the head at that flow",
);
const FAR_HEAD: Input = may(
    "far_head",
    Kind::Length,
    (0.0, 500_000.0),
    "head left at max_flow, when the third point is not at no head",
);
const DUTY_FLOW: Input = may(
    "duty_flow",
    Kind::Flow,
    (0.01, 10_000.0),
    "flow at the one point known, instead of the others",
);
const DUTY_HEAD: Input = may(
    "duty_head",
    Kind::Length,
    (10.0, 500_000.0),
    "head at that point",
);
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
);
pub(super) const AREA: Input = must(
    "area",
    Kind::Number("m²"),
    (0.01, 1000.0),
    "free bench area: plan area × drainable fraction of the media",
);
const PUMP: &str = "Published numbers do not make a curve: the truth lies between upper and lower. A flow measured with bucket and clock wins.";

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "pipe",
        says: "Head that a flow loses in a tube and its fittings",
        inputs: &[
            FLOW,
            BORE,
            TUBE,
            K,
            RIBBED,
            ROUGHNESS,
            CELSIUS,
            may(
                "density",
                Kind::Number("kg/m³"),
                (0.5, 2000.0),
                "density of another liquid, with its viscosity",
            ),
            may(
                "viscosity",
                Kind::Number("mPa·s"),
                (0.001, 100.0),
                "viscosity of another liquid",
            ),
            GRAVITY,
        ],
        outputs: &[
            gives("velocity_m_per_s", Kind::Number("m/s"), "velocity"),
            gives("reynolds", Kind::Number(""), "Reynolds number"),
            gives("regime", Kind::Words, "how it flows"),
            gives("factor", Kind::Number(""), "Darcy friction factor"),
            gives("friction_mm", Kind::Length, "lost to the wall"),
            gives("fittings_mm", Kind::Length, "lost to the fittings"),
            gives("head_mm", Kind::Length, "lost in all"),
            gives("head_least_mm", Kind::Length, "lost at least"),
            gives("head_most_mm", Kind::Length, "lost at most"),
            gives("pressure_pa", Kind::Number("Pa"), "lost as pressure"),
        ],
        cautions: &[],
        example: &["flow=20 L/min", "bore=19.05", "tube=3 m"],
        run: pipe,
    },
    Calculator {
        name: "pump-curve",
        says: "Head and power of a pump at a flow, from the points that are known of it",
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

pub(super) fn run_of(inputs: &Inputs<'_>) -> Result<Run, Refusal> {
    let run = Run::new(
        inputs.length("bore")?,
        inputs.length("tube")?,
        inputs.number("k")?,
    )
    .on("bore")?;
    let times_smooth = inputs.maybe("ribbed").unwrap_or(1.0);
    let roughness = inputs.maybe("roughness").unwrap_or(SMOOTH_PLASTIC_MM);
    if times_smooth > 1.0 {
        if roughness != SMOOTH_PLASTIC_MM {
            return Err("A ribbed tube counts over a smooth one: give no roughness")
                .on("roughness");
        }
        return run
            .with_wall(Wall::Corrugated { times_smooth })
            .on("ribbed");
    }
    let roughness = millimetres(roughness);
    run.with_wall(Wall::Rough { roughness }).on("roughness")
}

/// Water, or the other liquid that both of its figures were given of.
fn liquid_of(inputs: &Inputs<'_>) -> Result<Liquid, Refusal> {
    match (inputs.maybe("density"), inputs.maybe("viscosity")) {
        (None, None) => Ok(Liquid::water(inputs.water("celsius")?)),
        (Some(density), Some(viscosity)) => Liquid::new(
            MassDensity::new::<kilogram_per_cubic_meter>(density),
            DynamicViscosity::new::<millipascal_second>(viscosity),
        )
        .on("density"),
        (Some(_), None) => Err("Give the viscosity of that liquid too").on("viscosity"),
        (None, Some(_)) => Err("Give the density of that liquid too").on("density"),
    }
}

/// Part by which another gravity changes a head that was reckoned with the standard one.
pub(super) fn by_gravity(inputs: &Inputs<'_>) -> Result<f64, Refusal> {
    Ok(STANDARD_GRAVITY / inputs.number("gravity")?)
}

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

pub(super) fn area(inputs: &Inputs<'_>, key: &'static str) -> Result<Area, Refusal> {
    inputs.number(key).map(Area::new::<square_meter>)
}

fn pipe(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (run, liquid) = (run_of(inputs)?, liquid_of(inputs)?);
    let loss = run.loss(inputs.flow("flow")?, &liquid).on("flow")?;
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
    match loss.factor {
        Some(factor) => answer.number("factor", factor, "64 ÷ Re, or Colebrook"),
        None => answer.none("factor", "standing water"),
    }
    let gravity = by_gravity(inputs)?;
    let mm = |head: Length| in_millimetres(head) * gravity;
    answer.number("friction_mm", mm(loss.friction), "Darcy-Weisbach");
    answer.number("fittings_mm", mm(loss.fittings), "ΣK × V² ÷ 2g");
    answer.number("head_mm", mm(loss.head()), "");
    let (least, most) = loss.band();
    answer.number("head_least_mm", mm(least), "");
    answer.number("head_most_mm", mm(most), "");
    let density = liquid.density().get::<kilogram_per_cubic_meter>();
    answer.number(
        "pressure_pa",
        loss.head().get::<meter>() * density * STANDARD_GRAVITY,
        "head × density × g",
    );
    if loss.regime == Regime::Transitional {
        answer.caution(
            "The flow is neither laminar nor turbulent: what the wall takes may be 30 % off either way.",
        );
    }
    Ok(())
}

fn pump_curve(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (band, flow) = (band_of(inputs)?, inputs.flow("flow")?);
    let lpm = |flow: VolumeRate| flow.get::<liter_per_minute>();
    answer.number("upper_head_mm", in_millimetres(band.upper.head(flow)), "");
    answer.number("lower_head_mm", in_millimetres(band.lower.head(flow)), "");
    answer.number(
        "shut_off_mm",
        in_millimetres(band.upper.shut_off_head()),
        "",
    );
    answer.number("upper_free_l_per_min", lpm(band.upper.free_flow()), "");
    answer.number("lower_free_l_per_min", lpm(band.lower.free_flow()), "");
    answer.number(
        "exponent",
        band.upper.exponent(),
        "head = shut-off head − a × flowⁿ; the straight lines of a band have 1",
    );
    answer.number(
        "coefficient",
        coefficient(inputs, &band)?,
        "shut-off head ÷ free flowⁿ",
    );
    let water = Liquid::water(inputs.water("celsius")?);
    let power = hydraulic_power(flow, band.upper.head(flow), &water).on("flow")?;
    answer.number("power_w", power.get::<watt>(), "density × g × flow × head");
    Ok(())
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
                    format!("lift + {lost} mm of loss"),
                );
                answer.number(head, in_millimetres(point.head), "");
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
                    "{} L/min at first, {} at last",
                    show::figures(first.get::<liter_per_minute>(), 4),
                    show::figures(last.get::<liter_per_minute>(), 4)
                );
                answer.number(key, time.get::<minute>(), working);
                if key == "quickest_min" {
                    let constant = rise.free_area * rise.depth / first;
                    answer.number(
                        "at_first_flow_min",
                        constant.get::<minute>(),
                        "area × depth ÷ first flow",
                    );
                }
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
