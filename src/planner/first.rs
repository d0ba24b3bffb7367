//! The first plan, at once: the jobs one after the other, each to its best place among those before it.

use super::chance::Chance;
use super::farm::Farm;
use super::insert::{Inserter, Taste};
use super::plan::{Placement, Plan, gather};
use super::problem::Problem;

/// How often the order is changed when jobs are left over.
const ORDERS: usize = 4;

/// A plan by inserting the jobs in the order of their planting dates, those that are the last of a day at the end. Jobs left over go to the front, and
/// the whole is made again, a few times at most; the plan with the fewest left over is kept.
#[must_use]
pub fn first_plan(problem: &Problem) -> Plan {
    let places = first_places(problem, &mut Inserter::default(), &mut Chance::new(1));
    gather(&problem.jobs, &places)
}

pub(super) fn first_places(
    problem: &Problem,
    inserter: &mut Inserter,
    chance: &mut Chance,
) -> Vec<Option<Placement>> {
    let mut order: Vec<usize> = (0..problem.jobs.len()).collect();
    order.sort_by_key(|&index| {
        let job = &problem.jobs[index];
        (job.last_in_day, job.due, job.release)
    });
    let mut best: Option<(usize, i64, Vec<Option<Placement>>)> = None;
    let taste = Taste {
        early: 1,
        settled: true,
        spare: true,
        ..Taste::default()
    };
    for _ in 0..ORDERS {
        let mut farm = Farm::empty(problem);
        let mut places = vec![None; problem.jobs.len()];
        let mut left_over = Vec::new();
        let mut cost = 0;
        for &index in &order {
            match inserter.best(&farm, index, i64::MAX, taste, chance) {
                Some(place) => {
                    farm.put(index, &place, true);
                    cost += place.cost;
                    places[index] = Some(place);
                }
                None => left_over.push(index),
            }
        }
        let count = left_over.len();
        if best
            .as_ref()
            .is_none_or(|best| (count, cost) < (best.0, best.1))
        {
            best = Some((count, cost, places));
        }
        if count == 0 {
            break;
        }
        order.retain(|index| !left_over.contains(index));
        left_over.append(&mut order);
        order = left_over;
    }
    best.map(|best| best.2).unwrap_or_default()
}
