//! How a caller asks for a better plan: searches side by side, each better plan told as it is found, every
//! plan checked before it leaves.

use std::sync::Mutex;
use std::thread;

use super::alone::alone;
use super::improve::Search;
use super::plan::Plan;
use super::problem::{Problem, Slot};
use super::replan::{Earlier, begin};
use super::verify::{Broken, Reckoned, verify};

/// Between two questions whether to stop.
const STEPS_A_LOOK: u64 = 8;

/// How much is to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// The number that begins the chances taken: the same number and steps give the same plan.
    pub number: u64,
    /// Steps of each search; [`u64::MAX`] to go on until told to stop.
    pub steps: u64,
    /// Searches side by side, each on a thread of its own and with its own chances.
    pub searches: u64,
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
    /// No plan that places as many jobs costs less.
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
    let told = Mutex::new((i64::MAX, better));
    let tell = |search: &Search<'_>| {
        let Ok(mut told) = told.lock() else {
            return;
        };
        if search.weight() < told.0
            && let Ok(checked) = Checked::of(problem, search.best(), search.moved())
        {
            told.0 = search.weight();
            (told.1)(&checked);
        }
    };
    let run = |side: u64| {
        let number = effort.number.wrapping_add(side << 32);
        let mut search = match earlier {
            Some(earlier) => begin(problem, earlier, number),
            None => Search::new(problem, number),
        };
        tell(&search);
        let mut steps = 0;
        while steps < effort.steps && !(steps % STEPS_A_LOOK == 0 && stop()) && !search.is_proved()
        {
            if search.step() {
                tell(&search);
            }
            steps += 1;
        }
        (search, steps)
    };
    let run = &run;
    let (best, steps) = thread::scope(|scope| {
        // The first search runs here, the others beside it.
        let others: Vec<_> = (1..effort.searches)
            .map(|side| scope.spawn(move || run(side)))
            .collect();
        let (mut best, mut steps) = run(0);
        for other in others {
            if let Ok((search, more)) = other.join() {
                steps += more;
                if search.weight() < best.weight() {
                    best = search;
                }
            }
        }
        (best, steps)
    });
    Ok(Outcome {
        best: Checked::of(problem, best.best(), best.moved())?,
        bound: bound(problem, best.is_proved()),
        steps,
    })
}

fn bound(problem: &Problem, proved: bool) -> Bound {
    let mut bound = Bound {
        cost: 0,
        proved,
        late: Vec::new(),
        hopeless: Vec::new(),
    };
    for (job, alone) in alone(problem).into_iter().enumerate() {
        match alone {
            Some(alone) => {
                bound.cost += alone.cost;
                if alone.late > 0 {
                    bound.late.push((job, alone.late));
                }
            }
            None => bound.hopeless.push(job),
        }
    }
    bound
}

/// Repairs an earlier plan at once: what still holds stays, the rest finds new places, and if a job that was
/// in time no longer is, a few jobs near it are moved within the cap.
///
/// # Errors
/// The rules that it breaks: a fault of the planner, never of the problem.
pub fn repair(problem: &Problem, earlier: Earlier<'_>) -> Result<Checked, Vec<Broken>> {
    let search = super::replan::repaired(problem, earlier);
    Checked::of(problem, search.best(), search.moved())
}
