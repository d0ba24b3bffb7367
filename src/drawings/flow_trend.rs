//! Flow and drain times over the days: a square for each reading, the line through them, and the
//! band in which the clean system stood.

use std::fmt;

use chrono::NaiveDate;

use super::scale::{Scale, short};
use super::{Text, n};

/// Readings of one kind, oldest first.
#[derive(Clone, Debug, Default)]
pub struct FlowTrend {
    /// 'Time to flood'.
    pub what: String,
    pub unit: String,
    pub points: Vec<Point>,
    /// The trend of the newest series at its first and at its last day.
    pub line: Option<[(NaiveDate, f64); 2]>,
    /// The ends of the usual range, in either order.
    pub usual: Option<(f64, f64)>,
    /// Where a series ends and the next one begins: the last day of the one, the first of the other.
    pub breaks: Vec<(NaiveDate, NaiveDate)>,
    /// The first day of the newest series.
    pub since: Option<NaiveDate>,
}

#[derive(Clone, Copy, Debug)]
pub struct Point {
    pub day: NaiveDate,
    pub value: f64,
    /// Measured in a clean-out: it stands on a stake.
    pub cleanout: bool,
}

const LEFT: f64 = 46.0;
const RIGHT: f64 = 348.0;
const TOP: f64 = 12.0;
const BED: f64 = 148.0;
/// Half a square.
const HALF: f64 = 4.0;

impl FlowTrend {
    fn x(&self, day: NaiveDate) -> f64 {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return LEFT;
        };
        let all = (last.day - first.day).num_days();
        if all == 0 {
            return f64::midpoint(LEFT, RIGHT);
        }
        let inset = HALF + 2.0;
        let part = (day - first.day).num_days() as f64 / all as f64;
        LEFT + inset + (RIGHT - LEFT - 2.0 * inset) * part
    }

    /// What it shows in one sentence.
    fn sentence(&self) -> String {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return format!("{}: no readings", self.what);
        };
        let day = |day: NaiveDate| day.format("%-d %B %Y").to_string();
        format!(
            "{}: {} from {} to {}, {} {unit} at first and {} {unit} at last{}",
            self.what,
            match self.points.len() {
                1 => "one reading".to_owned(),
                count => format!("{count} readings"),
            },
            day(first.day),
            day(last.day),
            short(first.value),
            short(last.value),
            match self.breaks.len() {
                0 => "",
                _ => "; the pump or the loop was changed between",
            },
            unit = self.unit
        )
    }
}

impl askama::filters::HtmlSafe for FlowTrend {}

impl fmt::Display for FlowTrend {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let usual = self.usual.into_iter().flat_map(|(a, b)| [a, b]);
        let scale = Scale::of(self.points.iter().map(|point| point.value).chain(usual));
        write!(
            f,
            "<svg viewBox=\"0 0 360 180\" role=\"img\" aria-label=\"{}\">",
            Text(&self.sentence())
        )?;
        if let Some((a, b)) = self.usual {
            let (top, foot) = (
                scale.y(a.max(b), TOP, BED).max(TOP),
                scale.y(a.min(b), TOP, BED).min(BED),
            );
            let from = match (self.breaks.last(), self.since) {
                (Some(_), Some(since)) => self.x(since),
                _ => LEFT,
            };
            write!(
                f,
                "<rect class=\"dr-water\" x=\"{from}\" y=\"{top}\" width=\"{}\" height=\"{}\"/>\
                 <path class=\"dr-lining\" d=\"M{from} {top}H{RIGHT}M{from} {foot}H{RIGHT}\"/>",
                n(RIGHT - from),
                n(foot - top),
                from = n(from),
                top = n(top),
                foot = n(foot)
            )?;
        }
        for (ends, begins) in &self.breaks {
            let x = n(f64::midpoint(self.x(*ends), self.x(*begins)));
            write!(
                f,
                "<path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M{x} {TOP}V{BED}\"/>"
            )?;
        }
        let mut at = 0.0;
        while at <= scale.steps {
            let value = scale.low + scale.step * at;
            let y = n(scale.y(value, TOP, BED));
            write!(
                f,
                "<path class=\"dr-dim\" d=\"M{} {y}h6\"/>\
                 <text class=\"s\" x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
                LEFT - 6.0,
                LEFT - 9.0,
                n(y + 4.0),
                short(value)
            )?;
            at += 1.0;
        }
        write!(
            f,
            "<path class=\"dr-hair\" d=\"M{LEFT} {TOP}V{BED}H{RIGHT}\"/>\
             <text class=\"s\" x=\"{}\" y=\"10\">{}</text>",
            LEFT + 5.0,
            Text(&self.unit)
        )?;
        for point in self.points.iter().filter(|point| point.cleanout) {
            let (x, y) = (n(self.x(point.day)), n(scale.y(point.value, TOP, BED)));
            write!(f, "<path class=\"dr-dim\" d=\"M{x} {y}V{BED}\"/>")?;
        }
        if let Some([(first, from), (last, to)]) = self.line {
            write!(
                f,
                "<path class=\"dr-level\" stroke-dasharray=\"7 4\" d=\"M{} {}L{} {}\"/>",
                n(self.x(first)),
                n(scale.y(from, TOP, BED)),
                n(self.x(last)),
                n(scale.y(to, TOP, BED))
            )?;
        }
        for point in &self.points {
            let (x, y) = (self.x(point.day), scale.y(point.value, TOP, BED));
            write!(
                f,
                "<rect class=\"dr-ink\" x=\"{}\" y=\"{}\" width=\"{side}\" height=\"{side}\"/>",
                n(x - HALF),
                n(y - HALF),
                side = HALF * 2.0
            )?;
        }
        if let (Some(first), Some(last)) = (self.points.first(), self.points.last()) {
            let day = |day: NaiveDate| day.format("%-d %b %Y").to_string();
            if first.day == last.day {
                let x = n(self.x(first.day));
                write!(
                    f,
                    "<text x=\"{x}\" y=\"168\" text-anchor=\"middle\">{}</text>",
                    day(first.day)
                )?;
            } else {
                write!(
                    f,
                    "<text x=\"{LEFT}\" y=\"168\">{}</text><text x=\"{RIGHT}\" y=\"168\" text-anchor=\"end\">{}</text>",
                    day(first.day),
                    day(last.day)
                )?;
            }
        }
        f.write_str("</svg>")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2027, 1, d).unwrap()
    }

    fn trend(values: &[f64]) -> FlowTrend {
        FlowTrend {
            what: "Time to <flood>".to_owned(),
            unit: "s".to_owned(),
            points: (1..)
                .step_by(10)
                .zip(values)
                .map(|(d, value)| Point {
                    day: day(d),
                    value: *value,
                    cleanout: d == 1,
                })
                .collect(),
            line: None,
            usual: None,
            breaks: Vec::new(),
            since: None,
        }
    }

    #[test]
    fn readings_stand_to_scale_and_are_said_in_a_sentence() {
        // From 300 to 400 s in steps of 20 s on 136 px: 350 s stand in the middle, 80 px down.
        let svg = trend(&[320.0, 350.0, 380.0]).to_string();
        assert!(
            svg.contains("aria-label=\"Time to &lt;flood&gt;: 3 readings from 1 January 2027 to 21 January 2027, 320 s at first and 380 s at last\""),
            "{svg}"
        );
        assert_eq!(svg.matches("class=\"dr-ink\"").count(), 3);
        assert!(
            svg.contains("<rect class=\"dr-ink\" x=\"193\" y=\"76\""),
            "{svg}"
        );
        assert!(svg.contains(">300<") && svg.contains(">340<") && svg.contains(">400<"));
    }

    #[test]
    fn one_reading_and_none_are_drawn_too() {
        assert!(trend(&[395.0]).to_string().contains("one reading"));
        assert!(trend(&[]).to_string().contains("no readings"));
    }

    proptest! {
        #[test]
        fn whatever_was_measured_stays_on_the_sheet(
            values in proptest::collection::vec(0.01..36_000.0f64, 1..3), low in 0.0..100.0f64,
        ) {
            let mut drawing = trend(&values);
            drawing.usual = Some((low, low * 1.2));
            let svg = drawing.to_string();
            prop_assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            for part in svg.split("class=\"dr-ink\"").skip(1) {
                let y: f64 = part.split("y=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
                prop_assert!((TOP - HALF - 0.1..=BED - HALF + 0.1).contains(&y), "{y} in {svg}");
            }
        }
    }
}
