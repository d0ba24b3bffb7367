use super::*;
use crate::science::quantity::Known;
use crate::science::strength::Basis;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn ml(amount: i64) -> Millilitres {
    Millilitres::new(amount).unwrap()
}

fn lot(label: Strength) -> Lot {
    Lot {
        id: LotId::from_row(1),
        product_id: ProductId::from_row(1),
        product: Name::parse("Peroxide 35").unwrap(),
        label,
        label_reference: String::new(),
        label_says: Note::default(),
        code: "P-118".to_owned(),
        received_on: day("2026-03-04"),
        opened_on: None,
        retest_on: Some(day("2027-03-04")),
        kept_in: String::new(),
        loss: YearlyLoss::USUAL,
        withdrawn: None,
        assay: None,
        on_hand: ml(20_000),
        version: 1,
    }
}

fn by_weight(percent: f64) -> Strength {
    Strength::new(percent, Basis::PercentWw).unwrap()
}

#[test]
fn a_lot_is_what_its_dates_and_its_balance_say() {
    let mut lot = lot(by_weight(35.0));
    let today = day("2027-03-03");
    assert_eq!(lot.state(today), LotState::Sealed);
    lot.opened_on = Some(day("2026-10-01"));
    assert_eq!(lot.state(today), LotState::Open);
    // Due on its day, not before; that warns and does not forbid.
    assert_eq!(lot.state(day("2027-03-04")), LotState::RetestDue);
    assert_eq!(lot.unusable(day("2027-03-04")), None);
    lot.on_hand = ml(0);
    assert_eq!(lot.state(day("2027-03-04")), LotState::Empty);
    assert_eq!(lot.unusable(today).as_deref(), Some("Lot P-118 is empty."));
    lot.withdrawn = Some(Note::parse("bulging").unwrap());
    assert_eq!(lot.state(today), LotState::Withdrawn);
}

#[test]
fn young_a_lot_is_what_its_label_says() {
    let lot = lot(by_weight(35.0));
    for young in ["2026-03-01", "2026-03-04", "2026-04-04"] {
        let found = lot.strength(day(young)).unwrap();
        assert_eq!(found, (by_weight(35.0), Known::Label), "{young}");
    }
}

#[test]
fn without_an_assay_it_ages_on_the_basis_of_its_label() {
    // 365 of 365.25 days at 2 % a year: 35 x 0.98^0.99932 = 34.300.
    let (aged, known) = lot(by_weight(35.0)).strength(day("2027-03-04")).unwrap();
    assert_eq!(known, Known::Estimated);
    assert!((aged.value() - 34.300).abs() < 0.001, "{aged}");
    let volumes = Strength::new(130.0, Basis::VolumeStrength).unwrap();
    let (aged, _) = lot(volumes).strength(day("2027-03-04")).unwrap();
    assert_eq!(aged.basis(), Basis::VolumeStrength);
    assert!(aged.value() > 126.0 && aged.value() < 128.0, "{aged}");
    // After ten years there is nothing to reckon with.
    assert!(lot(volumes).strength(day("2036-04-01")).is_err());
}

#[test]
fn an_assay_overrides_the_label_and_ages_from_its_own_day() {
    let mut lot = lot(by_weight(35.0));
    lot.assay = Some(Assay {
        id: AssayId::from_row(1),
        found: by_weight(33.1),
        how: assay::Method::Permanganate,
        assayed_on: day("2027-03-01"),
        person: Name::parse("Ines V.").unwrap(),
        note: Note::default(),
    });
    assert_eq!(
        lot.strength(day("2027-03-04")).unwrap(),
        (by_weight(33.1), Known::Assay)
    );
    let (aged, known) = lot.strength(day("2028-03-01")).unwrap();
    assert_eq!(known, Known::Estimated);
    assert!((aged.value() - 33.1 * 0.98).abs() < 0.002, "{aged}");
}
