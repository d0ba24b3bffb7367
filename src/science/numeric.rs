//! The two numerical tools that the water models share: a bracketed root and an integral.

/// Root of a function that falls from a positive value at `low` to a non-positive one at `high`.
///
/// The bracket is never left, so a jump in the function (friction jumps where the flow turns
/// turbulent) is found like any other crossing. The step is the interpolate, truncate, project
/// method of Oliveira and Takahashi, ACM Trans. Math. Softw. 47(1), 2021 (from memory): never more
/// evaluations than halving the bracket, plus one.
pub(crate) fn falling_root(f: impl Fn(f64) -> f64, low: f64, high: f64, tolerance: f64) -> f64 {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    let halvings = ((b - a) / (2.0 * tolerance)).max(1.0).log2().ceil();
    let truncation = 0.2 / (b - a).max(f64::MIN_POSITIVE);
    let mut step = 0.0;
    while b - a > 2.0 * tolerance && step < halvings + 2.0 {
        let middle = f64::midpoint(a, b);
        let reach = (tolerance * 2f64.powf(halvings + 1.0 - step) - (b - a) / 2.0).max(0.0);
        let interpolated = (fb * a - fa * b) / (fb - fa);
        let sign = (middle - interpolated).signum();
        let cut = truncation * (b - a).powi(2);
        let pulled = if cut <= (middle - interpolated).abs() {
            interpolated + sign * cut
        } else {
            middle
        };
        let x = if (pulled - middle).abs() <= reach {
            pulled
        } else {
            middle - sign * reach
        };
        let fx = f(x);
        if fx > 0.0 {
            (a, fa) = (x, fx);
        } else if fx < 0.0 {
            (b, fb) = (x, fx);
        } else {
            return x;
        }
        step += 1.0;
    }
    f64::midpoint(a, b)
}

/// Integral of `f` from `from` to `to` by Simpson's rule over `panels` panels.
pub(crate) fn integral(f: impl Fn(f64) -> f64, from: f64, to: f64, panels: u32) -> f64 {
    let width = (to - from) / f64::from(panels);
    let sum: f64 = (0..panels)
        .map(|i| {
            let left = from + width * f64::from(i);
            f(left) + 4.0 * f(left + width / 2.0) + f(left + width)
        })
        .sum();
    sum * width / 6.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    #[test]
    fn a_smooth_root_takes_few_evaluations() {
        let calls = Cell::new(0);
        let f = |x: f64| {
            calls.set(calls.get() + 1);
            2.0 - x * x
        };
        let root = falling_root(f, 0.0, 25.0, 1e-12);
        assert!((root - 2f64.sqrt()).abs() < 1e-11, "{root}");
        assert!(calls.get() < 20, "{} evaluations", calls.get());
    }

    #[test]
    fn a_jump_is_found_as_a_crossing() {
        let root = falling_root(|x| if x < 0.3 { 1.0 } else { -5.0 }, 0.0, 1.0, 1e-9);
        assert!((root - 0.3).abs() < 1e-8, "{root}");
    }

    #[test]
    fn a_cubic_is_integrated_exactly() {
        let area = integral(|x| x.powi(3), 0.0, 2.0, 4);
        assert!((area - 4.0).abs() < 1e-12);
    }
}
