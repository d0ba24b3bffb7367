//! The calculator of decay.

use std::f64::consts::LN_2;

use uom::si::f64::{MassConcentration, Time};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{Calculator, gives, may, must};
use super::inputs::Inputs;
use super::kind::Kind;
use super::question::Question;
use crate::science::decay::{
    DecayRate, DirectFit, LogLine, NotYet, StripReading, StripScale, decay_of,
};
use crate::science::show;
use crate::science::uncertainty::{Budget, Input};

pub static ALL: &[Calculator] = &[Calculator {
    name: "decay",
    says: "How fast a working solution loses strength, from strip readings",
    asks: Question::Soak,
    headlines: &[
        "Half is gone in {half_life_min}; plan with a rate of {fastest}.",
        "No loss shows; plan with a rate of {fastest}.",
    ],
    sources: &[
        "First-order loss, least squares on logarithms; half a colour step of error each way",
    ],
    inputs: &[
        may(
            "scale",
            Kind::List("mg/L"),
            (0.0, 100_000.0),
            "colour steps of the strip, lowest first; without it the readings count as measured",
        ),
        must(
            "minutes",
            Kind::List("min"),
            (0.0, 10_080.0),
            "times of the readings",
        ),
        must(
            "readings",
            Kind::List("mg/L"),
            (0.0, 100_000.0),
            "strength read at each time",
        ),
        may(
            "error",
            Kind::Number("%"),
            (0.0, 100.0),
            "how well a measured reading is known, ±, without a scale",
        ),
    ],
    outputs: &[
        gives("rate", Kind::Number("a minute"), "most likely rate").ranged(),
        gives(
            "slowest",
            Kind::Number("a minute"),
            "slowest that the readings allow",
        ),
        gives("fastest", Kind::Number("a minute"), "fastest; plan with it"),
        gives("half_life_min", Kind::Time, "time in which half is gone").ranged(),
        gives(
            "start_mg_per_l",
            Kind::Concentration,
            "strength at time 0 by the line",
        ),
        gives("used", Kind::Number(""), "readings used"),
        gives(
            "at_least",
            Kind::Number("a minute"),
            "slowest that a reading at the lowest colour allows",
        ),
        gives(
            "rate_error",
            Kind::Number("a minute"),
            "standard error of the rate",
        ),
        gives(
            "half_width",
            Kind::Number("a minute"),
            "half the width of its 95 % interval",
        ),
        gives(
            "r_squared",
            Kind::Number(""),
            "part of the scatter that the line explains",
        ),
        gives(
            "direct_rate",
            Kind::Number("a minute"),
            "rate fitted to the strengths themselves; far from the other, it is no first order",
        ),
        gives(
            "direct_start_mg_per_l",
            Kind::Concentration,
            "start by that fit",
        ),
    ],
    cautions: &[
        "The highest colour of a strip is no measurement and is left out; the lowest says only that it has fallen so far. Read a strip inside its time and before its expiry.",
    ],
    example: &[
        "scale=0;50;100;200;400;1000",
        "minutes=0;30;60",
        "readings=400;200;100",
    ],
    run: decay,
}];

fn mg(value: f64) -> MassConcentration {
    MassConcentration::new::<milligram_per_liter>(value)
}

fn in_mg(concentration: MassConcentration) -> f64 {
    concentration.get::<milligram_per_liter>()
}

fn minutes(time: Time) -> f64 {
    time.get::<minute>()
}

fn decay(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (times, shown) = (inputs.list("minutes")?, inputs.list("readings")?);
    if times.len() != shown.len() {
        return Err(format!(
            "Give as many readings as times: {} and {}",
            shown.len(),
            times.len()
        ))
        .on("readings");
    }
    let Some(steps) = inputs.maybe_list("scale") else {
        return measured_decay(inputs, answer);
    };
    if inputs.maybe("error").is_some() {
        return Err("The steps of the strip say how well it reads: give no error").on("error");
    }
    let steps: Vec<MassConcentration> = steps.iter().copied().map(mg).collect();
    let scale = StripScale::new(&steps).on("scale")?;
    let mut readings = Vec::with_capacity(times.len());
    for (at, shown) in times.iter().zip(shown) {
        let step = scale
            .step_of(mg(*shown))
            .ok_or_else(|| format!("{shown}\u{a0}mg/L is no colour step of this strip"))
            .on("readings")?;
        readings.push(StripReading {
            at: Time::new::<minute>(*at),
            step,
        });
    }
    let decay = decay_of(&scale, &readings)
        .map_err(NotYet::words)
        .on("readings")?;
    let rate = |rate: DecayRate| rate.in_per_minute();
    answer.number("rate", rate(decay.rate), by_line_of(decay.used));
    let steps = "the same with half a colour step of {=scale} each way";
    answer.number("slowest", rate(decay.slowest), steps);
    answer.number("fastest", rate(decay.fastest), steps);
    let how = "half a colour step either way";
    rate_range(answer, rate(decay.slowest), rate(decay.fastest), how);
    if let Some(half) = decay.rate.half_life() {
        answer.number("half_life_min", minutes(half), "ln 2 ÷ {rate}");
    }
    if let Some(at_least) = decay.at_least {
        answer.number(
            "at_least",
            rate(at_least),
            "ln(first less its half step ÷ middle of the two lowest of {=scale}) ÷ time between",
        );
    }
    answer.number(
        "start_mg_per_l",
        in_mg(decay.start),
        "the line at 0 min, falling by {=rate}",
    );
    answer.number("used", decay.used as f64, "of {=readings}");
    Ok(())
}

/// The line through so many points.
fn by_line_of(points: usize) -> &'static str {
    if points > 2 {
        "least squares on the logarithms of {=readings} at {=minutes} min"
    } else {
        "ln(first ÷ last) ÷ time between, of {=readings} at {=minutes} min"
    }
}

/// The range of a rate, and of the time in which half is gone.
fn rate_range(answer: &mut Answer, slowest: f64, fastest: f64, how: &str) {
    let half_width = (fastest - slowest) / 2.0;
    let rate = Budget::of(Input::expanded(
        "readings",
        how,
        (slowest + fastest) / 2.0,
        half_width,
    ));
    answer.between("rate", slowest, fastest, &rate);
    if slowest > 0.0 {
        answer.between("half_life_min", LN_2 / fastest, LN_2 / slowest, &rate);
    }
}

/// Readings that are no colour steps: a line through their logarithms, and a fit beside it.
fn measured_decay(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let points: Vec<(f64, f64)> = inputs
        .list("minutes")?
        .iter()
        .copied()
        .zip(inputs.list("readings")?.iter().copied())
        .collect();
    let line = LogLine::through(&points)
        .ok_or("Give two readings or more, at different times and above nothing")
        .on("readings")?;
    if line.rate < 0.0 {
        return Err("The strength rises: that is no decay").on("readings");
    }
    answer.number("rate", line.rate, by_line_of(points.len()));
    let by_reading = match (inputs.maybe("error"), points.as_slice()) {
        (Some(error), [(from, _), .., (to, _)]) => {
            Some((error / 100.0).hypot(error / 100.0) / (to - from).abs())
        }
        _ => None,
    };
    match (line.rate_error, by_reading) {
        (Some(by_line), _) => answer.number(
            "rate_error",
            by_line,
            "by the scatter of {=readings} about the line",
        ),
        (None, Some(by_reading)) => answer.number(
            "rate_error",
            by_reading,
            "√({error}² + {error}²) ÷ time between {=minutes} min",
        ),
        (None, None) => answer.none(
            "rate_error",
            "two readings show no scatter: give their error",
        ),
    }
    if let Some(width) = line.rate_half_width() {
        answer.number(
            "half_width",
            width,
            "{rate_error:standard error} × t of Student",
        );
    }
    let width = line
        .rate_half_width()
        .unwrap_or(0.0)
        .max(by_reading.unwrap_or(0.0));
    let (slowest, fastest) = ((line.rate - width).max(0.0), line.rate + width);
    let half = format!("{{rate}} − {}", show::figures(width, 4));
    answer.number("slowest", slowest, half);
    let half = format!("{{rate}} + {}", show::figures(width, 4));
    answer.number("fastest", fastest, half);
    rate_range(answer, slowest, fastest, "95 % by the scatter, or as typed");
    if let Some(half) = DecayRate::per_minute(line.rate).on("readings")?.half_life() {
        answer.number("half_life_min", minutes(half), "ln 2 ÷ {rate}");
    }
    answer.number(
        "start_mg_per_l",
        line.start,
        "the line at 0 min, falling by {=rate}",
    );
    answer.number("used", points.len() as f64, "all of {=readings}");
    answer.number(
        "r_squared",
        line.r_squared,
        "1 − squares left about the line ÷ squares about the mean, of the logarithms of {=readings}",
    );
    if let Some(direct) = DirectFit::through(&points) {
        answer.number(
            "direct_rate",
            direct.rate,
            "least squares on {=readings} themselves",
        );
        answer.number(
            "direct_start_mg_per_l",
            direct.start,
            "the curve at 0 min, falling by {=direct_rate}",
        );
    }
    Ok(())
}
