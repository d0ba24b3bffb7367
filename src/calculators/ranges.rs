//! Between what an answer lies, and what that is made of: each figure behind it is moved by how far
//! it may be off, and the calculator is asked again.

use super::answer::{Answer, Found};
use super::calculator::{Calculator, Output, capital};
use super::inputs::Inputs;
use super::kind::Kind;
use crate::science::uncertainty::{Budget, propagate_all};
use crate::science::units::Units;

/// Between what an output lies, about 95 in 100.
#[derive(Clone, Debug, PartialEq)]
pub struct Range {
    /// Key of the output.
    pub key: &'static str,
    /// The least, in the unit of its output.
    pub lower: f64,
    /// The most.
    pub upper: f64,
    /// What it is made of, the largest share first.
    pub made_of: Vec<Part>,
}

/// What one figure brings to a range.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Which figure.
    pub what: String,
    /// How far it may be off and how that is known.
    pub how: String,
    /// Its share in the square of the width, 0 to 1.
    pub share: f64,
}

impl Answer {
    /// Says between what an output lies, by its budget.
    pub fn range(&mut self, key: &'static str, budget: &Budget) {
        let wide = budget.expanded();
        self.between(key, budget.value - wide, budget.value + wide, budget);
    }

    /// Says between what an output lies, with what that is made of.
    pub fn between(&mut self, key: &'static str, lower: f64, upper: f64, budget: &Budget) {
        if !lower.is_finite() || !upper.is_finite() || upper <= lower {
            return;
        }
        let merged = budget.merged();
        let made_of = merged
            .contributions
            .iter()
            .filter(|part| part.effect != 0.0)
            .map(|part| Part {
                what: capital(part.what),
                how: part.how.clone(),
                share: merged.share(part),
            })
            .collect();
        self.ranges.push(Range {
            key,
            lower,
            upper,
            made_of,
        });
    }

    /// The range of an output, where there is one.
    pub fn range_of(&self, key: &str) -> Option<&Range> {
        self.ranges.iter().find(|range| range.key == key)
    }

    /// The number of an output, where there is one.
    pub fn number_of(&self, key: &str) -> Option<f64> {
        let line = self.lines.iter().find(|line| line.key == key)?;
        match line.found {
            Found::Number(number) => Some(number),
            _ => None,
        }
    }
}

impl Output {
    /// A range ends where the quantity does: no volume is below nothing, no part above the whole.
    fn limited(&self, range: &mut Range) {
        let (least, most) = self.limits;
        range.lower = range.lower.clamp(least, most);
        range.upper = range.upper.clamp(least, most);
    }
}

impl Calculator {
    /// Adds the ranges of an answer: those that its own sum did not give, for every number that a
    /// range says something about.
    pub(super) fn add_ranges(&self, inputs: &Inputs<'_>, answer: &mut Answer) {
        let offs: Vec<_> = self
            .inputs
            .iter()
            .filter_map(|input| Some((input.key, inputs.off(input.key)?)))
            .filter(|(_, off)| off.standard() > 0.0)
            .collect();
        let keys: Vec<&'static str> = answer
            .lines
            .iter()
            .filter(|line| {
                answer.number_of(line.key).is_some() && answer.range_of(line.key).is_none()
            })
            .filter(|line| self.output(line.key).is_some_and(|output| !output.plain))
            .map(|line| line.key)
            .collect();
        if !offs.is_empty() && !keys.is_empty() {
            let (names, figures): (Vec<_>, Vec<_>) = offs.into_iter().unzip();
            let again = |x: &[f64]| {
                let mut moved = inputs.clone();
                for ((key, figure), x) in names.iter().zip(&figures).zip(x) {
                    if *x != figure.value {
                        moved.set(key, *x)?;
                    }
                }
                let mut found = Answer::without_ranges();
                (self.run)(&moved, &mut found)?;
                Ok(keys.iter().map(|key| found.number_of(key)).collect())
            };
            // The figures themselves were answered before; what they refused was said then.
            let budgets: Result<Vec<Option<Budget>>, super::Refusal> =
                propagate_all(&figures, again);
            for (key, budget) in keys.iter().zip(budgets.unwrap_or_default()) {
                if let Some(budget) = budget {
                    answer.range(key, &budget);
                }
            }
        }
        for range in &mut answer.ranges {
            if let Some(output) = self.output(range.key) {
                output.limited(range);
            }
        }
    }

    /// Whether an output can have a range: it does not where it is plain, and where no input that was
    /// given says how far it may be off.
    pub fn may_range(&self, output: &Output) -> bool {
        let measured = matches!(output.kind, Kind::Choice(_) | Kind::List(_) | Kind::Words);
        let known = self.inputs.iter().any(|input| input.off.is_some());
        output.ranged || (!measured && known && !output.plain)
    }

    /// 'between 12.9 L and 14.4 L', in the reader's units.
    pub fn between(&self, range: &Range, units: Units) -> Option<String> {
        let kind = self.output(range.key)?.kind;
        let (lower, upper) = (kind.show(range.lower, units), kind.show(range.upper, units));
        // Where both show alike the range is narrower than what is shown, and says nothing.
        (lower != upper).then(|| format!("between {lower} and {upper}"))
    }

    /// The range that the sentence of an answer is about: that of the first output named in it that
    /// has one, else of the first that has.
    pub fn headline_range<'a>(&self, answer: &'a Answer) -> Option<&'a Range> {
        let told = self.headlines.iter().find(|headline| {
            keys_in(headline).all(|key| answer.lines.iter().any(|line| line.key == key))
        })?;
        keys_in(told)
            .find_map(|key| answer.range_of(key))
            .or_else(|| answer.ranges.first())
    }
}

/// The keys in braces.
pub(super) fn keys_in(text: &str) -> impl Iterator<Item = &str> {
    text.split('{')
        .skip(1)
        .filter_map(|part| part.split('}').next())
}
