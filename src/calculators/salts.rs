//! The calculator of osmotic pressure.

use uom::si::f64::{MolarConcentration, Pressure};
use uom::si::molar_concentration::mole_per_liter;
use uom::si::pressure::{bar, kilopascal, psi};

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, gives, may, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::part;
use super::question::Question;
use crate::science::osmotic::{by_conductivity, by_particles, by_solids};
use crate::science::tolerances::{EC_PEN, SCALE};

pub static ALL: &[Calculator] = &[Calculator {
    name: "osmotic",
    says: "Osmotic pressure of a nutrient solution or of the feed of a membrane",
    asks: Question::Water,
    headlines: &["{kpa}, {bar}, {psi}."],
    sources: &[
        "By particles: van 't Hoff's law, any textbook (from memory)",
        "By conductivity, 0.36 atm for each mS/cm: handbook of the US Salinity Laboratory, 1954 (from memory)",
        "By what is dissolved, 1 psi for each 100 mg/L: guide to water treatment",
    ],
    inputs: &[
        may(
            "particles",
            Kind::Number("mmol/L"),
            (0.0, 2000.0),
            "dissolved particles; every ion counts by itself",
        )
        .off(part(SCALE)),
        may(
            "conductivity",
            Kind::Number("mS/cm"),
            (0.0, 20.0),
            "electrical conductivity at 25 °C, instead",
        )
        .off(part(EC_PEN)),
        may(
            "dissolved",
            Kind::Concentration,
            (0.0, 50_000.0),
            "what is dissolved, instead",
        )
        .off(part(EC_PEN)),
        or(
            "celsius",
            Kind::Temperature,
            "20",
            (0.0, 40.0),
            "temperature of the liquid; of particles alone",
        ),
    ],
    outputs: &[
        gives("kpa", Kind::Number("kPa"), "osmotic pressure"),
        gives("bar", Kind::Number("bar"), "the same"),
        gives("psi", Kind::Number("psi"), "the same"),
        gives("head_m", Kind::Number("m"), "the same as head of water"),
    ],
    cautions: &[
        "A rule for salts, within about a tenth. What roots take up at it differs from crop to crop.",
    ],
    example: &["conductivity=2"],
    run: osmotic,
}];

fn osmotic(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let given = (
        inputs.maybe("particles"),
        inputs.maybe("conductivity"),
        inputs.maybe("dissolved"),
    );
    let (pressure, how): (Pressure, &str) = match given {
        (Some(millimoles), None, None) => {
            let particles = MolarConcentration::new::<mole_per_liter>(millimoles / 1000.0);
            (
                by_particles(particles, inputs.water("celsius")?).on("particles")?,
                "{particles} × 8.314 J/(mol K) × ({=celsius} + 273.15) ÷ 1000",
            )
        }
        (None, Some(ec), None) => (
            by_conductivity(ec).on("conductivity")?,
            "{conductivity} × 0.36 atm × 101.325 kPa",
        ),
        (None, None, Some(_)) => (
            by_solids(inputs.concentration("dissolved")?).on("dissolved")?,
            "{dissolved} ÷ 100 mg/L × 6.895 kPa",
        ),
        (None, None, None) => {
            return Err("Give the particles, the conductivity or what is dissolved")
                .on("conductivity");
        }
        _ => {
            return Err("Give one of particles, conductivity and what is dissolved, not more")
                .on("conductivity");
        }
    };
    answer.number("kpa", pressure.get::<kilopascal>(), how);
    answer.number("bar", pressure.get::<bar>(), "{=kpa} ÷ 100");
    answer.number("psi", pressure.get::<psi>(), "{=kpa} ÷ 6.895");
    answer.number(
        "head_m",
        pressure.value / (1000.0 * 9.80665),
        "{=kpa} ÷ 9.807",
    );
    Ok(())
}
