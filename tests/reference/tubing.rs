//! Friction in tubing, and pumps.

use slackwater::science::fitting::Fitting;
use slackwater::science::pipe::{Regime, Run, colebrook, friction_factor, haaland};
use slackwater::science::pump::{Band, Curve, Operating};
use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
use slackwater::science::viscosity::Liquid;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::VolumeRate;
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::volume_rate::liter_per_minute;

use crate::near::within_part;
use crate::rows::{Answer, Row, hold, value};

fn water(celsius: f64) -> Liquid {
    Liquid::water(WaterTemperature::new(celsius).unwrap())
}

fn litres_per_min(value: f64) -> VolumeRate {
    VolumeRate::new::<liter_per_minute>(value)
}

/// Loss of a metre of smooth tube.
fn slope(flow: f64, bore: f64, celsius: f64) -> f64 {
    let run = Run::new(millimetres(bore), metres(1.0), 0.0).unwrap();
    run.loss(litres_per_min(flow), &water(celsius))
        .unwrap()
        .head()
        .get::<meter>()
}

/// Flow and head of the pump of 2.4 m and 25 L/min.
fn meets(
    curve: fn(&Band) -> Curve,
    lift: f64,
    bore: f64,
    length: f64,
    k: f64,
    celsius: f64,
) -> Option<Answer> {
    let pump = curve(&Band::from_two_points(metres(2.4), litres_per_min(25.0)).unwrap());
    let run = Run::new(millimetres(bore), metres(length), k).unwrap();
    match pump
        .operating_point(metres(lift), &run, &water(celsius))
        .unwrap()
    {
        Operating::Flow(point) => Some(Answer::Values(vec![
            point.flow.get::<liter_per_minute>(),
            point.head.get::<meter>(),
        ])),
        Operating::NoFlow => Some(Answer::Values(vec![0.0, 2.4])),
    }
}

/// Density to 4 and viscosity to 5 parts in a million: Kell's density, 1975, stands up to 3 parts
/// below IAPWS-95, of 1995, and viscosity is reckoned with it.
fn liquid(celsius: f64, density: f64, micro_pascal_seconds: f64) -> Option<Answer> {
    let water = water(celsius);
    within_part(
        &[
            (water.density().get::<kilogram_per_cubic_meter>(), density),
            (
                water.viscosity().get::<pascal_second>() * 1e6,
                micro_pascal_seconds,
            ),
        ],
        5e-6,
    )
}

fn factors(re: f64, e: f64, by_colebrook: f64, by_haaland: f64) -> Option<Answer> {
    let close = |got: f64, expected: f64| (got - expected).abs() <= 1e-7;
    Some(Answer::Holds(
        close(colebrook(re, e).unwrap(), by_colebrook)
            && close(haaland(re, e).unwrap(), by_haaland),
    ))
}

fn answer(row: &Row) -> Option<Answer> {
    let hazen = "the Hazen-Williams rule is not offered: it states too little loss";
    let k = |fitting: Fitting| value(fitting.k());
    match row.id.as_str() {
        "PIPE-002" => liquid(10.0, 999.70247, 1305.8997),
        "PIPE-004" => liquid(20.0, 998.20715, 1001.5961),
        "PIPE-007" => liquid(35.0, 994.03331, 719.1256),
        "PIPE-008" => liquid(40.0, 992.21635, 652.7287),
        "PIPE-011" => factors(1e4, 0.0, 0.03088295, 0.03088620),
        "PIPE-012" => factors(1e5, 0.0, 0.01798977, 0.01782494),
        "PIPE-013" => factors(1e5, 1e-4, 0.01851387, 0.01826505),
        "PIPE-014" => factors(13_700.0, 0.000375, 0.02912138, 0.02891365),
        "PIPE-015" => factors(254_600.0, 0.0026, 0.02573460, 0.02571623),
        "PIPE-016" => Some(Answer::Left(
            "Blasius' formula is not used: Colebrook covers smooth tube",
        )),
        "PIPE-017" => {
            let (f, regime) = friction_factor(1500.0, 0.0).unwrap();
            Some(Answer::Holds(
                regime == Regime::Laminar && (f - 64.0 / 1500.0).abs() < 1e-12,
            ))
        }
        "PIPE-018" => {
            let velocity = 0.02 / (std::f64::consts::PI / 4.0 * 0.1f64.powi(2));
            let (f, _) = friction_factor(254_648.0, 0.0026).unwrap();
            within_part(
                &[(f * 200.0 / 0.1 * velocity.powi(2) / (2.0 * 9.81), 16.76)],
                0.02,
            )
        }
        "PIPE-019" => Some(Answer::Left(
            "a capillary of 0.75 mm is below the range of a tubing run",
        )),
        "PIPE-020" => within_part(&[(colebrook(13_743.0, 0.000375).unwrap(), 0.0291)], 0.02),
        "PIPE-021" => within_part(&[(slope(4.0, 9.0, 10.0), 0.2111547)], 1e-5),
        "PIPE-022" => within_part(&[(slope(4.0, 9.0, 35.0), 0.1811023)], 1e-5),
        "PIPE-025" => within_part(&[(slope(20.0, 19.05, 20.0), 0.09302899)], 1e-5),
        "PIPE-026" => within_part(&[(slope(25.0, 19.05, 20.0), 0.1379732)], 1e-5),
        "PIPE-028" => within_part(&[(slope(60.0, 32.0, 20.0), 0.05459161)], 1e-5),
        "PIPE-029" => within_part(&[(slope(2.0, 19.05, 20.0), 0.001752689)], 1e-5),
        "PIPE-030" => within_part(&[(slope(1.0, 25.4, 20.0), 0.0001669265)], 1e-5),
        "PIPE-031" | "PIPE-032" | "PIPE-033" | "PIPE-034" => Some(Answer::Left(hazen)),
        "PIPE-035" => {
            let worst = table()
                .iter()
                .filter(|point| point.regime == "turbulent")
                .map(|point| {
                    let e = 0.0015 / point.bore_mm;
                    (haaland(point.reynolds, e).unwrap() / colebrook(point.reynolds, e).unwrap()
                        - 1.0)
                        .abs()
                })
                .fold(0.0, f64::max);
            println!(
                "  Haaland against Colebrook in the table: at most {:.2} %",
                worst * 100.0
            );
            Some(Answer::Holds(worst > 0.005 && worst <= 0.013))
        }
        "PIPE-036" => k(Fitting::EntranceFlush),
        "PIPE-037" => k(Fitting::EntranceStandingIn),
        "PIPE-038" => k(Fitting::EntranceRounded),
        "PIPE-040" => k(Fitting::Elbow90Threaded),
        "PIPE-041" => k(Fitting::Elbow90Long),
        "PIPE-043" => k(Fitting::ReturnBend),
        "PIPE-044" => k(Fitting::TeeRun),
        "PIPE-045" => k(Fitting::TeeBranch),
        "PIPE-046" => k(Fitting::Union),
        "PIPE-049" => k(Fitting::GlobeValve),
        "PIPE-050" => k(Fitting::SwingCheck),
        "PIPE-052" => Some(Answer::Left(
            "a barb is reckoned by the textbook's contraction, not by this method",
        )),
        "PIPE-053" => within_part(
            &[(Fitting::EntranceFlush.k(), 0.57), (Fitting::Exit.k(), 1.0)],
            0.3,
        ),
        "PUMP-001" => {
            // The system of the problem is a pure square: fittings alone, on a tube of no length.
            let area = std::f64::consts::PI / 4.0 * 0.02f64.powi(2);
            let k = 0.0261 * 60_000f64.powi(2) * 2.0 * 9.80665 * area.powi(2);
            let run = Run::new(millimetres(20.0), metres(0.0), k).unwrap();
            let pump =
                Band::from_two_points(metres(7.46), litres_per_min((7.46f64 / 0.0453).sqrt()));
            match pump
                .unwrap()
                .upper
                .operating_point(metres(3.52), &run, &water(20.0))
                .unwrap()
            {
                Operating::Flow(point) => within_part(
                    &[
                        (point.flow.get::<liter_per_minute>(), 7.42846),
                        (point.head.get::<meter>(), 4.96025),
                    ],
                    1e-4 / 7.0,
                ),
                Operating::NoFlow => Some(Answer::Holds(false)),
            }
        }
        "PUMP-002" => {
            let curve = Curve::from_duty_point(metres(1.0), litres_per_min(300.0)).unwrap();
            within_part(
                &[
                    (curve.shut_off_head().get::<meter>(), 4.0 / 3.0),
                    (curve.free_flow().get::<liter_per_minute>(), 600.0),
                    (curve.head(litres_per_min(300.0)).get::<meter>(), 1.0),
                ],
                1e-12,
            )
        }
        "PUMP-003" => {
            // A tenth of the row's heads and flows, to stay within a bench pump's range.
            let at = |flow, head| (litres_per_min(flow), metres(head));
            let curve =
                Curve::from_three_points(metres(20.0), at(100.0, 10.0), at(300.0, 0.0)).unwrap();
            let head = curve.head(litres_per_min(200.0)).get::<meter>() * 10.0;
            within_part(&[(curve.exponent(), 0.6309298), (head, 45.14373)], 1e-6)
        }
        "PUMP-005" => meets(|band| band.upper, 0.9, 19.05, 3.0, 5.0, 20.0),
        "PUMP-008" => meets(|band| band.upper, 0.9, 25.4, 3.0, 5.0, 20.0),
        "PUMP-010" => meets(|band| band.upper, 1.2, 16.0, 4.0, 6.0, 20.0),
        "PUMP-011" => meets(|band| band.upper, 2.0, 19.05, 3.0, 5.0, 20.0),
        "PUMP-012" => meets(|band| band.lower, 0.9, 19.05, 3.0, 5.0, 20.0),
        "PUMP-013" => meets(|band| band.lower, 0.9, 12.7, 3.0, 5.0, 20.0),
        "PUMP-014" => meets(|band| band.lower, 0.9, 19.05, 3.0, 5.0, 10.0),
        "PUMP-015" => meets(|band| band.lower, 0.9, 25.4, 3.0, 5.0, 20.0),
        "PUMP-017" => meets(|band| band.lower, 1.2, 16.0, 4.0, 6.0, 20.0),
        "PUMP-018" => meets(|band| band.lower, 2.0, 19.05, 3.0, 5.0, 20.0),
        "PUMP-019" => {
            let pump = Band::from_two_points(metres(2.4), litres_per_min(25.0)).unwrap();
            let run = Run::new(millimetres(19.05), metres(3.0), 5.0).unwrap();
            let point = pump.upper.operating_point(metres(2.5), &run, &water(20.0));
            Some(Answer::Holds(point == Ok(Operating::NoFlow)))
        }
        "PUMP-020" => {
            let full = Curve::from_duty_point(metres(1.5), litres_per_min(15.0)).unwrap();
            let slow = full.at_speed(0.8).unwrap();
            within_part(
                &[
                    ((slow.free_flow() / full.free_flow()).value, 0.8),
                    ((slow.shut_off_head() / full.shut_off_head()).value, 0.64),
                ],
                1e-12,
            )
        }
        "PUMP-021" => Some(Answer::Left("the power of a pump is not reckoned")),
        _ => None,
    }
}

#[test]
fn tubing_and_pumps() {
    hold("tubing.csv", answer);
}

struct Point {
    celsius: f64,
    bore_mm: f64,
    flow: f64,
    velocity: f64,
    reynolds: f64,
    regime: String,
    factor: f64,
    head_per_m: f64,
}

/// The table of smooth tube, reckoned by another program.
fn table() -> Vec<Point> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/pipe_friction.csv"
    );
    let mut reader = csv::Reader::from_path(path).unwrap();
    let heads = reader.headers().unwrap().clone();
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let columns = [
        "temp_C",
        "inner_diameter_mm",
        "flow_L_per_min",
        "velocity_m_per_s",
        "reynolds",
        "f_darcy_default_fluids",
        "head_loss_m_per_m_default",
    ]
    .map(column);
    let regime = column("regime");
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let [
                celsius,
                bore_mm,
                flow,
                velocity,
                reynolds,
                factor,
                head_per_m,
            ] = columns.map(|column| record[column].parse().unwrap());
            let regime = record[regime].to_owned();
            Point {
                celsius,
                bore_mm,
                flow,
                velocity,
                reynolds,
                regime,
                factor,
                head_per_m,
            }
        })
        .collect()
}

#[test]
fn every_point_of_the_friction_table() {
    let (mut count, mut worst) = ([0; 3], 0.0f64);
    for point in table() {
        let run = Run::new(millimetres(point.bore_mm), metres(1.0), 0.0).unwrap();
        let loss = run
            .loss(litres_per_min(point.flow), &water(point.celsius))
            .unwrap();
        let (f, regime) = friction_factor(loss.reynolds, 0.0015 / point.bore_mm).unwrap();
        let off = [
            loss.velocity.value / point.velocity,
            loss.reynolds / point.reynolds,
            f / point.factor,
            loss.head().get::<meter>() / point.head_per_m,
        ]
        .map(|ratio| (ratio - 1.0).abs())
        .into_iter()
        .fold(0.0, f64::max);
        worst = worst.max(off);
        // The table prints six digits.
        assert!(
            off < 5e-4,
            "{} L/min in {} mm: {off}",
            point.flow,
            point.bore_mm
        );
        let expected = match point.regime.as_str() {
            "laminar" => Regime::Laminar,
            "transitional" => Regime::Transitional,
            _ => Regime::Turbulent,
        };
        assert_eq!(
            regime, expected,
            "{} L/min in {} mm",
            point.flow, point.bore_mm
        );
        count[regime as usize] += 1;
    }
    println!("friction table: {count:?} laminar, transitional, turbulent; worst part {worst:.1e}");
    assert!(count.iter().all(|n| *n > 20));
}
