//! What the work at one system asks of the work at another.

use super::super::plan::PlacedJob;
use super::super::problem::{Job, Problem};
use super::tasks;

/// On a day on which a sick system is worked at, nothing is done at a well one after that has begun.
pub(super) fn last_in_day(
    problem: &Problem,
    sound: &[(&Job, &PlacedJob)],
    say: &mut impl FnMut(String),
) {
    let (mut sick, mut well) = (Vec::new(), Vec::new());
    for (job, placed) in sound {
        let list = if job.last_in_day {
            &mut sick
        } else {
            &mut well
        };
        for task in tasks(job, placed) {
            list.push((job.id.as_str(), task.from, task.to, true));
        }
    }
    for work in &problem.taken.work {
        let list = if work.last_in_day {
            &mut sick
        } else {
            &mut well
        };
        list.push(("a booking that stands", work.span.from, work.span.to, false));
    }
    for &(sick, begins, sick_ends, sick_planned) in &sick {
        for &(well, starts, ends, well_planned) in &well {
            let one_day = problem.day_of(begins) <= problem.day_of(ends - 1)
                && problem.day_of(starts) <= problem.day_of(sick_ends - 1);
            if one_day && ends > begins && (sick_planned || well_planned) {
                say(format!(
                    "{well}: worked at from {starts} to {ends}, after {sick}, which is sick, at {begins} of that day"
                ));
            }
        }
    }
}

/// While a room is dosed and aired nobody works by hand at another system in it.
pub(super) fn crew_out(
    problem: &Problem,
    sound: &[(&Job, &PlacedJob)],
    say: &mut impl FnMut(String),
) {
    for (job, placed) in sound {
        let room = &problem.rooms[job.room];
        let mut closed: Vec<(&str, u32, u32)> = Vec::new();
        for span in &room.closed {
            closed.push(("a dosing that stands", span.from, span.to));
        }
        for (other, there) in sound {
            if problem.crew_out && other.id != job.id && other.room == job.room {
                let until = there.dose + other.dose.duration + other.dose.airing;
                closed.push((&other.id, there.dose, until));
            }
        }
        for task in tasks(job, placed) {
            for (by, from, to) in &closed {
                if task.from < *to && *from < task.to {
                    say(format!(
                        "{}: {} at {}, while {} is dosed and aired by {by} from {from} to {to}",
                        job.id, task.name, task.from, room.id
                    ));
                }
            }
        }
    }
}
