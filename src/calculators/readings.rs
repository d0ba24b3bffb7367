//! Calculators of flows over time, and of purified water.

use uom::si::f64::{Time, VolumeRate};
use uom::si::time::{day, minute, second};
use uom::si::volume_rate::liter_per_minute;

use super::answer::{Answer, OnField, Refusal, whole};
use super::calculator::{ANY, Calculator, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::{amount, part, percent_off};
use super::published::TREND;
use super::question::Question;
use crate::science::flow_test::{from_bucket, mean_of};
use crate::science::quantity::{WaterTemperature, in_litres};
use crate::science::ro::{
    Draw, buffer, correction_by_formula, correction_by_table, flow_at, in_litres_per_hour,
};
use crate::science::sources;
use crate::science::tolerances::{COUNTED_FILL, FLOW, MEMBRANE, TEMPERATURE_C};
use crate::science::trend::{
    CleanFlow, Clogging, Fall, FlowReading, clogging, mann_kendall, theil_sen,
};
use crate::science::uncertainty::{Budget, Input};

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "flow-test",
        says: "Flow from a bucket and a clock, one run or several",
        asks: Question::Readings,
        headlines: &["{flow_l_per_min}, ± {error_l_per_min}."],
        sources: &[
            "Volume over time; errors added as the root of squares; 95 % of several runs by Student's t",
        ],
        inputs: &[
            must("volume", Kind::Volume, (0.1, 1000.0), "volume caught"),
            or(
                "volume_error",
                Kind::Volume,
                "0.1",
                (0.0, 100.0),
                "how well it is read, ±",
            ),
            must(
                "seconds",
                Kind::List("s"),
                (1.0, 3600.0),
                "time of each run",
            ),
            or(
                "seconds_error",
                Kind::Number("s"),
                "0.5",
                (0.0, 60.0),
                "how well it is stopped, ±",
            ),
        ],
        outputs: &[
            gives("flow_l_per_min", Kind::Flow, "flow").ranged(),
            gives("error_l_per_min", Kind::Flow, "its error, ±"),
            gives(
                "scatter_l_per_min",
                Kind::Flow,
                "half the width of the 95 % interval by the scatter of several runs",
            ),
        ],
        cautions: &["Note the lift and the water temperature with it: both change the flow."],
        example: &["volume=10", "seconds=47.6"],
        run: flow_test,
    },
    Calculator {
        name: "clogging",
        says: "Whether the flow of a pump falls over months, and how sure that is",
        asks: Question::Readings,
        headlines: &["Verdict: {verdict}."],
        sources: &[
            TREND,
            "Sudden falls: CUSUM, NIST/SEMATECH e-Handbook 6.3.2.3",
        ],
        inputs: &[
            must(
                "days",
                Kind::List("days"),
                (0.0, 100_000.0),
                "day of each reading, from any fixed day",
            ),
            must(
                "flows",
                Kind::List("L/min"),
                (0.01, 2000.0),
                "flow at the same lift and 20 °C",
            ),
            may(
                "clean_flow",
                Kind::Flow,
                (0.01, 2000.0),
                "mean flow of the clean system",
            ),
            may(
                "clean_error",
                Kind::Flow,
                (0.000_001, 2000.0),
                "scatter of its readings (standard deviation)",
            ),
        ],
        outputs: &[
            gives("verdict", Kind::Words, "what it looks like"),
            gives(
                "per_month_l_per_min",
                Kind::Flow,
                "change in 30 days (Theil-Sen)",
            )
            .ranged()
            .signed(),
            gives(
                "low_l_per_min",
                Kind::Flow,
                "lower end of its 95 % interval",
            )
            .signed(),
            gives("high_l_per_min", Kind::Flow, "upper end").signed(),
            gives("change", Kind::Number("%"), "change over the whole series").signed(),
            gives(
                "p",
                Kind::Number(""),
                "probability without a trend (Mann-Kendall, ties and continuity corrected)",
            ),
        ],
        cautions: &[
            "Compare flows at one lift and one temperature; a cold day or a full reservoir looks like a clog.",
        ],
        example: &[
            "days=0;30;60;90;120;150;180;210;240;270;300;330",
            "flows=12.9;12.8;13.0;12.7;12.8;12.5;12.6;12.4;12.5;12.2;12.3;12.0",
        ],
        run: clog,
    },
    Calculator {
        name: "membrane",
        says: "What a reverse osmosis membrane gives at a feed temperature",
        asks: Question::Water,
        headlines: &["{flow_l_per_h} at that feed temperature."],
        sources: &[
            "Temperature correction: a fit to a thin-film membrane maker's chart, and the table of a water treatment guide; the larger counts",
        ],
        inputs: &[
            must(
                "rated",
                Kind::Flow,
                (0.1 / 60.0, 10_000.0 / 60.0),
                "rated flow at 25 °C",
            )
            .off(part(MEMBRANE).own("rated_off")),
            must(
                "celsius",
                Kind::Temperature,
                (0.0, 40.0),
                "temperature of the feed water",
            )
            .off(amount(TEMPERATURE_C).read()),
            percent_off("rated_off", "15", "rated flow may be off by; either way"),
            may(
                "by",
                Kind::Choice(&["larger", "chart"]),
                ANY,
                "published correction; left out, what the site goes by, else the larger",
            ),
        ],
        outputs: &[
            gives(
                "formula",
                Kind::Number(""),
                "correction by the first table's formula",
            ),
            gives("table", Kind::Number(""), "correction by the second table"),
            gives(
                "flow_l_per_min",
                Kind::Flow,
                "flow, by the correction that is gone by",
            ),
            gives("flow_l_per_h", Kind::Number("L/h"), "the same"),
            gives(
                "by_formula_l_per_h",
                Kind::Number("L/h"),
                "flow by the first",
            ),
            gives(
                "by_table_l_per_h",
                Kind::Number("L/h"),
                "flow by the second",
            ),
        ],
        cautions: &[
            "Published tables differ by 11 % at 10 °C and 25 % at 5 °C. A flow measured with bucket and clock wins.",
        ],
        example: &["rated=12 L/h", "celsius=10"],
        run: membrane,
    },
    Calculator {
        name: "water-tank",
        says: "Tank of purified water that a clean-out needs, and when it must begin to fill",
        asks: Question::Water,
        headlines: &["{tank_l} must stand ready; begin to fill {prefill_min} before."],
        sources: &["Draw less supply, summed to the last fill"],
        inputs: &[
            must(
                "draw",
                Kind::Volume,
                (0.001, 100_000.0),
                "water of one fill",
            )
            .off(part(COUNTED_FILL).own("draw_off")),
            must("fills", Kind::Number(""), (1.0, 500.0), "number of fills"),
            must(
                "every",
                Kind::Time,
                (0.0, 10_080.0),
                "time between two fills",
            ),
            must(
                "supply",
                Kind::Flow,
                (0.1 / 60.0, 10_000.0 / 60.0),
                "what the membrane gives",
            )
            .off(part(FLOW).own("supply_off")),
            percent_off(
                "draw_off",
                "3",
                "water of one fill may be off by; either way",
            ),
            percent_off(
                "supply_off",
                "5",
                "what the membrane gives may be off by; either way",
            ),
        ],
        outputs: &[
            gives(
                "tank_l",
                Kind::Volume,
                "water that must stand ready, and least size of the tank",
            ),
            gives("prefill_min", Kind::Time, "begin to fill it so long before"),
        ],
        cautions: &[],
        example: &["draw=90", "fills=4", "every=45", "supply=7 L/h"],
        run: water_tank,
    },
];

fn in_lpm(flow: VolumeRate) -> f64 {
    flow.get::<liter_per_minute>()
}

fn flow_test(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (volume, volume_error) = (inputs.volume("volume")?, inputs.volume("volume_error")?);
    let time_error = Time::new::<second>(inputs.number("seconds_error")?);
    let mut flows = Vec::new();
    let mut widest = VolumeRate::new::<liter_per_minute>(0.0);
    for seconds in inputs.list("seconds")? {
        let test = from_bucket(
            volume,
            volume_error,
            Time::new::<second>(*seconds),
            time_error,
        )
        .on("seconds")?;
        flows.push(test.flow);
        widest = if test.error > widest {
            test.error
        } else {
            widest
        };
    }
    match flows.as_slice() {
        [] => return Err("Give the time of at least one run").on("seconds"),
        [only] => {
            answer.number("flow_l_per_min", in_lpm(*only), "{volume} ÷ {seconds} s");
            answer.number(
                "error_l_per_min",
                in_lpm(widest),
                "{=flow_l_per_min} × √(({volume_error} ÷ {volume})² + ({seconds_error} ÷ {seconds} s)²)",
            );
        }
        several => {
            let mean = mean_of(several).on("seconds")?;
            let scatter = mean.error > widest;
            answer.number(
                "scatter_l_per_min",
                in_lpm(mean.error),
                "t of Student × standard deviation ÷ √runs, of {=volume} in {=seconds} s",
            );
            answer.number(
                "flow_l_per_min",
                in_lpm(mean.flow),
                format!(
                    "mean of {} runs: {{=volume}} in {{=seconds}} s",
                    several.len()
                ),
            );
            answer.number(
                "error_l_per_min",
                in_lpm(if scatter { mean.error } else { widest }),
                if scatter {
                    "{=scatter_l_per_min}, the scatter of the runs"
                } else {
                    "{=volume_error} and {=seconds_error}, by how well one run is read"
                },
            );
        }
    }
    if let (Some(flow), Some(error)) = (
        answer.number_of("flow_l_per_min"),
        answer.number_of("error_l_per_min"),
    ) {
        let how = "as typed, or 95 % by the scatter of the runs";
        let read = Input::expanded("how well the runs are read", how, flow, error);
        answer.range("flow_l_per_min", &Budget::of(read));
    }
    Ok(())
}

fn clog(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (days, flows) = (inputs.list("days")?, inputs.list("flows")?);
    if days.len() != flows.len() {
        return Err(format!(
            "Give as many flows as days: {} and {}",
            flows.len(),
            days.len()
        ))
        .on("flows");
    }
    let readings: Vec<FlowReading> = days
        .iter()
        .zip(flows)
        .map(|(at, flow)| FlowReading {
            at: Time::new::<day>(*at),
            flow: VolumeRate::new::<liter_per_minute>(*flow),
        })
        .collect();
    let clean = match (inputs.maybe("clean_flow"), inputs.maybe("clean_error")) {
        (Some(_), Some(_)) => Some(CleanFlow {
            mean: inputs.flow("clean_flow")?,
            sd: inputs.flow("clean_error")?,
        }),
        (None, None) => None,
        (Some(_), None) => return Err("Give the scatter of the clean flow too").on("clean_error"),
        (None, Some(_)) => return Err("Give the clean flow too").on("clean_flow"),
    };
    let verdict = clogging(&readings, clean).on("days")?;
    let points: Vec<(f64, f64)> = days.iter().copied().zip(flows.iter().copied()).collect();
    answer.words("verdict", words(&verdict));
    if let Some(slope) = theil_sen(&points) {
        answer.number(
            "per_month_l_per_min",
            slope.slope * 30.0,
            "30 × the median of the slopes of all pairs of {=flows} at {=days} days",
        );
        let pairs = "30 × the slope at that end of the 95 % interval by ranks";
        answer.number("low_l_per_min", slope.low * 30.0, pairs);
        answer.number("high_l_per_min", slope.high * 30.0, pairs);
        let half_width = (slope.high - slope.low) * 15.0;
        let how = "95 % by the ranks of the pairs";
        let scatter = Input::expanded("scatter of the flows", how, slope.slope, half_width);
        answer.between(
            "per_month_l_per_min",
            slope.low * 30.0,
            slope.high * 30.0,
            &Budget::of(scatter),
        );
    }
    if let Clogging::WeakSign(fall) | Clogging::LikelyClogging(fall) = &verdict {
        let Fall { part, .. } = fall;
        answer.number(
            "change",
            part * 100.0,
            "{per_month_l_per_min:change in 30 days} ÷ 30 × days ÷ flow at the start",
        );
    }
    match mann_kendall(flows) {
        Some(test) => answer.number("p", test.p, format!("S = {}, z = {:.3}", test.s, test.z)),
        None => answer.none("p", "too few readings, or all alike"),
    }
    Ok(())
}

fn words(verdict: &Clogging) -> String {
    match verdict {
        Clogging::TooFewReadings => "too few readings to say anything".into(),
        Clogging::NoSign => "no fall that stands out".into(),
        Clogging::WeakSign(_) => "falls, but few readings: take more".into(),
        Clogging::LikelyClogging(_) => {
            "clogging is likely: look at strainer, impeller and tubing".into()
        }
        Clogging::SuddenFall { reading } => {
            format!(
                "fell suddenly by reading {}: something blocks it, or the pump fails",
                reading + 1
            )
        }
    }
}

fn membrane(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let feed: WaterTemperature = inputs.water("celsius")?;
    answer.number(
        "formula",
        correction_by_formula(feed),
        "exp(3020 × (1 ÷ {celsius} − 1 ÷ 298.15)), in kelvin; 2640 above 25 °C",
    );
    let rated = inputs.flow("rated")?;
    let by_formula = rated / correction_by_formula(feed);
    answer.number(
        "by_formula_l_per_h",
        in_litres_per_hour(by_formula),
        "{rated} ÷ {formula}",
    );
    match correction_by_table(feed) {
        Ok(table) => {
            answer.number(
                "table",
                table,
                "straight lines between its rows, at {=celsius}",
            );
            answer.number(
                "by_table_l_per_h",
                in_litres_per_hour(rated / table),
                "{rated} ÷ {table}",
            );
            let by = inputs.source(sources::Question::Membrane);
            let chosen = inputs.maybe_choice("by");
            if chosen.is_none() {
                answer.caution(by.to_string());
            }
            let by_chart = chosen.unwrap_or(by.published.code) == "chart";
            let (flow, working) = if by_chart {
                (by_formula, "{=rated} ÷ {=formula}, by the maker's chart")
            } else {
                let flow = flow_at(rated, feed).on("rated")?;
                (flow, "{=rated} ÷ the larger of {=formula} and {=table}")
            };
            answer.number("flow_l_per_min", in_lpm(flow), working);
            answer.number(
                "flow_l_per_h",
                in_litres_per_hour(flow),
                "{=flow_l_per_min} × 60",
            );
        }
        Err(why) => {
            answer.none("table", why.to_string());
            answer.none(
                "flow_l_per_min",
                "one of the two tables ends before; measure the flow",
            );
        }
    }
    Ok(())
}

fn water_tank(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let fills = whole(inputs.number("fills")?, "fills")?;
    let (volume, every) = (inputs.volume("draw")?, inputs.time("every")?);
    let draws: Vec<Draw> = (0..fills)
        .map(|n| Draw {
            at: every * f64::from(n),
            volume,
        })
        .collect();
    let tank = buffer(&draws, inputs.flow("supply")?).on("every")?;
    answer.number("tank_l", in_litres(tank.volume), "largest lack: draws of {=draw}, {=fills} of them every {=every}, less what {=supply} give meanwhile");
    answer.number(
        "prefill_min",
        tank.prefill.get::<minute>(),
        "{tank_l} ÷ {supply}",
    );
    Ok(())
}
