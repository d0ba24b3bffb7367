//! Calculators of water in fine bores.

use uom::si::angle::degree;
use uom::si::f64::Angle;
use uom::si::pressure::{kilopascal, pascal};

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{CELSIUS, Calculator, gives, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::part;
use super::question::Question;
use crate::science::capillary::{push, rise, surface_tension};
use crate::science::quantity::in_millimetres;
use crate::science::show;
use crate::science::tolerances::{BORE, FLOW, LAID};
use crate::science::viscosity::Liquid;
use crate::science::water;

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "capillary-rise",
        says: "How high water climbs by itself between grains or in a fine bore",
        asks: Question::Holds,
        headlines: &["Water stands {height_mm} high."],
        sources: &[
            "Jurin's law, any textbook (from memory)",
            "Surface tension: IAPWS R1-76 (coefficients from memory)",
        ],
        inputs: &[
            must(
                "bore",
                Kind::Length,
                (0.001, 10.0),
                "width of the bore or pore; between round grains about a third of a grain",
            )
            .off(part(BORE)),
            or(
                "angle",
                Kind::Number("°"),
                "0",
                (0.0, 180.0),
                "angle at which water meets the wall; 0 wets it, above 90 it is repelled",
            ),
            CELSIUS,
        ],
        outputs: &[
            gives(
                "tension_mn_per_m",
                Kind::Number("mN/m"),
                "surface tension of water",
            )
            .plain(),
            gives(
                "height_mm",
                Kind::Length,
                "how high; below 0 the wall pushes it down",
            )
            .signed(),
        ],
        cautions: &[
            "For clean water. A trace of detergent halves it, and real pores have many widths: a bucket test wins.",
        ],
        example: &["bore=1"],
        run: climbs,
    },
    Calculator {
        name: "capillary-tube",
        says: "What it takes to push a flow through a fine straight bore, such as a drip capillary",
        asks: Question::Pump,
        headlines: &[
            "{pressure_kpa} from end to end, {head_mm} of water; laminar at a Reynolds number of {reynolds}.",
        ],
        sources: &["Law of Hagen and Poiseuille, any textbook (from memory)"],
        inputs: &[
            must("flow", Kind::Flow, (0.000_01, 10.0), "flow through it").off(part(FLOW)),
            must("bore", Kind::Length, (0.05, 10.0), "inside bore").off(part(BORE)),
            must("tube", Kind::Length, (1.0, 100_000.0), "length of the bore").off(part(LAID)),
            CELSIUS,
        ],
        outputs: &[
            gives("reynolds", Kind::Number(""), "Reynolds number"),
            gives(
                "pressure_pa",
                Kind::Number("Pa"),
                "pressure from end to end",
            ),
            gives("pressure_kpa", Kind::Number("kPa"), "the same"),
            gives("head_mm", Kind::Length, "the same as head of water"),
        ],
        cautions: &["A bore that fine clogs. The ends are not counted."],
        example: &["flow=1 mL/min", "bore=0.75", "tube=980"],
        run: pushes,
    },
];

fn climbs(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let angle = Angle::new::<degree>(inputs.number("angle")?);
    let height = rise(inputs.length("bore")?, angle, t).on("bore")?;
    answer.number(
        "tension_mn_per_m",
        surface_tension(t) * 1000.0,
        "IAPWS R1-76 at {=celsius}",
    );
    let kilograms = show::figures(water::density(t).value, 4);
    answer.number(
        "height_mm",
        in_millimetres(height),
        format!(
            "4 × {{tension_mn_per_m:tension}} × cos({{angle}}) ÷ ({kilograms} kg/m³ × 9.807 m/s² × {{bore}})"
        ),
    );
    Ok(())
}

fn pushes(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let water = Liquid::water(t);
    let (bore, tube) = (inputs.length("bore")?, inputs.length("tube")?);
    let pushed = push(inputs.flow("flow")?, bore, tube, &water).on("flow")?;
    let mu = show::figures(water.viscosity().value * 1000.0, 4);
    let rho = show::figures(water.density().value, 4);
    answer.number(
        "reynolds",
        pushed.reynolds,
        format!("4 × {rho} kg/m³ × {{flow}} ÷ (π × {{bore}} × {mu} mPa s)"),
    );
    answer.number(
        "pressure_pa",
        pushed.pressure.get::<pascal>(),
        format!("128 × {mu} mPa s × {{tube}} × {{flow}} ÷ (π × {{bore}}⁴)"),
    );
    answer.number(
        "pressure_kpa",
        pushed.pressure.get::<kilopascal>(),
        "{=pressure_pa} ÷ 1000",
    );
    let head = pushed.pressure.value / (water.density().value * 9.80665) * 1000.0;
    answer.number(
        "head_mm",
        head,
        format!("{{=pressure_pa}} ÷ ({rho} kg/m³ × 9.807 m/s²)"),
    );
    Ok(())
}
