//! Control charts: EWMA for a slow drift, CUSUM for a sudden one.

use super::quantity::{OutOfRange, within};

/// Exponentially weighted moving average: z = λ x + (1 - λ) z, from a start (the target).
///
/// Source: NIST/SEMATECH e-Handbook 6.3.2.4. Range: λ 0.01 to 1.
///
/// ```
/// use slackwater::science::chart::ewma;
/// let z = ewma(&[52.0, 47.0], 50.0, 0.3)?;
/// assert!((z[0] - 50.60).abs() < 1e-9 && (z[1] - 49.52).abs() < 1e-9);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A weight outside the range.
pub fn ewma(values: &[f64], start: f64, weight: f64) -> Result<Vec<f64>, OutOfRange> {
    let weight = weight_in_range(weight)?;
    Ok(values
        .iter()
        .scan(start, |z, x| {
            *z = weight * x + (1.0 - weight) * *z;
            Some(*z)
        })
        .collect())
}

fn weight_in_range(weight: f64) -> Result<f64, OutOfRange> {
    within("The weight of the newest value", weight, 0.01, 1.0, "")
}

/// Limits of an EWMA chart: target ± L s √(λ/(2 - λ)).
///
/// Range: λ 0.01 to 1, L 1 to 6, s not below zero.
///
/// ```
/// use slackwater::science::chart::ewma_limits;
/// let (low, high) = ewma_limits(50.0, 2.0539, 0.3, 3.0)?;
/// assert!((low - 47.4115).abs() < 1e-4 && (high - 52.5884).abs() < 1e-4);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn ewma_limits(
    target: f64,
    sd: f64,
    weight: f64,
    sigmas: f64,
) -> Result<(f64, f64), OutOfRange> {
    let weight = weight_in_range(weight)?;
    let sd = within("The standard deviation", sd, 0.0, f64::MAX, "")?;
    let sigmas = within("The limit in standard deviations", sigmas, 1.0, 6.0, "")?;
    let reach = sigmas * sd * (weight / (2.0 - weight)).sqrt();
    Ok((target - reach, target + reach))
}

/// Plain running sum of what a series stands above a target: S = S + x - T.
///
/// ```
/// use slackwater::science::chart::running_sum;
/// assert_eq!(running_sum(&[102.0, 95.0], 99.0), [3.0, -1.0]);
/// ```
pub fn running_sum(values: &[f64], target: f64) -> Vec<f64> {
    values
        .iter()
        .scan(0.0, |sum, x| {
            *sum += x - target;
            Some(*sum)
        })
        .collect()
}

/// Tabular CUSUM of a series against a target.
#[derive(Clone, Debug, PartialEq)]
pub struct Cusum {
    /// S⁺ = max(0, S⁺ + x - T - k) after each value.
    pub high: Vec<f64>,
    /// S⁻ = max(0, S⁻ + T - k - x) after each value.
    pub low: Vec<f64>,
}

impl Cusum {
    /// CUSUM with slack k, usually half a standard deviation.
    ///
    /// Source: NIST/SEMATECH e-Handbook 6.3.2.3. Range: k not below zero.
    ///
    /// ```
    /// use slackwater::science::chart::Cusum;
    /// let sums = Cusum::of(&[12.4, 11.8, 11.7], 12.5, 0.1)?;
    /// assert!((sums.low[2] - 1.3).abs() < 1e-9);
    /// assert_eq!(sums.first_low_over(1.0), Some(2));
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A slack below zero.
    pub fn of(values: &[f64], target: f64, slack: f64) -> Result<Self, OutOfRange> {
        let k = within("The slack", slack, 0.0, f64::MAX, "")?;
        let sums = |sign: f64| {
            values
                .iter()
                .scan(0.0f64, |s, x| {
                    *s = (*s + sign * (x - target) - k).max(0.0);
                    Some(*s)
                })
                .collect()
        };
        Ok(Self {
            high: sums(1.0),
            low: sums(-1.0),
        })
    }

    /// Place of the first S⁺ above a limit, counted from 0.
    ///
    /// ```
    /// use slackwater::science::chart::Cusum;
    /// let sums = Cusum::of(&[10.0, 12.0, 13.0], 10.0, 0.5)?;
    /// assert_eq!(sums.first_high_over(2.0), Some(2));
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn first_high_over(&self, limit: f64) -> Option<usize> {
        self.high.iter().position(|s| *s > limit)
    }

    /// Place of the first S⁻ above a limit, counted from 0.
    ///
    /// ```
    /// use slackwater::science::chart::Cusum;
    /// let sums = Cusum::of(&[10.0, 8.0, 7.0], 10.0, 0.5)?;
    /// assert_eq!((sums.first_low_over(2.0), sums.first_low_over(9.0)), (Some(2), None));
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn first_low_over(&self, limit: f64) -> Option<usize> {
        self.low.iter().position(|s| *s > limit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_series_on_target_never_signals(n in 1usize..50, target in -100.0..100.0f64) {
            let sums = Cusum::of(&vec![target; n], target, 0.1).unwrap();
            prop_assert_eq!(sums.first_high_over(0.0).or(sums.first_low_over(0.0)), None);
        }

        #[test]
        fn turning_the_series_over_swaps_the_sums(
            values in proptest::collection::vec(-5.0..5.0f64, 1..30),
        ) {
            let turned: Vec<f64> = values.iter().map(|v| -v).collect();
            let (a, b) = (Cusum::of(&values, 0.0, 0.3).unwrap(), Cusum::of(&turned, 0.0, 0.3).unwrap());
            prop_assert_eq!(a.high, b.low);
        }

        #[test]
        fn the_average_stays_within_the_values(
            values in proptest::collection::vec(-5.0..5.0f64, 1..30), weight in 0.01..1.0f64,
        ) {
            let z = ewma(&values, 0.0, weight).unwrap();
            prop_assert!(z.iter().all(|z| z.abs() <= 5.0));
        }
    }

    #[test]
    fn a_weight_of_nothing_is_refused() {
        assert!(ewma(&[1.0], 1.0, 0.0).is_err());
        assert!(Cusum::of(&[1.0], 1.0, -0.1).is_err());
    }
}
