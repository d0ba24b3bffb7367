//! Calculators that only change a unit.

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::question::Question;
use crate::science::air::in_cubic_feet_per_minute;
use crate::science::quantity::{
    Celsius, Length, Mass, Volume, in_grams, in_litres, in_millimetres,
};
use crate::science::show;
use crate::science::units::{LengthUnit, MassUnit, TemperatureUnit, VolumeUnit};
use crate::science::vapour::{gas_in_air, gas_ppm};
use uom::si::f64::MassConcentration;
use uom::si::mass_concentration::milligram_per_cubic_meter;
use uom::si::volume_rate::liter_per_minute;

/// Keys and units of a volume.
const VOLUMES: [(&str, VolumeUnit); 11] = [
    ("l", VolumeUnit::Litre),
    ("ml", VolumeUnit::Millilitre),
    ("m3", VolumeUnit::CubicMetre),
    ("us_gal", VolumeUnit::UsGallon),
    ("us_qt", VolumeUnit::UsQuart),
    ("us_pt", VolumeUnit::UsPint),
    ("us_fl_oz", VolumeUnit::UsFluidOunce),
    ("us_tbsp", VolumeUnit::UsTablespoon),
    ("imp_gal", VolumeUnit::ImperialGallon),
    ("imp_pt", VolumeUnit::ImperialPint),
    ("imp_fl_oz", VolumeUnit::ImperialFluidOunce),
];
/// Keys and units of a length.
const LENGTHS: [(&str, LengthUnit); 5] = [
    ("mm", LengthUnit::Millimetre),
    ("cm", LengthUnit::Centimetre),
    ("m", LengthUnit::Metre),
    ("in", LengthUnit::Inch),
    ("ft", LengthUnit::Foot),
];
/// Keys and units of a mass.
const MASSES: [(&str, MassUnit); 5] = [
    ("mg", MassUnit::Milligram),
    ("g", MassUnit::Gram),
    ("kg", MassUnit::Kilogram),
    ("lb", MassUnit::Pound),
    ("oz", MassUnit::Ounce),
];

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "volume",
        says: "A volume in every unit that jugs and labels use",
        asks: Question::Conversions,
        headlines: &["It is {l}, {us_gal} or {imp_gal}."],
        sources: &["US gallon 231 cubic inches, imperial gallon 4.54609 L: exact"],
        inputs: &[must("volume", Kind::Volume, (0.0, 1e6), "the volume")],
        outputs: &[
            gives("l", Kind::Number("L"), "litres"),
            gives("ml", Kind::Number("mL"), "millilitres"),
            gives("m3", Kind::Number("m³"), "cubic metres"),
            gives("us_gal", Kind::Number("US gal"), "US gallons"),
            gives("us_qt", Kind::Number("US qt"), "US quarts"),
            gives("us_pt", Kind::Number("US pt"), "US pints"),
            gives("us_fl_oz", Kind::Number("US fl oz"), "US fluid ounces"),
            gives("us_tbsp", Kind::Number("US tbsp"), "US tablespoons"),
            gives("imp_gal", Kind::Number("imp gal"), "imperial gallons"),
            gives("imp_pt", Kind::Number("imp pt"), "imperial pints"),
            gives(
                "imp_fl_oz",
                Kind::Number("imp fl oz"),
                "imperial fluid ounces",
            ),
        ],
        cautions: &[
            "A US gallon is a sixth smaller than an imperial one, and its ounce 4 % larger.",
        ],
        example: &["volume=5 US gal"],
        run: volume,
    },
    Calculator {
        name: "length",
        says: "A length in every unit that tapes and tubes use",
        asks: Question::Conversions,
        headlines: &["It is {mm} or {in}."],
        sources: &["Inch 25.4 mm: exact"],
        inputs: &[must("length", Kind::Length, (0.0, 1e8), "the length")],
        outputs: &[
            gives("mm", Kind::Number("mm"), "millimetres"),
            gives("cm", Kind::Number("cm"), "centimetres"),
            gives("m", Kind::Number("m"), "metres"),
            gives("in", Kind::Number("in"), "inches"),
            gives("ft", Kind::Number("ft"), "feet"),
        ],
        cautions: &[],
        example: &["length=0.75 in"],
        run: length,
    },
    Calculator {
        name: "mass",
        says: "A mass in every unit that scales use",
        asks: Question::Conversions,
        headlines: &["It is {kg} or {lb}."],
        sources: &["Pound 453.59237 g: exact"],
        inputs: &[must("mass", Kind::Mass, (0.0, 1e6), "the mass")],
        outputs: &[
            gives("mg", Kind::Number("mg"), "milligrams"),
            gives("g", Kind::Number("g"), "grams"),
            gives("kg", Kind::Number("kg"), "kilograms"),
            gives("lb", Kind::Number("lb"), "pounds"),
            gives("oz", Kind::Number("oz"), "ounces by weight"),
        ],
        cautions: &[],
        example: &["mass=2 lb"],
        run: mass,
    },
    Calculator {
        name: "temperature",
        says: "A temperature in °C, °F and K",
        asks: Question::Conversions,
        headlines: &["It is {celsius} or {fahrenheit}."],
        sources: &["Definition of the degrees"],
        inputs: &[must(
            "temperature",
            Kind::Temperature,
            (Celsius::LEAST, Celsius::MOST),
            "the temperature",
        )],
        outputs: &[
            gives("celsius", Kind::Number("°C"), "degrees Celsius"),
            gives("fahrenheit", Kind::Number("°F"), "degrees Fahrenheit"),
            gives("kelvin", Kind::Number("K"), "kelvin"),
        ],
        cautions: &[],
        example: &["temperature=68 F"],
        run: temperature,
    },
    Calculator {
        name: "flow",
        says: "A flow of water or air in every unit that pumps and fans use",
        asks: Question::Conversions,
        headlines: &["It is {l_per_min}, {m3_per_h} or {us_gal_per_min}."],
        sources: &["Exact units"],
        inputs: &[must("flow", Kind::Flow, (0.0, 1e8), "the flow")],
        outputs: &[
            gives("l_per_min", Kind::Number("L/min"), "litres a minute"),
            gives("l_per_h", Kind::Number("L/h"), "litres an hour"),
            gives("l_per_s", Kind::Number("L/s"), "litres a second"),
            gives("m3_per_h", Kind::Number("m³/h"), "cubic metres an hour"),
            gives("m3_per_s", Kind::Number("m³/s"), "cubic metres a second"),
            gives(
                "us_gal_per_min",
                Kind::Number("US gal/min"),
                "US gallons a minute",
            ),
            gives(
                "us_gal_per_h",
                Kind::Number("US gal/h"),
                "US gallons an hour",
            ),
            gives(
                "imp_gal_per_min",
                Kind::Number("imp gal/min"),
                "imperial gallons a minute",
            ),
            gives(
                "ft3_per_min",
                Kind::Number("ft³/min"),
                "cubic feet a minute",
            ),
        ],
        cautions: &[],
        example: &["flow=400 US gal/h"],
        run: flow,
    },
    Calculator {
        name: "gas-in-air",
        says: "A gas in air by volume and by mass",
        asks: Question::Conversions,
        headlines: &["{in_ppm} is {mg_per_m3}."],
        sources: &["Ideal gas at 1 atm"],
        inputs: &[
            may(
                "ppm",
                Kind::Number("ppm"),
                (0.0, 1e6),
                "parts in a million by volume",
            ),
            may(
                "mass",
                Kind::Number("mg/m³"),
                (0.0, 1e6),
                "milligrams in a cubic metre, instead",
            ),
            or(
                "molar_mass",
                Kind::Number("g/mol"),
                "34.0147",
                (2.0, 500.0),
                "molar mass: peroxide 34.0147, peracetic acid 76.05, chlorine 70.906",
            ),
            or(
                "celsius",
                Kind::Temperature,
                "25",
                (0.0, 40.0),
                "temperature of the air; limits are stated at {25} or {20}",
            ),
        ],
        outputs: &[
            gives("mg_per_m3", Kind::Number("mg/m³"), "by mass"),
            gives("in_ppm", Kind::Number("ppm"), "by volume"),
        ],
        cautions: &["Workplace limits are the law's, not this page's."],
        example: &["ppm=1"],
        run: gas,
    },
];

/// How a count of a unit comes about, from what one of it is.
fn each(key: &str, one: f64, unit: &str) -> String {
    format!("{{={key}}} ÷ {} {unit}", show::figures(one, 6))
}

fn volume(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let volume: Volume = inputs.volume("volume")?;
    for (key, unit) in VOLUMES {
        answer.number(
            key,
            unit.count(volume),
            each("volume", in_litres(unit.of(1.0)), "L"),
        );
    }
    Ok(())
}

fn length(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let length: Length = inputs.length("length")?;
    for (key, unit) in LENGTHS {
        answer.number(
            key,
            unit.count(length),
            each("length", in_millimetres(unit.of(1.0)), "mm"),
        );
    }
    Ok(())
}

fn mass(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let mass: Mass = inputs.mass("mass")?;
    for (key, unit) in MASSES {
        answer.number(
            key,
            unit.count(mass),
            each("mass", in_grams(unit.of(1.0)), "g"),
        );
    }
    Ok(())
}

fn temperature(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let celsius = inputs.air("temperature")?;
    answer.number("celsius", celsius.degrees(), "{=temperature}");
    answer.number(
        "fahrenheit",
        TemperatureUnit::Fahrenheit.from_celsius(celsius.degrees()),
        "{=celsius} × 1.8 + 32",
    );
    answer.number("kelvin", celsius.kelvin(), "{=celsius} + 273.15");
    Ok(())
}

fn flow(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let flow = inputs.flow("flow")?;
    let minute = flow.get::<liter_per_minute>();
    let gallon = |unit: VolumeUnit| minute / in_litres(unit.of(1.0));
    answer.number("l_per_min", minute, "{=flow}");
    answer.number("l_per_h", minute * 60.0, "{=l_per_min} × 60");
    answer.number("l_per_s", minute / 60.0, "{=l_per_min} ÷ 60");
    answer.number("m3_per_h", minute * 0.06, "{=l_per_min} × 60 ÷ 1000");
    answer.number("m3_per_s", minute / 60_000.0, "{=l_per_min} ÷ 60 000");
    answer.number(
        "us_gal_per_min",
        gallon(VolumeUnit::UsGallon),
        "{=l_per_min} ÷ 3.78541 L",
    );
    answer.number(
        "us_gal_per_h",
        gallon(VolumeUnit::UsGallon) * 60.0,
        "{=us_gal_per_min} × 60",
    );
    answer.number(
        "imp_gal_per_min",
        gallon(VolumeUnit::ImperialGallon),
        "{=l_per_min} ÷ 4.54609 L",
    );
    answer.number(
        "ft3_per_min",
        in_cubic_feet_per_minute(flow),
        "{=l_per_min} ÷ 28.3168 L",
    );
    Ok(())
}

fn gas(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (molar, air) = (inputs.number("molar_mass")?, inputs.water("celsius")?);
    let mg = match (inputs.maybe("ppm"), inputs.maybe("mass")) {
        (Some(ppm), None) => gas_in_air(ppm, molar, air).on("ppm")?,
        (None, Some(mass)) => MassConcentration::new::<milligram_per_cubic_meter>(mass),
        (None, None) => return Err("Give the parts in a million, or the mass").on("ppm"),
        (Some(_), Some(_)) => return Err("Give one of the two").on("mass"),
    };
    answer.number(
        "mg_per_m3",
        mg.get::<milligram_per_cubic_meter>(),
        "{in_ppm:ppm} × {molar_mass} × 101 325 Pa ÷ (8.314 J/(mol K) × {celsius})",
    );
    let ppm = match inputs.maybe("ppm") {
        Some(ppm) => ppm,
        None => gas_ppm(mg, molar, air).on("mass")?,
    };
    answer.number(
        "in_ppm",
        ppm,
        "{mg_per_m3:mass} × 8.314 J/(mol K) × {celsius} ÷ ({molar_mass} × 101 325 Pa)",
    );
    Ok(())
}
