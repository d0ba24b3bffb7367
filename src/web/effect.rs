//! What a change would do, said before it is saved.

/// One consequence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Effect {
    pub words: String,
    /// Something that was arranged no longer holds.
    pub breaks: bool,
    /// What it is made of, where that is more than one sentence.
    pub lines: Vec<String>,
}

impl Effect {
    pub fn holds(words: String) -> Self {
        Self {
            words,
            breaks: false,
            lines: Vec::new(),
        }
    }

    pub fn breaks(words: String) -> Self {
        Self {
            words,
            breaks: true,
            lines: Vec::new(),
        }
    }

    /// The same, line by line.
    pub fn made_of(self, lines: Vec<String>) -> Self {
        Self { lines, ..self }
    }
}

/// A form that can be answered with what it would do to the plan.
pub trait TakesEffects {
    /// The same page, as it was sent, with that.
    fn with(self, effects: Vec<Effect>) -> Self;
}
