//! How a calculator is declared, and how it is run: once, for the list, the command and the lines.

use std::fmt::Display;

use uom::si::f64::{MassConcentration, Time, VolumeRate};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;
use uom::si::volume_rate::liter_per_minute;

use super::kind::{Given, Kind};
use crate::science::quantity::{
    Celsius, Length, Mass, OutOfRange, Volume, WaterTemperature, grams, litres, millimetres, within,
};
use crate::science::strength::Strength;

/// One calculator.
#[derive(Debug)]
pub struct Calculator {
    /// What it is called by.
    pub name: &'static str,
    /// What it works out, in one sentence without a full stop.
    pub says: &'static str,
    /// What it takes.
    pub inputs: &'static [Input],
    /// What it gives.
    pub outputs: &'static [Output],
    /// What must be read beside every answer.
    pub cautions: &'static [&'static str],
    /// A call that works, for the list and the tests.
    pub example: &'static [&'static str],
    /// Works it out.
    pub run: fn(&Inputs<'_>, &mut Answer) -> Result<(), Refusal>,
}

/// One thing that a calculator takes.
#[derive(Debug)]
pub struct Input {
    /// The word before the equals sign.
    pub key: &'static str,
    /// Its kind.
    pub kind: Kind,
    /// What it is.
    pub says: &'static str,
    /// Whether it must be given.
    pub need: Need,
    /// Least and greatest number, in the unit of its kind.
    pub range: (f64, f64),
}

/// Whether an input must be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It must be given.
    Must,
    /// It may be left out.
    May,
    /// This is taken when it is left out.
    Or(&'static str),
}

/// One thing that a calculator gives.
#[derive(Debug)]
pub struct Output {
    /// The key in an answer for programs; it ends with the unit.
    pub key: &'static str,
    /// Its kind.
    pub kind: Kind,
    /// What it is.
    pub says: &'static str,
}

/// An input that must be given.
pub const fn must(key: &'static str, kind: Kind, range: (f64, f64), says: &'static str) -> Input {
    Input {
        key,
        kind,
        says,
        need: Need::Must,
        range,
    }
}

/// An input that may be left out.
pub const fn may(key: &'static str, kind: Kind, range: (f64, f64), says: &'static str) -> Input {
    Input {
        key,
        kind,
        says,
        need: Need::May,
        range,
    }
}

/// An input with a usual value.
pub const fn or(
    key: &'static str,
    kind: Kind,
    usual: &'static str,
    range: (f64, f64),
    says: &'static str,
) -> Input {
    Input {
        key,
        kind,
        says,
        need: Need::Or(usual),
        range,
    }
}

/// An output.
pub const fn gives(key: &'static str, kind: Kind, says: &'static str) -> Output {
    Output { key, kind, says }
}

/// The range of an input that is no number.
pub const ANY: (f64, f64) = (f64::MIN, f64::MAX);
/// Temperature of the water or solution.
pub const CELSIUS: Input = or(
    "celsius",
    Kind::Temperature,
    "20",
    (0.0, 40.0),
    "temperature of the liquid",
);

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// The input that has to change; none when it is not a single one.
    pub field: Option<String>,
    /// The reason, for people.
    pub reason: String,
}

/// Turns a refusal of the science into one that names the input.
pub trait OnField<T> {
    /// The input that has to change.
    fn on(self, key: &'static str) -> Result<T, Refusal>;
    /// No single input.
    fn whole(self) -> Result<T, Refusal>;
}

impl<T, E: Display> OnField<T> for Result<T, E> {
    fn on(self, key: &'static str) -> Result<T, Refusal> {
        self.map_err(|error| Refusal {
            field: Some(key.to_owned()),
            reason: error.to_string(),
        })
    }

    fn whole(self) -> Result<T, Refusal> {
        self.map_err(|error| Refusal {
            field: None,
            reason: error.to_string(),
        })
    }
}

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

    /// The word chosen.
    pub fn choice(&self, key: &'static str) -> Result<&'static str, Refusal> {
        match self.value(key) {
            Some(Given::Choice(word)) => Ok(word),
            _ => Err("Give one of the words").on(key),
        }
    }

    /// Several numbers.
    pub fn list(&self, key: &'static str) -> Result<&[f64], Refusal> {
        match self.value(key) {
            Some(Given::List(numbers)) => Ok(numbers),
            _ => Err("Give numbers parted by ;").on(key),
        }
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

/// A number or words of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// In the unit of its output.
    Number(f64),
    /// Words.
    Words(String),
    /// There is none, and the words beside it say why.
    None,
}

/// One line of an answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Key of the output.
    pub key: &'static str,
    /// What was found.
    pub found: Found,
    /// How it comes about; empty where the name says it.
    pub working: String,
}

/// What a calculator found.
#[derive(Debug, Default)]
pub struct Answer {
    /// The lines, in the order of the working.
    pub lines: Vec<Line>,
    /// What must be read beside this answer, over the calculator's own cautions.
    pub cautions: Vec<String>,
}

impl Answer {
    /// Adds a number, in the unit of its output, with how it comes about.
    pub fn number(&mut self, key: &'static str, number: f64, working: impl Into<String>) {
        let found = if number.is_finite() {
            Found::Number(number)
        } else {
            Found::None
        };
        self.lines.push(Line {
            key,
            found,
            working: working.into(),
        });
    }

    /// Adds words.
    pub fn words(&mut self, key: &'static str, words: impl Into<String>) {
        let found = Found::Words(words.into());
        self.lines.push(Line {
            key,
            found,
            working: String::new(),
        });
    }

    /// Adds that there is no such number, and why.
    pub fn none(&mut self, key: &'static str, why: impl Into<String>) {
        self.lines.push(Line {
            key,
            found: Found::None,
            working: why.into(),
        });
    }

    /// Adds a caution.
    pub fn caution(&mut self, words: impl Into<String>) {
        self.cautions.push(words.into());
    }
}

impl Calculator {
    /// The declaration of an output.
    pub fn output(&self, key: &str) -> Option<&Output> {
        self.outputs.iter().find(|output| output.key == key)
    }

    /// Works out a call.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn work(&self, inputs: &Inputs<'_>) -> Result<Answer, Vec<Refusal>> {
        let mut answer = Answer::default();
        (self.run)(inputs, &mut answer).map_err(|refusal| vec![refusal])?;
        answer
            .cautions
            .extend(self.cautions.iter().map(|caution| (*caution).to_owned()));
        Ok(answer)
    }
}
