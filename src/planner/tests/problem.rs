//! The problem: its faults, its stocks and its days.

use super::farms::{DAY, farm};
use crate::planner::*;

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
