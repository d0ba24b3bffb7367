//! A limit on guessing passwords: after ten wrong ones for a name, a quarter of an hour's rest.

use std::collections::HashMap;
use std::sync::Mutex;

use chrono::TimeDelta;

use crate::clock::Moment;

const ALLOWED: usize = 10;
const WITHIN: TimeDelta = TimeDelta::minutes(15);
/// Names that nobody guesses at any more are forgotten when this many are remembered.
const REMEMBERED: usize = 10_000;

#[derive(Debug, Default)]
pub struct Tries(Mutex<HashMap<String, Vec<Moment>>>);

impl Tries {
    /// Whether another try is allowed for this name.
    pub fn allowed(&self, name: &str, now: Moment) -> bool {
        let failed = self.lock();
        failed
            .get(name)
            .is_none_or(|at| at.iter().filter(|at| recent(**at, now)).count() < ALLOWED)
    }

    pub fn note_failure(&self, name: &str, now: Moment) {
        let mut failed = self.lock();
        if failed.len() >= REMEMBERED {
            failed.retain(|_, at| at.iter().any(|at| recent(*at, now)));
        }
        let of_name = failed.entry(name.to_owned()).or_default();
        of_name.retain(|at| recent(*at, now));
        of_name.push(now);
    }

    pub fn forget(&self, name: &str) {
        self.lock().remove(name);
    }

    // A panic while the lock was held cannot leave the map half changed in a way that matters.
    fn lock(&self) -> std::sync::MutexGuard<'_, HashMap<String, Vec<Moment>>> {
        self.0
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

fn recent(at: Moment, now: Moment) -> bool {
    now.since(at) < WITHIN
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_eleventh_try_has_to_wait_and_a_quarter_of_an_hour_frees_the_name() {
        let tries = Tries::default();
        let now: Moment = "2027-03-04T08:00:00Z".parse().unwrap();
        for _ in 0..10 {
            assert!(tries.allowed("ines", now));
            tries.note_failure("ines", now);
        }
        assert!(!tries.allowed("ines", now));
        assert!(tries.allowed("tobit", now));
        assert!(tries.allowed("ines", now.plus(TimeDelta::minutes(15))));
        tries.forget("ines");
        assert!(tries.allowed("ines", now));
    }
}
