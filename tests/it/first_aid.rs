//! First aid: shown to whoever asks, by the numbers of the rule set and of the site.

use axum::http::StatusCode;
use slackwater::crew::Role;

use crate::garden::Garden;
use crate::job::Job;

#[tokio::test]
async fn nobody_has_to_sign_in_to_read_first_aid() {
    let garden = Garden::site().await;
    garden
        .stranger()
        .get("/first-aid")
        .await
        .shows(&[
            "112",
            "30 minutes",
            "section 1 of the safety data sheet",
            "The product label, the safety data sheet, local rules",
        ])
        .does_not_say(&["/site/first-aid"]);
}

#[tokio::test]
async fn a_site_writes_its_own_numbers_and_what_stood_before_is_in_the_logbook() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let long = "9".repeat(121);
    let fields = |ambulance| {
        [
            ("ambulance", ambulance),
            ("poison_centre", "555 0100, day and night"),
            ("eyewash", "by the door of the North bay"),
            ("first_aid_box", ""),
            ("way_here", "Gate 2, Orrelby Lane"),
        ]
    };
    let refused = ines.post("/site/first-aid", &fields(&long)).await;
    refused
        .refused("ambulance", "Write at most 120 characters; this has 121.")
        .says(&["Gate 2, Orrelby Lane"]);
    let saved = ines.post("/site/first-aid", &fields("0, then 112")).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER);
    garden
        .stranger()
        .get("/first-aid")
        .await
        .shows(&[
            "0, then 112",
            "555 0100, day and night",
            "by the door of the North bay",
            "Gate 2, Orrelby Lane",
        ])
        .does_not_say(&["section 1 of the safety data sheet", "First aid box"]);
    assert_eq!(garden.logbook_says("first aid written").await, 1);
}

#[tokio::test]
async fn first_aid_is_one_tap_away_on_every_page_of_a_job_and_leads_back_to_it() {
    let job = Job::issued(5_000).await;
    let first_aid = job.path("/first-aid");
    for page in [
        "",
        "/dose",
        "/card",
        "/run",
        "/run/1",
        "/run/1/trouble",
        "/release",
    ] {
        job.ines.get(&job.path(page)).await.shows(&[&first_aid]);
    }
    let run = format!("href=\"{}\"", job.path("/run"));
    job.ines.get(&first_aid).await.shows(&[&run, "Swallowed"]);
}
