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

pub async fn planting(by: &Person, system: &str, off: &str, next_on: &str) -> String {
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

/// The page of a question when it is answered.
async fn answered(by: &Person, path: &str) -> Answer {
    loop {
        let page = by.get(path).await;
        if !page.text.contains("data-look") {
            return page;
        }
        tokio::task::yield_now().await;
    }
}

pub async fn post_it(by: &Person) -> Answer {
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
    // The plan is there at once, why it is late comes after it.
    ines.get("/plan")
        .await
        .shows(&["One cannot be done in its gap.", "North 1 would be late"]);
    answered(&ines, "/plan").await.shows(&[
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
    answered(&oda, "/plan").await.shows(&[
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
    let asked = ines.post("/plan/ask", &[]).await.sent_on();
    let page = answered(&ines, &asked).await;
    page.shows(&[
        "What was found",
        "every clean-out is in time",
        "North 1 moves from Fri 12 Mar, 08:15 to Thu 11 Mar, 08:00.",
        "Take it as the draft",
    ]);
    // Nothing is kept until it is taken, and only what was shown is.
    ines.get("/plan").await.shows(&["Fri 12 Mar, 08:15"]);
    let take = format!("{asked}/take");
    let other = ines.post(&take, &[("shown", "another")]).await;
    assert_eq!(other.status, StatusCode::CONFLICT);
    let shown = hidden(&page, "shown");
    assert_eq!(
        ines.post(&take, &[("shown", &shown)]).await.sent_on(),
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

#[tokio::test]
async fn two_who_ask_share_an_answer_and_an_answer_that_is_old_is_asked_for_again() {
    let (bench, ines) = a_gap("2027-03-13").await;
    let oda = bench.garden.sign_in("Hanne W.", Role::Lead).await;
    let asked = ines.post("/plan/ask", &[]).await.sent_on();
    assert_eq!(oda.post("/plan/ask", &[]).await.sent_on(), asked);
    answered(&oda, &asked)
        .await
        .shows(&["Nothing better was found", "Back to the plan"]);
    // A second system asks for a clean-out: that is another question.
    bench.system(2, "North 2").await;
    planting(&ines, "2", "2027-03-10", "2027-03-13").await;
    let again = ines.get(&asked).await.sent_on();
    assert_ne!(again, asked);
    assert!(again.ends_with("?again=yes"), "{again}");
    answered(&ines, &again)
        .await
        .shows(&["Something changed after it was asked for, so it is asked again."]);
    let unknown = ines.get("/plan/asked/9999").await;
    assert_eq!(unknown.status, StatusCode::CONFLICT);
    unknown.says(&["not known any more"]);
    // Who only reads the plan asks nothing.
    let viewer = bench.garden.sign_in("Ulla N.", Role::Viewer).await;
    let refused = viewer.post("/plan/ask", &[]).await;
    assert_eq!(refused.status, StatusCode::FORBIDDEN);
    bench.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_question_that_is_stopped_says_how_far_it_came() {
    let (bench, ines) = a_gap("2027-03-13").await;
    let asked = ines.post("/plan/ask", &[]).await.sent_on();
    assert_eq!(
        ines.post(&format!("{asked}/stop"), &[]).await.sent_on(),
        asked
    );
    let page = answered(&ines, &asked).await;
    // One clean-out is soon proved best: it may be over before it is told to stop.
    assert!(
        ["It was stopped after", "were looked through"]
            .iter()
            .any(|words| page.text.contains(words)),
        "{}",
        page.text
    );
    assert_eq!(bench.garden.logbook_says("asked for").await, 0);
}

#[tokio::test]
async fn whoever_has_other_work_after_a_posting_reads_so_on_the_first_page_for_some_days() {
    let (bench, ines) = a_gap("2027-03-13").await;
    ines.get("/")
        .await
        .does_not_say(&["The plan changed for you"]);
    post_it(&ines).await.sent_on();
    let viewer = bench.garden.sign_in("Ulla N.", Role::Viewer).await;
    viewer
        .get("/")
        .await
        .does_not_say(&["The plan changed for you"]);
    let changed = ines.get("/plan/changes").await;
    assert!(changed.text.contains("Ines V.</h2>"), "{}", changed.text);
    ines.get("/").await.shows(&[
        "The plan changed for you",
        "North 1, dose: Thu 11 Mar, 09:30 to 10:15",
        "Posted Thu 4 March 2027, 08:30, Ines V.",
    ]);
    bench.garden.app.clock.advance(chrono::TimeDelta::days(4));
    let later = bench.garden.sign_in("Hanne W.", Role::Lead).await;
    later.get("/plan").await.shows(&["posted plan"]);
    let mut conn = bench.garden.app.db.read().await.unwrap();
    let since = bench
        .garden
        .app
        .clock
        .now()
        .plus(-chrono::TimeDelta::days(3));
    assert!(
        !slackwater::plan::store::posted_since(&mut conn, since)
            .await
            .unwrap()
    );
}

#[tokio::test]
async fn the_water_in_the_tank_is_drawn_through_the_weeks() {
    let (bench, _) = a_gap("2027-03-13").await;
    let ines = bench.garden.sign_in("Hanne W.", Role::Coordinator).await;
    ines.get("/plan").await.does_not_say(&["Water in the tank"]);
    let purified = [
        ("name", "Purified, tank behind North"),
        ("source", "purified"),
        ("tank", "1000"),
        ("least", "80"),
    ];
    let water = ines.post("/water", &purified).await.sent_on();
    let test = [
        ("measured_on", "2027-03-03"),
        ("caught", "10"),
        ("minutes", "9"),
        ("seconds", "20"),
        ("water", "13"),
    ];
    ines.post(&format!("{water}/tests"), &test).await.sent_on();
    ines.post(&format!("{water}/levels"), &[("level", "860")])
        .await
        .sent_on();
    ines.get("/plan").await.shows(&[
        "Water in the tank",
        "Purified water: 780 L usable now, at its lowest",
        "full 920 L",
    ]);
}
