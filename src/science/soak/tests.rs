use super::*;
use crate::science::numeric::integral;
use proptest::prelude::*;
use uom::si::mass::gram;

fn mg(v: f64) -> MassConcentration {
    MassConcentration::new::<milligram_per_liter>(v)
}

fn min(v: f64) -> Time {
    Time::new::<minute>(v)
}

fn term(least: f64, time: f64) -> LabelTerm {
    LabelTerm::new(mg(least), min(time)).unwrap()
}

proptest! {
    /// An independent second way: the integral itself.
    #[test]
    fn contact_is_the_area_under_the_curve(
        c0 in 1.0..30_000.0f64, k in 0.0..0.1f64, t in 1.0..240.0f64,
    ) {
        let rate = DecayRate::per_minute(k).unwrap();
        let area = integral(|x| c0 * (-k * x).exp(), 0.0, t, 200);
        let contact = Contact::of_soak(mg(c0), rate, min(t)).unwrap().mg_min_per_litre();
        prop_assert!((contact / area - 1.0).abs() < 1e-6);
        let ends = Contact::between(mg(c0), rate.after(mg(c0), min(t)), min(t));
        if let Ok(ends) = ends {
            prop_assert!((ends.mg_min_per_litre() / area - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn the_strength_never_falls_below_the_label_with_the_top_up(
        now in 50.0..400.0f64, k in 0.001..0.05f64, minutes in 10.0..120.0f64,
        margin in 0.0..0.3f64,
    ) {
        let rate = DecayRate::per_minute(k).unwrap();
        let left = term(100.0, minutes);
        let plan =
            top_up(mg(now), rate, &left, margin, mg(1000.0), Volume::new::<liter>(180.0)).unwrap();
        match plan {
            TopUp::NotNeeded => prop_assert!(rate.after(mg(now), left.time) >= left.least),
            TopUp::Due { after, to, peroxide, lasts } => {
                if now >= 100.0 {
                    prop_assert!(rate.after(mg(now), after) >= left.least * (1.0 - 1e-9));
                }
                prop_assert!(rate.after(to, lasts) >= left.least * (1.0 - 1e-9));
                prop_assert!(to <= mg(1000.0) && peroxide.get::<gram>() > 0.0);
                prop_assert!(after + lasts <= left.time * (1.0 + 1e-9));
            }
            TopUp::CannotHold => prop_assert!(false, "1000 mg/L hold for some minutes"),
        }
    }
}

#[test]
fn a_solution_that_keeps_its_strength_needs_nothing() {
    let soak = outlook(mg(200.0), DecayRate::NONE, &term(100.0, 60.0)).unwrap();
    assert!(soak.keeps_label());
    assert_eq!(soak.least, mg(200.0));
    let plan = top_up(
        mg(200.0),
        DecayRate::NONE,
        &term(100.0, 60.0),
        0.1,
        mg(400.0),
        Volume::new::<liter>(180.0),
    );
    assert_eq!(plan, Ok(TopUp::NotNeeded));
}

#[test]
fn too_weak_from_the_start_is_below_at_once() {
    let soak = outlook(mg(50.0), DecayRate::NONE, &term(100.0, 60.0)).unwrap();
    assert!(!soak.keeps_label());
    assert!(soak.falls_below_after.is_some_and(|t| t == min(0.0)));
}

#[test]
fn a_solution_that_is_eaten_at_once_is_given_up() {
    let rate = DecayRate::per_minute(2.0).unwrap();
    let volume = Volume::new::<liter>(180.0);
    let plan = top_up(mg(100.0), rate, &term(100.0, 60.0), 0.1, mg(200.0), volume).unwrap();
    assert_eq!(plan, TopUp::CannotHold);
}

#[test]
fn a_cap_below_the_label_is_refused() {
    let volume = Volume::new::<liter>(180.0);
    let refused = top_up(
        mg(90.0),
        DecayRate::NONE,
        &term(100.0, 60.0),
        0.1,
        mg(100.0),
        volume,
    );
    assert!(refused.is_err());
}
