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
use super::off::{found, label_off, part, percent_off, strength_label};
use super::question::Question;
use crate::science::air::{least_room, oxygen_rise};
use crate::science::peroxide::oxygen_of_decomposition;
use crate::science::quantity::{WaterTemperature, in_litres, solute_in};
use crate::science::show;
use crate::science::sources;
use crate::science::strength::Strength;
use crate::science::tolerances::{ENTERED_VOLUME, LABEL_STRONG};
use crate::science::uncertainty::{Input, propagate};
use crate::science::vapour::{
    VAPOUR_SPREAD, VapourData, mass_in_air, over_liquid_by, partial_pressures, pure_pressure,
    water_pressure,
};

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
            must("strength", Kind::Strength, ANY, "strength of the solution")
                .off(found(strength_label).own("strength_off")),
            CELSIUS,
            label_off("strength_off"),
            may(
                "data",
                Kind::Choice(&["activity", "henry"]),
                ANY,
                "published data of the vapour; left out, what the site goes by, else the safer",
            ),
        ],
        outputs: &[
            gives("at_most_ppm", Kind::Number("ppm"), "upper bound, by volume").ranged(),
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
            "An upper bound for still air, ±20 %, not a reading; spray mist can exceed it, and no smell warns. The law and the label say what may be breathed.",
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
            may("peroxide", Kind::Mass, (0.0, 10_000.0), "pure peroxide").off(part(LABEL_STRONG)),
            may(
                "strength",
                Kind::Strength,
                ANY,
                "strength of a solution, instead",
            )
            .off(found(strength_label).own("strength_off")),
            may(
                "volume",
                Kind::Volume,
                (0.001, 1e6),
                "volume of that solution",
            )
            .off(part(ENTERED_VOLUME).own("volume_off")),
            or(
                "celsius",
                Kind::Temperature,
                "20",
                (-20.0, 60.0),
                "temperature of the air",
            ),
            label_off("strength_off"),
            percent_off("volume_off", "10", "volume may be off by; either way"),
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
    let by = inputs.source(sources::Question::Vapour);
    let data = match inputs.maybe_choice("data") {
        Some("henry") => VapourData::Henry,
        Some(_) => VapourData::Activity,
        None => VapourData::of(&by),
    };
    if inputs.maybe_choice("data").is_none() {
        answer.caution(by.to_string());
    }
    let bound = over_liquid_by(w, t, data).on("strength")?;
    let working = match data {
        VapourData::Activity => "{peroxide_pa:partial pressure} ÷ 101 325 Pa × 1 000 000",
        VapourData::Henry => "Henry's law for {=strength} at {=celsius}, activity above 10 %",
    };
    answer.number("at_most_ppm", bound.ppm(), working);
    if answer.wants_ranges() {
        let mut figures: Vec<Input> = ["strength", "celsius"]
            .into_iter()
            .filter_map(|key| inputs.off(key))
            .collect();
        let spread = "20\u{a0}% either way; how far published vapour pressures are apart";
        figures.push(Input::within(
            "model of the vapour",
            spread,
            1.0,
            VAPOUR_SPREAD,
        ));
        let given = inputs.strength("strength")?;
        let ppm = |x: &[f64]| match x {
            [value, degrees, part] => {
                let t = WaterTemperature::new(*degrees).on("celsius")?;
                let strength = Strength::new(*value, given.basis()).on("strength")?;
                let w = strength.mass_fraction(t).on("strength")?;
                Ok(over_liquid_by(w, t, data).on("strength")?.ppm() * part)
            }
            _ => Err("The vapour has three figures").whole(),
        };
        let budget = propagate::<Refusal>(&figures, ppm)?;
        answer.range("at_most_ppm", &budget);
    }
    answer.number(
        "at_most_mg_per_m3",
        mass_in_air(bound.ppm(), t)
            .on("strength")?
            .get::<milligram_per_cubic_meter>(),
        "{=at_most_ppm} × 34.0147 g/mol × 101 325 Pa ÷ (8.314 J/(mol K) × {celsius})",
    );
    let over = partial_pressures(w, t).on("strength")?;
    let moles = show::figures(over.moles, 4);
    answer.number(
        "peroxide_pa",
        over.peroxide.get::<pascal>(),
        format!(
            "{moles} of the moles × {{activity:activity}} × {{pure_pa:pressure of pure peroxide}}"
        ),
    );
    answer.number(
        "pure_pa",
        pure_pressure(t).get::<pascal>(),
        "Scatchard, 1952, at {=celsius}",
    );
    answer.number(
        "activity",
        over.peroxide_activity,
        format!("Scatchard, 1952, at {moles} of the moles and {{=celsius}}"),
    );
    answer.number(
        "water_pa",
        over.water.get::<pascal>(),
        format!(
            "{} of the moles × {} × {} Pa of pure water",
            show::figures(1.0 - over.moles, 4),
            show::figures(over.water_activity, 4),
            show::figures(water_pressure(t).get::<pascal>(), 4)
        ),
    );
    answer.number(
        "total_pa",
        over.total().get::<pascal>(),
        "{=peroxide_pa} + {=water_pa}",
    );
    answer.number(
        "total_mmhg",
        over.total().get::<millimeter_of_mercury>(),
        "{=total_pa} ÷ 133.322 Pa",
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
    let freed = oxygen_of_decomposition(peroxide, air);
    let oxygen = format!("{} L of oxygen", show::figures(in_litres(freed), 4));
    let least = least_room(peroxide, air).on("peroxide")?;
    answer.number(
        "least_room_m3",
        least.get::<cubic_meter>(),
        format!("{oxygen} × (100 − 20.95) ÷ (23.5 − 20.95)"),
    );
    answer.number(
        "rise_points",
        rise.points(),
        format!("{oxygen} ÷ {{=room}} × (100 − 20.95)"),
    );
    answer.number(
        "oxygen_percent",
        rise.percent().get::<percent>(),
        "20.95 + {=rise_points}",
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
