//! The stakes of one row: pole, foot, topmark, number, and the hatching of a late one.

use std::fmt;

use super::sea::{Scale, percent};
use super::shore::Shore;
use super::{Days, Stake, Standing, Text, n, words};

/// How wide two digits are beside their pole, in pixels.
const NUMBER: f64 = 24.0;
const LATE_NUMBER: f64 = 62.0;

impl Stake {
    /// By how much it ends after the planting. A clean-out that was called off is never late.
    pub(super) fn late_by(&self) -> Option<chrono::TimeDelta> {
        let planting = self.planting?;
        (self.standing != Standing::CalledOff && self.end > planting).then(|| self.end - planting)
    }

    /// "27-0042, under way, Thu 4 March 08:30 to 14:30, late by 1 d 7 h".
    pub(super) fn words(&self) -> String {
        let (number, standing) = (&self.number, self.standing.words());
        let mut said = format!(
            "{number}, {standing}, {}",
            words::span(self.start, self.end)
        );
        if let Some(late) = self.late_by() {
            said.push_str(", late by ");
            said.push_str(&words::length(late));
        }
        said
    }

    fn short_number(&self) -> &str {
        // One that has no number yet says so in full.
        let last = self.number.len().saturating_sub(2);
        match self.number.get(last..) {
            Some(two) if two.bytes().all(|byte| byte.is_ascii_digit()) => two,
            _ => &self.number,
        }
    }
}

/// What stands beside a pole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Label {
    Number,
    /// On a card the number is in the head; the start is what the hand needs.
    Clock,
}

pub(super) struct Stakes<'a> {
    pub days: Days,
    pub scale: Scale,
    pub shore: &'a Shore,
    pub stakes: &'a [Stake],
    pub label: Label,
}

/// Where a label stands: its place on the axis, which way it runs, and how high.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    day: f64,
    to_the_left: bool,
    line: f64,
}

impl fmt::Display for Stakes<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places = self.places();
        for (stake, place) in self.stakes.iter().zip(places) {
            // One that ends before the first day or starts after the last cannot be seen.
            if self.days.at(stake.end) > 0.0 && self.days.at(stake.start) < self.days.count() {
                self.overlap(f, stake)?;
                self.stake(f, stake, place)?;
            }
        }
        Ok(())
    }
}

impl Stakes<'_> {
    /// A lone number stands beside its pole where there is low water for it. Neighbours closer
    /// than a number's width on a phone take two heights in turn, the first running left.
    fn places(&self) -> Vec<Place> {
        let close = NUMBER / self.scale.phone_day;
        let starts: Vec<f64> = self.stakes.iter().map(|s| self.days.at(s.start)).collect();
        let near = |a: usize, b: usize| (starts[a] - starts[b]).abs() < close;
        let low_row = self.scale.height < 50.0;
        let mut turn = 0;
        (0..starts.len())
            .map(|i| {
                let after = i > 0 && near(i, i - 1);
                let before = i + 1 < starts.len() && near(i, i + 1);
                turn = if after { turn + 1 } else { 0 };
                let line = match (after || before, turn % 2) {
                    // In a low row the name of the crop comes close: the word "late" stands under it.
                    (false, _) if low_row && self.stakes[i].late_by().is_some() => self.line(0.92),
                    (false, _) => self.line(0.8),
                    (true, 0) => self.line(0.68),
                    (true, _) => self.line(0.92),
                };
                let mut place = self.lone_place(&self.stakes[i], line);
                if after || before {
                    place.to_the_left = before && !after && starts[i] > close;
                    place.day = starts[i];
                }
                place
            })
            .collect()
    }

    fn line(&self, part: f64) -> f64 {
        n(self.scale.height * part)
    }

    fn lone_place(&self, stake: &Stake, line: f64) -> Place {
        let start = self.days.at(stake.start);
        let late = stake.late_by().is_some();
        let day = if late {
            self.days.at(stake.end).max(start)
        } else {
            start
        };
        let need = if late { LATE_NUMBER } else { NUMBER } / self.scale.phone_day;
        let (from, to) = match self.shore.is_high(start) {
            true => (0.0, self.days.count()),
            false => self.shore.level_span(start),
        };
        let (left, right) = (start - from.max(0.0), to.min(self.days.count()) - day);
        let to_the_left = right < need && left > right;
        Place {
            day: if to_the_left { start } else { day },
            to_the_left,
            line,
        }
    }

    /// From the planting to the end of a late clean-out: what overlaps.
    fn overlap(&self, f: &mut fmt::Formatter<'_>, stake: &Stake) -> fmt::Result {
        let (Some(_), Some(planting)) = (stake.late_by(), stake.planting) else {
            return Ok(());
        };
        let from = self.days.at(planting);
        let (x, width) = (
            percent(from, self.days),
            percent(self.days.at(stake.end) - from, self.days),
        );
        write!(
            f,
            "<svg class=\"is-late\" x=\"{x}%\" y=\"{}\" width=\"{width}%\" height=\"14\" \
             aria-hidden=\"true\"><rect class=\"overlap-bed\" width=\"100%\" height=\"14\"/>\
             <use href=\"#hatch\" x=\"-14\"/>\
             <rect class=\"overlap\" width=\"100%\" height=\"14\"/></svg>",
            self.scale.height - 14.0
        )
    }

    fn stake(&self, f: &mut fmt::Formatter<'_>, stake: &Stake, place: Place) -> fmt::Result {
        let late = stake.late_by().is_some();
        let proposed = if stake.standing == Standing::Proposed {
            " proposed"
        } else {
            ""
        };
        let magenta = if late { " is-late" } else { "" };
        let element = if stake.href.is_some() { "a" } else { "g" };
        write!(f, "<{element} class=\"stake{proposed}{magenta}\"")?;
        if let Some(href) = &stake.href {
            write!(f, " href=\"{}\"", Text(href))?;
        }
        write!(f, "><title>Clean-out {}</title>", Text(&stake.words()))?;
        let (start, end) = (self.days.at(stake.start), self.days.at(stake.end));
        let (x, long) = (
            percent(start, self.days),
            percent((end - start).max(0.1), self.days),
        );
        let (h, mark) = (self.scale.height, stake.standing.mark());
        let top = n(self.scale.marks().high + if h < 50.0 { 6.0 } else { 12.4 });
        write!(
            f,
            "<svg x=\"{x}%\" overflow=\"visible\">\
             <rect class=\"hit\" x=\"-22\" y=\"0\" width=\"44\" height=\"{h}\"/>\
             <line class=\"pole\" x1=\"0\" x2=\"0\" y1=\"{}\" y2=\"{}\"/>\
             <rect class=\"foot\" x=\"-1\" y=\"{}\" width=\"{long}%\" height=\"5\"/>\
             <use href=\"#tm-{mark}\" y=\"{top}\"/></svg>",
            h - 2.0,
            top + 7.0,
            h - 5.0,
        )?;
        self.label(f, stake, place)?;
        writeln!(f, "</{element}>")
    }

    fn label(&self, f: &mut fmt::Formatter<'_>, stake: &Stake, place: Place) -> fmt::Result {
        let clock = stake.start.format("%H:%M").to_string();
        let said = match self.label {
            Label::Number => stake.short_number(),
            Label::Clock => &clock,
        };
        let late = if stake.late_by().is_some() {
            " late"
        } else {
            ""
        };
        let water = if self.shore.is_high(place.day) {
            " in-water"
        } else {
            ""
        };
        let (dx, anchor) = if place.to_the_left {
            (-6, "end")
        } else {
            (6, "start")
        };
        let x = percent(place.day, self.days);
        write!(
            f,
            "<svg x=\"{x}%\" overflow=\"visible\"><text class=\"halo{water}\" x=\"{dx}\" \
             y=\"{}\" text-anchor=\"{anchor}\">{}{late}</text></svg>",
            place.line,
            Text(said),
        )
    }
}
