//! What is told of a plan: reasons, differences, and what would help.

use super::farms::{DAY, farm, person};
use crate::planner::*;

#[test]
fn without_a_crew_or_water_or_time_nothing_is_placed_and_the_reason_is_named() {
    let mut nobody = farm();
    nobody.people.clear();
    let mut dry = farm();
    dry.water = Water {
        tank_l: 200,
        initial_l: 200,
        rate_l_per_slot: 50,
    };
    let mut hurried = farm();
    hurried
        .jobs
        .iter_mut()
        .for_each(|job| job.hard_due = job.release + 10);
    for (problem, relief) in [(nobody, None), (dry, Some(Relief::Water)), (hurried, None)] {
        let plan = first_plan(&problem);
        assert_eq!(plan.unplaced, [0, 1]);
        verify(&problem, &plan).unwrap();
        let reasons = explain(&problem, &plan);
        assert_eq!(reasons.len(), 2);
        assert_eq!(reasons[1].why, Why::Alone);
        assert_eq!(
            reasons[1].reliefs.contains(&Relief::Water),
            relief.is_some()
        );
    }
}

#[test]
fn the_difference_tells_who_comes_when() {
    let problem = farm();
    let plan = first_plan(&problem);
    assert_eq!(difference(&problem, &plan, &plan), Difference::default());
    let mut ill = problem.clone();
    let first = plan.jobs[0].starts()[0] / DAY;
    ill.people[0]
        .shifts
        .retain(|shift| shift.span.from / DAY != first);
    let keep = Keep { worth: 96, most: 3 };
    let held = Earlier {
        plan: &plan,
        keep,
        pinned: &[],
    };
    let repaired = repair(&ill, held).unwrap();
    let found = difference(&problem, &plan, &repaired.plan);
    assert_eq!(found.on_another_day(), repaired.moved);
    assert!(!found.jobs.is_empty());
    let ines = found.people.iter().find(|one| one.person == 0).unwrap();
    assert!(ines.lost.iter().any(|duty| duty.from / DAY == first));
    assert!(ines.gained.iter().all(|duty| duty.from / DAY != first));
    // Without its first job, and with a new hand: the plan is brought over by the ids.
    let mut other = problem.clone();
    other.jobs.remove(0);
    other.people.insert(0, person("new", false, 7));
    let carried = carried(&plan, &problem, &other);
    assert_eq!(carried.jobs.len(), 1);
    assert_eq!(carried.jobs[0].people.dose, [1]);
    assert_eq!(carried.jobs[0].starts(), plan.jobs[1].starts());
    assert!(verify(&other, &carried).is_ok());
}

#[test]
fn what_would_help_is_checked_by_planning_with_it() {
    // Ines is away until the second job's planting is over.
    let mut problem = farm();
    problem.people[0]
        .shifts
        .retain(|shift| shift.span.from >= 3 * DAY);
    let plan = first_plan(&problem);
    let keep = Keep { worth: 96, most: 3 };
    let held = Earlier {
        plan: &plan,
        keep,
        pinned: &[],
    };
    assert!(plan.jobs[1].late(&problem.jobs[1]) > 0);
    let found = suggest(&problem, held, 1, 200, &|| false);
    let helps: Vec<Help> = found.iter().map(|one| one.help).collect();
    let skilled = |help: &Help| {
        matches!(
            help,
            Help::Person {
                concentrate: true,
                ..
            }
        )
    };
    assert!(helps.iter().any(skilled), "{helps:?}");
    assert!(
        !helps
            .iter()
            .any(|help| matches!(help, Help::Room { .. } | Help::Kit))
    );
    assert!(
        helps
            .iter()
            .any(|help| matches!(help, Help::Planting { .. }))
    );
    for one in &found {
        let reckoned = verify(&one.help.made(&problem), &one.plan).unwrap();
        assert_eq!((reckoned.cost, reckoned.unplaced), (one.cost, one.unplaced));
    }
    assert!(suggest(&problem, held, 1, 200, &|| true).is_empty());
}
