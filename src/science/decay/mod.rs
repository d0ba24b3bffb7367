//! Decay of a working solution: how fast its strength falls, from strip readings.

use uom::si::f64::{MassConcentration, Time};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;

use super::quantity::{Celsius, OutOfRange, within};
use super::statistics::t95;

mod between;

pub use super::strip::StripScale;
pub use between::{DecayBetween, contact_between, decay_between};

/// Steps of the strip's scale that the colour must fall before a rate is worth anything.
pub const LEAST_FALL_STEPS: usize = 2;

/// First-order decay rate, 0 to 10 a minute.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct DecayRate(f64);

impl DecayRate {
    /// No decay at all.
    pub const NONE: Self = Self(0.0);

    /// A rate in parts a minute.
    ///
    /// # Errors
    /// A rate outside 0 to 10 a minute.
    pub fn per_minute(rate: f64) -> Result<Self, OutOfRange> {
        within("The decay rate", rate, 0.0, 10.0, "\u{a0}a minute").map(Self)
    }

    /// The rate in parts a minute.
    pub fn in_per_minute(self) -> f64 {
        self.0
    }

    /// Time in which half is gone: ln 2 / k; none without decay.
    ///
    /// ```
    /// use slackwater::science::decay::DecayRate;
    /// use uom::si::time::minute;
    /// let half = DecayRate::per_minute(0.01702752)?.half_life().unwrap();
    /// assert!((half.get::<minute>() - 40.71).abs() < 0.01);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn half_life(self) -> Option<Time> {
        (self.0 > 0.0).then(|| Time::new::<minute>(std::f64::consts::LN_2 / self.0))
    }

    /// Strength after a time: C = C₀ exp(-k t).
    ///
    /// ```
    /// use slackwater::science::decay::DecayRate;
    /// use uom::si::f64::{MassConcentration, Time};
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// use uom::si::time::minute;
    /// let start = MassConcentration::new::<milligram_per_liter>(200.0);
    /// let end = DecayRate::per_minute(0.015)?.after(start, Time::new::<minute>(60.0));
    /// assert!((end.get::<milligram_per_liter>() - 81.31393).abs() < 1e-5);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn after(self, start: MassConcentration, time: Time) -> MassConcentration {
        start * (-self.0 * time.get::<minute>()).exp()
    }

    /// The rate at another temperature, by Arrhenius: k₂ = k₁ exp(Eₐ/R (1/T₁ - 1/T₂)).
    ///
    /// To judge whether a warm house needs an earlier reading; never to shorten a label's time.
    /// Range: activation energy 10 to 150 kJ/mol (57.6 was found for 35 % peroxide).
    ///
    /// ```
    /// use slackwater::science::decay::DecayRate;
    /// use slackwater::science::quantity::Celsius;
    /// let cool = DecayRate::per_minute(0.01)?;
    /// let warm = cool.at_temperature(50.0, Celsius::new(20.0)?, Celsius::new(30.0)?)?;
    /// assert!((warm.in_per_minute() / 0.01 - 1.967351).abs() < 1e-6);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// An activation energy outside the range, or a rate that would leave its own.
    pub fn at_temperature(
        self,
        activation_kj_per_mol: f64,
        from: Celsius,
        to: Celsius,
    ) -> Result<Self, OutOfRange> {
        let energy = within(
            "The activation energy",
            activation_kj_per_mol,
            10.0,
            150.0,
            "\u{a0}kJ/mol",
        )?;
        let exponent = energy * 1000.0 / 8.314_462_618 * (1.0 / from.kelvin() - 1.0 / to.kelvin());
        Self::per_minute(self.0 * exponent.exp())
    }
}

/// A strip compared with its scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripReading {
    /// When, counted from the start of the soak.
    pub at: Time,
    /// Which step of the scale, the lowest being 0.
    pub step: usize,
}

/// The slowest decay that readings at the lowest colour allow after a first fitted reading
/// (minutes, step, value, relative error); none when they allow none at all.
fn censored_rate(
    scale: &StripScale,
    readings: &[StripReading],
    first: &(f64, usize, f64, f64),
) -> Option<f64> {
    let middle = scale.at_lowest_below();
    let (from, _, value, error) = *first;
    let least = value * (1.0 - error);
    readings
        .iter()
        .filter(|reading| reading.step == 0)
        .map(|reading| reading.at.get::<minute>() - from)
        .filter(|since| *since > 0.0)
        .map(|since| (least / middle).ln() / since)
        .filter(|rate| *rate > 0.0)
        .reduce(f64::max)
}

/// Why no rate can be given yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotYet {
    /// Fewer than two readings lie between the scale's ends.
    TooFewReadings,
    /// The colour has fallen by fewer than two steps.
    FallTooSmall,
    /// Two readings were taken at the same time, or out of order.
    TimesDoNotRise,
    /// No decay of first order goes through the ranges of all readings.
    NotOneDecay,
}

impl NotYet {
    /// What to tell the grower.
    pub fn words(self) -> &'static str {
        match self {
            Self::TooFewReadings => {
                "A rate needs two readings between the lowest and the highest colour of the strip"
            }
            Self::FallTooSmall => {
                "The colour has fallen by fewer than two steps, which says nothing about the rate"
            }
            Self::TimesDoNotRise => "Each reading must be later than the one before",
            Self::NotOneDecay => {
                "No steady decay goes through all of these readings: something was added or eaten, or one was misread"
            }
        }
    }
}

/// A rate found from strips, with what is known of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decay {
    /// The most likely rate.
    pub rate: DecayRate,
    /// The slowest that the readings allow.
    pub slowest: DecayRate,
    /// The fastest that the readings allow; plan top-ups with it.
    pub fastest: DecayRate,
    /// Strength at the start of the soak that the line gives.
    pub start: MassConcentration,
    /// Readings used; those at the ends of the scale are not.
    pub used: usize,
    /// The slowest that a reading at the lowest colour allows: it says "at most", so the strength
    /// has fallen at least so fast. None without such a reading, or where it says nothing.
    pub at_least: Option<DecayRate>,
}

/// Decay rate from two or more strip readings.
///
/// Two: k = ln(C₁/C₂)/Δt. More: least squares on ln C, k = -slope. The error is the wider of what
/// the colour steps of first and last reading allow, √(s₁² + s₂²)/Δt, and the line's own 95 %
/// interval: strips repeat the same colour, which makes a line look better than it is.
///
/// A reading at the lowest colour has no value, and its logarithm is not taken. It is censored: the
/// strength then lay below the middle of the two lowest colours, so k is at least
/// ln(C₁ (1 - s₁)/middle)/Δt. Bounds and rate are raised to that where they lie below it.
///
/// ```
/// use slackwater::science::decay::{NotYet, StripReading, StripScale, decay_of};
/// use uom::si::f64::{MassConcentration, Time};
/// use uom::si::mass_concentration::milligram_per_liter;
/// use uom::si::time::minute;
/// let mg = MassConcentration::new::<milligram_per_liter>;
/// let scale = StripScale::new(&[mg(0.0), mg(50.0), mg(100.0), mg(200.0), mg(400.0), mg(1000.0)])?;
/// let read = |at, step| StripReading { at: Time::new::<minute>(at), step };
/// let decay = decay_of(&scale, &[read(0.0, 4), read(60.0, 2)]).unwrap();
/// assert!((decay.rate.in_per_minute() - 4f64.ln() / 60.0).abs() < 1e-12);
/// assert_eq!(decay_of(&scale, &[read(0.0, 4), read(60.0, 3)]), Err(NotYet::FallTooSmall));
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// Why no rate can be given yet.
pub fn decay_of(scale: &StripScale, readings: &[StripReading]) -> Result<Decay, NotYet> {
    if readings
        .windows(2)
        .any(|pair| !matches!(pair, [a, b] if a.at < b.at))
    {
        return Err(NotYet::TimesDoNotRise);
    }
    let fitted: Vec<(f64, usize, f64, f64)> = readings
        .iter()
        .filter_map(|r| {
            scale
                .value(r.step)
                .map(|(value, error)| (r.at.get::<minute>(), r.step, value, error))
        })
        .collect();
    let (Some(first), Some(last)) = (fitted.first(), fitted.last()) else {
        return Err(NotYet::TooFewReadings);
    };
    if fitted.len() < 2 {
        return Err(NotYet::TooFewReadings);
    }
    if first.1 < last.1 + LEAST_FALL_STEPS {
        return Err(NotYet::FallTooSmall);
    }
    let points: Vec<(f64, f64)> = fitted
        .iter()
        .map(|(at, _, value, _)| (*at, *value))
        .collect();
    let line = LogLine::through(&points).ok_or(NotYet::TimesDoNotRise)?;
    if line.rate <= 0.0 {
        return Err(NotYet::FallTooSmall);
    }
    let by_step = first.3.hypot(last.3) / (last.0 - first.0);
    let error = line
        .rate_half_width()
        .map_or(by_step, |width| width.max(by_step));
    let at_least = censored_rate(scale, readings, first);
    let floor = at_least.unwrap_or(0.0);
    let rate = |k: f64| DecayRate(k.max(floor).clamp(0.0, 10.0));
    Ok(Decay {
        rate: rate(line.rate),
        slowest: rate(line.rate - error),
        fastest: rate(line.rate + error),
        at_least: at_least.map(rate),
        start: MassConcentration::new::<milligram_per_liter>(line.start),
        used: fitted.len(),
    })
}

/// A straight line through ln C against time, by least squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LogLine {
    /// Decay rate, per unit of the times given; below zero when the strength rises.
    pub rate: f64,
    /// Strength at time 0, in the unit given.
    pub start: f64,
    /// Standard error of the rate; none through two points.
    pub rate_error: Option<f64>,
    /// Part of the variance of ln C that the line explains.
    pub r_squared: f64,
    points: usize,
}

impl LogLine {
    /// The line through points (time, strength); none for fewer than two times or a strength that
    /// is not above zero.
    ///
    /// ```
    /// use slackwater::science::decay::LogLine;
    /// let points = [(0.0, 200.0), (10.0, 170.0), (20.0, 150.0), (40.0, 110.0), (60.0, 80.0)];
    /// let line = LogLine::through(&points).unwrap();
    /// assert!((line.rate - 0.015171210).abs() < 1e-9);
    /// assert!((line.rate_half_width().unwrap() - 0.00082652).abs() < 1e-8);
    /// ```
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let n = points.len() as f64;
        if points.len() < 2
            || points
                .iter()
                .any(|(t, c)| !t.is_finite() || !c.is_finite() || *c <= 0.0)
        {
            return None;
        }
        let mean_t = points.iter().map(|(t, _)| t).sum::<f64>() / n;
        let mean_y = points.iter().map(|(_, c)| c.ln()).sum::<f64>() / n;
        let (mut tt, mut ty, mut yy) = (0.0, 0.0, 0.0);
        for (t, c) in points {
            let (dt, dy) = (t - mean_t, c.ln() - mean_y);
            tt += dt * dt;
            ty += dt * dy;
            yy += dy * dy;
        }
        if tt <= 0.0 {
            return None;
        }
        let slope = ty / tt;
        let r_squared = if yy > 0.0 { ty * ty / (tt * yy) } else { 1.0 };
        let left = (yy - slope * ty).max(0.0);
        let rate_error = (points.len() > 2).then(|| (left / (n - 2.0) / tt).sqrt());
        let start = (mean_y - slope * mean_t).exp();
        Some(Self {
            rate: -slope,
            start,
            rate_error,
            r_squared,
            points: points.len(),
        })
    }

    /// Half the width of the rate's 95 % interval; none through two points.
    pub fn rate_half_width(&self) -> Option<f64> {
        Some(self.rate_error? * t95(self.points.checked_sub(2)?)?)
    }
}

/// A decay fitted to the strengths themselves instead of their logarithms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DirectFit {
    /// Decay rate, per unit of the times given.
    pub rate: f64,
    /// Strength at time 0, in the unit given.
    pub start: f64,
}

impl DirectFit {
    /// Least squares of C₀ exp(-k t) on the strengths (Gauss and Newton, from the line through the
    /// logarithms). High readings weigh more here, low ones in [`LogLine`]: where the two rates
    /// differ by much, the decay is not of first order. None where the line itself is none, or
    /// where fifty steps do not settle.
    ///
    /// ```
    /// use slackwater::science::decay::DirectFit;
    /// let points = [(0.0, 200.0), (10.0, 170.0), (20.0, 150.0), (40.0, 110.0), (60.0, 80.0)];
    /// let fit = DirectFit::through(&points).unwrap();
    /// assert!((fit.start - 199.77327).abs() < 1e-5 && (fit.rate - 0.01503249).abs() < 1e-8);
    /// ```
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let line = LogLine::through(points)?;
        let (mut start, mut rate) = (line.start, line.rate);
        for _ in 0..50 {
            // Normal equations of the two slopes dC/dC₀ = e and dC/dk = -t C₀ e.
            let (mut aa, mut ab, mut bb, mut ar, mut br) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for (t, c) in points {
                let e = (-rate * t).exp();
                let (a, b, rest) = (e, -t * start * e, c - start * e);
                aa += a * a;
                ab += a * b;
                bb += b * b;
                ar += a * rest;
                br += b * rest;
            }
            let det = aa * bb - ab * ab;
            let step = ((bb * ar - ab * br) / det, (aa * br - ab * ar) / det);
            start += step.0;
            rate += step.1;
            if !start.is_finite() || !rate.is_finite() {
                return None;
            }
            if step.0.abs() <= 1e-12 * start.abs() && step.1.abs() <= 1e-12 * rate.abs() + 1e-15 {
                return Some(Self { rate, start });
            }
        }
        None
    }
}

#[cfg(test)]
mod tests;
