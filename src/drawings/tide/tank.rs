//! The level of a tank on the axis of days: it rises evenly to the brim and falls with each draw.

use std::fmt;

use chrono::NaiveDateTime;

use super::axis::Head;
use super::sea::percent;
use super::shore::DAY;
use super::{Days, Text, n};

/// A tank over the days shown.
#[derive(Debug, Clone)]
pub struct Tank {
    pub days: Days,
    pub name: String,
    pub href: String,
    /// Such as "at its lowest 120 L, Tue 16".
    pub state: String,
    /// Such as "860 L now".
    pub on_hand: String,
    pub full_l: f64,
    /// What a full tank holds, with its unit.
    pub full: String,
    /// In order of time; from one to the next the level rises evenly.
    pub levels: Vec<(NaiveDateTime, f64)>,
}

const HEIGHT: f64 = 84.0;
const TOP: f64 = 18.0;
const BED: f64 = 80.0;

impl Tank {
    fn y(&self, litres: f64) -> f64 {
        let full = if self.full_l > 0.0 { self.full_l } else { 1.0 };
        n(BED - (BED - TOP) * litres.clamp(0.0, full) / full)
    }

    /// The line of the level as far as the days go.
    fn path(&self) -> String {
        let mut path = String::new();
        let mut last = None;
        for (at, litres) in &self.levels {
            let (x, y) = (n(self.days.at(*at).max(0.0) * DAY), self.y(*litres));
            path += &match last {
                None => format!("M{x} {y}"),
                Some(_) => format!("L{x} {y}"),
            };
            last = Some(y);
        }
        match last {
            // From the last draw on it stays full.
            Some(_) => format!("{path}H{}", n(self.days.count() * DAY)),
            None => path,
        }
    }
}

impl askama::filters::HtmlSafe for Tank {}

impl fmt::Display for Tank {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (days, path) = (self.days, self.path());
        let (name, href) = (Text(&self.name), Text(&self.href));
        let (state, on_hand) = (Text(&self.state), Text(&self.on_hand));
        let sentence = format!("{}: {}, {}", self.name, self.on_hand, self.state);
        let begins = self
            .levels
            .first()
            .map_or(0.0, |(at, _)| days.at(*at).max(0.0) * DAY);
        let (begins, end) = (n(begins), n(days.count() * DAY));
        let brim = self.y(self.full_l);
        writeln!(
            f,
            "<div class=\"tides w{}\">\n{}<div class=\"tide stock\"><div class=\"tide-name\">\
             <a href=\"{href}\">{name}</a><span class=\"state\">{state}</span><span>{on_hand}</span></div>\n\
             <div class=\"tide-sea\"><svg class=\"sea\" width=\"100%\" height=\"{HEIGHT}\" role=\"img\" \
             aria-label=\"{}\"><svg viewBox=\"0 0 {end} {HEIGHT}\" preserveAspectRatio=\"none\" width=\"100%\" \
             height=\"{HEIGHT}\" aria-hidden=\"true\"><path class=\"fill\" d=\"{path}V{HEIGHT}H{begins}Z\"/>\
             <path class=\"brim\" d=\"M0 {brim}H{end}\"/><path class=\"curve\" d=\"{path}\"/></svg>\
             <text class=\"lev halo\" x=\"4\" y=\"{}\" aria-hidden=\"true\">full {}</text>",
            days.weeks(),
            Head {
                days,
                columns: false
            },
            Text(&sentence),
            n(brim - 5.0),
            Text(&self.full),
        )?;
        if let Some(now) = days.now() {
            let x = percent(now, days);
            write!(
                f,
                "<line class=\"now\" x1=\"{x}%\" x2=\"{x}%\" y1=\"0\" y2=\"{HEIGHT}\"/>"
            )?;
        }
        f.write_str("</svg></div></div></div>\n")
    }
}
