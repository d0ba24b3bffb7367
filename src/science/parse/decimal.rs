//! A number as people type it, read in one way or refused.

use super::{LONGEST, ParseError};

/// A decimal number with a point or a comma. Thousands may be parted by spaces.
///
/// # Errors
/// Whatever is not a number, or could be read in two ways: '1,234' may be 1234 or 1.234.
///
/// ```
/// use slackwater::science::parse;
/// assert_eq!(parse::decimal("12,5").unwrap(), 12.5);
/// assert_eq!(parse::decimal("1 240").unwrap(), 1240.0);
/// assert_eq!(parse::decimal("3.785").unwrap(), 3.785);
/// assert_eq!(
///     parse::decimal("1,234").unwrap_err().to_string(),
///     "'1,234' can be read as 1234 or as 1.234. Write 1234 or 1.2340"
/// );
/// assert!(parse::decimal("1,234.5").is_err());
/// assert!(parse::decimal("1e3").is_err());
/// ```
pub fn decimal(text: &str) -> Result<f64, ParseError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(ParseError::Empty);
    }
    if text.chars().count() > LONGEST {
        return Err(ParseError::TooLong);
    }
    let not_a_number = || ParseError::NotANumber {
        typed: text.to_owned(),
    };
    let (sign, digits) = match text.chars().next() {
        Some('-' | '−') => (-1.0, text.trim_start_matches(['-', '−'])),
        Some('+') => (1.0, text.trim_start_matches('+')),
        _ => (1.0, text),
    };
    if text
        .chars()
        .filter(|c| matches!(c, '-' | '−' | '+'))
        .count()
        > 1
    {
        return Err(not_a_number());
    }
    let digits = without_spaces_between_thousands(digits.trim_start()).ok_or_else(not_a_number)?;
    if !digits
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        || !digits.chars().any(|c| c.is_ascii_digit())
    {
        return Err(not_a_number());
    }
    if digits.chars().filter(|c| !c.is_ascii_digit()).count() > 1 {
        return Err(ParseError::TwoSeparators {
            typed: text.to_owned(),
        });
    }
    if let Some((before, after)) = digits.split_once(',') {
        let thousands = (1..=3).contains(&before.len()) && !before.starts_with('0');
        if thousands && after.len() == 3 {
            return Err(ParseError::Ambiguous {
                typed: text.to_owned(),
                whole: format!("{before}{after}"),
                decimal: format!("{before}.{after}"),
                decimal_long: format!("{before}.{after}0"),
            });
        }
    }
    let number: f64 = digits
        .replace(',', ".")
        .parse()
        .map_err(|_| not_a_number())?;
    Ok(if number == 0.0 { 0.0 } else { sign * number })
}

/// Joins '1 240' to '1240'. Spaces anywhere else than between groups of three make it no number.
fn without_spaces_between_thousands(text: &str) -> Option<String> {
    if !text.contains(is_space) {
        return Some(text.to_owned());
    }
    let groups: Vec<&str> = text.split(is_space).collect();
    let (last, earlier) = groups.split_last()?;
    let whole_of_last = last.split(['.', ',']).next()?;
    let digits = |group: &str| group.chars().all(|c| c.is_ascii_digit());
    let first_fits = earlier
        .first()
        .is_some_and(|group| (1..=3).contains(&group.len()));
    let rest_fits =
        earlier.iter().skip(1).all(|group| group.len() == 3) && whole_of_last.len() == 3;
    (first_fits && rest_fits && earlier.iter().all(|group| digits(group)) && digits(whole_of_last))
        .then(|| groups.concat())
}

pub(super) fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}')
}
