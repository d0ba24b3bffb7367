//! Proofs: that a plan is one of the best there are, or how good one can be at most.
//!
//! A [`Prover`] is asked about a small problem with a plan in hand: is there a better plan, and if there is
//! none, can that be proved? Larger problems fall into clusters of linked jobs. What the best plan of a
//! cluster alone costs, with the rest of the farm's work left out, no plan of the whole can go below; if the
//! clusters' least costs add up to what the plan in hand costs, that plan is proved best, and otherwise their
//! sum is a bound.

mod apart;
mod chains;
mod crew;
mod exact;
mod guide;
mod limits;
mod model;
mod names;
pub(super) mod part;
mod people;
mod pumpkin;

use super::farm::Farm;
use super::plan::Plan;
use super::problem::Problem;
use super::verify::verify;

pub(super) use exact::Exact;
pub use pumpkin::Pumpkin;

/// How long a prover may go on.
#[derive(Clone, Copy)]
pub struct Budget<'a> {
    /// Steps of the prover for each cluster; the same problem, plan and steps give the same answer for as
    /// long as `stop` never says so.
    pub steps: u64,
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

impl std::fmt::Debug for Budget<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Budget")
            .field("steps", &self.steps)
            .finish_non_exhaustive()
    }
}

/// What a prover found out about a small problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The best plan it knows: the plan in hand, or a better one that was checked.
    pub plan: Plan,
    pub cost: i64,
    /// No plan that places as many jobs costs less.
    pub proved: bool,
}

/// Something that can prove a plan of a small problem to be one of the best.
pub trait Prover: Sync {
    /// Looks for a better plan than the one in hand, and says whether none is left to find. None where it has
    /// nothing to say: a plan that does not hold, or a problem too large for it.
    fn prove(&self, problem: &Problem, plan: &Plan, budget: Budget<'_>) -> Option<Found>;
}

/// A cluster of linked jobs, and what is known about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cluster {
    /// Indices into [`Problem::jobs`].
    pub jobs: Vec<usize>,
    /// What these jobs cost in the plan.
    pub cost: i64,
    /// No plan costs less for these jobs.
    pub bound: i64,
    /// The bound was proved to be the least that these jobs by themselves cost.
    pub proved: bool,
}

/// What is known about a plan as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proof {
    /// The plan in hand, or a better one that was found on the way, checked.
    pub plan: Plan,
    pub cost: i64,
    /// No plan that places as many jobs costs less.
    pub bound: i64,
    /// The plan is one of the best there are.
    pub proved: bool,
    pub clusters: Vec<Cluster>,
}

/// Looks for better places of a few jobs while all others stay where they are; the whole plan if it found
/// some, checked.
pub fn rearrange(
    problem: &Problem,
    plan: &Plan,
    jobs: &[usize],
    prover: &dyn Prover,
    budget: Budget<'_>,
) -> Option<Plan> {
    let others: Vec<_> = plan
        .jobs
        .iter()
        .filter(|placed| !jobs.contains(&placed.job))
        .collect();
    let own = part::part(problem, jobs, &others);
    let in_hand = part::plan_of(plan, jobs);
    let cost = verify(&own, &in_hand).ok()?.cost;
    let found = prover.prove(&own, &in_hand, budget)?;
    if found.cost >= cost {
        return None;
    }
    let better = part::with(plan, jobs, &found.plan);
    verify(problem, &better).is_ok().then_some(better)
}

/// Proves what can be proved about a plan within the budget; none if the plan does not hold.
#[must_use]
pub fn prove(
    problem: &Problem,
    plan: &Plan,
    prover: &dyn Prover,
    budget: Budget<'_>,
) -> Option<Proof> {
    let mut cost = verify(problem, plan).ok()?.cost;
    let mut plan = plan.clone();
    let farm = Farm::empty(problem);
    let mut clusters: Vec<Cluster> = Vec::new();
    for jobs in part::clusters(problem, &plan) {
        let alone = |job: &usize| Some(chains::chains(&farm, *job)?.cost);
        let alone: i64 = jobs.iter().filter_map(alone).sum();
        let own = part::part(problem, &jobs, &[]);
        let in_hand = part::plan_of(&plan, &jobs);
        let mut cluster = Cluster {
            cost: verify(&own, &in_hand).ok()?.cost,
            bound: alone,
            proved: false,
            jobs,
        };
        if cluster.cost <= alone {
            cluster.proved = true;
        } else if !(budget.stop)()
            && let Some(found) = prover.prove(&own, &in_hand, budget)
        {
            if found.proved {
                cluster.bound = found.cost;
                cluster.proved = true;
            }
            if found.cost < cluster.cost {
                let better = part::with(&plan, &cluster.jobs, &found.plan);
                if let Ok(reckoned) = verify(problem, &better)
                    && reckoned.cost < cost
                {
                    plan = better;
                    cost = reckoned.cost;
                    cluster.cost = found.cost;
                }
            }
        }
        clusters.push(cluster);
    }
    let bound = clusters.iter().map(|cluster| cluster.bound).sum();
    // A plan that leaves out a job that could be placed is not one of the best, whatever it costs.
    let hopeless = |job: &usize| chains::chains(&farm, *job).is_none();
    Some(Proof {
        proved: cost <= bound && plan.unplaced.iter().all(hopeless),
        plan,
        cost,
        bound,
        clusters,
    })
}
