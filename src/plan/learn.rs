//! How long the phases of a clean-out really take: the median of what the last jobs took, where there
//! are enough of them, else the method's own figure.

use std::cmp::Reverse;

use chrono::TimeDelta;

use crate::clock::Moment;
use crate::ids::{CleanoutId, MethodId, SystemId};
use crate::methods::{Contents, Phase};
use crate::science::stored::Minutes;

/// Something that was entered while a clean-out was carried out, one that was released in the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entered {
    pub cleanout: CleanoutId,
    pub system: SystemId,
    pub method: MethodId,
    pub phase: Phase,
    pub at: Moment,
}

/// A clean-out that was carried out, and the minutes of its phases.
#[derive(Clone, Debug)]
struct Job {
    cleanout: CleanoutId,
    system: SystemId,
    method: MethodId,
    phases: Vec<(Phase, i64)>,
}

/// What clean-outs took that were carried out, the newest first.
#[derive(Clone, Debug, Default)]
pub struct Done(Vec<Job>);

impl Done {
    pub fn of(mut entered: Vec<Entered>) -> Self {
        entered.sort_by_key(|entry| (entry.cleanout, entry.at));
        let each = entered.chunk_by(|one, next| one.cleanout == next.cleanout);
        let jobs = each.filter_map(|entered| {
            let first = entered.first()?;
            Some(Job {
                cleanout: first.cleanout,
                system: first.system,
                method: first.method,
                phases: phases_of(entered),
            })
        });
        let mut jobs: Vec<Job> = jobs.collect();
        jobs.sort_unstable_by_key(|job| Reverse(job.cleanout));
        Self(jobs)
    }
}

/// As many jobs count at most, the last ones.
pub const LAST: usize = 5;
/// Fewer jobs do not tell what is usual.
pub const ENOUGH: usize = 3;
/// Between two entries of one phase nobody was at it for longer than this: a night, another job.
const BREAK: TimeDelta = TimeDelta::hours(3);
/// Ticks that were set together at the end of a job say nothing of how long it took.
const LEAST_MIN: i64 = 5;

/// Where the lengths come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// From so many jobs of this system.
    System(usize),
    /// From so many jobs by this method.
    Method(usize),
    /// What the method says.
    Written,
}

/// The minutes of the eight phases.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lengths {
    minutes: Vec<(Phase, i64)>,
    pub known: Known,
}

impl Lengths {
    pub fn of(&self, phase: Phase) -> i64 {
        let found = self.minutes.iter().find(|(of, _)| *of == phase);
        found.map_or(0, |(_, minutes)| *minutes)
    }

    /// Everything together.
    pub fn total(&self) -> i64 {
        self.minutes.iter().map(|(_, minutes)| minutes).sum()
    }

    /// With so many rinses. What was learnt has its rinses in it; what the method writes counts its
    /// own number, and each one more takes as long as the method asks at least.
    pub fn with_rinses(mut self, rinses: i64, contents: &Contents) -> Self {
        let more = (rinses - contents.rinses_at_least).max(0);
        if self.known == Known::Written {
            for (phase, minutes) in &mut self.minutes {
                if *phase == Phase::Rinse {
                    *minutes += more * contents.rinse_from.get();
                }
            }
        }
        self
    }

    /// For a clean-out of this system by this method.
    ///
    /// A phase is never shorter than five minutes, and the soak never shorter than the method asks.
    pub fn expected(done: &Done, system: SystemId, method: MethodId, contents: &Contents) -> Self {
        let by_method = || done.0.iter().filter(|job| job.method == method);
        let own = by_method().filter(|job| job.system == system);
        let own: Vec<&Job> = own.take(LAST).collect();
        let (jobs, known) = if own.len() >= ENOUGH {
            let known = Known::System(own.len());
            (own, known)
        } else {
            let all: Vec<&Job> = by_method().take(LAST).collect();
            let known = Known::Method(all.len());
            (all, known)
        };
        let learnt = jobs.len() >= ENOUGH;
        let minutes = Phase::ALL.iter().map(|&phase| {
            let written = contents.minutes_of(phase).map_or(0, Minutes::get);
            let seen = jobs.iter().filter_map(|job| {
                job.phases
                    .iter()
                    .find(|(of, _)| *of == phase)
                    .map(|(_, minutes)| *minutes)
            });
            let mut seen: Vec<i64> = seen.collect();
            let minutes = match median(&mut seen) {
                Some(minutes) if learnt && seen.len() >= ENOUGH => minutes.max(LEAST_MIN),
                _ => written,
            };
            let least = if phase == Phase::Soak {
                contents.soak.get()
            } else {
                0
            };
            (phase, minutes.max(least))
        });
        Self {
            minutes: minutes.collect(),
            known: if learnt { known } else { Known::Written },
        }
    }
}

/// What lies before an entry belongs to the entry's phase, but for a break in which nobody was at it.
/// The soak has no break: it goes on by itself.
fn phases_of(entered: &[Entered]) -> Vec<(Phase, i64)> {
    let mut phases: Vec<(Phase, TimeDelta)> = Vec::new();
    for two in entered.windows(2) {
        let [before, entry] = two else { continue };
        let took = entry.at.since(before.at);
        if took > BREAK && entry.phase != Phase::Soak {
            continue;
        }
        match phases.iter_mut().find(|(phase, _)| *phase == entry.phase) {
            Some((_, sum)) => *sum += took,
            None => phases.push((entry.phase, took)),
        }
    }
    phases
        .into_iter()
        .map(|(phase, took)| (phase, (took.num_seconds() + 59) / 60))
        .collect()
}

/// The middle one; of an even number the greater of the two in the middle, since too short a plan is
/// worse than too long a one.
fn median(values: &mut [i64]) -> Option<i64> {
    values.sort_unstable();
    values.get(values.len() / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::methods::builtin;

    fn id(n: i64) -> CleanoutId {
        CleanoutId::from_row(n)
    }

    /// A job that washed for so many minutes, over a night after the strip.
    fn job(n: i64, system: i64, wash_min: i64) -> Vec<Entered> {
        let begins: Moment = "2027-03-01T08:00:00Z".parse().unwrap();
        let entry = |phase, hours: i64, minutes: i64| Entered {
            cleanout: id(n),
            system: SystemId::from_row(system),
            method: MethodId::from_row(1),
            phase,
            at: begins.plus(TimeDelta::minutes(hours * 60 + minutes)),
        };
        vec![
            entry(Phase::Strip, 0, 0),
            entry(Phase::Strip, 0, 30),
            // The next morning.
            entry(Phase::Wash, 24, 0),
            entry(Phase::Wash, 24, wash_min),
            entry(Phase::Dose, 25, wash_min),
            entry(Phase::Soak, 30, wash_min),
        ]
    }

    fn expected(jobs: &[Entered], system: i64) -> Lengths {
        let contents = builtin::contents().unwrap();
        Lengths::expected(
            &Done::of(jobs.to_vec()),
            SystemId::from_row(system),
            MethodId::from_row(1),
            &contents,
        )
    }

    #[test]
    fn without_enough_jobs_the_method_is_believed() {
        let contents = builtin::contents().unwrap();
        let two: Vec<Entered> = [job(1, 1, 20), job(2, 1, 40)].concat();
        let lengths = expected(&two, 1);
        assert_eq!(lengths.known, Known::Written);
        for (phase, minutes) in &contents.phases {
            assert_eq!(lengths.of(*phase), minutes.get(), "{phase}");
        }
        assert_eq!(lengths.total(), contents.length().unwrap().get());
    }

    #[test]
    fn the_median_of_the_last_five_counts_and_a_night_does_not() {
        let minutes = [10, 90, 20, 30, 40, 50];
        let jobs: Vec<Entered> = (1..)
            .zip(minutes)
            .flat_map(|(n, min)| job(n, 1, min))
            .collect();
        let lengths = expected(&jobs, 1);
        // Of 90, 20, 30, 40, 50; the first job is too long ago.
        assert_eq!(lengths.known, Known::System(5));
        assert_eq!(lengths.of(Phase::Wash), 40);
        assert_eq!(lengths.of(Phase::Strip), 30);
        assert_eq!(lengths.of(Phase::Dose), 60);
        // Longer than the method asks: that is what it took.
        assert_eq!(lengths.of(Phase::Soak), 300);
        // Nothing was entered for it.
        assert_eq!(lengths.of(Phase::Check), 25);
        // Another system by the same method learns from all of them.
        assert_eq!(expected(&jobs, 2).known, Known::Method(5));
    }

    #[test]
    fn the_soak_is_never_planned_shorter_than_the_method_asks() {
        let mut jobs: Vec<Entered> = (1..=5).flat_map(|n| job(n, 1, 20)).collect();
        for entry in jobs.iter_mut().filter(|entry| entry.phase == Phase::Soak) {
            entry.at = entry.at.plus(TimeDelta::hours(-4));
        }
        assert_eq!(expected(&jobs, 1).of(Phase::Soak), 180);
    }
}
