//! One small problem in the solver's terms.
//!
//! People are counted at first; a task whose people could not be named gets a variable for each person. The
//! tank is a family of limits: in each span of so many slots no more is drawn than it holds and makes
//! meanwhile. Of these, the spans that a found plan breaks are added when it does.

use pumpkin_constraints as constraints;
use pumpkin_core::Solver;
use pumpkin_core::constraints::Constraint;
use pumpkin_core::options::SolverOptions;
use pumpkin_core::predicate;
use pumpkin_core::predicates::Predicate;
use pumpkin_core::proof::ConstraintTag;
use pumpkin_core::variables::{AffineView, DomainId, TransformableVariable};

use super::super::farm::{Farm, Task, tasks};
use super::super::problem::{Job, Problem, Slot};
use super::chains::{Chains, Start, waits};

/// Greater costs would not fit the solver's numbers once they are multiplied and added up.
pub(super) const MOST_COST: i64 = 100_000_000;
/// Spans of the tank's limit that are there from the beginning, in slots.
const FIRST_SPANS: [Slot; 2] = [1, 24];
/// All slots are this much later inside the solver, so that the water that lacks at the start can be drawn
/// in the slot before the first.
pub(super) const SHIFT: i32 = 1;

/// A task by hand in the solver's terms.
#[derive(Clone, Copy, Debug)]
pub(super) struct Work {
    /// Index into [`Model::jobs`].
    pub job: usize,
    /// The phase, and how much later than its start the task begins.
    pub stage: usize,
    pub offset: Slot,
    pub slots: Slot,
    pub people: usize,
    pub concentrate: bool,
}

impl Work {
    /// The task at a start of its phase.
    pub fn at(&self, start: Slot) -> Task {
        let from = start + self.offset;
        Task {
            from,
            to: from + self.slots,
            people: self.people,
            concentrate: self.concentrate,
        }
    }
}

/// The tasks of a job in the order of work.
pub(super) fn works(job: &Job, number: usize) -> Vec<Work> {
    let tasks: Vec<Task> = tasks(job, [0; 5]).collect();
    let rinses = job.rinses.len();
    let work = |(place, task): (usize, &Task)| Work {
        job: number,
        stage: match place {
            0 | 1 => place,
            _ if place < 2 + rinses => 2,
            _ => place + 1 - rinses,
        },
        offset: task.from,
        slots: task.to - task.from,
        people: task.people,
        concentrate: task.concentrate,
    };
    tasks.iter().enumerate().map(work).collect()
}

/// The variables of one job.
#[derive(Clone, Debug)]
pub(super) struct JobModel {
    /// Index into the problem's jobs.
    pub index: usize,
    pub starts: [DomainId; 5],
    pub stages: [Vec<Start>; 5],
    /// Slots of overtime of each phase, where it has any, and whether they are not the same for everybody.
    pub overtime: [Option<DomainId>; 5],
    pub differs: [bool; 5],
}

pub(super) struct Model<'p> {
    pub problem: &'p Problem,
    pub farm: Farm<'p>,
    pub solver: Solver,
    pub tag: ConstraintTag,
    pub jobs: Vec<JobModel>,
    pub works: Vec<Work>,
    pub objective: DomainId,
    pub spans: Vec<Slot>,
}

pub(super) fn inside(slot: Slot) -> i32 {
    i32::try_from(slot).unwrap_or(i32::MAX - SHIFT) + SHIFT
}

pub(super) fn outside(value: i32) -> Slot {
    Slot::try_from(value - SHIFT).unwrap_or(0)
}

pub(super) fn length(slots: Slot) -> i32 {
    inside(slots) - SHIFT
}

pub(super) fn small(value: i64) -> Option<i32> {
    i32::try_from(value)
        .ok()
        .filter(|value| value.abs() < i32::MAX / 4)
}

impl<'p> Model<'p> {
    /// The model of all plans that cost no more than `most`; none if its numbers are too great.
    ///
    /// `chains` holds the jobs that have a place, by their index.
    pub fn of(problem: &'p Problem, chains: &[(usize, Chains)], most: i64) -> Option<Self> {
        let least: i64 = chains.iter().map(|(_, chains)| chains.cost).sum();
        if most >= MOST_COST || least > most {
            return None;
        }
        let mut solver = Solver::with_options(SolverOptions {
            memory_preallocated: 1,
            ..SolverOptions::default()
        });
        let tag = solver.new_constraint_tag();
        let objective = solver.new_bounded_integer(small(least)?, small(most)?);
        let mut model = Self {
            problem,
            farm: Farm::empty(problem),
            solver,
            tag,
            jobs: Vec::new(),
            works: Vec::new(),
            objective,
            spans: Vec::new(),
        };
        let mut costs = vec![objective.scaled(-1)];
        for (index, chains) in chains {
            let room = chains.cost + most - least;
            costs.push(model.job(*index, chains, room)?);
        }
        model.post(constraints::equals(costs, 0, tag));
        model.limits()?;
        for span in FIRST_SPANS {
            model.tank_span(span)?;
        }
        Some(model)
    }

    pub fn post(&mut self, constraint: impl Constraint) {
        if !self.solver.is_inconsistent() {
            self.solver.add_constraint(constraint).post();
        }
    }

    pub fn clause(&mut self, clause: impl IntoIterator<Item = Predicate>) {
        if !self.solver.is_inconsistent() {
            self.solver.add_clause(clause, self.tag);
        }
    }

    /// A new number; once no plan is left what is added no longer matters.
    pub fn number(&mut self, least: i32, most: i32) -> DomainId {
        if self.solver.is_inconsistent() {
            return self.objective;
        }
        self.solver.new_bounded_integer(least, most)
    }

    /// A job's starts, its chain and its cost, which may be at most `most`.
    fn job(&mut self, index: usize, chains: &Chains, most: i64) -> Option<AffineView<DomainId>> {
        let (problem, tag) = (self.problem, self.tag);
        let job = &problem.jobs[index];
        let stages = [0, 1, 2, 3, 4].map(|stage: usize| {
            let starts = chains.stages[stage].iter();
            starts
                .filter(|start| start.through <= most)
                .copied()
                .collect::<Vec<Start>>()
        });
        if stages.iter().any(Vec::is_empty) {
            return None;
        }
        let starts = [0, 1, 2, 3, 4].map(|stage: usize| {
            let values: Vec<i32> = stages[stage].iter().map(|start| inside(start.at)).collect();
            self.solver.new_sparse_integer(values)
        });
        for (stage, (least, longest)) in waits(job).into_iter().enumerate() {
            let (this, next) = (starts[stage], starts[stage + 1]);
            let (least, longest) = (small(least.into())?, small(longest.into())?);
            let terms = vec![this.scaled(1), next.scaled(-1)];
            self.post(constraints::less_than_or_equals(terms, -least, tag));
            let terms = vec![next.scaled(1), this.scaled(-1)];
            self.post(constraints::less_than_or_equals(terms, longest, tag));
        }
        // The parts of the cost follow from the starts, so that a wish for the starts is a wish for all.
        let cost = self.number(small(chains.cost)?, small(most)?);
        let mut terms = vec![cost.scaled(-1)];
        let prices = problem.prices;
        let rate = small(prices.late * job.weight)?;
        let last = stages[4].last()?.at + job.inspect.duration;
        if rate > 0 && last > job.due {
            let late = self.number(0, small((last - job.due).into())?);
            let over = starts[4].offset(inside(job.inspect.duration) - SHIFT - inside(job.due));
            let nought = self.number(0, 0).offset(0);
            self.post(constraints::maximum([over, nought], late, tag));
            terms.push(late.scaled(rate));
        }
        let mut overtime = [None; 5];
        let mut differs = [false; 5];
        for stage in 0..5 {
            let level = |start: &Start| start.overtime;
            let least = stages[stage].iter().map(level).max().unwrap_or(0);
            differs[stage] = self.differs(job, stage, &stages[stage]);
            // Where it is not the same for everybody, at most all of their time is overtime.
            let own = works(job, 0).into_iter().filter(|work| work.stage == stage);
            let all = own
                .map(|work| i64::from(work.slots) * work.people as i64)
                .sum();
            let greatest = if differs[stage] { all } else { least };
            if greatest == 0 || prices.overtime == 0 {
                continue;
            }
            let slots = self.number(0, small(greatest)?);
            self.steps(starts[stage], slots, &stages[stage], level, !differs[stage])?;
            terms.push(slots.scaled(small(prices.overtime)?));
            overtime[stage] = Some(slots);
        }
        self.post(constraints::equals(terms, 0, tag));
        // What the whole chain costs at least, by its end.
        let on_time = |start: &&Start| start.at + job.inspect.duration <= job.due;
        let early: Vec<Start> = stages[4].iter().filter(on_time).copied().collect();
        self.steps(starts[4], cost, &early, |start| start.through, false)?;
        self.works.extend(works(job, self.jobs.len()));
        self.jobs.push(JobModel {
            index,
            starts,
            stages,
            overtime,
            differs,
        });
        Some(cost.scaled(1))
    }

    /// Lets a variable follow from a start, step by step; or only be no less.
    fn steps(
        &mut self,
        start: DomainId,
        follows: DomainId,
        starts: &[Start],
        level: impl Fn(&Start) -> i64,
        both: bool,
    ) -> Option<()> {
        let runs = starts.chunk_by(|one, two| level(one) == level(two));
        for run in runs {
            let (first, last) = (inside(run[0].at), inside(run[run.len() - 1].at));
            let value = small(level(&run[0]))?;
            let here = [
                predicate!(start <= first - 1),
                predicate!(start >= last + 1),
            ];
            if value > 0 {
                self.clause(here.into_iter().chain([predicate!(follows >= value)]));
            }
            if both {
                self.clause(here.into_iter().chain([predicate!(follows <= value)]));
            }
        }
        Some(())
    }

    /// When a task begins, in the solver's terms.
    pub fn begins(&self, work: &Work) -> AffineView<DomainId> {
        self.jobs[work.job].starts[work.stage].offset(length(work.offset))
    }
}
