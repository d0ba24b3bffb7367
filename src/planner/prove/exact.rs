//! The prover beside the search: it proves where that is near, and moves a few jobs at once to their best
//! places where it is not.

use super::super::alone::{Alone, alone};
use super::super::chance::Chance;
use super::super::improve::weight;
use super::super::plan::Plan;
use super::super::problem::{Problem, Slot};
use super::part::MOST_JOBS;
use super::{Budget, Prover, prove, rearrange};

/// Steps of the prover for each cluster when it is asked about the whole for the first time; twice as many
/// each further time.
const FIRST_PROOF: u64 = 2_000;
/// Steps of the prover for a few jobs.
const FEW: u64 = 4_000;
/// A whole of so many clusters' size is asked about again and again, a larger one only once.
const SMALL: usize = 2 * MOST_JOBS;
/// Between two questions about the whole so many few are moved.
const BETWEEN: u64 = 6;

/// Takes steps towards the best plan and the proof of it; the same plans asked about in the same order, and
/// the same chance number, give the same answers.
#[derive(Debug)]
pub(in super::super) struct Exact<'p> {
    problem: &'p Problem,
    chance: Chance,
    /// What each job costs alone.
    floors: Vec<i64>,
    hopeless: usize,
    steps: u64,
    proof: u64,
    /// The least that any plan weighs, as far as that is known.
    pub bound: i64,
}

impl<'p> Exact<'p> {
    pub fn new(problem: &'p Problem, number: u64) -> Self {
        let alone = alone(problem);
        let cost = |alone: &Option<Alone>| alone.map_or(0, |alone| alone.cost);
        let floors: Vec<i64> = alone.iter().map(cost).collect();
        let hopeless = alone.iter().filter(|alone| alone.is_none()).count();
        Self {
            problem,
            chance: Chance::new(number),
            hopeless,
            bound: weight(floors.iter().sum(), hopeless),
            floors,
            steps: 0,
            proof: FIRST_PROOF,
        }
    }

    /// One step from a plan: a better one, checked, if it found that.
    pub fn step(
        &mut self,
        plan: &Plan,
        prover: &dyn Prover,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Option<Plan> {
        let step = self.steps;
        self.steps += 1;
        let whole = if self.problem.jobs.len() <= SMALL {
            step.is_multiple_of(BETWEEN + 1)
        } else {
            step == 0
        };
        if whole {
            let budget = Budget {
                steps: self.proof,
                stop,
            };
            self.proof = self.proof.saturating_mul(2);
            let proof = prove(self.problem, plan, prover, budget)?;
            self.bound = self.bound.max(weight(proof.bound, self.hopeless));
            return (proof.plan != *plan).then_some(proof.plan);
        }
        let jobs = self.few(plan)?;
        rearrange(
            self.problem,
            plan,
            &jobs,
            prover,
            Budget { steps: FEW, stop },
        )
    }

    /// Some jobs near in time to one that costs more than it would alone.
    fn few(&mut self, plan: &Plan) -> Option<Vec<usize>> {
        let problem = self.problem;
        let count = plan.jobs.len();
        let excess = |at: usize| {
            let placed = &plan.jobs[at];
            let job = &problem.jobs[placed.job];
            let late = i64::from(placed.late(job));
            problem.prices.late * job.weight * late - self.floors[placed.job]
        };
        let mut middle = self.chance.below(count);
        for _ in 0..self.chance.below(4) {
            let other = self.chance.below(count);
            if excess(other) > excess(middle) {
                middle = other;
            }
        }
        let placed = plan.jobs.get(middle)?;
        let job = &problem.jobs[placed.job];
        let (from, to) = (job.release.min(placed.strip), placed.end(job));
        let at = from + self.chance.below((to - from) as usize) as Slot;
        let mut near: Vec<(u64, usize)> = Vec::new();
        for other in plan.jobs.iter().filter(|other| other.job != placed.job) {
            let end = other.end(&problem.jobs[other.job]);
            let away = if at < other.strip {
                other.strip - at
            } else {
                at.saturating_sub(end)
            };
            let blurred = u64::from(away + 16) * (64 + self.chance.below(192) as u64);
            near.push((blurred, other.job));
        }
        near.sort_unstable();
        let size = 5 + self.chance.below(5);
        let mut jobs: Vec<usize> = near.iter().take(size).map(|near| near.1).collect();
        jobs.push(placed.job);
        jobs.sort_unstable();
        Some(jobs)
    }
}
