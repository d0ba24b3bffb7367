//! Draining, overflows and mixing.

use slackwater::science::drain::{Draining, full_pipe_time, full_pipe_time_at};
use slackwater::science::flood_time::{Flooding, Rise, flood_time};
use slackwater::science::mixing::{mixed_after, turnovers, turnovers_until};
use slackwater::science::orifice::{Edge, Hole};
use slackwater::science::overflow::{Standpipe, WEIR_COEFFICIENT};
use slackwater::science::pipe::Run;
use slackwater::science::pump::Band;
use slackwater::science::quantity::{WaterTemperature, litres, metres, millimetres};
use slackwater::science::viscosity::Liquid;
use uom::si::area::{square_foot, square_meter};
use uom::si::f64::{Area, Length, Time, VolumeRate};
use uom::si::length::{foot, millimeter};
use uom::si::time::{hour, minute, second};
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use crate::near::{within_amount, within_part};
use crate::rows::{Answer, Row, hold, value};

/// Rows that take 9.81 m/s²: a flow goes with the root of gravity, a time with its inverse.
fn other_gravity(g: f64) -> f64 {
    (g / 9.80665f64).sqrt()
}

fn square_metres(value: f64) -> Area {
    Area::new::<square_meter>(value)
}

fn water() -> Liquid {
    Liquid::water(WaterTemperature::TWENTY)
}

fn bench_hole(bore: f64, edge: Edge) -> Option<Answer> {
    let hole = Hole::new(millimetres(bore), edge).unwrap();
    let time = hole
        .drain_time(square_metres(2.88), metres(0.05), metres(0.0))
        .unwrap();
    value(time.get::<minute>())
}

fn bench(drop: f64) -> Draining {
    Draining {
        free_area: square_metres(2.88),
        from: metres(0.05),
        to: metres(0.0),
        drop: metres(drop),
    }
}

fn bench_pipe(bore: f64, length: f64, k: f64, drop: f64) -> Option<Answer> {
    let pipe = Run::new(millimetres(bore), metres(length), k).unwrap();
    value(
        full_pipe_time(&bench(drop), &pipe, &water())
            .unwrap()
            .get::<minute>(),
    )
}

/// Rim, mouth and what governs, at a head over a standpipe.
fn standpipe(bore: f64, head: f64) -> Option<Answer> {
    let capacity = Standpipe::new(millimetres(bore))
        .unwrap()
        .capacity(millimetres(head))
        .unwrap();
    let flows = [capacity.rim, capacity.mouth, capacity.flow()];
    Some(Answer::Values(
        flows.map(|flow| flow.get::<liter_per_minute>()).to_vec(),
    ))
}

/// Time of the worked flooding, in minutes, and that at its first flow held constant.
fn flooding() -> (f64, f64) {
    let free = VolumeRate::new::<liter_per_minute>(25.0);
    let pump = Band::from_two_points(metres(2.4), free).unwrap();
    let run = Run::new(millimetres(19.05), metres(3.0), 5.0).unwrap();
    let rise = Rise {
        free_area: square_metres(1.2096),
        depth: metres(0.075),
        lift: metres(0.9),
        reservoir_area: Some(square_metres(0.30)),
    };
    match flood_time(&rise, &pump.upper, &run, &water()).unwrap() {
        Flooding::Floods { time, first, .. } => {
            let constant: Time = rise.free_area * rise.depth / first;
            (time.get::<minute>(), constant.get::<minute>())
        }
        Flooding::Stalls { .. } => panic!("the pump reaches the bench"),
    }
}

fn answer(row: &Row) -> Option<Answer> {
    let flow = VolumeRate::new::<liter_per_minute>;
    match row.id.as_str() {
        "DRAIN-001" => {
            let bore =
                Length::new::<millimeter>((5.0f64 * 4.0 / std::f64::consts::PI).sqrt() * 25.4);
            let hole = Hole::new(bore, Edge::Measured(1.0)).unwrap();
            let tank = Area::new::<square_foot>(std::f64::consts::PI / 4.0 * 16.0);
            let feet = Length::new::<foot>;
            let time = hole
                .drain_time(tank, feet(6.0), feet(2.0))
                .unwrap()
                .get::<second>();
            within_amount(time, 94.0, 1.0)
        }
        "DRAIN-003" => {
            let hole = Hole::new(millimetres(16.0), Edge::Measured(0.5959206)).unwrap();
            let flow = hole
                .flow(metres(1.5))
                .unwrap()
                .get::<cubic_meter_per_second>();
            within_part(&[(flow * other_gravity(9.81), 0.65e-3)], 1e-6)
        }
        "DRAIN-004" => {
            let hole = Hole::new(millimetres(40.0), Edge::Sharp).unwrap();
            let flow = hole
                .flow(metres(10.0))
                .unwrap()
                .get::<cubic_meter_per_second>();
            value(flow * other_gravity(9.81))
        }
        "DRAIN-005" => {
            let hole = Hole::new(millimetres(100.0), Edge::Measured(0.7)).unwrap();
            let areas = (square_metres(2.0), square_metres(0.8));
            let time = hole
                .level_time(areas.0, areas.1, metres(1.5), metres(0.5))
                .unwrap();
            value(time.get::<second>() / other_gravity(9.81))
        }
        "DRAIN-006" => bench_hole(12.7, Edge::Sharp),
        "DRAIN-007" => bench_hole(19.05, Edge::Sharp),
        "DRAIN-009" => bench_hole(25.4, Edge::ShortTube),
        "DRAIN-011" => bench_pipe(12.7, 1.5, 1.5, 0.6),
        "DRAIN-012" => bench_pipe(19.05, 1.5, 1.5, 0.6),
        "DRAIN-014" => bench_pipe(19.05, 1.5, 1.5, 0.3),
        "DRAIN-015" => bench_pipe(19.05, 3.0, 3.5, 0.6),
        "DRAIN-016" => {
            let pipe = Run::new(millimetres(19.05), metres(1.5), 1.5).unwrap();
            let time = full_pipe_time_at(&bench(0.6), &pipe, 0.028).unwrap();
            value(time.get::<minute>())
        }
        "OVERFLOW-001" => {
            // 0.552 takes the coefficient from feet to metres.
            let in_feet = WEIR_COEFFICIENT / 0.552;
            Some(Answer::Holds(
                (2.8..=3.33).contains(&in_feet) && (in_feet - 3.0).abs() < 0.01,
            ))
        }
        "OVERFLOW-002" => {
            let pipe = Standpipe::new(millimetres(32.0)).unwrap();
            Some(Answer::Holds([5.0, 20.0].iter().all(|head| {
                let capacity = pipe.capacity(millimetres(*head)).unwrap();
                capacity.flow() <= capacity.rim && capacity.flow() <= capacity.mouth
            })))
        }
        "OVERFLOW-003" => standpipe(19.05, 5.0),
        "OVERFLOW-004" => standpipe(19.05, 10.0),
        "OVERFLOW-006" => standpipe(19.05, 30.0),
        "OVERFLOW-007" => standpipe(25.4, 5.0),
        "OVERFLOW-008" => standpipe(25.4, 10.0),
        "OVERFLOW-011" => standpipe(32.0, 5.0),
        "OVERFLOW-012" => standpipe(32.0, 10.0),
        "OVERFLOW-013" => standpipe(32.0, 20.0),
        "OVERFLOW-014" => standpipe(32.0, 30.0),
        "OVERFLOW-015" => standpipe(38.1, 5.0),
        "OVERFLOW-016" => standpipe(38.1, 10.0),
        "OVERFLOW-017" => standpipe(38.1, 20.0),
        "OVERFLOW-018" => standpipe(38.1, 30.0),
        "OVERFLOW-021" => standpipe(50.0, 20.0),
        "OVERFLOW-022" => standpipe(50.0, 30.0),
        "OVERFLOW-023" => {
            let pipe = Standpipe::new(millimetres(32.0)).unwrap();
            let meet = pipe.capacity(millimetres(32.0 * 0.4001829)).unwrap();
            within_part(&[((meet.rim / meet.mouth).value, 1.0)], 1e-6)
        }
        "OVERFLOW-024" => {
            let pipe = Standpipe::new(millimetres(32.0)).unwrap();
            let head = pipe.head_needed(flow(25.0)).unwrap().get::<millimeter>();
            let rim = pipe
                .capacity(millimetres(18.404))
                .unwrap()
                .rim
                .get::<liter_per_minute>();
            within_part(&[(head, 38.014), (rim, 25.0)], 1e-4)
        }
        "MIX-001" => within_part(&[(mixed_after(0.5).unwrap(), 0.3934693)], 2e-7),
        "MIX-002" => within_part(&[(mixed_after(1.0).unwrap(), 0.6321206)], 2e-7),
        "MIX-006" => within_part(&[(mixed_after(5.0).unwrap(), 0.9932621)], 2e-7),
        "MIX-007" => within_part(&[(mixed_after(6.0).unwrap(), 0.9975212)], 2e-7),
        "MIX-008" => Some(Answer::Values(
            [1.0, 2.0, 3.0]
                .map(|n| 100.0 * mixed_after(n).unwrap())
                .to_vec(),
        )),
        "MIX-009" => within_amount(100.0 * mixed_after(1.0).unwrap(), 63.0, 0.5),
        "MIX-010" => Some(Answer::Values(
            [0.95, 0.99, 0.999]
                .map(|part| turnovers_until(part).unwrap())
                .to_vec(),
        )),
        "MIX-011" => {
            let n = turnovers(flow(12.6), Time::new::<hour>(4.0), litres(160.0)).unwrap();
            value(n)
        }
        "MIX-012" => {
            // One turnover is the time in which the flow brings the volume.
            let seven = Time::new::<minute>(7.2);
            let flow = VolumeRate::new::<liter_per_minute>(12.6);
            let one = turnovers(flow, seven, litres(90.72)).unwrap();
            within_part(&[(one, 1.0)], 1e-9)
        }
        "MIX-013" => value(flooding().0),
        "MIX-014" => value(flooding().1),
        _ => None,
    }
}

#[test]
fn drains_overflows_and_mixing() {
    hold("basins.csv", answer);
}
