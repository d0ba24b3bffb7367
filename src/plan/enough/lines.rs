//! How the figures of an order come about, line by line.

use super::ProductAhead;
use crate::science::quantity::litres;
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::science::units::Units;
use crate::site::{day_words, full_day};
use crate::stock::containers::Containers;
use crate::stock::ordering::{Held, Order};
use crate::stock::room::By;
use crate::stock::safety::{ENOUGH, Safety};

/// A line of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub label: &'static str,
    pub working: String,
    pub result: String,
    /// The mark of how far it can be trusted.
    pub mark: &'static str,
}

fn line(label: &'static str, mark: &'static str, result: String, working: String) -> Line {
    Line {
        label,
        working,
        result,
        mark,
    }
}

pub(super) fn volume(amount: Millilitres, units: Units) -> String {
    show::volume(amount.volume(), units)
}

/// A signed amount: nothing is missing, or so much is.
pub(super) fn signed(ml: i64, units: Units) -> String {
    let words = show::volume(litres(ml.unsigned_abs() as f64 / 1000.0), units);
    match ml < 0 {
        true => format!("{words} missing"),
        false => words,
    }
}

/// '2 × 25 L and 1 × 5 L'.
pub(super) fn containers(chosen: &[Containers], units: Units) -> String {
    let words = chosen.iter();
    let words: Vec<String> = words
        .map(|one| format!("{}\u{a0}×\u{a0}{}", one.count, volume(one.size, units)))
        .collect();
    words.join(" and ")
}

impl ProductAhead {
    /// What is on hand, what is kept, what may stand there.
    pub fn lines(&self, units: Units) -> Vec<Line> {
        let codes = |lots: &[crate::stock::Lot]| {
            let each = lots.iter();
            let each: Vec<String> = each
                .map(|lot| format!("{} {}", lot.code, volume(lot.on_hand, units)))
                .collect();
            each.join(", ")
        };
        let sum =
            |lots: &[crate::stock::Lot]| -> i64 { lots.iter().map(|lot| lot.on_hand.get()).sum() };
        let mut lines = vec![line(
            "On hand and counted",
            "measured",
            signed(sum(&self.counted), units),
            codes(&self.counted),
        )];
        if !self.due.is_empty() {
            lines.push(line(
                "On hand and not counted",
                "measured",
                signed(sum(&self.due), units),
                format!(
                    "{}: the retest is due. Once it is titrated it counts again.",
                    codes(&self.due)
                ),
            ));
        }
        lines.push(self.safety_line(units));
        if let Some((most, by)) = self.limit {
            let why = match by {
                By::Stores => {
                    "what the stores hold that it may stand in, less what else stands in them"
                }
                By::Class => {
                    "what the storage class of its strength lets one part of a building hold"
                }
            };
            let result = volume(most, units);
            lines.push(line(
                "The most that may stand here",
                "given-figure",
                result,
                why.to_owned(),
            ));
        }
        let lead = match self.terms_entered {
            true => "as entered",
            false => "not entered: common practice, no source",
        };
        let days = format!("{}\u{a0}days", self.terms.lead_days);
        lines.push(line(
            "From the order to the delivery",
            "given-figure",
            days,
            lead.to_owned(),
        ));
        lines
    }

    fn safety_line(&self, units: Units) -> Line {
        const LABEL: &str = "Kept beyond the plan";
        let result = volume(self.safety.amount(), units);
        match self.safety {
            Safety::Own(_) => line(
                LABEL,
                "given-figure",
                result,
                "the site's own figure".to_owned(),
            ),
            Safety::Usual { uses, .. } => line(
                LABEL,
                "given-figure",
                result,
                format!(
                    "the largest planned dose once more: common practice, no source. {} so far, and {ENOUGH} tell how far doses scatter",
                    match uses {
                        0 => "No clean-out with a card was released".to_owned(),
                        1 => "One clean-out with a card was released".to_owned(),
                        uses => format!("{uses} clean-outs with a card were released"),
                    }
                ),
            ),
            Safety::Spread {
                uses,
                mean,
                sd,
                t,
                planned,
                ..
            } => {
                let percent = |part: f64| format!("{}\u{a0}%", show::figures(part * 100.0, 2));
                let direction = if mean < 0.0 { "less" } else { "more" };
                line(
                    LABEL,
                    "computed",
                    result,
                    format!(
                        "{uses} released clean-outs drew {} {direction} than their sheets on average, with a scatter of {}; at most {} are drawn in one lead time. Upper end of the 95 % prediction interval of that sum, with Student's t of {} (as in ISO 16269-8, from memory)",
                        percent(mean.abs()),
                        percent(sd),
                        volume(planned, units),
                        show::figures(t, 3)
                    ),
                )
            }
        }
    }

    /// How one order comes about.
    pub fn order_lines(&self, order: &Order, units: Units) -> Vec<Line> {
        let course = &self.course;
        let mut lines = vec![line(
            "Less than that would be left",
            "computed",
            day_words(order.needed),
            course
                .left_on(order.needed)
                .map(|left| format!("{} left then", signed(left.get(), units)))
                .filter(|_| self.orders.first() == Some(order))
                .unwrap_or_else(|| "with the orders before it".to_owned()),
        )];
        lines.push(line(
            "To be ordered by",
            "computed",
            day_words(order.by),
            format!(
                "it has to be there the evening before, {} days after the order, on days on which somebody works: it comes on {}",
                self.terms.lead_days,
                day_words(order.comes)
            ),
        ));
        let last = course.days.last().map(|day| full_day(day.day));
        lines.push(line(
            "Wanted",
            "computed",
            volume(order.wanted, units),
            format!(
                "so that until {} never less is left than is kept beyond the plan",
                last.unwrap_or_default()
            ),
        ));
        let sizes = self.terms.sizes.words(units);
        let rounded = match (order.containers.is_empty(), self.terms_entered) {
            (true, _) => "not rounded: no size of container is entered".to_owned(),
            (false, true) => format!("whole containers of {sizes}"),
            (false, false) => format!("whole containers of {sizes}, as the newest lot has"),
        };
        let held = match order.held {
            None => String::new(),
            Some(Held::ByLimit { there }) => format!(
                "; {} may stand here when it comes, so the rest is ordered later",
                match self.limit {
                    Some((most, _)) => format!(
                        "{} stand here then, and no more than {}",
                        volume(there, units),
                        volume(most, units)
                    ),
                    None => "no more".to_owned(),
                }
            ),
            Some(Held::ByKeeping { until }) => format!(
                "; no more is used before {}, when its strength is to be measured again",
                full_day(until)
            ),
        };
        let over = match order.over.get() {
            0 => String::new(),
            _ => format!(
                "; {} of it are not used by then: titrate them",
                volume(order.over, units)
            ),
        };
        let result = match order.containers.is_empty() {
            true => volume(order.amount, units),
            false => format!(
                "{}, {} in all",
                containers(&order.containers, units),
                volume(order.amount, units)
            ),
        };
        lines.push(line(
            "Ordered",
            "computed",
            result,
            format!("{rounded}{held}{over}"),
        ));
        lines
    }
}
