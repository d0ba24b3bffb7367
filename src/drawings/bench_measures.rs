//! What to measure at a bench: a bench cut open, with a ringed letter at each measure.

use std::fmt;

use super::pebbles::{Bed, Pebbles};
use super::rings::Ring;

/// A measure of a bench, in the order of the form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    Length,
    Width,
    Media,
    Overflow,
    Wall,
    Fall,
}

impl Measure {
    pub const ALL: [Self; 6] = [
        Self::Length,
        Self::Width,
        Self::Media,
        Self::Overflow,
        Self::Wall,
        Self::Fall,
    ];

    /// The letter in the picture and beside the label.
    pub const fn letter(self) -> char {
        match self {
            Self::Length => 'a',
            Self::Width => 'b',
            Self::Media => 'c',
            Self::Overflow => 'd',
            Self::Wall => 'e',
            Self::Fall => 'f',
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Length => "the length inside",
            Self::Width => "the width inside",
            Self::Media => "the depth of the media",
            Self::Overflow => "the height of the overflow over the bench floor",
            Self::Wall => "the height of the wall",
            Self::Fall => "by how much the floor falls to the overflow",
        }
    }

    const fn ring(self, wrong: bool) -> Ring {
        let (line, x, y) = match self {
            Self::Length => ("M69 281v14M319 281v14M69 288H319", 194.0, 288.0),
            Self::Width => ("M65 130L109 90M58 127l14 6M102 87l14 6", 88.0, 109.0),
            Self::Media => ("M381 184h14M381 235h14M388 184V235", 388.0, 209.5),
            Self::Overflow => ("M27 176h14M27 236h14M34 176V236", 34.0, 206.0),
            Self::Wall => ("M415 144h14M415 235h14M422 144V235", 422.0, 189.5),
            Self::Fall => ("M183 246h14M183 266h14M190 246V266", 168.0, 256.0),
        };
        Ring {
            line,
            x,
            y,
            letter: self.letter(),
            wrong,
        }
    }
}

/// The picture beside the form of a bench.
#[derive(Debug, Clone, Copy)]
pub struct BenchMeasures<'a> {
    /// Whether a bed lies in the bench; without one there is no depth of media to measure.
    pub has_media: bool,
    /// Whether the form asks for the fall of the floor.
    pub has_fall: bool,
    /// The measures that are to be put right: their rings are heavy.
    pub wrong: &'a [Measure],
}

impl askama::filters::HtmlSafe for BenchMeasures<'_> {}

impl BenchMeasures<'_> {
    fn measures(self) -> impl Iterator<Item = Measure> {
        Measure::ALL
            .into_iter()
            .filter(move |measure| match measure {
                Measure::Media => self.has_media,
                Measure::Fall => self.has_fall,
                _ => true,
            })
    }
}

impl fmt::Display for BenchMeasures<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let wrong = |measure| self.wrong.contains(&measure);
        f.write_str("<svg viewBox=\"0 82 440 226\" role=\"img\" aria-label=\"A bench cut open.")?;
        for measure in self.measures() {
            let wrong = if wrong(measure) {
                ", to be put right"
            } else {
                ""
            };
            write!(f, " {} is {}{wrong}.", measure.letter(), measure.words())?;
        }
        f.write_str(
            "\"><path class=\"dr-hair\" d=\"M66 144L110 104H366L322 144M366 104V196L322 236\"/>\
             <rect class=\"dr-water\" x=\"66\" y=\"178\" width=\"256\" height=\"58\"/>",
        )?;
        if self.has_media {
            let pipe = (101.0, 119.0);
            let bed = Bed {
                left: 67.0,
                right: 321.0,
                top: 184.0,
                floor: 235.0,
                pipe,
            };
            write!(f, "{}", Pebbles::pack("bench", bed))?;
            f.write_str("<path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M326 184h54\"/>")?;
        }
        if self.has_fall {
            f.write_str(
                "<path class=\"dr\" d=\"M204 266L322 246\"/>\
                 <path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M198 246H322\"/>",
            )?;
        }
        f.write_str(
            "<path class=\"dr-level\" d=\"M66 178H322\"/>\
             <rect class=\"dr-paper\" x=\"102\" y=\"176\" width=\"16\" height=\"60\"/>\
             <path class=\"dr\" d=\"M103 258V176M117 258V176\"/>\
             <path class=\"dr-wall\" d=\"M66 144V236H103M117 236H322V144\"/>\
             <path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M42 176H102M42 236H66\"/>\
             <path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M326 144H414M326 235H414\"/>",
        )?;
        self.measures()
            .try_for_each(|m| write!(f, "{}", m.ring(wrong(m))))?;
        f.write_str(
            "<text class=\"w\" x=\"132\" y=\"172\">flood level</text>\
             <text class=\"s\" x=\"45\" y=\"256\">overflow</text></svg>",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_wrong_has_a_heavy_ring() {
        let wrong = [Measure::Width, Measure::Overflow];
        let picture = BenchMeasures {
            has_media: true,
            has_fall: false,
            wrong: &wrong,
        };
        let svg = picture.to_string();
        assert_eq!(svg.matches("dr-ring wrong").count(), 2);
        assert_eq!(svg.matches("class=\"dr-ring").count(), 5);
        assert!(svg.contains("b is the width inside, to be put right."));
        assert!(svg.contains("class=\"dr-ring wrong\" cx=\"34\" cy=\"206\""));
    }

    #[test]
    fn only_what_the_form_asks_for_is_shown() {
        let picture = BenchMeasures {
            has_media: false,
            has_fall: true,
            wrong: &[],
        };
        let svg = picture.to_string();
        assert!(!svg.contains("dr-media") && !svg.contains(">c<"));
        assert!(svg.contains(">d<") && svg.contains(">f<") && svg.contains("f is by how much"));
    }
}
