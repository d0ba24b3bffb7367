use proptest::prelude::*;

use super::*;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn lot() -> Lot {
    Lot {
        id: LotId::from_row(1),
        product_id: ProductId::from_row(1),
        product: Name::parse("Peroxide 35").unwrap(),
        label: Strength::new(35.0, Basis::PercentWw).unwrap(),
        label_reference: String::new(),
        label_says: Note::default(),
        code: "P-118".to_owned(),
        received_on: day("2027-01-04"),
        opened_on: None,
        retest_on: Some(day("2027-07-04")),
        kept_in: String::new(),
        loss: LossPerYear::USUAL,
        withdrawn_reason: None,
        assay: None,
        on_hand: Millilitres::new(20_000).unwrap(),
        version: 1,
    }
}

#[test]
fn a_lot_goes_from_sealed_to_withdrawn() {
    let today = day("2027-03-04");
    let mut lot = lot();
    assert_eq!(lot.state(today), LotState::Sealed);
    lot.opened_on = Some(day("2027-02-01"));
    assert_eq!(lot.state(today), LotState::Open);
    assert_eq!(lot.state(day("2027-07-03")), LotState::Open);
    assert_eq!(lot.state(day("2027-07-04")), LotState::RetestDue);
    lot.on_hand = Millilitres::new(0).unwrap();
    assert_eq!(lot.state(day("2027-07-04")), LotState::Empty);
    lot.withdrawn_reason = Some(Note::parse("drum bulged").unwrap());
    assert_eq!(lot.state(today), LotState::Withdrawn);
    assert!(lot.unusable(today).unwrap().contains("Lot P-118"));
}

#[test]
fn a_strength_is_the_labels_until_it_ages_and_the_assays_once_there_is_one() {
    let mut lot = lot();
    let (fresh, known) = lot.strength(day("2027-01-04")).unwrap();
    assert_eq!((fresh.value(), known), (35.0, Known::Label));
    // A year at 2 %: 35 × 0.98^(365 / 365.25) = 34.30.
    let (aged, known) = lot.strength(day("2028-01-04")).unwrap();
    assert!((aged.value() - 34.30).abs() < 0.01, "{}", aged.value());
    assert_eq!(known, Known::Estimated);
    lot.assay = Some(Assay {
        id: AssayId::from_row(1),
        fraction: AssayPpm::new(341_000).unwrap(),
        method: AssayMethod::Permanganate,
        assayed_on: day("2028-01-04"),
        by: Name::parse("Oda R.").unwrap(),
        note: String::new(),
    });
    let (assayed, known) = lot.strength(day("2028-01-04")).unwrap();
    assert!((assayed.value() - 34.1).abs() < 1e-9);
    assert_eq!(known, Known::Assay);
}

proptest! {
    #[test]
    fn a_balance_is_the_sum_in_any_order(mut changes in prop::collection::vec(-5_000_i64..5_000, 0..40), swap in any::<prop::sample::Index>()) {
        changes.insert(0, 200_000);
        let sum: i64 = changes.iter().sum();
        let of = |changes: &[i64]| balance(changes.iter().map(|change| MillilitreChange::new(*change).unwrap())).unwrap().get();
        prop_assert_eq!(of(&changes), sum);
        let middle = swap.index(changes.len());
        changes.rotate_left(middle);
        prop_assert_eq!(of(&changes), sum);
    }

    #[test]
    fn a_balance_below_nothing_is_no_balance(drawn in 1_001_i64..1_000_000) {
        let changes = [1_000, -drawn].map(|change| MillilitreChange::new(change).unwrap());
        prop_assert!(balance(changes).is_err());
    }
}
