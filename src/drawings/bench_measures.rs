//! What to measure at a bench: a bench cut open, with a ringed letter at each measure. The same
//! letters stand beside the labels of the form.

use std::fmt;

use super::pebbles::{Bed, Pebbles};

/// A measure of a bench, in the order of the form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    Length,
    Width,
    Media,
    Overflow,
    Wall,
}

impl Measure {
    pub const ALL: [Self; 5] = [
        Self::Length,
        Self::Width,
        Self::Media,
        Self::Overflow,
        Self::Wall,
    ];

    pub const fn letter(self) -> char {
        match self {
            Self::Length => 'a',
            Self::Width => 'b',
            Self::Media => 'c',
            Self::Overflow => 'd',
            Self::Wall => 'e',
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Length => "the length inside",
            Self::Width => "the width inside",
            Self::Media => "the depth of the media",
            Self::Overflow => "the height of the overflow over the bench floor",
            Self::Wall => "the height of the wall",
        }
    }

    /// The line of the measure, and the middle of its ring.
    const fn place(self) -> (&'static str, f64, f64) {
        match self {
            Self::Length => ("M69 281v14M319 281v14M69 288H319", 194.0, 288.0),
            Self::Width => ("M65 130L109 90M58 127l14 6M102 87l14 6", 88.0, 109.0),
            Self::Media => ("M381 184h14M381 235h14M388 184V235", 388.0, 209.5),
            Self::Overflow => ("M27 176h14M27 236h14M34 176V236", 34.0, 206.0),
            Self::Wall => ("M415 144h14M415 235h14M422 144V235", 422.0, 189.5),
        }
    }
}

/// The picture beside the form of a bench.
#[derive(Debug, Clone, Copy)]
pub struct BenchMeasures<'a> {
    /// Whether a bed lies in the bench; without one there is no depth of media to measure.
    pub has_media: bool,
    /// The measures that are to be put right: their rings are heavy.
    pub wrong: &'a [Measure],
}

impl askama::filters::HtmlSafe for BenchMeasures<'_> {}

impl BenchMeasures<'_> {
    fn measures(&self) -> impl Iterator<Item = Measure> {
        let media = self.has_media;
        Measure::ALL
            .into_iter()
            .filter(move |m| media || *m != Measure::Media)
    }

    fn ring(&self, f: &mut fmt::Formatter<'_>, measure: Measure) -> fmt::Result {
        let (line, x, y) = measure.place();
        let (ring, letter) = match self.wrong.contains(&measure) {
            true => (" wrong", " t"),
            false => ("", ""),
        };
        write!(
            f,
            "<path class=\"dr-hair\" d=\"{line}\"/>\
             <circle class=\"dr-ring{ring}\" cx=\"{x}\" cy=\"{y}\" r=\"13\"/>\
             <text class=\"r{letter}\" x=\"{x}\" y=\"{}\">{}</text>",
            y + 6.0,
            measure.letter()
        )
    }
}

impl fmt::Display for BenchMeasures<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("<svg viewBox=\"0 82 440 226\" role=\"img\" aria-label=\"A bench cut open.")?;
        for measure in self.measures() {
            let wrong = if self.wrong.contains(&measure) {
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
            let bed = Bed {
                left: 67.0,
                right: 321.0,
                top: 184.0,
                floor: 235.0,
                pipe: (101.0, 119.0),
            };
            write!(f, "{}", Pebbles::pack("bench", bed))?;
        }
        f.write_str(
            "<path class=\"dr-level\" d=\"M66 178H322\"/>\
             <rect class=\"dr-paper\" x=\"102\" y=\"176\" width=\"16\" height=\"60\"/>\
             <path class=\"dr\" d=\"M103 258V176M117 258V176\"/>\
             <path class=\"dr-wall\" d=\"M66 144V236H103M117 236H322V144\"/>\
             <path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M42 176H102M42 236H66\"/>\
             <path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M326 144H414M326 235H414\"/>",
        )?;
        if self.has_media {
            f.write_str("<path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M326 184h54\"/>")?;
        }
        self.measures()
            .try_for_each(|measure| self.ring(f, measure))?;
        f.write_str(
            "<text class=\"w\" x=\"132\" y=\"172\">flood level</text>\
             <text x=\"128\" y=\"260\" class=\"s\">overflow</text></svg>",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_wrong_has_a_heavy_ring() {
        let wrong = [Measure::Width, Measure::Overflow];
        let svg = BenchMeasures {
            has_media: true,
            wrong: &wrong,
        }
        .to_string();
        assert_eq!(svg.matches("dr-ring wrong").count(), 2);
        assert_eq!(svg.matches("class=\"dr-ring").count(), 5);
        assert!(svg.contains("b is the width inside, to be put right."));
        assert!(svg.contains("class=\"dr-ring wrong\" cx=\"34\" cy=\"206\""));
    }

    #[test]
    fn a_bench_without_media_has_no_depth_of_media() {
        let svg = BenchMeasures {
            has_media: false,
            wrong: &[],
        }
        .to_string();
        assert!(!svg.contains("dr-media") && !svg.contains(">c<") && svg.contains(">d<"));
    }
}
