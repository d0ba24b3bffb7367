//! What no plan can avoid: each job by itself on the empty farm.

use super::chance::Chance;
use super::farm::Farm;
use super::insert::{Inserter, Taste};
use super::problem::{Job, Problem, Slot};

/// One job with the whole farm to itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Alone {
    /// The least it can cost.
    pub cost: i64,
    /// Slots late in that place.
    pub late: Slot,
}

/// For each job, its least cost with nobody else's job in the way; none where even then it has no place.
///
/// Water is taken to be plenty, so that the least cost is exact for what is left and never too high. The
/// sum of the costs is a lower bound of every plan's cost: other jobs only take places away. Time is
/// linear in the jobs and in the slots of their windows.
#[must_use]
pub fn alone(problem: &Problem) -> Vec<Option<Alone>> {
    each_alone(problem, 0..problem.jobs.len())
}

/// The same for some of the jobs, in their order.
pub(super) fn each_alone(
    problem: &Problem,
    jobs: impl IntoIterator<Item = usize>,
) -> Vec<Option<Alone>> {
    let mut eased = problem.clone();
    let plenty: i64 = problem.jobs.iter().map(Job::drawn).sum();
    eased.water.tank_l += plenty;
    eased.water.initial_l += plenty;
    let farm = Farm::empty(&eased);
    let mut inserter = Inserter::default();
    let mut chance = Chance::new(0);
    let taste = Taste {
        early: 1,
        ..Taste::default()
    };
    jobs.into_iter()
        .map(|index| {
            let place = inserter.best(&farm, index, i64::MAX, taste, &mut chance)?;
            let job = &problem.jobs[index];
            Some(Alone {
                cost: place.cost,
                late: (place.starts[4] + job.inspect.duration).saturating_sub(job.due),
            })
        })
        .collect()
}
