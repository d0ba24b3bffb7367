//! Questions on this thread alone: put, looked at, answered when the test says so.

use chrono::TimeDelta;

use super::*;
use crate::planner::first;
use crate::planner::tests::farms::farm;

fn asking() -> Asking {
    Asking::new(Clock::fixed("2027-03-04T08:30:00Z".parse().unwrap()))
}

fn question(what: What) -> Question {
    let mut problem = farm();
    // The second may not wait for its concentrate: it is late, and a delivery would help.
    problem.jobs[1].due = 40;
    let plan = first(&problem).unwrap().plan;
    Question {
        problem,
        plan,
        keep: Keep { worth: 96, most: 3 },
        pinned: Vec::new(),
        what,
    }
}

const BETTER: What = What::Better { steps: 40 };

/// The question that is apart from others by its steps.
fn better(steps: u64) -> Question {
    question(What::Better { steps })
}

#[test]
fn who_asks_the_same_shares_the_answer_and_another_question_waits() {
    let asking = asking();
    let (first, begins) = asking.put(question(BETTER)).unwrap();
    assert!(begins);
    assert_eq!(asking.put(question(BETTER)), Ok((first, false)));
    let (second, begins) = asking.put(better(41)).unwrap();
    assert!(!begins && second != first);
    assert_eq!(asking.look(first).unwrap().stands, Stands::Waits(0));
    assert_eq!(asking.look(second).unwrap().stands, Stands::Waits(1));
    asking.answer_all();
    let seen = asking.look(first).unwrap();
    assert_eq!(seen.stands, Stands::Answered);
    assert_eq!((seen.done, seen.of), (40, 40));
    let held = seen.question;
    planner::verify(&held.problem, &seen.best.unwrap().plan).unwrap();
    // The answer is still there for whoever asks now, and nothing is worked out for it.
    assert_eq!(asking.put(question(BETTER)), Ok((first, false)));
    assert!(!asking.desk().working);
}

#[test]
fn what_nobody_looks_at_is_given_up_and_what_is_stopped_keeps_what_was_found() {
    let asking = asking();
    let (left, _) = asking.put(better(1)).unwrap();
    asking.clock.advance(PATIENCE + TimeDelta::seconds(1));
    let (stopped, _) = asking.put(better(2)).unwrap();
    let (looked_at, _) = asking.put(better(3)).unwrap();
    assert!(asking.stop(stopped));
    asking.clock.advance(PATIENCE);
    asking.answer_all();
    // Looked at only afterwards: looking keeps going what is not over.
    assert_eq!(asking.look(left).unwrap().stands, Stands::Left);
    assert!(asking.look(left).unwrap().best.is_none());
    assert_eq!(asking.look(stopped).unwrap().stands, Stands::Stopped);
    assert_eq!(asking.look(looked_at).unwrap().stands, Stands::Answered);
    assert!(!asking.stop(99));
    // Asked once more, it is answered after all.
    let (again, begins) = asking.put(better(1)).unwrap();
    assert!(begins && again != left);
}

#[test]
fn one_that_is_under_way_stops_between_two_steps() {
    let asking = asking();
    let (no, _) = asking.put(better(u64::MAX - 1)).unwrap();
    // The first step hears of a plan; from there it would go on for ever.
    let beside = asking.clone();
    let worker = std::thread::spawn(move || beside.answer_all());
    while asking.look(no).unwrap().best.is_none() {
        std::thread::yield_now();
    }
    let (waits, _) = asking.put(better(5)).unwrap();
    asking.stop_all();
    worker.join().unwrap();
    let seen = asking.look(no).unwrap();
    assert_eq!(seen.stands, Stands::Stopped);
    assert!(seen.best.is_some() && seen.done < seen.of);
    assert_eq!(asking.look(waits).unwrap().stands, Stands::Stopped);
}

#[test]
fn more_than_a_few_are_refused_and_what_is_over_is_forgotten_in_time() {
    let asking = asking();
    for steps in 0..MOST_WAITING as u64 {
        asking.put(better(steps)).unwrap();
    }
    assert_eq!(asking.put(better(100)), Err(Full));
    asking.answer_all();
    for steps in 100..100 + 2 * MOST_OVER as u64 {
        asking.put(better(steps)).unwrap();
        asking.answer_all();
    }
    assert!(asking.desk().entries.len() <= MOST_OVER + 2);
    assert!(asking.look(1).is_none());
}

#[test]
fn each_late_job_gets_its_reason_and_only_the_first_few_are_planned_with() {
    let asking = asking();
    let why = |helped| question(What::Why { helped, tries: 12 });
    let (with, _) = asking.put(why(1)).unwrap();
    let (without, _) = asking.put(why(0)).unwrap();
    asking.answer_all();
    let seen = asking.look(with).unwrap();
    assert_eq!(seen.stands, Stands::Answered);
    let behind = planner::behind(&seen.question.problem, &seen.question.plan);
    assert!(!behind.is_empty());
    let told: Vec<usize> = seen.found.iter().map(|found| found.reason.job).collect();
    assert_eq!(told, behind);
    assert_eq!(seen.done, seen.of);
    assert!(seen.found[1..].iter().all(|found| found.helps.is_none()));
    let helps = seen.found[0].helps.as_ref().unwrap();
    assert!(helps.iter().any(|one| one.late == 0), "{helps:?}");
    assert!(asking.look(without).unwrap().found[0].helps.is_none());
}
