//! The sheet of one drawing: strokes first, letters over them.

use std::fmt;

use super::{Text, n};

/// A piece of text by its left end (or its right end) and base line.
#[derive(Debug, Clone)]
pub(super) struct Letters {
    pub x: f64,
    pub y: f64,
    pub face: Face,
    pub says: String,
}

/// The faces of `water.css`, with about how wide a letter is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Face {
    Name,
    Plain,
    Soft,
    Water,
    Temporary,
}

impl Face {
    const fn class(self) -> &'static str {
        match self {
            Self::Name => "n halo",
            Self::Plain => "halo",
            Self::Soft => "s halo",
            Self::Water => "w",
            Self::Temporary => "t",
        }
    }

    /// Pixels to a letter, on the wide side.
    pub const fn letter(self) -> f64 {
        match self {
            Self::Name => 8.9,
            Self::Plain => 7.1,
            Self::Soft => 6.7,
            Self::Water => 7.4,
            Self::Temporary => 7.6,
        }
    }

    pub fn width(self, says: &str) -> f64 {
        says.chars().count() as f64 * self.letter()
    }

    /// `says`, cut short where it is longer than `room`.
    pub fn fit(self, says: &str, room: f64) -> String {
        let most = (room / self.letter()) as usize;
        if says.chars().count() <= most {
            return says.to_owned();
        }
        let kept: String = says.chars().take(most.saturating_sub(2)).collect();
        format!("{}..", kept.trim_end())
    }

    /// `says` in lines no longer than `room`, broken at spaces.
    pub fn wrap(self, says: &str, room: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in says.split(' ').filter(|word| !word.is_empty()) {
            match lines.last_mut() {
                Some(line) if self.width(line) + self.width(word) + self.letter() <= room => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push(self.fit(word, room)),
            }
        }
        lines
    }
}

#[derive(Debug)]
pub(super) struct Sheet {
    pub height: f64,
    strokes: String,
    pub letters: Vec<Letters>,
}

impl Sheet {
    pub fn new(height: f64) -> Self {
        Self {
            height,
            strokes: String::new(),
            letters: Vec::new(),
        }
    }

    /// A path of one class of `water.css`.
    pub fn path(&mut self, class: &str, d: fmt::Arguments<'_>) {
        self.mark(format_args!("<path class=\"{class}\" d=\"{d}\"/>"));
    }

    pub fn dashed(&mut self, class: &str, dashes: &str, d: fmt::Arguments<'_>) {
        self.mark(format_args!(
            "<path class=\"{class}\" stroke-dasharray=\"{dashes}\" d=\"{d}\"/>"
        ));
    }

    pub fn rect(&mut self, class: &str, left: f64, top: f64, right: f64, floor: f64) {
        let (wide, high) = (n((right - left).max(0.0)), n((floor - top).max(0.0)));
        let (x, y) = (n(left), n(top));
        self.mark(format_args!(
            "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{wide}\" height=\"{high}\"/>"
        ));
    }

    pub fn mark(&mut self, markup: fmt::Arguments<'_>) {
        use std::fmt::Write;
        // Writing to a String cannot fail.
        let _ = self.strokes.write_fmt(markup);
    }

    pub fn text(&mut self, face: Face, x: f64, y: f64, says: impl Into<String>) {
        self.letters.push(Letters {
            x,
            y,
            face,
            says: says.into(),
        });
    }
}

impl fmt::Display for Sheet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.strokes)?;
        for Letters { x, y, face, says } in &self.letters {
            let (x, y, class) = (n(*x), n(*y), face.class());
            write!(
                f,
                "<text class=\"{class}\" x=\"{x}\" y=\"{y}\">{}</text>",
                Text(says)
            )?;
        }
        Ok(())
    }
}
