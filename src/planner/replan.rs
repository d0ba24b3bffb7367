//! A plan again after something has changed: what still fits stays, what broke finds a new place.

use super::alone::{Alone, alone, each_alone};
use super::chance::Chance;
use super::farm::Farm;
use super::improve::{Hold, Keep, Search};
use super::insert::{Inserter, Taste};
use super::plan::{PlacedJob, Placement, Plan};
use super::problem::{Job, Problem, Slot};

/// Steps that a repair takes at the most to make room for what broke.
const REPAIR_STEPS: usize = 48;
/// A repair is over after so many of them in a row that came to nothing: somebody waits for its answer, and who
/// wants a better plan asks again.
const IN_VAIN: usize = 10;

/// An earlier plan and what holds the new one to it.
#[derive(Clone, Copy, Debug)]
pub struct Earlier<'a> {
    /// It may be of a changed problem: see [`super::carried`].
    pub plan: &'a Plan,
    pub keep: Keep,
    /// Jobs that stay where they are for as long as that holds, as indices into [`Problem::jobs`].
    pub pinned: &'a [usize],
}

/// A search that begins with what still holds of an earlier plan and keeps to it: a job moves to another
/// day only if that gains `keep.worth`, and no more of them move than `keep.most`, beyond those that had to.
///
/// Places that no longer fit are given up, jobs that are new are inserted. Time is that of inserting the
/// jobs without a place, and of [`super::alone`]. Nothing is pinned.
#[must_use]
pub fn replan<'p>(problem: &'p Problem, plan: &Plan, keep: Keep, number: u64) -> Search<'p> {
    let pinned = &[];
    begin(problem, Earlier { plan, keep, pinned }, number)
}

/// The same with jobs that are pinned: their places are given up last.
pub(super) fn begin<'p>(problem: &'p Problem, earlier: Earlier<'_>, number: u64) -> Search<'p> {
    search(problem, earlier, alone(problem), number)
}

/// What holds of an earlier plan, with the few steps that make room for a job that is late or without a place
/// now and was not before; and how many jobs are on another day.
pub(super) fn repaired(problem: &Problem, earlier: Earlier<'_>) -> (Plan, usize) {
    let mut search = kept(problem, earlier);
    let mut was = vec![Slot::MAX; problem.jobs.len()];
    for placed in &earlier.plan.jobs {
        if let (Some(was), Some(job)) = (was.get_mut(placed.job), problem.jobs.get(placed.job)) {
            *was = placed.late(job);
        }
    }
    let new = |job: usize| was[job] == Slot::MAX;
    let worse: Vec<usize> = (0..was.len())
        .filter(|&job| search.late(job) > 0 && (new(job) || search.late(job) > was[job]))
        .collect();
    let kept = (search.best(), search.moved());
    if worse.is_empty() {
        return kept;
    }
    // No room helps what could not end sooner with the whole farm to itself.
    let least = each_alone(problem, worse.iter().copied());
    let least = least
        .into_iter()
        .map(|alone| alone.map_or(Slot::MAX, |alone| alone.late));
    let mut worse: Vec<(usize, Slot)> = worse.into_iter().zip(least).collect();
    worse.retain(|&(job, least)| search.late(job) > least);
    // What somebody has read is moved only to give one more a place, or to make it less late.
    let worth = |search: &Search<'_>| {
        let late = (0..problem.jobs.len()).map(|job| search.late(job));
        let placed = late.clone().filter(|&late| late < Slot::MAX);
        (
            late.filter(|&late| late == Slot::MAX).count(),
            placed.map(i64::from).sum::<i64>(),
        )
    };
    let before = worth(&search);
    let (mut best, mut in_vain) = (before, 0);
    for step in 0..REPAIR_STEPS {
        let Some(&(middle, _)) = worse.get(step % worse.len().max(1)) else {
            break;
        };
        in_vain += 1;
        if search.step_about(middle) {
            worse.retain(|&(job, least)| search.late(job) > least);
            let now = worth(&search);
            if now < best {
                (best, in_vain) = (now, 0);
            }
        }
        if in_vain == IN_VAIN {
            break;
        }
    }
    match worth(&search) < before {
        true => (search.best(), search.moved()),
        false => kept,
    }
}

/// What holds of an earlier plan with the rest inserted, without the least costs of the jobs alone.
pub(super) fn kept<'p>(problem: &'p Problem, earlier: Earlier<'_>) -> Search<'p> {
    let floor = Alone { cost: 0, late: 0 };
    let floors = vec![Some(floor); problem.jobs.len()];
    search(problem, earlier, floors, 1)
}

fn search<'p>(
    problem: &'p Problem,
    earlier: Earlier<'_>,
    floors: Vec<Option<Alone>>,
    number: u64,
) -> Search<'p> {
    let Earlier { plan, keep, pinned } = earlier;
    let mut farm = Farm::empty(problem);
    let mut inserter = Inserter::default();
    let mut chance = Chance::new(1);
    let mut places: Vec<Option<Placement>> = vec![None; problem.jobs.len()];
    let mut home = vec![None; problem.jobs.len()];
    let mut held = vec![false; problem.jobs.len()];
    for &job in pinned {
        if let Some(held) = held.get_mut(job) {
            *held = true;
        }
    }
    let mut known: Vec<&PlacedJob> = plan
        .jobs
        .iter()
        .filter(|placed| placed.job < problem.jobs.len())
        .collect();
    // What is pinned comes first, so that it never makes way for what is not.
    known.sort_by_key(|placed| !held[placed.job]);
    for placed in known {
        let job = &problem.jobs[placed.job];
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
    without.sort_by_key(|&index| (problem.jobs[index].last_in_day, problem.jobs[index].due));
    for index in without {
        let home = home[index].map(|home| (home, keep.worth));
        let taste = Taste {
            early: 1,
            settled: true,
            spare: true,
            home,
            ..Taste::default()
        };
        held[index] = false;
        if let Some(place) = inserter.best(&farm, index, i64::MAX, taste, &mut chance) {
            farm.put(index, &place, true);
            places[index] = Some(place);
        }
    }
    let hold = Hold {
        home,
        keep: Some(keep),
        pinned: held,
    };
    Search::begin(farm, inserter, places, hold, floors, number)
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
