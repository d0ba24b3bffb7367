//! Calculators of tubing and pumps.

use uom::si::area::square_meter;
use uom::si::dynamic_viscosity::millipascal_second;
use uom::si::f64::{Area, DynamicViscosity, Length};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::velocity::meter_per_second;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{CELSIUS, Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{Spread, found, part};
use super::published::{FITTINGS, FRICTION};
use super::question::Question;
use crate::science::pipe::{Regime, Run, SMOOTH_PLASTIC_MM, Wall};
use crate::science::quantity::{MassDensity, in_millimetres, millimetres};
use crate::science::show;
use crate::science::tolerances::{
    BORE as TOLERANCE_OF_BORE, FITTINGS_K, FLOW as TOLERANCE_OF_FLOW, FREE_AREA, LAID, PRINTED,
    RIBBED as TOLERANCE_OF_RIBBED,
};
use crate::science::viscosity::Liquid;

pub(super) const FLOW: Input =
    must("flow", Kind::Flow, (0.0, 2000.0), "flow").off(part(TOLERANCE_OF_FLOW));
pub(super) const BORE: Input = must(
    "bore",
    Kind::Length,
    (3.0, 200.0),
    "inside bore of the tube",
)
.off(part(TOLERANCE_OF_BORE));
pub(super) const TUBE: Input =
    must("tube", Kind::Length, (0.0, 200_000.0), "length of the tube").off(part(LAID));
pub(super) const K: Input = or(
    "k",
    Kind::Number(""),
    "5",
    (0.0, 300.0),
    "sum of the fittings' K (exit 1, entrance 0.5, threaded elbow 1.5, check valve 2; ±30 %)",
)
.off(part(FITTINGS_K));
pub(super) const RIBBED: Input = or(
    "ribbed",
    Kind::Number(""),
    "1",
    (1.0, 6.0),
    "loss over a smooth tube's: 1 smooth, 2 to 4 corrugated",
)
.off(found(ribs));
pub(super) const ROUGHNESS: Input = or(
    "roughness",
    Kind::Length,
    "0.0015",
    (0.0, 5.0),
    "height of the wall's grains: {0.0015} smooth plastic, {0.05} steel, {0.26} old iron",
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
pub(super) const MAX_FLOW: Input = must(
    "max_flow",
    Kind::Flow,
    (0.01, 2000.0),
    "flow against no head",
)
.off(part(PRINTED));
pub(super) const AREA: Input = must(
    "area",
    Kind::Number("m²"),
    (0.01, 1000.0),
    "free bench area: plan area × drainable fraction of the media",
)
.off(part(FREE_AREA));

pub static ALL: &[Calculator] = &[Calculator {
    name: "pipe",
    says: "Head that a flow loses in a tube and its fittings",
    asks: Question::Pump,
    headlines: &[
        "The tube and its fittings lose {head_mm} of head at {velocity_m_per_s}, {regime}.",
    ],
    sources: &[FRICTION, FITTINGS],
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
        gives("head_least_mm", Kind::Length, "lost at least").plain(),
        gives("head_most_mm", Kind::Length, "lost at most").plain(),
        gives("pressure_pa", Kind::Number("Pa"), "lost as pressure"),
    ],
    cautions: &[],
    example: &["flow=20 L/min", "bore=19.05", "tube=3 m"],
    run: pipe,
}];

/// What ribs take may be off; a smooth tube has none.
fn ribs(inputs: &Inputs<'_>) -> Option<Spread> {
    let ribbed = inputs.maybe("ribbed").filter(|ribbed| *ribbed > 1.0)?;
    Some(Spread::part(ribbed, TOLERANCE_OF_RIBBED))
}

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

pub(super) fn area(inputs: &Inputs<'_>, key: &'static str) -> Result<Area, Refusal> {
    inputs.number(key).map(Area::new::<square_meter>)
}

fn pipe(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (run, liquid) = (run_of(inputs)?, liquid_of(inputs)?);
    let loss = run.loss(inputs.flow("flow")?, &liquid).on("flow")?;
    let weighs = show::figures(liquid.density().get::<kilogram_per_cubic_meter>(), 4);
    let thick = show::figures(liquid.viscosity().get::<millipascal_second>(), 4);
    answer.number(
        "velocity_m_per_s",
        loss.velocity.get::<meter_per_second>(),
        "{flow} ÷ (π ÷ 4 × {bore}²)",
    );
    answer.number(
        "reynolds",
        loss.reynolds,
        format!("{{velocity_m_per_s:velocity}} × {{bore}} × {weighs} kg/m³ ÷ {thick} mPa·s"),
    );
    answer.words("regime", loss.regime.word());
    match loss.factor {
        Some(factor) => answer.number(
            "factor",
            factor,
            if loss.regime == Regime::Laminar {
                "64 ÷ {reynolds}"
            } else {
                "Colebrook at Re {=reynolds}, grains of {=roughness} in {=bore}"
            },
        ),
        None => answer.none("factor", "standing water"),
    }
    let gravity = by_gravity(inputs)?;
    let mm = |head: Length| in_millimetres(head) * gravity;
    answer.number(
        "friction_mm",
        mm(loss.friction),
        "{factor} × {tube} ÷ {bore} × V² ÷ 2g, V = {=velocity_m_per_s}, × {=ribbed} for its ribs",
    );
    answer.number(
        "fittings_mm",
        mm(loss.fittings),
        "{k} × V² ÷ 2g, V = {=velocity_m_per_s}",
    );
    answer.number("head_mm", mm(loss.head()), "{friction_mm} + {fittings_mm}");
    let (least, most) = loss.band();
    answer.number(
        "head_least_mm",
        mm(least),
        "{=head_mm}, less what wall and fittings may take less",
    );
    answer.number(
        "head_most_mm",
        mm(most),
        "{=head_mm}, and what wall and fittings may take more",
    );
    let density = liquid.density().get::<kilogram_per_cubic_meter>();
    answer.number(
        "pressure_pa",
        loss.head().get::<meter>() * density * STANDARD_GRAVITY,
        format!("{{head_mm}} × {weighs} kg/m³ × g"),
    );
    if loss.regime == Regime::Transitional {
        answer.caution(
            "The flow is neither laminar nor turbulent: what the wall takes may be 30 % off either way.",
        );
    }
    Ok(())
}
