//! Who does what, when all times are given: exact, and if nobody can be named, for which few tasks.

use std::collections::HashSet;

use super::super::farm::{Farm, Task};
use super::super::problem::Slot;

/// So many ways are tried for one stretch of tasks that meet in time.
const MOST_WAYS: usize = 20_000;

/// A task with the most overtime that its people may do in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Named {
    pub task: Task,
    pub overtime: i64,
}

/// A person who could do a task, by what that is in overtime.
type Able = Vec<Vec<(u16, i64)>>;

/// Names people for each task, or says which tasks together find nobody: each of those is necessary, unless
/// there were too many ways to try.
///
/// # Errors
/// The tasks, by their places in the list.
pub(super) fn name(farm: &Farm<'_>, tasks: &[Named]) -> Result<Vec<Vec<u16>>, Vec<usize>> {
    let able: Able = tasks.iter().map(|task| who_could(farm, task)).collect();
    let mut order: Vec<usize> = (0..tasks.len()).collect();
    order.sort_by_key(|&index| (tasks[index].task.from, tasks[index].task.to));
    let mut teams = vec![Vec::new(); tasks.len()];
    let mut rest = &order[..];
    while !rest.is_empty() {
        // Tasks that meet, one into the next.
        let mut end = 0;
        let mut count = 0;
        while count < rest.len() && (count == 0 || tasks[rest[count]].task.from < end) {
            end = end.max(tasks[rest[count]].task.to);
            count += 1;
        }
        let (group, others) = rest.split_at(count);
        rest = others;
        match Ways::of(farm, tasks, &able, group).find() {
            Some(found) => {
                for (&index, team) in group.iter().zip(found) {
                    teams[index] = team;
                }
            }
            None => return Err(necessary(farm, tasks, &able, group)),
        }
    }
    Ok(teams)
}

fn who_could(farm: &Farm<'_>, named: &Named) -> Vec<(u16, i64)> {
    let Task { from, to, .. } = named.task;
    let alone = named.task.concentrate && named.task.people == 1;
    let mut able: Vec<(u16, i64)> = (0..)
        .zip(&farm.people)
        .filter(|(_, hours)| (hours.concentrate || !alone) && hours.fits(from, to))
        .map(|(person, hours)| (person, hours.overtime(from, to)))
        .filter(|one| one.1 <= named.overtime)
        .collect();
    // Those who may do least elsewhere first.
    able.sort_by_key(|one| (farm.people[usize::from(one.0)].concentrate, one.1, one.0));
    able
}

/// Takes tasks away for as long as the rest finds nobody.
fn necessary(farm: &Farm<'_>, tasks: &[Named], able: &Able, group: &[usize]) -> Vec<usize> {
    let mut left = group.to_vec();
    let mut at = 0;
    while at < left.len() {
        let index = left.remove(at);
        if Ways::of(farm, tasks, able, &left).find().is_some() {
            left.insert(at, index);
            at += 1;
        }
    }
    left
}

/// The ways to name people for a few tasks in the order of their starts.
struct Ways<'a> {
    farm: &'a Farm<'a>,
    tasks: &'a [Named],
    able: &'a Able,
    group: &'a [usize],
    /// Until when each person is busy.
    busy: Vec<Slot>,
    teams: Vec<Vec<u16>>,
    /// What was tried in vain: how far, and who is busy until when.
    vain: HashSet<(usize, Vec<Slot>)>,
    left: usize,
}

impl<'a> Ways<'a> {
    fn of(farm: &'a Farm<'a>, tasks: &'a [Named], able: &'a Able, group: &'a [usize]) -> Self {
        Self {
            farm,
            tasks,
            able,
            group,
            busy: vec![0; farm.people.len()],
            teams: Vec::new(),
            vain: HashSet::new(),
            left: MOST_WAYS,
        }
    }

    fn find(mut self) -> Option<Vec<Vec<u16>>> {
        self.go_on(0).then_some(self.teams)
    }

    fn go_on(&mut self, done: usize) -> bool {
        let Some(&index) = self.group.get(done) else {
            return true;
        };
        let from = self.tasks[index].task.from;
        let state = (done, self.busy.iter().map(|&busy| busy.max(from)).collect());
        if self.left == 0 || self.vain.contains(&state) {
            return false;
        }
        self.left -= 1;
        let mut team = Vec::new();
        if self.choose(index, 0, &mut team, 0, done) {
            return true;
        }
        self.vain.insert(state);
        false
    }

    /// Fills a team from those who could, beginning at `first`, and goes on with the next task.
    fn choose(
        &mut self,
        index: usize,
        first: usize,
        team: &mut Vec<u16>,
        overtime: i64,
        done: usize,
    ) -> bool {
        let Named {
            task,
            overtime: most,
        } = self.tasks[index];
        if team.len() == task.people {
            let may = |&person: &u16| self.farm.people[usize::from(person)].concentrate;
            if task.concentrate && !team.iter().any(may) {
                return false;
            }
            let before: Vec<Slot> = team
                .iter()
                .map(|&one| self.busy[usize::from(one)])
                .collect();
            for &person in team.iter() {
                self.busy[usize::from(person)] = task.to;
            }
            self.teams.push(team.clone());
            if self.go_on(done + 1) {
                return true;
            }
            self.teams.pop();
            for (&person, until) in team.iter().zip(before) {
                self.busy[usize::from(person)] = until;
            }
            return false;
        }
        for place in first..self.able[index].len() {
            let (person, more) = self.able[index][place];
            if self.busy[usize::from(person)] > task.from || overtime + more > most {
                continue;
            }
            team.push(person);
            if self.choose(index, place + 1, team, overtime + more, done) {
                return true;
            }
            team.pop();
        }
        false
    }
}
