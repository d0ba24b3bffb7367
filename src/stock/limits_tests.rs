use super::*;
use crate::ids::{LotId, ProductId, RoomId, StorageBandId};
use crate::science::peroxide::YearlyLoss;
use crate::science::strength::{Basis, Strength};
use crate::site::bands::LimitPpm;
use crate::site::storage::{NewStorage, parse_most};
use crate::stock::StandsIn;
use crate::stock::printed::Printed;
use crate::stock::stores::{MayHold, StoreFigures, StoreKind};
use crate::text::{Name, Note};

fn ml(amount: i64) -> Millilitres {
    Millilitres::new(amount).unwrap()
}

fn store(id: i64, name: &str, room: Option<i64>, most: Option<i64>) -> Store {
    Store {
        id: StoreId::from_row(id),
        figures: StoreFigures {
            name: Name::parse(name).unwrap(),
            kind: StoreKind::Cage,
            room: room.map(RoomId::from_row),
            may_hold: MayHold::default(),
            most: most.map(ml),
            usual: None,
            note: Note::default(),
        },
        room_name: None,
        retired: false,
        version: 1,
    }
}

fn lot(id: i64, agent: AgentKind, amount: i64, store: Option<&Store>) -> Lot {
    Lot {
        id: LotId::from_row(id),
        product_id: ProductId::from_row(1),
        product: Name::parse("Product").unwrap(),
        agent,
        label: Printed::strength(Strength::new(35.0, Basis::PercentWw).unwrap()),
        label_reference: String::new(),
        label_says: Note::default(),
        reentry: None,
        code: format!("L{id}"),
        received_on: "2027-03-01".parse().unwrap(),
        opened_on: None,
        retest_on: None,
        store: store.map(|store| StandsIn {
            id: store.id,
            name: store.figures.name.clone(),
            warmest: None,
        }),
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
        on_hand: ml(amount),
        version: 1,
    }
}

fn band(id: i64, from: &str, below: &str, kept: &str) -> StorageBand {
    let new = NewStorage {
        from: LimitPpm::parse(from).unwrap(),
        below: LimitPpm::parse(below).unwrap(),
        class: format!("class {id}"),
        kept: parse_most(kept).unwrap(),
        closed_use: None,
        open_use: None,
    };
    StorageBand {
        id: StorageBandId::from_row(id),
        row: new.row("test"),
        in_force_from: "2020-01-01".parse().unwrap(),
        ended_on: None,
    }
}

fn arrival(agent: AgentKind, amount: i64, store: Option<&Store>) -> Arrival {
    Arrival {
        agent,
        strength: MassFraction::from_percent(35.0).ok(),
        amount: ml(amount),
        store: store.map(|store| store.id),
        comes: true,
    }
}

fn said(
    lots: &[Lot],
    stores: &[Store],
    bands: &[StorageBand],
    arrival: Option<&Arrival>,
) -> Vec<(bool, String)> {
    let standing = Standing {
        lots,
        stores,
        bands,
        day: "2027-03-04".parse().unwrap(),
        units: Units::Metric,
    };
    warnings(&standing, arrival)
        .into_iter()
        .map(|one| (one.crossed, one.words.replace('\u{a0}', " ")))
        .collect()
}

#[test]
fn a_store_says_before_it_is_full_and_when_it_would_be_over() {
    let cage = store(1, "Cage", None, Some(60_000));
    let lots = [lot(1, AgentKind::HydrogenPeroxide, 25_000, Some(&cage))];
    let stores = [cage.clone()];
    let with = |amount| {
        let coming = arrival(AgentKind::HydrogenPeroxide, amount, Some(&cage));
        said(&lots, &stores, &[], Some(&coming))
    };
    assert!(said(&lots, &stores, &[], None).is_empty());
    assert!(with(22_000).is_empty());
    assert!(!with(23_000)[0].0 && with(23_000)[0].1.contains("48 L in all, and at most 60 L"));
    assert!(!with(35_000)[0].0);
    assert!(with(35_001)[0].0);
}

#[test]
fn what_must_not_meet_does_not_stand_in_one_store_nor_in_one_room() {
    let (cage, shelf, far) = (
        store(1, "Cage", Some(1), None),
        store(2, "Shelf", Some(1), None),
        store(3, "Shed", Some(2), None),
    );
    let stores = [cage.clone(), shelf.clone(), far.clone()];
    let peroxide = lot(1, AgentKind::HydrogenPeroxide, 25_000, Some(&cage));
    let bleach = |at: &Store| {
        let coming = arrival(AgentKind::Hypochlorite, 5_000, Some(at));
        said(std::slice::from_ref(&peroxide), &stores, &[], Some(&coming))
    };
    let same = bleach(&cage);
    assert!(
        same[0].0
            && same[0]
                .1
                .starts_with("this hypochlorite and lot L1 of Product stand in Cage")
    );
    assert!(
        bleach(&shelf)[0]
            .1
            .contains("stand in one room, in Shelf and Cage")
    );
    assert!(bleach(&far).is_empty());
    // What stands there already is told once.
    let lots = [
        peroxide.clone(),
        lot(2, AgentKind::Hypochlorite, 5_000, Some(&shelf)),
    ];
    assert_eq!(said(&lots, &stores, &[], None).len(), 1);
    // An empty lot harms nobody.
    let lots = [peroxide, lot(2, AgentKind::Hypochlorite, 0, Some(&shelf))];
    assert!(said(&lots, &stores, &[], None).is_empty());
}

#[test]
fn the_mass_of_a_class_counts_over_the_whole_site() {
    let bands = [
        band(1, "0", "8", ""),
        band(2, "8", "over 27.5", "1814.4"),
        band(3, "over 27.5", "over 52", "113.4"),
    ];
    // 75 L of 35 % weigh 84.8 kg, 100 L 113.1 kg, 101 L 114.2 kg, at 1.131 kg/L.
    let lots = [lot(1, AgentKind::HydrogenPeroxide, 75_000, None)];
    let with = |amount| {
        let coming = arrival(AgentKind::HydrogenPeroxide, amount, None);
        said(&lots, &[], &bands, Some(&coming))
    };
    assert!(said(&lots, &[], &bands, None).is_empty());
    let near = with(25_000);
    assert!(
        !near[0].0 && near[0].1.contains("class 3") && near[0].1.contains("113.4 kg"),
        "{near:?}"
    );
    assert!(with(26_000)[0].0);
    // What only goes from one store to another adds nothing to the class.
    let moving = Arrival {
        comes: false,
        ..arrival(AgentKind::HydrogenPeroxide, 75_000, None)
    };
    assert!(said(&lots, &[], &bands, Some(&moving)).is_empty());
    // Another agent is not weighed by the table of peroxide.
    let other = arrival(AgentKind::Alcohol, 500_000, None);
    assert!(said(&lots, &[], &bands, Some(&other)).is_empty());
}
