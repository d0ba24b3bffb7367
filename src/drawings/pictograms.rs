//! Hazard pictograms: a black symbol on white in a red square that stands on its point, the shape that
//! UN GHS, 1.4.10.4, describes. Drawn here from that description; the ones that peroxide carries.

use std::fmt;

/// A pictogram of the GHS.
///
/// ```
/// use slackwater::drawings::pictograms::Pictogram;
/// let flame = Pictogram::from_code("GHS03").unwrap();
/// assert!(flame.to_string().contains("aria-label=\"GHS03: flame over circle, oxidiser\""));
/// assert_eq!(Pictogram::from_code("GHS99"), None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pictogram {
    /// GHS03.
    FlameOverCircle,
    /// GHS05.
    Corrosion,
    /// GHS07.
    ExclamationMark,
}

impl Pictogram {
    /// The pictogram of a code, as 'GHS05'.
    pub fn from_code(code: &str) -> Option<Self> {
        match code {
            "GHS03" => Some(Self::FlameOverCircle),
            "GHS05" => Some(Self::Corrosion),
            "GHS07" => Some(Self::ExclamationMark),
            _ => None,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::FlameOverCircle => "GHS03: flame over circle, oxidiser",
            Self::Corrosion => "GHS05: corrosion",
            Self::ExclamationMark => "GHS07: exclamation mark",
        }
    }

    /// The symbol, in a square of 100 whose middle is free inside the frame.
    fn symbol(self) -> &'static str {
        match self {
            // A flame over a ring that stands on a line.
            Self::FlameOverCircle => {
                "<path class=\"ghs-ink\" d=\"M50 17C53 25 62 29 61 40C66 37 66 32 65 28C72 36 71 46 65 52L35 52C28 45 29 36 36 28C36 33 37 35 40 37C40 29 47 25 50 17Z\"/>\
                 <circle class=\"ghs-line\" cx=\"50\" cy=\"63\" r=\"11.5\"/>\
                 <path class=\"ghs-line\" d=\"M34 77.5H66\"/>"
            }
            // Two vessels that are poured out, on a block of metal and on a hand, which both give way.
            Self::Corrosion => {
                "<path class=\"ghs-line\" d=\"M24 38L44 31L47 38L27 45Z\"/><path class=\"ghs-line\" d=\"M76 38L56 31L53 38L73 45Z\"/>\
                 <path class=\"ghs-ink\" d=\"M29 48l3 5a3 3 0 1 1-5 1zM71 48l3 5a3 3 0 1 1-5 1z\"/>\
                 <path class=\"ghs-ink\" d=\"M20 63H26C27 68 33 68 35 63H46V72H29Z\"/>\
                 <path class=\"ghs-ink\" d=\"M53 66C58 63 62 62 66 63C67 67 72 67 74 62L80 60L82 63L70 71L60 73L53 72Z\"/>"
            }
            Self::ExclamationMark => {
                "<path class=\"ghs-ink\" d=\"M44 24H56L53 60H47Z\"/><circle class=\"ghs-ink\" cx=\"50\" cy=\"71\" r=\"5.5\"/>"
            }
        }
    }
}

impl askama::filters::HtmlSafe for Pictogram {}

impl fmt::Display for Pictogram {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "<svg class=\"ghs\" viewBox=\"0 0 100 100\" role=\"img\" aria-label=\"{}\">\
             <path class=\"ghs-frame\" d=\"M50 4L96 50L50 96L4 50Z\"/>{}</svg>",
            self.words(),
            self.symbol()
        )
    }
}
