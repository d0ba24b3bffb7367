//! How a calculator is declared, and how it is run: once, for the list, the command, the lines and
//! the pages.

use super::answer::{Answer, Refusal};
use super::inputs::Inputs;
use super::kind::Kind;
use super::question::Question;

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
        capital(self.parts().0)
    }

    /// The rest of what it is, and what may be typed.
    pub fn hint(&self) -> String {
        let more = self.parts().1.trim_end_matches(')');
        let more = if more.is_empty() {
            String::new()
        } else {
            format!("{}. ", capital(more))
        };
        let (least, most) = self.range;
        let unit = match self.kind.unit() {
            "" => String::new(),
            unit => format!("\u{a0}{unit}"),
        };
        let range = match self.kind {
            Kind::Strength => "A strength with its basis, as the label gives it.".to_owned(),
            Kind::Choice(_) | Kind::Words => String::new(),
            Kind::List(_) => format!("Several figures, parted by ; each {least} to {most}{unit}."),
            _ => format!("{least} to {most}{unit}."),
        };
        let left_out = if self.need == Need::May {
            " May be left empty."
        } else {
            ""
        };
        format!("{more}{range}{left_out}").trim().to_owned()
    }

    fn parts(&self) -> (&'static str, &'static str) {
        let cut = ["; ", " (", ": "]
            .iter()
            .filter_map(|mark| self.says.split_once(mark))
            .min_by_key(|(label, _)| label.len());
        cut.unwrap_or((self.says, ""))
    }
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

impl Calculator {
    /// The declaration of an input.
    pub fn input(&self, key: &str) -> Option<&Input> {
        self.inputs.iter().find(|input| input.key == key)
    }

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
