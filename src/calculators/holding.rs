//! What a bench and a system hold, worked out.

use super::answer::{Answer, OnField, Refusal, whole};
use super::inputs::Inputs;
use super::off::Spread;
use crate::science::flood::{
    Bed, Bench, BenchMeasures, BenchWater, FloodTo, Lie, MediaFractions, MediaKind, Reservoir,
    Tube, WaterLoop, grooves, hold,
};
use crate::science::quantity::{Known, in_litres, in_millimetres};
use crate::science::show;
use crate::science::tolerances::{DRAINS_GIVEN, DRAINS_USUAL, KEEPS_GIVEN, KEEPS_USUAL};

/// A fraction of the media: as measured, or a usual figure, which may be twice as far off.
pub(super) fn fraction(inputs: &Inputs<'_>, key: &'static str) -> Option<Spread> {
    let kind = MediaKind::from_code(inputs.maybe_choice("media")?)?;
    let usual = kind.usual();
    let (usual, tolerances) = match key {
        "drainable" => (usual.drainable, [DRAINS_GIVEN, DRAINS_USUAL]),
        _ => (usual.retained, [KEEPS_GIVEN, KEEPS_USUAL]),
    };
    let [given, of_usual] = tolerances;
    Some(match inputs.maybe(key) {
        Some(measured) if inputs.is_typed(key) => Spread::part(measured, given),
        other => Spread::part(other.unwrap_or(usual), of_usual),
    })
}

fn bench_of(inputs: &Inputs<'_>) -> Result<Bench, Refusal> {
    let mut measures = BenchMeasures::plain(
        inputs.length("length")?,
        inputs.length("width")?,
        inputs.length("overflow")?,
        inputs.length("wall")?,
    );
    measures.fall = inputs.length("fall")?;
    if let Some(count) = inputs.maybe("grooves") {
        measures.recess = grooves(
            whole(count, "grooves")?,
            measures.length,
            inputs.length("groove_depth")?,
            inputs.length("groove_top")?,
            inputs.length("groove_bottom")?,
        );
    }
    if inputs.maybe("solids").is_some() {
        measures.displaced = inputs.volume("solids")?;
    }
    if let Some(kind) = MediaKind::from_code(inputs.choice("media")?) {
        let usual = kind.usual();
        let measured = inputs.maybe("drainable").zip(inputs.maybe("retained"));
        let known = if measured.is_some() {
            Known::Measured
        } else {
            Known::Usual
        };
        let drainable = inputs.maybe("drainable").unwrap_or(usual.drainable);
        let retained = inputs.maybe("retained").unwrap_or(usual.retained);
        let fractions = MediaFractions::new(drainable, retained).on("drainable")?;
        let depth = inputs.length("depth")?;
        let lie = match inputs.maybe_choice("lie") {
            Some("follows_floor") => Lie::FollowsFloor,
            _ => Lie::Level,
        };
        measures.bed = Some(Bed {
            depth,
            lie,
            fractions,
            known,
        });
    }
    Bench::new(measures).on("overflow")
}

pub(super) fn bench(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let bench = bench_of(inputs)?;
    let usual = bench.water_at(inputs.length("overflow")?).on("overflow")?;
    let said = |water: &BenchWater, to| water_words(&bench, water, to);
    let [void, free, retained] = said(&usual, "{overflow:overflow}");
    answer.number("overflow_void_l", in_litres(usual.void), void);
    answer.number("overflow_free_l", in_litres(usual.free), free);
    answer.number("overflow_retained_l", in_litres(usual.retained), retained);
    answer.number(
        "overflow_first_l",
        in_litres(usual.void + usual.free + usual.retained),
        "{overflow_void_l:in the media} + {overflow_free_l:beside them} + {overflow_retained_l:kept}",
    );
    let level = bench.clean_out_level(inputs.length("margin")?, inputs.length("freeboard")?);
    answer.number(
        "clean_out_level_mm",
        in_millimetres(level.level),
        "highest media + {margin}",
    );
    answer.number(
        "riser_mm",
        in_millimetres(level.riser),
        "{clean_out_level_mm:level} − {overflow}",
    );
    answer.number(
        "dry_wall_mm",
        in_millimetres(level.freeboard),
        "{wall} − {clean_out_level_mm:level}",
    );
    if !level.fits {
        answer.caution("The wall leaves too little over the clean-out level. Take media out or raise the wall; do not flood it like this.");
    }
    let flooded = bench.water_at(level.level).on("wall")?;
    let [void, free, retained] = said(&flooded, "{clean_out_level_mm:level}");
    answer.number("clean_out_void_l", in_litres(flooded.void), void);
    answer.number("clean_out_free_l", in_litres(flooded.free), free);
    answer.number(
        "clean_out_retained_l",
        in_litres(flooded.retained),
        retained,
    );
    Ok(())
}

pub(super) fn system(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let benches = whole(inputs.number("benches")?, "benches")?;
    let tubing = match (inputs.maybe("bore"), inputs.maybe("tubing")) {
        (Some(_), Some(_)) => vec![Tube {
            bore: inputs.length("bore")?,
            length: inputs.length("tubing")?,
        }],
        (None, None) => Vec::new(),
        (Some(_), None) => return Err("Give the length of the tubing too").on("tubing"),
        (None, Some(_)) => return Err("Give the bore of the tubing too").on("bore"),
    };
    let (heel, over_heel) = (inputs.volume("heel")?, inputs.volume("cover")?);
    let capacity = inputs.volume("reservoir")?;
    let system = WaterLoop {
        benches: vec![bench_of(inputs)?; benches as usize],
        tubing,
        reservoir: Reservoir {
            capacity,
            heel,
            over_heel,
        },
    };
    let to = FloodTo::CleanOut {
        margin: inputs.length("margin")?,
        freeboard: inputs.length("freeboard")?,
    };
    let held = hold(&system, to).whole()?;
    let in_benches = held.drained() - held.tubing - held.over_heel - held.heel;
    let each = show::figures(in_litres(in_benches) / f64::from(benches), 4);
    answer.number(
        "benches_l",
        in_litres(in_benches),
        format!("{benches} × {each} L"),
    );
    let each = show::figures(in_litres(held.retained()) / f64::from(benches), 4);
    answer.number(
        "retained_l",
        in_litres(held.retained()),
        format!("{benches} × {each} L"),
    );
    answer.number(
        "tubing_l",
        in_litres(held.tubing),
        "π ÷ 4 × {bore}² × {tubing:length}",
    );
    answer.number(
        "reservoir_l",
        in_litres(held.heel + held.over_heel),
        "{heel} + {cover}",
    );
    answer.number(
        "total_l",
        in_litres(held.total()),
        "{benches_l} + {retained_l} + {tubing_l} + {reservoir_l}",
    );
    answer.number(
        "first_fill_l",
        in_litres(held.fill_when_dry()),
        "{total_l} − {heel}",
    );
    answer.number(
        "refill_l",
        in_litres(held.fill_when_wet()),
        "{total_l} − {heel} − {retained_l}",
    );
    let fit = held.return_fit();
    answer.number(
        "drained_l",
        in_litres(fit.drained),
        "{total_l} − {retained_l}",
    );
    answer.number("spare_l", in_litres(fit.spare), "{reservoir} − {drained_l}");
    answer.words(
        "return_fits",
        if fit.fits {
            "yes"
        } else {
            "no: the reservoir would run over"
        },
    );
    Ok(())
}

/// How the water in the media, the water beside them and the water that stays come about.
fn water_words(bench: &Bench, water: &BenchWater, to: &str) -> [String; 3] {
    let floor = format!("{{=length}} × {{=width}}, floor falling {{=fall}}, up to {to}");
    let Some(bed) = bench.measures().bed else {
        let none = "there are no media".to_owned();
        return [none.clone(), floor, none];
    };
    let (drains, keeps) = (bed.fractions.drainable(), bed.fractions.retained());
    let media = show::figures(in_litres(water.void) / drains, 4);
    [
        format!(
            "{media}\u{a0}L of media under water × {} that drains",
            show::figures(drains, 3)
        ),
        format!("{floor}, less {media}\u{a0}L of media"),
        format!(
            "{media}\u{a0}L of media × {} that stays",
            show::figures(keeps, 3)
        ),
    ]
}
