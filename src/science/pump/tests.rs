use super::*;
use crate::science::quantity::WaterTemperature;
use proptest::prelude::*;
use uom::si::length::millimeter;

fn water() -> Liquid {
    Liquid::water(WaterTemperature::TWENTY)
}

fn m(v: f64) -> Length {
    Length::new::<meter>(v)
}

fn litres(v: f64) -> VolumeRate {
    VolumeRate::new::<liter_per_minute>(v)
}

fn run(bore_mm: f64) -> Run {
    Run::new(Length::new::<millimeter>(bore_mm), m(3.0), 5.0).unwrap()
}

fn flow(curve: &Curve, lift_m: f64, run: &Run) -> Option<f64> {
    match curve.operating_point(m(lift_m), run, &water()).unwrap() {
        Operating::Flow(point) => Some(point.flow.get::<liter_per_minute>()),
        Operating::NoFlow => None,
    }
}

proptest! {
    #[test]
    fn the_heads_balance_at_the_operating_point(
        head in 0.5..10.0f64, free in 5.0..200.0f64, part in 0.0..0.99f64, bore in 9.0..50.0f64,
    ) {
        let pump = Band::from_two_points(m(head), litres(free)).unwrap();
        for curve in [pump.upper, pump.lower] {
            let lift = m(head * part);
            let Operating::Flow(point) =
                curve.operating_point(lift, &run(bore), &water()).unwrap()
            else {
                return Err(TestCaseError::fail("within reach"));
            };
            let miss = (point.head - lift - point.loss.head()).get::<meter>();
            // Where the flow turns turbulent the loss jumps, and the balance falls in the jump.
            let at_jump = (point.loss.reynolds - 2040.0).abs() < 1.0;
            prop_assert!(miss.abs() < 1e-4 * head || at_jump, "{miss} m at {point:?}");
        }
    }

    #[test]
    fn a_higher_lift_gives_less_and_the_line_gives_less_than_the_parabola(
        lift in 0.0..2.2f64, bore in 9.0..50.0f64,
    ) {
        let pump = Band::from_two_points(m(2.4), litres(25.0)).unwrap();
        let run = run(bore);
        let low = flow(&pump.upper, lift, &run).unwrap();
        prop_assert!(flow(&pump.upper, lift + 0.1, &run).unwrap() <= low);
        prop_assert!(flow(&pump.lower, lift, &run).unwrap() <= low + 1e-3);
    }
}

#[test]
fn a_lift_out_of_reach_is_no_flow_and_not_a_number() {
    let pump = Band::from_two_points(m(2.4), litres(25.0)).unwrap();
    assert_eq!(flow(&pump.upper, 2.4, &run(19.05)), None);
    assert_eq!(flow(&pump.lower, 2.5, &run(19.05)), None);
}

#[test]
fn three_points_that_do_not_fall_are_refused() {
    let far = (litres(30.0), m(0.0));
    assert!(Curve::from_three_points(m(2.0), (litres(10.0), m(2.0)), far).is_err());
    assert!(Curve::from_three_points(m(2.0), (litres(40.0), m(1.0)), far).is_err());
    assert!(Curve::from_three_points(m(2.0), (litres(10.0), m(f64::NAN)), far).is_err());
}

proptest! {
    /// A band from three points goes through them, its ends never cross, and both fall.
    #[test]
    fn three_points_make_a_band(
        h0 in 0.5..10.0f64, q1 in 1.0..50.0f64, part in 0.1..0.9f64, more in 1.1..4.0f64,
        rest in 0.0..0.9f64,
    ) {
        let (h1, q2) = (h0 * part, q1 * more);
        let h2 = h1 * rest;
        let points = [(0.0, h0), (q1, h1), (q2, h2)];
        let made = Band::from_three_points(m(h0), (litres(q1), m(h1)), (litres(q2), m(h2)));
        // Some three points have an exponent beyond the range.
        prop_assume!(made.is_ok());
        let band = made.unwrap();
        for (q, h) in points {
            for curve in [band.lower, band.upper] {
                prop_assert!((curve.head(litres(q)).get::<meter>() - h).abs() < 1e-9 * h0);
            }
        }
        prop_assert!(band.lower.free_flow() <= band.upper.free_flow());
        let mut last = (h0, h0);
        for step in 1..=100 {
            let q = litres(q2 * 1.2 * f64::from(step) / 100.0);
            let (low, high) = (band.lower.head(q).get::<meter>(), band.upper.head(q).get::<meter>());
            prop_assert!(low <= high + 1e-12);
            prop_assert!(low <= last.0 + 1e-12 && high <= last.1 + 1e-12);
            last = (low, high);
        }
        let slow = band.upper.at_speed(0.8).unwrap();
        let head = slow.head(litres(q1 * 0.8)).get::<meter>();
        prop_assert!((head - h1 * 0.64).abs() < 1e-9 * h0);
    }
}
