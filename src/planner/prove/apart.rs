//! Rules between the work at one job and the work at another, told to the solver only where a found plan breaks
//! them: nobody works beside a dosing that is aired, and what is sick is the last of a day.
//!
//! Until a rule is told the model allows more than the problem does, so what it proves to be the least holds.

use std::collections::HashSet;

use pumpkin_core::predicate;
use pumpkin_core::predicates::Predicate;

use super::super::problem::Slot;
use super::crew::precedes;
use super::model::{Model, Work, inside, length};

/// Two stretches of different jobs that may not be as they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Broken {
    /// The first job's room is closed while the work is done.
    Room { job: usize, work: usize },
    /// The well work does not end before the sick work of its day begins.
    Day { sick: usize, well: usize },
}

/// What was told already.
#[derive(Debug, Default)]
pub(super) struct Apart {
    told: HashSet<Broken>,
}

/// What there is to say of a found plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Said {
    /// It breaks none of these rules.
    Nothing,
    /// It broke some, which the model knows from now on.
    More,
    /// It breaks one that the model was told already.
    Again,
}

impl Apart {
    /// Tells the model all that a found plan breaks.
    pub fn tell(&mut self, model: &mut Model<'_>, starts: &[[Slot; 5]]) -> Said {
        let broken = broken(model, starts);
        if broken.is_empty() {
            return Said::Nothing;
        }
        let mut said = Said::Again;
        for one in broken {
            if !self.told.insert(one) {
                continue;
            }
            said = Said::More;
            match one {
                Broken::Room { job, work } => {
                    let (closed, work) = (closed(model, job), model.works[work]);
                    let ways = [
                        precedes(model, &closed, &work),
                        precedes(model, &work, &closed),
                    ];
                    model.clause(ways.into_iter().flatten());
                }
                Broken::Day { sick, well } => {
                    let (sick, well) = (model.works[sick], model.works[well]);
                    let mut ways: Vec<Predicate> =
                        precedes(model, &well, &sick).into_iter().collect();
                    ways.extend(on_other_days(model, &sick, &well));
                    model.clause(ways);
                }
            }
        }
        said
    }
}

/// From the dosing of a job until its room is aired.
fn closed(model: &Model<'_>, job: usize) -> Work {
    let dose = model.problem.jobs[model.jobs[job].index].dose;
    Work {
        job,
        stage: 1,
        offset: 0,
        slots: dose.duration + dose.airing,
        people: dose.people,
        concentrate: true,
    }
}

fn broken(model: &Model<'_>, starts: &[[Slot; 5]]) -> Vec<Broken> {
    let problem = model.problem;
    let at = |work: &Work| work.at(starts[work.job][work.stage]);
    let of = |number: usize| &problem.jobs[model.jobs[number].index];
    let mut found = Vec::new();
    for (number, work) in model.works.iter().enumerate() {
        let task = at(work);
        let others = (0..model.jobs.len()).filter(|job| *job != work.job);
        for job in others.filter(|job| problem.crew_out && of(*job).room == of(work.job).room) {
            let closed = at(&closed(model, job));
            if task.from < closed.to && closed.from < task.to {
                found.push(Broken::Room { job, work: number });
            }
        }
        if !of(work.job).last_in_day {
            continue;
        }
        let well = (model.works.iter().enumerate()).filter(|(_, other)| !of(other.job).last_in_day);
        for (other, well) in well {
            let well = at(well);
            let one_day = problem.day_of(task.from) <= problem.day_of(well.to - 1)
                && problem.day_of(well.from) <= problem.day_of(task.to - 1);
            if one_day && well.to > task.from {
                found.push(Broken::Day {
                    sick: number,
                    well: other,
                });
            }
        }
    }
    found
}

/// True where the sick work ends with one day and the well work begins with the next or later: one way a day.
fn on_other_days(model: &mut Model<'_>, sick: &Work, well: &Work) -> Vec<Predicate> {
    let problem = model.problem;
    let days = 1..=problem.day_of(problem.horizon.saturating_sub(1));
    let (first, last) = (model.jobs[sick.job].starts, model.jobs[well.job].starts);
    let (first, last) = (first[sick.stage], last[well.stage]);
    let mut ways = Vec::new();
    for morning in days.map(|day| problem.day_span(day).from) {
        let ends = inside(morning) - length(sick.offset + sick.slots);
        let begins = inside(morning) - length(well.offset);
        let possible =
            model.solver.lower_bound(&first) <= ends && model.solver.upper_bound(&last) >= begins;
        if !possible || model.solver.is_inconsistent() {
            continue;
        }
        let way = model.solver.new_literal();
        let not = way.get_false_predicate();
        model.clause([not, predicate!(first <= ends)]);
        model.clause([not, predicate!(last >= begins)]);
        ways.push(way.get_true_predicate());
    }
    ways
}
