//! The rinses of a clean-out in its day: as many as somebody is there for, the rest before the teardown.

use super::facts::{Asked, Facts};
use super::grid::Grid;
use super::mapping::decilitres_up;
use crate::methods::Phase;
use crate::planner::{Rinse, Slot};

/// More rinses than this are no plan: the media come out.
const MOST_RINSES: i64 = 20;
/// A rinse needs somebody for this long.
const RINSE_HANDS: Slot = 1;

/// The rinses as they are planned.
pub(super) struct Rinses {
    pub on_the_day: Vec<Rinse>,
    /// Those that do not fit into the day of the dose, and how long they take.
    pub later: i64,
    pub later_min: i64,
}

/// One rinse follows the other from the soak on, as many as somebody is there for on the longest day; the
/// rest goes before the teardown.
pub(super) fn rinses(facts: &Facts, asked: &Asked, longest_day: Slot) -> Rinses {
    let (count, whole) = (
        asked.rinses.clamp(1, MOST_RINSES),
        asked.lengths.of(Phase::Rinse),
    );
    let before =
        Grid::slots(asked.lengths.of(Phase::Dose)) + Grid::slots(asked.lengths.of(Phase::Soak));
    // The edges are rounded, not the lengths, so that nine short rinses are not nine long ones.
    let edge = |rinses: i64| match rinses {
        0 => 0,
        _ => Grid::slots(whole * rinses / count),
    };
    let rinse = |no: i64| Rinse {
        duration: (edge(no + 1) - edge(no)).max(RINSE_HANDS),
        hands_on: RINSE_HANDS,
        water_l: match facts.supplies.rinses_purified {
            true => decilitres_up(asked.amounts.rinse_ml),
            false => 0,
        },
    };
    let mut on_the_day = Vec::new();
    let mut at = before;
    for no in 0..count {
        let fits = at + RINSE_HANDS <= longest_day;
        if !fits && no >= asked.least_rinses {
            break;
        }
        let next = rinse(no);
        at += next.duration;
        on_the_day.push(next);
    }
    let later = count - i64::try_from(on_the_day.len()).unwrap_or(count);
    Rinses {
        on_the_day,
        later,
        later_min: whole * later / count,
    }
}
