//! Calculators of what leaves a solution: vapour, oxygen.

use uom::si::mass_concentration::milligram_per_cubic_meter;
use uom::si::pressure::{millimeter_of_mercury, pascal};
use uom::si::ratio::percent;
use uom::si::volume::cubic_meter;

use super::air::{ROOM, room_volume};
use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, CELSIUS, Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::question::Question;
use crate::science::air::{least_room, oxygen_rise};
use crate::science::quantity::{WaterTemperature, solute_in};
use crate::science::vapour::{mass_in_air, over_liquid, partial_pressures, pure_pressure};

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "vapour",
        says: "Peroxide vapour that still air over a solution can reach at most",
        asks: Question::Air,
        headlines: &["At most {at_most_ppm}, {at_most_mg_per_m3}, in still air over the solution."],
        sources: &[
            "Scatchard, Kavanagh and Ticknor, J. Am. Chem. Soc. 74, 1952 (coefficients from memory), ±20 %",
        ],
        inputs: &[
            must("strength", Kind::Strength, ANY, "strength of the solution"),
            CELSIUS,
        ],
        outputs: &[
            gives("at_most_ppm", Kind::Number("ppm"), "upper bound, by volume"),
            gives(
                "at_most_mg_per_m3",
                Kind::Number("mg/m³"),
                "the same by mass",
            ),
            gives("peroxide_pa", Kind::Number("Pa"), "its partial pressure"),
            gives("pure_pa", Kind::Number("Pa"), "that of pure peroxide"),
            gives(
                "activity",
                Kind::Number(""),
                "activity coefficient of the peroxide",
            ),
            gives(
                "water_pa",
                Kind::Number("Pa"),
                "partial pressure of the water",
            ),
            gives("total_pa", Kind::Number("Pa"), "both together"),
            gives("total_mmhg", Kind::Number("mmHg"), "the same"),
        ],
        cautions: &[
            "An upper bound for still air, ±20 %, not a reading; spray mist can exceed it, and no smell warns. Workplace limits are about 1 ppm.",
        ],
        example: &["strength=3 % w/w", "celsius=25"],
        run: vapour,
    },
    Calculator {
        name: "oxygen",
        says: "The most that oxygen in a closed room can rise when peroxide falls apart in it",
        asks: Question::Air,
        headlines: &["Oxygen rises to {oxygen_percent} at most. Feeds a fire: {may_feed_a_fire}."],
        sources: &[
            "Ideal gas, half a mole of oxygen for a mole of peroxide",
            "23.5 %: US workplace limit, from memory",
        ],
        inputs: &[
            ROOM,
            may("peroxide", Kind::Mass, (0.0, 10_000.0), "pure peroxide"),
            may(
                "strength",
                Kind::Strength,
                ANY,
                "strength of a solution, instead",
            ),
            may(
                "volume",
                Kind::Volume,
                (0.001, 1e6),
                "volume of that solution",
            ),
            or(
                "celsius",
                Kind::Temperature,
                "20",
                (-20.0, 60.0),
                "temperature of the air",
            ),
        ],
        outputs: &[
            gives(
                "rise_points",
                Kind::Number("percent points"),
                "rise, at most",
            ),
            gives("oxygen_percent", Kind::Number("%"), "oxygen then, at most"),
            gives("may_feed_a_fire", Kind::Words, "above 23.5 %"),
            gives(
                "least_room_m3",
                Kind::Number("m³"),
                "least room that stays at or under 23.5 %",
            ),
        ],
        cautions: &["An upper bound: nothing leaves the room and all of it falls apart."],
        example: &["room=60", "peroxide=0.5", "celsius=25"],
        run: oxygen,
    },
];

fn vapour(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let w = inputs
        .strength("strength")?
        .mass_fraction(t)
        .on("strength")?;
    let bound = over_liquid(w, t).on("strength")?;
    answer.number(
        "at_most_ppm",
        bound.ppm(),
        "mole fraction × activity × vapour pressure ÷ 1 atm",
    );
    answer.number(
        "at_most_mg_per_m3",
        mass_in_air(bound.ppm(), t)
            .on("strength")?
            .get::<milligram_per_cubic_meter>(),
        "",
    );
    let over = partial_pressures(w, t).on("strength")?;
    answer.number("peroxide_pa", over.peroxide.get::<pascal>(), "");
    answer.number(
        "pure_pa",
        pure_pressure(t).get::<pascal>(),
        "Scatchard, 1952",
    );
    answer.number("activity", over.peroxide_activity, "");
    answer.number("water_pa", over.water.get::<pascal>(), "");
    answer.number("total_pa", over.total().get::<pascal>(), "");
    answer.number(
        "total_mmhg",
        over.total().get::<millimeter_of_mercury>(),
        "",
    );
    Ok(())
}

fn oxygen(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let air = inputs.air("celsius")?;
    let peroxide = match (inputs.maybe("peroxide"), inputs.maybe_strength("strength")) {
        (Some(_), None) => inputs.mass("peroxide")?,
        (None, Some(strength)) => {
            let t = WaterTemperature::TWENTY;
            solute_in(
                inputs.volume("volume")?,
                strength.concentration(t).on("strength")?,
            )
        }
        (None, None) => {
            return Err("Give the peroxide, or a strength and its volume").on("peroxide");
        }
        (Some(_), Some(_)) => {
            return Err("Give the peroxide or the solution, not both").on("strength");
        }
    };
    let rise = oxygen_rise(peroxide, room_volume(inputs)?, air).on("peroxide")?;
    let least = least_room(peroxide, air).on("peroxide")?;
    answer.number(
        "least_room_m3",
        least.get::<cubic_meter>(),
        "oxygen × (100 − 20.95) ÷ (23.5 − 20.95)",
    );
    answer.number(
        "rise_points",
        rise.points(),
        "oxygen ÷ room × (100 − 20.95)",
    );
    answer.number(
        "oxygen_percent",
        rise.percent().get::<percent>(),
        "20.95 + rise",
    );
    answer.words(
        "may_feed_a_fire",
        if rise.may_feed_a_fire() {
            "yes: air with more than 23.5 % feeds a fire"
        } else {
            "no"
        },
    );
    Ok(())
}
