//! The stock: what is received, drawn, counted and assayed, and that nobody takes what is not there.

use slackwater::crew::Role;
use slackwater::ids::{LotId, PersonId};
use slackwater::science::agents::AgentKind;
use slackwater::science::peroxide::YearlyLoss;
use slackwater::science::stored::{MillilitreChange, Millilitres};
use slackwater::science::strength::{Basis, Strength};
use slackwater::state::App;
use slackwater::stock::printed::Printed;
use slackwater::stock::store::{self, Draw, NewLot, NewProduct, NotDrawn};
use slackwater::text::{Name, Note};

use crate::garden::{Garden, Person};

/// A product of 35 % w/w and a lot of it with so many millilitres.
pub async fn lot_of(app: &App, person: PersonId, code: &str, amount: i64) -> LotId {
    let now = app.clock.now();
    let mut tx = app.db.write().await.unwrap();
    let product = NewProduct {
        name: Name::parse(&format!("Peroxide 35, {code}")).unwrap(),
        agent: AgentKind::HydrogenPeroxide,
        label: Printed::strength(Strength::new(35.0, Basis::PercentWw).unwrap()),
        label_reference: "GB-0117".to_owned(),
        label_says: Note::default(),
        synonyms: String::new(),
        density: None,
        reentry: None,
        strength_off: None,
    };
    let product_id = store::insert_product(&mut tx, &product).await.unwrap();
    let new = NewLot {
        product_id,
        code: code.to_owned(),
        received_on: "2027-03-01".parse().unwrap(),
        opened_on: None,
        retest_on: None,
        kept_in: "store 2".to_owned(),
        store: None,
        container: None,
        litre_cost: None,
        loss: YearlyLoss::USUAL,
        strength_off: None,
    };
    let lot = store::insert_lot(&mut tx, &new, now).await.unwrap();
    let change = MillilitreChange::new(amount).unwrap();
    store::received(&mut tx, lot, change, person, now)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    lot
}

fn draw_of(lot: LotId, person: PersonId, amount: i64, garden: &Garden) -> Draw {
    Draw {
        lot,
        amount: Millilitres::new(amount).unwrap(),
        cleanout: None,
        reason: Note::parse("trays of propagation").unwrap(),
        person,
        today: "2027-03-04".parse().unwrap(),
        at: garden.app.clock.now(),
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn fifty_who_want_the_last_litre_at_once_get_exactly_the_litre() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    let lot = lot_of(&garden.app, tobit.id, "P-118", 1_000).await;
    let mut tasks = Vec::new();
    for _ in 0..50 {
        let (app, draw) = (garden.app.clone(), draw_of(lot, tobit.id, 100, &garden));
        tasks.push(tokio::spawn(async move {
            let mut tx = app.db.write().await.unwrap();
            match store::draw(&mut tx, &draw).await {
                Ok(_) => {
                    tx.commit().await.unwrap();
                    true
                }
                Err(NotDrawn::NotEnough(refusal)) => {
                    assert_eq!(refusal.on_hand.get(), 0);
                    false
                }
                Err(other) => panic!("{other}"),
            }
        }));
    }
    let mut got = 0;
    for task in tasks {
        got += i64::from(task.await.unwrap());
    }
    assert_eq!(got, 10);
    let mut conn = garden.app.db.read().await.unwrap();
    let after = store::by_id(&mut conn, lot).await.unwrap().unwrap();
    assert_eq!(after.on_hand.get(), 0);
    assert_eq!(store::of_lot(&mut conn, lot).await.unwrap().len(), 11);
    // The first draw opened the can.
    assert_eq!(after.opened_on, "2027-03-04".parse().ok());
}

#[tokio::test]
async fn a_draw_that_is_not_committed_leaves_nothing() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    let lot = lot_of(&garden.app, tobit.id, "P-118", 1_000).await;
    let mut tx = garden.app.db.write().await.unwrap();
    store::draw(&mut tx, &draw_of(lot, tobit.id, 600, &garden))
        .await
        .unwrap();
    drop(tx);
    let mut conn = garden.app.db.read().await.unwrap();
    let after = store::by_id(&mut conn, lot).await.unwrap().unwrap();
    assert_eq!((after.on_hand.get(), after.opened_on), (1_000, None));
}

/// A product and a lot of it, entered through the pages. Gives the lot's page.
async fn received(ines: &Person) -> String {
    let product = [
        ("name", "Peroxide 35"),
        ("strength", "35"),
        ("basis", "% w/w"),
        ("label_reference", "GB-0117"),
        ("label_says", "Rinse twice."),
    ];
    ines.post("/stock/products", &product).await.sent_on();
    let lot = [
        ("product", "1"),
        ("code", "P-118"),
        ("amount", "25"),
        ("received_on", "2027-03-01"),
        ("retest_on", "2027-09-01"),
        ("kept_in", "store 2"),
        ("loss", "2"),
    ];
    ines.post("/stock/receive", &lot).await.sent_on()
}

#[tokio::test]
async fn a_delivery_is_received_and_stands_on_the_list_with_its_strength_today() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.get("/stock").await.shows(&["Nothing is entered yet"]);
    ines.get("/stock/receive")
        .await
        .shows(&["There is no product to receive"]);
    let lot = received(&ines).await;
    ines.get("/stock").await.shows(&[
        "25 L in one lot",
        "P-118",
        "35 % w/w",
        "as labelled",
        "sealed",
        "store 2",
        "GB-0117",
    ]);
    ines.get(&lot).await.shows(&[
        "25 L",
        "Rinse twice.",
        "1.131 kg/L at 20 °C",
        "received",
        "not yet",
    ]);
    // A year later the strength is an estimate, and the retest is due.
    garden.app.clock.advance(chrono::TimeDelta::days(362));
    let ines = garden.sign_in("Ines again", Role::Coordinator).await;
    ines.get("/stock").await.shows(&[
        "34.3 % w/w",
        "estimated, by age since it came on 1 March 2027",
        "retest due",
        "One lot is due for a retest.",
    ]);
    garden.logbook_is_whole().await;
    assert_eq!(garden.logbook_says("received").await, 1);
}

#[tokio::test]
async fn a_delivery_that_cannot_be_is_refused_at_its_field() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let product = |strength, basis| {
        [
            ("name", "Peroxide 35"),
            ("strength", strength),
            ("basis", basis),
        ]
    };
    let refused = ines.post("/stock/products", &product("35", "")).await;
    refused.refused("basis", "Choose what the figure on the label counts");
    let refused = ines.post("/stock/products", &product("60", "% w/w")).await;
    refused.refused(
        "strength",
        "60 % w/w is stronger. Nothing stronger is handled",
    );
    let refused = ines
        .post("/stock/products", &product("35 % w/v", "% w/w"))
        .await;
    refused.refused("strength", "Which of them does the label print?");
    received(&ines).await;
    let refused = ines.post("/stock/products", &product("35", "% w/w")).await;
    refused.refused("name", "There is or was a product called Peroxide 35");
    let lot = |code, amount, received_on, retest_on| {
        [
            ("product", "1"),
            ("code", code),
            ("amount", amount),
            ("received_on", received_on),
            ("retest_on", retest_on),
        ]
    };
    let send = |fields: [(&'static str, &'static str); 5]| {
        let ines = ines.clone();
        async move { ines.post("/stock/receive", &fields).await }
    };
    send(lot("P-118", "5", "2027-03-02", ""))
        .await
        .refused("code", "was received before");
    send(lot("P-119", "5 gal", "2027-03-02", ""))
        .await
        .refused("amount", "gallon");
    send(lot("P-119", "0", "2027-03-02", ""))
        .await
        .refused("amount", "must lie from 1 mL");
    send(lot("P-119", "5", "2027-03-05", ""))
        .await
        .refused("received_on", "still to come");
    send(lot("P-119", "5", "2027-03-02", "2027-03-01"))
        .await
        .refused("retest_on", "comes after that day");
    send(lot("", "5", "2027-03-02", ""))
        .await
        .refused("code", "Write the lot code");
    send(lot("P-119", "5", "2027-03-02", "")).await.sent_on();
}

#[tokio::test]
async fn spills_counts_and_corrections_are_added_and_the_balance_follows() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = received(&ines).await;
    let take = format!("{lot}/take");
    let spill = |amount| {
        [
            ("kind", "spilled"),
            ("amount", amount),
            ("reason", "jug tipped over"),
        ]
    };
    ines.post(&take, &spill("26"))
        .await
        .refused("amount", "25 L is on hand, and 26 L is asked for")
        .says(&["jug tipped over"]);
    ines.post(
        &take,
        &[("kind", "received"), ("amount", "1"), ("reason", "x")],
    )
    .await
    .refused("kind", "Choose what happened.");
    ines.post(&take, &spill("2.5")).await.sent_on();
    let used = [
        ("kind", "drawn"),
        ("amount", "500 mL"),
        ("reason", "trays of propagation"),
    ];
    ines.post(&take, &used).await.sent_on();
    ines.get(&lot)
        .await
        .shows(&["22 L", "− 2.5 L", "− 500 mL", "Opened</dt><dd>4 March 2027"]);
    // The spill was less than was written.
    let correct = format!("{lot}/entries/2/correct");
    ines.get(&correct)
        .await
        .shows(&["spilled, 2.5 L, by Ines V."]);
    ines.post(&correct, &[("amount", "1"), ("reason", "")])
        .await
        .refused("reason", "Write why.");
    ines.post(
        &correct,
        &[("amount", "1"), ("reason", "read the jug again")],
    )
    .await
    .sent_on();
    ines.get(&lot).await.shows(&[
        "23.5 L",
        "spilled, correction of entry 2",
        "read the jug again",
    ]);
    ines.post(&correct, &[("amount", "30"), ("reason", "no")])
        .await
        .refused("amount", "Then the lot would hold less than nothing");
    // A count that differs says why; one that agrees need not.
    let count = format!("{lot}/count");
    ines.post(&count, &[("found", "23")])
        .await
        .refused("reason", "The balance says 23.5 L, and 23 L was found");
    ines.post(&count, &[("found", "23"), ("reason", "drips at the tap")])
        .await
        .sent_on();
    ines.post(&count, &[("found", "23")]).await.sent_on();
    ines.get(&lot)
        .await
        .shows(&["23 L", "counted: 23 L", "agreed", "drips at the tap"]);
    assert_eq!(garden.logbook_says("counted").await, 2);
    assert_eq!(garden.logbook_says("entry corrected").await, 1);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn the_same_form_sent_twice_takes_once() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = received(&ines).await;
    let spill = [
        ("post_key", "a-key-of-twenty-chars"),
        ("kind", "spilled"),
        ("amount", "1"),
        ("reason", "tap"),
    ];
    let take = format!("{lot}/take");
    assert_eq!(ines.post(&take, &spill).await.sent_on(), lot);
    assert_eq!(ines.post(&take, &spill).await.sent_on(), lot);
    ines.get(&lot).await.shows(&["<strong>24 L</strong>"]);
    assert_eq!(garden.logbook_says("spilled").await, 1);
}

#[tokio::test]
async fn an_assay_from_the_burette_overrides_the_label_and_answers_the_retest() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = received(&ines).await;
    let assay = format!("{lot}/assay");
    let titration = |titrant, note| {
        [
            ("method", "permanganate"),
            ("taken", "1"),
            ("made_up_to", "100"),
            ("titrated", "10"),
            ("titrant", titrant),
            ("molarity", "0.02"),
            ("assayed_on", "2027-03-04"),
            ("retest_on", "2028-03-04"),
            ("note", note),
        ]
    };
    // 22.6 mL of 0.02 mol/L in 0.1 mL of stock: 22.6 x 1.7007 / 0.1 = 384.4 g/L, 34.1 % w/w.
    ines.post(&assay, &titration("2.26", ""))
        .await
        .refused("note", "weaker than the label says");
    ines.post(&assay, &titration("226", ""))
        .await
        .refused("titrant", "more than 50 % w/w");
    ines.post(&assay, &titration("22.6", "")).await.sent_on();
    ines.get(&lot)
        .await
        .shows(&["34.1 % w/w", "found on 4 March 2027", "4 March 2028"]);
    let certificate = [
        ("method", "supplier certificate"),
        ("found", "34.9"),
        ("assayed_on", "2027-03-02"),
    ];
    ines.post(&assay, &certificate)
        .await
        .refused("found", "Add the unit");
    let certificate = [
        ("method", "supplier certificate"),
        ("found", "34.9 % w/w"),
        ("assayed_on", "2027-03-02"),
    ];
    ines.post(&assay, &certificate).await.sent_on();
    // The certificate is older, so the titration still counts.
    ines.get("/stock").await.shows(&["34.1 % w/w"]);
    assert_eq!(garden.logbook_says("assayed").await, 2);
}

#[tokio::test]
async fn a_withdrawn_lot_only_leaves() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = received(&ines).await;
    let withdraw = format!("{lot}/withdraw");
    ines.post(&withdraw, &[("reason", "")])
        .await
        .refused("reason", "Write why.");
    ines.post(&withdraw, &[("reason", "dirt in the can")])
        .await
        .sent_on();
    ines.get(&lot)
        .await
        .shows(&["Withdrawn.", "dirt in the can"]);
    for path in ["assay", "withdraw", "change"] {
        let answer = ines.get(&format!("{lot}/{path}")).await;
        assert_eq!(answer.status, axum::http::StatusCode::CONFLICT, "{path}");
    }
    let take = format!("{lot}/take");
    let entry = |kind| {
        [
            ("kind", kind),
            ("amount", "25"),
            ("reason", "to the waste firm"),
        ]
    };
    ines.post(&take, &entry("drawn"))
        .await
        .refused("kind", "This lot was withdrawn");
    ines.post(&take, &entry("disposed")).await.sent_on();
    let mut tx = garden.app.db.write().await.unwrap();
    let refused = store::draw(&mut tx, &draw_of(LotId::from_row(1), ines.id, 1, &garden)).await;
    assert!(matches!(refused, Err(NotDrawn::Refused(_))), "{refused:?}");
}

#[tokio::test]
async fn two_who_change_a_product_at_once_both_see_what_the_other_wrote() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    received(&ines).await;
    let change = |reference, version| {
        [
            ("name", "Peroxide 35"),
            ("strength", "35"),
            ("basis", "% w/w"),
            ("label_reference", reference),
            ("label_says", "Rinse twice."),
            ("version", version),
        ]
    };
    ines.post("/stock/products/1", &change("GB-0118", "1"))
        .await
        .sent_on();
    ines.post("/stock/products/1", &change("GB-0119", "1"))
        .await
        .refused("name", "label reference is now GB-0118")
        .says(&["GB-0119"]);
    ines.post("/stock/products/1", &change("GB-0119", "2"))
        .await
        .sent_on();
    ines.get("/stock").await.shows(&["GB-0119"]);
    ines.post("/stock/products/1/retire", &[]).await.sent_on();
    ines.get("/stock")
        .await
        .shows(&["No more of it is received"]);
    ines.get("/stock/receive")
        .await
        .shows(&["There is no product to receive"]);
}

#[tokio::test]
async fn the_table_itself_refuses_what_is_not_there() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    let lot = lot_of(&garden.app, tobit.id, "P-118", 1_000).await;
    let entry = store::NewEntry {
        lot,
        kind: slackwater::stock::ledger::EntryKind::Spilled,
        change: MillilitreChange::new(-1_001).unwrap(),
        counted: None,
        cleanout: None,
        reason: Note::default(),
        person: tobit.id,
        corrects: None,
        at: garden.app.clock.now(),
    };
    let mut tx = garden.app.db.write().await.unwrap();
    let refused = store::enter(&mut tx, &entry).await.unwrap_err();
    assert!(
        refused.to_string().contains("less than nothing"),
        "{refused}"
    );
}
