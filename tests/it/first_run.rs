//! From an empty register, step by step: each form leads on to the next, and it can be left.

use axum::http::StatusCode;
use slackwater::crew::Role;

use crate::garden::{Garden, Person};

/// Sends a form of the set-up and says where it leads.
async fn saved(by: &Person, path: &str, fields: &[(&str, &str)]) -> String {
    let mut all = vec![("set_up", "yes")];
    all.extend(fields);
    let answer = by.post(path, &all).await;
    let complaints = answer
        .text
        .split("class=\"errors\"")
        .nth(1)
        .unwrap_or_default();
    let complaints = complaints.split("</ul>").next().unwrap_or_default();
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{path}: {complaints}");
    assert_eq!(answer.location, "/set-up/next");
    by.get("/set-up/next").await.sent_on()
}

#[tokio::test]
async fn each_form_says_its_step_and_leads_on_to_the_next() {
    let garden = Garden::empty().await;
    let coordinator = [
        ("site_name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("name", "Ines V."),
        ("sign_in", "ines"),
        ("password", "tide pools at noon"),
        ("adult", "yes"),
        ("skill", "yes"),
    ];
    let first = garden.stranger().post("/first-run", &coordinator).await;
    assert_eq!(first.sent_on(), "/set-up");
    let ines = garden.with_cookie_of(&first);
    ines.get("/")
        .await
        .shows(&["Set-up, step 1 of 8: The room.", "href=\"/set-up\""]);
    ines.get("/set-up")
        .await
        .shows(&["Step 1 of 8.", "href=\"/rooms/new\"", "Come back later"]);
    ines.get("/rooms/new")
        .await
        .shows(&["Set-up, step 1 of 8", "name=\"set_up\" value=\"yes\""]);
    let next = saved(&ines, "/rooms", &[("name", "North bay")]).await;
    assert_eq!(next, "/systems/new");
    // What is refused stays in the set-up.
    ines.post("/systems", &[("set_up", "yes")])
        .await
        .says(&["Set-up, step 2 of 8", "name=\"set_up\" value=\"yes\""]);
    let next = saved(&ines, "/systems", &[("room", "1"), ("name", "North 2")]).await;
    assert_eq!(next, "/systems/1/reservoirs/new");
    ines.get(&next).await.shows(&["Set-up, step 2 of 8"]);
    ines.get("/set-up")
        .await
        .shows(&["entered: North bay", "Enter the reservoir"]);
    let reservoir = [
        ("capacity", "120"),
        ("length", "800"),
        ("width", "500"),
        ("height", "300"),
        ("heel", "8"),
        ("heel_known", "measured"),
        ("pump_need", "10"),
    ];
    let next = saved(&ines, "/systems/1/reservoirs", &reservoir).await;
    assert_eq!(next, "/systems/1/benches/new");
    let bench = [
        ("name", "bench 1"),
        ("length", "1.6"),
        ("width", "0.6"),
        ("wall", "200"),
        ("overflow", "90"),
        ("floor_fall", "0"),
        ("media", "clay"),
        ("media_depth", "110"),
        ("media_lie", "level"),
    ];
    let next = saved(&ines, "/systems/1/benches", &bench).await;
    assert_eq!(next, "/systems/1/pumps/new");
    ines.get(&next)
        .await
        .shows(&["Set-up, step 4 of 8", "go on without"]);
    let pump = [("name", "feed pump"), ("kind", "submersible")];
    let next = saved(&ines, "/systems/1/pumps", &pump).await;
    assert_eq!(next, "/systems/1/tubing/new");
    let tubing = [
        ("name", "feed tube"),
        ("purpose", "fill"),
        ("bore", "19"),
        ("length", "3"),
    ];
    let next = saved(&ines, "/systems/1/tubing", &tubing).await;
    assert_eq!(next, "/stock/products/new");
    // Left here and taken up again: the register says where.
    let jug = [("name", "2 L jug"), ("capacity", "2"), ("mark", "0.05")];
    assert_eq!(saved(&ines, "/jugs", &jug).await, "/stock/products/new");
    ines.get("/set-up").await.shows(&[
        "Step 5 of 8.",
        "entered: pump and tubing",
        "entered: 2 L jug",
    ]);
}

#[tokio::test]
async fn only_the_coordinator_is_led_and_only_where_the_step_belongs() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    ines.get("/systems").await.shows(&["Set-up, step 1 of 8"]);
    ines.get("/crew").await.does_not_say(&["Set-up, step"]);
    tobit.get("/systems").await.does_not_say(&["Set-up, step"]);
    assert_eq!(tobit.get("/set-up").await.status, StatusCode::FORBIDDEN);
    // A form outside the set-up goes where it always goes.
    let fields = [
        ("kind", "person"),
        ("name", "Oda R."),
        ("role", "hand"),
        ("age_band", "adult"),
    ];
    assert!(
        ines.post("/crew", &fields)
            .await
            .sent_on()
            .starts_with("/crew/")
    );
}
