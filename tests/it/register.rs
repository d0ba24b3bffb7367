//! The register: a system entered page by page, what it then holds, and what is not taken.

use axum::http::StatusCode;
use slackwater::crew::Role;
use slackwater::ids::SystemId;
use slackwater::register::hold;

use crate::garden::{Garden, Person};

/// Two benches of expanded clay on one reservoir, entered as somebody at the pages would.
pub async fn north_2(ines: &Person) -> String {
    ines.post(
        "/rooms",
        &[("name", "North bay"), ("air", "420"), ("air_changes", "24")],
    )
    .await
    .sent_on();
    let system = ines
        .post("/systems", &[("room", "1"), ("name", "North 2")])
        .await
        .sent_on();
    ines.post(&format!("{system}/reservoirs"), &reservoir())
        .await
        .sent_on();
    ines.post(&format!("{system}/benches"), &bench("Bench 1", "1.20"))
        .await
        .sent_on();
    ines.post(&format!("{system}/benches"), &bench("Bench 2", "1.60"))
        .await
        .sent_on();
    ines.post(&format!("{system}/tubing"), &tubing())
        .await
        .sent_on();
    system
}

fn reservoir() -> Vec<(&'static str, &'static str)> {
    vec![
        ("capacity", "240"),
        ("heel", "18"),
        ("heel_known", "measured"),
        ("pump_need", "62"),
        ("length", "800"),
        ("width", "600"),
        ("height", "520"),
    ]
}

pub fn bench(name: &'static str, length: &'static str) -> Vec<(&'static str, &'static str)> {
    vec![
        ("name", name),
        ("length", length),
        ("width", "0.60"),
        ("media_depth", "110"),
        ("overflow", "90"),
        ("wall", "200"),
        ("floor_fall", "0"),
        ("media", "clay"),
        ("media_lie", "level"),
        (
            "floor_height",
            if name == "Bench 1" { "760" } else { "1240" },
        ),
    ]
}

pub fn tubing() -> Vec<(&'static str, &'static str)> {
    vec![
        ("name", "Fill"),
        ("purpose", "fill"),
        ("bore", "25"),
        ("length", "4.7"),
    ]
}

/// The fields with one of them typed otherwise.
pub fn but(
    mut fields: Vec<(&'static str, &'static str)>,
    name: &'static str,
    value: &'static str,
) -> Vec<(&'static str, &'static str)> {
    fields.retain(|(field, _)| *field != name);
    fields.push((name, value));
    fields
}

pub async fn coordinator() -> (Garden, Person) {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    (garden, ines)
}

/// Worked by hand. Clay drains 42 % and holds 9.6 % of the bed, and is flooded 10 mm over its top.
/// Bench 1: bed 1.20 m x 0.60 m x 110 mm = 79.2 L; 33.264 L in it and 7.2 L over it = 40.464 L; holds 7.6032 L.
/// Bench 2: bed 1.60 m x 0.60 m x 110 mm = 105.6 L; 44.352 L and 9.6 L = 53.952 L; holds 10.1376 L.
/// Tubing: pi/4 x 25 mm x 25 mm x 4.7 m = 2.3071 L. Over the heel 62 L, heel 18 L.
/// Sum 40.464 + 53.952 + 2.3071 + 7.6032 + 10.1376 + 62 + 18 = 194.464 L.
/// Drained 194.464 - 17.741 = 176.723 L, so of 240 L 63.277 L are to spare.
#[tokio::test]
async fn a_system_is_entered_page_by_page_and_its_page_says_what_it_holds() {
    let (garden, ines) = coordinator().await;
    ines.get("/systems")
        .await
        .shows(&["Nothing is entered yet", "/rooms/new"]);
    let system = north_2(&ines).await;
    for form in [
        "/rooms/new",
        "/systems/new?room=1",
        "/rooms/1/change",
        "/systems/1/change",
        "/reservoirs/1/change",
    ] {
        ines.get(form).await.shows(&["<form"]);
    }
    let page = ines.get(&system).await;
    page.shows(&[
        "<i>194.5 L</i>, two benches of expanded clay on one reservoir.",
        "Bench 1, flooded to 120 mm",
        "33.3 L in the media, 7.2 L over it",
        "<i>40.5</i>",
        "<i>54.0</i>",
        "<i>2.3</i>",
        "<i>7.6</i>",
        "<i>10.1</i>",
        "<i>62.0</i>",
        "18.0",
        "<i>194.5</i>",
        "194.5 L is used for doses.",
        "18 L of heel, and 17.74 L held in wet media",
        "Drained, 176.7 L stand in a reservoir that takes 240 L: 63.28 L to spare.",
        "A clean-out riser of 30 mm lifts the flood level to 120 mm",
        "80 mm of wall stay dry",
        "usual figure, not measured",
        "Flooded, 62 L stand over the heel",
        "floor at 760 mm",
    ]);
    ines.get("/systems")
        .await
        .shows(&["North bay", "North 2", "194.5 L", "computed"]);
    assert_eq!(
        garden.logbook_says("added").await,
        6,
        "room, system, reservoir, two benches, tubing"
    );
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn what_is_missing_is_said_by_name_and_the_next_step_is_offered() {
    let (garden, ines) = coordinator().await;
    ines.post("/rooms", &[("name", "North bay")])
        .await
        .sent_on();
    let system = ines
        .post("/systems", &[("room", "1"), ("name", "North 2")])
        .await
        .sent_on();
    ines.get(&system).await.shows(&[
        "No reservoir is entered.",
        "No bench is entered.",
        "No tubing is entered",
        "Measure the reservoir",
    ]);
    ines.post(&format!("{system}/reservoirs"), &reservoir())
        .await
        .sent_on();
    ines.get(&system)
        .await
        .shows(&["Measure the first bench"])
        .does_not_say(&["No reservoir is entered"]);
    let refused = ines
        .post(&format!("{system}/fills"), &[("metered", "160")])
        .await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["No bench is entered."]);
    let mut conn = garden.app.db.read().await.unwrap();
    let why = hold::hold_of(&mut conn, SystemId::from_row(1))
        .await
        .unwrap()
        .unwrap_err();
    assert_eq!(why.reasons().len(), 2);
    let none = hold::hold_of(&mut conn, SystemId::from_row(9))
        .await
        .unwrap()
        .unwrap_err();
    assert!(none.to_string().contains("no such system"));
}

#[tokio::test]
async fn measures_that_cannot_be_beside_each_other_are_refused_at_the_field() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let benches = format!("{system}/benches");
    for (field, value, at, message) in [
        (
            "overflow",
            "210",
            "overflow",
            "210 mm is not below the wall, 200 mm",
        ),
        ("overflow", "200", "overflow", "is not below the wall"),
        (
            "floor_fall",
            "200",
            "floor_fall",
            "comes out over a wall of 200 mm",
        ),
        (
            "media_depth",
            "210",
            "media_depth",
            "Media 210 mm deep stand over a wall of 200 mm",
        ),
        (
            "length",
            "1200",
            "length",
            "write the unit if it is another one",
        ),
        (
            "length",
            "60",
            "length",
            "Length: this reads as 60 m. It must lie from 100 mm to 50 m",
        ),
        (
            "length",
            "1,200",
            "length",
            "can be read as 1200 or as 1.200",
        ),
        ("width", "", "width", "Width: enter a number."),
        ("wall", "two hundred", "wall", "is not a number"),
        ("media", "moss", "media", "Choose what fills the bench"),
        (
            "media",
            "other",
            "drainable",
            "There are no usual ones for other media",
        ),
        (
            "media",
            "none",
            "media_depth",
            "A depth is given, but no media",
        ),
        (
            "drainable",
            "42",
            "retained",
            "give both figures, or neither",
        ),
    ] {
        let answer = ines
            .post(&benches, &but(bench("Bench 3", "1.60"), field, value))
            .await;
        answer
            .refused(at, message)
            .says(&["<title>Error: ", "value=\"Bench 3\""]);
        if !value.is_empty() && field != "media" {
            answer.says(&[&format!("value=\"{value}\"")]);
        }
    }
    let both = but(
        but(bench("Bench 3", "1.60"), "drainable", "60"),
        "retained",
        "40",
    );
    ines.post(&benches, &both)
        .await
        .refused("drainable", "leaves no room for the media");
    // All complaints at once: a height is held against the wall while another field is empty.
    let two = but(
        but(bench("Bench 3", "1.60"), "width", ""),
        "overflow",
        "210",
    );
    ines.post(&benches, &two)
        .await
        .refused("overflow", "210 mm is not below the wall, 200 mm")
        .says(&["Two things to put right", "Width: enter a number."]);
    // A faulty measure has a heavy ring in the picture.
    let answer = ines
        .post(&benches, &but(bench("Bench 3", "1.60"), "overflow", "210"))
        .await;
    assert_eq!(answer.text.matches("dr-ring wrong").count(), 1);

    for (field, value, at, message) in [
        (
            "pump_need",
            "230",
            "pump_need",
            "The heel and the water over it are 248 L together, more than the 240 L",
        ),
        ("capacity", "400", "capacity", "they make 249.6 L"),
        ("width", "", "width", "level marks need both"),
        (
            "heel_known",
            "",
            "heel_known",
            "Choose how the heel is known",
        ),
    ] {
        ines.post(
            "/reservoirs/1",
            &but(with_version(reservoir(), "1"), field, value),
        )
        .await
        .refused(at, message);
    }
    for (field, value, at, message) in [
        ("rise", "5", "rise", "cannot rise by 5"),
        ("bore", "1", "bore", "It must lie from 2 mm to 300 mm"),
        ("purpose", "", "purpose", "Choose what it is for"),
    ] {
        ines.post(&format!("{system}/tubing"), &but(tubing(), field, value))
            .await
            .refused(at, message);
    }
    let jug = |mark| [("name", "Green jug"), ("capacity", "2.5"), ("mark", mark)];
    ines.post("/jugs", &jug("3"))
        .await
        .refused("mark", "The marks are 3 L apart in a jug of only 2.5");
    ines.post("/jugs", &jug("50 mL")).await.sent_on();
    ines.post("/jugs", &jug("50 mL"))
        .await
        .refused("name", "a jug called Green jug");
    ines.get("/jugs")
        .await
        .shows(&["Green jug", "2.5", "50 mL"]);
    ines.post("/systems", &[("room", "1"), ("name", "North 2")])
        .await
        .refused("name", "There is or was a system called North 2");
    ines.post("/systems", &[("room", "9"), ("name", "North 3")])
        .await
        .refused("room", "Choose the room");
    ines.post("/rooms", &[("name", "North bay")])
        .await
        .refused("name", "a room called North bay");
    let answer = ines
        .post(&format!("{system}/reservoirs"), &reservoir())
        .await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
}

pub fn with_version(
    mut fields: Vec<(&'static str, &'static str)>,
    version: &'static str,
) -> Vec<(&'static str, &'static str)> {
    fields.push(("version", version));
    fields
}

#[tokio::test]
async fn a_wall_too_low_for_a_clean_out_is_said_by_the_benchs_own_name() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let low = with_version(but(bench("Bench 2", "1.60"), "wall", "130"), "1");
    ines.post("/benches/2", &but(low, "name", "South tray"))
        .await
        .sent_on();
    ines.get(&system).await.shows(&[
        "South tray would have to be flooded to 120 mm to wet all its media",
        "leaves 10 mm instead of 15 mm",
    ]);
    ines.get("/systems").await.shows(&["not known"]);
}

/// Bench 1 by its bucket test, 43 % and 7 %: 79.2 L x 0.43 + 7.2 L = 41.256 L, and it holds 5.544 L.
/// Sum 194.4639 + 0.792 - 2.0592 = 193.197 L. Held in the media 5.544 + 10.1376 = 15.6816 L.
/// Fill: 160 L went in, 18 L of heel and 15.682 L in wet media were there: 193.682 L, 0.3 % more.
#[tokio::test]
async fn a_bucket_test_and_a_measured_fill_go_before_usual_and_computed_figures() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let oda = garden.sign_in("Oda R.", Role::Hand).await;
    let test = [
        ("bulk", "10"),
        ("filled", "5"),
        ("drained", "4.3"),
        ("tested_on", "2027-01-09"),
    ];
    for (field, value, message) in [
        ("filled", "11", "More water went in than there are media"),
        ("drained", "5.1", "More ran out than went in"),
        ("tested_on", "2027-03-05", "still to come"),
    ] {
        oda.post("/benches/1/bucket-tests", &but(test.to_vec(), field, value))
            .await
            .refused(field, message);
    }
    let back = oda.post("/benches/1/bucket-tests", &test).await.sent_on();
    oda.get(&back)
        .await
        .shows(&["43.0 % drains, 7.0 % stays wet", "Oda R., 9 January 2027"]);
    oda.get(&system).await.shows(&[
        "<i>193.2 L</i>, two benches",
        "bucket test, Oda R., 9 January 2027",
        "5.5",
    ]);

    let fills = format!("{system}/fills");
    let fill = vec![
        ("metered", "160"),
        ("media_was", "wet"),
        ("heel_was", "in"),
        ("how", "metered"),
        ("measured_on", "2027-02-12"),
    ];
    oda.post(&fills, &but(fill.clone(), "metered", ""))
        .await
        .refused("metered", "enter a number");
    oda.post(&fills, &but(fill.clone(), "measured_on", "2027-03-05"))
        .await
        .refused("measured_on", "still to come");
    oda.post(&fills, &fill).await.sent_on();
    oda.get(&fills).await.shows(&[
        "193.7 L",
        "160 L with a water meter, and 33.68 L there before",
        "counts",
    ]);
    oda.get(&system).await.shows(&[
        "193.7 L is used for doses.",
        "Measured 193.7 L, 0.3 % more than the computed 193.2 L",
        "Oda R., 12 February 2027",
    ]);
    {
        let mut conn = garden.app.db.read().await.unwrap();
        let held = hold::hold_of(&mut conn, SystemId::from_row(1))
            .await
            .unwrap()
            .unwrap();
        let litres = slackwater::science::quantity::in_litres(held.volume().volume);
        assert!((litres - 193.682).abs() < 1e-9, "{litres}");
        let room = slackwater::science::quantity::in_litres(held.batch_room());
        assert!(
            (room - 222.0).abs() < 1e-9,
            "240 L less 18 L of heel, not {room}"
        );
        // 0.8 m x 0.6 m: 0.48 L for each millimetre.
        let mark = slackwater::science::quantity::in_litres(held.per_millimetre().unwrap());
        assert!((mark - 0.48).abs() < 1e-9, "{mark}");
    }

    // Far apart: something was measured wrongly, and it is said.
    oda.post(&fills, &but(fill.clone(), "metered", "220"))
        .await
        .sent_on();
    oda.get(&system)
        .await
        .shows(&["Something was measured wrongly", "class=\"late\""]);

    // A hand measures and does not judge; a lead sets it aside, with why, and the earlier one counts again.
    assert_eq!(
        oda.get("/fills/2/set-aside").await.status,
        StatusCode::FORBIDDEN
    );
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    tobit
        .post("/fills/2/set-aside", &[("reason", " ")])
        .await
        .refused("reason", "Write why");
    tobit
        .post(
            "/fills/2/set-aside",
            &[("reason", "The hose ran beside the meter")],
        )
        .await
        .sent_on();
    assert_eq!(
        tobit
            .post("/fills/2/set-aside", &[("reason", "again")])
            .await
            .status,
        StatusCode::CONFLICT
    );
    tobit
        .get(&fills)
        .await
        .shows(&["set aside by Tobit A.: The hose ran beside the meter"]);
    tobit
        .get(&system)
        .await
        .shows(&["193.7 L is used for doses."]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_fill_speaks_only_of_the_loop_it_was_measured_in() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let fill = [
        ("metered", "160"),
        ("media_was", "wet"),
        ("heel_was", "in"),
        ("how", "jug"),
        ("measured_on", "2027-02-12"),
    ];
    ines.post(&format!("{system}/fills"), &fill).await.sent_on();
    ines.get(&system)
        .await
        .shows(&["195.7 L is used for doses."]); // 160 + 18 + 17.741
    // A new name or the height over the ground changes nothing of what it holds.
    let renamed = with_version(but(bench("Bench 2", "1.60"), "name", "Upper bench"), "1");
    ines.post("/benches/2", &but(renamed, "floor_height", "1300"))
        .await
        .sent_on();
    ines.get(&system)
        .await
        .shows(&["195.7 L is used for doses."]);
    // A bench that is longer does.
    let longer = with_version(but(bench("Upper bench", "1.60"), "length", "1.70"), "2");
    ines.post("/benches/2", &longer).await.sent_on();
    ines.get(&system)
        .await
        .shows(&["The loop was changed after its fill was measured"]);
    ines.get(&format!("{system}/fills"))
        .await
        .shows(&["no longer counts: the loop was changed since"]);
}

#[tokio::test]
async fn two_people_who_change_the_same_bench_see_each_other() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let tobit = garden.sign_in("Tobit A.", Role::Coordinator).await;
    ines.get("/benches/1/change").await.shows(&[
        "name=\"version\" value=\"1\"",
        "value=\"1.2\"",
        "value=\"90\"",
    ]);
    ines.post(
        "/benches/1",
        &with_version(but(bench("Bench 1", "1.20"), "wall", "190"), "1"),
    )
    .await
    .sent_on();
    let late = tobit
        .post(
            "/benches/1",
            &with_version(but(bench("Bench 1", "1.20"), "overflow", "95"), "1"),
        )
        .await;
    late.refused("name", "overflow is now 90 mm").says(&[
        "wall is now 190 mm",
        "value=\"95\"",
        "name=\"version\" value=\"2\"",
    ]);
    // Having seen it, he saves his own.
    tobit
        .post(
            "/benches/1",
            &with_version(but(bench("Bench 1", "1.20"), "overflow", "95"), "2"),
        )
        .await
        .sent_on();
    tobit.get(&system).await.shows(&["95 mm"]);
    ines.get("/logbook?words=bench+1")
        .await
        .shows(&["wall: 200 mm, was 190 mm", "overflow: 95 mm, was 90 mm"]);
    assert_eq!(garden.logbook_says("changed").await, 2);
}

#[tokio::test]
async fn what_is_retired_stays_readable_and_is_not_used_anew() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    ines.get("/retire/bench/2")
        .await
        .shows(&["Retire North 2, Bench 2", "This cannot be undone"]);
    ines.post("/retire/bench/2", &[("reason", "")])
        .await
        .refused("reason", "Write why");
    ines.post("/retire/bench/2", &[("reason", "Cracked along the drain")])
        .await
        .sent_on();
    // Without bench 2: 40.464 + 2.307 + 7.603 + 62 + 18 = 130.374 L.
    ines.get(&system)
        .await
        .shows(&["<i>130.4 L</i>, one bench", "Retired: Bench 2"]);
    for path in ["/benches/2/change", "/retire/bench/2"] {
        assert_eq!(ines.get(path).await.status, StatusCode::CONFLICT, "{path}");
    }
    assert_eq!(
        ines.post("/benches/2", &with_version(bench("Bench 2", "1.6"), "2"))
            .await
            .status,
        StatusCode::CONFLICT
    );
    let room = ines.get("/retire/room/1").await;
    assert_eq!(room.status, StatusCode::CONFLICT);
    room.says(&["Systems stand in North bay"]);
    ines.post("/retire/system/1", &[("reason", "Taken down")])
        .await
        .sent_on();
    ines.get(&system)
        .await
        .shows(&["Retired. It stays readable"])
        .does_not_say(&["benches/new", "Enter a measured fill"]);
    ines.get("/systems")
        .await
        .shows(&["<h2 id=\"h-retired\">Retired</h2>", "North 2"]);
    assert_eq!(
        ines.post(&format!("{system}/benches"), &bench("Bench 3", "1.60"))
            .await
            .status,
        StatusCode::CONFLICT
    );
    ines.post("/retire/room/1", &[("reason", "Let to a neighbour")])
        .await
        .sent_on();
    ines.get("/systems/new").await.shows(&["There is none yet"]);
    assert_eq!(
        ines.get("/retire/barn/1").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(
        ines.get("/retire/jug/1").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(garden.logbook_says("retired").await, 3);
}

#[tokio::test]
async fn a_lead_lays_a_system_up_or_quarantines_it_with_why_and_back() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    let standing = format!("{system}/standing");
    tobit
        .post(&standing, &[("act", "quarantine")])
        .await
        .refused("quarantine_why", "Write why");
    tobit
        .post(
            &standing,
            &[("act", "quarantine"), ("quarantine_why", "Brown roots")],
        )
        .await
        .sent_on();
    tobit
        .get(&system)
        .await
        .shows(&["Quarantined since 4 March 2027: Brown roots"]);
    ines.get("/systems")
        .await
        .shows(&["quarantined since 4 March 2027: Brown roots"]);
    let twice = tobit
        .post(
            &standing,
            &[("act", "quarantine"), ("quarantine_why", "Again")],
        )
        .await;
    assert_eq!(twice.status, StatusCode::CONFLICT);
    tobit
        .post(
            &standing,
            &[("act", "lift"), ("quarantine_why", "Three clean samples")],
        )
        .await
        .sent_on();
    tobit
        .get(&system)
        .await
        .does_not_say(&["Quarantined since"]);
    tobit
        .post(&standing, &[("act", "lay up"), ("laid_up_why", "Winter")])
        .await
        .sent_on();
    tobit
        .get(&system)
        .await
        .shows(&["Laid up since 4 March 2027."]);
    tobit
        .post(
            &standing,
            &[("act", "bring back"), ("laid_up_why", "Spring")],
        )
        .await
        .sent_on();
    assert_eq!(
        tobit.post(&standing, &[("act", "paint")]).await.status,
        StatusCode::BAD_REQUEST
    );
    for what in [
        "quarantined",
        "quarantine lifted",
        "laid up",
        "brought back into use",
    ] {
        assert_eq!(garden.logbook_says(what).await, 1, "{what}");
    }
}

#[tokio::test]
async fn a_system_in_which_a_crop_grows_is_neither_retired_nor_laid_up() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let mut tx = garden.app.db.write().await.unwrap();
    sqlx::raw_sql("insert into planting (system_id, crop, planted_on, stage, already_growing, created_at) values (1, 'Pak choi', '2027-02-01', 'growing', 1, '2027-02-01T08:00:00Z')")
        .execute(tx.conn())
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let refused = ines
        .post("/retire/system/1", &[("reason", "Taken down")])
        .await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["A crop grows in North 2"]);
    ines.post(
        &format!("{system}/standing"),
        &[("act", "lay up"), ("laid_up_why", "Winter")],
    )
    .await
    .refused("laid_up_why", "A crop grows in it");
    assert_eq!(
        garden.logbook_says("retired").await + garden.logbook_says("laid up").await,
        0
    );
}

#[tokio::test]
async fn the_same_form_sent_twice_adds_one_bench() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let mut form = bench("Bench 3", "1.20");
    form.push(("post_key", "a key that the page made"));
    let first = ines
        .post(&format!("{system}/benches"), &form)
        .await
        .sent_on();
    let again = ines
        .post(&format!("{system}/benches"), &form)
        .await
        .sent_on();
    assert_eq!(first, again);
    ines.get(&system).await.shows(&["three benches"]);
    assert_eq!(garden.logbook_says("added").await, 7);
}

#[tokio::test]
async fn a_reader_in_us_units_types_and_reads_them() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let mut tx = garden.app.db.write().await.unwrap();
    sqlx::raw_sql("update site set units = 'us'")
        .execute(tx.conn())
        .await
        .unwrap();
    tx.commit().await.unwrap();
    // 194.464 L / 3.785412 L = 51.372 US gal.
    ines.get(&system)
        .await
        .shows(&["51.37 US gal is used for doses.", "US gal"]);
    ines.get("/benches/1/change").await.shows(&[
        "value=\"3.937\"",
        "<span class=\"unit\">ft</span>",
        "value=\"3.5433\"",
    ]);
    ines.post(
        "/benches/1",
        &with_version(but(bench("Bench 1", "4"), "overflow", "3.5 in"), "1"),
    )
    .await
    .refused(
        "media_depth",
        "Depth of the media: this reads as 110 in. It must lie from 0.04 in to 59.06 in",
    );
}

/// By hand: all of 25 L/min (1500 L/h) over an open overflow of 32 mm bore need 38 mm of head by the
/// orifice formula, so water stands at 90 + 38 = 128 mm, and at 120 + 38 = 158 mm with the riser on.
/// Half clogged it is as if 50 L/min came: four times the head, 152 mm, and 272 mm of water over a wall
/// of 200 mm. Through 19.05 mm the head is (32 / 19.05)^4 = 7.96 times as much, 303 mm.
/// The overflow itself holds pi/4 x 19.05 mm x 19.05 mm x 0.9 m = 0.257 L: 176.723 + 0.257 - 170 = 6.98 L run over.
/// Lift: floor at 1240 mm and water to 120 mm over it, less what the reservoir of 0.48 m2 still holds:
/// (177.447 - 94.416) L make 173 mm, so 1187 mm.
#[tokio::test]
async fn what_does_not_fit_is_said_with_its_figures() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    ines.get(&system)
        .await
        .shows(&[
            "cannot be told yet",
            "href=\"/benches/1/change#overflow_bore\"",
            "href=\"/systems/1/pumps/new\"",
        ])
        .does_not_say(&["A bench can run over"]);
    let pump = |head| {
        vec![
            ("name", "Pump"),
            ("kind", "submersible"),
            ("max_flow", "1500"),
            ("max_head", head),
        ]
    };
    let overflow = |bore| {
        vec![
            ("name", "Overflow"),
            ("purpose", "overflow"),
            ("bore", bore),
            ("length", "0.9"),
        ]
    };
    ines.post(&format!("{system}/pumps"), &pump("2.4"))
        .await
        .sent_on();
    ines.post(&format!("{system}/tubing"), &overflow("32"))
        .await
        .sent_on();
    ines.get(&system).await.shows(&[
        "A bench can run over",
        "at 242 mm as it grows and at 272 mm with the riser on; the wall is 200 mm. It runs over the wall.",
        "Never leave this pump running unattended.",
        "The overflow keeps half of its capacity",
    ]);
    // Open pipes that nothing can clog keep all of it.
    for (id, name, length) in [(1, "Bench 1", "1.20"), (2, "Bench 2", "1.60")] {
        let open = but(bench(name, length), "overflow_keeps", "100");
        ines.post(&format!("/benches/{id}"), &with_version(open, "1"))
            .await
            .sent_on();
    }
    ines.get(&system)
        .await
        .shows(&[
            "at 128 mm as it grows and at 158 mm with the riser on; the wall is 200 mm. It does not run over.",
            "the pump lifts 1 187 mm of at most 2.4 m and brings between",
            "Time to flood",
        ])
        .does_not_say(&["A bench can run over", "class=\"late\""]);

    ines.post("/tubing/2", &with_version(overflow("19.05"), "1"))
        .await
        .sent_on();
    ines.post("/pumps/1", &with_version(pump("1.1"), "1"))
        .await
        .sent_on();
    let short = but(bench("Bench 1", "1.20"), "overflow_keeps", "100");
    let short = with_version(but(short, "riser", "20"), "2");
    ines.post("/benches/1", &short).await.sent_on();
    let long = with_version(but(bench("Bench 2", "1.60"), "riser", "45"), "2");
    ines.post("/benches/2", &long).await.sent_on();
    let small = but(but(reservoir(), "capacity", "170"), "pump_need", "62");
    ines.post("/reservoirs/1", &with_version(small, "1"))
        .await
        .sent_on();
    ines.get(&system).await.shows(&[
        "at 393 mm as it grows and at 423 mm with the riser on",
        "and the pump lifts at most 1.1 m. The water does not get there.",
        "The one that is kept, 20 mm, is too short: media would stay dry",
        "The one that is kept, 45 mm, is longer: cut it",
        "a reservoir that takes only 170 L: 6.98 L run over",
    ]);
}
