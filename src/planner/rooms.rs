//! The rooms while a plan is being made: when one can be dosed, and when work by hand can be done in it.

use super::bits::Bits;
use super::farm::tasks;
use super::plan::Placement;
use super::problem::{Job, Problem, Slot};

/// What is free in the rooms, by their index.
#[derive(Clone, Debug)]
pub(super) struct Rooms {
    /// Nobody is there and nothing is dosed or aired.
    pub open: Vec<Bits>,
    /// Only where it matters to the crew's own work.
    crew: Option<Crew>,
}

/// Where the crew keeps out of a room that is dosed and aired.
#[derive(Clone, Debug)]
struct Crew {
    /// Nothing is dosed or aired.
    quiet: Vec<Bits>,
    /// Before any job has a place.
    empty: Vec<Bits>,
    /// How many tasks are done by hand in each slot.
    tasks: Vec<Vec<u16>>,
}

impl Rooms {
    pub fn new(problem: &Problem) -> Self {
        let horizon = problem.horizon;
        let without = |spans: &dyn Fn(&super::problem::Room) -> Vec<super::problem::Span>| {
            let each = problem.rooms.iter().map(|room| {
                let mut open = Bits::none(horizon);
                open.put(0, horizon, true);
                for span in spans(room) {
                    open.put(span.from, span.to, false);
                }
                open
            });
            each.collect::<Vec<Bits>>()
        };
        let open = without(&|room| [&room.occupied[..], &room.closed].concat());
        let matters = problem.crew_out || problem.rooms.iter().any(|room| !room.closed.is_empty());
        let crew = matters.then(|| Crew {
            quiet: without(&|room| room.closed.clone()),
            empty: open.clone(),
            tasks: match problem.crew_out {
                true => vec![vec![0; horizon as usize + 1]; problem.rooms.len()],
                false => Vec::new(),
            },
        });
        Self { open, crew }
    }

    /// Whether nobody has to keep out of the room of a job in these slots.
    pub fn is_quiet(&self, job: &Job, from: Slot, to: Slot) -> bool {
        let crew = self.crew.as_ref();
        crew.is_none_or(|crew| crew.quiet[job.room].all(from, to))
    }

    /// Gives a job its place, or takes it away.
    pub fn put(&mut self, problem: &Problem, index: usize, place: &Placement, here: bool) {
        let job = &problem.jobs[index];
        let (dose, room) = (place.starts[1], job.room);
        let aired = dose + job.dose.duration + job.dose.airing;
        self.open[room].put(dose, aired, !here);
        let Some(crew) = self.crew.as_mut().filter(|_| problem.crew_out) else {
            return;
        };
        crew.quiet[room].put(dose, aired, !here);
        let spans = tasks(job, place.starts).map(|task| (task.from, task.to));
        for (from, to) in spans {
            for slot in from..to {
                if let Some(count) = crew.tasks[room].get_mut(slot as usize) {
                    *count = match here {
                        true => *count + 1,
                        false => count.saturating_sub(1),
                    };
                }
            }
        }
        // Its own tasks may lie in its own airing, so both are looked at together.
        let touched = tasks(job, place.starts).map(|task| (task.from, task.to));
        for (from, to) in touched.chain([(dose, aired)]) {
            for slot in from..to {
                let worked = crew.tasks[room]
                    .get(slot as usize)
                    .is_some_and(|count| *count > 0);
                let free = !worked && crew.quiet[room].has(slot) && crew.empty[room].has(slot);
                self.open[room].put(slot, slot + 1, free);
            }
        }
    }
}
