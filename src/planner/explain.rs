//! Why a job is late or without a place.
//!
//! First the job alone on the empty farm: if it is late even there, other jobs are not to blame. Otherwise
//! the fewest of the other jobs, as they stand in the plan, that keep it from being in time: jobs are taken
//! away one by one for as long as it stays late, so that in the end each that is left is necessary. Either
//! way, the facts of the farm that keep it from being in time are cut down in the same manner to those that do so
//! only together, and each single change of the farm that would let it be in time is tried and named.

use super::chance::Chance;
use super::farm::Farm;
use super::insert::{Inserter, Taste};
use super::plan::{Placement, Plan};
use super::problem::{Handwork, Job, Person, Problem, Room, Shift, Slot, Span};

/// One change of the farm that would let a job be in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relief {
    /// Everybody at work around the clock.
    Hours,
    /// Twice the crew in the same hours.
    Crew,
    /// Everybody may handle the concentrate.
    Skill,
    /// Nobody else in the job's room.
    EmptyRoom,
    /// No other clean-out in the job's room.
    OwnRoom,
    /// One more kit unit.
    Kit,
    /// As much purified water as is asked for.
    Water,
    /// As much concentrate as is asked for.
    Concentrate,
    /// Waits between phases, and the soak's lag, as long as one likes.
    Waits,
}

impl Relief {
    pub(super) const ALL: [Self; 9] = [
        Self::Hours,
        Self::Crew,
        Self::Skill,
        Self::EmptyRoom,
        Self::OwnRoom,
        Self::Kit,
        Self::Water,
        Self::Concentrate,
        Self::Waits,
    ];

    /// What it would take, in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Hours => "other working hours",
            Self::Crew => "more people in the same hours",
            Self::Skill => "more people who may handle concentrate",
            Self::EmptyRoom => "the room free of others",
            Self::OwnRoom => "no other clean-out in its room",
            Self::Kit => "one more kit unit",
            Self::Water => "more purified water",
            Self::Concentrate => "more concentrate, or an earlier delivery",
            Self::Waits => "longer waits between phases",
        }
    }

    /// The fact that this would change, in words.
    #[must_use]
    pub fn fact(self) -> &'static str {
        match self {
            Self::Hours => "the working hours",
            Self::Crew => "how many people there are",
            Self::Skill => "how many may handle concentrate",
            Self::EmptyRoom => "the hours in which others are in its room",
            Self::OwnRoom => "the other clean-outs in its room",
            Self::Kit => "how many kit units there are",
            Self::Water => "the purified water",
            Self::Concentrate => "the concentrate there is and when more comes",
            Self::Waits => "the longest waits between phases",
        }
    }

    /// The problem with this change made for one job.
    pub(super) fn made(self, problem: &Problem, index: usize) -> Problem {
        let mut eased = problem.clone();
        match self {
            Self::Hours => {
                let span = Span {
                    from: 0,
                    to: problem.horizon,
                };
                for person in &mut eased.people {
                    person.shifts = vec![Shift {
                        span,
                        overtime: false,
                    }];
                }
            }
            Self::Crew if problem.people.is_empty() => eased.people.push(Person {
                id: String::new(),
                concentrate: true,
                shifts: vec![Shift {
                    span: Span {
                        from: 0,
                        to: problem.horizon,
                    },
                    overtime: false,
                }],
            }),
            Self::Crew => eased.people.extend(problem.people.iter().cloned()),
            Self::Skill => eased
                .people
                .iter_mut()
                .for_each(|person| person.concentrate = true),
            Self::EmptyRoom => eased.rooms[problem.jobs[index].room].occupied.clear(),
            Self::OwnRoom => {
                let own = problem.rooms[problem.jobs[index].room].clone();
                let closed = Vec::new();
                eased.rooms.push(Room { closed, ..own });
                eased.jobs[index].room = problem.rooms.len();
            }
            Self::Kit => eased.kits += 1,
            Self::Water => {
                let asked: i64 = eased.jobs.iter().map(Job::drawn).sum();
                eased.water.tank_l += asked;
                eased.water.initial_l += asked;
            }
            Self::Concentrate => {
                let asked: i64 = eased.jobs.iter().map(|job| job.dose.peroxide_ml).sum();
                let product = eased.jobs[index].dose.product;
                eased.stocks[product].initial_ml += asked;
            }
            Self::Waits => {
                let (long, job) = (problem.horizon, &mut eased.jobs[index]);
                job.waits.strip_dose = long;
                job.waits.rinse_teardown = long;
                job.waits.teardown_inspect = long;
                // A kit unit is held for the whole lag, so the lag grows by a day and no more.
                job.soak.lag += problem.day();
            }
        }
        eased
    }
}

/// What keeps a job from being in time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// It is late even with the farm to itself.
    Alone,
    /// These jobs, as they are planned, keep it from being in time; without any one of them it could be.
    Others(Vec<usize>),
    /// It could be in time where it is, but being late elsewhere costs less or a further search would find it.
    Cheaper,
}

/// Why one job is late, and what would help.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    /// Index into [`Problem::jobs`].
    pub job: usize,
    /// Slots late in the plan; none if it has no place.
    pub late: Option<Slot>,
    pub why: Why,
    /// These facts together keep it from being in time: were any one of them different, it could be. Empty if
    /// its work and soak alone take longer than the time there is.
    pub facts: Vec<Relief>,
    /// Each of these alone would let it be in time.
    pub reliefs: Vec<Relief>,
}

impl Reason {
    /// The reason in one sentence.
    #[must_use]
    pub fn words(&self, problem: &Problem) -> String {
        let id = &problem.jobs[self.job].id;
        let state = match self.late {
            Some(late) => format!("{id} is late by {late} slots"),
            None => format!("{id} has no place"),
        };
        let why = match &self.why {
            Why::Alone => "even with the farm to itself it cannot be in time".to_owned(),
            Why::Others(others) => {
                let names: Vec<&str> = others
                    .iter()
                    .map(|&job| problem.jobs[job].id.as_str())
                    .collect();
                let keep = if names.len() == 1 { "keeps" } else { "keep" };
                format!(
                    "as planned, {} {keep} it from being in time",
                    names.join(", ")
                )
            }
            Why::Cheaper => {
                return format!("{state}; a place in time is free, at the price of overtime");
            }
        };
        let facts: Vec<&str> = self.facts.iter().map(|fact| fact.fact()).collect();
        let why = match &facts[..] {
            [] => format!("{why}: its work and soak alone take longer than there is time"),
            [fact] => format!("{why} because of {fact}"),
            [first @ .., last] => {
                format!("{why} because of {} and {last} together", first.join(", "))
            }
        };
        let reliefs: Vec<&str> = self.reliefs.iter().map(|relief| relief.words()).collect();
        if reliefs.is_empty() {
            format!("{state}: {why}; no single change would do")
        } else {
            format!(
                "{state}: {why}; it could be with {}",
                reliefs.join(", or with ")
            )
        }
    }
}

/// The jobs that are late or without a place, in their order.
#[must_use]
pub fn behind(problem: &Problem, plan: &Plan) -> Vec<usize> {
    let mut late = vec![true; problem.jobs.len()];
    for placed in &plan.jobs {
        if let (Some(late), Some(job)) = (late.get_mut(placed.job), problem.jobs.get(placed.job)) {
            *late = placed.late(job) > 0;
        }
    }
    (0..late.len()).filter(|&job| late[job]).collect()
}

/// Says for each job that is late or without a place why it is, in the order of the jobs.
///
/// For one job that takes as many insertions as there are jobs, and one for each relief.
#[must_use]
pub fn explain(problem: &Problem, plan: &Plan) -> Vec<Reason> {
    let behind = behind(problem, plan).into_iter();
    behind
        .filter_map(|job| explain_one(problem, plan, job))
        .collect()
}

/// The same for one job; none where it is in time, or where there is no such job.
#[must_use]
pub fn explain_one(problem: &Problem, plan: &Plan, index: usize) -> Option<Reason> {
    let job = problem.jobs.get(index)?;
    let mut places = vec![None; problem.jobs.len()];
    for placed in &plan.jobs {
        if let Some(place) = places.get_mut(placed.job) {
            *place = Some(Placement::of(placed));
        }
    }
    let late = places[index]
        .as_ref()
        .map(|place: &Placement| (place.starts[4] + job.inspect.duration).saturating_sub(job.due));
    (late != Some(0)).then(|| reason(problem, &places, index, late))
}

fn reason(
    problem: &Problem,
    places: &[Option<Placement>],
    index: usize,
    late: Option<Slot>,
) -> Reason {
    let mut strict = problem.clone();
    let job = &mut strict.jobs[index];
    job.hard_due = job.hard_due.min(job.due);
    let (why, facts, reliefs) = match why(&strict, places, index) {
        Why::Cheaper => (Why::Cheaper, Vec::new(), Vec::new()),
        why => {
            let others: &[usize] = match &why {
                Why::Others(others) => others,
                _ => &[],
            };
            let reliefs = reliefs(&strict, places, others, index);
            let facts = facts(&strict, places, others, index, &reliefs);
            (why, facts, reliefs)
        }
    };
    Reason {
        job: index,
        late,
        why,
        facts,
        reliefs,
    }
}

/// The facts that keep a job from being in time only together: each is let go of in turn, and stays gone if
/// the rest are still enough. Once more after each round that let one go, because the insertion tries only so
/// often and what it finds with more room is not always more. For the same reason, a fact whose change alone was
/// seen to do is never let go of, whatever else is given up beside it.
fn facts(
    strict: &Problem,
    places: &[Option<Placement>],
    others: &[usize],
    index: usize,
    alone: &[Relief],
) -> Vec<Relief> {
    let in_time = |held: &[Relief]| {
        if alone.iter().any(|relief| !held.contains(relief)) {
            return true;
        }
        let mut eased = strict.clone();
        for relief in Relief::ALL.into_iter().filter(|one| !held.contains(one)) {
            eased = relief.made(&eased, index);
        }
        fits(&eased, places, others, index)
    };
    let mut kept = Relief::ALL.to_vec();
    loop {
        let before = kept.len();
        for relief in Relief::ALL {
            let rest: Vec<Relief> = kept.iter().copied().filter(|one| *one != relief).collect();
            if rest.len() < kept.len() && !in_time(&rest) {
                kept = rest;
            }
        }
        if kept.len() == before {
            return kept;
        }
    }
}

/// Whom a job that cannot be in time among the others has in its way.
fn why(strict: &Problem, places: &[Option<Placement>], index: usize) -> Why {
    let job = &strict.jobs[index];
    let Handwork { duration, .. } = job.inspect;
    if job.hard_due < duration || !fits(strict, places, &[], index) {
        return Why::Alone;
    }
    let mut others: Vec<usize> = (0..places.len())
        .filter(|&other| other != index && places[other].is_some())
        .collect();
    if fits(strict, places, &others, index) {
        return Why::Cheaper;
    }
    // Those that do not meet its window go first, all at once.
    let near: Vec<usize> = others
        .iter()
        .copied()
        .filter(|&other| meets(strict, places, index, other))
        .collect();
    if !fits(strict, places, &near, index) {
        others = near;
    }
    // Once more after each round that took some away, so that every one left has been tried with just
    // the others that are left.
    loop {
        let before = others.len();
        let mut farm = farm_of(strict, places, &others);
        let mut inserter = Inserter::default();
        others.retain(|&other| {
            let Some(place) = &places[other] else {
                return false;
            };
            farm.put(other, place, false);
            let necessary = try_in(&farm, &mut inserter, index);
            if necessary {
                farm.put(other, place, true);
            }
            necessary
        });
        if others.len() == before {
            break;
        }
    }
    Why::Others(others)
}

fn meets(problem: &Problem, places: &[Option<Placement>], index: usize, other: usize) -> bool {
    let job = &problem.jobs[index];
    places[other].as_ref().is_some_and(|place| {
        let end = place.starts[4] + problem.jobs[other].inspect.duration;
        place.starts[0] < job.due && end > job.release
    })
}

fn reliefs(
    strict: &Problem,
    places: &[Option<Placement>],
    others: &[usize],
    index: usize,
) -> Vec<Relief> {
    Relief::ALL
        .into_iter()
        .filter(|relief| fits(&relief.made(strict, index), places, others, index))
        .collect()
}

fn farm_of<'p>(problem: &'p Problem, places: &[Option<Placement>], others: &[usize]) -> Farm<'p> {
    let mut farm = Farm::empty(problem);
    for &other in others {
        if let Some(place) = &places[other] {
            farm.put(other, place, true);
        }
    }
    farm
}

pub(super) fn fits(
    problem: &Problem,
    places: &[Option<Placement>],
    others: &[usize],
    index: usize,
) -> bool {
    try_in(
        &farm_of(problem, places, others),
        &mut Inserter::default(),
        index,
    )
}

fn try_in(farm: &Farm<'_>, inserter: &mut Inserter, index: usize) -> bool {
    let mut chance = Chance::new(0);
    inserter
        .best(farm, index, i64::MAX, Taste::default(), &mut chance)
        .is_some()
}
