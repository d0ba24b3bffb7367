//! The ringed letter on the line of a measure. The same letter stands beside its label in the form.

use std::fmt;

/// One measure in a picture: its line, the middle of its ring, its letter.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ring {
    pub line: &'static str,
    pub x: f64,
    pub y: f64,
    pub letter: char,
    /// To be put right: the ring is heavy.
    pub wrong: bool,
}

impl fmt::Display for Ring {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            line,
            x,
            y,
            letter,
            wrong,
        } = *self;
        let (ring, face) = if wrong { (" wrong", " t") } else { ("", "") };
        write!(
            f,
            "<path class=\"dr-hair\" d=\"{line}\"/>\
             <circle class=\"dr-ring{ring}\" cx=\"{x}\" cy=\"{y}\" r=\"13\"/>\
             <text class=\"r{face}\" x=\"{x}\" y=\"{}\">{letter}</text>",
            y + 6.0
        )
    }
}
