//! The values of one call, read by their kinds and held against their ranges.

use uom::si::f64::{MassConcentration, Time, VolumeRate};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;
use uom::si::volume_rate::liter_per_minute;

use super::answer::{OnField, Refusal};
use super::calculator::{Calculator, Input, Need};
use super::kind::Given;
use crate::science::quantity::{
    Celsius, Length, Mass, Volume, WaterTemperature, grams, litres, millimetres, within,
};
use crate::science::show;
use crate::science::sources::{Answer, Choices, Question};
use crate::science::strength::Strength;

/// The values of one call, read and within their ranges.
#[derive(Clone, Debug)]
pub struct Inputs<'a> {
    calculator: &'a Calculator,
    values: Vec<Option<Given>>,
    /// Which of them somebody gave; the others are usual figures or none.
    typed: Vec<bool>,
    /// What is gone by where published sources differ.
    choices: Choices,
}

impl<'a> Inputs<'a> {
    /// Reads a call: `value` answers for a key whether it was given, how it reads, and in which unit.
    ///
    /// # Errors
    /// Everything that is wrong, at once.
    pub fn read(
        calculator: &'a Calculator,
        keys: &[&str],
        mut value: impl FnMut(&Input) -> Option<(Result<Given, String>, &'static str)>,
    ) -> Result<Self, Vec<Refusal>> {
        let mut refused: Vec<Refusal> = keys
            .iter()
            .filter(|key| !calculator.inputs.iter().any(|input| input.key == **key))
            .map(|key| Refusal {
                field: Some((*key).to_owned()),
                reason: format!("'{}' takes no '{key}'", calculator.name),
            })
            .collect();
        let mut values = Vec::with_capacity(calculator.inputs.len());
        let mut typed = Vec::with_capacity(calculator.inputs.len());
        for input in calculator.inputs {
            let given = value(input);
            typed.push(given.is_some());
            let read = match (given, input.need) {
                (Some((read, unit)), _) => {
                    read.and_then(|given| input.check(given, unit)).map(Some)
                }
                (None, Need::Or(usual)) => input.kind.read(usual).map(Some),
                (None, Need::May) => Ok(None),
                (None, Need::Must) => Err(format!(
                    "This is missing: {}. Give {}",
                    input.says_in(input.kind.unit()),
                    input.kind.takes()
                )),
            };
            values.push(read.unwrap_or_else(|reason| {
                refused.push(Refusal {
                    field: Some(input.key.to_owned()),
                    reason,
                });
                None
            }));
        }
        if refused.is_empty() {
            Ok(Self {
                calculator,
                values,
                typed,
                choices: Choices::default(),
            })
        } else {
            Err(refused)
        }
    }

    /// The same call by somebody who chose between published sources.
    #[must_use]
    pub fn by(mut self, choices: &Choices) -> Self {
        self.choices = choices.clone();
        self
    }

    /// What is gone by where published sources differ.
    pub(super) fn source(&self, question: Question) -> Answer {
        self.choices.answer(question)
    }

    /// The calculator that is called.
    pub(super) fn calculator(&self) -> &'a Calculator {
        self.calculator
    }

    fn place(&self, key: &str) -> Option<usize> {
        let mut inputs = self.calculator.inputs.iter();
        inputs.position(|input| input.key == key)
    }

    /// What was given for a key, or what is usual.
    pub(super) fn value(&self, key: &str) -> Option<&Given> {
        self.values.get(self.place(key)?)?.as_ref()
    }

    /// Whether somebody gave it, and no usual figure stands in.
    pub fn is_typed(&self, key: &str) -> bool {
        let typed = self.place(key).and_then(|place| self.typed.get(place));
        typed.copied().unwrap_or(false)
    }

    /// The same call with another number, that of a strength on its own basis.
    ///
    /// # Errors
    /// A number that no strength has.
    pub(super) fn set(&mut self, key: &'static str, number: f64) -> Result<(), Refusal> {
        let given = match self.value(key) {
            Some(Given::Strength(strength)) => {
                Given::Strength(Strength::new(number, strength.basis()).on(key)?)
            }
            _ => Given::Number(number),
        };
        if let Some(value) = self.place(key).and_then(|place| self.values.get_mut(place)) {
            *value = Some(given);
        }
        Ok(())
    }

    /// A number, in the unit of its kind, that may be missing.
    pub fn maybe(&self, key: &str) -> Option<f64> {
        match self.value(key) {
            Some(Given::Number(number)) => Some(*number),
            _ => None,
        }
    }

    /// A number, in the unit of its kind.
    pub fn number(&self, key: &'static str) -> Result<f64, Refusal> {
        self.maybe(key).ok_or("Give a number").on(key)
    }

    /// A volume.
    pub fn volume(&self, key: &'static str) -> Result<Volume, Refusal> {
        self.number(key).map(litres)
    }

    /// A length.
    pub fn length(&self, key: &'static str) -> Result<Length, Refusal> {
        self.number(key).map(millimetres)
    }

    /// A mass.
    pub fn mass(&self, key: &'static str) -> Result<Mass, Refusal> {
        self.number(key).map(|kilograms| grams(kilograms * 1000.0))
    }

    /// A temperature of air.
    pub fn air(&self, key: &'static str) -> Result<Celsius, Refusal> {
        Celsius::new(self.number(key)?).on(key)
    }

    /// A temperature of water or solution.
    pub fn water(&self, key: &'static str) -> Result<WaterTemperature, Refusal> {
        WaterTemperature::new(self.number(key)?).on(key)
    }

    /// A flow.
    pub fn flow(&self, key: &'static str) -> Result<VolumeRate, Refusal> {
        self.number(key).map(VolumeRate::new::<liter_per_minute>)
    }

    /// A time.
    pub fn time(&self, key: &'static str) -> Result<Time, Refusal> {
        self.number(key).map(Time::new::<minute>)
    }

    /// A mass concentration.
    pub fn concentration(&self, key: &'static str) -> Result<MassConcentration, Refusal> {
        self.number(key)
            .map(MassConcentration::new::<milligram_per_liter>)
    }

    /// A strength with its basis, that may be missing.
    pub fn maybe_strength(&self, key: &str) -> Option<Strength> {
        match self.value(key) {
            Some(Given::Strength(strength)) => Some(*strength),
            _ => None,
        }
    }

    /// A strength with its basis.
    pub fn strength(&self, key: &'static str) -> Result<Strength, Refusal> {
        self.maybe_strength(key)
            .ok_or("Give a strength with its basis")
            .on(key)
    }

    /// The word chosen, that may be missing.
    pub fn maybe_choice(&self, key: &str) -> Option<&'static str> {
        match self.value(key) {
            Some(Given::Choice(word)) => Some(word),
            _ => None,
        }
    }

    /// The word chosen.
    ///
    /// # Errors
    /// It is missing.
    pub fn choice(&self, key: &'static str) -> Result<&'static str, Refusal> {
        self.maybe_choice(key)
            .ok_or("Give one of the words")
            .on(key)
    }

    /// Several numbers, that may be missing.
    pub fn maybe_list(&self, key: &str) -> Option<&[f64]> {
        match self.value(key) {
            Some(Given::List(numbers)) => Some(numbers),
            _ => None,
        }
    }

    /// Several numbers.
    pub fn list(&self, key: &'static str) -> Result<&[f64], Refusal> {
        self.maybe_list(key)
            .ok_or("Give numbers parted by ;")
            .on(key)
    }
}

impl Input {
    /// Gives a value back if every number in it lies within the range; else says so in the unit that
    /// was typed.
    fn check(&self, given: Given, unit: &str) -> Result<Given, String> {
        let numbers: &[f64] = match &given {
            Given::Number(number) => std::slice::from_ref(number),
            Given::List(numbers) => numbers,
            Given::Strength(_) | Given::Choice(_) => &[],
        };
        if numbers.len() > LONGEST_LIST {
            return Err(format!("A list holds {LONGEST_LIST} numbers at most"));
        }
        let (least, most) = self.range;
        for number in numbers {
            if within("This", *number, least, most, "").is_err() {
                let typed = show::figures(self.kind.in_unit(*number, unit), 6);
                return Err(format!(
                    "Give {}; {} is outside",
                    self.range_in(unit),
                    with_unit(&typed, unit)
                ));
            }
        }
        Ok(given)
    }

    /// '50 to 100 000 mm', in a unit of its kind. The ends are rounded inwards, so that both can be typed.
    pub fn range_in(&self, unit: &str) -> String {
        let (least, most) = self.range;
        let (least, most) = (
            self.kind.in_unit(least, unit),
            self.kind.in_unit(most, unit),
        );
        let least = inwards(least, f64::ceil);
        with_unit(&format!("{least} to {}", inwards(most, f64::floor)), unit)
    }
}

/// A number with its unit behind it.
pub(super) fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" => number.to_owned(),
        unit => format!("{number}\u{a0}{unit}"),
    }
}

/// A number rounded to three figures, by this rounding. One that has no more stays as it is.
fn inwards(number: f64, round: fn(f64) -> f64) -> String {
    let plain = format!("{number}");
    if number == 0.0 || plain.trim_matches(['-', '0', '.']).len() <= 4 {
        return show::figures(number, 4);
    }
    let step = 10f64.powf(number.abs().log10().floor() - 2.0);
    let steps = number / step;
    let whole = steps.round();
    // What a conversion leaves behind the last figure is noise, and no digit of the limit.
    let noise = (steps - whole).abs() < 1e-6;
    show::figures(if noise { whole } else { round(steps) } * step, 3)
}

/// Longer lists are refused: a trend compares every pair.
const LONGEST_LIST: usize = 500;
