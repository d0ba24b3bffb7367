//! What a change would do, said before it is saved.

/// One consequence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Effect {
    pub words: String,
    /// Something that was arranged no longer holds.
    pub breaks: bool,
}

impl Effect {
    pub fn holds(words: String) -> Self {
        Self {
            words,
            breaks: false,
        }
    }

    pub fn breaks(words: String) -> Self {
        Self {
            words,
            breaks: true,
        }
    }
}
