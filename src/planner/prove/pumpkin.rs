//! The prover: a solver that learns from each dead end, started from the plan in hand.
//!
//! It is asked again and again for a plan that costs less than the best so far. What it finds is given names
//! and checked; what a found plan breaks that the model did not know is added to the model. When it has
//! nothing left, the best plan is proved.

use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::rc::Rc;

use pumpkin_conflict_resolvers::resolvers::ResolutionResolver;
use pumpkin_core::predicate;
use pumpkin_core::results::{ProblemSolution, SatisfactionResult, Solution};
use pumpkin_core::termination::TerminationCondition;
use pumpkin_core::variables::DomainId;

use super::super::farm::{Farm, Hours, Task, draws, team};
use super::super::plan::{PlacedJob, Placement, Plan, gather};
use super::super::problem::{Problem, Slot};
use super::super::verify::verify;
use super::apart::{Apart, Said};
use super::chains::{Chains, chains};
use super::crew::Crew;
use super::guide::{Wishes, guide};
use super::model::{Model, inside, outside};
use super::names::{Named, name};
use super::{Budget, Found, Prover};

/// Constraint programming with clause learning, by the crates named pumpkin.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pumpkin;

impl Prover for Pumpkin {
    fn prove(&self, problem: &Problem, plan: &Plan, budget: Budget<'_>) -> Option<Found> {
        // The solver is sound, but it panics where it is used in a way that its makers did not foresee; a
        // proof that fails must not take the server with it.
        catch_unwind(AssertUnwindSafe(|| proof(problem, plan, budget))).ok()?
    }
}

/// Counts the solver's steps.
struct Steps<'a> {
    left: u64,
    budget: Budget<'a>,
}

impl TerminationCondition for Steps<'_> {
    fn should_stop(&mut self) -> bool {
        self.left = self.left.saturating_sub(1);
        self.left == 0 || (self.left.is_multiple_of(64) && (self.budget.stop)())
    }
}

fn proof(problem: &Problem, plan: &Plan, budget: Budget<'_>) -> Option<Found> {
    let mut found = Found {
        cost: verify(problem, plan).ok()?.cost,
        plan: plan.clone(),
        proved: false,
    };
    let farm = Farm::empty(problem);
    let mut able: Vec<(usize, Chains)> = Vec::new();
    for index in 0..problem.jobs.len() {
        if let Some(chains) = chains(&farm, index) {
            if plan.unplaced.contains(&index) {
                // Whether all could be placed together is another question.
                return None;
            }
            able.push((index, chains));
        }
    }
    let mut model = Model::of(problem, &able, found.cost)?;
    let mut crew = Crew::default();
    let mut apart = Apart::default();
    let wishes: Wishes = Rc::new(RefCell::new(Vec::new()));
    let mut brancher = guide(&wishes);
    let mut resolver = ResolutionResolver::default();
    let mut steps = Steps {
        left: budget.steps.max(1),
        budget,
    };
    let objective = model.objective;
    let mut first = true;
    loop {
        wishes.replace(wished(&model, &crew, &found.plan));
        let solution: Solution =
            match model
                .solver
                .satisfy(&mut brancher, &mut steps, &mut resolver)
            {
                SatisfactionResult::Satisfiable(found) => found.solution().into(),
                SatisfactionResult::Unsatisfiable(..) => {
                    found.proved = !first;
                    return Some(found);
                }
                SatisfactionResult::Unknown(..) => return Some(found),
            };
        let starts: Vec<[Slot; 5]> = model
            .jobs
            .iter()
            .map(|own| {
                own.starts
                    .map(|start| outside(solution.get_integer_value(start)))
            })
            .collect();
        let broken = broken_span(&model, &starts);
        if let Some(span) = broken {
            if !model.tank_span(span)? {
                return Some(found);
            }
            continue;
        }
        match apart.tell(&mut model, &starts) {
            Said::Nothing => {}
            Said::More => continue,
            Said::Again => return Some(found),
        }
        let named: Vec<Named> = (model.works.iter().enumerate())
            .map(|(index, work)| {
                let paid = crew.paid(index, |variable| solution.get_integer_value(variable));
                let task = work.at(starts[work.job][work.stage]);
                let overtime = paid.unwrap_or_else(|| least_overtime(&model.farm, task));
                Named { task, overtime }
            })
            .collect();
        match name(&model.farm, &named) {
            Ok(teams) => {
                let plan = plan_of(&model, &starts, &teams, plan);
                let Ok(reckoned) = verify(problem, &plan) else {
                    // A rule that the model does not know: nothing can be said.
                    return Some(found);
                };
                if reckoned.cost < found.cost {
                    found.cost = reckoned.cost;
                    found.plan = plan;
                } else if !first {
                    return Some(found);
                }
                first = false;
                let most = i32::try_from(found.cost).unwrap_or(i32::MAX) - 1;
                model.clause([predicate!(objective <= most)]);
            }
            Err(together) => {
                if !crew.add(&mut model, &together) {
                    return Some(found);
                }
            }
        }
    }
}

/// The values that the best plan so far gives to the variables, job by job in the order of their starts.
fn wished(model: &Model<'_>, crew: &Crew, plan: &Plan) -> Vec<(DomainId, i32)> {
    let place = |index: usize| plan.jobs.iter().find(|placed| placed.job == index);
    let mut order: Vec<_> = (model.jobs.iter())
        .filter_map(|own| Some((place(own.index)?.starts(), own)))
        .collect();
    order.sort_by_key(|(starts, _)| starts[0]);
    let mut wishes: Vec<(DomainId, i32)> = Vec::new();
    for (starts, own) in order {
        wishes.extend(
            own.starts
                .iter()
                .zip(starts.map(inside))
                .map(|(&start, at)| (start, at)),
        );
    }
    let teams: Vec<Vec<Vec<usize>>> = (model.jobs.iter())
        .map(|own| place(own.index).map(teams).unwrap_or_default())
        .collect();
    wishes.extend(crew.wishes(|task, person| {
        let job = model.works[task].job;
        let within = model.works[..task]
            .iter()
            .filter(|work| work.job == job)
            .count();
        teams[job]
            .get(within)
            .is_some_and(|team| team.contains(&person))
    }));
    wishes
}

/// The people of a job, task by task in the order of work.
fn teams(placed: &PlacedJob) -> Vec<Vec<usize>> {
    let people = &placed.people;
    [&people.strip, &people.dose]
        .into_iter()
        .chain(&people.rinses)
        .chain([&people.teardown, &people.inspect])
        .cloned()
        .collect()
}

fn plan_of(model: &Model<'_>, starts: &[[Slot; 5]], teams: &[Vec<u16>], before: &Plan) -> Plan {
    let mut places = vec![None; model.problem.jobs.len()];
    for (number, own) in model.jobs.iter().enumerate() {
        let works = model
            .works
            .iter()
            .zip(teams)
            .filter(|(work, _)| work.job == number);
        places[own.index] = Some(Placement {
            starts: starts[number],
            crew: works.flat_map(|(_, team)| team.iter().copied()).collect(),
            cost: 0,
        });
    }
    debug_assert_eq!(places.iter().flatten().count(), before.jobs.len());
    gather(&model.problem.jobs, &places)
}

/// The length in slots of a span in which the tank lacks water, the shortest that ends there.
fn broken_span(model: &Model<'_>, starts: &[[Slot; 5]]) -> Option<Slot> {
    let (problem, water) = (model.problem, model.problem.water);
    let mut all: Vec<(Slot, i64)> = Vec::new();
    let mut own = Vec::new();
    for (number, job) in model.jobs.iter().enumerate() {
        draws(&problem.jobs[job.index], starts[number], &mut own);
        all.append(&mut own);
    }
    all.extend(
        problem
            .taken
            .draws
            .iter()
            .map(|draw| (draw.slot, draw.litres)),
    );
    all.sort_unstable();
    // Slots count from one here: in slot 0 the water that lacks at the start is drawn.
    let mut drawn = vec![(0, water.tank_l - water.initial_l)];
    drawn.extend(
        all.iter()
            .map(|&(slot, litres)| (i64::from(slot) + 1, litres)),
    );
    for (end, &(last, _)) in drawn.iter().enumerate() {
        let mut sum = 0;
        for &(first, litres) in drawn[..=end].iter().rev() {
            sum += litres;
            let length = last - first + 1;
            if sum > water.tank_l + water.rate_l_per_slot * (length - 1) {
                return Slot::try_from(length).ok();
            }
        }
    }
    None
}

fn least_overtime(farm: &Farm<'_>, task: Task) -> i64 {
    let hours = |hours: &Hours| hours.overtime(task.from, task.to);
    team(&farm.people, task, &mut Vec::new(), hours).unwrap_or(0)
}
