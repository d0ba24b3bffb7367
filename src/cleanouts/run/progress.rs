//! How far a run has come: which steps are done, which is next, and what has to come first.

use super::measured::counting;
use super::{Record, StepEntry, What};
use crate::cleanouts::card::{FrozenMethod, FrozenStep, Marks, Phase, ReadingKind, StepKind};
use crate::clock::Moment;
use crate::science::stored::Minutes;

/// How a step stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    Open,
    /// Begun and not ended; of pours, that somebody has put the protection on.
    Going {
        since: Moment,
    },
    Done {
        at: Moment,
    },
}

impl Standing {
    pub fn is_done(self) -> bool {
        matches!(self, Self::Done { .. })
    }
}

/// From a beginning to its end.
#[derive(Clone, Copy, Debug)]
pub struct Stretch<'a> {
    pub begun: &'a StepEntry,
    pub ended: &'a StepEntry,
}

impl Stretch<'_> {
    pub fn minutes(&self) -> i64 {
        self.ended.at.since(self.begun.at).num_minutes()
    }
}

/// How a phase stands in the course of eight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PhaseStanding {
    Done,
    Here,
    Ahead,
}

/// A run as far as it has come.
#[derive(Clone, Copy, Debug)]
pub struct Progress<'a> {
    pub method: &'a FrozenMethod,
    pub record: &'a Record,
    /// Whether the dose sheet asks for another pour.
    pub more_to_pour: bool,
}

impl<'a> Progress<'a> {
    fn entries_of(
        &self,
        step: &FrozenStep,
    ) -> impl DoubleEndedIterator<Item = &'a StepEntry> + use<'a> {
        let no = step.no;
        self.record
            .entries
            .iter()
            .filter(move |entry| entry.step_no == no)
    }

    /// How often it was ticked or begun: what a form has seen when it is sent.
    pub fn times(&self, step: &FrozenStep) -> usize {
        self.entries_of(step)
            .filter(|entry| matches!(entry.what, What::Done | What::Begun))
            .count()
    }

    /// The beginnings that were followed by an end.
    pub fn stretches(&self, step: &FrozenStep) -> Vec<Stretch<'a>> {
        let mut begun = None;
        let mut stretches = Vec::new();
        for entry in self.entries_of(step) {
            match (entry.what, begun) {
                (What::Begun, _) => begun = Some(entry),
                (What::Ended, Some(begun_by)) => {
                    stretches.push(Stretch {
                        begun: begun_by,
                        ended: entry,
                    });
                    begun = None;
                }
                _ => {}
            }
        }
        stretches
    }

    pub fn standing(&self, step: &FrozenStep) -> Standing {
        match step.kind {
            StepKind::Tick => match self.entries_of(step).next_back() {
                Some(entry) if entry.what == What::Done => Standing::Done { at: entry.at },
                _ => Standing::Open,
            },
            StepKind::Timed => match self.entries_of(step).next_back() {
                Some(entry) if entry.what == What::Ended => Standing::Done { at: entry.at },
                Some(entry) => Standing::Going { since: entry.at },
                None => Standing::Open,
            },
            StepKind::Reading => self.standing_of_reading(step),
            StepKind::Pours => self.standing_of_pours(step),
        }
    }

    fn standing_of_pours(&self, step: &FrozenStep) -> Standing {
        let last = self.record.pours.last().map(|pour| pour.at);
        if let Some(stopped) = self.stopped(step) {
            return Standing::Done { at: stopped.at };
        }
        match (last, self.more_to_pour) {
            (Some(at), false) => Standing::Done { at },
            _ => match self.entries_of(step).next_back() {
                Some(entry) => Standing::Going { since: entry.at },
                None => Standing::Open,
            },
        }
    }

    /// The lead's word that no more is poured, unless something was poured after it.
    pub fn stopped(&self, step: &FrozenStep) -> Option<&'a StepEntry> {
        let last = self.record.pours.last().map(|pour| pour.at);
        self.entries_of(step)
            .rfind(|entry| entry.what == What::Ended)
            .filter(|entry| last.is_none_or(|last| last <= entry.at))
    }

    /// A reading counts for its step until the water is changed: a rinse or a fresh fill that stands
    /// before it in the method asks for a new one.
    fn standing_of_reading(&self, step: &FrozenStep) -> Standing {
        let newest = counting(&self.record.readings)
            .into_iter()
            .rfind(|(_, reading)| reading.step_no == Some(step.no));
        let changed = self
            .marked(&[Marks::Rinse, Marks::FreshFill])
            .filter(|earlier| earlier.no < step.no)
            .filter_map(|earlier| self.entries_of(earlier).next_back())
            .map(|entry| entry.at)
            .max();
        match newest {
            Some((at, _)) if changed.is_none_or(|changed| at >= changed) => Standing::Done { at },
            _ => Standing::Open,
        }
    }

    pub fn is_done(&self, step: &FrozenStep) -> bool {
        self.standing(step).is_done()
    }

    pub fn marked(&self, marks: &'a [Marks]) -> impl Iterator<Item = &'a FrozenStep> + use<'a> {
        self.method
            .steps
            .iter()
            .filter(move |step| marks.contains(&step.marks))
    }

    /// The steps that are not done, in their order.
    pub fn open(&self) -> impl Iterator<Item = &'a FrozenStep> {
        self.method.steps.iter().filter(|step| !self.is_done(step))
    }

    /// The step to show first: the first that is not done.
    pub fn next(&self) -> Option<&'a FrozenStep> {
        self.open().next()
    }

    /// The rinses that count: long enough, and begun after the soak was over.
    pub fn rinses(&self) -> i64 {
        let from = self.soak_over();
        let mut rinses = 0;
        for step in self.marked(&[Marks::Rinse]) {
            let counts = |at: Moment| from.is_none_or(|from| at >= from);
            rinses += match step.kind {
                StepKind::Timed => {
                    let least = step.minutes.map_or(0, Minutes::get);
                    self.stretches(step)
                        .iter()
                        .filter(|stretch| counts(stretch.begun.at) && stretch.minutes() >= least)
                        .count() as i64
                }
                _ => {
                    let of = |what| {
                        self.entries_of(step)
                            .filter(|entry| counts(entry.at) && entry.what == what)
                            .count() as i64
                    };
                    (of(What::Done) - of(What::Undone)).max(0)
                }
            };
        }
        rinses
    }

    /// When the last soak was ended.
    pub fn soak_over(&self) -> Option<Moment> {
        self.marked(&[Marks::Soak])
            .filter_map(|step| {
                self.entries_of(step)
                    .rfind(|entry| matches!(entry.what, What::Ended | What::Done))
            })
            .map(|entry| entry.at)
            .max()
    }

    /// When water was last put in or let out: a reading from before it says nothing about the water
    /// that is in now. pH, EC and temperature are those of the fresh fill; peroxide may be read in
    /// the last rinse.
    pub fn changed_for(&self, kind: ReadingKind) -> Option<Moment> {
        let marks: &[Marks] = match kind {
            ReadingKind::Peroxide => &[Marks::Soak, Marks::Rinse],
            _ => &[Marks::Soak, Marks::Rinse, Marks::FreshFill],
        };
        let steps = self
            .marked(marks)
            .filter_map(|step| self.entries_of(step).next_back());
        let poured = self.record.pours.last().map(|pour| pour.at);
        steps.map(|entry| entry.at).chain(poured).max()
    }

    /// What has to be done before a step, in the order of the method; empty when nothing has.
    ///
    /// Within a phase the order is free. Concentrate goes only into a clean system with its riser on
    /// and its water in; the soak begins with the whole dose in; it is rinsed when the soak is over;
    /// and nobody opens a pump or a tube before the rinses.
    pub fn first_before(&self, step: &FrozenStep) -> Vec<&'a FrozenStep> {
        let before = |earlier: &FrozenStep| match step.phase {
            // What goes into the water or out of it keeps its order, so that a rinse lies between.
            Phase::Strip | Phase::Wash => {
                step.changes_water() && earlier.changes_water() && earlier.no < step.no
            }
            Phase::Dose => {
                step.kind == StepKind::Pours
                    && (earlier.phase < Phase::Dose
                        || (earlier.phase == Phase::Dose && earlier.no < step.no)
                        || earlier.marks == Marks::RiserOn)
            }
            Phase::Soak => earlier.phase == Phase::Dose || earlier.marks == Marks::RiserOn,
            Phase::Rinse => earlier.marks == Marks::Soak,
            Phase::Teardown | Phase::Refit | Phase::Check => {
                earlier.marks == Marks::Soak
                    || (earlier.marks == Marks::Rinse
                        && self.rinses() < self.method.rinses_at_least)
            }
        };
        self.method
            .steps
            .iter()
            .filter(|earlier| earlier.no != step.no && before(earlier) && !self.is_done(earlier))
            .collect()
    }

    /// The eight phases, seen from a step.
    pub fn course(&self, here: &FrozenStep) -> Vec<(Phase, PhaseStanding)> {
        Phase::ALL
            .iter()
            .map(|phase| {
                let mut steps = self
                    .method
                    .steps
                    .iter()
                    .filter(|step| step.phase == *phase)
                    .peekable();
                let standing = if *phase == here.phase {
                    PhaseStanding::Here
                } else if steps.peek().is_some() && steps.all(|step| self.is_done(step)) {
                    PhaseStanding::Done
                } else {
                    PhaseStanding::Ahead
                };
                (*phase, standing)
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cleanouts::run::fixture::*;

    /// The numbers of what has to come first.
    fn first(record: &Record, more_to_pour: bool, no: i64) -> Vec<i64> {
        let method = method();
        let progress = Progress {
            method: &method,
            record,
            more_to_pour,
        };
        let step = method.steps.iter().find(|step| step.no == no).unwrap();
        progress
            .first_before(step)
            .iter()
            .map(|step| step.no)
            .collect()
    }

    fn next(record: &Record, more_to_pour: bool) -> Option<i64> {
        let method = method();
        Progress {
            method: &method,
            record,
            more_to_pour,
        }
        .next()
        .map(|step| step.no)
    }

    #[test]
    fn a_run_goes_step_by_step_to_its_end() {
        let whole = whole_run();
        assert_eq!(next(&Record::default(), true), Some(1));
        assert_eq!(next(&whole, false), None);
        let method = method();
        for step in &method.steps {
            assert!(first(&whole, false, step.no).is_empty(), "{}", step.no);
        }
        let progress = Progress {
            method: &method,
            record: &whole,
            more_to_pour: false,
        };
        assert_eq!(progress.rinses(), 2);
        assert_eq!(progress.soak_over(), Some(at("12:30")));
        assert_eq!(progress.stretches(&method.steps[5])[0].minutes(), 180);
    }

    #[test]
    fn nothing_is_poured_before_it_is_clean_with_the_riser_on_and_the_water_in() {
        let mut record = Record::default();
        assert_eq!(first(&record, true, 5), [1, 2, 3, 4]);
        for no in 1..=4 {
            record.enter(no, What::Done, "08:00");
        }
        assert!(first(&record, true, 5).is_empty());
        record.enter(3, What::Undone, "08:10");
        assert_eq!(first(&record, true, 5), [3]);
    }

    #[test]
    fn soak_rinse_and_teardown_wait_for_what_they_need() {
        let mut record = Record::default();
        assert_eq!(first(&record, true, 6), [3, 4, 5]);
        assert_eq!(first(&record, true, 7), [6]);
        assert_eq!(first(&record, true, 9), [6]);
        assert_eq!(first(&record, true, 10), [6, 7, 8]);
        record.enter(6, What::Begun, "09:30");
        assert_eq!(first(&record, true, 7), [6], "the soak is not over");
        record.enter(6, What::Ended, "12:30");
        assert!(first(&record, true, 7).is_empty());
        // One step can carry both rinses.
        for (from, to) in [("12:40", "13:10"), ("13:20", "13:50")] {
            record.enter(7, What::Begun, from);
            assert!(!first(&record, true, 10).is_empty());
            record.enter(7, What::Ended, to);
        }
        assert!(first(&record, true, 10).is_empty());
    }

    #[test]
    fn within_a_phase_the_order_is_free() {
        let record = Record::default();
        for no in [1, 2, 3, 4] {
            assert!(first(&record, true, no).is_empty(), "{no}");
        }
    }

    #[test]
    fn another_rinse_asks_for_another_reading() {
        let mut record = whole_run();
        record.enter(8, What::Begun, "15:00");
        record.enter(8, What::Ended, "15:30");
        assert_eq!(next(&record, false), Some(9));
        record.read(9, ReadingKind::Peroxide, 1000, "15:31");
        // pH was read in water that is gone.
        assert_eq!(next(&record, false), Some(13));
    }

    #[test]
    fn a_rinse_that_is_too_short_or_before_the_soak_is_over_does_not_count() {
        let mut record = whole_run();
        record.entries.retain(|entry| entry.step_no != 8);
        let method = method();
        let rinses = |record: &Record| {
            Progress {
                method: &method,
                record,
                more_to_pour: false,
            }
            .rinses()
        };
        assert_eq!(rinses(&record), 1);
        record.enter(8, What::Begun, "14:00");
        record.enter(8, What::Ended, "14:29");
        assert_eq!(rinses(&record), 1);
        // A second soak begins the count anew.
        record.enter(6, What::Begun, "15:00");
        record.enter(6, What::Ended, "18:00");
        assert_eq!(rinses(&record), 0);
    }

    #[test]
    fn pours_are_done_when_no_more_is_asked_or_a_lead_stops_them() {
        let mut record = whole_run();
        record.entries.retain(|entry| entry.step_no == 5);
        let method = method();
        let standing = |record: &Record, more| {
            Progress {
                method: &method,
                record,
                more_to_pour: more,
            }
            .standing(&method.steps[4])
        };
        assert_eq!(
            standing(&record, true),
            Standing::Going { since: at("09:00") }
        );
        assert_eq!(standing(&record, false), Standing::Done { at: at("09:10") });
        record.enter(5, What::Ended, "09:20");
        assert_eq!(standing(&record, true), Standing::Done { at: at("09:20") });
        record.pour(500, "09:40");
        assert!(!standing(&record, true).is_done(), "somebody poured on");
    }

    #[test]
    fn the_course_shows_eight_phases() {
        let record = whole_run();
        let method = method();
        let progress = Progress {
            method: &method,
            record: &record,
            more_to_pour: false,
        };
        let course = progress.course(&method.steps[8]);
        assert_eq!(course.len(), 8);
        assert_eq!(course[4], (Phase::Rinse, PhaseStanding::Here));
        assert!(
            course
                .iter()
                .filter(|(_, standing)| *standing == PhaseStanding::Done)
                .count()
                == 7
        );
    }
}
