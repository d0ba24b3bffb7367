//! Purified water, series of readings, and rules of thumb.

use slackwater::science::chart::{Cusum, ewma, ewma_limits, running_sum};
use slackwater::science::flow_test::from_bucket;
use slackwater::science::quantity::{WaterTemperature, litres};
use slackwater::science::ro::{
    Draw, buffer, correction_by_formula, correction_by_table, flow_at, in_litres_per_hour,
    litres_per_hour,
};
use slackwater::science::statistics::mean_and_sd;
use slackwater::science::trend::{mann_kendall, theil_sen};
use slackwater::science::units::US_GALLON_LITRES;
use uom::si::f64::Time;
use uom::si::time::{minute, second};
use uom::si::volume::liter;
use uom::si::volume_rate::liter_per_minute;

use crate::near::{within_amount, within_part};
use crate::rows::{Answer, Row, hold, value};

const NIST_EWMA: [f64; 20] = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2,
    52.6, 52.4, 53.6, 52.1,
];
const NIST_CUSUM: [f64; 20] = [
    324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625,
    325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
];
const TEXTBOOK: [f64; 20] = [
    102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1, 101.3, 98.7, 101.1, 98.4, 97.0,
    96.7, 100.3, 101.4, 97.2, 101.0,
];
const BUCKETS: [f64; 12] = [
    12.9, 12.8, 13.0, 12.7, 12.8, 12.5, 12.6, 12.4, 12.5, 12.2, 12.3, 12.0,
];

fn at(celsius: f64) -> WaterTemperature {
    WaterTemperature::new(celsius).unwrap()
}

fn nist() -> Cusum {
    Cusum::of(&NIST_CUSUM, 325.0, 0.3175).unwrap()
}

fn table(celsius: f64, factor: f64) -> Option<Answer> {
    within_part(
        &[(correction_by_table(at(celsius)).unwrap(), factor)],
        1e-12,
    )
}

fn answer(row: &Row) -> Option<Answer> {
    let formula = |celsius| value(correction_by_formula(at(celsius)));
    match row.id.as_str() {
        "RO-001" => formula(10.0),
        "RO-002" => formula(12.0),
        "RO-003" => formula(15.0),
        "RO-004" => formula(18.0),
        "RO-005" => formula(20.0),
        "RO-006" => formula(22.0),
        "RO-008" => formula(25.0),
        "RO-009" => formula(26.0),
        "RO-010" => formula(28.0),
        "RO-012" => table(5.0, 2.58),
        "RO-015" => table(20.0, 1.19),
        "RO-016" => table(25.0, 1.0),
        "RO-017" => table(30.0, 0.85),
        "RO-018" => {
            // The row counts gallons a day; only the ratio matters.
            let rated = litres_per_hour(1800.0);
            let by_formula = 1800.0 / correction_by_formula(at(15.0));
            let by_table = 1800.0 / correction_by_table(at(15.0)).unwrap();
            let planned = in_litres_per_hour(flow_at(rated, at(15.0)).unwrap());
            let close = |got: f64, expected: f64| (got - expected).abs() <= 1.0;
            Some(Answer::Holds(
                close(by_formula, 1266.0) && close(by_table, 1224.0) && close(planned, 1224.0),
            ))
        }
        "RO-020" => {
            let draws: Vec<Draw> = (0..4)
                .map(|n| Draw {
                    at: Time::new::<minute>(45.0 * f64::from(n)),
                    volume: litres(90.0),
                })
                .collect();
            value(
                buffer(&draws, litres_per_hour(7.0))
                    .unwrap()
                    .volume
                    .get::<liter>(),
            )
        }
        "STAT-001" => Some(Answer::Values(ewma(&NIST_EWMA, 50.0, 0.3).unwrap())),
        "STAT-002" => {
            let (low, high) = ewma_limits(50.0, 2.0539, 0.3, 3.0).unwrap();
            Some(Answer::Values(vec![high, low]))
        }
        "STAT-003" => Some(Answer::Holds(nist().first_high_over(4.1959) == Some(13))),
        "STAT-004" => Some(Answer::Values(nist().high)),
        "STAT-005" => Some(Answer::Values(nist().low)),
        "STAT-006" => {
            let (mean, sd) = mean_and_sd(&NIST_CUSUM).unwrap();
            Some(Answer::Values(vec![mean, sd]))
        }
        "STAT-007" => Some(Answer::Values(running_sum(&TEXTBOOK, 99.0))),
        "STAT-008" => {
            let sums = Cusum::of(&TEXTBOOK, 99.0, 1.0).unwrap();
            let most = |sums: &[f64]| sums.iter().copied().fold(0.0, f64::max);
            let quiet = sums
                .first_high_over(10.0)
                .or(sums.first_low_over(10.0))
                .is_none();
            Some(if quiet {
                Answer::Values(vec![most(&sums.high), most(&sums.low)])
            } else {
                Answer::Holds(false)
            })
        }
        "STAT-009" => {
            // Months are counted from 1.
            let points: Vec<(f64, f64)> = (1..).map(f64::from).zip(BUCKETS).collect();
            let slope = theil_sen(&points).unwrap();
            Some(Answer::Values(vec![
                slope.slope,
                slope.intercept,
                slope.low,
                slope.high,
            ]))
        }
        "STAT-010" => {
            let test = mann_kendall(&BUCKETS).unwrap();
            within_part(
                &[
                    (test.s, -52.0),
                    (test.variance, 210.666667),
                    (test.z, -3.513761373),
                    (test.p, 0.000441809515),
                ],
                2e-9,
            )
        }
        "STAT-012" => {
            let rising: Vec<f64> = (0..12).map(f64::from).collect();
            within_amount(mann_kendall(&rising).unwrap().variance, 212.6667, 5e-5)
        }
        "STAT-013" => {
            let times = [1.0, 1.0, 1.0, 2.0, 3.0, 3.0, 4.0, 5.0];
            let values = [10.0, 22.0, 21.0, 30.0, 22.0, 30.0, 40.0, 40.0];
            let points: Vec<(f64, f64)> = times.into_iter().zip(values).collect();
            let slope = theil_sen(&points).unwrap();
            Some(Answer::Values(vec![slope.pairs as f64, slope.slope]))
        }
        "STAT-015" => {
            let seconds = Time::new::<second>;
            let test = from_bucket(litres(10.0), litres(0.1), seconds(47.6), seconds(0.5)).unwrap();
            Some(Answer::Values(
                [test.flow, test.error]
                    .map(|flow| flow.get::<liter_per_minute>())
                    .to_vec(),
            ))
        }
        "RULE-002" | "RULE-003" | "RULE-004" | "RULE-005" | "RULE-006" | "RULE-007"
        | "RULE-009" | "RULE-010" => Some(Answer::Left(
            "advice for laying out benches, not a model here",
        )),
        "RULE-011" => {
            // A cubic inch is 16.387064 mL exactly.
            let layer = 144.0 * 0.016_387_064;
            within_part(&[(layer / US_GALLON_LITRES, 0.6233766)], 1e-7)
        }
        _ => None,
    }
}

#[test]
fn membranes_series_and_rules() {
    hold("readings.csv", answer);
}
