//! The release: on readings within limits, or not at all.

use axum::http::StatusCode;
use slackwater::cleanouts::State;
use slackwater::crew::{AgeBand, Role, SkillKind};

use crate::garden::Person;
use crate::job::{Job, no};

/// Everything done, with this strip reading.
async fn ready(strip: &str) -> (Job, Person) {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_strip(&job.ines, &oda).await;
    job.strip(&job.ines, strip).await.sent_on();
    job.to_the_end(&job.ines).await;
    (job, oda)
}

const RELEASE: [(&str, &str); 1] = [("act", "release")];

#[tokio::test]
async fn a_residual_above_the_limit_holds_and_another_rinse_and_reading_release() {
    let (job, oda) = ready("12").await;
    let page = oda.get(&job.path("/release")).await;
    page.shows(&[
        "One thing is missing",
        "at most 5 mg/L",
        "between 6 and 18 mg/L, read as 12, Ines V.",
        "It is above the limit",
        "Hold it: one thing is missing",
    ]);
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Held);
    oda.get(&job.path("/release")).await.shows(&[
        "Held by Oda R.",
        "Peroxide in the water: It is above the limit",
    ]);

    // A third rinse puts it under way again, and asks for new readings.
    job.timed(&job.ines, no::SECOND_RINSE, "1", 30).await;
    assert_eq!(job.state().await, State::UnderWay);
    oda.get(&job.path("/release"))
        .await
        .shows(&["It was read before the last water went in or out"]);
    job.strip(&job.ines, "3").await.sent_on();
    // pH was that of water which is gone.
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Held);
    job.post(&job.ines, no::PH, "reading", &[("value", "6.4")])
        .await
        .sent_on();
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Released);
    oda.get(&job.path("/release")).await.shows(&[
        "North 2 is ready for planting",
        "between 1.5 and 4.5 mg/L, read as 3, Ines V.",
        "Held by Oda R.",
    ]);
    assert_eq!(job.garden.logbook_says("held").await, 2);
    assert_eq!(job.garden.logbook_says("released").await, 1);
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn it_is_not_released_with_the_riser_on() {
    let (job, oda) = ready("2").await;
    job.post(&job.ines, no::RISER_OFF, "undo", &[])
        .await
        .sent_on();
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Held);
    oda.get(&job.path("/release"))
        .await
        .shows(&["not ticked as off", "Open: 11 Take the clean-out riser off"]);
    job.post(&job.ines, no::RISER_OFF, "done", &[])
        .await
        .sent_on();
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Released);
}

#[tokio::test]
async fn somebody_may_hold_it_although_all_is_met_and_says_why() {
    let (job, oda) = ready("2").await;
    oda.post(&job.path("/release"), &[("act", "hold")])
        .await
        .refused("reason", "Write why");
    oda.post(
        &job.path("/release"),
        &[("act", "hold"), ("reason", "the pump hums")],
    )
    .await
    .sent_on();
    assert_eq!(job.state().await, State::Held);
    oda.get(&job.path("/release"))
        .await
        .shows(&["Everything that a release needs is there", "the pump hums"]);
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Released);
}

#[tokio::test]
async fn only_a_lead_with_the_skill_signs() {
    let (job, _) = ready("2").await;
    let tobit = job.garden.sign_in("Tobit A.", Role::Hand).await;
    tobit
        .get(&job.path("/release"))
        .await
        .shows(&["A lead decides"])
        .does_not_say(&["Release North 2 for planting"]);
    assert_eq!(
        tobit.post(&job.path("/release"), &RELEASE).await.status,
        StatusCode::FORBIDDEN
    );
    let lead = job
        .garden
        .sign_in_with(
            "A lead",
            Role::Lead,
            AgeBand::Adult,
            &[SkillKind::Concentrate],
        )
        .await;
    lead.post(&job.path("/release"), &RELEASE)
        .await
        .refused("act", "Ines V., Oda R. or Tobit A.");
    assert_eq!(job.state().await, State::UnderWay);
}

#[tokio::test]
async fn nothing_is_decided_before_it_began_or_twice() {
    let job = Job::issued(20_000).await;
    let answer = job.ines.post(&job.path("/release"), &RELEASE).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    job.ines.get(&job.path("/release")).await.shows(&[
        "It was not read",
        "Only a clean-out that is under way can be held",
    ]);
    let (job, oda) = ready("2").await;
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    let answer = job.ines.post(&job.path("/release"), &RELEASE).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    assert_eq!(job.count("select count(*) from release_decision").await, 1);
}

#[tokio::test]
async fn where_two_sign_another_adult_signs_second() {
    let (job, oda) = ready("2").await;
    job.garden
        .change("update site set second_signature = 1")
        .await;
    oda.get(&job.path("/release"))
        .await
        .shows(&["Sign first for North 2"]);
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Held);
    oda.get(&job.path("/release"))
        .await
        .shows(&["It waits for the second signature"]);
    oda.post(&job.path("/release"), &RELEASE)
        .await
        .refused("act", "Somebody else signs second");
    let tobit = job.garden.sign_in("Tobit A.", Role::Hand).await;
    assert_eq!(
        tobit.post(&job.path("/release"), &RELEASE).await.status,
        StatusCode::FORBIDDEN
    );

    // Something is entered meanwhile: the first signature was under other readings, and is void.
    job.strip(&tobit, "3").await.sent_on();
    assert_eq!(job.state().await, State::UnderWay);
    job.ines
        .get(&job.path("/release"))
        .await
        .shows(&["Sign first for North 2"]);
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    let lead = job
        .garden
        .sign_in_with("A lead", Role::Lead, AgeBand::Adult, &[])
        .await;
    lead.get(&job.path("/release"))
        .await
        .shows(&["Sign second: release North 2"]);
    lead.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Released);
    lead.get(&job.path("/release"))
        .await
        .shows(&["Released by Oda R. and A lead"]);
    assert_eq!(job.count("select count(*) from release_decision where outcome = 'released' and second_person_id is not null").await, 1);
    job.garden.logbook_is_whole().await;
}
