use super::*;
use crate::science::quantity::Known;
use crate::science::strength::Basis;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn ml(amount: i64) -> Millilitres {
    Millilitres::new(amount).unwrap()
}

pub(super) fn lot(label: Strength) -> Lot {
    Lot {
        id: LotId::from_row(1),
        product_id: ProductId::from_row(1),
        product: Name::parse("Peroxide 35").unwrap(),
        agent: AgentKind::HydrogenPeroxide,
        label: Printed::strength(label),
        label_reference: String::new(),
        label_says: Note::default(),
        reentry: None,
        code: "P-118".to_owned(),
        received_on: day("2026-03-04"),
        opened_on: None,
        retest_on: Some(day("2027-03-04")),
        store: None,
        kept_in: String::new(),
        container: None,
        litre_cost: None,
        part_of: None,
        made: None,
        loss: YearlyLoss::USUAL,
        strength_off: None,
        product_off: None,
        withdrawn: None,
        assay: None,
        on_hand: ml(20_000),
        version: 1,
    }
}

pub(super) fn by_weight(percent: f64) -> Strength {
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

#[test]
fn a_warm_store_ages_a_lot_faster_and_a_cool_one_more_slowly() {
    let in_a_store = |tenths| Lot {
        store: Some(StandsIn {
            id: StoreId::from_row(1),
            name: Name::parse("Cage").unwrap(),
            warmest: TenthsCelsius::new(tenths).ok(),
        }),
        ..lot(by_weight(35.0))
    };
    let after_a_year = |tenths| {
        let (aged, known) = in_a_store(tenths).strength(day("2027-03-04")).unwrap();
        assert_eq!(known, Known::Estimated);
        aged.value()
    };
    // 2 % a year at 20 °C is 4.31 % at 30 °C.
    assert!((after_a_year(200) - 34.300).abs() < 0.002);
    assert!((after_a_year(300) - 35.0 * (1.0 - 0.0431)).abs() < 0.01);
    assert!(after_a_year(50) > after_a_year(200));
}

#[test]
fn the_first_date_goes_first_and_an_open_can_before_a_closed_one_of_its_day() {
    let with = |id, retest: Option<&str>, opened: Option<&str>| Lot {
        id: LotId::from_row(id),
        retest_on: retest.map(day),
        opened_on: opened.map(day),
        ..lot(by_weight(35.0))
    };
    let lots = [
        with(1, None, Some("2026-05-01")),
        with(2, Some("2027-09-01"), None),
        with(3, Some("2027-09-01"), Some("2026-05-01")),
        with(4, Some("2027-03-04"), None),
        Lot {
            on_hand: ml(0),
            ..with(5, Some("2026-01-01"), None)
        },
    ];
    let order: Vec<i64> = first_out::usable(&lots, day("2026-12-01"))
        .iter()
        .map(|lot| lot.id.get())
        .collect();
    assert_eq!(order, [4, 3, 2, 1]);
}
