//! Proofs: what is called best is best, what is found holds, and a bound is below every plan.

use proptest::prelude::*;

use super::farms::{DAY, any_farm, farm, searched};
use crate::planner::prove::part;
use crate::planner::*;

const FEW: Budget<'_> = Budget {
    steps: 3_000,
    stop: &|| false,
};

fn proof(problem: &Problem, plan: &Plan, steps: u64) -> Proof {
    let budget = Budget { steps, ..FEW };
    prove(problem, plan, &Pumpkin, budget).unwrap()
}

#[test]
fn one_job_is_proved_to_cost_what_it_costs_alone() {
    for number in 0..40 {
        let mut problem = any_farm(number);
        problem.jobs.truncate(1);
        problem.water.tank_l = 9_000;
        problem.water.initial_l = 9_000;
        let plan = first_plan(&problem);
        let proof = proof(&problem, &plan, 3_000);
        assert!(proof.proved, "farm {number}");
        let least: i64 = alone(&problem).iter().flatten().map(|one| one.cost).sum();
        assert_eq!(proof.cost, least);
    }
}

/// All ways to spread at most `slack` slots of waiting over the five phases of a job.
fn everywhere(job: &Job, slack: Slot) -> Vec<[Slot; 5]> {
    let least = [
        job.strip.duration,
        job.dose.duration + job.soak.least,
        job.rinsing(),
        job.teardown.duration,
    ];
    let mut found = Vec::new();
    for waits in 0..(slack + 1).pow(5) {
        let wait = |stage: u32| waits / (slack + 1).pow(stage) % (slack + 1);
        if (0..5).map(wait).sum::<Slot>() > slack {
            continue;
        }
        let mut starts = [job.release + wait(0); 5];
        for stage in 1..5 {
            starts[stage] = starts[stage - 1] + least[stage - 1] + wait(stage as u32);
        }
        found.push(starts);
    }
    found
}

#[test]
fn two_jobs_are_proved_to_cost_what_trying_everything_finds() {
    // Both benches on one day, so tight that one has to give way; nobody works overtime.
    for (number, skilled) in [(0, true), (1, false), (2, false)] {
        let mut problem = farm();
        problem.kits = 2;
        problem.stocks[0].initial_ml = 9_000;
        problem.water.tank_l = 2_000 + 200 * number;
        problem.water.initial_l = problem.water.tank_l;
        problem.people[1].concentrate = skilled;
        problem.rooms[0].occupied.clear();
        for one in &mut problem.people {
            one.shifts.retain(|shift| !shift.overtime);
        }
        for (job, weight) in problem.jobs.iter_mut().zip([1, 2]) {
            job.due = 52;
            job.hard_due = 64;
            job.weight = weight;
            job.strip.duration = 2;
            job.soak.least = 6;
            job.dose.airing = 0;
        }
        let proof = proof(&problem, &first_plan(&problem), 20_000);
        assert!(proof.proved);
        assert_eq!(proof.cost, tried(&problem, 4), "farm {number}");
    }
}

/// The cheapest of two jobs' times for which two people can be named so that the check has no complaint.
fn tried(problem: &Problem, slack: Slot) -> i64 {
    let jobs = &problem.jobs;
    let late = |job: &Job, starts: &[Slot; 5]| {
        4 * job.weight * i64::from((starts[4] + job.inspect.duration).saturating_sub(job.due))
    };
    let mut pairs: Vec<(i64, [[Slot; 5]; 2])> = Vec::new();
    for first in everywhere(&jobs[0], slack) {
        for second in everywhere(&jobs[1], slack) {
            let cost = late(&jobs[0], &first) + late(&jobs[1], &second);
            pairs.push((cost, [first, second]));
        }
    }
    pairs.sort_unstable();
    let best = pairs
        .iter()
        .find(|(_, starts)| name_on(problem, *starts, &mut Vec::new()));
    best.unwrap().0
}

/// Names the tasks one after the other in every way, as far as nobody is at two at once.
fn name_on(problem: &Problem, starts: [[Slot; 5]; 2], who: &mut Vec<usize>) -> bool {
    let spans = |job: usize| {
        let [strip, dose, rinse, teardown, inspect] = starts[job];
        let second = rinse + problem.jobs[job].rinses[0].duration;
        [
            (strip, 2),
            (dose, 2),
            (rinse, 1),
            (second, 1),
            (teardown, 2),
            (inspect, 2),
        ]
    };
    let tasks: Vec<(Slot, Slot)> = (0..2).flat_map(spans).collect();
    if who.len() == tasks.len() {
        let jobs = [0, 1].map(|job| {
            let [strip, dose, rinse, teardown, inspect] = starts[job];
            let by = |task: usize| vec![who[job * 6 + task]];
            PlacedJob {
                job,
                strip,
                dose,
                rinse,
                teardown,
                inspect,
                people: Named {
                    strip: by(0),
                    dose: by(1),
                    rinses: vec![by(2), by(3)],
                    teardown: by(4),
                    inspect: by(5),
                },
            }
        });
        let plan = Plan {
            jobs: jobs.to_vec(),
            unplaced: Vec::new(),
        };
        return verify(problem, &plan).is_ok();
    }
    let (from, length) = tasks[who.len()];
    (0..2).any(|person| {
        let busy = (0..who.len()).any(|other| {
            let (start, slots) = tasks[other];
            who[other] == person && start < from + length && from < start + slots
        });
        !busy && {
            who.push(person);
            let found = name_on(problem, starts, who);
            who.pop();
            found
        }
    })
}

/// The least cost of two benches that are to be done on one day, proved, and no search finds less.
fn least(change: impl Fn(&mut Problem)) -> i64 {
    let mut problem = farm();
    problem.kits = 2;
    problem.stocks[0].initial_ml = 9_000;
    problem.water.tank_l = 3_000;
    problem.water.initial_l = 3_000;
    problem.people[1].concentrate = true;
    problem.rooms[0].occupied.clear();
    for job in &mut problem.jobs {
        job.due = 64;
        job.soak.least = 6;
    }
    change(&mut problem);
    let problem = problem.check().unwrap();
    let proof = proof(&problem, &first_plan(&problem), 60_000);
    assert!(proof.proved, "{proof:?}");
    assert_eq!(verify(&problem, &proof.plan).unwrap().cost, proof.cost);
    let found = verify(&problem, &searched(&problem, 5, 400).best()).unwrap();
    assert!(proof.cost <= found.cost);
    proof.cost
}

#[test]
fn what_is_proved_keeps_the_sick_last_and_the_crew_out_of_what_is_aired() {
    let free = least(|_| {});
    let sick = least(|problem| problem.jobs[0].last_in_day = true);
    assert!(sick > free, "{sick} beside {free}");
    // Each room is aired for so long that the other bench can only be worked at before or after.
    let aired = |crew_out: bool| {
        least(|problem| {
            problem.crew_out = crew_out;
            for job in &mut problem.jobs {
                job.dose.airing = 8;
            }
        })
    };
    assert!(aired(true) > aired(false));
}

#[test]
fn what_is_one_persons_overtime_may_be_anothers_day() {
    // Tobit comes late and stays late; Ines is paid for the evening. Only the names tell what it costs.
    let mut problem = farm();
    problem.kits = 2;
    problem.stocks[0].initial_ml = 9_000;
    problem.water.tank_l = 3_000;
    problem.water.initial_l = 3_000;
    for shift in &mut problem.people[1].shifts {
        let day = shift.span.from / DAY * DAY;
        *shift = if shift.overtime {
            let (from, to) = (day + 74, day + 80);
            Shift {
                span: Span { from, to },
                overtime: true,
            }
        } else {
            let (from, to) = (day + 44, day + 74);
            Shift {
                span: Span { from, to },
                overtime: false,
            }
        };
    }
    for job in &mut problem.jobs {
        job.release = 46;
        job.due = 75;
        job.weight = 3;
    }
    let long = searched(&problem, 3, 1_500);
    let reckoned = verify(&problem, &long.best()).unwrap();
    let proof = proof(&problem, &first_plan(&problem), 60_000);
    assert!(proof.proved, "{proof:?}");
    assert!(proof.cost <= reckoned.cost && proof.cost > 0);
    assert_eq!(verify(&problem, &proof.plan).unwrap().cost, proof.cost);
}

#[test]
fn a_proof_repeats_and_stops_when_told_to() {
    let problem = any_farm(8);
    let plan = first_plan(&problem);
    assert_eq!(proof(&problem, &plan, 800), proof(&problem, &plan, 800));
    let stopped = Budget {
        steps: u64::MAX,
        stop: &|| true,
    };
    let proof = prove(&problem, &plan, &Pumpkin, stopped).unwrap();
    assert_eq!(proof.plan, plan);
    // A plan that does not hold is not proved to be anything.
    let mut broken = plan.clone();
    broken.jobs.clear();
    broken.unplaced.clear();
    assert!(problem.jobs.is_empty() || prove(&problem, &broken, &Pumpkin, FEW).is_none());
}

#[test]
fn with_the_prover_the_same_steps_give_the_same_plan() {
    let problem = any_farm(21);
    let effort = Effort {
        number: 4,
        steps: 80,
        threads: 2,
        proof: 6,
    };
    let asked = || improve(&problem, None, effort, &|| false, &mut |_| {}).unwrap();
    let (one, two) = (asked(), asked());
    assert_eq!(one, two);
    assert!(one.bound.cost <= one.best.reckoned.cost || one.best.reckoned.unplaced > 0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn what_is_proved_best_is_never_beaten(number: u64) {
        let problem = any_farm(number);
        let plan = searched(&problem, number, 20).best();
        let in_hand = verify(&problem, &plan).unwrap();
        let proof = proof(&problem, &plan, 2_000);
        let reckoned = verify(&problem, &proof.plan);
        prop_assert!(reckoned.is_ok(), "{reckoned:?}");
        let reckoned = reckoned.unwrap();
        prop_assert_eq!(reckoned.cost, proof.cost);
        prop_assert!((reckoned.unplaced, reckoned.cost) <= (in_hand.unplaced, in_hand.cost));
        let later = verify(&problem, &searched(&problem, number ^ 1, 200).best()).unwrap();
        let hopeless = alone(&problem).iter().filter(|one| one.is_none()).count();
        if later.unplaced == hopeless {
            prop_assert!(proof.bound <= later.cost, "{} above {}", proof.bound, later.cost);
        }
        if proof.proved {
            prop_assert!((reckoned.unplaced, reckoned.cost) <= (later.unplaced, later.cost));
        }
    }

    #[test]
    fn a_part_leaves_the_others_what_they_have(number: u64, size in 1_usize..6) {
        let problem = any_farm(number);
        let plan = first_plan(&problem);
        let jobs: Vec<usize> = plan.jobs.iter().map(|placed| placed.job).take(size).collect();
        let others: Vec<&PlacedJob> =
            plan.jobs.iter().filter(|placed| !jobs.contains(&placed.job)).collect();
        let own = part::part(&problem, &jobs, &others);
        let own = own.check();
        prop_assert!(own.is_ok(), "{own:?}");
        let own = own.unwrap();
        let in_hand = part::plan_of(&plan, &jobs);
        prop_assert!(verify(&own, &in_hand).is_ok(), "{:?}", verify(&own, &in_hand));
        // Any other plan of the part fits in among the others.
        let other = part::with(&plan, &jobs, &searched(&own, number, 30).best());
        prop_assert!(verify(&problem, &other).is_ok(), "{:?}", verify(&problem, &other));
    }
}
