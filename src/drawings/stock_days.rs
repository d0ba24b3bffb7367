//! What is left over the days to come: a falling stair with water under it, what it is with the orders
//! that are proposed, and the days on which it runs out and on which to order.

use std::fmt;

use chrono::{Datelike, NaiveDate, Weekday};

use super::scale::{Scale, short};
use super::{Text, n};

/// One product, or a tank, day by day.
#[derive(Clone, Debug)]
pub struct StockDays {
    /// 'Peroxide 35'.
    pub what: String,
    /// 'L'.
    pub unit: String,
    pub first: NaiveDate,
    /// What is left in the evening of each day; below nothing by what is missing.
    pub left: Vec<f64>,
    /// The same with the orders that are proposed, where there are any.
    pub with_orders: Vec<f64>,
    /// What is kept beyond the plan.
    pub least: Option<f64>,
    /// The most that may stand there.
    pub most: Option<f64>,
    pub runs_out: Option<NaiveDate>,
    pub order_by: Option<NaiveDate>,
}

const LEFT: f64 = 46.0;
const RIGHT: f64 = 348.0;
const TOP: f64 = 16.0;
const BED: f64 = 140.0;

impl StockDays {
    fn last(&self) -> NaiveDate {
        let days = self.left.len().saturating_sub(1) as u64;
        self.first
            .checked_add_days(chrono::Days::new(days))
            .unwrap_or(self.first)
    }

    /// The left edge of a day.
    fn x(&self, day: NaiveDate) -> f64 {
        let days = (day - self.first).num_days() as f64;
        LEFT + (RIGHT - LEFT) * days / self.left.len().max(1) as f64
    }

    /// A stair from the left edge to the right one, below the words of a path that stands there.
    fn stair(&self, values: &[f64], scale: Scale) -> String {
        let mut path = String::new();
        for (no, (value, day)) in values.iter().zip(self.first.iter_days()).enumerate() {
            let y = n(scale.y(value.max(0.0), TOP, BED));
            let to = n(self.x(day.succ_opt().unwrap_or(day)));
            let begin = if no == 0 {
                format!("{LEFT} {y}")
            } else {
                format!("V{y}")
            };
            path.push_str(&format!("{begin}H{to}"));
        }
        path
    }

    /// What it shows in one sentence.
    fn sentence(&self) -> String {
        let day = |day: NaiveDate| day.format("%-d %B %Y").to_string();
        let ends = |values: &[f64]| {
            let (first, last) = (values.first().copied(), values.last().copied());
            let words = |value: Option<f64>| short(value.unwrap_or(0.0).max(0.0));
            (words(first), words(last))
        };
        let (first, last) = ends(&self.left);
        let runs_out = match self.runs_out {
            Some(on) => format!(", runs out on {}", day(on)),
            None => ", does not run out".to_owned(),
        };
        let order = self
            .order_by
            .map_or_else(String::new, |by| format!("; to be ordered by {}", day(by)));
        format!(
            "{}: {first} {unit} left on {}, {last} {unit} on {}{runs_out}{order}",
            self.what,
            day(self.first),
            day(self.last()),
            unit = self.unit
        )
    }
}

/// Where words stand beside an upright line: inside the drawing.
fn anchor(x: f64) -> &'static str {
    match x {
        x if x < LEFT + 70.0 => "start",
        x if x > RIGHT - 70.0 => "end",
        _ => "middle",
    }
}

impl askama::filters::HtmlSafe for StockDays {}

impl fmt::Display for StockDays {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let values = self.left.iter().chain(&self.with_orders).copied();
        let lines = self.least.into_iter().chain(self.most);
        let scale = Scale::of(values.map(|v| v.max(0.0)).chain(lines).chain([0.0]));
        let (sentence, unit) = (self.sentence(), &self.unit);
        write!(
            f,
            "<svg viewBox=\"0 0 360 196\" role=\"img\" aria-label=\"{}\">",
            Text(&sentence)
        )?;
        let stair = self.stair(&self.left, scale);
        write!(
            f,
            "<path class=\"dr-water\" d=\"M{LEFT} {BED}L{stair}V{BED}Z\"/>"
        )?;
        let mut at = 0.0;
        while at <= scale.steps {
            let value = scale.low + scale.step * at;
            let y = n(scale.y(value, TOP, BED));
            write!(
                f,
                "<path class=\"dr-dim\" d=\"M{} {y}h6\"/><text class=\"s\" x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
                LEFT - 6.0,
                LEFT - 9.0,
                n(y + 4.0),
                short(value)
            )?;
            at += 1.0;
        }
        write!(
            f,
            "<path class=\"dr-hair\" d=\"M{LEFT} {TOP}V{BED}H{RIGHT}\"/><text class=\"s\" x=\"{}\" y=\"10\">{} left in the evening</text>",
            LEFT - 6.0,
            Text(unit)
        )?;
        let mondays = self.first.iter_days().take(self.left.len());
        for monday in mondays.filter(|day| day.weekday() == Weekday::Mon) {
            write!(
                f,
                "<path class=\"dr-dim\" d=\"M{} {BED}v5\"/>",
                n(self.x(monday))
            )?;
        }
        for (value, words) in [(self.least, "kept beyond the plan"), (self.most, "most")] {
            let Some(value) = value else { continue };
            let y = scale.y(value, TOP, BED);
            write!(
                f,
                "<path class=\"dr-dim\" stroke-dasharray=\"2 3\" d=\"M{LEFT} {}H{RIGHT}\"/><text class=\"s halo\" x=\"{RIGHT}\" y=\"{}\" text-anchor=\"end\">{words}</text>",
                n(y),
                n(y - 4.0)
            )?;
        }
        write!(f, "<path class=\"dr\" d=\"M{stair}\"/>")?;
        if !self.with_orders.is_empty() {
            let stair = self.stair(&self.with_orders, scale);
            write!(
                f,
                "<path class=\"dr-level\" stroke-dasharray=\"7 4\" d=\"M{stair}\"/>"
            )?;
        }
        let day = |day: NaiveDate| day.format("%-d %b").to_string();
        write!(
            f,
            "<text x=\"{LEFT}\" y=\"158\">{}</text><text x=\"{RIGHT}\" y=\"158\" text-anchor=\"end\">{}</text>",
            day(self.first),
            day(self.last())
        )?;
        if let Some(on) = self.runs_out {
            let x = n(self.x(on));
            write!(
                f,
                "<path class=\"dr-temp\" d=\"M{x} {TOP}V166\"/><text class=\"t\" x=\"{x}\" y=\"178\" text-anchor=\"{}\">runs out {}</text>",
                anchor(x),
                day(on)
            )?;
        }
        if let Some(by) = self.order_by {
            let x = n(self.x(by));
            write!(
                f,
                "<path class=\"dr-hair\" d=\"M{x} {}V183\"/><text x=\"{x}\" y=\"194\" text-anchor=\"{}\">order by {}</text>",
                BED - 14.0,
                anchor(x),
                day(by)
            )?;
        }
        f.write_str("</svg>")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days() -> StockDays {
        let day = |text: &str| text.parse().unwrap();
        StockDays {
            what: "Peroxide <35>".to_owned(),
            unit: "L".to_owned(),
            first: day("2027-03-04"),
            left: vec![20.0, 8.0, 8.0, -4.0],
            with_orders: vec![20.0, 8.0, 33.0, 21.0],
            least: Some(2.0),
            most: None,
            runs_out: Some(day("2027-03-07")),
            order_by: Some(day("2027-03-04")),
        }
    }

    #[test]
    fn it_says_what_it_shows_and_names_its_axis() {
        let svg = days().to_string();
        assert!(svg.contains("Peroxide &lt;35&gt;: 20 L left on 4 March 2027, 0 L on 7 March 2027, runs out on 7 March 2027; to be ordered by 4 March 2027"), "{svg}");
        assert!(svg.contains("L left in the evening") && svg.contains("order by 4 Mar"));
        // Four days on 302 px: the third day begins at half.
        assert!(svg.contains("H197V") && !svg.contains("NaN"), "{svg}");
    }

    #[test]
    fn what_does_not_run_out_has_no_line_for_it() {
        let calm = StockDays {
            runs_out: None,
            order_by: None,
            with_orders: Vec::new(),
            ..days()
        };
        let svg = calm.to_string();
        assert!(svg.contains("does not run out") && !svg.contains("dr-temp"));
        let nothing = StockDays {
            left: Vec::new(),
            ..calm
        };
        assert!(nothing.to_string().contains("0 L left"));
    }
}
