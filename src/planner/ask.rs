//! How a caller asks for a better plan: searches side by side with the prover, each better plan told as it is
//! found, every plan checked before it leaves.

use std::sync::Mutex;
use std::thread;

use super::alone::alone;
use super::improve::{Search, weight};
use super::plan::Plan;
use super::problem::{Problem, Slot};
use super::prove::{Exact, Pumpkin};
use super::replan::{Earlier, begin};
use super::verify::{Broken, Reckoned, verify};

/// A search takes so many steps between two questions whether to stop, or whether somebody else has found a
/// better plan.
pub const STEPS_A_LOOK: u64 = 8;
/// Searches with a count of steps stop so often for the prover.
const ROUNDS: u64 = 4;
/// Before the prover begins beside a search, this has taken so many steps: from a poor plan a proof is far.
const HEAD_START: u64 = 400;

/// How much is to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// The number that begins the chances taken: the same number and steps give the same plan.
    pub number: u64,
    /// Steps of each search; [`u64::MAX`] to go on until told to stop.
    pub steps: u64,
    /// How many at a time, each on a thread of its own: all of them searches, or, where a prover goes on until
    /// told to stop, one of them the prover.
    pub threads: u64,
    /// Steps of the prover, which is not asked where the plan is held to an earlier one; 0 for none. If the
    /// searches go on until told to stop, so does the prover.
    pub proof: u64,
}

/// A plan that holds, and what it costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    pub plan: Plan,
    pub reckoned: Reckoned,
    /// Jobs on another day than in the earlier plan.
    pub moved: usize,
}

impl Checked {
    pub(super) fn of(problem: &Problem, plan: Plan, moved: usize) -> Result<Self, Vec<Broken>> {
        let reckoned = verify(problem, &plan)?;
        Ok(Self {
            plan,
            reckoned,
            moved,
        })
    }
}

/// What is known about how good a plan can be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bound {
    /// No plan that places every job costs less, but for those that have no place in any.
    pub cost: i64,
    /// The plan in hand is one of the best there are.
    pub proved: bool,
    /// Jobs that are late in every plan, with the fewest slots that each of them is late.
    pub late: Vec<(usize, Slot)>,
    /// Jobs without a place in any plan.
    pub hopeless: Vec<usize>,
}

/// What came of asking.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    pub best: Checked,
    pub bound: Bound,
    /// Steps of all searches together.
    pub steps: u64,
}

/// The first plan at once, checked.
///
/// # Errors
/// The rules that it breaks: a fault of the planner, never of the problem.
pub fn first(problem: &Problem) -> Result<Checked, Vec<Broken>> {
    Checked::of(problem, super::first_plan(problem), 0)
}

/// What the threads tell each other, and the caller.
struct Shared<'a> {
    problem: &'a Problem,
    stop: &'a (dyn Fn() -> bool + Sync),
    best: Mutex<Best<'a>>,
}

struct Best<'a> {
    weight: i64,
    plan: Plan,
    /// No plan weighs less.
    bound: i64,
    better: &'a mut (dyn FnMut(&Checked) + Send),
}

impl Shared<'_> {
    /// Tells of a better plan.
    fn tell(&self, weight: i64, plan: impl FnOnce() -> (Plan, usize)) {
        let Ok(mut best) = self.best.lock() else {
            return;
        };
        if weight < best.weight {
            let (plan, moved) = plan();
            if let Ok(checked) = Checked::of(self.problem, plan, moved) {
                best.weight = weight;
                (best.better)(&checked);
                best.plan = checked.plan;
            }
        }
    }

    fn done(&self) -> bool {
        (self.stop)() || self.best.lock().is_ok_and(|best| best.weight <= best.bound)
    }

    /// A search goes on until it has done its steps, or is told to stop; it takes over what others found.
    fn search(&self, search: &mut Search<'_>, most: u64) -> u64 {
        let mut steps = 0;
        while steps < most && !search.is_proved() {
            if steps.is_multiple_of(STEPS_A_LOOK) && self.done() {
                break;
            }
            if search.step() {
                self.tell(search.weight(), || (search.best(), search.moved()));
            }
            steps += 1;
            if most == u64::MAX
                && steps.is_multiple_of(64 * STEPS_A_LOOK)
                && let Ok(best) = self.best.lock()
                && best.weight < search.weight()
            {
                search.adopt(&best.plan);
            }
        }
        steps
    }

    /// The prover takes a step from the best plan so far.
    fn prove(&self, exact: &mut Exact<'_>) {
        let Ok(plan) = self.best.lock().map(|best| best.plan.clone()) else {
            return;
        };
        let found = exact.step(&plan, &Pumpkin, &|| self.done());
        if let Ok(mut best) = self.best.lock() {
            best.bound = best.bound.max(exact.bound);
        }
        if let Some(plan) = found
            && let Ok(reckoned) = verify(self.problem, &plan)
        {
            self.tell(weight(reckoned.cost, reckoned.unplaced), || (plan, 0));
        }
    }
}

/// Looks for a better plan until the steps are done, `stop` says so, or none can be better.
///
/// Begins with the first plan, or with what still holds of an earlier one. `better` hears of each plan that
/// is better than all before, checked; which ones it hears of depends on how the threads run, the outcome
/// after a given number of steps does not.
///
/// # Errors
/// The rules that the best plan breaks: a fault of the planner, never of the problem.
pub fn improve(
    problem: &Problem,
    earlier: Option<Earlier<'_>>,
    effort: Effort,
    stop: &(dyn Fn() -> bool + Sync),
    better: &mut (dyn FnMut(&Checked) + Send),
) -> Result<Outcome, Vec<Broken>> {
    let begun = |side: u64| {
        let number = effort.number.wrapping_add(side << 32);
        match earlier {
            Some(earlier) => begin(problem, earlier, number),
            None => Search::new(problem, number),
        }
    };
    let first = begun(0);
    let shared = Shared {
        problem,
        stop,
        best: Mutex::new(Best {
            weight: i64::MAX,
            plan: Plan::default(),
            bound: first.least(),
            better,
        }),
    };
    shared.tell(first.weight(), || (first.best(), first.moved()));
    let proof = if earlier.is_none() { effort.proof } else { 0 };
    let mut exact = (proof > 0).then(|| Exact::new(problem, effort.number));
    let steps = if effort.steps == u64::MAX {
        open_ended(&shared, first, begun, exact.as_mut(), effort.threads)
    } else {
        counted(&shared, first, begun, exact.as_mut(), effort)
    };
    let (plan, bound) = match shared.best.into_inner() {
        Ok(best) => (best.plan, best.bound),
        Err(poisoned) => (poisoned.get_ref().plan.clone(), 0),
    };
    let moved = earlier.map_or(0, |earlier| moved(problem, earlier.plan, &plan));
    let best = Checked::of(problem, plan, moved)?;
    Ok(Outcome {
        bound: bound_of(problem, &best.reckoned, bound),
        best,
        steps,
    })
}

/// Searches, and the prover beside them, until told to stop.
fn open_ended<'p>(
    shared: &Shared<'p>,
    mut first: Search<'p>,
    begun: impl Fn(u64) -> Search<'p> + Sync,
    exact: Option<&mut Exact<'p>>,
    threads: u64,
) -> u64 {
    let beside = u64::from(exact.is_some());
    let begun = &begun;
    thread::scope(|scope| {
        let searches: Vec<_> = (1..threads.max(1).saturating_sub(beside))
            .map(|side| scope.spawn(move || shared.search(&mut begun(side), u64::MAX)))
            .collect();
        let prover = exact.map(|exact| {
            scope.spawn(move || {
                let steps = shared.search(&mut begun(threads), HEAD_START);
                while !shared.done() {
                    shared.prove(exact);
                }
                steps
            })
        });
        // The first search runs here, the others beside it.
        let own = shared.search(&mut first, u64::MAX);
        let others = searches.into_iter().chain(prover);
        own + others.map(|other| other.join().unwrap_or(0)).sum::<u64>()
    })
}

/// Searches side by side, then the prover, and so on for a few rounds: what comes of it depends on nothing
/// but the counts.
fn counted<'p>(
    shared: &Shared<'p>,
    first: Search<'p>,
    begun: impl Fn(u64) -> Search<'p>,
    mut exact: Option<&mut Exact<'p>>,
    effort: Effort,
) -> u64 {
    let mut searches = vec![first];
    searches.extend((1..effort.threads.max(1)).map(begun));
    let rounds = if exact.is_some() { ROUNDS } else { 1 };
    let mut steps = 0;
    for round in 0..rounds {
        let share = |all: u64| all * (round + 1) / rounds - all * round / rounds;
        steps += thread::scope(|scope| {
            let running: Vec<_> = searches
                .iter_mut()
                .map(|search| scope.spawn(|| shared.search(search, share(effort.steps))))
                .collect();
            running
                .into_iter()
                .map(|one| one.join().unwrap_or(0))
                .sum::<u64>()
        });
        let least = searches.iter().min_by_key(|search| search.weight());
        if let (Some(least), Ok(mut best)) = (least, shared.best.lock())
            && least.weight() <= best.weight
        {
            // Of plans that weigh the same, always that of the same search.
            best.plan = least.best();
        }
        let Some(exact) = exact.as_deref_mut() else {
            continue;
        };
        for _ in 0..share(effort.proof) {
            if shared.done() {
                break;
            }
            shared.prove(exact);
        }
        if let Ok(best) = shared.best.lock() {
            let behind = searches
                .iter_mut()
                .filter(|search| search.weight() > best.weight);
            behind.for_each(|search| search.adopt(&best.plan));
        }
    }
    steps
}

/// Jobs on another day than in an earlier plan.
fn moved(problem: &Problem, earlier: &Plan, plan: &Plan) -> usize {
    let mut home = vec![None; problem.jobs.len()];
    for placed in earlier
        .jobs
        .iter()
        .filter(|placed| placed.job < problem.jobs.len())
    {
        home[placed.job] = Some(placed.starts());
    }
    let moved = |starts, job: usize| home[job].is_some_and(|home| problem.other_day(home, starts));
    plan.jobs
        .iter()
        .filter(|placed| moved(placed.starts(), placed.job))
        .count()
}

fn bound_of(problem: &Problem, reckoned: &Reckoned, least: i64) -> Bound {
    let mut bound = Bound {
        cost: 0,
        proved: false,
        late: Vec::new(),
        hopeless: Vec::new(),
    };
    for (job, alone) in alone(problem).into_iter().enumerate() {
        match alone {
            Some(alone) if alone.late > 0 => bound.late.push((job, alone.late)),
            Some(_) => {}
            None => bound.hopeless.push(job),
        }
    }
    bound.cost = least - weight(0, bound.hopeless.len());
    bound.proved = weight(reckoned.cost, reckoned.unplaced) <= least;
    bound
}

/// Repairs an earlier plan at once: what still holds stays, the rest finds new places, and if a job that was
/// in time no longer is, a few jobs near it are moved within the cap.
///
/// # Errors
/// The rules that it breaks: a fault of the planner, never of the problem.
pub fn repair(problem: &Problem, earlier: Earlier<'_>) -> Result<Checked, Vec<Broken>> {
    let (plan, moved) = super::replan::repaired(problem, earlier);
    Checked::of(problem, plan, moved)
}
