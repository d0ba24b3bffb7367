//! A plan: five starts and the names for each clean-out.

use super::problem::{Job, Slot};

/// The people of one clean-out by phase, as indices into [`super::Problem::people`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Named {
    pub strip: Vec<usize>,
    pub dose: Vec<usize>,
    pub rinses: Vec<Vec<usize>>,
    pub teardown: Vec<usize>,
    pub inspect: Vec<usize>,
}

/// One clean-out with its times and its people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlacedJob {
    /// Index into [`super::Problem::jobs`].
    pub job: usize,
    pub strip: Slot,
    pub dose: Slot,
    /// The start of the first rinse.
    pub rinse: Slot,
    pub teardown: Slot,
    pub inspect: Slot,
    pub people: Named,
}

impl PlacedJob {
    /// The starts in the order of work: strip, dose, first rinse, teardown, inspect.
    #[must_use]
    pub fn starts(&self) -> [Slot; 5] {
        let Self {
            strip, dose, rinse, ..
        } = *self;
        [strip, dose, rinse, self.teardown, self.inspect]
    }

    /// The end of refit and check.
    #[must_use]
    pub fn end(&self, job: &Job) -> Slot {
        self.inspect + job.inspect.duration
    }

    /// Slots from the next planting to the end; 0 if it is in time.
    #[must_use]
    pub fn late(&self, job: &Job) -> Slot {
        self.end(job).saturating_sub(job.due)
    }
}

/// What is placed and what is not; in the order of the problem's jobs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Plan {
    pub jobs: Vec<PlacedJob>,
    /// Indices of the jobs for which there is no place.
    pub unplaced: Vec<usize>,
}

/// Where one job stands while a plan is being made: five starts and everybody in the order of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Placement {
    pub starts: [Slot; 5],
    /// Strip, dose, one for each rinse, teardown, inspect.
    pub crew: Vec<u16>,
    pub cost: i64,
}

impl Placement {
    pub fn of(placed: &PlacedJob) -> Self {
        let people = &placed.people;
        let everybody = people
            .strip
            .iter()
            .chain(&people.dose)
            .chain(people.rinses.iter().flatten());
        Self {
            starts: placed.starts(),
            crew: everybody
                .chain(&people.teardown)
                .chain(&people.inspect)
                .map(|&person| u16::try_from(person).unwrap_or(u16::MAX))
                .collect(),
            cost: 0,
        }
    }

    pub fn placed(&self, index: usize, job: &Job) -> PlacedJob {
        let mut rest = self.crew.iter().map(|&person| usize::from(person));
        let mut take = |count: usize| rest.by_ref().take(count).collect::<Vec<_>>();
        let [strip, dose, rinse, teardown, inspect] = self.starts;
        PlacedJob {
            job: index,
            strip,
            dose,
            rinse,
            teardown,
            inspect,
            people: Named {
                strip: take(job.strip.people),
                dose: take(job.dose.people),
                rinses: job.rinses.iter().map(|_| take(1)).collect(),
                teardown: take(job.teardown.people),
                inspect: take(job.inspect.people),
            },
        }
    }
}

/// Puts placements in the problem's order into a plan.
pub(super) fn gather(jobs: &[Job], at: &[Option<Placement>]) -> Plan {
    let mut plan = Plan::default();
    for (index, (job, place)) in jobs.iter().zip(at).enumerate() {
        match place {
            Some(place) => plan.jobs.push(place.placed(index, job)),
            None => plan.unplaced.push(index),
        }
    }
    plan
}
