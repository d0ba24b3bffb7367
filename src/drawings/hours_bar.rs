//! Somebody's hours and the work in them: a trough as long as the hours, filled from the left with what
//! stands, what is posted and what is proposed. What finds no hours runs over its end.

use std::fmt;

use super::{Text, n};

/// Minutes of somebody, on a scale that all bars of a table share.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoursBar {
    /// What it shows, in a sentence.
    pub says: String,
    pub there: i64,
    pub stands: i64,
    pub posted: i64,
    pub proposed: i64,
    /// Of all work, what finds no hours.
    pub over: i64,
    /// The longest of the table.
    pub longest: i64,
}

const WIDE: f64 = 236.0;
const LEFT: f64 = 2.0;
const TOP: f64 = 5.0;
const HIGH: f64 = 14.0;

impl HoursBar {
    fn x(&self, minutes: i64) -> f64 {
        n(LEFT + WIDE * minutes.max(0) as f64 / self.longest.max(1) as f64)
    }
}

impl askama::filters::HtmlSafe for HoursBar {}

impl fmt::Display for HoursBar {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "<svg class=\"hoursbar\" viewBox=\"0 0 240 24\" role=\"img\" aria-label=\"{}\">",
            Text(&self.says)
        )?;
        let foot = TOP + HIGH;
        let mut from = 0;
        for (minutes, class, dashes) in [
            (self.stands, "dr-ink", ""),
            (self.posted, "dr-water", ""),
            (self.proposed, "dr-paper", " stroke-dasharray=\"3 3\""),
        ] {
            if minutes > 0 {
                let (left, right) = (self.x(from), self.x(from + minutes));
                let outline = format!("M{left} {TOP}H{right}V{foot}H{left}Z");
                write!(
                    f,
                    "<path class=\"{class}\" d=\"{outline}\"/><path class=\"dr-hair\"{dashes} d=\"{outline}\"/>"
                )?;
            }
            from += minutes;
        }
        // The trough: its floor and its end.
        let end = self.x(self.there);
        write!(
            f,
            "<path class=\"dr-hair\" d=\"M{LEFT} {TOP}V{floor}H{end}V{TOP}\"/>",
            floor = foot + 2.0
        )?;
        if self.over > 0 {
            let (left, right) = (self.x(from - self.over), self.x(from));
            write!(
                f,
                "<path class=\"dr-temp\" d=\"M{left} 2.5H{right}V{}\"/>",
                foot + 3.0
            )?;
        }
        f.write_str("</svg>")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar() -> HoursBar {
        HoursBar {
            says: "Tobit <A.>: 6 h of 8 h".to_owned(),
            there: 480,
            stands: 120,
            posted: 120,
            proposed: 120,
            over: 0,
            longest: 480,
        }
    }

    #[test]
    fn each_kind_of_work_has_its_length_and_its_own_face() {
        let svg = bar().to_string();
        assert!(svg.contains("aria-label=\"Tobit &lt;A.&gt;: 6 h of 8 h\""));
        // A quarter of 236 px for two hours of eight.
        assert!(svg.contains("dr-ink\" d=\"M2 5H61V19H2Z"), "{svg}");
        assert!(svg.contains("dr-water\" d=\"M61 5H120V19H61Z"), "{svg}");
        assert!(svg.contains("dr-paper\" d=\"M120 5H179V19H120Z"), "{svg}");
        assert!(svg.contains("stroke-dasharray=\"3 3\"") && !svg.contains("dr-temp"));
    }

    #[test]
    fn what_finds_no_hours_runs_over_the_end() {
        let over = HoursBar {
            there: 240,
            over: 120,
            ..bar()
        };
        let svg = over.to_string();
        assert!(svg.contains("V21H120V5"), "{svg}");
        assert!(svg.contains("dr-temp\" d=\"M120 2.5H179V22"), "{svg}");
        let nothing = HoursBar {
            stands: 0,
            posted: 0,
            proposed: 0,
            there: 0,
            over: 0,
            longest: 0,
            ..bar()
        };
        assert!(!nothing.to_string().contains("NaN"));
    }
}
