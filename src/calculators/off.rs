//! How far an input may be off, and by whose word: the usual tolerance, or what somebody knows of
//! their own meter, jug, tape or supplier.

use super::calculator::{Input, may, or};
use super::inputs::Inputs;
use super::kind::{Given, Kind};
use crate::science::quantity::WaterTemperature;
use crate::science::show;
use crate::science::strength::Strength;
use crate::science::tolerances::{LABEL_STRONG, LABEL_WEAK, STRONG_FROM_PERCENT, Tolerance};
use crate::science::uncertainty::{self, Shape};

/// How far an input may be off.
#[derive(Clone, Copy, Debug)]
pub struct Off {
    by: By,
    shape: Shape,
    own: Option<&'static str>,
}

#[derive(Clone, Copy, Debug)]
enum By {
    /// A part of the figure.
    Part(Tolerance),
    /// An amount in the unit of its kind, but never more than this part of the figure.
    Amount(Tolerance, f64),
    /// What other inputs say of it.
    Found(fn(&Inputs<'_>) -> Option<Spread>),
}

/// A figure with how far it may be off, in the unit of its kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// The figure, whether it was typed or is a usual one.
    pub value: f64,
    /// How far it may be off either way.
    pub half_width: f64,
    /// How that is known.
    pub how: String,
}

/// A stock at its label: a window as monographs state it, wide for weak ones.
pub(super) fn label(strength: Strength) -> Spread {
    // On the basis of the label; only the strong side of the border is told by weight.
    let strong = strength
        .mass_fraction(WaterTemperature::TWENTY)
        .is_ok_and(|w| w.percent() >= STRONG_FROM_PERCENT);
    let tolerance = if strong { LABEL_STRONG } else { LABEL_WEAK };
    Spread::part(strength.value(), tolerance)
}

/// The label of the input `strength`, the usual name of one.
pub(super) fn strength_label(inputs: &Inputs<'_>) -> Option<Spread> {
    inputs.maybe_strength("strength").map(label)
}

/// The input in which somebody says how far a figure may be off, in percent of it.
pub const fn percent_off(key: &'static str, usual: &'static str, says: &'static str) -> Input {
    or(key, Kind::Number("%"), usual, (0.0, 90.0), says)
}

/// The same for a label, whose usual tolerance depends on its strength.
pub const fn label_off(key: &'static str) -> Input {
    may(
        key,
        Kind::Number("%"),
        (0.0, 90.0),
        "label may be off by; either way, as its supplier states it; usual is 5 % from 10 % w/w and 17 % below",
    )
}

impl Spread {
    /// A figure that may be off by a part of itself.
    pub fn part(value: f64, tolerance: Tolerance) -> Self {
        Self {
            value,
            half_width: value.abs() * tolerance.half_width,
            how: tolerance.of_it(),
        }
    }
}

/// May be off by a part of itself.
pub const fn part(tolerance: Tolerance) -> Off {
    off(By::Part(tolerance))
}

/// May be off by an amount in the unit of its kind.
pub const fn amount(tolerance: Tolerance) -> Off {
    capped(tolerance, f64::INFINITY)
}

/// May be off by an amount, but never by more than a part of itself: a groove of 5 mm is not 5 mm off.
pub const fn capped(tolerance: Tolerance, part: f64) -> Off {
    off(By::Amount(tolerance, part))
}

/// May be off by what other inputs say.
pub const fn found(spread: fn(&Inputs<'_>) -> Option<Spread>) -> Off {
    off(By::Found(spread))
}

const fn off(by: By) -> Off {
    Off {
        by,
        shape: Shape::Rectangular,
        own: None,
    }
}

impl Off {
    /// Somebody may know better: the input in which they say so, in percent for a part and in the
    /// figure's own unit for an amount.
    pub const fn own(mut self, key: &'static str) -> Self {
        self.own = Some(key);
        self
    }

    /// It is read between two marks, most often near the middle of what it may be.
    pub const fn read(mut self) -> Self {
        self.shape = Shape::Triangular;
        self
    }

    /// The input in which people say how far theirs may be off.
    pub fn own_key(&self) -> Option<&'static str> {
        self.own
    }

    /// The usual tolerance, in the unit of the input in which people give their own.
    pub fn usual(&self) -> Option<f64> {
        match self.by {
            By::Part(tolerance) => Some(tolerance.half_width * 100.0),
            By::Amount(tolerance, _) => Some(tolerance.half_width),
            By::Found(_) => None,
        }
    }

    /// Whose it is: '3 % either way, as typed', or the usual one with its source.
    fn spread(&self, input: &Input, inputs: &Inputs<'_>) -> Option<Spread> {
        let value = inputs.amount(input.key);
        let own = self
            .own
            .filter(|key| inputs.is_typed(key))
            .and_then(|key| inputs.maybe(key));
        let typed = |unit: &str, number: f64| {
            format!(
                "{}\u{a0}{unit} either way, as typed",
                show::figures(number, 3)
            )
        };
        match (self.by, own) {
            (By::Found(spread), None) => spread(inputs),
            (By::Part(tolerance), None) => Some(Spread::part(value?, tolerance)),
            (By::Amount(tolerance, part), own) => {
                let unit = input.kind.unit();
                let (most, how) = match own {
                    Some(own) => (own, typed(unit, own)),
                    None => (tolerance.half_width, tolerance.in_unit(unit)),
                };
                let value = value?;
                let half_width = most.min(if value == 0.0 && part.is_infinite() {
                    most
                } else {
                    value.abs() * part
                });
                Some(Spread {
                    value,
                    half_width,
                    how,
                })
            }
            (By::Part(_) | By::Found(_), Some(own)) => {
                let value = match value {
                    Some(value) => value,
                    None => match self.by {
                        By::Found(spread) => spread(inputs)?.value,
                        _ => return None,
                    },
                };
                Some(Spread {
                    value,
                    half_width: value.abs() * own / 100.0,
                    how: typed("%", own),
                })
            }
        }
    }
}

impl Inputs<'_> {
    /// How far a figure may be off, where that is known.
    pub fn off(&self, key: &str) -> Option<uncertainty::Input> {
        let input = self.calculator().input(key)?;
        let off = input.off.as_ref()?;
        let spread = off.spread(input, self)?;
        let given =
            uncertainty::Input::within(input.name(), spread.how, spread.value, spread.half_width);
        Some(uncertainty::Input {
            shape: off.shape,
            ..given
        })
    }

    /// The figure as a number: that of a strength is on its own basis.
    fn amount(&self, key: &str) -> Option<f64> {
        match self.value(key)? {
            Given::Number(number) => Some(*number),
            Given::Strength(strength) => Some(strength.value()),
            Given::Choice(_) | Given::List(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::calculators::{Kind, Need, all, find, work_typed};

    #[test]
    fn whoever_knows_better_is_asked_in_the_right_unit_and_told_the_usual_figure() {
        let mut asked = 0;
        for calculator in all() {
            for input in calculator.inputs {
                let Some(off) = &input.off else { continue };
                let Some(own) = off.own_key().and_then(|key| calculator.input(key)) else {
                    assert_eq!(off.own_key(), None, "{} of {}", input.key, calculator.name);
                    continue;
                };
                asked += 1;
                match (off.usual(), own.need) {
                    (Some(usual), Need::Or(said)) => {
                        let said: f64 = said.parse().unwrap();
                        assert!(
                            (said - usual).abs() < 1e-9,
                            "{} of {}",
                            own.key,
                            calculator.name
                        );
                    }
                    (None, Need::May) => assert!(own.says.contains("usual"), "{}", own.says),
                    other => panic!("{} of {}: {other:?}", own.key, calculator.name),
                }
                assert!(
                    own.kind == Kind::Number("%") || own.kind == input.kind,
                    "{} of {}",
                    own.key,
                    calculator.name
                );
            }
        }
        assert!(asked > 10, "{asked}");
    }

    #[test]
    fn a_figure_that_is_known_better_narrows_the_range_and_one_that_is_sure_closes_it() {
        let ask = |off: &str| {
            let system = find("system").unwrap();
            let mut pairs: Vec<(&str, &str)> = system
                .example
                .iter()
                .filter_map(|word| word.split_once('='))
                .collect();
            if !off.is_empty() {
                pairs.extend([("tape_off", off), ("heel_off", off)]);
            }
            let answer = work_typed(system, &pairs).unwrap();
            let range = answer.ranges.iter().find(|range| range.key == "total_l");
            let range = range.unwrap().clone();
            (range.upper - range.lower, range)
        };
        let (usual, with_usual) = ask("");
        let (narrow, with_own) = ask("1");
        let (sure, _) = ask("0");
        assert!(usual > narrow && narrow > sure, "{usual} {narrow} {sure}");
        let said = |range: &crate::calculators::Range, words: &str| {
            range.made_of.iter().any(|part| part.how.contains(words))
        };
        assert!(said(&with_own, "as typed") && !said(&with_usual, "as typed"));
        assert!(said(&with_usual, "common practice, no source"));
    }
}
