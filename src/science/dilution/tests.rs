use super::*;
use crate::science::parse;
use crate::science::peroxide::YearlyLoss;
use crate::science::quantity::{in_kilograms, litres};
use crate::science::units::Units;
use proptest::prelude::*;

fn s(text: &str) -> Strength {
    parse::strength(text, None).unwrap()
}

fn ask(stock: &str, target: &str, system: f64) -> DoseAsk {
    DoseAsk::new(
        Stock::labelled(s(stock)),
        s(target),
        SystemVolume::measured(litres(system)),
        WaterTemperature::TWENTY,
    )
}

fn with_heel(mut ask: DoseAsk, heel: f64, retained: f64) -> DoseAsk {
    ask.already.heel = litres(heel);
    ask.already.retained = litres(retained);
    ask
}

#[test]
fn the_system_of_the_drawings() {
    let mut ask = with_heel(ask("35 % w/w", "3 % w/v", 186.0), 18.0, 7.4);
    ask.jug = Some(Jug::new(litres(2.5), litres(0.05)).unwrap());
    let sheet = dose(&ask).unwrap();
    assert!((in_litres(sheet.concentrate.volume) - 14.09).abs() < 0.01);
    assert!((in_grams(sheet.peroxide_total) - 5580.0).abs() < 1e-6);
    let poured = sheet.poured.unwrap();
    assert!((in_litres(poured.sum) - 14.10).abs() < 1e-9);
    let pours: Vec<i64> = sheet.batches[0]
        .pours
        .iter()
        .map(|pour| pour.get())
        .collect();
    assert_eq!(pours, [2500, 2500, 2500, 2500, 2500, 1600]);
    assert!(poured.gives.value() >= 3.0 && poured.gives.value() < 3.01);
    let rule = sheet.label_rule.as_ref().unwrap();
    assert!((in_litres(rule.concentrate) - 15.94).abs() < 0.01);
    assert!((in_litres(rule.misses) - 1.85).abs() < 0.01);
    assert!((rule.gives.unwrap().value() - 3.39).abs() < 0.005);
    assert_eq!(
        rule.reasons[0].words(),
        "35\u{a0}% is by weight, and a litre of this stock weighs 1.13\u{a0}kg"
    );
    assert_eq!(
        sheet.sentence(Units::Metric).replace('\u{a0}', " "),
        "14.09 L of 35 % w/w stock, poured into the 25.4 L already there and 146.6 L of purified water, makes 186 L at 3 % w/v."
    );
}

#[test]
fn a_jug_rounds_down_where_up_is_not_permitted() {
    let mut question = ask("35 % w/w", "3 % w/v", 186.0);
    question.jug = Some(Jug::new(litres(2.0), litres(0.05)).unwrap());
    question.limits.target = Some(s("3 % w/v"));
    let sheet = dose(&question).unwrap();
    assert!((in_litres(sheet.poured.unwrap().sum) - 14.05).abs() < 1e-9);
    assert!(sheet.poured.unwrap().gives.value() <= 3.0);
    question.limits.target = Some(s("2.99 % w/v"));
    assert!(matches!(
        dose(&question),
        Err(DoseRefusal::TargetAboveLimit { .. })
    ));
}

#[test]
fn a_small_reservoir_takes_the_mix_in_batches() {
    let mut question = with_heel(ask("35 % w/w", "3 % w/v", 186.0), 18.0, 7.4);
    question.batch_room = Some(litres(60.0));
    question.jug = Some(Jug::new(litres(2.0), litres(0.05)).unwrap());
    let sheet = dose(&question).unwrap();
    assert_eq!(sheet.batches.len(), 3);
    let sum: f64 = sheet
        .batches
        .iter()
        .map(|batch| in_litres(batch.concentrate))
        .sum();
    assert!((sum - 14.10).abs() < 1e-9);
    let water: f64 = sheet
        .batches
        .iter()
        .map(|batch| in_litres(batch.water))
        .sum();
    assert!((water - in_litres(sheet.water.volume)).abs() < 1e-9);
    for batch in &sheet.batches {
        assert!(in_litres(batch.concentrate + batch.water) < 60.0);
        assert!(
            batch.fraction > sheet.target.fraction,
            "a batch is stronger before it meets the heel"
        );
    }
    question.batch_room = Some(litres(1.0));
    assert!(matches!(
        dose(&question),
        Err(DoseRefusal::TooManyBatches { .. })
    ));
}

#[test]
fn an_assay_wins_and_age_is_flagged() {
    let mut question = ask("35 % w/w", "3 % w/v", 100.0);
    question.stock.assay = Some(s("33.1 % w/w"));
    let sheet = dose(&question).unwrap();
    assert_eq!(sheet.stock_known, Known::Assay);
    assert!(in_litres(sheet.concentrate.volume) > 7.577);
    assert!(!sheet.warnings.contains(&DoseWarning::LabelNotAssayed));
    assert!(matches!(
        sheet.label_rule.unwrap().reasons[1],
        LabelRuleReason::StockNotAsLabelled { .. }
    ));
    question.stock = Stock::labelled(s("35 % w/w"));
    question.stock.age = Some(StockAge {
        days: 730.5,
        loss: YearlyLoss::new(0.01).unwrap(),
    });
    let sheet = dose(&question).unwrap();
    assert_eq!(sheet.stock_known, Known::Estimated);
    assert!((sheet.stock.strength.value() - 34.30).abs() < 0.01);
    assert!(sheet.warnings.contains(&DoseWarning::StrengthEstimated));
}

#[test]
fn a_residual_is_counted_in() {
    let mut question = with_heel(ask("35 % w/w", "3 % w/v", 100.0), 20.0, 0.0);
    let fresh = dose(&question).unwrap();
    question.already.residual = s("10 g/L");
    let sheet = dose(&question).unwrap();
    let saved = in_grams(fresh.peroxide_needed - sheet.peroxide_needed);
    assert!((saved - 200.0).abs() < 1e-6);
    assert!(
        sheet
            .warnings
            .iter()
            .any(|warning| warning.code() == "residual_counted")
    );
    question.already.residual = s("30 g/L");
    assert!(matches!(
        dose(&question),
        Err(DoseRefusal::ResidualNotBelowTarget { .. })
    ));
}

#[test]
fn what_cannot_be_is_refused_with_its_reason() {
    let refusal = |question: &DoseAsk| dose(question).unwrap_err();
    assert_eq!(
        refusal(&ask("50.1 % w/w", "3 % w/v", 100.0)).code(),
        "stock_too_strong"
    );
    assert_eq!(
        refusal(&ask("70 % w/v", "3 % w/v", 100.0)).code(),
        "stock_too_strong"
    );
    assert!(dose(&ask("50 % w/w", "3 % w/v", 100.0)).is_ok());
    assert_eq!(
        refusal(&ask("35 % w/w", "35 % w/w", 100.0)).code(),
        "target_not_below_stock"
    );
    assert_eq!(
        refusal(&ask("3 % w/v", "30 g/L", 100.0)).code(),
        "target_not_below_stock"
    );
    assert_eq!(
        refusal(&ask("35 % w/w", "60 % w/w", 100.0)).code(),
        "target_not_below_stock"
    );
    assert_eq!(
        refusal(&ask("35 % w/w", "0 g/L", 100.0)).code(),
        "no_target"
    );
    for system in [0.0, -1.0, 0.099, 100_001.0, f64::NAN, f64::INFINITY] {
        assert_eq!(
            refusal(&ask("35 % w/w", "3 % w/v", system)).code(),
            "out_of_range",
            "{system}"
        );
    }
    let full = with_heel(ask("35 % w/w", "3 % w/v", 100.0), 60.0, 40.0);
    assert_eq!(refusal(&full).code(), "already_full");
    let tight = with_heel(ask("35 % w/w", "6 % w/v", 100.0), 90.0, 0.0);
    let DoseRefusal::NoRoom { reachable, .. } = refusal(&tight) else {
        panic!("not refused for room")
    };
    assert!(
        reachable.value() > 3.9 && reachable.value() < 4.1,
        "{reachable}"
    );
    let mut site = ask("35 % w/w", "3 % w/v", 100.0);
    site.limits.stock = MassFraction::from_percent(34.9).unwrap();
    assert_eq!(refusal(&site).code(), "stock_too_strong");
}

#[test]
fn the_wrong_basis_costs_an_eighth() {
    let by_weight = dose(&ask("35 % w/w", "6 % w/v", 100.0)).unwrap();
    let by_volume = dose(&ask("35 % w/v", "6 % w/v", 100.0)).unwrap();
    // A stock of 35 % w/v taken for w/w gives 5.30 % w/v.
    let short = in_litres(by_weight.concentrate.volume) / in_litres(by_volume.concentrate.volume);
    assert!((short - 1.0 + 0.116).abs() < 0.002);
    let rule = by_volume.label_rule.unwrap();
    assert_eq!(rule.reasons, [LabelRuleReason::SameBasis]);
    assert!(rule.misses_by.value.abs() < 1e-9);
    assert!(
        dose(&ask("130 vol", "3 % w/v", 100.0))
            .unwrap()
            .label_rule
            .is_err()
    );
}

#[test]
fn percent_against_percent_in_the_volume_of_common_practice() {
    // Common practice, no source: 35 to 6 % in 30.4 L by the label rule is 5.21 L and 25.19 L.
    let sheet = dose(&ask("35 % w/w", "6 % w/w", 30.4)).unwrap();
    let rule = sheet.label_rule.unwrap();
    assert!((in_litres(rule.concentrate) - 5.21).abs() < 0.005);
    assert!((30.4 - in_litres(rule.concentrate) - 25.19).abs() < 0.005);
    assert!(rule.misses_by.value > 0.10);
}

#[test]
fn coarse_and_tiny_jugs_are_named() {
    let mut question = ask("35 % w/w", "3 % w/v", 2.0);
    question.jug = Some(Jug::new(litres(1.0), litres(0.1)).unwrap());
    let sheet = dose(&question).unwrap();
    assert!(
        sheet
            .warnings
            .iter()
            .any(|warning| warning.code() == "jug_too_coarse")
    );
    let mut question = ask("35 % w/w", "3 % w/v", 10_000.0);
    question.jug = Some(Jug::new(litres(0.1), litres(0.001)).unwrap());
    let sheet = dose(&question).unwrap();
    assert!(sheet.poured.is_none());
    assert!(
        sheet
            .warnings
            .iter()
            .any(|warning| warning.code() == "jug_too_small")
    );
    assert_eq!(Jug::new(litres(26.0), litres(1.0)), Err(JugError::TooLarge));
    assert_eq!(Jug::new(litres(1.0), litres(1.5)), Err(JugError::Marks));
}

#[test]
fn levels_rise_by_litres_for_each_square_metre() {
    let mut question = with_heel(ask("35 % w/w", "3 % w/v", 180.0), 12.0, 8.0);
    question.reservoir_plan =
        Some(crate::science::quantity::metres(1.0) * crate::science::quantity::metres(0.5));
    let levels = dose(&question).unwrap().levels.unwrap();
    let sheet = dose(&question).unwrap();
    assert!((levels.water.value * 1000.0 - in_litres(sheet.water.volume) * 2.0).abs() < 1e-9);
    assert!(levels.mix > levels.water);
}

#[test]
fn every_line_has_its_result_and_each_key_once_a_part() {
    let mut question = with_heel(ask("35 % w/w", "3 % w/v", 186.0), 18.0, 7.4);
    question.already.residual = s("5 mg/L");
    question.tolerances = Some(DoseTolerances::usual(&question.volume));
    question.jug = Some(Jug::new(litres(2.5), litres(0.05)).unwrap());
    let sheet = dose(&question).unwrap();
    for units in Units::ALL {
        let lines = sheet.lines(units);
        assert!(
            lines
                .iter()
                .all(|line| !line.result.is_empty() && !line.label.is_empty())
        );
        let mut keys: Vec<&str> = lines.iter().map(|line| line.key).collect();
        keys.sort_unstable();
        let count = keys.len();
        keys.dedup();
        assert_eq!(keys.len(), count);
    }
    let find = |key: &str| {
        sheet
            .lines(Units::Metric)
            .into_iter()
            .find(|line| line.key == key)
            .unwrap()
    };
    assert_eq!(find("peroxide").working, "186\u{a0}L × 30\u{a0}g/L");
    assert_eq!(find("peroxide").result, "5\u{a0}580\u{a0}g");
    assert_eq!(find("in_a_litre").result, "395.9\u{a0}g/L");
}

/// A second way to the dose: drops of concentrate fall into the water until the mix is as strong
/// as asked, with water taken out or put in so that the volume comes out right.
fn by_drops(
    stock: &Solution,
    target: &Solution,
    system: f64,
    heel: f64,
    t: WaterTemperature,
) -> f64 {
    let density = |w: f64| {
        peroxide::density(MassFraction::new(w).unwrap(), t)
            .unwrap()
            .value
            / 1000.0
    };
    let (mut low, mut high) = (0.0, system - heel);
    let mut poured = 0.0;
    for _ in 0..60 {
        let water_kg = (low + high) / 2.0 * density(0.0);
        let (mut kg, mut peroxide) = (water_kg + heel * density(0.0), 0.0);
        poured = 0.0;
        let mut drop = system / 500.0;
        while drop > 1e-7 {
            let drop_kg = drop * density(stock.fraction.get());
            let next = (peroxide + drop_kg * stock.fraction.get()) / (kg + drop_kg);
            if next > target.fraction.get() {
                drop /= 2.0;
            } else {
                kg += drop_kg;
                peroxide += drop_kg * stock.fraction.get();
                poured += drop;
            }
        }
        if kg / density(peroxide / kg) > system {
            high = (low + high) / 2.0;
        } else {
            low = (low + high) / 2.0;
        }
    }
    poured
}

#[test]
fn drops_lead_to_the_same_dose() {
    for (stock, target, system, heel, t) in [
        ("35 % w/w", "3 % w/v", 186.0, 25.4, 20.0),
        ("35 % w/w", "6 % w/w", 100.0, 0.0, 20.0),
        ("50 % w/w", "7.3 % w/w", 40.0, 3.0, 5.0),
        ("27.5 % w/w", "12 vol", 900.0, 100.0, 35.0),
        ("3 % w/v", "500 mg/L", 60.0, 6.0, 12.0),
    ] {
        let mut question = with_heel(ask(stock, target, system), heel, 0.0);
        question.temperature = WaterTemperature::new(t).unwrap();
        let sheet = dose(&question).unwrap();
        let drops = by_drops(
            &sheet.stock,
            &sheet.target,
            system,
            heel,
            question.temperature,
        );
        let exact = in_litres(sheet.concentrate.volume);
        assert!(
            (drops / exact - 1.0).abs() < 2e-4,
            "{stock} {target}: {drops} against {exact}"
        );
    }
}

prop_compose! {
    fn questions()(percent in 1.0..=50.0f64, share in 0.001..0.9f64, basis in 0..5usize, system in 0.1..=100_000.0f64,
                   heel in 0.0..0.4f64, retained in 0.0..0.4f64, residual in 0.0..1.2f64, t in 0.0..=40.0f64) -> DoseAsk {
        let t = WaterTemperature::new(t).unwrap();
        let stock = Strength::new(percent, Basis::PercentWw).unwrap();
        let w = MassFraction::from_percent(percent * share).unwrap();
        let target = Strength::of_fraction(w, Basis::ALL[basis], t).unwrap();
        let mut ask = DoseAsk::new(Stock::labelled(stock), target, SystemVolume::measured(litres(system)), t);
        ask.already.heel = litres(system * heel);
        ask.already.retained = litres(system * retained);
        ask.already.residual = Strength::new(target.value() * residual, target.basis()).unwrap_or(Strength::NONE);
        ask
    }
}

proptest! {
    #[test]
    fn mass_is_conserved_or_the_dose_refused(question in questions()) {
        let Ok(sheet) = dose(&question) else { return Ok(()) };
        let parts = in_kilograms(sheet.already.mass + sheet.concentrate.mass + sheet.water.mass);
        let whole = in_kilograms(sheet.finished.mass);
        prop_assert!((parts / whole - 1.0).abs() < 1e-6);
        let peroxide = in_grams(sheet.peroxide_already) + in_grams(sheet.concentrate.mass) * sheet.stock.fraction.get();
        prop_assert!((peroxide / in_grams(sheet.peroxide_total) - 1.0).abs() < 1e-9);
        prop_assert!(sheet.concentrate.mass.value > 0.0 && sheet.water.mass.value >= 0.0);
        let by_fraction = in_grams(sheet.finished.mass) * sheet.target.fraction.get();
        prop_assert!((by_fraction / in_grams(sheet.peroxide_total) - 1.0).abs() < 1e-9);
        let shrunk = in_litres(sheet.sum_of_volumes()) / in_litres(sheet.finished.volume);
        prop_assert!((0.999..1.01).contains(&shrunk), "{shrunk}");
    }

    #[test]
    fn more_is_asked_more_is_poured(question in questions(), more in 1.01..1.5f64) {
        let Ok(sheet) = dose(&question) else { return Ok(()) };
        let mut larger = question.clone();
        larger.volume = SystemVolume::measured(question.volume.volume * more);
        if let Ok(larger) = dose(&larger) {
            prop_assert!(larger.concentrate.volume > sheet.concentrate.volume);
        }
        let mut stronger = question.clone();
        stronger.target = Strength::new(question.target.value() * more, question.target.basis()).unwrap_or(question.target);
        if let Ok(stronger) = dose(&stronger) && stronger.target != sheet.target {
            prop_assert!(stronger.concentrate.volume > sheet.concentrate.volume);
        }
        let mut weaker_stock = question;
        weaker_stock.stock.label = Strength::new(weaker_stock.stock.label.value() / more, Basis::PercentWw).unwrap();
        if let Ok(weaker) = dose(&weaker_stock) {
            prop_assert!(weaker.concentrate.volume > sheet.concentrate.volume);
        }
    }

    #[test]
    fn pours_fit_the_jug_and_reach_the_dose(question in questions(), top in 1..=25_000i64, mark in 1..=500i64, room in 0.05..2.0f64) {
        let mut question = question;
        let Ok(jug) = Jug::new(litres(top as f64 / 1000.0), litres(mark as f64 / 1000.0)) else { return Ok(()) };
        question.jug = Some(jug);
        question.batch_room = Some(question.volume.volume * room);
        let Ok(sheet) = dose(&question) else { return Ok(()) };
        let Some(poured) = sheet.poured else { return Ok(()) };
        let all: Vec<i64> = sheet.batches.iter().flat_map(|batch| batch.pours.iter().map(|pour| pour.get())).collect();
        prop_assert!(all.iter().all(|pour| *pour > 0 && *pour <= top && pour % mark == 0));
        prop_assert_eq!(all.len(), poured.count);
        prop_assert!((all.iter().sum::<i64>() as f64 / 1000.0 - in_litres(poured.sum)).abs() < 1e-6);
        let over = in_litres(poured.sum) - in_litres(sheet.concentrate.volume);
        prop_assert!(over > -1e-5 * mark as f64 && over < mark as f64 / 1000.0 * 1.000_01);
        prop_assert!(poured.fraction.get() >= sheet.target.fraction.get() * (1.0 - 1e-6));
    }
}

#[test]
fn ounces_on_a_jug_are_not_rounded_to_millilitres() {
    use crate::science::units::VolumeUnit::UsFluidOunce;
    let mut question = ask("35 % w/w", "3 % w/v", 186.0);
    question.jug = Some(Jug::new(UsFluidOunce.of(64.0), UsFluidOunce.of(1.0)).unwrap());
    let sheet = dose(&question).unwrap();
    // 14.094 L are 476.6 US fl oz: seven full jugs of 64 and one of 29.
    let ounces = UsFluidOunce.count(sheet.poured.unwrap().sum);
    assert!((ounces - 477.0).abs() < 1e-9, "{ounces}");
    assert_eq!(sheet.batches[0].pours.len(), 8);
    assert_eq!(
        sheet.batches[0].words(Units::Us).replace('\u{a0}', " "),
        "7 × 64 US fl oz (1.893 L) + 29 US fl oz (858 mL)"
    );
}
