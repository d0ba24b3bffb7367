//! The rinses of a clean-out in its day: as many as somebody is there for, the rest before the teardown.

use super::facts::{Asked, Facts};
use super::grid::{Grid, SLOT_MIN};
use super::tank::decilitres_up;
use super::timetable::{Line, Work};
use crate::clock::Moment;
use crate::methods::Phase;
use crate::planner::{Draw, Rinse, Slot};

/// More rinses than this are no plan: the media come out.
const MOST_RINSES: i64 = 20;
/// A rinse needs somebody for this long.
const RINSE_HANDS: Slot = 1;

/// When the water of each rinse is drawn, by the parts of a clean-out: that of rinses beyond the planned ones
/// at its teardown, one after the other as the others were, and never beyond its end.
pub fn drawn_at(lines: &[Line], rinses: i64) -> Vec<Moment> {
    let of = |work| lines.iter().filter(move |line: &&Line| line.work == work);
    let mut at: Vec<Moment> = of(Work::Rinse).map(|line| line.from).collect();
    let rinses = usize::try_from(rinses.clamp(1, MOST_RINSES)).unwrap_or(1);
    let later = rinses.saturating_sub(at.len());
    let Some(teardown) = of(Work::Teardown).next().filter(|_| later > 0) else {
        return at;
    };
    let most = teardown.to.since(teardown.from) / i32::try_from(later).unwrap_or(i32::MAX);
    let apart = match at.as_slice() {
        [.., before, last] => last.since(*before).min(most),
        _ => most,
    };
    at.extend((0..later).map(|no| {
        let no = i32::try_from(no).unwrap_or(i32::MAX);
        teardown.from.plus(apart * no)
    }));
    at
}

/// The rinses as they are planned.
pub(super) struct Rinses {
    pub on_the_day: Vec<Rinse>,
    /// Those that do not fit into the day of the dose, and how long they take.
    pub later: i64,
    pub later_min: i64,
    /// Their water, from the beginning of the teardown on.
    pub later_draws: Vec<Draw>,
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
    let water_l = match facts.supplies.rinses_purified {
        true => decilitres_up(asked.amounts.rinse_ml),
        false => 0,
    };
    let rinse = |no: i64| Rinse {
        duration: (edge(no + 1) - edge(no)).max(RINSE_HANDS),
        hands_on: RINSE_HANDS,
        water_l,
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
    let begun = |minutes: i64| Slot::try_from(minutes / i64::from(SLOT_MIN)).unwrap_or(0);
    let later = count - i64::try_from(on_the_day.len()).unwrap_or(count);
    Rinses {
        on_the_day,
        later,
        later_min: whole * later / count,
        later_draws: match water_l {
            0 => Vec::new(),
            litres => (0..later)
                .map(|no| Draw {
                    slot: begun(whole * no / count),
                    litres,
                })
                .collect(),
        },
    }
}
