//! The working of a line: its formula in words, and the same with the numbers put in.

use super::answer::{Answer, Found};
use super::calculator::Calculator;
use super::inputs::Inputs;
use super::kind::Given;
use crate::science::show;
use crate::science::units::Units;

impl Calculator {
    /// Puts the numbers into every formula of an answer. A formula names inputs and earlier outputs in
    /// braces, '{retained} ÷ ({retained} + {fill})', and becomes 'retained ÷ (retained + fill) =
    /// 8 L ÷ (8 L + 170 L)'. '{to:end}' calls the input `to` 'end'; '{=to}' stands for the number alone.
    /// Formulas count in metric units.
    pub(super) fn put_numbers(&self, inputs: &Inputs<'_>, answer: &mut Answer) {
        for place in 0..answer.lines.len() {
            let Some(line) = answer.lines.get(place) else {
                continue;
            };
            if !line.working.contains('{') {
                continue;
            }
            let filled = self.filled(&line.working, inputs, answer);
            if let Some(line) = answer.lines.get_mut(place) {
                line.working = filled;
            }
        }
    }

    fn filled(&self, formula: &str, inputs: &Inputs<'_>, answer: &Answer) -> String {
        let (mut words, mut numbers, mut known) = (String::new(), String::new(), true);
        let mut parts = formula.split(['{', '}']);
        while let Some(between) = parts.next() {
            words.push_str(between);
            numbers.push_str(between);
            let Some(name) = parts.next() else { break };
            let bare = name.strip_prefix('=');
            let (key, called) = match name.split_once(':') {
                Some((key, called)) => (key, called.to_owned()),
                None => (bare.unwrap_or(name), self.called(bare.unwrap_or(name))),
            };
            let number = self.put_in(key, inputs, answer);
            words.push_str(match &number {
                Some(number) if bare.is_some() => number,
                _ => &called,
            });
            match number {
                Some(number) => numbers.push_str(&number),
                None => known = false,
            }
        }
        if known && words != numbers {
            format!("{words} = {numbers}")
        } else {
            words
        }
    }

    /// What a key is called in a formula: its words without its unit.
    fn called(&self, key: &str) -> String {
        let ending = self
            .output(key)
            .map_or("", |output| output.kind.key_ending());
        key.strip_suffix(ending).unwrap_or(key).replace('_', " ")
    }

    fn put_in(&self, key: &str, inputs: &Inputs<'_>, answer: &Answer) -> Option<String> {
        let given = self.input(key).and_then(|input| {
            Some(match inputs.value(key)? {
                Given::Number(number) => input.kind.show(*number, Units::Metric),
                Given::Strength(strength) => show::strength(*strength),
                Given::Choice(word) => word.replace('_', " "),
                Given::List(numbers) => {
                    let shown: Vec<String> = numbers
                        .iter()
                        .map(|number| show::figures(*number, 4))
                        .collect();
                    format!("({})", shown.join("; "))
                }
            })
        });
        given.or_else(|| {
            let line = answer.lines.iter().find(|line| line.key == key)?;
            match &line.found {
                Found::Number(number) => Some(self.output(key)?.kind.show(*number, Units::Metric)),
                Found::Words(words) => Some(words.clone()),
                Found::List(_) | Found::None => None,
            }
        })
    }
}
