//! What a calculator found, or why it found nothing.

use std::fmt::Display;

use super::ranges::Range;

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

/// A number that counts things.
///
/// # Errors
/// A part of one.
pub fn whole(number: f64, key: &'static str) -> Result<u32, Refusal> {
    if number.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&number) {
        Ok(number as u32)
    } else {
        Err("Give a whole number").on(key)
    }
}

/// A number or words of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// In the unit of its output.
    Number(f64),
    /// Words.
    Words(String),
    /// Several, each in the unit of its output.
    List(Vec<f64>),
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
    /// Between what its numbers lie, where that is known.
    pub ranges: Vec<Range>,
    /// It is one of the many answers that a range is reckoned from.
    bare: bool,
}

impl Answer {
    /// An answer of which only the numbers are wanted.
    pub(super) fn without_ranges() -> Self {
        Self {
            bare: true,
            ..Self::default()
        }
    }

    /// Whether a sum that gives a range of its own should.
    pub fn wants_ranges(&self) -> bool {
        !self.bare
    }

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

    /// Adds several numbers, in the unit of their output, with how they come about.
    pub fn list(&mut self, key: &'static str, numbers: Vec<f64>, working: impl Into<String>) {
        let found = if numbers.iter().all(|number| number.is_finite()) {
            Found::List(numbers)
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
