//! How a calculator is declared, and how it is run: once, for the list, the command, the lines and
//! the pages.

use super::answer::{Answer, Refusal};
use super::inputs::{Inputs, with_unit};
use super::kind::{Given, Kind};
use super::off::{Off, amount};
use super::question::Question;
use crate::science::show;
use crate::science::tolerances::TEMPERATURE_C;
use crate::science::units::Units;

/// One calculator.
#[derive(Debug)]
pub struct Calculator {
    /// What it is called by.
    pub name: &'static str,
    /// What it works out, in one sentence without a full stop.
    pub says: &'static str,
    /// The question that it stands under.
    pub asks: Question,
    /// The answer as a sentence, with the keys of outputs in braces. The first whose outputs were all
    /// found is taken.
    pub headlines: &'static [&'static str],
    /// Where its formulas come from; a fact of the trade is 'common practice, no source'.
    pub sources: &'static [&'static str],
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
    /// How far it may be off, where that is known.
    pub off: Option<Off>,
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
    /// A count, a rule or a reading of its own: no range is reckoned for it.
    pub plain: bool,
    /// The calculator's own sum gives its range.
    pub ranged: bool,
    /// Where the quantity ends: no range goes beyond.
    pub limits: (f64, f64),
}

/// An input that must be given.
pub const fn must(key: &'static str, kind: Kind, range: (f64, f64), says: &'static str) -> Input {
    Input {
        key,
        kind,
        says,
        need: Need::Must,
        range,
        off: None,
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
        off: None,
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
        off: None,
    }
}

/// An output.
pub const fn gives(key: &'static str, kind: Kind, says: &'static str) -> Output {
    let least = match kind {
        Kind::Temperature => f64::MIN,
        _ => 0.0,
    };
    Output {
        key,
        kind,
        says,
        plain: false,
        ranged: false,
        limits: (least, f64::MAX),
    }
}

impl Input {
    /// It may be off by so much.
    pub const fn off(mut self, off: Off) -> Self {
        self.off = Some(off);
        self
    }
}

impl Output {
    /// No range is reckoned for it.
    pub const fn plain(mut self) -> Self {
        self.plain = true;
        self
    }

    /// Its range comes from the calculator's own sum, and from no other.
    pub const fn ranged(mut self) -> Self {
        self.plain = true;
        self.ranged = true;
        self
    }

    /// It may lie below nothing.
    pub const fn signed(mut self) -> Self {
        self.limits = (f64::MIN, f64::MAX);
        self
    }

    /// It is never more than this.
    pub const fn at_most(mut self, most: f64) -> Self {
        self.limits.1 = most;
        self
    }
}

/// The words with a capital letter at their beginning.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

impl Input {
    /// What stands over its field: what it is, up to the first mark of punctuation.
    pub fn label(&self) -> String {
        capital(self.name())
    }

    /// The same within a sentence.
    pub fn name(&self) -> &'static str {
        self.parts().0
    }

    /// The rest of what it is, what may be typed in this unit, and what is taken when nothing is.
    pub fn hint(&self, unit: &str, units: Units) -> String {
        let more = self.filled(self.parts().1.trim_end_matches(')'), unit);
        let more = if more.is_empty() {
            String::new()
        } else {
            format!("{}. ", capital(&more))
        };
        let range = match self.kind {
            Kind::Strength => "A strength with its basis, as the label gives it.".to_owned(),
            Kind::Choice(_) | Kind::Words => String::new(),
            Kind::List(_) => {
                format!("Several figures, parted by ; each {}.", self.range_in(unit))
            }
            _ => format!("{}.", self.range_in(unit)),
        };
        let left_out = match (self.need, self.usual(unit, units)) {
            (Need::May, _) => " May be left empty.".to_owned(),
            (Need::Or(_), Some(Usual { figure, known })) => {
                format!(" Left empty: {figure}, {known}.")
            }
            _ => String::new(),
        };
        format!("{more}{range}{left_out}").trim().to_owned()
    }

    /// What is taken when nothing is given: '20 °C', a usual figure, in this unit or, where that is the
    /// reader's own, as the reader reads it.
    pub fn usual(&self, unit: &str, units: Units) -> Option<Usual> {
        let Need::Or(usual) = self.need else {
            return None;
        };
        let (figure, known) = match self.kind.read(usual).ok()? {
            Given::Number(0.0) if self.kind != Kind::Temperature => {
                (with_unit("0", unit), "none counted")
            }
            Given::Number(number) if unit == self.kind.usual_unit(units) || unit.is_empty() => {
                (self.kind.show(number, units), USUAL_FIGURE)
            }
            Given::Number(number) => {
                let number = show::figures(self.kind.in_unit(number, unit), 4);
                (with_unit(&number, unit), USUAL_FIGURE)
            }
            _ => (usual.replace('_', " "), "usual choice"),
        };
        Some(Usual { figure, known })
    }

    /// What it is, in full. Figures of its own kind stand in braces, so that they follow the unit.
    pub fn says_in(&self, unit: &str) -> String {
        self.filled(self.says, unit)
    }

    fn filled(&self, words: &str, unit: &str) -> String {
        let mut filled = String::new();
        let mut parts = words.split(['{', '}']);
        while let Some(between) = parts.next() {
            filled.push_str(between);
            if let Some(number) = parts.next().and_then(|number| number.parse().ok()) {
                let shown = show::figures(self.kind.in_unit(number, unit), 3);
                filled.push_str(&with_unit(&shown, unit));
            }
        }
        filled
    }

    fn parts(&self) -> (&'static str, &'static str) {
        let cut = ["; ", " (", ": "]
            .iter()
            .filter_map(|mark| self.says.split_once(mark))
            .min_by_key(|(label, _)| label.len());
        cut.unwrap_or((self.says, ""))
    }
}

/// What is taken where nothing was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Usual {
    /// '20 °C', 'level'.
    pub figure: String,
    /// What kind of figure that is.
    pub known: &'static str,
}

/// A figure that stands in for one that somebody would have to measure.
const USUAL_FIGURE: &str = "usual figure, not measured";
/// The range of an input that is no number.
pub const ANY: (f64, f64) = (f64::MIN, f64::MAX);
/// Temperature of the water or solution.
pub const CELSIUS: Input = or(
    "celsius",
    Kind::Temperature,
    "20",
    (0.0, 40.0),
    "temperature of the liquid",
)
.off(amount(TEMPERATURE_C).read());

impl Calculator {
    /// The declaration of an input.
    pub fn input(&self, key: &str) -> Option<&Input> {
        self.inputs.iter().find(|input| input.key == key)
    }

    /// The declaration of an output.
    pub fn output(&self, key: &str) -> Option<&Output> {
        self.outputs.iter().find(|output| output.key == key)
    }

    /// The example in the reader's units, with round figures.
    pub fn example_in(&self, units: Units) -> Vec<(&'static str, String)> {
        let pairs = self.example.iter().filter_map(|word| word.split_once('='));
        pairs
            .map(|(key, typed)| {
                let Some(kind) = self.input(key).map(|input| input.kind) else {
                    return (key, typed.to_owned());
                };
                let unit = kind.usual_unit(units);
                match kind.read(typed) {
                    Ok(Given::Number(number))
                        if units != Units::Metric && Some(&unit) != kind.units().first() =>
                    {
                        let number = show::figures(kind.in_unit(number, unit), 3);
                        // As people type it, without the space between thousands.
                        let number = number.replace('\u{a0}', "").replace('−', "-");
                        (key, format!("{number} {unit}"))
                    }
                    _ => (key, typed.to_owned()),
                }
            })
            .collect()
    }

    /// Works out a call.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn work(&self, inputs: &Inputs<'_>) -> Result<Answer, Vec<Refusal>> {
        let mut answer = Answer::default();
        (self.run)(inputs, &mut answer).map_err(|refusal| vec![refusal])?;
        self.put_numbers(inputs, &mut answer);
        self.add_ranges(inputs, &mut answer);
        answer
            .cautions
            .extend(self.cautions.iter().map(|caution| (*caution).to_owned()));
        Ok(answer)
    }
}
