//! The jug of a pour: its marks, and the one to fill to.

use std::fmt;

use super::n;

/// A measuring jug filled to one mark.
///
/// ```
/// use slackwater::drawings::jug::Jug;
///
/// let jug = Jug::new(3_000, 2_500).unwrap();
/// assert!(jug.to_string().contains("to be filled to 2.50\u{a0}L"));
/// assert!(Jug::new(3_000, 3_001).is_none(), "it would run over");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Jug {
    holds_ml: u32,
    pour_ml: u32,
}

/// The lowest mark and the height of a full jug, in pixels.
const FLOOR: f64 = 214.0;
const FULL: f64 = 174.0;
/// By how much a wall leans out for each pixel it rises.
const LEAN: f64 = 0.038_89;

impl Jug {
    /// None where there is nothing to pour or the jug does not hold it.
    pub fn new(holds_ml: u32, pour_ml: u32) -> Option<Self> {
        (0 < pour_ml && pour_ml <= holds_ml).then_some(Self { holds_ml, pour_ml })
    }

    fn y(self, ml: u32) -> f64 {
        FLOOR - FULL * f64::from(ml) / f64::from(self.holds_ml)
    }

    /// Small jugs are marked in millilitres, larger ones in litres.
    fn said(self, ml: u32) -> String {
        if self.holds_ml < 1_000 {
            format!("{ml}\u{a0}mL")
        } else {
            format!("{:.2}\u{a0}L", f64::from(ml) / 1_000.0)
        }
    }

    /// The step between marks that carry a figure: at most five of them.
    fn figure_step(self) -> u32 {
        let steps = [50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000];
        steps
            .into_iter()
            .find(|step| self.holds_ml / step <= 5)
            .unwrap_or(self.holds_ml)
    }
}

fn left(y: f64) -> f64 {
    33.0 - (FLOOR - y) * LEAN
}

fn right(y: f64) -> f64 {
    129.0 + (FLOOR - y) * LEAN
}

impl askama::filters::HtmlSafe for Jug {}

impl fmt::Display for Jug {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (holds, pour) = (self.said(self.holds_ml), self.said(self.pour_ml));
        let fill = self.y(self.pour_ml);
        let (x0, x1) = (n(left(fill)), n(right(fill)));
        write!(
            f,
            "<svg viewBox=\"0 0 190 232\" role=\"img\" aria-label=\"A jug that holds {holds}, to \
             be filled to {pour}\"><path class=\"dr-water\" d=\"M{x0} {y}H{x1}L129 214H33Z\"/>",
            y = n(fill)
        )?;
        for part in [0.22, 0.46, 0.72] {
            let y = fill + (FLOOR - fill) * part;
            let (x0, x1) = (n(left(y)), n(right(y)));
            write!(f, "<path class=\"dr-lining\" d=\"M{x0} {}H{x1}\"/>", n(y))?;
        }
        f.write_str(
            "<path class=\"dr-wall\" d=\"M13 25C20 27 24 32 26 38L33 214H129L136 26H14\"/>\
             <path class=\"dr-wall\" d=\"M135 46H162Q172 48 170 60L162 152Q158 166 142 166H131\"/>",
        )?;
        self.marks(f)?;
        write!(
            f,
            "<path class=\"jug-mark\" d=\"M{} {y}H{}\"/>\
             <path class=\"dr-ink\" d=\"M22 {y}l-15-9v18Z\"/>",
            n(x0 - 2.0),
            n(x1 + 2.0),
            y = n(fill)
        )?;
        // Above the line, or under it where the rim is too near.
        let base = n(if fill > 56.0 { fill - 9.0 } else { fill + 24.0 });
        let figure = pour.split('\u{a0}').next().unwrap_or_default();
        write!(
            f,
            "<text x=\"126\" y=\"{base}\" text-anchor=\"end\" class=\"n\">{figure}</text></svg>"
        )
    }
}

impl Jug {
    fn marks(self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let figure_step = self.figure_step();
        let step = (figure_step / 4).max(1);
        for i in 1..=self.holds_ml / step {
            let ml = i * step;
            let (y, x) = (self.y(ml), n(left(self.y(ml)) + 2.0));
            let long = if i % 2 == 0 { 22 } else { 12 };
            write!(f, "<path class=\"dr-hair\" d=\"M{x} {}h{long}\"/>", n(y))?;
            // The figure of the mark to fill to is written large; a small one would lie on its line.
            if i % 4 == 0 && (y - self.y(self.pour_ml)).abs() > 9.0 {
                let figure = if self.holds_ml < 1_000 {
                    ml.to_string()
                } else {
                    (f64::from(ml) / 1_000.0).to_string()
                };
                write!(
                    f,
                    "<text x=\"{}\" y=\"{}\">{figure}</text>",
                    n(x + 26.0),
                    n(y + 5.0)
                )?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mark_stands_at_its_height() {
        // 2.5 of 3 L: five sixths of 174 px over the floor at 214.
        let svg = Jug::new(3_000, 2_500).unwrap().to_string();
        assert!(
            svg.contains("class=\"dr-water\" d=\"M27.36 69H134.64L129 214H33Z\""),
            "{svg}"
        );
        assert_eq!(svg.matches("class=\"dr-hair\"").count(), 12);
        for figure in [">1<", ">2<", ">3<", ">2.50<"] {
            assert!(svg.contains(figure), "{figure}");
        }
    }

    #[test]
    fn a_jug_of_any_size_has_a_readable_number_of_marks() {
        for holds in [50, 100, 250, 500, 1_000, 2_000, 5_000, 10_000, 25_000] {
            let svg = Jug::new(holds, holds).unwrap().to_string();
            let marks = svg.matches("class=\"dr-hair\"").count();
            assert!((4..=24).contains(&marks), "{holds} mL: {marks} marks");
        }
    }

    #[test]
    fn nothing_to_pour_is_not_drawn() {
        assert_eq!(Jug::new(3_000, 0), None);
        assert_eq!(Jug::new(0, 0), None);
    }
}
