//! Purified water as the planner counts it, in decilitres: what there is, and what stands already draws.

use super::facts::{Amounts, Facts};
use super::rinsing::drawn_at;
use super::timetable::{Line, Work};
use crate::clock::Moment;
use crate::planner::{self, Draw, Slot};

/// More water than any site draws, for a supply that is taken to be enough.
const PLENTY_DL: i64 = 100_000_000;

/// Litres and their tenths, as the planner counts them.
pub(super) fn decilitres_up(ml: i64) -> i64 {
    (ml.max(0) + 99) / 100
}

/// The purified water that a clean-out draws, and when: for the dose, for each rinse where they are made with
/// it, and for the fresh fill.
pub fn drawn(lines: &[Line], amounts: Amounts, rinses: i64, purified: bool) -> Vec<(Moment, i64)> {
    let begins = |work| lines.iter().find(|line| line.work == work);
    let at = |work, ml| begins(work).map(|line: &Line| (line.from, ml));
    let mut draws: Vec<(Moment, i64)> = at(Work::Dose, amounts.dose_ml).into_iter().collect();
    if purified {
        let each = drawn_at(lines, rinses).into_iter();
        draws.extend(each.map(|at| (at, amounts.rinse_ml)));
    }
    draws.extend(at(Work::Refit, amounts.fill_ml));
    draws
}

/// The supply, and all that is drawn whatever the plan is.
pub(super) fn taken(facts: &Facts, said: &mut Vec<String>) -> (planner::Water, Vec<Draw>) {
    let (water, mut draws) = supply(facts);
    draws.extend(drawn_by_standing(facts));
    let draws = no_more_than_there_is(draws, water, facts.grid.horizon(), said);
    (water, draws)
}

/// The supply, and the draw that brings a full tank down to what is in it now.
fn supply(facts: &Facts) -> (planner::Water, Vec<Draw>) {
    let Some(water) = facts.supplies.water else {
        let plenty = planner::Water {
            tank_l: PLENTY_DL,
            initial_l: PLENTY_DL,
            rate_l_per_slot: PLENTY_DL,
        };
        return (plenty, Vec::new());
    };
    let tank = water.tank_ml / 100;
    let supply = planner::Water {
        tank_l: tank,
        initial_l: tank,
        rate_l_per_slot: water.per_slot_ml / 100,
    };
    let missing = tank - (water.level_ml / 100).min(tank);
    let slot = facts.grid.begun_by(facts.now);
    (
        supply,
        vec![Draw {
            slot,
            litres: missing,
        }],
    )
}

fn drawn_by_standing(facts: &Facts) -> Vec<Draw> {
    let grid = &facts.grid;
    let mut draws = Vec::new();
    let standing = facts.standing.iter();
    let drawn = standing.flat_map(|one| {
        let purified = facts.supplies.rinses_purified;
        drawn(&one.entry.lines, one.amounts, one.rinses, purified)
    });
    for (at, ml) in drawn {
        let slot = grid.begun_by(at);
        if at >= facts.now && slot < grid.horizon() && ml > 0 {
            draws.push(Draw {
                slot,
                litres: decilitres_up(ml),
            });
        }
    }
    draws
}

/// What stands may draw more than there is. The planner is told what there is, and the reader the rest.
fn no_more_than_there_is(
    mut draws: Vec<Draw>,
    water: planner::Water,
    horizon: Slot,
    said: &mut Vec<String>,
) -> Vec<Draw> {
    draws.retain(|draw| draw.slot < horizon && draw.litres > 0);
    draws.sort_by_key(|draw| draw.slot);
    let (mut debt, mut at, mut short) = (water.tank_l - water.initial_l, 0, 0);
    for draw in &mut draws {
        // A slot makes its water before anything is drawn in it.
        let slots = i64::from(draw.slot + 1) - at;
        at = i64::from(draw.slot + 1);
        debt = (debt - water.rate_l_per_slot.saturating_mul(slots)).max(0);
        let there = (water.tank_l - debt).max(0);
        short += (draw.litres - there).max(0);
        draw.litres = draw.litres.min(there);
        debt += draw.litres;
    }
    if short > 0 {
        said.push(format!(
            "The clean-outs that stand draw {} L more purified water than there is by then.",
            (short + 9) / 10
        ));
    }
    draws.retain(|draw| draw.litres > 0);
    draws
}
