//! Long questions to the planner: answered one at a time, off the threads that answer requests, for as long
//! as somebody looks.
//!
//! A request puts its question and goes on; a page looks how far the answer is. Whoever asks what is asked
//! already shares the answer. What nobody looks at any more is given up. Nothing of it is a record: after
//! a restart it is asked again.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use chrono::TimeDelta;

use crate::clock::{Clock, Moment};
use crate::planner::{
    self, Checked, Earlier, Effort, Keep, Plan, Problem, Reason, STEPS_A_LOOK, Suggestion,
};

/// A question is given up when nobody has looked at it for so long.
pub const PATIENCE: TimeDelta = TimeDelta::seconds(20);
/// So many wait at most.
const MOST_WAITING: usize = 4;
/// So many that are over are remembered.
const MOST_OVER: usize = 6;

/// What is to be found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A better plan, after at most so many steps.
    Better { steps: u64 },
    /// Why jobs of the plan are late or without a place. For the first `helped` of them each change that
    /// would help is planned with, `tries` at most.
    Why { helped: usize, tries: usize },
}

/// A question, whole: the same question has the same answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    pub problem: Problem,
    /// The plan to begin with, or to give reasons for; with nothing in it a search begins afresh.
    pub plan: Plan,
    pub keep: Keep,
    pub pinned: Vec<usize>,
    pub what: What,
}

/// Why one job is late, and what would help.
#[derive(Clone, Debug)]
pub struct Found {
    pub reason: Reason,
    /// None where changes were not planned with.
    pub helps: Option<Vec<Suggestion>>,
}

/// How a question stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// So many are answered before it.
    Waits(usize),
    UnderWay,
    Answered,
    /// Somebody stopped it: what was found by then stays.
    Stopped,
    /// Nobody looked any more.
    Left,
    /// The planner made a plan that breaks a rule, or broke down.
    Failed,
}

impl Stands {
    /// Whether there is more to come.
    pub fn goes_on(self) -> bool {
        matches!(self, Self::Waits(_) | Self::UnderWay)
    }
}

/// A look at a question.
#[derive(Clone, Debug)]
pub struct Seen {
    pub question: Arc<Question>,
    pub stands: Stands,
    /// Steps done, or jobs explained, and of how many.
    pub done: u64,
    pub of: u64,
    /// The best plan so far.
    pub best: Option<Checked>,
    /// The reasons so far.
    pub found: Vec<Found>,
}

/// Too many questions wait.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "Others have asked the planner so much that it answers no more questions now. Ask again in a minute."
)]
pub struct Full;

/// One question with all that is known of it.
#[derive(Debug)]
struct Entry {
    no: u64,
    looked: Moment,
    /// Somebody asked it to stop.
    stop: bool,
    seen: Seen,
}

#[derive(Debug, Default)]
struct Desk {
    last: u64,
    working: bool,
    entries: VecDeque<Entry>,
}

impl Desk {
    fn entry(&mut self, no: u64) -> Option<&mut Entry> {
        self.entries.iter_mut().find(|entry| entry.no == no)
    }
}

/// Where questions are put; cloning it is cheap.
#[derive(Clone, Debug)]
pub struct Asking {
    clock: Clock,
    desk: Arc<Mutex<Desk>>,
}

impl Asking {
    pub fn new(clock: Clock) -> Self {
        Self {
            clock,
            desk: Arc::default(),
        }
    }

    fn desk(&self) -> MutexGuard<'_, Desk> {
        // What a thread that broke down left behind is still whole: each change of it is one assignment.
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts a question and begins to answer it, unless it is asked or answered already.
    ///
    /// # Errors
    /// So many wait that it is not taken.
    pub fn ask(&self, question: impl Into<Arc<Question>>) -> Result<u64, Full> {
        let (no, begins) = self.put(question)?;
        if begins {
            let asking = self.clone();
            tokio::task::spawn_blocking(move || asking.answer_all());
        }
        Ok(no)
    }

    /// The number of the question, and whether somebody has to begin to answer.
    fn put(&self, question: impl Into<Arc<Question>>) -> Result<(u64, bool), Full> {
        let question = question.into();
        let now = self.clock.now();
        let mut desk = self.desk();
        let known = desk.entries.iter_mut().find(|entry| {
            let stands = entry.seen.stands;
            (stands.goes_on() || stands == Stands::Answered)
                && !entry.stop
                && (Arc::ptr_eq(&entry.seen.question, &question) || entry.seen.question == question)
        });
        if let Some(known) = known {
            known.looked = now;
            return Ok((known.no, false));
        }
        let waits = |entry: &&Entry| matches!(entry.seen.stands, Stands::Waits(_));
        if desk.entries.iter().filter(waits).count() >= MOST_WAITING {
            return Err(Full);
        }
        let over = |entry: &&Entry| !entry.seen.stands.goes_on();
        if desk.entries.iter().filter(over).count() > MOST_OVER
            && let Some(oldest) = desk.entries.iter().position(|entry| over(&entry))
        {
            desk.entries.remove(oldest);
        }
        desk.last += 1;
        let no = desk.last;
        let of = match question.what {
            What::Better { steps } => steps,
            What::Why { .. } => planner::behind(&question.problem, &question.plan).len() as u64,
        };
        desk.entries.push_back(Entry {
            no,
            looked: now,
            stop: false,
            seen: Seen {
                question,
                stands: Stands::Waits(0),
                done: 0,
                of,
                best: None,
                found: Vec::new(),
            },
        });
        let begins = !desk.working;
        desk.working = true;
        Ok((no, begins))
    }

    /// How a question stands. Looking keeps it going.
    pub fn look(&self, no: u64) -> Option<Seen> {
        let now = self.clock.now();
        let mut desk = self.desk();
        let before = desk
            .entries
            .iter()
            .filter(|entry| entry.no < no && entry.seen.stands.goes_on())
            .count();
        let entry = desk.entry(no)?;
        entry.looked = now;
        let mut seen = entry.seen.clone();
        if matches!(seen.stands, Stands::Waits(_)) {
            seen.stands = Stands::Waits(before);
        }
        Some(seen)
    }

    /// Stops a question: what was found by then stays. Whether there is such a question.
    pub fn stop(&self, no: u64) -> bool {
        let mut desk = self.desk();
        let Some(entry) = desk.entry(no) else {
            return false;
        };
        entry.stop = true;
        if matches!(entry.seen.stands, Stands::Waits(_)) {
            entry.seen.stands = Stands::Stopped;
        }
        true
    }

    /// Stops every question, when the server is told to stop: nobody looks any more, and it would wait for them.
    pub fn stop_all(&self) {
        for entry in &mut self.desk().entries {
            entry.stop = true;
            if matches!(entry.seen.stands, Stands::Waits(_)) {
                entry.seen.stands = Stands::Stopped;
            }
        }
    }

    /// Answers one question after the other until none waits.
    fn answer_all(&self) {
        while let Some((no, question)) = self.next() {
            let answered = catch_unwind(AssertUnwindSafe(|| self.answer(no, &question)));
            let mut desk = self.desk();
            let (now, failed) = (self.clock.now(), !matches!(answered, Ok(true)));
            if let Some(entry) = desk.entry(no) {
                entry.seen.stands = match entry {
                    _ if failed => Stands::Failed,
                    Entry { stop: true, .. } => Stands::Stopped,
                    _ if entry.seen.done < entry.seen.of && is_left(entry, now) => Stands::Left,
                    _ => Stands::Answered,
                };
            }
        }
    }

    /// The next question that somebody still waits for.
    fn next(&self) -> Option<(u64, Arc<Question>)> {
        let now = self.clock.now();
        let mut desk = self.desk();
        for entry in &mut desk.entries {
            if !matches!(entry.seen.stands, Stands::Waits(_)) {
                continue;
            }
            if is_left(entry, now) {
                entry.seen.stands = Stands::Left;
                continue;
            }
            entry.seen.stands = Stands::UnderWay;
            return Some((entry.no, Arc::clone(&entry.seen.question)));
        }
        desk.working = false;
        None
    }

    /// Whether the question was answered by a plan that holds, as far as it was asked to.
    fn answer(&self, no: u64, question: &Question) -> bool {
        let stop = || {
            let now = self.clock.now();
            let mut desk = self.desk();
            let entry = desk.entry(no);
            entry.is_none_or(|entry| entry.stop || is_left(entry, now))
        };
        let change = |change: &dyn Fn(&mut Seen)| {
            if let Some(entry) = self.desk().entry(no) {
                change(&mut entry.seen);
            }
        };
        match question.what {
            What::Better { steps } => {
                let counted = || {
                    change(&|seen| seen.done = (seen.done + STEPS_A_LOOK).min(seen.of));
                    stop()
                };
                let effort = Effort {
                    number: 1,
                    steps,
                    threads: 1,
                    proof: 0,
                };
                let held = (!question.plan.jobs.is_empty()).then(|| held_to(question));
                let told = |best: &Checked| change(&|seen| seen.best = Some(best.clone()));
                let found =
                    planner::improve(&question.problem, held, effort, &counted, &mut { told });
                let Ok(outcome) = found else {
                    return false;
                };
                let whole = !stop();
                change(&|seen| {
                    seen.best = Some(outcome.best.clone());
                    // A plan that is proved best ends a search early.
                    seen.done = if whole { seen.of } else { seen.done };
                });
            }
            What::Why { helped, tries } => {
                let behind = planner::behind(&question.problem, &question.plan);
                for (at, job) in behind.into_iter().enumerate() {
                    if stop() {
                        break;
                    }
                    let reason = planner::explain_one(&question.problem, &question.plan, job);
                    let helps = (at < helped).then(|| {
                        let held = held_to(question);
                        planner::suggest(&question.problem, held, job, tries, &stop)
                    });
                    change(&|seen| {
                        seen.done += 1;
                        let reason = reason.clone();
                        let helps = helps.clone();
                        seen.found
                            .extend(reason.map(|reason| Found { reason, helps }));
                    });
                }
            }
        }
        true
    }
}

fn is_left(entry: &Entry, now: Moment) -> bool {
    now.since(entry.looked) > PATIENCE
}

fn held_to(question: &Question) -> Earlier<'_> {
    Earlier {
        plan: &question.plan,
        keep: question.keep,
        pinned: &question.pinned,
    }
}

#[cfg(test)]
mod tests;
