//! The few statistics that readings of a nursery need.

/// Two-sided 95 % quantiles of Student's t for 1 to 30 degrees of freedom (standard table).
const T95: [f64; 30] = [
    12.706_205, 4.302_653, 3.182_446, 2.776_445, 2.570_582, 2.446_912, 2.364_624, 2.306_004,
    2.262_157, 2.228_139, 2.200_985, 2.178_813, 2.160_369, 2.144_787, 2.131_450, 2.119_905,
    2.109_816, 2.100_922, 2.093_024, 2.085_963, 2.079_614, 2.073_873, 2.068_658, 2.063_899,
    2.059_539, 2.055_529, 2.051_831, 2.048_407, 2.045_230, 2.042_272,
];

/// Two-sided 95 % quantile of the normal distribution.
pub const Z95: f64 = 1.959_963_985;

/// Two-sided 95 % quantile of Student's t; none for no degrees of freedom.
///
/// A table to 30, then the expansion z + (z³+z)/4v + (5z⁵+16z³+3z)/96v² (Fisher and Cornish).
///
/// ```
/// use slackwater::science::statistics::t95;
/// assert_eq!(t95(2), Some(4.302653));
/// assert_eq!(t95(0), None);
/// ```
pub fn t95(degrees_of_freedom: usize) -> Option<f64> {
    let v = degrees_of_freedom.checked_sub(1)?;
    if let Some(t) = T95.get(v) {
        return Some(*t);
    }
    let (z, v) = (Z95, degrees_of_freedom as f64);
    Some(
        z + (z.powi(3) + z) / (4.0 * v)
            + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * v.powi(2)),
    )
}

/// Median; none of nothing.
///
/// ```
/// use slackwater::science::statistics::median;
/// assert_eq!(median(&[3.0, 1.0, 2.0, 10.0]), Some(2.5));
/// assert_eq!(median(&[]), None);
/// ```
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    let upper = *sorted.get(middle)?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    sorted
        .get(middle.checked_sub(1)?)
        .map(|lower| f64::midpoint(*lower, upper))
}

/// Mean and sample standard deviation (n - 1); none for fewer than two values.
///
/// ```
/// use slackwater::science::statistics::mean_and_sd;
/// assert_eq!(mean_and_sd(&[12.0, 13.0, 14.0]), Some((13.0, 1.0)));
/// ```
pub fn mean_and_sd(values: &[f64]) -> Option<(f64, f64)> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    Some((mean, (squares / (n - 1.0)).sqrt()))
}

/// Two-sided probability of a normal deviate at least this large: erfc(|z|/√2).
///
/// By the continued fraction of Lentz above 3 and the power series below; absolute error under
/// 1e-12.
///
/// ```
/// use slackwater::science::statistics::two_sided_p;
/// assert!((two_sided_p(-3.513761373) - 0.000441809515).abs() < 1e-12);
/// ```
pub fn two_sided_p(z: f64) -> f64 {
    let z = z.abs();
    let density = (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
    if z < 3.0 {
        // Φ(z) - 1/2 = φ(z) Σ z^(2k+1)/(1·3·5···(2k+1))
        let (mut term, mut sum, mut odd) = (z, z, 1.0);
        while term > 1e-17 * sum {
            odd += 2.0;
            term *= z * z / odd;
            sum += term;
        }
        return 1.0 - 2.0 * density * sum;
    }
    // 1 - Φ(z) = φ(z)/(z + 1/(z + 2/(z + 3/(z + ...))))
    let tail = (1..=80).rev().fold(z, |below, k| z + f64::from(k) / below);
    2.0 * density / tail
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_falls_and_meets_the_expansion() {
        assert!(T95.windows(2).all(|pair| pair[0] > pair[1]));
        let z = Z95;
        let at_30 =
            z + (z.powi(3) + z) / 120.0 + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 86_400.0;
        assert!((T95[29] - at_30).abs() < 1e-4);
        assert!(t95(31).unwrap() < T95[29] && t95(1_000_000).unwrap() - Z95 < 1e-5);
    }

    /// An independent second way: the density of t, integrated to each quantile.
    #[test]
    fn each_quantile_leaves_five_per_cent() {
        for (v, t) in (1..).zip(T95) {
            let v = f64::from(v);
            let shape = |x: f64| (1.0 + x * x / v).powf(-(v + 1.0) / 2.0);
            // x = tan(a) brings the whole axis into reach.
            let over = |a: f64| shape(a.tan()) / a.cos().powi(2);
            let integral = |to: f64| crate::science::numeric::integral(over, 0.0, to, 4000);
            let inside = integral(t.atan()) / integral(std::f64::consts::FRAC_PI_2 - 1e-9);
            assert!((inside - 0.95).abs() < 1e-6, "{v}: {inside}");
        }
    }

    #[test]
    fn the_probability_is_continuous_where_the_method_changes() {
        assert!((two_sided_p(3.0 - 1e-13) - two_sided_p(3.0)).abs() < 1e-13);
        assert!((two_sided_p(Z95) - 0.05).abs() < 1e-10);
        assert_eq!(two_sided_p(0.0), 1.0);
    }
}
