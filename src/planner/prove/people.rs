//! What the model knows of people and times, for the naming of them.

use super::super::farm::Task;
use super::super::problem::{Job, Slot};
use super::chains::Start;
use super::model::{Model, Work, works};

impl Model<'_> {
    /// For each start that a task could have, what it is in overtime for somebody; none where they cannot.
    pub fn times(&self, work: &Work, person: usize) -> Vec<(Slot, Option<i32>)> {
        let starts = &self.jobs[work.job].stages[work.stage];
        let times = starts
            .iter()
            .map(|start| (start.at, self.could(work.at(start.at), person)));
        times.collect()
    }

    fn could(&self, task: Task, person: usize) -> Option<i32> {
        let hours = &self.farm.people[person];
        let alone = task.concentrate && task.people == 1;
        let able = (hours.concentrate || !alone) && hours.fits(task.from, task.to);
        able.then(|| i32::try_from(hours.overtime(task.from, task.to)).unwrap_or(i32::MAX))
    }

    /// Whether one person's overtime in a phase is another's regular time.
    pub fn differs(&self, job: &Job, stage: usize, starts: &[Start]) -> bool {
        let works = works(job, 0);
        let mut own = works.iter().filter(|work| work.stage == stage);
        own.any(|work| {
            starts.iter().any(|start| {
                let task = work.at(start.at);
                let mut costs = (0..self.farm.people.len()).filter_map(|one| self.could(task, one));
                let first = costs.next();
                costs.any(|cost| Some(cost) != first)
            })
        })
    }

    /// Whether a named task has its people's overtime.
    pub fn pays(&self, work: &Work) -> bool {
        let own = &self.jobs[work.job];
        own.differs[work.stage] && own.overtime[work.stage].is_some()
    }

    /// These tasks, with all rinses of a job where the overtime of one is named.
    pub fn together(&self, tasks: &[usize]) -> Vec<usize> {
        let same = |one: &Work, two: &Work| (one.job, one.stage) == (two.job, two.stage);
        let meant = |index: &usize| {
            let work = &self.works[*index];
            tasks.contains(index)
                || (self.pays(work) && tasks.iter().any(|task| same(work, &self.works[*task])))
        };
        (0..self.works.len()).filter(meant).collect()
    }

    /// Whether two tasks could be at the same time.
    pub fn could_meet(&self, one: &Work, two: &Work) -> bool {
        let reach = |work: &Work| {
            let starts = &self.jobs[work.job].stages[work.stage];
            let first = starts.first().map_or(0, |start| start.at) + work.offset;
            let last = starts.last().map_or(0, |start| work.at(start.at).to);
            (first, last)
        };
        let (one, two) = (reach(one), reach(two));
        one.0 < two.1 && two.0 < one.1
    }
}
