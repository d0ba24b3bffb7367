//! Calculators of holes and standpipes.

use uom::si::area::square_meter;
use uom::si::f64::{Area, VolumeRate};
use uom::si::time::minute;
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, Calculator, Input, gives, may, must, or};
use super::flows::{GRAVITY, by_gravity};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{Spread, amount, found, part};
use super::published::RISER;
use super::question::Question;
use crate::science::orifice::{Edge, Hole};
use crate::science::overflow::{Limit, Standpipe};
use crate::science::quantity::in_millimetres;
use crate::science::show;
use crate::science::tolerances::{
    BORE, COEFFICIENT, COEFFICIENT_MEASURED, FLOW, FREE_AREA, LEVEL_MM, WEIR,
};

pub(super) const EDGE: Input = or(
    "edge",
    Kind::Choice(&["sharp", "short_tube", "rounded"]),
    "sharp",
    ANY,
    "edge of the hole: drilled, a bulkhead fitting, rounded",
);
pub(super) const CD: Input = may(
    "cd",
    Kind::Number(""),
    (0.3, 1.0),
    "discharge coefficient that was measured; wins over the edge",
)
.off(found(coefficient));

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "hole",
        says: "Flow through a hole, how long a tank takes to empty through it, and two tanks to level out",
        asks: Question::Drain,
        headlines: &["{flow_l_per_min} at the start."],
        sources: &[
            "Torricelli; 0.6 for a sharp edge: course exercises; the other coefficients are textbook values, from memory",
        ],
        inputs: &[
            must("bore", Kind::Length, (2.0, 500.0), "bore of the hole").off(part(BORE)),
            must(
                "from",
                Kind::Length,
                (0.0, 20_000.0),
                "water over the hole at the start, or difference of two levels",
            )
            .off(amount(LEVEL_MM).read()),
            or(
                "to",
                Kind::Length,
                "0",
                (0.0, 5000.0),
                "the same at the end",
            ),
            may(
                "area",
                Kind::Number("m²"),
                (0.001, 1000.0),
                "free plan area of the tank or bench",
            )
            .off(part(FREE_AREA)),
            may(
                "second_area",
                Kind::Number("m²"),
                (0.001, 1000.0),
                "free plan area of the other tank, when two level out",
            )
            .off(part(FREE_AREA)),
            EDGE,
            CD,
            may(
                "measured_flow",
                Kind::Flow,
                (0.001, 10_000.0),
                "flow measured at the start, to find the coefficient",
            )
            .off(part(FLOW)),
            GRAVITY,
        ],
        outputs: &[
            gives("flow_l_per_min", Kind::Flow, "flow at the start"),
            gives("flow_m3_per_s", Kind::Number("m³/s"), "the same"),
            gives("drain_min", Kind::Time, "until the water stands at the end"),
            gives("level_min", Kind::Time, "until the two differ by the end"),
            gives(
                "cd_measured",
                Kind::Number(""),
                "coefficient by the measured flow",
            ),
        ],
        cautions: &[
            "Below 4 mm a drain whirls and sucks air, and the rest dribbles. A measured drain wins.",
        ],
        example: &["bore=25.4", "from=50", "to=4", "area=2.88"],
        run: hole,
    },
    Calculator {
        name: "standpipe",
        says: "What an open standpipe passes at a head over its rim, and the head that a flow needs",
        asks: Question::Drain,
        headlines: &["It passes {flow_l_per_min}; {limit} sets that."],
        sources: &[RISER],
        inputs: &[
            must(
                "bore",
                Kind::Length,
                (5.0, 300.0),
                "inside bore of the standpipe",
            )
            .off(part(BORE)),
            may("head", Kind::Length, (0.0, 1000.0), "water over the rim")
                .off(amount(LEVEL_MM).read()),
            may("flow", Kind::Flow, (0.0, 2000.0), "flow to pass").off(part(FLOW)),
            or(
                "weir",
                Kind::Number("√m/s"),
                "1.66",
                (1.4, 2.0),
                "coefficient of the rim (3.0 in feet; 1.55 to 1.84 is seen)",
            )
            .off(amount(WEIR)),
            EDGE,
            CD,
        ],
        outputs: &[
            gives("rim_l_per_min", Kind::Flow, "over the rim, as over a weir"),
            gives("mouth_l_per_min", Kind::Flow, "through the drowned mouth"),
            gives("flow_l_per_min", Kind::Flow, "what it passes: the smaller"),
            gives("limit", Kind::Words, "what sets it"),
            gives(
                "head_rim_mm",
                Kind::Length,
                "head that the flow needs at the rim",
            ),
            gives(
                "head_mouth_mm",
                Kind::Length,
                "head that it needs at the mouth",
            ),
            gives("head_mm", Kind::Length, "head that it needs: the larger"),
            gives(
                "meets_at_mm",
                Kind::Length,
                "head at which rim and mouth pass the same",
            ),
        ],
        cautions: &[
            "Clean and free of media; with a strainer count half. 'overflow' checks a bench against its pump.",
        ],
        example: &["bore=32", "head=20", "flow=25"],
        run: standpipe,
    },
];

/// The coefficient: measured, or by the edge and then less sure.
fn coefficient(inputs: &Inputs<'_>) -> Option<Spread> {
    let cd = match edge(inputs).ok()? {
        Edge::Measured(cd) => cd,
        edge => edge.coefficient(),
    };
    let tolerance = if inputs.is_typed("cd") {
        COEFFICIENT_MEASURED
    } else {
        COEFFICIENT
    };
    Some(Spread::part(cd, tolerance))
}

pub(super) fn edge(inputs: &Inputs<'_>) -> Result<Edge, Refusal> {
    Ok(match (inputs.maybe("cd"), inputs.choice("edge")?) {
        (Some(cd), _) => Edge::Measured(cd),
        (None, "short_tube") => Edge::ShortTube,
        (None, "rounded") => Edge::Rounded,
        (None, _) => Edge::Sharp,
    })
}

fn hole(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let hole = Hole::new(inputs.length("bore")?, edge(inputs)?).on("bore")?;
    let cd = show::figures(edge(inputs)?.coefficient(), 3);
    let (from, to) = (inputs.length("from")?, inputs.length("to")?);
    if to > from {
        return Err("The level falls: give one that is not above the first").on("to");
    }
    // A flow goes with the root of gravity, a time with its inverse.
    let slower = by_gravity(inputs)?.sqrt();
    let flow = hole.flow(from).on("from")? / slower;
    answer.number(
        "flow_l_per_min",
        flow.get::<liter_per_minute>(),
        format!("{cd} × π ÷ 4 × {{bore}}² × √(2 × {{gravity}} × {{from}})"),
    );
    answer.number(
        "flow_m3_per_s",
        flow.get::<cubic_meter_per_second>(),
        "{=flow_l_per_min} ÷ 60 000",
    );
    if let Some(first) = inputs.maybe("area").map(Area::new::<square_meter>) {
        match inputs.maybe("second_area").map(Area::new::<square_meter>) {
            None => {
                let time = hole.drain_time(first, from, to).on("to")? * slower;
                answer.number(
                    "drain_min",
                    time.get::<minute>(),
                    format!("2 × {{area}} × (√{{from}} − √{{to}}) ÷ ({cd} × π ÷ 4 × {{bore}}² × √(2 × {{gravity}}))"),
                );
            }
            Some(second) => {
                let time = hole.level_time(first, second, from, to).on("to")? * slower;
                answer.number(
                    "level_min",
                    time.get::<minute>(),
                    "as one tank of {area} × {second_area} ÷ ({area} + {second_area})",
                );
            }
        }
    }
    if let Some(measured) = inputs.maybe("measured_flow") {
        let measured = VolumeRate::new::<liter_per_minute>(measured);
        let full = Hole::new(inputs.length("bore")?, Edge::Measured(1.0)).on("bore")?;
        let full = full.flow(from).on("from")? / slower;
        if full.value > 0.0 {
            answer.number(
                "cd_measured",
                (measured / full).value,
                "{measured_flow} ÷ (π ÷ 4 × {bore}² × √(2 × {gravity} × {from}))",
            );
        } else {
            answer.none("cd_measured", "nothing drives the water");
        }
    }
    Ok(())
}

fn standpipe(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let pipe = Standpipe::new(inputs.length("bore")?)
        .on("bore")?
        .with_coefficients(inputs.number("weir")?, edge(inputs)?)
        .on("weir")?;
    let cd = show::figures(edge(inputs)?.coefficient(), 3);
    if inputs.maybe("head").is_none() && inputs.maybe("flow").is_none() {
        return Err("Give the water over the rim, or the flow to pass").on("head");
    }
    if inputs.maybe("head").is_some() {
        let capacity = pipe.capacity(inputs.length("head")?).on("head")?;
        let lpm = |flow: VolumeRate| flow.get::<liter_per_minute>();
        answer.number(
            "rim_l_per_min",
            lpm(capacity.rim),
            "{weir} × π × {bore} × {head}^1.5",
        );
        answer.number(
            "mouth_l_per_min",
            lpm(capacity.mouth),
            format!("{cd} × π ÷ 4 × {{bore}}² × √(2g × {{head}})"),
        );
        answer.number(
            "flow_l_per_min",
            lpm(capacity.flow()),
            "the smaller of {=rim_l_per_min} and {=mouth_l_per_min}",
        );
        answer.words(
            "limit",
            match capacity.limit() {
                Limit::Rim => "the rim, as a weir",
                Limit::Mouth => "the drowned mouth",
            },
        );
    }
    if inputs.maybe("flow").is_some() {
        let flow = inputs.flow("flow")?;
        let (rim, mouth) = pipe.heads_needed(flow);
        answer.number(
            "head_rim_mm",
            in_millimetres(rim),
            "({flow} ÷ ({weir} × π × {bore}))^(2/3)",
        );
        answer.number(
            "head_mouth_mm",
            in_millimetres(mouth),
            format!("({{flow}} ÷ ({cd} × π ÷ 4 × {{bore}}²))² ÷ 2g"),
        );
        let head = pipe.head_needed(flow).on("flow")?;
        answer.number(
            "head_mm",
            in_millimetres(head),
            "the larger of {=head_rim_mm} and {=head_mouth_mm}",
        );
    }
    answer.number(
        "meets_at_mm",
        in_millimetres(pipe.meets_at()),
        format!("{cd} × {{bore}} × √2g ÷ (4 × {{weir}})"),
    );
    Ok(())
}
