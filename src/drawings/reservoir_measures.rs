//! What to measure at a reservoir, with straight walls or round.

use std::fmt;

use super::rings::Ring;

/// A measure of a reservoir, in the order of the form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// The length inside, or the diameter of a round one.
    Length,
    /// Not asked of a round one.
    Width,
    /// From the floor to the brim.
    Height,
    /// From the floor to the highest water that is allowed.
    Highest,
    /// From the floor to the water that stays when the pump sucks air.
    Heel,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    Box,
    Round,
}

impl Measure {
    pub const ALL: [Self; 5] = [
        Self::Length,
        Self::Width,
        Self::Height,
        Self::Highest,
        Self::Heel,
    ];

    /// The letter in the picture and beside the label; the same for both shapes.
    pub const fn letter(self) -> char {
        match self {
            Self::Length => 'a',
            Self::Width => 'b',
            Self::Height => 'c',
            Self::Highest => 'd',
            Self::Heel => 'e',
        }
    }

    const fn words(self, shape: Shape) -> &'static str {
        match (self, shape) {
            (Self::Length, Shape::Round) => "the diameter inside",
            (Self::Length, Shape::Box) => "the length inside",
            (Self::Width, _) => "the width inside",
            (Self::Height, _) => "the height from the floor to the brim",
            (Self::Highest, _) => "the height of the highest water",
            (Self::Heel, _) => "the depth of the heel, which the pump leaves",
        }
    }

    const fn ring(self, shape: Shape, wrong: bool) -> Ring {
        let (line, x, y) = match (self, shape) {
            (Self::Length, Shape::Box) => ("M69 281v14M247 281v14M69 288H247", 158.0, 288.0),
            (Self::Length, Shape::Round) => ("M67 66v14M249 66v14M67 73H249", 158.0, 73.0),
            (Self::Width, _) => ("M65 102L109 62M58 99l14 6M102 59l14 6", 88.0, 81.0),
            (Self::Height, _) => ("M333 116h14M333 255h14M340 116V255", 340.0, 165.0),
            (Self::Highest, _) => ("M379 146h14M379 255h14M386 146V255", 386.0, 200.5),
            (Self::Heel, _) => ("M27 236h14M27 256h14M34 224V256", 34.0, 211.0),
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

/// The picture beside the form of a reservoir.
#[derive(Debug, Clone, Copy)]
pub struct ReservoirMeasures<'a> {
    pub shape: Shape,
    /// The measures that are to be put right: their rings are heavy.
    pub wrong: &'a [Measure],
}

impl askama::filters::HtmlSafe for ReservoirMeasures<'_> {}

const BOX: &str = "<path class=\"dr-hair\" d=\"M66 116L110 76H294L250 116M294 76V216L250 256\"/>\
    <rect class=\"dr-water\" x=\"66\" y=\"146\" width=\"184\" height=\"110\"/>\
    <path class=\"dr-level\" d=\"M66 146H250\"/>\
    <path class=\"dr-level\" stroke-dasharray=\"1.5 4\" d=\"M66 236H250\"/>\
    <path class=\"dr-wall\" d=\"M66 116V256H250V116\"/>";

const ROUND: &str = "<path class=\"dr-water\" d=\"M66 146A92 18 0 0 1 250 146V256A92 18 0 0 1 66 256Z\"/>\
    <path class=\"dr-level\" d=\"M66 146A92 18 0 0 1 250 146A92 18 0 0 1 66 146\"/>\
    <path class=\"dr-level\" stroke-dasharray=\"1.5 4\" d=\"M66 236A92 18 0 0 0 250 236\"/>\
    <path class=\"dr-hair\" d=\"M66 116A92 18 0 0 1 250 116A92 18 0 0 1 66 116\"/>\
    <path class=\"dr-wall\" d=\"M66 116V256A92 18 0 0 0 250 256V116\"/>";

impl fmt::Display for ReservoirMeasures<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shape = self.shape;
        let wrong = |measure| self.wrong.contains(&measure);
        let asked = |m: &Measure| shape == Shape::Box || *m != Measure::Width;
        f.write_str("<svg viewBox=\"0 50 440 256\" role=\"img\" aria-label=\"A reservoir.")?;
        for measure in Measure::ALL.into_iter().filter(asked) {
            let wrong = if wrong(measure) {
                ", to be put right"
            } else {
                ""
            };
            write!(
                f,
                " {} is {}{wrong}.",
                measure.letter(),
                measure.words(shape)
            )?;
        }
        let (picture, water) = match shape {
            Shape::Box => (BOX, 141.0),
            Shape::Round => (ROUND, 151.0),
        };
        write!(
            f,
            "\">{picture}<rect class=\"dr-ink\" x=\"196\" y=\"234\" width=\"34\" height=\"20\"/>\
             <path class=\"dr-paper\" d=\"M213 238.5l5 9h-10Z\"/>\
             <path class=\"dr-dim\" stroke-dasharray=\"2 3\" \
             d=\"M254 116H332M254 146H378M254 255H378M42 236H66M42 256H66\"/>"
        )?;
        for measure in Measure::ALL.into_iter().filter(asked) {
            write!(f, "{}", measure.ring(shape, wrong(measure)))?;
        }
        write!(
            f,
            "<text class=\"w\" x=\"108\" y=\"{water}\">highest water</text>\
             <text class=\"w\" x=\"84\" y=\"230\">heel</text></svg>"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_one_has_a_diameter_and_no_width() {
        let of = |shape| ReservoirMeasures { shape, wrong: &[] }.to_string();
        let (round, straight) = (of(Shape::Round), of(Shape::Box));
        assert!(round.contains("a is the diameter inside.") && !round.contains(">b<"));
        assert!(straight.contains("a is the length inside.") && straight.contains(">b<"));
    }

    #[test]
    fn only_what_is_wrong_has_a_heavy_ring() {
        let svg = ReservoirMeasures {
            shape: Shape::Box,
            wrong: &[Measure::Heel],
        }
        .to_string();
        assert_eq!(svg.matches("dr-ring wrong").count(), 1);
        assert!(svg.contains("class=\"dr-ring wrong\" cx=\"34\" cy=\"211\""));
    }
}
