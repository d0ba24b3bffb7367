//! The upright axis of a drawing of figures over time.

use super::n;

/// Values to heights: from a round figure below the least to one above the most.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    pub low: f64,
    pub step: f64,
    pub steps: f64,
}

impl Scale {
    pub fn of(values: impl Iterator<Item = f64>) -> Self {
        let (least, most) = values
            .filter(|value| value.is_finite())
            .fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
        let (least, most) = if least > most {
            (0.0, 1.0)
        } else {
            (least, most)
        };
        // A scale of less than a tenth of the value would make mountains of the clock's own error.
        let span = (most - least).max(most.abs() * 0.1).max(1e-6);
        let raw = span / 3.0;
        let power = 10f64.powf(raw.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|times| times * power)
            .find(|step| *step >= raw)
            .unwrap_or(10.0 * power);
        let low = (least / step - 0.2).floor().max(0.0) * step;
        let steps = ((most - low) / step + 0.2).ceil().max(1.0);
        Self { low, step, steps }
    }

    /// Between the heights of the top and of the bed of a drawing.
    pub fn y(self, value: f64, top: f64, bed: f64) -> f64 {
        bed - (bed - top) * (value - self.low) / (self.step * self.steps)
    }
}

/// A figure beside the axis.
pub(super) fn short(value: f64) -> String {
    if value < 100.0 {
        n((value * 10.0).round() / 10.0).to_string()
    } else {
        value.round().to_string()
    }
}
