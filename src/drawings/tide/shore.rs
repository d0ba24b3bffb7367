//! Where the water stands: from plantings and turnovers to one curve over the days.

use std::fmt::Write;

use super::{Days, Growing, n};

/// An ebb or a flood takes this many days on the drawing, or half of a gap that is shorter.
const TURN: f64 = 0.62;
/// Units of the inner drawing to a day; it is stretched to the width of the row.
pub(super) const DAY: f64 = 100.0;

#[derive(Debug, Clone, Copy, PartialEq)]
struct Turn {
    from: f64,
    to: f64,
    flood: bool,
}

impl Turn {
    fn middle(self) -> f64 {
        f64::midpoint(self.from, self.to)
    }
}

/// The height of the water over the days shown and a little beyond.
#[derive(Debug)]
pub(super) struct Shore {
    /// Whether the water stands high before the first turn.
    high: bool,
    turns: Vec<Turn>,
    /// The last day drawn.
    end: f64,
}

/// The heights, in pixels down from the top, between which a curve runs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Marks {
    pub high: f64,
    pub low: f64,
}

impl Shore {
    pub fn new(growing: &[Growing], days: Days) -> Self {
        let mut shore = Self {
            high: false,
            turns: Vec::new(),
            end: days.count() + 1.0,
        };
        for (on, off) in stands(growing, days) {
            let gap = shore
                .turns
                .last()
                .map_or(f64::INFINITY, |ebb| on - ebb.from);
            let turn = TURN.min(gap / 2.0);
            if let Some(ebb) = shore.turns.last_mut() {
                ebb.to = ebb.from + turn;
            }
            if on == f64::NEG_INFINITY {
                shore.high = true;
            } else {
                shore.turns.push(Turn {
                    from: on - turn,
                    to: on,
                    flood: true,
                });
            }
            if off < f64::INFINITY {
                shore.turns.push(Turn {
                    from: off,
                    to: off + TURN,
                    flood: false,
                });
            }
        }
        shore.keep_what_shows();
        shore
    }

    /// Drops the turns outside the days drawn; the water before the rest keeps its height.
    fn keep_what_shows(&mut self) {
        let before = self.turns.iter().take_while(|t| t.to < -1.0).count();
        if let Some(last) = self.turns.drain(..before).next_back() {
            self.high = last.flood;
        }
        self.turns.retain(|t| t.from < self.end);
    }

    pub fn is_high(&self, day: f64) -> bool {
        self.turns
            .iter()
            .rev()
            .find(|t| t.middle() <= day)
            .map_or(self.high, |t| t.flood)
    }

    /// The first moment from `day` on at which the water is not turning, so that words can stand there
    /// without a curve through them.
    pub fn settled_from(&self, day: f64) -> f64 {
        self.turns
            .iter()
            .find(|turn| turn.from <= day && day < turn.to)
            .map_or(day, |turn| turn.to)
    }

    pub fn is_always_low(&self) -> bool {
        !self.high && self.turns.is_empty()
    }

    /// The span around `day` in which the water keeps its height.
    pub fn level_span(&self, day: f64) -> (f64, f64) {
        let before = self
            .turns
            .iter()
            .rev()
            .find(|t| t.middle() <= day)
            .map_or(0.0, |t| t.to);
        let after = self
            .turns
            .iter()
            .find(|t| t.middle() > day)
            .map_or(self.end, |t| t.from);
        (before, after)
    }

    /// The curve from one day to another as path data. A cut that falls in a turn is put after it.
    pub fn curve(&self, from: f64, to: f64, marks: Marks) -> String {
        let y = |high| n(if high { marks.high } else { marks.low });
        let (from, to) = (self.after_turn(from), self.after_turn(to));
        let mut path = format!("M{} {}", n(from * DAY), y(self.is_high(from)));
        for turn in self.turns.iter().filter(|t| t.from >= from && t.to <= to) {
            let (x0, x1, middle) = (n(turn.from * DAY), n(turn.to * DAY), n(turn.middle() * DAY));
            let (y0, y1) = (y(!turn.flood), y(turn.flood));
            // Writing to a String cannot fail.
            let _ = write!(path, "H{x0}C{middle} {y0} {middle} {y1} {x1} {y1}");
        }
        let _ = write!(path, "H{}", n(to * DAY));
        path
    }

    /// The whole curve, from before the first day to after the last.
    pub fn whole(&self, marks: Marks) -> String {
        self.curve(self.start(), self.end, marks)
    }

    pub fn start(&self) -> f64 {
        self.turns.first().map_or(0.0, |t| t.from.min(0.0))
    }

    pub fn end(&self) -> f64 {
        self.turns.last().map_or(self.end, |t| t.to.max(self.end))
    }

    fn after_turn(&self, day: f64) -> f64 {
        self.turns
            .iter()
            .find(|t| t.from < day && day < t.to)
            .map_or(day, |t| t.to)
    }
}

/// The spans in which something grows, in order, those that touch joined into one.
fn stands(growing: &[Growing], days: Days) -> Vec<(f64, f64)> {
    let mut spans: Vec<(f64, f64)> = growing
        .iter()
        .map(|g| {
            let on = g.on.map_or(f64::NEG_INFINITY, |t| days.at(t));
            (on, g.off.map_or(f64::INFINITY, |t| days.at(t)))
        })
        .filter(|(on, off)| on < off)
        .collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::with_capacity(spans.len());
    for (on, off) in spans {
        match joined.last_mut() {
            Some(last) if on <= last.1 => last.1 = last.1.max(off),
            _ => joined.push((on, off)),
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
    use proptest::prelude::*;

    const MARKS: Marks = Marks {
        high: 9.6,
        low: 56.5,
    };

    fn days() -> Days {
        Days::from_week_of(NaiveDate::from_ymd_opt(2027, 3, 1).unwrap(), 3, None)
    }

    fn at(day: f64) -> NaiveDateTime {
        let midnight = days().first().and_hms_opt(0, 0, 0).unwrap();
        midnight + TimeDelta::minutes((day * 1440.0).round() as i64)
    }

    fn shore(spans: &[(f64, f64)]) -> Shore {
        let growing: Vec<Growing> = spans
            .iter()
            .map(|&(on, off)| {
                let crop = Growing::new("Basil");
                let crop = if on.is_finite() {
                    crop.on(at(on))
                } else {
                    crop
                };
                if off.is_finite() {
                    crop.off(at(off))
                } else {
                    crop
                }
            })
            .collect();
        Shore::new(&growing, days())
    }

    #[test]
    fn the_ebb_starts_at_the_turnover_and_the_flood_ends_at_the_planting() {
        let shore = shore(&[(f64::NEG_INFINITY, 2.0), (4.5, f64::INFINITY)]);
        assert_eq!(
            shore.whole(MARKS),
            "M0 9.6H200C231 9.6 231 56.5 262 56.5H388C419 56.5 419 9.6 450 9.6H2200"
        );
        assert!(shore.is_high(1.9) && !shore.is_high(3.0) && shore.is_high(4.5));
        assert_eq!(shore.level_span(3.0), (2.62, 3.88));
    }

    #[test]
    fn a_short_gap_still_reaches_low_water() {
        let shore = shore(&[(f64::NEG_INFINITY, 2.0), (2.5, f64::INFINITY)]);
        assert_eq!(
            shore.whole(MARKS),
            "M0 9.6H200C212.5 9.6 212.5 56.5 225 56.5H225C237.5 56.5 237.5 9.6 250 9.6H2200"
        );
    }

    #[test]
    fn crops_that_touch_or_overlap_leave_no_gap() {
        assert_eq!(
            shore(&[(-3.0, 5.0), (4.0, 9.0), (9.0, 30.0)]).whole(MARKS),
            "M0 9.6H2200"
        );
        assert_eq!(shore(&[]).whole(MARKS), "M0 56.5H2200");
        assert!(shore(&[]).is_always_low());
    }

    #[test]
    fn what_lies_outside_the_days_only_sets_the_height() {
        assert_eq!(
            shore(&[(-40.0, -20.0), (-10.0, 60.0)]).whole(MARKS),
            "M0 9.6H2200"
        );
        assert_eq!(
            shore(&[(-40.0, -20.0), (40.0, 60.0)]).whole(MARKS),
            "M0 56.5H2200"
        );
    }

    proptest! {
        #[test]
        fn the_curve_never_runs_back(
            spans in prop::collection::vec((-60.0..60.0f64, 0.01..40.0f64), 0..8)
        ) {
            let spans: Vec<_> = spans.into_iter().map(|(on, long)| (on, on + long)).collect();
            let shore = shore(&spans);
            let mut at = shore.start() - 0.01;
            for turn in &shore.turns {
                prop_assert!(turn.from >= at - 1e-9 && turn.to >= turn.from, "{turn:?} after {at}");
                at = turn.to;
            }
            let flips = shore.turns.windows(2).all(|w| w[0].flood != w[1].flood);
            prop_assert!(flips, "two turns the same way: {:?}", shore.turns);
        }
    }
}
