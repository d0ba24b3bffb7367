//! Calculators of what benches and systems hold.

use super::calculator::{ANY, Calculator, Input, gives, may, must, or};
use super::holding;
use super::kind::Kind;
use super::off::{amount, capped, found, part, percent_off};
use super::published::{GEOMETRY, USUAL_FRACTIONS};
use super::question::Question;
use crate::science::tolerances::{
    BED_MM, GROOVES as TOLERANCE_OF_GROOVES, HEEL_MEASURED, LEVEL_MM, OVER_HEEL, TAPE_MM, TUBING,
};

const LENGTH: Input = must(
    "length",
    Kind::Length,
    (50.0, 100_000.0),
    "inside length of the bench",
)
.off(capped(TAPE_MM, 0.1).own("tape_off"));
const WIDTH: Input = must("width", Kind::Length, (50.0, 20_000.0), "inside width")
    .off(capped(TAPE_MM, 0.1).own("tape_off"));
const FALL: Input = or(
    "fall",
    Kind::Length,
    "0",
    (0.0, 1000.0),
    "fall of the floor along the length",
)
.off(capped(TAPE_MM, 0.1).own("tape_off"));
const OVERFLOW: Input = must(
    "overflow",
    Kind::Length,
    (1.0, 2000.0),
    "height of the overflow while a crop grows",
)
.off(amount(LEVEL_MM).read());
const WALL: Input = must("wall", Kind::Length, (1.0, 2000.0), "height of the wall")
    .off(capped(TAPE_MM, 0.1).own("tape_off"));
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
)
.off(capped(BED_MM, 0.5));
const DRAINABLE: Input = may(
    "drainable",
    Kind::Number(""),
    (0.01, 0.99),
    "drainable fraction by a bucket test; wins over the usual figure",
)
.off(found(|inputs| holding::fraction(inputs, "drainable")));
const RETAINED: Input = may(
    "retained",
    Kind::Number(""),
    (0.0, 0.99),
    "retained fraction by a bucket test",
)
.off(found(|inputs| holding::fraction(inputs, "retained")));
const MARGIN: Input = or(
    "margin",
    Kind::Length,
    "10",
    (0.0, 500.0),
    "water over the highest media",
)
.off(amount(LEVEL_MM).read());
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
const GROOVE_DEPTH: Input =
    or("groove_depth", Kind::Length, "0", (0.0, 200.0), "how deep").off(part(TOLERANCE_OF_GROOVES));
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
)
.off(part(TOLERANCE_OF_GROOVES));
const TAPE_OFF: Input = or(
    "tape_off",
    Kind::Length,
    "5",
    (0.0, 100.0),
    "measures by tape may be off by; either way, but not more than a tenth of a measure",
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
            TAPE_OFF,
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
            )
            .signed(),
            gives("dry_wall_mm", Kind::Length, "wall left over that level").signed(),
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
        run: holding::bench,
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
            )
            .off(part(TUBING)),
            must(
                "reservoir",
                Kind::Volume,
                (0.1, 1e6),
                "what the reservoir takes to its full mark",
            )
            .off(part(OVER_HEEL)),
            or(
                "heel",
                Kind::Volume,
                "0",
                (0.0, 1e6),
                "what the pump leaves",
            )
            .off(part(HEEL_MEASURED).own("heel_off")),
            or(
                "cover",
                Kind::Volume,
                "0",
                (0.0, 1e6),
                "what must stand over the heel while benches are flooded",
            )
            .off(part(OVER_HEEL)),
            TAPE_OFF,
            percent_off("heel_off", "10", "heel may be off by; either way"),
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
            gives("spare_l", Kind::Volume, "room left in the reservoir then").signed(),
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
        run: holding::system,
    },
];
