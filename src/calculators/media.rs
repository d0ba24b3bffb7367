//! Calculators of media.

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, Calculator, gives, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, capped};
use super::question::Question;
use crate::science::flood::{HoldingCurve, MediaKind, bucket_test, mean_water_content};
use crate::science::show;
use crate::science::tolerances::{
    BED_MM, BUCKET_MARK_LITRES, DRAINS_USUAL, KEEPS_USUAL, Tolerance,
};
use crate::science::uncertainty::{Budget, Input};

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "media-bucket",
        says: "Drainable and retained fraction of media from a bucket of them",
        asks: Question::Holds,
        headlines: &["Drainable {drainable}, retained {retained}."],
        sources: &["Saturation and drainage method of university extension practice"],
        inputs: &[
            must("bulk", Kind::Volume, (0.1, 1000.0), "media in the bucket")
                .off(amount(BUCKET_MARK_LITRES).own("mark_off")),
            must(
                "soaked",
                Kind::Volume,
                (0.01, 1000.0),
                "water taken to fill it, media wetted from below",
            )
            .off(amount(BUCKET_MARK_LITRES).own("mark_off")),
            must(
                "drained",
                Kind::Volume,
                (0.01, 1000.0),
                "water that drained again",
            )
            .off(amount(BUCKET_MARK_LITRES).own("mark_off")),
            or(
                "mark_off",
                Kind::Volume,
                "0.05",
                (0.0, 10.0),
                "volumes may be off by; either way, half a mark of the bucket",
            ),
        ],
        outputs: &[
            gives("drainable", Kind::Number(""), "drainable fraction").at_most(1.0),
            gives("retained", Kind::Number(""), "retained fraction").at_most(1.0),
            gives("total", Kind::Number(""), "both together").at_most(1.0),
        ],
        cautions: &["Do it at the real depth of the bed: a tall column keeps less."],
        example: &["bulk=10 L", "soaked=5.16 L", "drained=4.2 L"],
        run: media_bucket,
    },
    Calculator {
        name: "usual-media",
        says: "Usual figures of a medium, with where they stand written",
        asks: Question::Holds,
        headlines: &["Drainable {drainable}, retained {retained}."],
        sources: &["As the line of its source says"],
        inputs: &[must(
            "media",
            Kind::Choice(&[
                "expanded_clay",
                "gravel",
                "perlite",
                "foamed_glass",
                "rice_hulls",
                "pumice",
            ]),
            ANY,
            "the medium",
        )],
        outputs: &[
            gives("drainable", Kind::Number(""), "drainable fraction")
                .ranged()
                .at_most(1.0),
            gives("retained", Kind::Number(""), "retained fraction")
                .ranged()
                .at_most(1.0),
            gives("total", Kind::Number(""), "both together")
                .ranged()
                .at_most(1.0),
            gives("source", Kind::Words, "where that stands"),
        ],
        cautions: &["A bucket test of your own wins."],
        example: &["media=expanded_clay"],
        run: usual_media,
    },
    Calculator {
        name: "media-column",
        says: "Mean water that a drained column of media keeps, by its water-holding curve",
        asks: Question::Holds,
        headlines: &["It keeps {retained} of its bulk."],
        sources: &["Water-holding curve: van Genuchten, SSSAJ, 1980, equation 3"],
        inputs: &[
            must(
                "saturated",
                Kind::Number(""),
                (0.01, 0.99),
                "water content when flooded",
            ),
            must(
                "residual",
                Kind::Number(""),
                (0.0, 0.98),
                "water content that never drains",
            ),
            must(
                "alpha",
                Kind::Number("1/m"),
                (0.01, 10_000.0),
                "α of the curve (van Genuchten)",
            ),
            must("shape", Kind::Number(""), (1.01, 20.0), "n of the curve"),
            must(
                "height",
                Kind::Length,
                (1.0, 2000.0),
                "height of the column over its drain",
            )
            .off(capped(BED_MM, 0.5)),
        ],
        outputs: &[gives("retained", Kind::Number(""), "mean water content").at_most(1.0)],
        cautions: &["A bucket test at the real depth of the bed wins."],
        example: &[
            "saturated=0.36",
            "residual=0.02",
            "alpha=111.6",
            "shape=2.7",
            "height=100",
        ],
        run: column,
    },
];

fn media_bucket(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let found = bucket_test(
        inputs.volume("bulk")?,
        inputs.volume("soaked")?,
        inputs.volume("drained")?,
    )
    .on("soaked")?;
    answer.number("drainable", found.drainable(), "{drained} ÷ {bulk}");
    answer.number(
        "retained",
        found.retained(),
        "({soaked} − {drained}) ÷ {bulk}",
    );
    answer.number("total", found.total(), "{soaked} ÷ {bulk}");
    Ok(())
}

fn usual_media(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let kind = MediaKind::from_code(inputs.choice("media")?)
        .ok_or("Give one of the media")
        .on("media")?;
    let usual = kind.usual();
    let said = |part: f64| format!("{} of the bulk of {{=media}}", show::figures(part, 3));
    answer.number("drainable", usual.drainable, said(usual.drainable));
    answer.number("retained", usual.retained, said(usual.retained));
    answer.number(
        "total",
        usual.drainable + usual.retained,
        "{drainable} + {retained}",
    );
    let spread = |what, value: f64, off: Tolerance| {
        Budget::of(Input::within(
            what,
            off.of_it(),
            value,
            value * off.half_width,
        ))
    };
    let drains = spread("drainable fraction", usual.drainable, DRAINS_USUAL);
    let keeps = spread("retained fraction", usual.retained, KEEPS_USUAL);
    answer.range("drainable", &drains);
    answer.range("retained", &keeps);
    answer.range("total", &drains.and(keeps));
    answer.words("source", usual.source);
    Ok(())
}

fn column(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let curve = HoldingCurve {
        saturated: inputs.number("saturated")?,
        residual: inputs.number("residual")?,
        per_metre: inputs.number("alpha")?,
        shape: inputs.number("shape")?,
    };
    if curve.residual >= curve.saturated {
        return Err("What never drains is less than what stands in flooded media").on("residual");
    }
    answer.number(
        "retained",
        mean_water_content(curve, inputs.length("height")?),
        "mean over {=height} of {residual} + ({saturated} − {residual}) ÷ (1 + ({alpha} × z)^{shape})^(1 − 1 ÷ {shape})",
    );
    Ok(())
}
