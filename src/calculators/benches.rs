//! Calculators of what benches and systems hold.

use super::answer::{Answer, OnField, Refusal, whole};
use super::calculator::{ANY, Calculator, Input, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::published::{GEOMETRY, USUAL_FRACTIONS};
use super::question::Question;
use crate::science::flood::{
    Bed, Bench, BenchMeasures, FloodTo, Lie, MediaFractions, MediaKind, Reservoir, Tube, WaterLoop,
    grooves, hold,
};
use crate::science::quantity::{Known, in_litres, in_millimetres};
use crate::science::show;

const LENGTH: Input = must(
    "length",
    Kind::Length,
    (50.0, 100_000.0),
    "inside length of the bench",
);
const WIDTH: Input = must("width", Kind::Length, (50.0, 20_000.0), "inside width");
const FALL: Input = or(
    "fall",
    Kind::Length,
    "0",
    (0.0, 1000.0),
    "fall of the floor along the length",
);
const OVERFLOW: Input = must(
    "overflow",
    Kind::Length,
    (1.0, 2000.0),
    "height of the overflow while a crop grows",
);
const WALL: Input = must("wall", Kind::Length, (1.0, 2000.0), "height of the wall");
const MEDIA: Input = or(
    "media",
    Kind::Choice(&[
        "none",
        "expanded_clay",
        "gravel",
        "perlite",
        "foamed_glass",
        "rice_hulls",
        "pumice",
    ]),
    "none",
    ANY,
    "what fills the bench",
);
const DEPTH: Input = may(
    "depth",
    Kind::Length,
    (1.0, 2000.0),
    "depth of the media at the drain",
);
const DRAINABLE: Input = may(
    "drainable",
    Kind::Number(""),
    (0.01, 0.99),
    "drainable fraction by a bucket test; wins over the usual figure",
);
const RETAINED: Input = may(
    "retained",
    Kind::Number(""),
    (0.0, 0.99),
    "retained fraction by a bucket test",
);
const MARGIN: Input = or(
    "margin",
    Kind::Length,
    "10",
    (0.0, 500.0),
    "water over the highest media",
);
const FREEBOARD: Input = or(
    "freeboard",
    Kind::Length,
    "15",
    (0.0, 500.0),
    "wall that stays dry",
);

const LIE: Input = or(
    "lie",
    Kind::Choice(&["level", "follows_floor"]),
    "level",
    ANY,
    "how the top of the media lies: raked level, or as deep everywhere",
);
const GROOVES: Input = or(
    "grooves",
    Kind::Number(""),
    "0",
    (0.0, 1000.0),
    "grooves along the length",
);
const GROOVE_DEPTH: Input = or("groove_depth", Kind::Length, "0", (0.0, 200.0), "how deep");
const GROOVE_TOP: Input = or(
    "groove_top",
    Kind::Length,
    "0",
    (0.0, 1000.0),
    "how wide at the top",
);
const GROOVE_BOTTOM: Input = or(
    "groove_bottom",
    Kind::Length,
    "0",
    (0.0, 1000.0),
    "how wide at the bottom",
);
const SOLIDS: Input = or(
    "solids",
    Kind::Volume,
    "0",
    (0.0, 100_000.0),
    "solids under water: blocks, pot feet",
);

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "bench",
        says: "What one bench holds at its overflow, and flooded over all media for a clean-out",
        asks: Question::Holds,
        headlines: &[
            "Flooded for a clean-out to {clean_out_level_mm}, the bench takes {clean_out_void_l} in the media and {clean_out_free_l} over and beside them. Clean-out riser: {riser_mm}.",
        ],
        sources: &[GEOMETRY, USUAL_FRACTIONS],
        inputs: &[
            LENGTH,
            WIDTH,
            FALL,
            OVERFLOW,
            WALL,
            MEDIA,
            DEPTH,
            LIE,
            DRAINABLE,
            RETAINED,
            GROOVES,
            GROOVE_DEPTH,
            GROOVE_TOP,
            GROOVE_BOTTOM,
            SOLIDS,
            MARGIN,
            FREEBOARD,
        ],
        outputs: &[
            gives(
                "overflow_void_l",
                Kind::Volume,
                "at the overflow: water in the media",
            ),
            gives(
                "overflow_free_l",
                Kind::Volume,
                "at the overflow: water over and beside them",
            ),
            gives(
                "overflow_retained_l",
                Kind::Volume,
                "at the overflow: water that the media keep",
            ),
            gives(
                "overflow_first_l",
                Kind::Volume,
                "at the overflow: all three, what a first flood of dry media takes",
            ),
            gives(
                "clean_out_level_mm",
                Kind::Length,
                "flood level for the clean-out",
            ),
            gives(
                "riser_mm",
                Kind::Length,
                "clean-out riser over the overflow",
            ),
            gives("dry_wall_mm", Kind::Length, "wall left over that level"),
            gives(
                "clean_out_void_l",
                Kind::Volume,
                "flooded for the clean-out: water in the media",
            ),
            gives(
                "clean_out_free_l",
                Kind::Volume,
                "flooded for the clean-out: water over and beside them",
            ),
            gives(
                "clean_out_retained_l",
                Kind::Volume,
                "water that the media keep when it drains",
            ),
        ],
        cautions: &[
            "Reckoned from measures. A metered fill wins; more than 15 % apart means that a measure is wrong. Take the riser off before release.",
        ],
        example: &[
            "length=2.4 m",
            "width=1.2 m",
            "fall=6",
            "overflow=75",
            "wall=200",
            "media=expanded_clay",
            "depth=100",
        ],
        run: bench,
    },
    Calculator {
        name: "system",
        says: "What a system of benches alike, tubing and reservoir holds when flooded for a clean-out",
        asks: Question::Holds,
        headlines: &[
            "The whole system holds {total_l}; the first fill takes {first_fill_l}. The reservoir takes it back: {return_fits}.",
        ],
        sources: &[GEOMETRY, USUAL_FRACTIONS],
        inputs: &[
            or(
                "benches",
                Kind::Number(""),
                "1",
                (1.0, 100.0),
                "benches alike",
            ),
            LENGTH,
            WIDTH,
            FALL,
            OVERFLOW,
            WALL,
            MEDIA,
            DEPTH,
            DRAINABLE,
            RETAINED,
            MARGIN,
            FREEBOARD,
            may(
                "bore",
                Kind::Length,
                (3.0, 200.0),
                "inside bore of the tubing",
            ),
            may(
                "tubing",
                Kind::Length,
                (1.0, 200_000.0),
                "length of the tubing in all",
            ),
            must(
                "reservoir",
                Kind::Volume,
                (0.1, 1e6),
                "what the reservoir takes to its full mark",
            ),
            or(
                "heel",
                Kind::Volume,
                "0",
                (0.0, 1e6),
                "what the pump leaves",
            ),
            or(
                "cover",
                Kind::Volume,
                "0",
                (0.0, 1e6),
                "what must stand over the heel while benches are flooded",
            ),
        ],
        outputs: &[
            gives(
                "benches_l",
                Kind::Volume,
                "in all benches, water that drains",
            ),
            gives("retained_l", Kind::Volume, "in all media, water that stays"),
            gives("tubing_l", Kind::Volume, "in the tubing"),
            gives(
                "reservoir_l",
                Kind::Volume,
                "in the reservoir: heel and cover",
            ),
            gives(
                "total_l",
                Kind::Volume,
                "the whole system: what a dose is reckoned for",
            ),
            gives(
                "first_fill_l",
                Kind::Volume,
                "first fill, media dry, heel in place",
            ),
            gives("refill_l", Kind::Volume, "later fill, media drained"),
            gives(
                "drained_l",
                Kind::Volume,
                "what stands in the reservoir when all has drained",
            ),
            gives("spare_l", Kind::Volume, "room left in the reservoir then"),
            gives(
                "return_fits",
                Kind::Words,
                "whether the reservoir takes it back",
            ),
        ],
        cautions: &[
            "Reckoned from measures. A metered fill wins; more than 15 % apart means that a measure is wrong.",
        ],
        example: &[
            "benches=2",
            "length=2.4 m",
            "width=1.2 m",
            "overflow=75",
            "wall=200",
            "media=expanded_clay",
            "depth=100",
            "bore=25",
            "tubing=4.7 m",
            "reservoir=600 L",
            "heel=12 L",
        ],
        run: system,
    },
];

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
        let (drainable, retained) = measured.unwrap_or((usual.drainable, usual.retained));
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

fn bench(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let bench = bench_of(inputs)?;
    let usual = bench.water_at(inputs.length("overflow")?).on("overflow")?;
    answer.number("overflow_void_l", in_litres(usual.void), "");
    answer.number("overflow_free_l", in_litres(usual.free), "");
    answer.number("overflow_retained_l", in_litres(usual.retained), "");
    answer.number(
        "overflow_first_l",
        in_litres(usual.void + usual.free + usual.retained),
        "sum of the three",
    );
    let level = bench.clean_out_level(inputs.length("margin")?, inputs.length("freeboard")?);
    answer.number(
        "clean_out_level_mm",
        in_millimetres(level.level),
        "highest media + margin",
    );
    answer.number("riser_mm", in_millimetres(level.riser), "level − overflow");
    answer.number(
        "dry_wall_mm",
        in_millimetres(level.freeboard),
        "wall − level",
    );
    if !level.fits {
        answer.caution("The wall leaves too little over the clean-out level. Take media out or raise the wall; do not flood it like this.");
    }
    let flooded = bench.water_at(level.level).on("wall")?;
    answer.number("clean_out_void_l", in_litres(flooded.void), "");
    answer.number("clean_out_free_l", in_litres(flooded.free), "");
    answer.number("clean_out_retained_l", in_litres(flooded.retained), "");
    Ok(())
}

fn system(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
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
    answer.number("retained_l", in_litres(held.retained()), "");
    answer.number("tubing_l", in_litres(held.tubing), "π ÷ 4 × bore² × length");
    answer.number(
        "reservoir_l",
        in_litres(held.heel + held.over_heel),
        "heel + cover",
    );
    answer.number("total_l", in_litres(held.total()), "sum of the four");
    answer.number(
        "first_fill_l",
        in_litres(held.fill_when_dry()),
        "total − heel",
    );
    answer.number(
        "refill_l",
        in_litres(held.fill_when_wet()),
        "total − heel − retained",
    );
    let fit = held.return_fit();
    answer.number("drained_l", in_litres(fit.drained), "total − retained");
    answer.number("spare_l", in_litres(fit.spare), "reservoir − drained");
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
