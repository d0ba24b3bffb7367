//! What a plan keeps from one reading of the records to the next is never shown once the records say otherwise:
//! after each save the plan is the one that a server shows which was started anew.

use slackwater::crew::Role;

use crate::garden::{Garden, Person};
use crate::methods::{form_of, send, set};
use crate::plan::{hidden, planting, post_it};
use crate::register::{bench, but, north_2, reservoir, tubing, with_version};

/// Two systems in one bay whose crops come off on 10 March, a lot of concentrate, and two who may pour.
async fn two_systems() -> (Garden, Person) {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    garden.sign_in("Oda R.", Role::Lead).await;
    garden.with_the_builtin_methods().await;
    north_2(&ines).await;
    let other = [("room", "1"), ("name", "North 3")];
    let system = ines.post("/systems", &other).await.sent_on();
    let parts = [
        ("reservoirs", reservoir()),
        ("benches", bench("Bench 1", "1.20")),
        ("tubing", tubing()),
    ];
    for (part, fields) in parts {
        ines.post(&format!("{system}/{part}"), &fields)
            .await
            .sent_on();
    }
    ines.post("/stock/products", &PRODUCT).await.sent_on();
    let lot = [
        ("product", "1"),
        ("code", "P-118"),
        ("amount", "90"),
        ("received_on", "2027-03-01"),
        ("retest_on", "2027-09-01"),
        ("kept_in", "store 2"),
        ("loss", "2"),
        ("known", "yes"),
    ];
    ines.post("/stock/receive", &lot).await.sent_on();
    for system in ["1", "2"] {
        planting(&ines, system, "2027-03-10", "2027-04-02").await;
    }
    (garden, ines)
}

const PRODUCT: [(&str, &str); 5] = [
    ("name", "Peroxide 35"),
    ("strength", "35"),
    ("basis", "% w/w"),
    ("label_reference", "GB-0117"),
    ("label_says", "Rinse twice."),
];

/// The plan as it is shown, without what is drawn by lot for each page.
async fn plan(by: &Person) -> String {
    let page = by.get("/plan").await.text;
    let mut parts = page.split("name=\"post_key\" value=\"");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |page, part| {
        let rest = part.split_once('"').map(|(_, rest)| rest);
        page + rest.unwrap_or_default()
    })
}

/// The plan after a save: other than before, and the same as a server shows that was started anew.
async fn changed(garden: &Garden, by: &Person, before: &mut String, what: &str) {
    let now = plan(by).await;
    assert_ne!(&now, before, "{what} changes nothing in the plan");
    assert_eq!(now, plan(&garden.started_anew(by)).await, "{what}");
    *before = now;
}

#[tokio::test]
async fn whatever_a_dose_goes_by_is_saved_the_plan_shows_the_dose_that_follows() {
    let (garden, ines) = two_systems().await;
    let mut seen = plan(&ines).await;
    assert!(seen.contains("194"), "{seen}");

    let longer = with_version(bench("Bench 1", "1.35"), "1");
    ines.post("/benches/1", &longer).await.sent_on();
    changed(&garden, &ines, &mut seen, "a longer bench").await;

    let test = [
        ("bulk", "10"),
        ("filled", "5"),
        ("drained", "4.3"),
        ("tested_on", "2027-01-09"),
    ];
    ines.post("/benches/2/bucket-tests", &test).await.sent_on();
    changed(&garden, &ines, &mut seen, "a bucket test").await;

    let fill = [
        ("metered", "171"),
        ("media_was", "wet"),
        ("heel_was", "in"),
        ("how", "metered"),
        ("measured_on", "2027-02-12"),
    ];
    ines.post("/systems/1/fills", &fill).await.sent_on();
    changed(&garden, &ines, &mut seen, "a measured fill").await;

    let aside = [("reason", "The meter stuck.")];
    ines.post("/fills/1/set-aside", &aside).await.sent_on();
    changed(&garden, &ines, &mut seen, "a fill set aside").await;

    let larger = but(with_version(reservoir(), "1"), "heel", "25");
    ines.post("/reservoirs/1", &larger).await.sent_on();
    changed(&garden, &ines, &mut seen, "a deeper heel").await;

    let longer = but(with_version(tubing(), "1"), "length", "20");
    ines.post("/tubing/1", &longer).await.sent_on();
    changed(&garden, &ines, &mut seen, "longer tubing").await;

    let assay = [
        ("method", "supplier certificate"),
        ("found", "31 % w/w"),
        ("assayed_on", "2027-03-02"),
        ("note", "It stood in the sun."),
    ];
    ines.post("/stock/lots/1/assay", &assay).await.sent_on();
    changed(&garden, &ines, &mut seen, "an assay").await;

    let jug = [("name", "Jug A"), ("capacity", "2"), ("mark", "0.5")];
    ines.post("/jugs", &jug).await.sent_on();
    changed(&garden, &ines, &mut seen, "the only jug").await;

    let mut form = form_of(&ines.get("/methods/1/next").await.text);
    set(&mut form, "target", 0, "2 % w/v");
    set(&mut form, "why", 0, "The label of 2027 asks for less.");
    send(&ines, "/methods/1/next", &form, "save")
        .await
        .sent_on();
    changed(&garden, &ines, &mut seen, "another target").await;
}

#[tokio::test]
async fn whatever_closes_a_room_is_saved_the_plan_keeps_it_closed_for_as_long() {
    let (garden, ines) = two_systems().await;
    let mut seen = plan(&ines).await;
    // One dosing has to wait for the airing after the other: until the next morning, or over that too.
    let slow = [
        ("name", "North bay"),
        ("air", "420"),
        ("air_changes", "10"),
        ("version", "1"),
    ];
    ines.post("/rooms/1", &slow).await.sent_on();
    changed(&garden, &ines, &mut seen, "air that stands").await;

    let choose = [
        ("question", "air-limit"),
        ("choice", "1"),
        ("why", "Works physician, 2 March 2027"),
    ];
    ines.post("/site/sources", &choose).await.sent_on();
    changed(&garden, &ines, &mut seen, "another limit of vapour").await;

    for (minutes, version) in [("1440", "1"), ("240", "2")] {
        let named = [("reentry", minutes), ("version", version)];
        let named = [&PRODUCT[..], &named[..]].concat();
        ines.post("/stock/products/1", &named).await.sent_on();
        changed(&garden, &ines, &mut seen, "another time on the label").await;
    }
}

#[tokio::test]
async fn what_was_posted_or_drafted_last_is_what_the_plan_keeps_to() {
    let (garden, ines) = two_systems().await;
    let mut seen = plan(&ines).await;
    post_it(&ines).await.sent_on();
    changed(&garden, &ines, &mut seen, "a posting").await;

    let pinned = [("day", "2027-03-22"), ("time", "08:15")];
    let page = ines.post("/plan/2/move", &pinned).await;
    let shown = hidden(&page, "shown");
    let pinned = [pinned[0], pinned[1], ("shown", &shown)];
    ines.post("/plan/2/move", &pinned).await.sent_on();
    changed(&garden, &ines, &mut seen, "a draft").await;

    post_it(&ines).await.sent_on();
    changed(&garden, &ines, &mut seen, "a second posting").await;
    // Whoever posted is called by the name they have now.
    garden
        .change("update person set name = 'Ines W.' where name = 'Ines V.'")
        .await;
    changed(&garden, &ines, &mut seen, "another name").await;
    assert!(seen.contains("Ines W.") && !seen.contains("Ines V."));
}
