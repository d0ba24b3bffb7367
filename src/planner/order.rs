//! Sick systems are the last of the day: hands and tools go from the well to the sick and not back before
//! they are clean again.

use super::farm::tasks;
use super::plan::Placement;
use super::problem::{Problem, Slot};

/// What is worked at on one day.
#[derive(Clone, Debug, Default)]
struct Day {
    /// From, to, and whether it is at a sick system.
    tasks: Vec<(Slot, Slot, bool)>,
    /// Everything at well systems is over.
    well_until: Slot,
    /// The first work at a sick system; none on most days.
    sick_from: Option<Slot>,
}

impl Day {
    fn count(&mut self) {
        let well = self.tasks.iter().filter(|task| !task.2);
        self.well_until = well.map(|task| task.1).max().unwrap_or(0);
        let sick = self.tasks.iter().filter(|task| task.2);
        self.sick_from = sick.map(|task| task.0).min();
    }
}

/// The order of work on each day; empty where nothing is sick.
#[derive(Clone, Debug, Default)]
pub(super) struct Order {
    days: Vec<Day>,
}

impl Order {
    /// With what bookings that stand do by hand.
    pub fn new(problem: &Problem) -> Self {
        let sick = problem.jobs.iter().any(|job| job.last_in_day)
            || problem.taken.work.iter().any(|work| work.last_in_day);
        if !sick {
            return Self::default();
        }
        let days = problem.day_of(problem.horizon) + 1;
        let mut order = Self {
            days: vec![Day::default(); days],
        };
        for work in &problem.taken.work {
            order.change(
                problem,
                work.span.from,
                work.span.to,
                work.last_in_day,
                true,
            );
        }
        order
    }

    /// Gives a job its place in the days, or takes it away.
    pub fn put(&mut self, problem: &Problem, index: usize, place: &Placement, here: bool) {
        if self.days.is_empty() {
            return;
        }
        let job = &problem.jobs[index];
        for task in tasks(job, place.starts) {
            self.change(problem, task.from, task.to, job.last_in_day, here);
        }
    }

    fn change(&mut self, problem: &Problem, from: Slot, to: Slot, sick: bool, here: bool) {
        for day in days_of(problem, from, to) {
            let Some(day) = self.days.get_mut(day) else {
                continue;
            };
            let task = (from, to, sick);
            if here {
                day.tasks.push(task);
            } else if let Some(at) = day.tasks.iter().position(|other| *other == task) {
                day.tasks.swap_remove(at);
            }
            day.count();
        }
    }

    /// Whether a task keeps the order among what is there.
    pub fn allows(&self, problem: &Problem, from: Slot, to: Slot, sick: bool) -> bool {
        self.days.is_empty()
            || days_of(problem, from, to)
                .filter_map(|day| self.days.get(day))
                .all(|day| match sick {
                    true => day.well_until <= from,
                    false => day.sick_from.is_none_or(|sick| to <= sick),
                })
    }
}

fn days_of(problem: &Problem, from: Slot, to: Slot) -> std::ops::RangeInclusive<usize> {
    problem.day_of(from)..=problem.day_of(to.saturating_sub(1).max(from))
}
