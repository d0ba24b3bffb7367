//! The square code on a card: its address, to be opened with a phone.

use std::fmt;

use qrcode::types::{Color, QrError};
use qrcode::{EcLevel, QrCode};

/// The dark modules of a code, drawn as one path.
#[derive(Clone, Debug)]
pub struct Code {
    dark: Vec<bool>,
    width: usize,
}

/// White around the code, in modules: a reader needs four (ISO/IEC 18004).
const QUIET: usize = 4;

impl Code {
    /// The code of an address. Medium correction: a card gets wet.
    pub fn of(address: &str) -> Result<Self, QrError> {
        let code = QrCode::with_error_correction_level(address, EcLevel::M)?;
        let dark = code
            .to_colors()
            .into_iter()
            .map(|color| color == Color::Dark);
        Ok(Self {
            dark: dark.collect(),
            width: code.width(),
        })
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whole = self.width + 2 * QUIET;
        write!(
            f,
            "<svg role=\"img\" aria-label=\"Code that opens this job\" viewBox=\"0 0 {whole} {whole}\" class=\"qr\" shape-rendering=\"crispEdges\"><path stroke=\"#000\" d=\""
        )?;
        for (y, row) in self.dark.chunks(self.width.max(1)).enumerate() {
            let mut x = 0;
            for run in row.chunk_by(|a, b| a == b) {
                if run.first() == Some(&true) {
                    write!(f, "M{} {}.5h{}", x + QUIET, y + QUIET, run.len())?;
                }
                x += run.len();
            }
        }
        f.write_str("\"/></svg>")
    }
}

impl askama::filters::HtmlSafe for Code {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_dark_module_is_drawn_once() {
        let code = Code::of("http://slackwater.example/clean-outs/42").unwrap();
        let svg = code.to_string();
        let lengths = svg.split('h').skip(1).filter_map(|part| {
            part.split(|c: char| !c.is_ascii_digit())
                .next()
                .and_then(|n| n.parse::<usize>().ok())
        });
        assert_eq!(
            lengths.sum::<usize>(),
            code.dark.iter().filter(|dark| **dark).count()
        );
        // The three finders stand in the corners, seven modules wide.
        assert!(
            svg.contains("M4 4.5h7") && svg.contains(&format!("M{} 4.5h7", code.width - 7 + 4))
        );
    }

    #[test]
    fn an_address_that_is_too_long_is_no_code() {
        assert!(Code::of(&"x".repeat(5000)).is_err());
    }
}
