//! The register: a system entered page by page, what it then holds, and what its pages ask for.

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

pub fn reservoir() -> Vec<(&'static str, &'static str)> {
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

pub fn with_version(
    mut fields: Vec<(&'static str, &'static str)>,
    version: &'static str,
) -> Vec<(&'static str, &'static str)> {
    fields.push(("version", version));
    fields
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
    garden.change("update site set units = 'us'").await;
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
