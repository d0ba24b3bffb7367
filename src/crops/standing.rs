//! How a system stands: from what grows in it, how far its clean-outs have come, and whether it is
//! quarantined or laid up.

use std::collections::HashSet;

use crate::ids::CleanoutId;

crate::words! {
    /// The state of a system.
    pub enum SystemState {
        Growing = "growing",
        /// It stands empty and must be cleaned out before anything is planted.
        Due = "due",
        InCleanOut = "in clean-out",
        /// Cleaned, and waiting for its release.
        Held = "held",
        /// Released, and nothing was planted since.
        Ready = "ready",
        Quarantined = "quarantined",
        LaidUp = "laid up",
    }
}

/// A clean-out of the system, as far as its standing asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Job {
    pub id: CleanoutId,
    pub reached: Reached,
}

/// How far a clean-out has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reached {
    /// Proposed, booked or issued, or called off before anything was done to the system.
    NotBegun,
    UnderWay,
    Held,
    Released,
}

/// What is known of one system.
#[derive(Clone, Copy, Debug, Default)]
pub struct Facts<'a> {
    pub quarantined: bool,
    pub laid_up: bool,
    pub growing: bool,
    /// Its clean-outs in any order.
    pub jobs: &'a [Job],
    /// The releases that a planting went on after.
    pub spent: Option<&'a HashSet<CleanoutId>>,
    /// The last release that a quarantine has voided.
    pub void_to: Option<CleanoutId>,
}

/// The state of a system. Quarantine comes before everything, for it says what not to touch.
///
/// ```
/// use slackwater::crops::standing::{Facts, Job, Reached, SystemState, system_state};
/// use slackwater::ids::CleanoutId;
/// let jobs = [Job { id: CleanoutId::from_row(41), reached: Reached::Released }];
/// let facts = Facts { jobs: &jobs, ..Facts::default() };
/// assert_eq!(system_state(&facts), SystemState::Ready);
/// assert_eq!(system_state(&Facts { growing: true, ..facts }), SystemState::Growing);
/// ```
pub fn system_state(facts: &Facts<'_>) -> SystemState {
    if facts.quarantined {
        return SystemState::Quarantined;
    }
    if facts.laid_up {
        return SystemState::LaidUp;
    }
    match last_begun(facts.jobs).map(|job| job.reached) {
        Some(Reached::UnderWay) => SystemState::InCleanOut,
        Some(Reached::Held) => SystemState::Held,
        _ if facts.growing => SystemState::Growing,
        _ if clearance(facts).is_some() => SystemState::Ready,
        _ => SystemState::Due,
    }
}

/// The release that the next planting may go on after: the last clean-out that was begun, when it
/// was released, nothing was planted on it yet, and no quarantine came after it.
pub fn clearance(facts: &Facts<'_>) -> Option<CleanoutId> {
    let last = last_begun(facts.jobs)?;
    let spent = facts.spent.is_some_and(|spent| spent.contains(&last.id));
    let void = facts.void_to.is_some_and(|void_to| last.id <= void_to);
    (last.reached == Reached::Released && !spent && !void).then_some(last.id)
}

fn last_begun(jobs: &[Job]) -> Option<&Job> {
    jobs.iter()
        .filter(|job| job.reached != Reached::NotBegun)
        .max_by_key(|job| job.id)
}

/// The release to plant on, or what is missing, in words.
pub fn may_plant(facts: &Facts<'_>) -> Result<CleanoutId, String> {
    let missing = match system_state(facts) {
        SystemState::Ready => {
            return clearance(facts).ok_or_else(|| "Its release was not found.".to_owned());
        }
        SystemState::Growing => "A crop still grows in it. Say first that it is off.",
        SystemState::Due => "It was not cleaned out and released since the last crop came off.",
        SystemState::InCleanOut => "Its clean-out is under way and not released.",
        SystemState::Held => "Its clean-out is held: it waits for its release.",
        SystemState::Quarantined => "It is quarantined. Nothing is planted until that is lifted.",
        SystemState::LaidUp => "It is laid up. Take it back into use first.",
    };
    Err(missing.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn id(n: i64) -> CleanoutId {
        CleanoutId::from_row(n)
    }

    fn job(n: i64, reached: Reached) -> Job {
        Job { id: id(n), reached }
    }

    #[track_caller]
    fn stands(jobs: &[Job], growing: bool, spent: &[i64], expect: SystemState) {
        let spent = spent.iter().map(|n| id(*n)).collect();
        let facts = Facts {
            growing,
            jobs,
            spent: Some(&spent),
            ..Facts::default()
        };
        assert_eq!(system_state(&facts), expect);
        assert_eq!(may_plant(&facts).is_ok(), expect == SystemState::Ready);
    }

    #[test]
    fn a_system_follows_its_crop_and_its_clean_out() {
        use Reached::{Held, NotBegun, Released, UnderWay};
        use SystemState::{Due, Growing, InCleanOut, Ready};
        stands(&[], false, &[], Due);
        stands(&[], true, &[], Growing);
        stands(&[job(1, NotBegun)], true, &[], Growing);
        stands(&[job(1, NotBegun)], false, &[], Due);
        stands(&[job(1, UnderWay)], false, &[], InCleanOut);
        stands(&[job(1, Held)], false, &[], SystemState::Held);
        stands(&[job(1, Released)], false, &[], Ready);
        // The next one is planned already.
        stands(&[job(1, Released), job(2, NotBegun)], false, &[], Ready);
        // The crop that went on after the release is off again.
        stands(&[job(1, Released)], false, &[1], Due);
        stands(&[job(1, Released), job(2, Released)], false, &[1], Ready);
    }

    #[test]
    fn quarantine_and_laying_up_come_first() {
        let jobs = [job(1, Reached::Released)];
        let ready = Facts {
            jobs: &jobs,
            ..Facts::default()
        };
        let laid_up = Facts {
            laid_up: true,
            ..ready
        };
        assert_eq!(system_state(&laid_up), SystemState::LaidUp);
        let both = Facts {
            quarantined: true,
            ..laid_up
        };
        assert_eq!(system_state(&both), SystemState::Quarantined);
        assert!(may_plant(&both).unwrap_err().contains("quarantined"));
        // After it is lifted, the release from before it no longer counts; a later one does.
        let lifted = Facts {
            void_to: Some(id(1)),
            ..ready
        };
        assert_eq!(system_state(&lifted), SystemState::Due);
        let jobs = [job(1, Reached::Released), job(2, Reached::Released)];
        let cleaned = Facts {
            jobs: &jobs,
            ..lifted
        };
        assert_eq!(system_state(&cleaned), SystemState::Ready);
    }
}
