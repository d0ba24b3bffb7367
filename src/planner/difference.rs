//! What changed from one plan to another, job by job and person by person.

use super::plan::{PlacedJob, Plan};
use super::problem::{Problem, Slot};

/// A phase of a clean-out that has people of its own; rinses count from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    Strip,
    Dose,
    Rinse(usize),
    Teardown,
    /// Refit and check.
    Inspect,
}

/// One phase as it stands in a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhasePlan<'a> {
    pub phase: Phase,
    pub start: Slot,
    /// The slots for which its people are needed.
    pub hands_on: Slot,
    /// Indices into [`Problem::people`].
    pub people: &'a [usize],
}

/// The phases of a placed job in the order of work. Empty if the problem does not know the job.
#[must_use]
pub fn phases<'a>(problem: &Problem, placed: &'a PlacedJob) -> Vec<PhasePlan<'a>> {
    let Some(job) = problem.jobs.get(placed.job) else {
        return Vec::new();
    };
    let named = &placed.people;
    let phase = |phase, start, hands_on, people| PhasePlan {
        phase,
        start,
        hands_on,
        people,
    };
    let mut phases = vec![
        phase(
            Phase::Strip,
            placed.strip,
            job.strip.duration,
            &named.strip[..],
        ),
        phase(Phase::Dose, placed.dose, job.dose.duration, &named.dose[..]),
    ];
    let mut start = placed.rinse;
    for (index, (rinse, people)) in job.rinses.iter().zip(&named.rinses).enumerate() {
        phases.push(phase(Phase::Rinse(index), start, rinse.hands_on, people));
        start += rinse.duration;
    }
    let teardown = job.teardown.duration;
    phases.push(phase(
        Phase::Teardown,
        placed.teardown,
        teardown,
        &named.teardown,
    ));
    let inspect = job.inspect.duration;
    phases.push(phase(
        Phase::Inspect,
        placed.inspect,
        inspect,
        &named.inspect,
    ));
    phases
}

/// A phase that starts at another time or has other people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhaseChange {
    pub phase: Phase,
    pub before: Slot,
    pub now: Slot,
    pub other_day: bool,
    /// People who are no longer needed there.
    pub left: Vec<usize>,
    /// People who are new there.
    pub joined: Vec<usize>,
}

/// What happened to one job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// It had no place before.
    Placed,
    /// It has no place any more.
    Lost,
    /// These phases changed.
    Moved(Vec<PhaseChange>),
}

/// One job that changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobChange {
    /// Index into [`Problem::jobs`].
    pub job: usize,
    pub what: What,
    /// Slots late before and now; none where it has no place.
    pub late_before: Option<Slot>,
    pub late_now: Option<Slot>,
}

impl JobChange {
    /// Whether it had a place and has one, and any of its phases is on another day.
    #[must_use]
    pub fn other_day(&self) -> bool {
        matches!(&self.what, What::Moved(phases) if phases.iter().any(|phase| phase.other_day))
    }
}

/// One task that a person gained or lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Duty {
    pub from: Slot,
    pub to: Slot,
    pub job: usize,
    pub phase: Phase,
}

/// What changed for one person: a task at another time is lost at the old one and gained at the new.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonChange {
    /// Index into [`Problem::people`].
    pub person: usize,
    pub lost: Vec<Duty>,
    pub gained: Vec<Duty>,
}

/// Everything that changed, jobs and people in their order; empty if nothing did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Difference {
    pub jobs: Vec<JobChange>,
    pub people: Vec<PersonChange>,
}

impl Difference {
    /// How many jobs that had a place and have one have a phase on another day.
    #[must_use]
    pub fn on_another_day(&self) -> usize {
        self.jobs.iter().filter(|job| job.other_day()).count()
    }
}

/// Compares two plans of one problem. Time is linear in the jobs and tasks of both.
///
/// A plan of another problem is brought over with [`carried`] first.
#[must_use]
pub fn difference(problem: &Problem, before: &Plan, now: &Plan) -> Difference {
    let by_job = |plan: &'_ Plan| {
        let mut at = vec![None; problem.jobs.len()];
        for (index, placed) in plan.jobs.iter().enumerate() {
            if let Some(found) = at.get_mut(placed.job) {
                *found = Some(index);
            }
        }
        at
    };
    let (old_at, new_at) = (by_job(before), by_job(now));
    let mut found = Difference::default();
    let mut lost = vec![Vec::new(); problem.people.len()];
    let mut gained = lost.clone();
    for job in 0..problem.jobs.len() {
        let old = old_at[job].map(|index| &before.jobs[index]);
        let new = new_at[job].map(|index| &now.jobs[index]);
        if old == new {
            continue;
        }
        let late = |placed: &PlacedJob| placed.late(&problem.jobs[job]);
        let what = match (old, new) {
            (Some(old), Some(new)) => What::Moved(changes(problem, old, new)),
            (None, _) => What::Placed,
            (_, None) => What::Lost,
        };
        found.jobs.push(JobChange {
            job,
            what,
            late_before: old.map(late),
            late_now: new.map(late),
        });
        duties(problem, old, &mut lost);
        duties(problem, new, &mut gained);
    }
    for (person, (mut lost, mut gained)) in lost.into_iter().zip(gained).enumerate() {
        let kept: Vec<Duty> = lost
            .iter()
            .copied()
            .filter(|duty| gained.contains(duty))
            .collect();
        lost.retain(|duty| !kept.contains(duty));
        gained.retain(|duty| !kept.contains(duty));
        lost.sort_unstable();
        gained.sort_unstable();
        if !lost.is_empty() || !gained.is_empty() {
            found.people.push(PersonChange {
                person,
                lost,
                gained,
            });
        }
    }
    found
}

fn changes(problem: &Problem, old: &PlacedJob, new: &PlacedJob) -> Vec<PhaseChange> {
    phases(problem, old)
        .into_iter()
        .zip(phases(problem, new))
        .map(|(old, new)| {
            let gone = |from: &[usize], to: &[usize]| {
                let missing = from.iter().filter(|person| !to.contains(person));
                missing.copied().collect::<Vec<_>>()
            };
            PhaseChange {
                phase: old.phase,
                before: old.start,
                now: new.start,
                other_day: problem.day_of(old.start) != problem.day_of(new.start),
                left: gone(old.people, new.people),
                joined: gone(new.people, old.people),
            }
        })
        .filter(|change| {
            change.before != change.now || !change.left.is_empty() || !change.joined.is_empty()
        })
        .collect()
}

fn duties(problem: &Problem, placed: Option<&PlacedJob>, by_person: &mut [Vec<Duty>]) {
    let Some(placed) = placed else {
        return;
    };
    for phase in phases(problem, placed) {
        for &person in phase.people {
            if let Some(duties) = by_person.get_mut(person) {
                duties.push(Duty {
                    from: phase.start,
                    to: phase.start + phase.hands_on,
                    job: placed.job,
                    phase: phase.phase,
                });
            }
        }
    }
}

/// A plan of one problem in the terms of another: jobs and people are found again by their ids.
///
/// Jobs that the other problem does not have are left out, its new jobs have no place, and a person it does
/// not have is named as one who does not exist, so that [`super::replan`] gives the job new people or a new
/// place.
#[must_use]
pub fn carried(plan: &Plan, from: &Problem, to: &Problem) -> Plan {
    use std::collections::HashMap;
    let jobs: HashMap<&str, usize> = (0..)
        .zip(&to.jobs)
        .map(|(index, job)| (&*job.id, index))
        .collect();
    let people: HashMap<&str, usize> = (0..)
        .zip(&to.people)
        .map(|(index, one)| (&*one.id, index))
        .collect();
    let person = |index: &usize| {
        let one = from.people.get(*index);
        one.and_then(|one| people.get(&*one.id))
            .copied()
            .unwrap_or(usize::MAX)
    };
    let team = |team: &Vec<usize>| team.iter().map(person).collect::<Vec<_>>();
    let mut carried = Plan::default();
    let mut placed_already = vec![false; to.jobs.len()];
    for placed in &plan.jobs {
        let job = from.jobs.get(placed.job).and_then(|job| jobs.get(&*job.id));
        if let Some(&job) = job {
            placed_already[job] = true;
            let named = &placed.people;
            carried.jobs.push(PlacedJob {
                job,
                people: super::plan::Named {
                    strip: team(&named.strip),
                    dose: team(&named.dose),
                    rinses: named.rinses.iter().map(team).collect(),
                    teardown: team(&named.teardown),
                    inspect: team(&named.inspect),
                },
                ..*placed
            });
        }
    }
    carried.jobs.sort_by_key(|placed| placed.job);
    carried.unplaced = (0..to.jobs.len())
        .filter(|&job| !placed_already[job])
        .collect();
    carried
}
