//! Air in a room, and vapour over a solution.

use slackwater::science::air::{
    Room, cubic_feet_per_minute, fan_flow, in_cubic_feet_per_minute, oxygen_rise, time_to_remove,
};
use slackwater::science::evaporation::{FreeSurface, latent_heat, vapour_in_air};
use slackwater::science::quantity::{Celsius, Mass, MassFraction, WaterTemperature};
use slackwater::science::vapour::{
    mass_in_air, over_liquid, partial_pressures, pure_pressure, water_pressure,
};
use uom::si::area::{square_foot, square_meter};
use uom::si::available_energy::kilojoule_per_kilogram;
use uom::si::f64::{Area, MassConcentration, Time, Velocity, Volume};
use uom::si::mass::{kilogram, milligram};
use uom::si::mass_concentration::milligram_per_cubic_meter;
use uom::si::mass_rate::{kilogram_per_hour, kilogram_per_second, pound_per_minute};
use uom::si::pressure::{kilopascal, millimeter_of_mercury, pascal};
use uom::si::time::minute;
use uom::si::velocity::meter_per_second;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::{cubic_meter_per_hour, cubic_meter_per_second};

use crate::near::{within_amount, within_part};
use crate::rows::{Answer, Row, expected, hold, value};

fn mg(value: f64) -> MassConcentration {
    MassConcentration::new::<milligram_per_cubic_meter>(value)
}

fn room(changes: f64, mixing: f64) -> Room {
    Room::new(Volume::new::<cubic_meter>(200.0), changes, mixing).unwrap()
}

fn clearing(part: f64, changes: f64) -> f64 {
    time_to_remove(part, changes).unwrap().get::<minute>()
}

/// 99 and 99.9 %, of a table rounded to whole minutes.
fn two_columns(changes: f64, minutes: [f64; 2]) -> Option<Answer> {
    let close = |part, expected: f64| (clearing(part, changes) - expected).abs() <= 0.5;
    Some(Answer::Holds(
        close(0.99, minutes[0]) && close(0.999, minutes[1]),
    ))
}

/// 90, 99 and 99.9 %.
fn three_columns(changes: f64) -> Option<Answer> {
    Some(Answer::Values(
        [0.9, 0.99, 0.999]
            .map(|part| clearing(part, changes))
            .to_vec(),
    ))
}

/// The model is the row's own, so the row's 20 % would hide a slip: 1 % is asked for.
fn vapour(row: &Row, percent: f64, celsius: f64) -> Option<Answer> {
    let temperature = WaterTemperature::new(celsius).unwrap();
    let bound = over_liquid(MassFraction::from_percent(percent).unwrap(), temperature).unwrap();
    within_part(&[(bound.ppm(), expected(row))], 0.01)
}

fn surface(area: f64, air: f64) -> FreeSurface {
    FreeSurface::new(
        Area::new::<square_meter>(area),
        Velocity::new::<meter_per_second>(air),
    )
    .unwrap()
}

fn evaporation(row: &Row) -> Option<Answer> {
    match row.id.as_str() {
        "VENT-045" => {
            // The row prints the pressure in four figures and its value by all of them.
            let t = WaterTemperature::new(25.0).unwrap();
            let lost = surface(1.0, 1.5).pool(18.02, water_pressure(t), t).unwrap();
            within_part(&[(lost.get::<pound_per_minute>(), expected(row))], 5e-5)
        }
        "VENT-047" => {
            let t = WaterTemperature::new(22.0).unwrap();
            let there = vapour_in_air(60.0, t).unwrap();
            value(
                surface(2.88, 0.1)
                    .evaporates(t, there)
                    .get::<kilogram_per_hour>(),
            )
        }
        "VENT-048" => {
            // What a square metre gives off for each kilopascal that is missing, still and at 1 m/s, times
            // the latent heat: the coefficients in SI, rounded.
            let t = WaterTemperature::TWENTY;
            let heat = latent_heat(t).get::<kilojoule_per_kilogram>();
            let dry = vapour_in_air(0.0, t).unwrap();
            let each = |air| {
                let lost = surface(1.0, air).evaporates(t, dry);
                lost.get::<kilogram_per_second>() * heat / water_pressure(t).get::<kilopascal>()
            };
            let (still, moved) = (each(0.0), each(1.0) - each(0.0));
            within_part(&[(still, 0.08850), (moved, 0.07793)], 0.006)
        }
        "VENT-049" => {
            let lost = surface(500.0, 0.5)
                .evaporates_by_humidity(0.019_826, 0.0115)
                .unwrap();
            value(lost.get::<kilogram_per_second>())
        }
        _ => None,
    }
}

fn answer(row: &Row) -> Option<Answer> {
    let rule = "a rule for choosing fans and vents, not a model here";
    match row.id.as_str() {
        "VENT-001" => two_columns(2.0, [138.0, 207.0]),
        "VENT-002" => two_columns(4.0, [69.0, 104.0]),
        "VENT-004" => two_columns(8.0, [35.0, 52.0]),
        "VENT-005" => two_columns(10.0, [28.0, 41.0]),
        "VENT-006" => two_columns(12.0, [23.0, 35.0]),
        "VENT-008" => two_columns(20.0, [14.0, 21.0]),
        "VENT-009" => two_columns(50.0, [6.0, 8.0]),
        "VENT-011" => three_columns(2.0),
        "VENT-012" => three_columns(3.0),
        "VENT-013" => three_columns(4.0),
        "VENT-015" => three_columns(6.0),
        "VENT-016" => three_columns(7.0),
        "VENT-019" => three_columns(10.0),
        "VENT-020" => three_columns(11.0),
        "VENT-021" => three_columns(12.0),
        "VENT-022" => three_columns(13.0),
        "VENT-024" => three_columns(15.0),
        "VENT-025" => three_columns(16.0),
        "VENT-026" => three_columns(17.0),
        "VENT-028" => three_columns(19.0),
        "VENT-029" => three_columns(20.0),
        "VENT-031" => {
            let room = room(2.0, 1.0);
            let steady = room.steady(Mass::new::<milligram>(50.0), mg(0.0)).unwrap();
            let after = room
                .after(mg(0.0), steady, Time::new::<minute>(30.0))
                .unwrap();
            within_part(
                &[(after.get::<milligram_per_cubic_meter>(), 4.740904)],
                2e-7,
            )
        }
        "VENT-032" => {
            let steady = room(2.0, 1.0)
                .steady(Mass::new::<milligram>(50.0), mg(0.0))
                .unwrap();
            value(steady.get::<milligram_per_cubic_meter>())
        }
        "VENT-033" => {
            let time = room(6.0, 3.0)
                .time_to(mg(7.5), mg(0.0), mg(1.4))
                .unwrap()
                .unwrap();
            within_part(&[(time.get::<minute>(), 50.35292)], 2e-7)
        }
        "VENT-034" => {
            let time = room(3.0, 1.0)
                .time_to(mg(10.0), mg(1.0), mg(2.0))
                .unwrap()
                .unwrap();
            within_part(&[(time.get::<minute>(), 43.94449)], 2e-7)
        }
        "VENT-036" => within_part(&[(clearing(0.5, 6.0), 6.931472)], 2e-7),
        "VENT-038" | "VENT-041" | "VENT-042" => Some(Answer::Left(rule)),
        "VENT-039" => {
            let flow = cubic_feet_per_minute(8.0);
            let floor = Area::new::<square_foot>(1.0);
            value((flow / floor).value)
        }
        "VENT-043" => {
            let flow = fan_flow(Volume::new::<cubic_meter>(60.0), 12.0).unwrap();
            // 720 m³/h and 423.776 cubic feet a minute, by the note.
            within_part(
                &[
                    (flow.get::<cubic_meter_per_second>(), 0.2),
                    (flow.get::<cubic_meter_per_hour>(), 720.0),
                    (in_cubic_feet_per_minute(flow), 423.776),
                ],
                1e-6,
            )
        }
        "VENT-044" => {
            let one = cubic_feet_per_minute(1.0);
            within_part(&[(one.get::<cubic_meter_per_second>(), 0.0004719474)], 2e-7)
        }
        "VENT-045" | "VENT-047" | "VENT-048" | "VENT-049" => evaporation(row),
        "VENT-046" => Some(Answer::Left(
            "two published powers of the wind: the page says so and reckons with no slow air",
        )),
        "VENT-052" => {
            let (peroxide, room) = (Mass::new::<kilogram>(0.5), Volume::new::<cubic_meter>(60.0));
            value(
                oxygen_rise(peroxide, room, Celsius::new(25.0).unwrap())
                    .unwrap()
                    .points(),
            )
        }
        "VAP-002" => {
            // Another source, 15 to 20 % higher: the spread that the model states.
            let pressure = pure_pressure(WaterTemperature::TWENTY).get::<pascal>();
            within_part(&[(pressure, 214.0)], 0.20)
        }
        "VAP-004" => {
            let thirty = WaterTemperature::new(30.0).unwrap();
            let stock = MassFraction::from_percent(35.0).unwrap();
            let total = partial_pressures(stock, thirty).unwrap().total();
            value(total.get::<millimeter_of_mercury>())
        }
        "VAP-005" => vapour(row, 3.0, 20.0),
        "VAP-006" => vapour(row, 6.0, 20.0),
        "VAP-007" => vapour(row, 35.0, 20.0),
        "VAP-008" => vapour(row, 50.0, 20.0),
        "VAP-009" => vapour(row, 3.0, 25.0),
        "VAP-010" => vapour(row, 6.0, 25.0),
        "VAP-011" => vapour(row, 35.0, 25.0),
        "VAP-012" => vapour(row, 50.0, 25.0),
        "VAP-013" => vapour(row, 3.0, 30.0),
        "VAP-014" => vapour(row, 6.0, 30.0),
        "VAP-015" => vapour(row, 35.0, 30.0),
        "VAP-016" => vapour(row, 50.0, 30.0),
        "VNT-002" => {
            let room = room(6.0, 1.0);
            let time = room.time_for_changes(10.0).unwrap();
            let left = room.after(mg(1.0), mg(0.0), time).unwrap();
            within_amount(left.get::<milligram_per_cubic_meter>(), 4.5e-5, 0.05e-5)
        }
        "VNT-003" | "VNT-004" | "VNT-005" => Some(Answer::Left(
            "a rule of law or label: it stands in the rule sets",
        )),
        "EXP-012" => {
            let one = mass_in_air(1.0, WaterTemperature::new(25.0).unwrap()).unwrap();
            value(one.get::<milligram_per_cubic_meter>())
        }
        _ => None,
    }
}

#[test]
fn air_and_vapour() {
    hold("air.csv", answer);
}
