//! What a change does to the plan, seen before it is saved; nothing of a look stays.

use axum::http::StatusCode;
use slackwater::crew::Role;

use crate::cleanouts::House;
use crate::crops::Bench;
use crate::garden::Person;
use crate::plan::{hidden, planting, post_it};

/// Two systems in one bay whose crops come off on 10 March, a lead and a coordinator; the plan is posted.
async fn posted() -> (Bench, Person, Person) {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Coordinator).await;
    let oda = bench.garden.sign_in("Oda R.", Role::Lead).await;
    bench.system(2, "North 2").await;
    planting(&ines, "1", "2027-03-10", "2027-03-13").await;
    planting(&ines, "2", "2027-03-10", "2027-03-13").await;
    post_it(&ines).await.sent_on();
    (bench, ines, oda)
}

/// What tells on one connection whether anything was written on another.
async fn version(bench: &Bench) -> i64 {
    let mut conn = bench.garden.app.db.read().await.unwrap();
    let writes = bench.garden.app.db.writes();
    let rows: i64 = sqlx::query_scalar(
        "select (select count(*) from logbook) + (select count(*) from post_key)",
    )
    .fetch_one(&mut *conn)
    .await
    .unwrap();
    i64::try_from(writes).unwrap() * 1_000_000 + rows
}

const AWAY: [(&str, &str); 3] = [
    ("what", "ill"),
    ("from", "2027-03-11"),
    ("to", "2027-03-11"),
];

#[tokio::test]
async fn an_absence_shows_whose_work_changes_and_what_moves_before_it_is_saved() {
    let (bench, ines, oda) = posted().await;
    let path = format!("/crew/{}/away/new", oda.id);
    ines.get(&path)
        .await
        .shows(&["Save the days", "See what it does to the plan"]);
    let before = version(&bench).await;
    let page = ines.post(&format!("{path}/effect"), &AWAY).await;
    page.shows(&[
        "What it does to the plan",
        "The work of Oda R. changes:",
        "<li>North 1: Thu 11 Mar, 09:30 to 14:30 (dose, rinse) becomes Mon 15 Mar",
        "Nothing is saved yet.",
        // What was typed is kept.
        "value=\"2027-03-11\"",
    ]);
    assert_eq!(version(&bench).await, before);
    ines.get(&format!("/crew/{}", oda.id))
        .await
        .does_not_say(&["Thu 11 Mar 2027"]);
    // Saved from that page, it is so.
    assert_eq!(
        ines.post(&path, &AWAY).await.sent_on(),
        format!("/crew/{}", oda.id)
    );
    ines.get(&format!("/crew/{}", oda.id))
        .await
        .shows(&["Thu 11 Mar 2027"]);
    // Wrong days come back with the message at the field, whichever button was pressed.
    let wrong = [
        ("what", "ill"),
        ("from", "2027-03-11"),
        ("to", "2027-03-01"),
    ];
    ines.post(&format!("{path}/effect"), &wrong)
        .await
        .refused("to", "is before the first");
}

#[tokio::test]
async fn with_one_of_two_away_for_long_a_clean_out_that_takes_two_is_late() {
    let (_bench, ines, _) = posted().await;
    let days = [
        ("what", "leave"),
        ("from", "2027-03-05"),
        ("to", "2027-03-20"),
    ];
    ines.post(&format!("/crew/{}/away/new/effect", ines.id), &days)
        .await
        .shows(&[
            "North 1 moves from Thu 11 Mar",
            "class=\"late\">North 1 would be",
        ]);
}

#[tokio::test]
async fn a_closed_day_shows_what_moves_and_the_plan_then_says_the_same() {
    let (bench, ines, _) = posted().await;
    let days = [
        ("what", "closed"),
        ("name", "Stocktaking"),
        ("from", "2027-03-11"),
        ("to", "2027-03-11"),
    ];
    let before = version(&bench).await;
    let page = ines.post("/site/closed/new/effect", &days).await;
    page.shows(&[
        "North 1 moves from Thu 11 Mar, 08:00 to Mon 15 Mar, 08:00.",
        "<span class=\"late\">North 1 would be 2 d 16 h late.</span>",
        "The work of Ines V. changes:",
        "The work of Oda R. changes:",
        "becomes",
        "Save the days",
    ]);
    assert_eq!(version(&bench).await, before);
    ines.post("/site/closed/new", &days).await.sent_on();
    let plan = ines.get("/plan").await;
    plan.shows(&["Otherwise than posted"]);
    for moved in lines(&page.text, " moves from ") {
        assert!(plan.text.contains(&moved), "'{moved}' is not on the plan");
    }
}

/// The list's lines in which this stands.
fn lines(text: &str, words: &str) -> Vec<String> {
    let items = text.split("<li>").skip(1);
    let found: Vec<String> = items
        .filter_map(|item| item.split("</li>").next())
        .filter(|item| item.contains(words))
        .map(str::to_owned)
        .collect();
    assert!(!found.is_empty(), "no line with '{words}'");
    found
}

#[tokio::test]
async fn a_moved_turnover_shows_both_the_gap_and_the_plan_and_is_saved_by_a_second_step() {
    let (bench, ines, _) = posted().await;
    let form = ines.get("/turnovers/1/move").await;
    let version_of = hidden(&form, "version");
    let fields = [
        ("turnover_on", "2027-03-11"),
        ("next_on", "2027-03-14"),
        ("reason", "It grows slowly."),
        ("version", version_of.as_str()),
    ];
    let before = version(&bench).await;
    let page = ines.post("/turnovers/1/move", &fields).await;
    page.shows(&[
        "What this does",
        "In the plan",
        "North 1 moves from",
        "to Fri 12 Mar",
        "The work of",
    ]);
    assert_eq!(version(&bench).await, before);
    let shown = hidden(&page, "shown");
    let mut again = fields.to_vec();
    again.push(("shown", &shown));
    assert_eq!(
        ines.post("/turnovers/1/move", &again).await.sent_on(),
        "/turnovers/1"
    );
    let plan = ines.get("/plan").await;
    for moved in lines(&page.text, " moves from ") {
        assert!(plan.text.contains(&moved), "'{moved}' is not on the plan");
    }
}

#[tokio::test]
async fn a_booking_by_hand_stays_and_the_look_says_that_its_person_is_not_there() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Coordinator).await;
    planting(&ines, "1", "2027-03-10", "2027-03-13").await;
    bench
        .cleanout("27-0001", 1, Some(1), "booked", "2027-03-11")
        .await;
    let path = format!("/crew/{}/away/new/effect", ines.id);
    ines.post(&path, &AWAY).await.shows(&[
        "North 1, 27-0001, stays where it is",
        "Ines V. is not there for all of it",
    ]);
    let other_day = [
        ("what", "ill"),
        ("from", "2027-03-15"),
        ("to", "2027-03-15"),
    ];
    ines.post(&path, &other_day)
        .await
        .shows(&["Nothing in the plan changes."]);
}

#[tokio::test]
async fn hours_rooms_kit_and_weeks_are_looked_at_in_the_same_way_and_nothing_stays() {
    let (bench, ines, oda) = posted().await;
    bench
        .run("insert into kit (id, site_id, name, kind, count) values (1, 1, 'Riser set', 'riser set', 2)")
        .await;
    let week = format!("/crew/{}/hours", oda.id);
    let form = ines.get(&week).await;
    let newest = hidden(&form, "newest");
    let hours: Vec<(&str, &str)> = std::iter::repeat_n(("hours", "8-12"), 7).collect();
    let mut of_week = vec![("in_force_from", "2027-03-08"), ("newest", newest.as_str())];
    of_week.extend(hours);
    let taken = [
        ("what", "taken"),
        ("from", "2027-03-11"),
        ("to", "2027-03-11"),
    ];
    let out = [
        ("what", "out of order"),
        ("count", "1"),
        ("from", "2027-03-11"),
        ("name", "The tube is split."),
    ];
    let looks: [(String, Vec<(&str, &str)>); 4] = [
        (format!("{week}/effect"), of_week),
        ("/rooms/1/days/new/effect".to_owned(), taken.to_vec()),
        ("/kit/1/out/new/effect".to_owned(), out.to_vec()),
        (format!("/crew/{}/away/new/effect", ines.id), AWAY.to_vec()),
    ];
    let before = version(&bench).await;
    for (path, fields) in &looks {
        let page = ines.post(path, fields).await;
        assert_eq!(page.status, StatusCode::OK, "{path}: {}", page.text);
        page.shows(&["What it does to the plan", "Nothing is saved yet."]);
    }
    assert_eq!(version(&bench).await, before);
    // A room that is taken all day cannot be dosed: what was to be done there moves.
    ines.post("/rooms/1/days/new/effect", &taken)
        .await
        .shows(&["moves from Thu 11 Mar"]);
}

#[tokio::test]
async fn whatever_day_somebody_is_away_the_plan_then_moves_what_the_look_said() {
    let (bench, ines, oda) = posted().await;
    let mut said = 0;
    for (person, day, part) in [
        (&ines, "2027-03-11", ("", "")),
        (&oda, "2027-03-11", ("", "")),
        (&ines, "2027-03-12", ("08:00", "11:00")),
        (&oda, "2027-03-12", ("12:00", "17:00")),
        (&ines, "2027-03-15", ("", "")),
    ] {
        let path = format!("/crew/{}/away/new", person.id);
        let fields = [
            ("what", "course"),
            ("from", day),
            ("to", day),
            ("from_time", part.0),
            ("to_time", part.1),
        ];
        let before = version(&bench).await;
        let look = ines.post(&format!("{path}/effect"), &fields).await;
        assert_eq!(version(&bench).await, before);
        ines.post(&path, &fields).await.sent_on();
        let plan = ines.get("/plan").await;
        let moves = |text: &str| text.matches(" moves from ").count();
        assert_eq!(moves(&look.text), moves(&plan.text), "{day} {}", look.text);
        said += moves(&look.text);
        if moves(&look.text) > 0 {
            for moved in lines(&look.text, " moves from ") {
                assert!(plan.text.contains(&moved), "'{moved}' is not on the plan");
            }
        }
        // Taken back, everything stands where it was posted.
        let page = ines.get(&format!("/crew/{}", person.id)).await;
        let link = format!("href=\"/crew/{}/away/", person.id);
        let id = page
            .text
            .split(&link)
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .find(|id| *id != "new")
            .unwrap()
            .to_owned();
        let back = format!("/crew/{}/away/{id}", person.id);
        ines.post(&back, &[("act", "take back")]).await.sent_on();
        ines.get("/plan")
            .await
            .does_not_say(&["Otherwise than posted"]);
    }
    assert!(said > 0, "no day moved anything");
}

#[tokio::test]
async fn a_delivery_that_is_late_or_does_not_come_shows_which_clean_out_waits_for_it() {
    let house = House::new().await;
    house.garden.sign_in("Oda R.", Role::Lead).await;
    // Of the 20 L that came 5 are left, less than one clean-out takes.
    house
        .run("insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (1, 'spilled', -15000, 1, '2027-02-21T09:00:00Z')")
        .await;
    let ines = &house.ines;
    ines.get("/plan").await.shows(&["North 2 has no place"]);
    let delivery = [
        ("product", "1"),
        ("amount", "20"),
        ("expected_on", "2027-03-08"),
        ("known", "yes"),
    ];
    ines.post("/stock/deliveries/effect", &delivery)
        .await
        .shows(&[
            "North 2 finds a place: Tue 9 Mar",
            "The work of Ines V. changes:",
            "<li>North 2: new, Tue 9 Mar",
        ]);
    let path = ines.post("/stock/deliveries", &delivery).await.sent_on();
    let writes = || house.garden.app.db.writes();
    let before = writes();
    ines.post(&format!("{path}/effect"), &[("expected_on", "2027-03-20")])
        .await
        .shows(&[
            "If it comes on 20 March 2027:",
            "value=\"2027-03-20\"",
            "North 2 moves from Tue 9 Mar",
            "North 2 would be",
            "becomes",
        ]);
    ines.post(&format!("{path}/effect"), &[("expected_on", "2027-03-01")])
        .await
        .refused("expected_on", "This day is over.");
    // Why it is called off may be written after the look.
    let off = [("reason", ""), ("events", "1")];
    ines.post(&format!("{path}/call-off/effect"), &off)
        .await
        .shows(&[
            "If it is called off:",
            "class=\"late\">North 2 has no place any more.",
            "<li>North 2: no longer Tue 9 Mar",
            "Nothing is saved yet.",
        ]);
    assert_eq!(writes(), before);
    ines.get(&path).await.shows(&["expected on 8 March 2027"]);
    let off = [("reason", "the supplier has none"), ("events", "1")];
    ines.post(&format!("{path}/call-off"), &off).await.sent_on();
    ines.get("/plan").await.shows(&["North 2 has no place"]);
    let again = ines.post(&format!("{path}/call-off/effect"), &off).await;
    assert_eq!(again.status, StatusCode::CONFLICT);
}
