//! A plan again after something has changed: what still fits stays, what broke finds a new place.

use super::chance::Chance;
use super::farm::Farm;
use super::improve::{Keep, Search};
use super::insert::{Inserter, Taste};
use super::plan::{Placement, Plan};
use super::problem::{Job, Problem, Slot};

/// A search that begins with what still holds of `earlier` and keeps to it: a job moves to another day only
/// if that gains `keep.worth`, and no more of them move than `keep.most`, beyond those that had to.
///
/// The earlier plan may be of a changed problem: places that no longer fit are given up, jobs that are new
/// are inserted. Time is that of inserting the jobs without a place.
#[must_use]
pub fn replan<'p>(problem: &'p Problem, earlier: &Plan, keep: Keep, number: u64) -> Search<'p> {
    let mut farm = Farm::empty(problem);
    let mut inserter = Inserter::default();
    let mut chance = Chance::new(1);
    let mut places: Vec<Option<Placement>> = vec![None; problem.jobs.len()];
    let mut home = vec![None; problem.jobs.len()];
    for placed in &earlier.jobs {
        let Some(job) = problem.jobs.get(placed.job) else {
            continue;
        };
        let mut place = Placement::of(placed);
        home[placed.job] = Some(place.starts);
        let named = placed.people.rinses.len() == job.rinses.len();
        if places[placed.job].is_none()
            && named
            && in_order(job, place.starts, problem.horizon)
            && farm.holds(placed.job, &place)
        {
            place.cost = farm.cost(placed.job, &place);
            farm.put(placed.job, &place, true);
            places[placed.job] = Some(place);
        }
    }
    let mut without: Vec<usize> = (0..places.len())
        .filter(|&index| places[index].is_none())
        .collect();
    without.sort_by_key(|&index| problem.jobs[index].due);
    for index in without {
        let home = home[index].map(|home| (home, keep.worth));
        let taste = Taste {
            early: 1,
            spare: true,
            home,
            ..Taste::default()
        };
        if let Some(place) = inserter.best(&farm, index, i64::MAX, taste, &mut chance) {
            farm.put(index, &place, true);
            places[index] = Some(place);
        }
    }
    Search::begin(problem, places, home, Some(keep), number)
}

/// Whether the five starts keep the job's own order, waits and limits.
fn in_order(job: &Job, starts: [Slot; 5], horizon: Slot) -> bool {
    let [strip, dose, rinse, teardown, inspect] = starts;
    let follows = |ends: Slot, start: Slot, least: Slot, most: Slot| {
        start >= ends + least && start <= ends + most
    };
    starts.iter().all(|&start| start < horizon)
        && strip >= job.release
        && follows(strip + job.strip.duration, dose, 0, job.waits.strip_dose)
        && follows(
            dose + job.dose.duration,
            rinse,
            job.soak.least,
            job.soak.least + job.soak.lag,
        )
        && follows(rinse + job.rinsing(), teardown, 0, job.waits.rinse_teardown)
        && follows(
            teardown + job.teardown.duration,
            inspect,
            0,
            job.waits.teardown_inspect,
        )
        && inspect + job.inspect.duration <= job.hard_due
}
