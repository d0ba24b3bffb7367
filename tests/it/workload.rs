//! Who has how much work, and who has room: hours against clean-outs that stand, are posted or are proposed.

use slackwater::crew::Role;

use crate::crops::Bench;
use crate::garden::Person;
use crate::plan::{planting, post_it};

const NEXT_WEEK: &str = "/crew/load?from=2027-03-10";

/// One system whose lettuce comes off on Wednesday 10 March, and two leads.
async fn a_gap() -> (Bench, Person) {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Coordinator).await;
    bench.garden.sign_in("Oda R.", Role::Lead).await;
    planting(&ines, "1", "2027-03-10", "2027-03-13").await;
    (bench, ines)
}

#[tokio::test]
async fn a_lead_reads_on_monday_who_has_room_and_what_is_proposed_becomes_posted() {
    let (bench, ines) = a_gap().await;
    let viewer = bench.garden.sign_in("Bela K.", Role::Viewer).await;
    // This week: the rest of Thursday and Friday, and no work.
    viewer
        .get("/crew/load")
        .await
        .shows(&[
            "Mon 1 Mar to Sun 7 Mar, from now on",
            "Nobody has more work than hours in this week.",
            "Hours left: Ines V. (17 h 30 min), Oda R. (17 h 30 min).",
        ])
        // Whoever only reads is not planned with.
        .does_not_say(&["Bela K.</a>"]);
    // The second adult at the dose, and at a rinse.
    let page = viewer.get(NEXT_WEEK).await;
    page.shows(&[
        "Mon 8 Mar to Sun 14 Mar",
        "Ines V.: 4 h of work in 45 h, 4 h proposed",
        "Oda R.: 1 h of work in 45 h, 1 h proposed",
        "data-label=\"Concentrate\">45 min",
        "data-label=\"Left\">41 h",
        "4 h of 45 h",
    ])
    .does_not_say(&["from now on", "Days with more work", "At two clean-outs"]);
    post_it(&ines).await.sent_on();
    viewer
        .get(NEXT_WEEK)
        .await
        .shows(&["Ines V.: 4 h of work in 45 h, 4 h posted"]);
    bench.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_day_with_more_work_than_hours_is_named_with_what_fills_it() {
    let (bench, ines) = a_gap().await;
    bench.system(2, "North 2").await;
    // Booked by hand to Ines, both at eight on Tuesday.
    bench
        .cleanout("27-0001", 1, None, "booked", "2027-03-09")
        .await;
    bench
        .cleanout("27-0002", 2, None, "booked", "2027-03-09")
        .await;
    ines.get(NEXT_WEEK)
        .await
        .shows(&[
            "At two clean-outs at once",
            "Tuesday 9 March, Ines V.",
            "These lie over each other; the time counts once.",
            "<a href=\"/clean-outs/1\">North 1, strip and wash</a>",
            "<a href=\"/clean-outs/2\">North 2, strip and wash</a>",
            // The time of one of them, not of both.
            "Ines V.: 4 h 49 min of work in 45 h, 4 h 49 min stands",
        ])
        .does_not_say(&["Days with more work than hours"]);
    let away = [
        ("what", "leave"),
        ("from", "2027-03-09"),
        ("to", "2027-03-09"),
        ("from_time", ""),
        ("to_time", ""),
        ("name", ""),
    ];
    let form = format!("/crew/{}/away/new", ines.id);
    ines.post(&form, &away).await.sent_on();
    ines.get(NEXT_WEEK).await.shows(&[
        "More work than hours: Ines V. (4 h 49 min).",
        "Days with more work than hours",
        "4 h 49 min of work, and no hours: 4 h 49 min too much.",
        "<strong class=\"late\">4 h 49 min too much</strong>",
        "Ines V.: 4 h 49 min of work in 36 h",
    ]);
}

#[tokio::test]
async fn a_group_is_shown_with_its_hours_for_all_its_people_and_no_work() {
    let (bench, ines) = a_gap().await;
    bench
        .run("insert into person (id, name, kind, head_count, role, age_band, created_at) values (40, 'Group 7B', 'group', 12, 'hand', 'minor', '2027-01-01T00:00:00Z')")
        .await;
    // Without hours a group is not there at all.
    ines.get(NEXT_WEEK).await.does_not_say(&["Group 7B"]);
    let mut fields = vec![("in_force_from", "2027-03-01"), ("newest", "")];
    fields.extend([("hours", "10-12")]);
    fields.extend([("hours", ""); 6]);
    fields.extend([("overtime", ""); 7]);
    ines.post("/crew/40/hours", &fields).await.sent_on();
    ines.get(NEXT_WEEK).await.shows(&[
        "Group 7B: 0 min of work in 2 h",
        "2 h; for 12 people 24 h",
        "12 people; a group helps, and the plan gives it nothing",
    ]);
    // Its hours are no room in the plan.
    ines.get(NEXT_WEEK).await.does_not_say(&["Group 7B (2"]);
}
