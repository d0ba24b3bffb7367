//! The main numbers a second way: each is worked out again by a method that shares no formula with
//! the first, on thousands of drawn cases. And what has to hold across modules: round trips between
//! bases and units, mass, limits that belong to their range.

use proptest::prelude::*;
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, MassConcentration, Time, Volume, VolumeRate};
use uom::si::length::{meter, millimeter};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::{minute, second};
use uom::si::volume::liter;
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use super::air::Room;
use super::dilution::{AlreadyThere, DoseAsk, Stock, SystemVolume, dose};
use super::drain::{Draining, full_pipe_time};
use super::flood_time::{Flooding, Rise, flood_time};
use super::orifice::{Edge, Hole};
use super::overflow::Standpipe;
use super::peroxide::{self, heat_of_decomposition, oxygen_of_decomposition};
use super::pipe::Run;
use super::pump::{Band, Curve, Operating};
use super::quantity::{
    Celsius, MassFraction, WaterTemperature, grams, grams_per_litre, in_grams, in_grams_per_litre,
    in_kilograms, in_kilograms_per_litre, in_litres, litres,
};
use super::rinse::{RinseOutlook, Rinsing};
use super::soak::{LabelTerm, TopUp, top_up};
use super::strength::{Basis, Strength};
use super::titration::{Titrant, by_permanganate, by_thiosulfate, titrant_expected};
use super::units::{LengthUnit, MassUnit, TemperatureUnit, VolumeUnit};
use super::viscosity::Liquid;
use super::{decay::DecayRate, water};

fn m(v: f64) -> Length {
    Length::new::<meter>(v)
}

fn flow(v: f64) -> VolumeRate {
    VolumeRate::new::<liter_per_minute>(v)
}

fn mg(v: f64) -> MassConcentration {
    MassConcentration::new::<milligram_per_liter>(v)
}

fn cold() -> Liquid {
    Liquid::water(WaterTemperature::TWENTY)
}

fn run(bore_mm: f64, length_m: f64, k: f64) -> Run {
    Run::new(Length::new::<millimeter>(bore_mm), m(length_m), k).unwrap()
}

fn kilograms_per_litre(w: f64, t: WaterTemperature) -> f64 {
    in_kilograms_per_litre(peroxide::density(MassFraction::new(w).unwrap(), t).unwrap())
}

/// Falls from above zero to below: halved until nothing is left of it.
fn halved(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..64 {
        let middle = f64::midpoint(low, high);
        if f(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Flow of a pump by walking along the curve in small steps; none when nothing comes.
fn by_scan(curve: &Curve, lift_m: f64, run: &Run) -> Option<f64> {
    let spare = |q: f64| {
        let at = VolumeRate::new::<cubic_meter_per_second>(q);
        let loss = run.loss(at, &cold()).unwrap().head();
        (curve.head(at) - loss).get::<meter>() - lift_m
    };
    let free = curve.free_flow().get::<cubic_meter_per_second>();
    if spare(0.0) <= 0.0 {
        return None;
    }
    let steps = 4000;
    (1..=steps)
        .map(|step| free * f64::from(step) / f64::from(steps))
        .find(|q| spare(*q) <= 0.0)
        .map(|q| q * 60_000.0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// The dose by weighing: concentrate and water are put on a scale until a vessel of the right
    /// volume holds the right strength; no volume is divided by a volume.
    #[test]
    fn the_dose_on_a_scale(
        stock in 5.0..=50.0f64, part in 0.01..0.8f64, system in 1.0..5000.0f64, celsius in 0.0..=40.0f64,
    ) {
        let t = WaterTemperature::new(celsius).unwrap();
        let target = stock * part;
        let percent = |p: f64| Strength::new(p, Basis::PercentWw).unwrap();
        let ask = DoseAsk::new(
            Stock::labelled(percent(stock)), percent(target), SystemVolume::measured(litres(system)), t,
        );
        let sheet = dose(&ask).unwrap();
        // Weigh out a kilogram of mix: w₁ x = w₂, then as many kilograms as fill the volume.
        let concentrate_in_kilogram = target / stock;
        let kilograms = halved(
            |kg| system - kg / kilograms_per_litre(target / 100.0, t), 0.0, system * 2.0,
        );
        let concentrate = kilograms * concentrate_in_kilogram;
        prop_assert!((in_kilograms(sheet.concentrate.mass) / concentrate - 1.0).abs() < 1e-9);
        let water = kilograms - concentrate;
        prop_assert!((in_kilograms(sheet.water.mass) / water - 1.0).abs() < 1e-7);
    }

    /// What is in the system after the dose: all peroxide and all mass that went in.
    #[test]
    fn nothing_is_lost_in_a_dose(
        stock in 10.0..=50.0f64, target in 0.5..6.0f64, system in 20.0..5000.0f64,
        heel in 0.0..0.2f64, retained in 0.0..0.2f64, residual in 0.0..4000.0f64,
    ) {
        let t = WaterTemperature::TWENTY;
        let mut ask = DoseAsk::new(
            Stock::labelled(Strength::new(stock, Basis::PercentWw).unwrap()),
            Strength::new(target, Basis::PercentWv).unwrap(),
            SystemVolume::measured(litres(system)), t,
        );
        ask.already = AlreadyThere {
            heel: litres(system * heel), retained: litres(system * retained),
            residual: Strength::new(residual, Basis::MilligramsPerLitre).unwrap(),
        };
        if let Ok(sheet) = dose(&ask) {
            let brought = in_grams(sheet.concentrate.mass) * stock / 100.0
                + in_litres(ask.already.volume()) * residual / 1000.0;
            prop_assert!((brought / (system * target * 10.0) - 1.0).abs() < 1e-9);
            let mass = sheet.concentrate.mass + sheet.water.mass + sheet.already.mass;
            prop_assert!((mass / sheet.finished.mass).value - 1.0 < 1e-12);
        }
    }

    /// The operating point by walking along the curve.
    #[test]
    fn the_operating_point_by_walking(
        head in 0.5..6.0f64, free in 5.0..120.0f64, part in 0.0..1.1f64, bore in 12.0..50.0f64,
    ) {
        let band = Band::from_three_points(
            m(head), (flow(free * 0.5), m(head * 0.7)), (flow(free), m(0.0)),
        ).unwrap();
        let run = run(bore, 3.0, 5.0);
        for curve in [band.lower, band.upper] {
            let lift = head * part;
            let point = curve.operating_point(m(lift), &run, &cold()).unwrap();
            match (point, by_scan(&curve, lift, &run)) {
                (Operating::NoFlow, None) => {}
                (Operating::Flow(point), Some(walked)) => {
                    let got = point.flow.get::<liter_per_minute>();
                    let step = curve.free_flow().get::<liter_per_minute>() / 4000.0;
                    prop_assert!((walked - got) <= step * 1.01 && walked - got > -1e-3, "{got} {walked}");
                }
                (got, walked) => prop_assert!(false, "{got:?} {walked:?}"),
            }
        }
    }

    /// Time to flood by letting the water rise a hair at a time.
    #[test]
    fn the_flood_in_small_steps(
        lift in 0.0..1.5f64, depth in 0.01..0.2f64, area in 0.3..3.0f64, reservoir in 0.3..3.0f64,
    ) {
        let pump = Band::from_two_points(m(2.4), flow(25.0)).unwrap().lower;
        let run = run(19.05, 3.0, 5.0);
        let rise = Rise {
            free_area: Area::new::<square_meter>(area), depth: m(depth), lift: m(lift),
            reservoir_area: Some(Area::new::<square_meter>(reservoir)),
        };
        let steps = 300;
        let slice = depth / f64::from(steps);
        let mut seconds = 0.0;
        let mut stalls = false;
        for step in 0..steps {
            let z = slice * (f64::from(step) + 0.5);
            let now = lift + z + area * z / reservoir;
            match pump.operating_point(m(now), &run, &cold()).unwrap() {
                Operating::Flow(point) => {
                    seconds += area * slice / point.flow.get::<cubic_meter_per_second>();
                }
                Operating::NoFlow => stalls = true,
            }
        }
        match flood_time(&rise, &pump, &run, &cold()).unwrap() {
            Flooding::Floods { time, last, .. } => {
                // Where the flow all but ends the time runs away, and a step is no measure.
                if last > flow(1.0) {
                    prop_assert!((time.get::<second>() / seconds - 1.0).abs() < 5e-3);
                }
            }
            Flooding::Stalls { .. } => prop_assert!(
                stalls || lift + depth * (1.0 + area / reservoir) >= 2.4
            ),
        }
    }

    /// Both drain times by letting the water fall a hair at a time.
    #[test]
    fn the_drain_in_small_steps(
        area in 0.3..3.0f64, from in 0.02..0.2f64, drop in 0.02..1.0f64, bore in 15.0..40.0f64,
    ) {
        let (to, pipe) = (0.004, run(bore, 2.0, 1.5));
        let section = pipe.section().get::<square_meter>();
        let steps = 200;
        let slice = (from - to) / f64::from(steps);
        let (mut full, mut hole) = (0.0, 0.0);
        for step in 0..steps {
            let h = to + slice * (f64::from(step) + 0.5);
            let q = halved(
                |q| {
                    let at = VolumeRate::new::<cubic_meter_per_second>(q);
                    let loss = pipe.loss(at, &cold()).unwrap().head().get::<meter>();
                    h + drop - loss - (q / section).powi(2) / (2.0 * 9.806_65)
                },
                0.0, 0.03,
            );
            full += area * slice / q;
            hole += area * slice / (0.6 * section * (2.0 * 9.806_65 * h).sqrt());
        }
        let bench = Draining {
            free_area: Area::new::<square_meter>(area), from: m(from), to: m(to), drop: m(drop),
        };
        let time = full_pipe_time(&bench, &pipe, &cold()).unwrap().get::<second>();
        prop_assert!((time / full - 1.0).abs() < 2e-3, "{time} {full}");
        let alone = Hole::new(pipe.bore(), Edge::Sharp).unwrap();
        let time = alone.drain_time(bench.free_area, bench.from, bench.to).unwrap().get::<second>();
        prop_assert!((time / hole - 1.0).abs() < 1e-3, "{time} {hole}");
    }

    /// What an overflow passes against the head it needs, by halving.
    #[test]
    fn the_overflow_by_halving(bore in 12.0..100.0f64, litres_per_min in 0.5..60.0f64) {
        let pipe = Standpipe::new(Length::new::<millimeter>(bore)).unwrap();
        let passes = |h: f64| pipe.capacity(m(h)).unwrap().flow().get::<liter_per_minute>();
        prop_assume!(passes(1.0) > litres_per_min);
        let head = halved(|h| litres_per_min - passes(h), 0.0, 1.0);
        let needed = pipe.head_needed(flow(litres_per_min)).unwrap().get::<meter>();
        prop_assert!((needed / head - 1.0).abs() < 1e-9);
    }

    /// Rinses as they are done: fill, mix a part, drain, weigh what stayed.
    #[test]
    fn rinses_as_they_are_done(
        start in 50.0..30_000.0f64, fresh in 0.0..0.5f64, retained in 0.5..40.0f64,
        fill in 10.0..200.0f64, mixing in 0.3..1.0f64, limit in 1.0..50.0f64,
    ) {
        let rinsing = Rinsing::new(mg(start), mg(fresh), litres(retained), litres(fill), mixing).unwrap();
        let (mut left, mut count) = (start, 0u32);
        while left > limit * (1.0 + 1e-12) && count < 500 {
            // A part of the retained water mixes with the fill; the rest stays by itself.
            let mixes = retained * mixing;
            // The fill meets all retained water in proportion to what mixes of it.
            let full = (left * retained + fresh * fill) / (retained + fill);
            let mixed = mixes * full + (retained - mixes) * left;
            left = mixed / retained;
            count += 1;
        }
        match rinsing.needed(mg(limit)).unwrap() {
            RinseOutlook::Expected(estimate) | RinseOutlook::TooMany(estimate) => {
                prop_assert_eq!(estimate.rinses, count);
                prop_assert!((estimate.residual.milligrams_per_litre() - left).abs() < 1e-9 * start);
                prop_assert!(estimate.residual.milligrams_per_litre() <= limit * (1.0 + 1e-9));
            }
            RinseOutlook::FreshWaterTooStrong => prop_assert!(false, "fresh water is below the limit"),
        }
    }

    /// Minutes to a limit by Runge and Kutta on the room's balance.
    #[test]
    fn the_room_in_small_steps(
        start in 5.0..200.0f64, changes in 0.5..30.0f64, mixing in 1.0..10.0f64,
        source in 0.0..20.0f64, limit in 1.0..4.0f64,
    ) {
        use uom::si::mass::milligram;
        use uom::si::mass_concentration::milligram_per_cubic_meter;
        use uom::si::volume::cubic_meter;
        let per_m3 = MassConcentration::new::<milligram_per_cubic_meter>;
        let volume = 80.0;
        let room = Room::new(Volume::new::<cubic_meter>(volume), changes, mixing).unwrap();
        let steady = room.steady(uom::si::f64::Mass::new::<milligram>(source), per_m3(0.0)).unwrap();
        let flow = volume * changes / 60.0 / mixing;
        let slope = |c: f64| (source - flow * c) / volume;
        let (mut c, mut minutes, dt) = (start, 0.0, 0.02);
        while c > limit && minutes < 2000.0 {
            let k1 = slope(c);
            let k2 = slope(c + k1 * dt / 2.0);
            let k3 = slope(c + k2 * dt / 2.0);
            let k4 = slope(c + k3 * dt);
            c += dt * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
            minutes += dt;
        }
        match room.time_to(per_m3(start), steady, per_m3(limit)).unwrap() {
            None => prop_assert!(c > limit, "never, and yet it fell to {c}"),
            Some(time) => {
                let time = time.get::<minute>();
                prop_assert!(time >= 1999.0 || (time - minutes).abs() <= 2.0 * dt, "{time} {minutes}");
            }
        }
    }

    /// A top-up carried out minute by minute never leaves the solution below the label.
    #[test]
    fn a_top_up_carried_out(
        now in 110.0..400.0f64, k in 0.002..0.03f64, minutes in 20.0..180.0f64, margin in 0.0..0.3f64,
    ) {
        let rate = DecayRate::per_minute(k).unwrap();
        let term = LabelTerm::new(mg(100.0), Time::new::<minute>(minutes)).unwrap();
        let volume = 180.0;
        let plan = top_up(mg(now), rate, &term, margin, mg(2000.0), litres(volume)).unwrap();
        let TopUp::Due { after, to, peroxide, lasts } = plan else { return Ok(()) };
        // Where the most that is allowed does not last, the next top-up begins there.
        let end = minutes.min((after + lasts).get::<minute>());
        // Grams in the tank, losing their share a hundredth of a minute at a time.
        let (mut held, dt) = (now * volume / 1000.0, 0.01);
        let (mut t, mut added) = (0.0, false);
        while t < end {
            if !added && t >= after.get::<minute>() {
                held += in_grams(peroxide);
                prop_assert!((held / volume * 1000.0 / to.get::<milligram_per_liter>() - 1.0).abs() < 1e-3);
                added = true;
            }
            held *= 1.0 - k * dt;
            t += dt;
            prop_assert!(held / volume * 1000.0 >= 100.0 * (1.0 - 1e-3), "{held} g at {t} min");
        }
    }

    /// From a weight fraction to grams in a litre and back by another method (the slope).
    #[test]
    fn density_turned_over_by_newton(percent in 0.01..=50.0f64, celsius in 0.0..=40.0f64) {
        let t = WaterTemperature::new(celsius).unwrap();
        let w = percent / 100.0;
        let c = in_grams_per_litre(peroxide::concentration(MassFraction::new(w).unwrap(), t).unwrap());
        // Newton from the fraction that water's density would give; the slope by small differences.
        let grams = |w: f64| w * 1000.0 * kilograms_per_litre(w.clamp(0.0, 0.5), t);
        let mut x = (c / 1000.0 / in_kilograms_per_litre(water::density(t))).min(0.499);
        for _ in 0..30 {
            let slope = (grams(x) - grams(x - 1e-6)) / 1e-6;
            x = (x - (grams(x) - c) / slope).clamp(1e-9, 0.5);
        }
        prop_assert!((x - w).abs() < 1e-8, "{x} {w}");
        let back = peroxide::fraction(grams_per_litre(c), t).unwrap().get();
        prop_assert!((back - w).abs() < 1e-11);
    }

    /// A strength taken round all bases comes back as it was.
    #[test]
    fn strengths_go_round_all_bases(percent in 0.001..=50.0f64, celsius in 0.0..=40.0f64) {
        let t = WaterTemperature::new(celsius).unwrap();
        let start = Strength::new(percent, Basis::PercentWw).unwrap();
        let mut now = start;
        for basis in Basis::ALL {
            now = now.on(basis, t).unwrap();
        }
        let back = now.on(Basis::PercentWw, t).unwrap();
        prop_assert!((back.value() / percent - 1.0).abs() < 1e-9);
    }

    /// A quantity taken to any unit and back is what it was.
    #[test]
    fn quantities_go_to_their_units_and_back(value in 1e-3..1e6f64) {
        for unit in VolumeUnit::all() {
            prop_assert!((unit.count(unit.of(value)) / value - 1.0).abs() < 1e-12);
        }
        for unit in LengthUnit::all() {
            prop_assert!((unit.count(unit.of(value)) / value - 1.0).abs() < 1e-12);
        }
        for unit in MassUnit::all() {
            prop_assert!((unit.count(unit.of(value)) / value - 1.0).abs() < 1e-12);
        }
        for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
            prop_assert!((unit.from_celsius(unit.to_celsius(value)) - value).abs() < 1e-9 * value.max(1.0));
        }
    }

    /// A burette run forward and backward.
    #[test]
    fn a_titration_goes_back_to_its_titrant(
        c in 1.0..400.0f64, sample in 0.1..25.0f64, molar in 0.01..0.5f64,
    ) {
        for titrant in [Titrant::Permanganate, Titrant::Thiosulfate] {
            let sample = litres(sample / 1000.0);
            let used = titrant_expected(titrant, grams_per_litre(c), sample, molar).unwrap();
            if in_litres(used) > 1.0 {
                continue;
            }
            let found = match titrant {
                Titrant::Permanganate => by_permanganate(sample, used, molar),
                Titrant::Thiosulfate => by_thiosulfate(sample, used, molar),
            };
            prop_assert!((in_grams_per_litre(found.unwrap()) / c - 1.0).abs() < 1e-12);
            // By counting atoms: electrons given by peroxide (2) are taken by the titrant (5, or 1).
            let electrons = match titrant { Titrant::Permanganate => 5.0, Titrant::Thiosulfate => 1.0 };
            let moles = in_litres(used) * molar * electrons / 2.0;
            let held = c * in_litres(sample) / 34.0147;
            prop_assert!((moles / held - 1.0).abs() < 1e-9);
        }
    }

    /// Heat from the enthalpies of formation, oxygen from the gas law.
    #[test]
    fn heat_and_oxygen_from_first_principles(mass in 0.1..50_000.0f64, celsius in -20.0..40.0f64) {
        let moles = mass / 34.0147;
        let heat = heat_of_decomposition(grams(mass));
        // Liquid water -285.83, peroxide -187.8 as a liquid and -191.2 dissolved, kJ/mol.
        prop_assert!((heat.most.value / 1000.0 / moles - (285.83 - 187.8)).abs() < 0.1);
        prop_assert!((heat.least.value / 1000.0 / moles - (285.83 - 191.2)).abs() < 0.1);
        let air = Celsius::new(celsius).unwrap();
        let cubic_metres = moles / 2.0 * 8.314_462_618 * air.kelvin() / 101_325.0;
        let oxygen = in_litres(oxygen_of_decomposition(grams(mass), air));
        prop_assert!((oxygen / (cubic_metres * 1000.0) - 1.0).abs() < 1e-4);
    }
}

/// The ends of every range belong to it, and a hair beyond does not.
#[test]
fn limits_belong_to_their_range() {
    let bore = |mm: f64| Run::new(Length::new::<millimeter>(mm), m(1.0), 0.0);
    assert!(bore(3.0).is_ok() && bore(200.0).is_ok());
    assert!(bore(2.999).is_err() && bore(200.001).is_err());
    assert!(WaterTemperature::new(0.0).is_ok() && WaterTemperature::new(40.0).is_ok());
    assert!(WaterTemperature::new(-0.001).is_err() && WaterTemperature::new(40.001).is_err());
    assert!(DecayRate::per_minute(10.0).is_ok() && DecayRate::per_minute(10.001).is_err());
    let room = |changes, mixing| {
        Room::new(
            Volume::new::<uom::si::volume::cubic_meter>(1.0),
            changes,
            mixing,
        )
    };
    assert!(room(0.01, 1.0).is_ok() && room(200.0, 10.0).is_ok());
    assert!(room(0.0099, 1.0).is_err() && room(200.1, 1.0).is_err() && room(1.0, 10.01).is_err());
    let rinsing = |mixing| Rinsing::new(mg(1.0), mg(0.0), litres(1.0), litres(1.0), mixing);
    assert!(rinsing(0.1).is_ok() && rinsing(1.0).is_ok());
    assert!(rinsing(0.0999).is_err() && rinsing(1.0001).is_err());
    let system = |litres_in: f64| {
        let percent = |p: f64| Strength::new(p, Basis::PercentWw).unwrap();
        let volume = SystemVolume::measured(Volume::new::<liter>(litres_in));
        dose(&DoseAsk::new(
            Stock::labelled(percent(35.0)),
            percent(3.0),
            volume,
            WaterTemperature::TWENTY,
        ))
    };
    assert!(system(0.1).is_ok() && system(100_000.0).is_ok());
    assert!(system(0.099).is_err() && system(100_001.0).is_err());
    assert!(Standpipe::new(Length::new::<millimeter>(5.0)).is_ok());
    assert!(Standpipe::new(Length::new::<millimeter>(4.99)).is_err());
    assert!(Hole::new(m(0.5), Edge::Measured(0.3)).is_ok());
    assert!(Hole::new(m(0.5), Edge::Measured(0.299)).is_err());
}
