//! A call as people type it: pairs of key and text, on a command line or in a page's address.

use super::answer::{Answer, Refusal};
use super::calculator::Calculator;
use super::inputs::Inputs;
use crate::science::sources::Choices;

/// Works out a call of typed texts.
///
/// # Errors
/// Everything that is wrong with it, each with its input.
///
/// ```
/// use slackwater::calculators::{find, work_typed};
/// let answer = work_typed(find("barb").unwrap(), &[("barb", "12.7 mm"), ("bore", "19.05")]).unwrap();
/// assert_eq!(answer.lines[0].key, "k");
/// assert!(work_typed(find("barb").unwrap(), &[("bore", "wide")]).is_err());
/// ```
pub fn work_typed(
    calculator: &'static Calculator,
    pairs: &[(&str, &str)],
) -> Result<Answer, Vec<Refusal>> {
    work_typed_by(calculator, pairs, &Choices::default())
}

/// The same for a site that chose between published sources.
///
/// # Errors
/// Everything that is wrong with it, each with its input.
pub fn work_typed_by(
    calculator: &'static Calculator,
    pairs: &[(&str, &str)],
    choices: &Choices,
) -> Result<Answer, Vec<Refusal>> {
    for (place, (key, _)) in pairs.iter().enumerate() {
        if pairs.iter().take(place).any(|(known, _)| known == key) {
            return Err(vec![Refusal {
                field: Some((*key).to_owned()),
                reason: "This was given twice".into(),
            }]);
        }
    }
    let keys: Vec<&str> = pairs.iter().map(|(key, _)| *key).collect();
    let inputs = Inputs::read(calculator, &keys, |input| {
        let (_, value) = pairs.iter().find(|(key, _)| *key == input.key)?;
        Some((input.kind.read(value), input.kind.unit_in(value)))
    })?;
    calculator.work(&inputs.by(choices))
}
