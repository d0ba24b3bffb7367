#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

use proptest::prelude::*;

use super::chance::Chance;
use super::*;

const DAY: Slot = 96;

fn hands(duration: Slot, people: usize) -> Handwork {
    Handwork { duration, people }
}

fn job(id: &str, release: Slot, due: Slot) -> Job {
    Job {
        id: id.to_owned(),
        room: 0,
        release,
        due,
        hard_due: due + 3 * DAY,
        weight: 1,
        strip: hands(4, 1),
        dose: Dosing {
            duration: 2,
            airing: 4,
            people: 1,
            water_l: 300,
            product: 0,
            peroxide_ml: 900,
        },
        soak: Soak { least: 12, lag: 4 },
        rinses: vec![
            Rinse {
                duration: 3,
                hands_on: 1,
                water_l: 240,
            },
            Rinse {
                duration: 2,
                hands_on: 1,
                water_l: 240,
            },
        ],
        teardown: hands(2, 1),
        inspect: hands(2, 1),
        fill_l: 300,
        waits: Waits {
            strip_dose: 2 * DAY,
            rinse_teardown: 2 * DAY,
            teardown_inspect: 2 * DAY,
        },
    }
}

fn person(id: &str, concentrate: bool, days: Slot) -> Person {
    let shifts = (0..days).flat_map(|day| {
        let at = day * DAY;
        [
            Shift {
                span: Span {
                    from: at + 32,
                    to: at + 64,
                },
                overtime: false,
            },
            Shift {
                span: Span {
                    from: at + 64,
                    to: at + 72,
                },
                overtime: true,
            },
        ]
    });
    Person {
        id: id.to_owned(),
        concentrate,
        shifts: shifts.collect(),
    }
}

/// Two benches in one bay of Orrelby Glasshouses, and a crew of two.
fn farm() -> Problem {
    Problem {
        slot_minutes: 15,
        horizon: 7 * DAY,
        days: Vec::new(),
        people: vec![person("ines", true, 7), person("tobit", false, 7)],
        rooms: vec![Room {
            id: "bay-2".to_owned(),
            occupied: vec![Span { from: 34, to: 40 }],
        }],
        kits: 1,
        water: Water {
            tank_l: 900,
            initial_l: 900,
            rate_l_per_slot: 30,
        },
        stocks: vec![Stock {
            initial_ml: 900,
            deliveries: vec![Delivery { slot: DAY, ml: 900 }],
        }],
        taken: Taken::default(),
        jobs: vec![job("b1", 32, DAY), job("b2", 32, 2 * DAY)],
        prices: Prices {
            late: 4,
            overtime: 3,
        },
    }
    .check()
    .unwrap()
}

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
        kits: Vec::new(),
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

/// A farm by chance: small, often short of something.
fn any_farm(number: u64) -> Problem {
    let mut chance = Chance::new(number);
    let mut up_to = |most: usize| chance.below(most + 1) as Slot;
    let days = 5 + up_to(5);
    let people = (0..up_to(4))
        .map(|index| {
            let mut one = person(&format!("p{index}"), up_to(2) > 0, days);
            one.shifts.retain(|_| up_to(9) > 0);
            if up_to(3) == 0 {
                one.shifts.retain(|shift| !shift.overtime);
            }
            one
        })
        .collect();
    let rooms = 1 + up_to(1);
    let room = |index: Slot, occupied: Vec<Span>| Room {
        id: format!("r{index}"),
        occupied,
    };
    let rooms: Vec<Room> = (0..rooms)
        .map(|index| {
            let spans = (0..days).filter(|_| up_to(1) == 0).map(|day| day * DAY);
            room(
                index,
                spans
                    .map(|at| Span {
                        from: at + 36,
                        to: at + 50,
                    })
                    .collect(),
            )
        })
        .collect();
    let jobs = (0..up_to(9))
        .map(|index| {
            let release = up_to(2) * DAY + up_to(60);
            let mut one = job(
                &format!("j{index}"),
                release,
                release + up_to(3) as Slot * DAY + 20,
            );
            one.hard_due = (release + 40 + up_to(6) * DAY).min(days * DAY);
            one.room = up_to(rooms.len() - 1) as usize;
            one.weight = i64::from(up_to(3));
            one.dose.people = 1 + (up_to(4) / 4) as usize;
            one.dose.product = (up_to(3) / 3) as usize;
            one.strip = hands(1 + up_to(9), 1 + up_to(2) as usize);
            one.inspect = hands(1 + up_to(3), 1 + (up_to(4) / 4) as usize);
            one.rinses.truncate(up_to(2) as usize);
            one.soak = Soak {
                least: up_to(14),
                lag: up_to(8),
            };
            one.waits.strip_dose = up_to(DAY as usize);
            one.waits.rinse_teardown = up_to(DAY as usize);
            one.waits.teardown_inspect = up_to(40);
            one
        })
        .collect();
    let (kits, initial_l) = (up_to(3) as usize, i64::from(up_to(900)));
    // One booking that stands, and takes no more than there is.
    let booked = up_to(300);
    let taken = Taken {
        draws: vec![Draw {
            slot: booked,
            litres: i64::from(up_to(initial_l as usize)),
        }],
        kits: (0..kits.min(1))
            .map(|_| Span {
                from: booked,
                to: booked + 30,
            })
            .collect(),
    };
    Problem {
        slot_minutes: 15,
        horizon: days * DAY,
        days: Vec::new(),
        people,
        rooms,
        kits,
        water: Water {
            tank_l: 900,
            initial_l,
            rate_l_per_slot: i64::from(up_to(40)),
        },
        stocks: (0..2)
            .map(|_| Stock {
                initial_ml: 900 * i64::from(up_to(6)),
                deliveries: vec![Delivery {
                    slot: up_to(300),
                    ml: 1800,
                }],
            })
            .collect(),
        taken,
        jobs,
        prices: Prices {
            late: 4,
            overtime: 3,
        },
    }
    .check()
    .unwrap()
}

fn searched(problem: &Problem, number: u64, steps: u32) -> Search<'_> {
    let mut search = Search::new(problem, number);
    for _ in 0..steps {
        search.step();
    }
    search
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
fn a_problem_says_all_its_faults() {
    let mut problem = farm();
    problem.slot_minutes = 7;
    problem.jobs[0].room = 4;
    problem.jobs[1].rinses[0].hands_on = 9;
    problem.people[1].shifts[0].span.to += 1;
    let faults = problem.check().unwrap_err();
    assert_eq!(faults.len(), 4);
}

#[test]
fn asking_gives_a_checked_plan_and_tells_each_better_one() {
    let problem = any_farm(3);
    let effort = Effort {
        number: 1,
        steps: 60,
        searches: 2,
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

#[test]
fn each_product_has_its_own_stock() {
    let mut problem = farm();
    problem.jobs[1].dose.product = 1;
    assert_eq!(problem.clone().check().unwrap_err().len(), 1);
    problem.stocks.push(Stock {
        initial_ml: 0,
        deliveries: vec![Delivery {
            slot: 3 * DAY,
            ml: 900,
        }],
    });
    let plan = first_plan(&problem);
    verify(&problem, &plan).unwrap();
    assert!(plan.jobs[0].dose < DAY && plan.jobs[1].dose >= 3 * DAY);
    problem.stocks[1].deliveries.clear();
    let broken = verify(&problem, &plan).unwrap_err();
    assert!(broken[0].0.contains("the concentrate lacks"), "{broken:?}");
}

#[test]
fn days_of_23_and_25_hours_are_days() {
    let mut problem = farm();
    // The second day lacks an hour, the third has one more.
    problem.days = [0, 96, 188, 288, 384, 480, 576].to_vec();
    let problem = problem.check().unwrap();
    assert_eq!(
        [187, 188, 287, 288].map(|slot| problem.day_of(slot)),
        [1, 2, 2, 3]
    );
    assert_eq!(problem.day_span(2), Span { from: 188, to: 288 });
    assert_eq!(problem.day_span(6), Span { from: 576, to: 672 });
    assert_eq!(farm().day_span(1), Span { from: 96, to: 192 });
    let mut wrong = problem.clone();
    wrong.days[2] = 96;
    assert_eq!(wrong.check().unwrap_err().len(), 1);
}
