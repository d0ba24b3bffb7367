//! The calculator of slabs of fibre.

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, part};
use super::question::Question;
use crate::science::flood::Slab;
use crate::science::quantity::in_litres;
use crate::science::tolerances::{KEEPS_GIVEN, TAPE_MM};

pub static ALL: &[Calculator] = &[Calculator {
    name: "rock-wool",
    says: "Water, air and fibre of a drained slab of rock wool",
    asks: Question::Holds,
    headlines: &["It keeps {water_l} of water, and a flood fills {air_l} of air."],
    sources: &[
        "80 % water, 15 % air, 5 % fibre: stored page on rock wool, secondary, within 5 points",
    ],
    inputs: &[
        must("length", Kind::Length, (10.0, 5000.0), "length of a slab").off(amount(TAPE_MM)),
        must("width", Kind::Length, (10.0, 5000.0), "its width").off(amount(TAPE_MM)),
        must("height", Kind::Length, (10.0, 1000.0), "its height").off(amount(TAPE_MM)),
        or(
            "slabs",
            Kind::Number(""),
            "1",
            (1.0, 100_000.0),
            "how many of them",
        ),
        or(
            "water",
            Kind::Number("%"),
            "80",
            (0.0, 99.0),
            "water that stays when it has drained",
        )
        .off(part(KEEPS_GIVEN)),
        or("fibre", Kind::Number("%"), "5", (0.0, 99.0), "fibre"),
        may(
            "weighed",
            Kind::Mass,
            (0.001, 100_000.0),
            "water that a drained slab was found to hold by weight, instead of a part",
        ),
    ],
    outputs: &[
        gives("bulk_l", Kind::Volume, "bulk of all slabs"),
        gives("water_l", Kind::Volume, "water that stays"),
        gives("air_l", Kind::Volume, "air, which a flood fills again"),
        gives("fibre_l", Kind::Volume, "fibre"),
        gives("water_percent", Kind::Number("%"), "water that stays").at_most(100.0),
        gives("air_percent", Kind::Number("%"), "air").at_most(100.0),
        gives("fibre_percent", Kind::Number("%"), "fibre").plain(),
        gives(
            "carried_over",
            Kind::Number(""),
            "part of what is in it that each flood leaves",
        )
        .at_most(1.0),
    ],
    cautions: &[
        "A slab keeps so much that floods hardly rinse it: replace it, do not rinse it. A weighed slab wins over the usual figure.",
    ],
    example: &["length=1000", "width=150", "height=75"],
    run: slab,
}];

fn slab(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let bulk = inputs.length("length")? * inputs.length("width")? * inputs.length("height")?;
    let fibre = inputs.number("fibre")? / 100.0;
    let (water, how) = match inputs.maybe("weighed") {
        // A kilogram of water is a litre, as near as a slab is known.
        Some(kilograms) => (
            kilograms / in_litres(bulk),
            "{weighed} ÷ bulk of one slab × 100",
        ),
        None => (inputs.number("water")? / 100.0, "{=water}, of its bulk"),
    };
    if water + fibre > 1.0 {
        return Err("Water and fibre together are more than the slab").on("water");
    }
    let slab = Slab::new(water, fibre).on("water")?;
    let bulk = bulk * inputs.number("slabs")?;
    let parts = slab.volumes(bulk).on("slabs")?;
    answer.number(
        "bulk_l",
        in_litres(bulk),
        "{length} × {width} × {height} × {slabs}",
    );
    answer.number("water_percent", slab.water * 100.0, how);
    answer.number("fibre_percent", slab.fibre * 100.0, "{=fibre}, of its bulk");
    answer.number(
        "air_percent",
        slab.air * 100.0,
        "100 − {=water_percent} − {=fibre_percent}",
    );
    answer.number(
        "water_l",
        in_litres(parts.water),
        "{bulk_l:bulk} × {water_percent:water}",
    );
    answer.number(
        "air_l",
        in_litres(parts.air),
        "{bulk_l:bulk} × {air_percent:air}",
    );
    answer.number(
        "fibre_l",
        in_litres(parts.fibre),
        "{bulk_l:bulk} × {fibre_percent:fibre}",
    );
    if slab.water + slab.air > 0.0 {
        answer.number(
            "carried_over",
            slab.water / (slab.water + slab.air),
            "{water_l:water} ÷ ({water_l:water} + {air_l:air})",
        );
    }
    Ok(())
}
