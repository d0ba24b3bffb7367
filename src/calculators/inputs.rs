//! The values of one call, read by their kinds and held against their ranges.

use uom::si::f64::{MassConcentration, Time, VolumeRate};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;
use uom::si::volume_rate::liter_per_minute;

use super::answer::{OnField, Refusal};
use super::calculator::{Calculator, Input, Need};
use super::kind::Given;
use crate::science::quantity::{
    Celsius, Length, Mass, OutOfRange, Volume, WaterTemperature, grams, litres, millimetres, within,
};
use crate::science::strength::Strength;

/// The values of one call, read and within their ranges.
#[derive(Debug)]
pub struct Inputs<'a> {
    calculator: &'a Calculator,
    values: Vec<Option<Given>>,
}

impl<'a> Inputs<'a> {
    /// Reads a call: `value` answers for a key whether it was given, and how it reads.
    ///
    /// # Errors
    /// Everything that is wrong, at once.
    pub fn read(
        calculator: &'a Calculator,
        keys: &[&str],
        mut value: impl FnMut(&Input) -> Option<Result<Given, String>>,
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
        for input in calculator.inputs {
            let read = match (value(input), input.need) {
                (Some(read), _) => read.and_then(|given| input.check(given)).map(Some),
                (None, Need::Or(usual)) => input.kind.read(usual).map(Some),
                (None, Need::May) => Ok(None),
                (None, Need::Must) => Err(format!(
                    "This is missing: {}. Give {}",
                    input.says,
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
            Ok(Self { calculator, values })
        } else {
            Err(refused)
        }
    }

    fn value(&self, key: &str) -> Option<&Given> {
        let place = self
            .calculator
            .inputs
            .iter()
            .position(|input| input.key == key)?;
        self.values.get(place)?.as_ref()
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
    /// Gives a value back if every number in it lies within the range.
    fn check(&self, given: Given) -> Result<Given, String> {
        let (least, most) = self.range;
        let numbers: &[f64] = match &given {
            Given::Number(number) => std::slice::from_ref(number),
            Given::List(numbers) => numbers,
            Given::Strength(_) | Given::Choice(_) => &[],
        };
        if let Given::List(numbers) = &given
            && numbers.len() > LONGEST_LIST
        {
            return Err(format!("A list holds {LONGEST_LIST} numbers at most"));
        }
        for number in numbers {
            within("This", *number, least, most, "").map_err(|OutOfRange { given, .. }| {
                let unit = self.kind.unit();
                let unit = if unit.is_empty() {
                    String::new()
                } else {
                    format!("\u{a0}{unit}")
                };
                format!("Give {least} to {most}{unit}; {given}{unit} is outside")
            })?;
        }
        Ok(given)
    }
}

/// Longer lists are refused: a trend compares every pair.
const LONGEST_LIST: usize = 500;
