//! The plan: proposed, posted, moved, and what is said where something is late.

use axum::http::StatusCode;
use slackwater::crew::{AgeBand, Role, SkillKind};

use crate::crops::Bench;
use crate::garden::{Answer, Person};

/// One system whose lettuce comes off on Wednesday 10 March, and two leads.
async fn a_gap(next_on: &'static str) -> (Bench, Person) {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    bench.garden.sign_in("Oda R.", Role::Lead).await;
    planting(&ines, "1", "2027-03-10", next_on).await;
    (bench, ines)
}

async fn planting(by: &Person, system: &str, off: &str, next_on: &str) -> String {
    let fields = [
        ("system", system),
        ("crop", "Lettuce"),
        ("planted_on", "2027-02-01"),
        ("turnover_on", off),
        ("next_on", next_on),
        ("stands", "yes"),
    ];
    by.post("/turnovers", &fields).await.sent_on()
}

/// What a hidden field of the page holds.
pub fn hidden(page: &Answer, name: &str) -> String {
    let from = format!("name=\"{name}\" value=\"");
    let at = page
        .text
        .find(&from)
        .unwrap_or_else(|| panic!("no {name} on:\n{}", page.text));
    let rest = &page.text[at + from.len()..];
    rest[..rest.find('"').unwrap()].to_owned()
}

async fn post_it(by: &Person) -> Answer {
    let page = by.get("/plan").await;
    let shown = hidden(&page, "shown");
    by.post("/plan/post", &[("shown", &shown)]).await
}

#[tokio::test]
async fn a_gap_is_planned_and_posting_books_it_and_tells_everybody() {
    let (bench, ines) = a_gap("2027-03-13").await;
    ines.get("/plan").await.shows(&[
        "One clean-out is planned.",
        "Every one is done before its next planting.",
        "nothing is posted yet",
        "Thu 11 Mar, 08:00 to 16:30",
        "No hours are entered for Ines V. and Oda R.: the site&#39;s own, 08:00 to 17:00",
        "No supply of purified water is entered",
        "Post this plan",
    ]);
    // Nothing is booked before that.
    bench.garden.stranger();
    ines.get("/clean-outs")
        .await
        .shows(&["No clean-out is open."]);
    assert_eq!(post_it(&ines).await.sent_on(), "/plan/changes");
    ines.get("/plan/changes").await.shows(&[
        "The first plan was posted on Thu 4 March 2027, 08:30 by Ines V.",
        "North 1, dose: Thu 11 Mar, 09:30 to 10:15",
    ]);
    ines.get("/clean-outs").await.shows(&["27-0001", "booked"]);
    ines.get("/plan")
        .await
        .shows(&["posted plan: Thu 4 March 2027, 08:30, Ines V.", "posted"])
        .does_not_say(&["Post this plan"]);
    ines.get("/plan/posted/1")
        .await
        .shows(&["Posted plan", "rinse 2", "nobody is needed"]);
    ines.get("/plan/week?from=2027-03-11").await.shows(&[
        "Thursday 11 March",
        "09:30 to 10:15",
        "As it is posted.",
    ]);
    assert_eq!(bench.garden.logbook_says("posted").await, 1);
    assert_eq!(bench.garden.logbook_says("booked").await, 1);
    bench.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn only_the_plan_that_was_shown_is_posted() {
    let (bench, ines) = a_gap("2027-03-13").await;
    let shown = hidden(&ines.get("/plan").await, "shown");
    bench.system(2, "North 2").await;
    planting(&ines, "2", "2027-03-10", "2027-03-13").await;
    let answer = ines.post("/plan/post", &[("shown", &shown)]).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    answer.says(&["not the one that you were shown"]);
    ines.get("/clean-outs")
        .await
        .shows(&["No clean-out is open."]);
    // Two in one room are dosed one after the other, and one of them on another day.
    ines.get("/plan")
        .await
        .shows(&["Two clean-outs are planned."]);
}

#[tokio::test]
async fn a_late_one_is_told_with_its_reason_and_what_would_help() {
    let (bench, ines) = a_gap("2027-03-11").await;
    ines.get("/plan").await.shows(&[
        "One cannot be done in its gap.",
        "North 1 would be late",
        "No time is left between the crop coming off and the next going on.",
        "Even if nothing else were planned it could not be in time.",
        "Plant North 1",
        "What would help",
    ]);
    drop(bench);
    // Nobody may pour on the only day of the gap.
    let bench = Bench::new().await;
    let oda = bench
        .garden
        .sign_in_with("Oda R.", Role::Lead, AgeBand::Adult, &[SkillKind::Release])
        .await;
    bench
        .garden
        .sign_in_with("Tobit A.", Role::Hand, AgeBand::Adult, &[])
        .await;
    planting(&oda, "1", "2027-03-10", "2027-03-13").await;
    oda.get("/plan").await.shows(&[
        "North 1 has no place",
        "Nobody who may handle concentrate is at work in that time.",
        "Oda R. is there, but not signed for concentrate then.",
        "One more person signed for concentrate",
    ]);
}

#[tokio::test]
async fn a_clean_out_is_moved_by_hand_after_its_effect_was_seen_and_let_go_again() {
    let (bench, ines) = a_gap("2027-03-13").await;
    ines.get("/plan/1/move").await.shows(&[
        "Proposed for Thu 11 Mar, 08:00 to 16:30",
        "See what it does",
    ]);
    ines.post("/plan/1/move", &[("day", "2027-03-12"), ("time", "08:10")])
        .await
        .refused("time", "quarters of an hour");
    ines.post("/plan/1/move", &[("day", "2027-03-10"), ("time", "08:00")])
        .await
        .refused("day", "The crop is not off then");
    ines.post("/plan/1/move", &[("day", "2027-03-12"), ("time", "03:00")])
        .await
        .refused("day", "It cannot begin at Fri 12 Mar, 03:00");
    let fields = [("day", "2027-03-12"), ("time", "08:15")];
    let page = ines.post("/plan/1/move", &fields).await;
    page.shows(&[
        "It is held to Fri 12 Mar, 08:15 to 16:45",
        "Nothing else moves.",
        "Pin it there",
    ]);
    ines.get("/plan").await.shows(&["Thu 11 Mar, 08:00"]);
    let shown = hidden(&page, "shown");
    let saved = ines
        .post("/plan/1/move", &[fields[0], fields[1], ("shown", &shown)])
        .await;
    assert_eq!(saved.sent_on(), "/plan");
    ines.get("/plan")
        .await
        .shows(&["Fri 12 Mar, 08:15 to 16:45", "pinned"]);
    assert_eq!(bench.garden.logbook_says("pinned in the plan").await, 1);
    assert_eq!(
        ines.post("/plan/1/let-go", &[("post_key", "aaaaaaaaaaaaaaaaaaaa")])
            .await
            .sent_on(),
        "/plan"
    );
    ines.get("/plan")
        .await
        .shows(&["Fri 12 Mar, 08:15"])
        .does_not_say(&["pinned"]);
    // Asked again, it begins as early as it can.
    assert_eq!(
        ines.post("/plan/ask", &[("post_key", "bbbbbbbbbbbbbbbbbbbb")])
            .await
            .sent_on(),
        "/plan"
    );
    ines.get("/plan")
        .await
        .shows(&["Thu 11 Mar, 08:00", "Draft of"]);
    bench.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn what_is_posted_stays_booked_until_it_is_posted_otherwise() {
    let (bench, ines) = a_gap("2027-03-13").await;
    post_it(&ines).await.sent_on();
    // The crop comes off a day later: the posted clean-out no longer fits its gap.
    bench
        .run("update planting set turnover_on = '2027-03-11', next_on = '2027-03-14'")
        .await;
    ines.get("/plan").await.shows(&[
        "Otherwise than posted",
        "North 1 moves from Thu 11 Mar, 08:00 to Fri 12 Mar, 08:00.",
        "What is posted stays booked",
    ]);
    ines.get("/clean-outs").await.shows(&["Thu 11 Mar"]);
    post_it(&ines).await.sent_on();
    ines.get("/plan/changes").await.shows(&[
        "No longer",
        "North 1, dose: Thu 11 Mar",
        "North 1, dose: Fri 12 Mar",
    ]);
    ines.get("/clean-outs")
        .await
        .shows(&["Fri 12 Mar", "booked"]);
    bench.garden.logbook_is_whole().await;
}
