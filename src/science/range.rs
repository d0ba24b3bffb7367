//! Limits: the range in which a formula holds, and the refusal when a value lies outside it.

use std::fmt;
use std::ops::RangeInclusive;

/// A value outside the range in which a formula holds.
///
/// The text names the quantity, the value, the unit and both limits, so that it can be shown at a
/// field as it stands.
///
/// ```
/// use slackwater::science::range::within;
/// let refused = within("water temperature", 55.0, "°C", 0.0..=40.0).unwrap_err();
/// assert_eq!(
///     refused.to_string(),
///     "water temperature is 55\u{a0}°C; it must be from 0\u{a0}°C to 40\u{a0}°C"
/// );
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// The quantity in the grower's words.
    pub what: &'static str,
    /// The value that was refused, in `unit`.
    pub value: f64,
    /// Unit of value and limits; empty for a bare number.
    pub unit: &'static str,
    /// Least value allowed.
    pub min: f64,
    /// Greatest value allowed.
    pub max: f64,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = match self.unit {
            "" => String::new(),
            unit => format!("\u{a0}{unit}"),
        };
        if self.value.is_finite() {
            let value = rounded(self.value);
            write!(f, "{} is {value}{unit}; it must be ", self.what)?;
        } else {
            write!(f, "{} is not a number; it must be ", self.what)?;
        }
        write!(f, "from {}{unit} to {}{unit}", self.min, self.max)
    }
}

impl std::error::Error for OutOfRange {}

/// Six significant digits at most: a refusal is read by people, and conversions leave dust.
fn rounded(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// Hands back `value` when it lies within `limits` (both ends allowed), else the refusal.
///
/// NaN and the infinities are refused whatever the limits are.
///
/// ```
/// use slackwater::science::range::within;
/// assert_eq!(within("lift", 0.9, "m", 0.0..=30.0), Ok(0.9));
/// assert!(within("lift", f64::NAN, "m", 0.0..=30.0).is_err());
/// ```
pub fn within(
    what: &'static str,
    value: f64,
    unit: &'static str,
    limits: RangeInclusive<f64>,
) -> Result<f64, OutOfRange> {
    if value.is_finite() && limits.contains(&value) {
        return Ok(value);
    }
    Err(OutOfRange {
        what,
        value,
        unit,
        min: *limits.start(),
        max: *limits.end(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_belong_to_the_range() {
        assert_eq!(within("speed", 1.0, "", 1.0..=2.0), Ok(1.0));
        assert_eq!(within("speed", 2.0, "", 1.0..=2.0), Ok(2.0));
        assert!(within("speed", 2.0 + 1e-12, "", 1.0..=2.0).is_err());
        assert!(within("speed", f64::INFINITY, "", 1.0..=f64::INFINITY).is_err());
    }

    #[test]
    fn the_refusal_of_a_bare_number_has_no_unit() {
        let text = within("loss factor", 9.0, "", 1.0..=4.0)
            .unwrap_err()
            .to_string();
        assert_eq!(text, "loss factor is 9; it must be from 1 to 4");
    }
}
