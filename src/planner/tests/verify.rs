//! The check of a plan: it sees each rule that is broken, and reckons the cost.

use super::farms::{DAY, farm};
use crate::planner::*;

/// Changes the sound plan and expects a complaint that contains the words.
fn breaks(change: impl FnOnce(&mut Problem, &mut Plan), words: &str) {
    let mut problem = farm();
    let mut plan = first_plan(&problem);
    verify(&problem, &plan).unwrap();
    change(&mut problem, &mut plan);
    let broken = verify(&problem, &plan).unwrap_err();
    assert!(
        broken.iter().any(|broken| broken.0.contains(words)),
        "{words} not in {broken:?}"
    );
}

#[test]
fn the_check_sees_a_phase_that_starts_before_its_release() {
    breaks(
        |problem, plan| problem.jobs[0].release = plan.jobs[0].strip + 1,
        "before its release",
    );
}

#[test]
fn the_check_sees_each_wait_that_is_too_short_or_too_long() {
    breaks(
        |_, plan| plan.jobs[0].dose = plan.jobs[0].strip + 3,
        "dose starts at",
    );
    breaks(
        |problem, plan| {
            plan.jobs[0].dose = plan.jobs[0].strip + 5;
            problem.jobs[0].waits.strip_dose = 0;
        },
        "dose starts at",
    );
    breaks(
        |problem, _| problem.jobs[0].soak.least = 60,
        "the first rinse starts at",
    );
    breaks(
        |_, plan| plan.jobs[0].rinse += 30,
        "the first rinse starts at",
    );
    breaks(
        |_, plan| plan.jobs[0].teardown = plan.jobs[0].rinse + 4,
        "teardown starts at",
    );
    breaks(
        |_, plan| plan.jobs[0].inspect = plan.jobs[0].teardown + 1,
        "inspect starts at",
    );
    breaks(
        |problem, plan| {
            problem.jobs[0].waits.teardown_inspect = 0;
            plan.jobs[0].inspect = plan.jobs[0].teardown + 3;
        },
        "inspect starts at",
    );
}

#[test]
fn the_check_sees_a_job_that_ends_after_the_last_slot_allowed() {
    breaks(
        |problem, plan| problem.jobs[0].hard_due = plan.jobs[0].inspect + 1,
        "the last slot allowed",
    );
    breaks(
        |_, plan| plan.jobs[0].inspect = 7 * DAY,
        "after the horizon",
    );
}

#[test]
fn the_check_sees_a_job_that_is_missing_or_there_twice() {
    breaks(|_, plan| plan.unplaced.push(0), "is there 2 times");
    breaks(|_, plan| drop(plan.jobs.remove(0)), "is there 0 times");
    breaks(|_, plan| plan.unplaced.push(9), "does not exist");
}

#[test]
fn the_check_sees_people_who_are_too_few_or_not_there() {
    breaks(
        |_, plan| plan.jobs[0].people.strip.clear(),
        "strip needs 1 people and has 0",
    );
    breaks(
        |_, plan| plan.jobs[0].people.rinses[1].clear(),
        "rinse needs 1 people and has 0",
    );
    breaks(
        |_, plan| drop(plan.jobs[0].people.rinses.pop()),
        "every rinse",
    );
    breaks(
        |_, plan| plan.jobs[0].people.inspect = vec![7],
        "person 7 does not exist",
    );
    breaks(
        |problem, plan| {
            problem.jobs[0].strip.people = 2;
            plan.jobs[0].people.strip = vec![1, 1];
        },
        "names one person twice",
    );
}

#[test]
fn the_check_sees_who_may_not_handle_concentrate() {
    breaks(
        |_, plan| plan.jobs[0].people.dose = vec![1],
        "may not handle concentrate",
    );
}

#[test]
fn the_check_sees_work_outside_a_shift_or_across_two() {
    breaks(
        |problem, _| problem.people.iter_mut().for_each(|one| one.shifts.clear()),
        "not within one shift",
    );
    breaks(
        |problem, plan| {
            // Two regular shifts that meet are two, and a task may not cross from one to the other.
            let middle = plan.jobs[0].strip + 1;
            for one in &mut problem.people {
                let overtime = false;
                one.shifts = vec![
                    Shift {
                        span: Span {
                            from: 0,
                            to: middle,
                        },
                        overtime,
                    },
                    Shift {
                        span: Span {
                            from: middle,
                            to: 7 * DAY,
                        },
                        overtime,
                    },
                ];
            }
        },
        "not within one shift",
    );
}

#[test]
fn the_check_sees_somebody_at_two_tasks() {
    breaks(
        |problem, plan| {
            // Both benches at the same time by the same people, with everything else in plenty.
            problem.kits = 9;
            let mut twin = plan.jobs[0].clone();
            twin.job = 1;
            plan.jobs[1] = twin;
        },
        "who is at",
    );
}

#[test]
fn the_check_sees_a_room_with_others_in_it_or_another_dosing() {
    breaks(
        |problem, plan| {
            let dose = plan.jobs[0].dose;
            // The last slot of the airing counts as well.
            problem.rooms[0].occupied = vec![Span {
                from: dose + 5,
                to: dose + 6,
            }];
        },
        "in use by others",
    );
    breaks(|problem, _| problem.jobs[0].dose.airing = 6 * DAY, "bay-2");
}

#[test]
fn the_check_sees_more_kit_units_held_than_there_are() {
    breaks(|problem, _| problem.kits = 0, "kit units are held");
}

#[test]
fn the_check_sees_a_tank_that_runs_dry() {
    breaks(
        |problem, _| problem.water.rate_l_per_slot = 1,
        "the tank lacks",
    );
    breaks(
        |problem, _| {
            problem.water.tank_l = 250;
            problem.water.initial_l = 250;
        },
        "the tank lacks",
    );
}

#[test]
fn what_bookings_took_is_not_free_for_the_plan() {
    let mut problem = farm();
    let free = first_plan(&problem);
    let first = free.jobs[0].dose.min(free.jobs[1].dose);
    let span = Span {
        from: first,
        to: first + 1,
    };
    problem.taken.kits.push(span);
    assert!(verify(&problem, &free).is_err(), "the one kit unit is out");
    let around = first_plan(&problem);
    assert_eq!(verify(&problem, &around).unwrap().unplaced, 0);
    problem.taken = Taken {
        draws: vec![Draw {
            slot: first,
            litres: 900,
        }],
        ..Taken::default()
    };
    assert!(verify(&problem, &free).is_err(), "the tank is empty then");
    let later = first_plan(&problem);
    assert_eq!(verify(&problem, &later).unwrap().unplaced, 0);
    assert_ne!(later, free);
}

#[test]
fn the_check_sees_concentrate_dosed_before_it_came() {
    breaks(
        |problem, _| problem.stocks[0].deliveries.clear(),
        "the concentrate lacks",
    );
    breaks(
        |problem, _| problem.stocks[0].deliveries[0].slot = 6 * DAY,
        "the concentrate lacks",
    );
}

#[test]
fn the_cost_is_what_the_lateness_and_overtime_come_to() {
    let mut problem = farm();
    let plan = first_plan(&problem);
    let end = plan.jobs[0].inspect + 2;
    problem.jobs[0].due = end - 5;
    problem.jobs[0].weight = 3;
    let hours: Vec<Slot> = plan.jobs[0]
        .people
        .strip
        .iter()
        .map(|_| plan.jobs[0].strip)
        .collect();
    for one in &mut problem.people {
        for shift in &mut one.shifts {
            // Every hour of the day of the first strip becomes overtime.
            shift.overtime |= shift.span.from / DAY == hours[0] / DAY;
        }
        one.shifts.dedup_by(|later, first| {
            let joined = later.overtime && first.overtime && first.span.to == later.span.from;
            if joined {
                first.span.to = later.span.to;
            }
            joined
        });
    }
    let before = verify(&farm(), &plan).unwrap();
    let after = verify(&problem, &plan).unwrap();
    assert_eq!(after.slots_late, 5);
    assert!(after.overtime >= before.overtime + 4);
    assert_eq!(after.cost, 4 * 3 * 5 + 3 * after.overtime);
}

#[test]
fn the_check_sees_work_at_a_well_system_after_a_sick_one_on_the_same_day() {
    let says = |problem: &Problem, plan: &Plan, words: &str| {
        let broken = verify(problem, plan).unwrap_err();
        let said = broken.iter().any(|broken| broken.0.contains(words));
        assert!(said, "{words} is not in {broken:?}");
    };
    let mut problem = farm();
    let mut plan = first_plan(&problem);
    // The second bench is stripped while the first one, which is sick, soaks.
    plan.jobs[1].strip = plan.jobs[0].strip + 8;
    problem.jobs[0].last_in_day = true;
    says(&problem, &plan, "b2: worked at from");
    // Planned with that known, the sick one has the day to itself or the end of it.
    let kept = first_plan(&problem);
    assert_eq!(verify(&problem, &kept).unwrap().unplaced, 0);
    // A booking that stands counts as well.
    let from = kept.jobs[0].strip;
    let span = Span { from, to: from + 2 };
    let last_in_day = false;
    problem.taken.work.push(Worked { span, last_in_day });
    says(&problem, &kept, "a booking that stands: worked at from");
    let around = first_plan(&problem);
    assert_eq!(verify(&problem, &around).unwrap().unplaced, 0);
    let day = problem.day_of(from);
    let same_day = around.jobs[0].starts();
    let mut same_day = same_day.iter().filter(|slot| problem.day_of(**slot) == day);
    assert!(same_day.all(|slot| *slot >= span.to), "{around:?}");
}

#[test]
fn the_check_sees_water_that_is_missing_while_it_is_torn_down() {
    breaks(
        |problem, _| {
            problem.jobs[0].teardown_draws = vec![Draw {
                slot: 1,
                litres: 900,
            }];
            problem.water.rate_l_per_slot = 0;
        },
        "the tank lacks",
    );
}

#[test]
fn the_check_sees_work_beside_a_dosing_only_where_the_crew_keeps_out() {
    // The second bench is stripped while the first is dosed.
    let overlap = |problem: &mut Problem, plan: &mut Plan| {
        problem.kits = 9;
        problem.jobs[1].release = 0;
        problem.jobs[1].waits.strip_dose = 3 * DAY;
        let strip = plan.jobs[0].dose + 1;
        plan.jobs[1].strip = strip;
        plan.jobs[1].people.strip = vec![1];
    };
    let mut problem = farm();
    let mut plan = first_plan(&problem);
    overlap(&mut problem, &mut plan);
    assert_eq!(verify(&problem, &plan).err(), None);
    breaks(
        |problem, plan| {
            overlap(problem, plan);
            problem.crew_out = true;
        },
        "b2: strip at",
    );
    breaks(
        |problem, plan| {
            let strip = plan.jobs[0].strip;
            problem.rooms[0].closed = vec![Span {
                from: strip + 1,
                to: strip + 2,
            }];
        },
        "a dosing that stands",
    );
}
