//! Rinses, decay and contact.

use slackwater::science::decay::{DecayRate, DirectFit, LogLine};
use slackwater::science::quantity::{Celsius, litres};
use slackwater::science::rinse::{RinseOutlook, Rinsing, left_by_flush};
use slackwater::science::soak::{Contact, cold_factor};
use uom::si::f64::{MassConcentration, Time};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::ratio::ratio;
use uom::si::time::minute;

use crate::near::within_part;
use crate::rows::{Answer, Row, hold};

/// Minutes and mg/L of the worked decay.
const READINGS: [(f64, f64); 5] = [
    (0.0, 200.0),
    (10.0, 170.0),
    (20.0, 150.0),
    (40.0, 110.0),
    (60.0, 80.0),
];

fn mg(value: f64) -> MassConcentration {
    MassConcentration::new::<milligram_per_liter>(value)
}

fn rinsing(start: f64, retained: f64, fill: f64, mixing: f64) -> Rinsing {
    Rinsing::new(mg(start), mg(0.0), litres(retained), litres(fill), mixing).unwrap()
}

/// What is carried over, rinses from 300 to 1 mg/L, and what they leave.
fn rinses(drainable: f64, retained: f64) -> [f64; 3] {
    let rinsing = rinsing(300.0, retained, drainable, 1.0);
    match rinsing.needed(mg(1.0)).unwrap() {
        RinseOutlook::Expected(estimate) | RinseOutlook::TooMany(estimate) => [
            rinsing.carried_over().get::<ratio>(),
            f64::from(estimate.rinses),
            estimate.residual.milligrams_per_litre(),
        ],
        RinseOutlook::FreshWaterTooStrong => panic!("the fresh water is clean"),
    }
}

fn rate(per_minute: f64) -> DecayRate {
    DecayRate::per_minute(per_minute).unwrap()
}

fn soak(start: f64, per_minute: f64, minutes: f64) -> f64 {
    Contact::of_soak(mg(start), rate(per_minute), Time::new::<minute>(minutes))
        .unwrap()
        .mg_min_per_litre()
}

fn flushed(water: f64, system: f64) -> f64 {
    left_by_flush(litres(water), litres(system))
        .unwrap()
        .get::<ratio>()
}

/// What three rinses of a fifth of a 640 fl oz container leave of 4 fl oz.
fn triple_rinse() -> f64 {
    rinsing(1e5, 4.0, 128.0, 1.0)
        .after(3)
        .milligrams_per_litre()
        / 1e5
}

fn answer(row: &Row) -> Option<Answer> {
    let at = |degrees| Celsius::new(degrees).unwrap();
    match row.id.as_str() {
        "RINSE-001" => Some(Answer::Values(rinses(0.42, 0.096).to_vec())),
        "RINSE-002" => Some(Answer::Values(rinses(0.3, 0.32).to_vec())),
        "RINSE-004" => Some(Answer::Values(rinses(0.15, 0.8).to_vec())),
        "RINSE-005" => Some(Answer::Values(rinses(0.34, 0.02).to_vec())),
        "RINSE-006" => {
            let [carried, count, left] = rinses(86.4, 2.0);
            within_part(
                &[(carried, 0.0226244), (count, 2.0), (left, 0.153560)],
                4e-6,
            )
        }
        "RINSE-008" => within_part(&[(flushed(90.0, 10.0), 0.0001234098)], 1e-7),
        "RINSE-009" => within_part(&[(flushed(90.0, 100.0), 0.4065697)], 2e-7),
        "RINSE-011" => {
            let left = rinsing(300.0, 0.186, 0.814, 0.8)
                .after(4)
                .milligrams_per_litre();
            within_part(&[(left, 4.440452)], 2e-7)
        }
        "RINSE-012" => Some(Answer::Holds(1.0 - triple_rinse() > 0.9999)),
        "RINSE-013" => within_part(&[(triple_rinse(), 2.782647e-5)], 2e-7),
        "RINSE-014" => {
            let carried = rinsing(300.0, 1.0, 99.0, 1.0).carried_over().get::<ratio>();
            within_part(&[(1.0 / carried, 100.0)], 1e-12)
        }
        "DECAY-001" => {
            let line = LogLine::through(&[(0.0, 200.0), (30.0, 120.0)]).unwrap();
            within_part(&[(line.rate, 0.01702752)], 3e-7)
        }
        "DECAY-003" => {
            let line = LogLine::through(&READINGS).unwrap();
            within_part(
                &[
                    (line.rate, 0.015171210),
                    (line.start, 200.317395),
                    (line.rate_error.unwrap(), 0.000259712),
                    (line.r_squared, 0.99912162),
                    (line.rate_half_width().unwrap(), 0.00082652),
                ],
                5e-6,
            )
        }
        "DECAY-004" => {
            let fit = DirectFit::through(&READINGS).unwrap();
            within_part(&[(fit.start, 199.77327), (fit.rate, 0.01503249)], 1e-7)
        }
        "DECAY-005" => within_part(&[(soak(200.0, 0.015, 60.0), 7912.405)], 1e-7),
        "DECAY-007" => within_part(&[(soak(100.0, 0.03, 30.0), 1978.101)], 3e-7),
        "DECAY-008" => {
            let contact = Contact::between(mg(200.0), mg(81.31393), Time::new::<minute>(60.0));
            within_part(&[(contact.unwrap().mg_min_per_litre(), 7912.405)], 1e-7)
        }
        "DECAY-009" => {
            let time = Contact::time_to(6000.0, mg(200.0), rate(0.015))
                .unwrap()
                .unwrap();
            within_part(&[(time.get::<minute>(), 39.8558)], 2e-6)
        }
        "DECAY-011" => Some(Answer::Left(
            "a caution, said where contact is reckoned from two ends",
        )),
        "DECAY-012" => within_part(&[(cold_factor(at(20.0), at(10.0)), 2.0)], 1e-12),
        "DECAY-013" => within_part(&[(cold_factor(at(20.0), at(12.0)), 1.741101)], 3e-7),
        "DECAY-014" => {
            let warm = rate(0.01).at_temperature(50.0, at(20.0), at(30.0)).unwrap();
            within_part(&[(warm.in_per_minute() / 0.01, 1.967351)], 3e-7)
        }
        _ => None,
    }
}

#[test]
fn rinses_decay_and_contact() {
    hold("soaks.csv", answer);
}
