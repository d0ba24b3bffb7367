//! Calculators of water that evaporates from a free surface.

use uom::si::area::square_meter;
use uom::si::available_energy::kilojoule_per_kilogram;
use uom::si::f64::{Area, MassRate, Pressure, Velocity};
use uom::si::mass_rate::{gram_per_second, kilogram_per_hour, pound_per_minute};
use uom::si::pressure::{kilopascal, millimeter_of_mercury};
use uom::si::velocity::meter_per_second;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{CELSIUS, Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{capped, part};
use super::question::Question;
use crate::science::evaporation::{FreeSurface, QUIET, latent_heat, vapour_in_air, water_in_air};
use crate::science::show;
use crate::science::tolerances::{AIR_READING, EVAPORATES, FREE_AREA, HUMIDITY_POINTS};
use crate::science::vapour::water_pressure;

const AREA: Input = must(
    "area",
    Kind::Number("m²"),
    (0.0001, 10_000.0),
    "free surface of the water",
)
.off(part(FREE_AREA));
const SPEED: Input = or(
    "air",
    Kind::Number("m/s"),
    "0.1",
    (0.0, 10.0),
    "speed of the air over it; 0.1 in a closed room, 0.5 under fans",
)
.off(part(EVAPORATES));
/// The names of what was lost, in the three units that people use.
const KG_PER_H: &str = "kg_per_h";
const NO_LEAVE: &str =
    "To plan a top-up by. No re-entry rests on it: the label, the law or a reading decides.";

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "evaporation",
        says: "Water that evaporates from an open bench or reservoir, by the humidity of the air",
        asks: Question::Air,
        headlines: &["{kg_per_h} evaporate, {quiet_kg_per_h} if the water lies quiet."],
        sources: &[
            "Carrier's equation as ASHRAE gives it, seen in US units; SI constants from memory",
            "74 % over quiet water, as measured: abstract in ASHRAE Transactions 104",
            "Water in air, 25 + 19 v: worked example of an engineering reference",
        ],
        inputs: &[
            AREA,
            SPEED,
            CELSIUS,
            may(
                "air_celsius",
                Kind::Temperature,
                (0.0, 40.0),
                "temperature of the air; left out, that of the water",
            ),
            or(
                "humidity",
                Kind::Number("%"),
                "60",
                (0.0, 100.0),
                "relative humidity of the air",
            )
            .off(capped(HUMIDITY_POINTS, 0.5)),
        ],
        outputs: &[
            gives(
                "water_kpa",
                Kind::Number("kPa"),
                "pressure of vapour over the water",
            ),
            gives(
                "air_kpa",
                Kind::Number("kPa"),
                "pressure of vapour in the air",
            ),
            gives(
                "latent_kj_per_kg",
                Kind::Number("kJ/kg"),
                "heat that a kilogram takes with it",
            )
            .plain(),
            gives(KG_PER_H, Kind::Number("kg/h"), "water that evaporates"),
            gives("kg_per_day", Kind::Number("kg/d"), "the same in a day"),
            gives("g_per_s", Kind::Number("g/s"), "the same in a second"),
            gives(
                "quiet_kg_per_h",
                Kind::Number("kg/h"),
                "if the water lies quiet",
            ),
            gives(
                "by_humidity_kg_per_h",
                Kind::Number("kg/h"),
                "by a second formula, from the water in the air",
            ),
        ],
        cautions: &[NO_LEAVE],
        example: &["area=2.88", "air=0.1", "celsius=22", "humidity=60"],
        run: evaporation,
    },
    Calculator {
        name: "evaporation-by-humidity",
        says: "Water that evaporates, from kilograms of water in a kilogram of air",
        asks: Question::Air,
        headlines: &["{kg_per_h} evaporate, {kg_per_s} a second."],
        sources: &["Worked example of an engineering reference, quoted on a stored page"],
        inputs: &[
            AREA,
            SPEED,
            must(
                "full",
                Kind::Number("kg/kg"),
                (0.0, 0.1),
                "water in air that is full of it at the temperature of the water",
            ),
            must(
                "holds",
                Kind::Number("kg/kg"),
                (0.0, 0.1),
                "water in the air as it is",
            )
            .off(part(AIR_READING)),
        ],
        outputs: &[
            gives(KG_PER_H, Kind::Number("kg/h"), "water that evaporates"),
            gives("kg_per_s", Kind::Number("kg/s"), "the same in a second"),
        ],
        cautions: &[NO_LEAVE],
        example: &["area=500", "air=0.5", "full=0.019826", "holds=0.0115"],
        run: by_humidity,
    },
    Calculator {
        name: "pool",
        says: "How fast a spilled or standing liquid evaporates into clean air, as an upper figure",
        asks: Question::Air,
        headlines: &["{g_per_s} evaporate, {lb_per_min} a minute."],
        sources: &[
            "US EPA, guidance for risk management programs, 550-B-99-009, equation D-1 (coefficient from memory)",
        ],
        inputs: &[
            AREA,
            must(
                "air",
                Kind::Number("m/s"),
                (0.1, 10.0),
                "speed of the air over it; slower than 0.1 is not reckoned with",
            )
            .off(part(EVAPORATES)),
            or(
                "molar_mass",
                Kind::Number("g/mol"),
                "18.02",
                (2.0, 500.0),
                "molar mass of what evaporates; that of water if left out",
            ),
            may(
                "pressure",
                Kind::Number("mmHg"),
                (0.0, 760.0),
                "its vapour pressure; left out, that of water",
            ),
            CELSIUS,
        ],
        outputs: &[
            gives(
                "pressure_mmhg",
                Kind::Number("mmHg"),
                "vapour pressure that is gone by",
            )
            .plain(),
            gives("lb_per_min", Kind::Number("lb"), "evaporates in a minute"),
            gives("g_per_s", Kind::Number("g/s"), "the same in a second"),
            gives(KG_PER_H, Kind::Number("kg/h"), "the same in an hour"),
        ],
        cautions: &[
            NO_LEAVE,
            "Published powers of the air differ, 0.78 here and 0.10 in wind tunnels: in slow air it may be more.",
        ],
        example: &["area=1", "air=1.5", "pressure=23.77", "celsius=25"],
        run: pool,
    },
];

fn surface(inputs: &Inputs<'_>) -> Result<FreeSurface, Refusal> {
    let area = Area::new::<square_meter>(inputs.number("area")?);
    let air = Velocity::new::<meter_per_second>(inputs.number("air")?);
    FreeSurface::new(area, air).on("area")
}

fn hourly(rate: MassRate) -> f64 {
    rate.get::<kilogram_per_hour>()
}

fn evaporation(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let water = inputs.water("celsius")?;
    let air = match inputs.maybe("air_celsius") {
        Some(_) => inputs.water("air_celsius")?,
        None => water,
    };
    let there = vapour_in_air(inputs.number("humidity")?, air).on("humidity")?;
    let surface = surface(inputs)?;
    let lost = surface.evaporates(water, there);
    let full = water_pressure(water);
    answer.number(
        "water_kpa",
        full.get::<kilopascal>(),
        "saturation formula of IAPWS at {=celsius}",
    );
    let in_air = water_pressure(air).get::<kilopascal>();
    answer.number(
        "air_kpa",
        there.get::<kilopascal>(),
        format!("{{humidity}} × {} kPa", show::figures(in_air, 4)),
    );
    answer.number(
        "latent_kj_per_kg",
        latent_heat(water).get::<kilojoule_per_kilogram>(),
        "2500.9 − 2.3645 × {=celsius} − 0.00018 × {=celsius}²",
    );
    if there > full {
        answer.caution(
            "The air holds more vapour than the water gives: water gathers on it instead, and nothing evaporates.",
        );
    }
    answer.number(
        KG_PER_H,
        hourly(lost),
        "{area} × ({water_kpa:over water} − {air_kpa:in air}) × (0.089 + 0.0782 × {air}) ÷ {latent_kj_per_kg:latent heat} × 3600 s",
    );
    answer.number("kg_per_day", hourly(lost) * 24.0, "{=kg_per_h} × 24");
    answer.number(
        "g_per_s",
        lost.get::<gram_per_second>(),
        "{=kg_per_h} ÷ 3.6",
    );
    answer.number("quiet_kg_per_h", hourly(lost) * QUIET, "{=kg_per_h} × 0.74");
    let (most, holds) = (water_in_air(full), water_in_air(there));
    let second = surface.evaporates_by_humidity(most, holds).on("humidity")?;
    answer.number(
        "by_humidity_kg_per_h",
        hourly(second),
        format!(
            "(25 + 19 × {{air}}) × {{area}} × ({} − {})",
            show::figures(most, 4),
            show::figures(holds, 4)
        ),
    );
    Ok(())
}

fn by_humidity(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (full, holds) = (inputs.number("full")?, inputs.number("holds")?);
    let lost = surface(inputs)?
        .evaporates_by_humidity(full, holds)
        .on("full")?;
    if holds > full {
        answer.caution("The air holds more than it can at this water: nothing evaporates.");
    }
    answer.number(
        KG_PER_H,
        hourly(lost),
        "(25 + 19 × {air}) × {area} × ({full} − {holds})",
    );
    answer.number("kg_per_s", hourly(lost) / 3600.0, "{=kg_per_h} ÷ 3600");
    Ok(())
}

fn pool(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let liquid = inputs.water("celsius")?;
    let (pressure, how) = match inputs.maybe("pressure") {
        Some(mmhg) => (
            Pressure::new::<millimeter_of_mercury>(mmhg),
            "{=pressure}, as typed",
        ),
        None => (
            water_pressure(liquid),
            "saturation formula of IAPWS for water at {=celsius}",
        ),
    };
    let lost = surface(inputs)?
        .pool(inputs.number("molar_mass")?, pressure, liquid)
        .on("air")?;
    answer.number(
        "pressure_mmhg",
        pressure.get::<millimeter_of_mercury>(),
        how,
    );
    answer.number(
        "lb_per_min",
        lost.get::<pound_per_minute>(),
        "0.284 × {air}^0.78 × {molar_mass}^(2/3) × {area} × 10.7639 ft² × {pressure_mmhg:pressure} ÷ (82.05 × ({=celsius} + 273.15))",
    );
    answer.number(
        "g_per_s",
        lost.get::<gram_per_second>(),
        "{=lb_per_min} × 453.592 g ÷ 60 s",
    );
    answer.number(KG_PER_H, hourly(lost), "{=g_per_s} × 3.6");
    Ok(())
}
