//! People by name in the solver's terms, for those tasks for which counting heads was not enough.

use std::collections::BTreeMap;

use pumpkin_constraints as constraints;
use pumpkin_core::constraints::NegatableConstraint;
use pumpkin_core::predicate;
use pumpkin_core::predicates::Predicate;
use pumpkin_core::variables::{DomainId, TransformableVariable};

use super::model::{Model, Work, inside};

/// One person who could do a task.
#[derive(Clone, Copy, Debug)]
struct Could {
    person: usize,
    /// 1 if the person does it.
    does: DomainId,
    /// The person's overtime in it, where that is not the same for everybody.
    pay: Option<DomainId>,
}

/// The tasks with names so far, by their places among the model's works.
#[derive(Debug, Default)]
pub(super) struct Crew {
    teams: BTreeMap<usize, Vec<Could>>,
}

impl Crew {
    /// Names people for these tasks from now on; false if all of them had names already.
    pub fn add(&mut self, model: &mut Model<'_>, tasks: &[usize]) -> bool {
        let mut new = false;
        for task in model.together(tasks) {
            if !self.teams.contains_key(&task) {
                let team = team(model, task);
                for (&other, others) in &self.teams {
                    apart(model, (task, &team), (other, others));
                }
                self.teams.insert(task, team);
                new = true;
            }
        }
        for job in 0..model.jobs.len() {
            self.pay(model, job);
        }
        new
    }

    /// The overtime of a phase is no less than that of the people named for it.
    fn pay(&self, model: &mut Model<'_>, job: usize) {
        for stage in 0..5 {
            let Some(overtime) = model.jobs[job].overtime[stage] else {
                continue;
            };
            let named = self.teams.iter().filter(|(task, _)| {
                let work = &model.works[**task];
                (work.job, work.stage) == (job, stage)
            });
            let paid = named
                .flat_map(|(_, team)| team)
                .filter_map(|could| could.pay);
            let mut terms: Vec<_> = paid.map(|pay| pay.scaled(1)).collect();
            if !terms.is_empty() {
                terms.push(overtime.scaled(-1));
                model.post(constraints::less_than_or_equals(terms, 0, model.tag));
            }
        }
    }

    /// The overtime that a solution gives a named task; none if it may be anybody's.
    pub fn paid(&self, task: usize, value: impl Fn(DomainId) -> i32) -> Option<i64> {
        let team = self.teams.get(&task)?;
        let pays = team.iter().filter_map(|could| could.pay);
        let pays: Vec<i64> = pays.map(|pay| value(pay).into()).collect();
        (!pays.is_empty()).then(|| pays.iter().sum())
    }

    /// The variables of the names, with the value each has if `who` says who does a task.
    pub fn wishes(&self, who: impl Fn(usize, usize) -> bool) -> Vec<(DomainId, i32)> {
        let mut wishes = Vec::new();
        for (&task, team) in &self.teams {
            let wish = |could: &Could| (could.does, i32::from(who(task, could.person)));
            wishes.extend(team.iter().map(wish));
        }
        wishes
    }
}

/// A variable for each person who could do a task at one of its times.
fn team(model: &mut Model<'_>, task: usize) -> Vec<Could> {
    let work = model.works[task];
    let start = model.jobs[work.job].starts[work.stage];
    let mut team = Vec::new();
    for person in 0..model.farm.people.len() {
        let times = model.times(&work, person);
        if times.iter().all(|time| time.1.is_none()) {
            continue;
        }
        let does = model.number(0, 1);
        let not = predicate!(does <= 0);
        let most = times.iter().filter_map(|time| time.1).max().unwrap_or(0);
        let pay = model.pays(&work).then(|| model.number(0, most));
        for run in times.chunk_by(|one, two| one.1 == two.1) {
            let (first, last) = (inside(run[0].0), inside(run[run.len() - 1].0));
            let here = [
                predicate!(start <= first - 1),
                predicate!(start >= last + 1),
            ];
            match (run[0].1, pay) {
                (None, _) => model.clause(here.into_iter().chain([not])),
                (Some(slots), Some(pay)) => {
                    let (least, most) = (predicate!(pay >= slots), predicate!(pay <= slots));
                    model.clause(here.into_iter().chain([not, least]));
                    model.clause(here.into_iter().chain([most]));
                }
                (Some(_), None) => {}
            }
        }
        if let Some(pay) = pay {
            model.clause([predicate!(does >= 1), predicate!(pay <= 0)]);
        }
        team.push(Could { person, does, pay });
    }
    let does: Vec<DomainId> = team.iter().map(|could| could.does).collect();
    let people = i32::try_from(work.people).unwrap_or(i32::MAX);
    model.post(constraints::equals(does, people, model.tag));
    if work.concentrate {
        let skilled = team
            .iter()
            .filter(|could| model.farm.people[could.person].concentrate);
        let skilled: Vec<_> = skilled.map(|could| could.does).collect();
        model.clause(skilled.into_iter().map(|does| predicate!(does >= 1)));
    }
    team
}

/// Nobody is at both of two tasks at once.
fn apart(model: &mut Model<'_>, one: (usize, &[Could]), two: (usize, &[Could])) {
    let (first, second) = (model.works[one.0], model.works[two.0]);
    let mut both = Vec::new();
    for could in one.1 {
        let same = two.1.iter().find(|other| other.person == could.person);
        both.extend(same.map(|other| (could.does, other.does)));
    }
    if both.is_empty() || !model.could_meet(&first, &second) {
        return;
    }
    let (Some(before), Some(after)) = (
        precedes(model, &first, &second),
        precedes(model, &second, &first),
    ) else {
        return;
    };
    for (this, other) in both {
        model.clause([predicate!(this <= 0), predicate!(other <= 0), before, after]);
    }
}

/// True just where the first task ends before the second begins; none once no plan is left.
pub(super) fn precedes(model: &mut Model<'_>, first: &Work, second: &Work) -> Option<Predicate> {
    if model.solver.is_inconsistent() {
        return None;
    }
    let literal = model.solver.new_literal();
    let (one, two) = (model.begins(first), model.begins(second));
    let length = i32::try_from(first.slots).unwrap_or(i32::MAX);
    constraints::less_than_or_equals(vec![one.scaled(1), two.scaled(-1)], -length, model.tag)
        .reify(&mut model.solver, literal);
    Some(literal.get_true_predicate())
}
