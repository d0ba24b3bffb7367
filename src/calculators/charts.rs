//! Calculators of series: averages, charts, trends.

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, Input, Output, gives, may, must, or};
use super::inputs::Inputs;
use super::kind::Kind;
use super::published::TREND;
use super::question::Question;
use crate::science::chart::{Cusum, ewma, ewma_limits, running_sum};
use crate::science::show;
use crate::science::statistics::{mean_and_sd, t95};
use crate::science::trend::{mann_kendall, theil_sen};
use crate::science::uncertainty::{self, Budget};

const VALUES: Input = must(
    "values",
    Kind::List(""),
    (-1e9, 1e9),
    "readings, in the order in which they were taken",
);
const TARGET: Input = must(
    "target",
    Kind::Number(""),
    (-1e9, 1e9),
    "what they should be",
);

/// A figure in the readings' own unit, or without one.
const fn figure(key: &'static str, says: &'static str) -> Output {
    gives(key, Kind::Number(""), says).signed()
}

/// A figure for each reading.
const fn figures(key: &'static str, says: &'static str) -> Output {
    gives(key, Kind::List(""), says)
}

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "spread",
        says: "Mean and standard deviation of readings",
        asks: Question::Readings,
        headlines: &["Mean {mean}, standard deviation {sd}."],
        sources: &["Arithmetic"],
        inputs: &[VALUES],
        outputs: &[
            figure("mean", "mean").ranged(),
            figure("sd", "standard deviation"),
            figure("count", "readings"),
        ],
        cautions: &[],
        example: &["values=12.9;12.8;13.0;12.7"],
        run: spread,
    },
    Calculator {
        name: "ewma",
        says: "Weighted moving average of readings with its limits, for a slow drift",
        asks: Question::Readings,
        headlines: &["Limits {lower} to {upper}."],
        sources: &["NIST/SEMATECH e-Handbook 6.3.2.4"],
        inputs: &[
            VALUES,
            TARGET,
            or(
                "weight",
                Kind::Number(""),
                "0.3",
                (0.01, 1.0),
                "weight of the newest reading",
            ),
            may(
                "sd",
                Kind::Number(""),
                (0.0, 1e9),
                "standard deviation of the readings while all was well",
            ),
            or(
                "sigmas",
                Kind::Number(""),
                "3",
                (1.0, 6.0),
                "how many of them the limits stand off",
            ),
        ],
        outputs: &[
            figures("averages", "the average after each reading"),
            figure("upper", "upper limit"),
            figure("lower", "lower limit"),
            figure(
                "first_outside",
                "first reading whose average is outside, from 1; 0 is none",
            ),
        ],
        cautions: &[],
        example: &["values=52;47;53;49.3", "target=50", "sd=2.0539"],
        run: moving_average,
    },
    Calculator {
        name: "cusum",
        says: "Sums of what readings stand off a target, for a sudden change",
        asks: Question::Readings,
        headlines: &["Largest sums: {most_high} above, {most_low} below."],
        sources: &["NIST/SEMATECH e-Handbook 6.3.2.3"],
        inputs: &[
            VALUES,
            TARGET,
            or(
                "slack",
                Kind::Number(""),
                "0",
                (0.0, 1e9),
                "slack k, usually half a standard deviation",
            ),
            may(
                "limit",
                Kind::Number(""),
                (0.0, 1e9),
                "limit h, usually four to five standard deviations",
            ),
        ],
        outputs: &[
            figures("high", "sum above the target after each reading"),
            figures("low", "sum below it"),
            figures("sums", "plain running sum"),
            figure("most_high", "largest sum above"),
            figure("most_low", "largest sum below"),
            figure(
                "first_high",
                "first reading over the limit, from 1; 0 is none",
            ),
            figure("first_low", "first reading under it, from 1; 0 is none"),
        ],
        cautions: &[],
        example: &[
            "values=12.4;11.8;11.7",
            "target=12.5",
            "slack=0.1",
            "limit=1",
        ],
        run: sums,
    },
    Calculator {
        name: "trend",
        says: "Slope of readings over time that an outlier does not move, and whether it stands out",
        asks: Question::Readings,
        headlines: &["It changes by {slope} for one of time, {low} to {high}."],
        sources: &[TREND],
        inputs: &[
            may(
                "times",
                Kind::List(""),
                (-1e9, 1e9),
                "time of each reading, in any unit; 1, 2, 3 ... if left out",
            ),
            VALUES,
        ],
        outputs: &[
            figure("slope", "change for one of time (Theil-Sen)").ranged(),
            figure("low", "lower end of its 95 % interval"),
            figure("high", "upper end"),
            figure("intercept", "value at time 0"),
            figure("pairs", "pairs of different times"),
            figure("s", "pairs that rise less those that fall (Mann-Kendall)"),
            figure("variance", "its variance, ties corrected"),
            figure("z", "its normal score, continuity corrected"),
            figure("p", "probability without a trend"),
            figure("tau", "rises less falls over all pairs"),
        ],
        cautions: &[
            "Mann-Kendall takes the readings in their order, one for each time. Fewer than eight readings say little.",
        ],
        example: &["values=12.9;12.8;13.0;12.7;12.8;12.5;12.6;12.4;12.5;12.2;12.3;12.0"],
        run: trend,
    },
];

/// The place of a reading counted from 1, or 0.
fn place(found: Option<usize>) -> f64 {
    found.map_or(0.0, |place| place as f64 + 1.0)
}

fn spread(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let values = inputs.list("values")?;
    let (mean, sd) = mean_and_sd(values)
        .ok_or("Give two readings or more")
        .on("values")?;
    let n = values.len() as f64;
    answer.number("mean", mean, "sum of {=values} ÷ {=count}");
    answer.number("sd", sd, "√(Σ (reading − {mean})² ÷ ({count} − 1))");
    answer.number("count", n, "how many stand in {=values}");
    if let Some(t) = t95(values.len() - 1) {
        let half_width = t * sd / n.sqrt();
        let how = format!(
            "95 %: t of Student {} × standard deviation ÷ √{n}",
            show::figures(t, 4)
        );
        let scatter =
            uncertainty::Input::expanded("scatter of the readings", how, mean, half_width);
        answer.range("mean", &Budget::of(scatter));
    }
    Ok(())
}

fn moving_average(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (target, weight) = (inputs.number("target")?, inputs.number("weight")?);
    let averages = ewma(inputs.list("values")?, target, weight).on("weight")?;
    if let Some(sd) = inputs.maybe("sd") {
        let (lower, upper) =
            ewma_limits(target, sd, weight, inputs.number("sigmas")?).on("sigmas")?;
        answer.number(
            "upper",
            upper,
            "{target} + {sigmas} × {sd} × √({weight} ÷ (2 − {weight}))",
        );
        answer.number(
            "lower",
            lower,
            "{target} − {sigmas} × {sd} × √({weight} ÷ (2 − {weight}))",
        );
        let outside = averages.iter().position(|z| !(lower..=upper).contains(z));
        answer.number(
            "first_outside",
            place(outside),
            "first average below {=lower} or above {=upper}",
        );
    }
    answer.list(
        "averages",
        averages,
        "{weight} × reading + (1 − {weight}) × the average before, from {target}",
    );
    Ok(())
}

fn sums(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (values, target) = (inputs.list("values")?, inputs.number("target")?);
    let sums = Cusum::of(values, target, inputs.number("slack")?).on("slack")?;
    let most = |sums: &[f64]| sums.iter().copied().fold(0.0, f64::max);
    answer.number(
        "most_high",
        most(&sums.high),
        "largest sum of reading − {target} − {slack}, over {=values}",
    );
    answer.number(
        "most_low",
        most(&sums.low),
        "largest sum of {target} − {slack} − reading, over {=values}",
    );
    if let Some(limit) = inputs.maybe("limit") {
        answer.number(
            "first_high",
            place(sums.first_high_over(limit)),
            "first sum over {=limit}",
        );
        answer.number(
            "first_low",
            place(sums.first_low_over(limit)),
            "first sum over {=limit}",
        );
    }
    answer.list(
        "high",
        sums.high,
        "sum + reading − {target} − {slack}, never below 0",
    );
    answer.list(
        "low",
        sums.low,
        "sum + {target} − {slack} − reading, never below 0",
    );
    answer.list(
        "sums",
        running_sum(values, target),
        "sum + reading − {target}",
    );
    Ok(())
}

fn trend(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let values = inputs.list("values")?;
    let counted: Vec<f64> = (1..=values.len()).map(|n| n as f64).collect();
    let times = inputs.maybe_list("times").unwrap_or(&counted);
    if times.len() != values.len() {
        return Err(format!(
            "Give as many times as readings: {} and {}",
            times.len(),
            values.len()
        ))
        .on("times");
    }
    let points: Vec<(f64, f64)> = times.iter().copied().zip(values.iter().copied()).collect();
    let slope = theil_sen(&points)
        .ok_or("Give readings at two times or more")
        .on("values")?;
    answer.number(
        "slope",
        slope.slope,
        "median of the slopes of all {=pairs} pairs of {=values}",
    );
    let at_end = "slope at that end of the 95 % interval by ranks, of {=pairs} pairs";
    answer.number("low", slope.low, at_end);
    answer.number("high", slope.high, at_end);
    let half_width = (slope.high - slope.low) / 2.0;
    let how = "95 % by the ranks of the pairs";
    let scatter =
        uncertainty::Input::expanded("scatter of the readings", how, slope.slope, half_width);
    answer.between("slope", slope.low, slope.high, &Budget::of(scatter));
    answer.number(
        "intercept",
        slope.intercept,
        "median reading − {slope} × median time, of {=values}",
    );
    answer.number("pairs", slope.pairs as f64, "of {=values}");
    match mann_kendall(values) {
        Some(test) => {
            let n = values.len() as f64;
            answer.number(
                "s",
                test.s,
                "pairs that rise − pairs that fall, in {=values}",
            );
            answer.number(
                "variance",
                test.variance,
                format!(
                    "{n} × {} × {} ÷ 18, less that of ties",
                    n - 1.0,
                    2.0 * n + 5.0
                ),
            );
            answer.number("z", test.z, "({s} less 1 towards 0) ÷ √{variance}");
            answer.number("p", test.p, "both tails of the normal curve beyond {=z}");
            answer.number(
                "tau",
                test.s / (n * (n - 1.0) / 2.0),
                format!("{{s}} ÷ ({n} × {} ÷ 2)", n - 1.0),
            );
        }
        None => answer.none("p", "too few readings, or all alike"),
    }
    Ok(())
}
