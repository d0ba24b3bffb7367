use super::*;
use proptest::prelude::*;

fn scale() -> StripScale {
    let steps = [0.0, 50.0, 100.0, 200.0, 400.0, 1000.0];
    StripScale::new(&steps.map(MassConcentration::new::<milligram_per_liter>)).unwrap()
}

fn read(at: f64, step: usize) -> StripReading {
    StripReading {
        at: Time::new::<minute>(at),
        step,
    }
}

proptest! {
    #[test]
    fn an_exact_decay_is_found_again(start in 10.0..5000.0f64, k in 0.0001..0.2f64) {
        let points: Vec<(f64, f64)> =
            (0..6).map(|i| (f64::from(i) * 7.0, start * (-k * f64::from(i) * 7.0).exp())).collect();
        let line = LogLine::through(&points).unwrap();
        prop_assert!((line.rate / k - 1.0).abs() < 1e-7);
        prop_assert!((line.start / start - 1.0).abs() < 1e-9);
        let direct = DirectFit::through(&points).unwrap();
        prop_assert!((direct.rate / k - 1.0).abs() < 1e-6 && (direct.start / start - 1.0).abs() < 1e-6);
    }

    #[test]
    fn the_rate_lies_between_its_bounds(a in 10.0..60.0f64, b in 61.0..200.0f64) {
        let decay = decay_of(&scale(), &[read(0.0, 4), read(a, 3), read(b, 2)]).unwrap();
        prop_assert!(decay.slowest <= decay.rate && decay.rate <= decay.fastest);
        prop_assert!(decay.fastest > decay.rate);
    }
}

#[test]
fn the_ends_of_the_scale_are_not_fitted() {
    let readings = [read(0.0, 5), read(10.0, 4), read(60.0, 2), read(90.0, 0)];
    let decay = decay_of(&scale(), &readings).unwrap();
    assert_eq!(decay.used, 2);
    assert_eq!(
        decay_of(&scale(), &[read(0.0, 5), read(60.0, 0)]),
        Err(NotYet::TooFewReadings)
    );
}

/// 400 mg/L may be 100, and the lowest colour is below 25: at least ln(4) in 65 minutes.
#[test]
fn a_reading_at_the_lowest_colour_sets_a_floor() {
    let slow = decay_of(&scale(), &[read(0.0, 4), read(60.0, 2)]).unwrap();
    assert_eq!(slow.at_least, None);
    let readings = [read(0.0, 4), read(60.0, 2), read(65.0, 0)];
    let decay = decay_of(&scale(), &readings).unwrap();
    let floor = (100.0f64 / 25.0).ln() / 65.0;
    assert!((decay.at_least.unwrap().in_per_minute() - floor).abs() < 1e-12);
    assert!(decay.slowest.in_per_minute() >= floor && decay.slowest >= slow.slowest);
    let sudden = [read(0.0, 3), read(60.0, 1), read(61.0, 0)];
    assert!(decay_of(&scale(), &sudden).unwrap().fastest.in_per_minute() > 0.0);
}

#[test]
fn readings_out_of_order_are_refused() {
    let readings = [read(10.0, 4), read(10.0, 2)];
    assert_eq!(decay_of(&scale(), &readings), Err(NotYet::TimesDoNotRise));
}

#[test]
fn a_rising_colour_is_no_decay() {
    assert_eq!(
        decay_of(&scale(), &[read(0.0, 2), read(30.0, 4)]),
        Err(NotYet::FallTooSmall)
    );
}

#[test]
fn a_scale_must_rise_and_knows_its_steps() {
    let mg = MassConcentration::new::<milligram_per_liter>;
    assert!(StripScale::new(&[mg(0.0), mg(50.0), mg(50.0)]).is_err());
    assert!(StripScale::new(&[mg(0.0), mg(50.0)]).is_err());
    assert_eq!(scale().step_of(mg(200.0)), Some(3));
    assert_eq!(scale().step_of(mg(0.0)), Some(0));
    assert_eq!(scale().step_of(mg(150.0)), None);
}
