//! First plans, the search and planning again: every plan holds, on any farm.

use proptest::prelude::*;

use super::farms::{DAY, any_farm, farm, searched};
use crate::planner::*;

#[test]
fn a_small_farm_gets_its_plan_and_the_plan_holds() {
    let problem = farm();
    let plan = first_plan(&problem);
    let reckoned = verify(&problem, &plan).unwrap();
    assert_eq!(reckoned.unplaced, 0);
    assert_eq!(reckoned.jobs_late, 0);
    // The second dosing waits for the delivery.
    assert!(plan.jobs[0].dose >= DAY || plan.jobs[1].dose >= DAY);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn every_plan_holds_and_none_is_below_the_bound(number: u64) {
        let problem = any_farm(number);
        let first = verify(&problem, &first_plan(&problem)).map_err(|broken| {
            TestCaseError::fail(format!("{broken:?}"))
        })?;
        let search = searched(&problem, number, 150);
        let later = verify(&problem, &search.best()).map_err(|broken| {
            TestCaseError::fail(format!("{broken:?}"))
        })?;
        prop_assert!((later.unplaced, later.cost) <= (first.unplaced, first.cost));
        let least: i64 = alone(&problem).iter().flatten().map(|alone| alone.cost).sum();
        prop_assert!(later.unplaced > 0 || later.cost >= least);
        prop_assert!(!search.is_proved() || later.unplaced > 0 || later.cost == least);
    }

    #[test]
    fn a_replan_holds_and_moves_no_more_than_it_may(number: u64, most in 0_usize..4) {
        let mut problem = any_farm(number);
        let earlier = searched(&problem, number, 60).best();
        // Somebody falls ill.
        if let Some(one) = problem.people.first_mut() {
            one.shifts.retain(|shift| shift.span.from > 2 * DAY);
        }
        let keep = Keep { worth: 96, most };
        let had_to = replan(&problem, &earlier, keep, number).moved();
        let mut search = replan(&problem, &earlier, keep, number);
        for _ in 0..60 {
            search.step();
        }
        prop_assert!(verify(&problem, &search.best()).is_ok());
        prop_assert!(search.moved() <= most.max(had_to));
    }

    #[test]
    fn each_fact_of_a_reason_is_necessary(number: u64) {
        let problem = any_farm(number);
        let plan = first_plan(&problem);
        let mut places = vec![None; problem.jobs.len()];
        for placed in &plan.jobs {
            places[placed.job] = Some(plan::Placement::of(placed));
        }
        for reason in explain(&problem, &plan) {
            let others = match &reason.why {
                Why::Others(others) => &others[..],
                Why::Alone => &[],
                Why::Cheaper => continue,
            };
            let mut strict = problem.clone();
            let late = &mut strict.jobs[reason.job];
            late.hard_due = late.hard_due.min(late.due);
            let in_time = |held: &[Relief]| {
                let mut eased = strict.clone();
                for relief in Relief::ALL.into_iter().filter(|one| !held.contains(one)) {
                    eased = relief.made(&eased, reason.job);
                }
                explain::fits(&eased, &places, others, reason.job)
            };
            prop_assert!(!in_time(&reason.facts));
            for fact in &reason.facts {
                let rest: Vec<Relief> =
                    reason.facts.iter().copied().filter(|one| one != fact).collect();
                // Seen to do alone, or with all that is not among the facts.
                let alone = fact.made(&strict, reason.job);
                let does = in_time(&rest) || explain::fits(&alone, &places, others, reason.job);
                prop_assert!(does, "{fact:?} of {:?}", reason.facts);
            }
            // What alone would do is among them.
            prop_assert!(reason.reliefs.iter().all(|relief| reason.facts.contains(relief)));
        }
    }

    #[test]
    fn each_job_of_a_reason_is_necessary(number: u64) {
        let problem = any_farm(number);
        let plan = first_plan(&problem);
        for reason in explain(&problem, &plan) {
            let Why::Others(others) = &reason.why else { continue };
            prop_assert!(!others.is_empty());
            let mut strict = problem.clone();
            let late = &mut strict.jobs[reason.job];
            late.hard_due = late.hard_due.min(late.due);
            let mut places = vec![None; problem.jobs.len()];
            for placed in &plan.jobs {
                places[placed.job] = Some(plan::Placement::of(placed));
            }
            let in_time = |with: &[usize]| explain::fits(&strict, &places, with, reason.job);
            prop_assert!(!in_time(others));
            for &other in others {
                // Without one of them, and as the remaining stand, the job can be in time.
                let remaining: Vec<usize> =
                    others.iter().copied().filter(|&one| one != other).collect();
                prop_assert!(in_time(&remaining));
            }
        }
    }
}

#[test]
fn the_same_number_and_steps_give_the_same_plan() {
    for number in 0..12 {
        let problem = any_farm(number);
        let (one, two) = (searched(&problem, 5, 200), searched(&problem, 5, 200));
        assert_eq!(one.best(), two.best());
    }
}

#[test]
fn a_plan_that_still_fits_stays_as_it_is() {
    let problem = farm();
    let plan = first_plan(&problem);
    let search = replan(&problem, &plan, Keep { worth: 96, most: 3 }, 1);
    assert_eq!(search.best(), plan);
    assert_eq!(search.moved(), 0);
}

#[test]
fn asking_gives_a_checked_plan_and_tells_each_better_one() {
    let problem = any_farm(3);
    let effort = Effort {
        number: 1,
        steps: 60,
        threads: 2,
        proof: 0,
    };
    let mut told = Vec::new();
    let outcome = improve(&problem, None, effort, &|| false, &mut |better| {
        told.push((better.reckoned.unplaced, better.reckoned.cost));
    })
    .unwrap();
    assert!(told.windows(2).all(|two| two[1] < two[0]), "{told:?}");
    let reckoned = outcome.best.reckoned;
    assert_eq!(told.last(), Some(&(reckoned.unplaced, reckoned.cost)));
    assert!(outcome.bound.cost <= reckoned.cost || reckoned.unplaced > 0);
    let again = improve(&problem, None, effort, &|| false, &mut |_| {}).unwrap();
    assert_eq!(again.best.plan, outcome.best.plan);
    let stopped = improve(&problem, None, effort, &|| true, &mut |_| {}).unwrap();
    assert_eq!(stopped.steps, 0);
}

#[test]
fn a_pinned_job_stays_when_another_needs_its_place() {
    let problem = farm();
    let plan = first_plan(&problem);
    // The second becomes so urgent that it would take the place of the first.
    let mut urgent = problem.clone();
    urgent.jobs[1].weight = 90;
    urgent.jobs[1].due = plan.jobs[0].inspect + 2;
    let keep = Keep { worth: 0, most: 9 };
    let after = |pinned: &[usize]| {
        let held = Earlier {
            plan: &plan,
            keep,
            pinned,
        };
        let mut search = replan::begin(&urgent, held, 1);
        for _ in 0..200 {
            search.step();
        }
        search.best().jobs[0].starts()
    };
    assert_ne!(after(&[]), plan.jobs[0].starts());
    assert_eq!(after(&[0]), plan.jobs[0].starts());
}

#[test]
fn two_at_the_dosing_are_one_who_may_and_one_who_stands_by() {
    let mut problem = farm();
    problem.jobs[0].dose.people = 2;
    let plan = first_plan(&problem);
    verify(&problem, &plan).unwrap();
    let mut team = plan.jobs[0].people.dose.clone();
    team.sort_unstable();
    assert_eq!(team, [0, 1]);
    let mut alone = problem.clone();
    alone.people.truncate(1);
    assert_eq!(first_plan(&alone).unplaced, [0]);
}
