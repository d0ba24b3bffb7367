//! Stores: where stock stands, how it is moved and parted, and what its counts and labels say.

use slackwater::crew::Role;
use slackwater::db::MIGRATOR;
use sqlx::sqlite::{SqliteConnectOptions, SqlitePoolOptions};

use crate::garden::{Garden, Person};

/// A product and a lot of 25 L of it in the cage, entered through the pages. Gives the lot's page.
pub async fn lot_in_a_cage(ines: &Person) -> String {
    let product = [
        ("name", "Peroxide 35"),
        ("strength", "35"),
        ("basis", "% w/w"),
        ("synonyms", "hydrogen dioxide"),
        ("density", "1.13"),
    ];
    ines.post("/stock/products", &product).await.sent_on();
    for (name, kind, kinds, most, usual) in [
        ("Cage", "cage", "hydrogen peroxide", "60", "35"),
        ("Cabinet", "cabinet", "hydrogen peroxide", "30", "15"),
        (
            "Feed shelf",
            "shelf",
            "fertiliser or crop protection concentrate",
            "",
            "",
        ),
    ] {
        let store = [
            ("name", name),
            ("kind", kind),
            ("may_hold", kinds),
            ("most", most),
            ("usual", usual),
        ];
        ines.post("/stock/stores", &store).await.sent_on();
    }
    let lot = [
        ("product", "1"),
        ("code", "P-118"),
        ("amount", "25"),
        ("received_on", "2027-03-01"),
        ("retest_on", "2028-03-01"),
        ("store", "1"),
        ("kept_in", "bottom"),
        ("container", "5"),
        ("litre_cost", "4.20"),
    ];
    ines.post("/stock/receive", &lot).await.sent_on()
}

#[tokio::test]
async fn a_store_says_what_it_may_hold_and_stock_ages_by_its_warmth() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.get("/stock/stores")
        .await
        .shows(&["No store is entered"]);
    let lot = lot_in_a_cage(&ines).await;
    ines.get("/stock/stores").await.shows(&[
        "Cage. For hydrogen peroxide. At most 60 L in all. 35 °C at the warmest time of the year.",
        "lot P-118 of Peroxide 35",
    ]);
    ines.get(&lot).await.shows(&[
        "Cage, bottom",
        "One container holds",
        "5 L",
        "4.20 for a L",
        "% at 35 °C",
    ]);
    // The same name, a room that is none, a temperature that is none.
    let store = |name, room, usual| {
        [
            ("name", name),
            ("kind", "cage"),
            ("room", room),
            ("usual", usual),
        ]
    };
    let refused = ines.post("/stock/stores", &store("Cage", "", "")).await;
    refused.refused("name", "There is or was a store called Cage");
    let refused = ines.post("/stock/stores", &store("Shed", "7", "")).await;
    refused.refused("room", "Choose a room that is in use.");
    let refused = ines.post("/stock/stores", &store("Shed", "", "95")).await;
    refused.refused("usual", "A store lies between −20 °C and 50 °C.");
    let lot = [
        ("product", "1"),
        ("code", "P-119"),
        ("amount", "25"),
        ("received_on", "2027-03-01"),
        ("store", "3"),
    ];
    ines.post("/stock/receive", &lot)
        .await
        .refused("store", "not for hydrogen peroxide");
    let refused = ines.post("/stock/stores/1/retire", &[]).await;
    assert_eq!(refused.status, 409);
    refused.says(&["Stock stands in Cage. Move it to another store first."]);
    ines.post("/stock/stores/3/retire", &[]).await.sent_on();
    assert_eq!(ines.get("/stock/stores/3/change").await.status, 409);
    // A year in the cage at 35 °C costs more than twice what a year at 20 °C does.
    garden.app.clock.advance(chrono::TimeDelta::days(362));
    let ines = garden.sign_in("Ines again", Role::Coordinator).await;
    ines.get("/stock")
        .await
        .shows(&["32.8 % w/w", "estimated, by age since it came"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_lot_is_moved_parted_and_decanted_and_nothing_is_lost_on_the_way() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = lot_in_a_cage(&ines).await;
    let assay = [
        ("method", "supplier certificate"),
        ("found", "34.6 % w/w"),
        ("assayed_on", "2027-03-02"),
    ];
    ines.post(&format!("{lot}/assay"), &assay).await.sent_on();
    ines.get(&format!("{lot}/move"))
        .await
        .shows(&["25 L on hand, in Cage, bottom", "value=\"P-118/2\""]);
    let go = |going, amount, store, code| {
        [
            ("going", going),
            ("amount", amount),
            ("store", store),
            ("code", code),
            ("kept_in", "top"),
        ]
    };
    let send = |fields: [(&'static str, &'static str); 5]| {
        let (ines, to) = (ines.clone(), format!("{lot}/move"));
        async move { ines.post(&to, &fields).await }
    };
    send(go("", "", "", ""))
        .await
        .refused("going", "Choose what you do with it.");
    send(go("whole", "", "1", ""))
        .await
        .refused("store", "It stands there already.");
    send(go("whole", "", "", ""))
        .await
        .refused("store", "Choose the store that it goes to.");
    send(go("whole", "", "3", ""))
        .await
        .refused("store", "not for hydrogen peroxide");
    send(go("part", "26", "2", "P-118/2"))
        .await
        .refused("amount", "25 L is on hand, and 26 L is asked for");
    send(go("part", "10", "2", "P-118"))
        .await
        .refused("code", "There is or was a lot P-118 of this product.");
    let part = send(go("part", "10", "2", "P-118/2")).await.sent_on();
    ines.get(&part).await.shows(&[
        "10 L",
        "Cabinet, top",
        "34.6",
        "moved from Cage to Cabinet",
        "lot P-118",
        "As found for lot P-118",
    ]);
    let small = send(go("decanted", "0.5", "", "P-118/3")).await.sent_on();
    ines.get(&small)
        .await
        .shows(&["500 mL", "Cage, top", "decanted", "open"]);
    // Decanting opened the lot; what was moved before stayed sealed.
    ines.get(&lot)
        .await
        .shows(&["14.5 L", "open", "+ 25 L", "− 10 L", "− 500 mL"]);
    ines.get(&part).await.shows(&["sealed"]);
    send(go("whole", "", "2", "")).await.sent_on();
    ines.get(&lot)
        .await
        .shows(&["moved from Cage to Cabinet", "Cabinet, top", "14.5 L"]);
    ines.get("/stock")
        .await
        .shows(&["25 L in 3 lots", "use this first"]);
    // What was moved is not corrected, it is moved back.
    let entry = [("amount", "3"), ("reason", "x")];
    let refused = ines.post(&format!("{lot}/entries/2/correct"), &entry).await;
    refused.refused("amount", "is put right by moving it again");
    garden.logbook_is_whole().await;
    assert_eq!(garden.logbook_says("moved").await, 2);
    assert_eq!(garden.logbook_says("decanted").await, 1);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn fifty_forms_for_the_last_litre_take_exactly_the_litre() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = lot_in_a_cage(&ines).await;
    let count = [("found", "1"), ("reason", "for the story")];
    ines.post(&format!("{lot}/count"), &count).await.sent_on();
    let mut tasks = Vec::new();
    for no in 0..50 {
        let (ines, to) = (ines.clone(), format!("{lot}/take"));
        tasks.push(tokio::spawn(async move {
            let key = format!("k{no}");
            let fields = [
                ("post_key", key.as_str()),
                ("kind", "drawn"),
                ("amount", "0.1"),
                ("reason", "trays"),
            ];
            ines.post(&to, &fields).await.status.as_u16()
        }));
    }
    let mut taken = 0;
    for task in tasks {
        match task.await.unwrap() {
            303 => taken += 1,
            422 => {}
            other => panic!("answered with {other}"),
        }
    }
    assert_eq!(taken, 10);
    ines.get(&lot).await.shows(&["0 L</strong> of"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn the_ledger_of_an_older_server_is_kept_row_by_row() {
    let folder = std::env::temp_dir().join(format!("slackwater-ledger-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let options = SqliteConnectOptions::new()
        .filename(folder.join("old.db"))
        .create_if_missing(true)
        .foreign_keys(true);
    let pool = SqlitePoolOptions::new()
        .max_connections(1)
        .connect_with(options)
        .await
        .unwrap();
    let older = sqlx::migrate::Migrator {
        migrations: MIGRATOR
            .iter()
            .filter(|step| step.version < 20)
            .cloned()
            .collect(),
        ..sqlx::migrate::Migrator::DEFAULT
    };
    older.run(&pool).await.unwrap();
    for row in [
        "insert into person (id, name, role, age_band, created_at) values (1, 'Ada', 'lead', 'adult', '2027-01-01T00:00:00Z')",
        "insert into product (id, name, agent, strength_value, strength_basis) values (1, 'P', 'hydrogen peroxide', 35, '% w/w')",
        "insert into lot (id, product_id, code, received_on, created_at) values (1, 1, 'A', '2027-01-01', '2027-01-01T00:00:00Z')",
        "insert into stock_entry (id, lot_id, kind, change_ml, person_id, at) values (1, 1, 'received', 100, 1, '2027-01-01T00:00:00Z')",
        "insert into stock_entry (id, lot_id, kind, change_ml, reason, person_id, at) values (2, 1, 'drawn', -40, 'why', 1, '2027-01-02T00:00:00Z')",
        "insert into stock_entry (id, lot_id, kind, change_ml, person_id, at, corrects) values (3, 1, 'received', -5, 1, '2027-01-03T00:00:00Z', 1)",
        "insert into stock_entry (id, lot_id, kind, change_ml, counted_ml, person_id, at) values (4, 1, 'counted', 0, 55, 1, '2027-01-03T00:00:00Z')",
    ] {
        sqlx::query(row).execute(&pool).await.unwrap();
    }
    const ROWS: &str = "select group_concat(id || kind || change_ml || ifnull(counted_ml, '-') || reason || person_id || at || ifnull(corrects, '-'), '; ') from stock_entry";
    let before: String = sqlx::query_scalar(ROWS).fetch_one(&pool).await.unwrap();
    MIGRATOR.run(&pool).await.unwrap();
    let after: String = sqlx::query_scalar(ROWS).fetch_one(&pool).await.unwrap();
    assert_eq!(before, after);
    // The guards of the ledger stand again.
    for refused in [
        "insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (1, 'drawn', -56, 1, '2027-01-02T00:00:00Z')",
        "update stock_entry set change_ml = 1 where id = 1",
        "delete from stock_entry where id = 4",
        "insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (1, 'decanted', -5, 1, '2027-01-02T00:00:00Z')",
        "insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (1, 'moved', -5, 1, '2027-01-02T00:00:00Z')",
    ] {
        assert!(
            sqlx::query(refused).execute(&pool).await.is_err(),
            "{refused}"
        );
    }
    pool.close().await;
    std::fs::remove_dir_all(&folder).unwrap();
}

#[tokio::test]
async fn a_count_that_differs_too_far_is_a_trouble_until_somebody_says_what_was_found() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = lot_in_a_cage(&ines).await;
    let count = |found, reason| [("found", found), ("reason", reason)];
    let to = format!("{lot}/count");
    ines.get(&to)
        .await
        .shows(&["Off by more than 500 mL or 2 % of the balance"]);
    ines.post(&to, &count("24", ""))
        .await
        .refused("reason", "Write why");
    // Half a litre clings in jugs; a litre does not.
    assert_eq!(ines.post(&to, &count("24.5", "drips")).await.sent_on(), lot);
    let trouble = ines.post(&to, &count("23", "nobody knows")).await.sent_on();
    assert_eq!(trouble, "/troubles/1");
    ines.get(&trouble).await.shows(&[
        "Trouble with lot P-118 of Peroxide 35",
        "23 L was found where the balance said 24.5 L: 1.5 L are missing.",
        "within 24 hours",
        "The rule of your authority, your licence and your insurer win over this text.",
        "nobody knows",
    ]);
    ines.get("/stock").await.shows(&["A trouble is open"]);
    let closed = |found, told| [("found", found), ("told", told)];
    ines.post(&trouble, &closed("", ""))
        .await
        .refused("found", "Write what was found.");
    ines.post(&trouble, &closed("a leak", ""))
        .await
        .refused("told", "Write whom you told");
    ines.post(
        &trouble,
        &closed("a pour was not entered", "nobody had to be told"),
    )
    .await
    .sent_on();
    ines.get(&trouble)
        .await
        .shows(&["a pour was not entered", "nobody had to be told"])
        .does_not_say(&["Close the trouble"]);
    assert_eq!(ines.post(&trouble, &closed("again", "x")).await.status, 409);
    ines.get("/troubles").await.shows(&["None is open."]);
    // The site's own figure, and more than the balance says.
    let figures = [
        ("differs", "2"),
        ("share", "1"),
        ("why", "cans of 25 L are read by eye"),
    ];
    ines.post("/stock/figures", &[("differs", "x"), ("share", "200")])
        .await
        .refused("share", "");
    ines.post("/stock/figures", &figures).await.sent_on();
    ines.get("/stock/figures")
        .await
        .shows(&["cans of 25 L are read by eye"]);
    assert_eq!(ines.post(&to, &count("21.5", "drips")).await.sent_on(), lot);
    let more = ines
        .post(&to, &count("30", "a can behind the door"))
        .await
        .sent_on();
    ines.get(&more)
        .await
        .shows(&["8.5 L too much"])
        .does_not_say(&["24 hours"]);
    assert_eq!(garden.logbook_says("trouble opened").await, 2);
    assert_eq!(garden.logbook_says("trouble closed").await, 1);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn whoever_puts_too_much_somewhere_is_told_before_and_says_that_it_has_to_be() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = lot_in_a_cage(&ines).await;
    let more = |code, amount, known| {
        [
            ("product", "1"),
            ("code", code),
            ("amount", amount),
            ("received_on", "2027-03-01"),
            ("store", "1"),
            ("known", known),
        ]
    };
    // 25 L stand in the cage, and 60 L may.
    let over = ines.post("/stock/receive", &more("P-119", "40", "")).await;
    over.refused(
        "known",
        "Cage would hold 65 L in all, and at most 60 L may stand in it.",
    );
    over.says(&["value=\"40\"", "I have read what stands above"]);
    ines.post("/stock/receive", &more("P-119", "40", "yes"))
        .await
        .sent_on();
    ines.get("/stock")
        .await
        .shows(&["Cage holds 65 L in all, and at most 60 L may stand in it."]);
    // The cabinet takes 30 L: 25 L is near and asks for nothing.
    let go = |amount, known| {
        [
            ("going", "part"),
            ("amount", amount),
            ("store", "2"),
            ("code", "P-118/2"),
            ("known", known),
        ]
    };
    ines.post(&format!("{lot}/move"), &go("25", ""))
        .await
        .sent_on();
    // The table of the United States knows a most for its class; this site stands under it now.
    garden.change("update site set rule_set = 'us'").await;
    let ines = garden.sign_in("Ines again", Role::Coordinator).await;
    let delivery = |amount, known| {
        [
            ("product", "1"),
            ("amount", amount),
            ("expected_on", "2027-04-01"),
            ("known", known),
        ]
    };
    let over = ines.post("/stock/deliveries", &delivery("50", "")).await;
    over.refused("known", "as the most for one part of a building");
    ines.post("/stock/deliveries", &delivery("50", "yes"))
        .await
        .sent_on();
    ines.get("/logbook").await.shows(&["known to"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_decanted_container_has_its_label_with_what_the_table_of_the_site_says() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let lot = lot_in_a_cage(&ines).await;
    let go = [
        ("going", "decanted"),
        ("amount", "1"),
        ("code", "P-118/2"),
        ("container", "1"),
    ];
    let bottle = ines.post(&format!("{lot}/move"), &go).await.sent_on();
    let label = ines.get(&format!("{bottle}/label")).await;
    label.shows(&[
        "hydrogen peroxide 35 % w/w",
        "hydrogen dioxide",
        "Danger",
        "Causes serious eye damage.",
        "May intensify fire; oxidiser.",
        "P305 + P351 + P338",
        "GHS05: corrosion",
        "GHS03: flame over circle, oxidiser",
        "Lot P-118/2",
        "decanted by Ines V., Thu 4 March 2027, 08:30",
        "Retest or use by 1 March 2028.",
        "its supplier's label keeps that one",
    ]);
    assert_eq!(label.text.matches("<section class=\"label\"").count(), 8);
    let six = ines.get(&format!("{bottle}/label?sheet=letter-6")).await;
    assert_eq!(six.text.matches("<section class=\"label\"").count(), 6);
    // Words that are no sheet show the usual one.
    ines.get(&format!("{bottle}/label?sheet=x"))
        .await
        .shows(&["labelpage a4-8"]);
    assert_eq!(ines.get("/stock/lots/77/label").await.status, 404);
}
