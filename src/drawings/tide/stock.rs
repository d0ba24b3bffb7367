//! The stock of a product on the axis of the tide line: a falling step line, and where it breaks.

use std::fmt;

use chrono::NaiveDateTime;

use super::sea::percent;
use super::shore::DAY;
use super::{Days, Text, n, words};

/// What is on hand of one product over the days shown.
#[derive(Debug, Clone)]
pub struct StockRow {
    pub name: String,
    pub href: String,
    /// Such as "runs out Tue 16".
    pub state: String,
    /// Such as "48.2 L in store".
    pub on_hand: String,
    /// Litres at the start of the first day.
    pub start_l: f64,
    /// What changes it, in order of time.
    pub falls: Vec<StockFall>,
    /// A sentence beside the row, such as by when to order.
    pub note: String,
}

/// One change of the stock: a clean-out takes, a delivery brings.
#[derive(Debug, Clone, Copy)]
pub struct StockFall {
    pub at: NaiveDateTime,
    /// Litres on hand after it, below zero where they do not suffice.
    pub left_l: f64,
}

pub(super) struct Fall<'a> {
    pub row: &'a StockRow,
    pub days: Days,
}

const HEIGHT: f64 = 84.0;
const TOP: f64 = 16.0;
const BED: f64 = 80.0;

impl Fall<'_> {
    fn y(&self, litres: f64) -> f64 {
        let most = self
            .row
            .falls
            .iter()
            .map(|f| f.left_l)
            .fold(self.row.start_l, f64::max);
        let full = if most > 0.0 { most } else { 1.0 };
        n(BED - (BED - TOP) * litres.clamp(0.0, full) / full)
    }

    /// The first time at which it does not suffice, and how much is missing then.
    fn short(&self) -> Option<(NaiveDateTime, f64)> {
        let first = self.row.falls.iter().find(|f| f.left_l < 0.0)?;
        Some((first.at, -first.left_l))
    }

    fn sentence(&self) -> String {
        let row = self.row;
        let mut said = format!("Stock of {}: {}", row.name, row.on_hand);
        for fall in &row.falls {
            let day = fall.at.format("%a %-d %B");
            match fall.left_l {
                l if l < 0.0 => said += &format!(", {:.1} L short on {day}", -l),
                l => said += &format!(", {l:.1} L after {day}"),
            }
        }
        said
    }
}

impl fmt::Display for Fall<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (row, days) = (self.row, self.days);
        let (name, href) = (Text(&row.name), Text(&row.href));
        let (state, on_hand) = (Text(&row.state), Text(&row.on_hand));
        write!(
            f,
            "<div class=\"tide stock\"><div class=\"tide-name\"><a href=\"{href}\">{name}</a>\
             <span class=\"state\">{state}</span><span>{on_hand}</span></div>\n\
             <div class=\"tide-sea\"><svg class=\"sea\" width=\"100%\" height=\"{HEIGHT}\" \
             role=\"img\" aria-label=\"{}\">",
            Text(&self.sentence())
        )?;
        let (short, end) = (self.short(), days.count());
        let stop = short.map_or(end, |(at, _)| days.at(at).clamp(0.0, end));
        let mut path = format!("M0 {}", self.y(row.start_l));
        for fall in row.falls.iter().filter(|fall| days.at(fall.at) <= stop) {
            let x = n(days.at(fall.at).max(0.0) * DAY);
            path += &format!("H{x}V{}", self.y(fall.left_l));
        }
        path += &format!("H{}", n(stop * DAY));
        write!(
            f,
            "<svg viewBox=\"0 0 {} {HEIGHT}\" preserveAspectRatio=\"none\" width=\"100%\" \
             height=\"{HEIGHT}\" aria-hidden=\"true\"><path class=\"fill\" \
             d=\"{path}V{HEIGHT}H0Z\"/><path class=\"curve\" d=\"{path}\"/></svg>",
            end * DAY
        )?;
        self.levels(f, stop)?;
        if let Some(now) = days.now() {
            let x = percent(now, days);
            write!(
                f,
                "<line class=\"now\" x1=\"{x}%\" x2=\"{x}%\" y1=\"0\" y2=\"{HEIGHT}\"/>"
            )?;
        }
        if let Some((at, litres)) = short.filter(|(at, _)| days.shows(at.date())) {
            break_line(f, days, at, litres)?;
        }
        f.write_str("</svg></div>\n")?;
        if !row.note.is_empty() {
            writeln!(f, "<p class=\"small beside\">{}</p>", Text(&row.note))?;
        }
        f.write_str("</div>\n")
    }
}

impl Fall<'_> {
    /// The litres left under each step that is long enough for them.
    fn levels(&self, f: &mut fmt::Formatter<'_>, stop: f64) -> fmt::Result {
        let days = self.days;
        for (i, fall) in self.row.falls.iter().enumerate() {
            let x = days.at(fall.at);
            let next = self
                .row
                .falls
                .get(i + 1)
                .map_or(stop, |next| days.at(next.at).min(stop));
            let px_on_phone = (next - x) * 357.0 / days.count();
            if x < 0.0 || fall.left_l < 0.0 || px_on_phone < 20.0 {
                continue;
            }
            let roomy = if px_on_phone < 48.0 { " roomy" } else { "" };
            let (at, level) = (percent(x, days), self.y(fall.left_l));
            // Above the step where the bed is too near for letters below it.
            let above = level > 62.0;
            let y = n(if above { level - 6.0 } else { level + 15.0 });
            let water = if above { "" } else { " in-water" };
            write!(
                f,
                "<svg x=\"{at}%\" overflow=\"visible\" aria-hidden=\"true\">\
                 <text class=\"lev halo{roomy}{water}\" x=\"5\" y=\"{y}\">{:.1}\u{a0}L</text></svg>",
                fall.left_l
            )?;
        }
        Ok(())
    }
}

/// A broken upright with the litres short; near the right edge its words run to the left.
fn break_line(
    f: &mut fmt::Formatter<'_>,
    days: Days,
    at: NaiveDateTime,
    litres: f64,
) -> fmt::Result {
    let x = days.at(at);
    let (dx, anchor) = if (days.count() - x) * 357.0 / days.count() < 50.0 {
        (-7, "end")
    } else {
        (7, "start")
    };
    write!(
        f,
        "<svg x=\"{}%\" overflow=\"visible\" class=\"is-late\" aria-hidden=\"true\">\
         <line class=\"short\" x1=\"0\" x2=\"0\" y1=\"4\" y2=\"{HEIGHT}\"/>",
        percent(x, days)
    )?;
    let said = [
        words::day(at, days),
        format!("{litres:.1}\u{a0}L"),
        "short".to_owned(),
    ];
    for (y, said) in [18, 36, 54].into_iter().zip(said) {
        write!(
            f,
            "<text class=\"halo\" x=\"{dx}\" y=\"{y}\" text-anchor=\"{anchor}\">{said}</text>"
        )?;
    }
    f.write_str("</svg>")
}
