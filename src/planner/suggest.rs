//! What would help a job that is late or without a place: single changes of the farm that can be arranged,
//! each checked by planning with it.

use super::improve::Search;
use super::plan::Plan;
use super::problem::{Delivery, Job, Person, Problem, Shift, Slot, Span};
use super::replan::{Earlier, kept};
use super::verify::verify;

/// Steps of planning with each change.
const STEPS: u32 = 60;
/// Overtime that somebody is asked for, in minutes.
const LONGER: u32 = 120;
/// The most days by which a planting is moved.
const MOST_DAYS: u32 = 3;
/// A delivery is asked for in whole litres.
const LITRE_ML: i64 = 1000;
/// Sizes by which the tank is tried larger, in litres.
const LARGER_L: [i64; 3] = [250, 500, 1000];

/// One change of the farm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Help {
    /// No change: a better plan was found as things are.
    Nothing,
    /// One more person in these hours of one day.
    Person { hours: Span, concentrate: bool },
    /// One of the crew, an index into [`Problem::people`], stays for these hours of overtime.
    Overtime { person: usize, hours: Span },
    /// The planting after the job is so many days later.
    Planting { job: usize, days: u32 },
    /// So much of a product, an index into [`Problem::stocks`], comes by the beginning of this slot.
    Delivery { product: usize, ml: i64, by: Slot },
    /// The room, an index into [`Problem::rooms`], is free of others on the day that these slots are.
    Room { room: usize, day: Span },
    /// One more kit unit.
    Kit,
    /// A tank that holds so many litres more, full at the start.
    Tank { litres: i64 },
}

impl Help {
    /// The problem with this change made.
    #[must_use]
    pub fn made(self, problem: &Problem) -> Problem {
        let mut changed = problem.clone();
        match self {
            Self::Nothing => {}
            Self::Person { hours, concentrate } => changed.people.push(Person {
                id: String::new(),
                concentrate,
                shifts: vec![Shift {
                    span: hours,
                    overtime: false,
                }],
            }),
            Self::Overtime { person, hours } => changed.people[person].shifts.push(Shift {
                span: hours,
                overtime: true,
            }),
            Self::Planting { job, days } => {
                let later = days * problem.day();
                let job = &mut changed.jobs[job];
                job.due += later;
                job.hard_due = (job.hard_due + later).min(problem.horizon);
            }
            Self::Delivery { product, ml, by } => changed.stocks[product]
                .deliveries
                .push(Delivery { slot: by, ml }),
            Self::Room { room, day } => {
                let occupied = std::mem::take(&mut changed.rooms[room].occupied);
                changed.rooms[room].occupied = occupied
                    .iter()
                    .flat_map(|span| without(*span, day))
                    .collect();
            }
            Self::Kit => changed.kits += 1,
            Self::Tank { litres } => {
                changed.water.tank_l += litres;
                changed.water.initial_l += litres;
            }
        }
        changed
    }
}

/// What is left of a span when another is taken out of it.
fn without(span: Span, out: Span) -> impl Iterator<Item = Span> {
    let before = Span {
        from: span.from,
        to: span.to.min(out.from),
    };
    let after = Span {
        from: span.from.max(out.to),
        to: span.to,
    };
    [before, after]
        .into_iter()
        .filter(|span| span.from < span.to)
}

/// A change that helps, with the plan that shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suggestion {
    pub help: Help,
    /// Slots that the job is late with it.
    pub late: Slot,
    /// What the whole plan costs, and how many jobs have no place in it.
    pub cost: i64,
    pub unplaced: usize,
    /// Other jobs that move to another day.
    pub moved: usize,
    /// A plan of [`Help::made`], checked.
    pub plan: Plan,
}

/// What would help a job that is late or without a place, the best first: those that bring it in time before
/// those that only make it less late, then by what the plan costs. Empty if the job is in time, or if
/// nothing that was tried helps.
///
/// Each change is planned with, from the plan in hand and under its cap on moves, and the plan is checked.
/// Of changes that come in sizes only the least that brings the job in time is told. At most `tries` changes
/// are tried; `stop` is asked before each.
#[must_use]
pub fn suggest(
    problem: &Problem,
    earlier: Earlier<'_>,
    job: usize,
    tries: usize,
    stop: &dyn Fn() -> bool,
) -> Vec<Suggestion> {
    let late = |plan: &Plan| {
        let placed = plan.jobs.iter().find(|placed| placed.job == job);
        placed.map_or(Slot::MAX, |placed| placed.late(&problem.jobs[job]))
    };
    if job >= problem.jobs.len() || late(earlier.plan) == 0 {
        return Vec::new();
    }
    let Some(base) = planned(problem, Help::Nothing, earlier, job) else {
        return Vec::new();
    };
    if base.late == 0 {
        return vec![base];
    }
    let mut found = Vec::new();
    let mut left = tries;
    for sizes in changes(problem, earlier.plan, job) {
        for help in sizes {
            if left == 0 || stop() {
                return ranked(found);
            }
            left -= 1;
            let Some(with) = planned(problem, help, earlier, job) else {
                continue;
            };
            let better = (with.unplaced, with.cost) < (base.unplaced, base.cost);
            if with.late < base.late && better {
                let done = with.late == 0;
                found.push(with);
                if done {
                    break;
                }
            }
        }
    }
    ranked(found)
}

fn ranked(mut found: Vec<Suggestion>) -> Vec<Suggestion> {
    found.sort_by_key(|one| (one.late > 0, one.unplaced, one.cost, one.late, one.moved));
    found
}

/// The plan with one change; none if it does not hold.
fn planned(problem: &Problem, help: Help, earlier: Earlier<'_>, job: usize) -> Option<Suggestion> {
    let changed = help.made(problem).check().ok()?;
    let mut search: Search<'_> = kept(&changed, earlier);
    for _ in 0..STEPS {
        search.step_about(job);
    }
    let plan = search.best();
    let reckoned = verify(&changed, &plan).ok()?;
    let late = plan
        .jobs
        .iter()
        .find(|placed| placed.job == job)
        .map_or(Slot::MAX, |placed| placed.late(&changed.jobs[job]));
    Some(Suggestion {
        help,
        late,
        cost: reckoned.cost,
        unplaced: reckoned.unplaced,
        moved: search.moved(),
        plan,
    })
}

/// What could be tried: each list holds one change in its sizes, the least first.
fn changes(problem: &Problem, plan: &Plan, index: usize) -> Vec<Vec<Help>> {
    let job = &problem.jobs[index];
    let days: Vec<Span> = (problem.day_of(job.release)..=problem.day_of(job.due.max(job.release)))
        .map(|day| problem.day_span(day))
        .filter(|day| day.from < day.to)
        .collect();
    let mut lists = vec![
        (1..=MOST_DAYS)
            .map(|days| Help::Planting { job: index, days })
            .collect(),
        deliveries(problem, plan, job, &days),
        vec![Help::Kit],
    ];
    for &day in &days {
        if let Some(hours) = hours(problem, day) {
            lists.push(
                [false, true]
                    .map(|concentrate| Help::Person { hours, concentrate })
                    .to_vec(),
            );
        }
        let busy = &problem.rooms[job.room].occupied;
        if busy
            .iter()
            .any(|span| span.from < day.to && day.from < span.to)
        {
            lists.push(vec![Help::Room {
                room: job.room,
                day,
            }]);
        }
    }
    lists.push(LARGER_L.map(|litres| Help::Tank { litres }).to_vec());
    for &day in &days {
        let longer = (0..problem.people.len()).filter_map(|person| overtime(problem, person, day));
        lists.extend(longer.map(|help| vec![help]));
    }
    lists
}

/// What of its product the job lacks in the plan, by the beginning of each day that is early enough, the
/// latest first.
fn deliveries(problem: &Problem, plan: &Plan, job: &Job, days: &[Span]) -> Vec<Help> {
    let product = job.dose.product;
    let stock = &problem.stocks[product];
    let come: i64 = stock
        .deliveries
        .iter()
        .filter(|delivery| delivery.slot < job.due)
        .map(|delivery| delivery.ml)
        .sum();
    let others: i64 = plan
        .jobs
        .iter()
        .map(|placed| (&problem.jobs[placed.job], placed))
        .filter(|(other, placed)| {
            other.id != job.id && other.dose.product == product && placed.dose < job.due
        })
        .map(|(other, _)| other.dose.peroxide_ml)
        .sum();
    let lacking = job.dose.peroxide_ml - (stock.initial_ml + come - others);
    // At most a whole dose: more than that would be for others.
    let ml = lacking.clamp(1, job.dose.peroxide_ml.max(1));
    let ml = (ml + LITRE_ML - 1) / LITRE_ML * LITRE_ML;
    days.iter()
        .rev()
        .map(|day| Help::Delivery {
            product,
            ml,
            by: day.from.max(job.release),
        })
        .collect()
}

/// The longest regular hours anybody has on a day.
fn hours(problem: &Problem, day: Span) -> Option<Span> {
    problem
        .people
        .iter()
        .flat_map(|person| &person.shifts)
        .filter(|shift| !shift.overtime && day.from <= shift.span.from && shift.span.to <= day.to)
        .map(|shift| shift.span)
        .max_by_key(|span| (span.to - span.from, std::cmp::Reverse(span.from)))
}

/// Overtime right after somebody's last hours of a day, if they have none there yet.
fn overtime(problem: &Problem, person: usize, day: Span) -> Option<Help> {
    let last = problem.people[person]
        .shifts
        .iter()
        .filter(|shift| day.from <= shift.span.from && shift.span.to <= day.to)
        .max_by_key(|shift| shift.span.to)?;
    let to = (last.span.to + LONGER / problem.slot_minutes).min(day.to);
    let hours = Span {
        from: last.span.to,
        to,
    };
    (!last.overtime && hours.from < hours.to).then_some(Help::Overtime { person, hours })
}
