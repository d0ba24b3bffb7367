//! The run of a clean-out: step by step to its end, who enters what, and what is taken back.

use axum::http::StatusCode;
use slackwater::cleanouts::State;
use slackwater::crew::{AgeBand, Role};

use crate::job::{Job, no};

#[tokio::test]
async fn a_run_from_the_first_tick_to_the_release() {
    let job = Job::issued(20_000).await;
    let tobit = job.garden.sign_in("Tobit A.", Role::Hand).await;
    tobit.get(&job.path("/run")).await.shows(&[
        "Step 1 of 13",
        "Sieve the roots out of the media",
        "Next: wash",
    ]);
    assert_eq!(job.state().await, State::Issued);

    job.tick(&tobit, no::ROOTS).await;
    assert_eq!(job.state().await, State::UnderWay);
    tobit
        .get(&job.path("/run"))
        .await
        .shows(&["Step 2 of 13", "Saved 08:30, by Tobit A."]);
    for no in [no::SCRUB, no::RISER_ON, no::FILL] {
        job.tick(&tobit, no).await;
    }

    tobit.get(&job.path("/run")).await.shows(&[
        "Before you pour",
        "35 % w/w peroxide burns",
        "Eyewash",
        "Ready to pour",
    ]);
    job.protect(&tobit, &job.ines).await.sent_on();
    let page = job.step(&tobit, no::POURS).await;
    page.shows(&[
        "Pour 1 of 6, into the reservoir",
        "5 Pour 2 of 6",
        "Poured 2.50 L",
        "14.10 L",
        "P-118",
        "to be filled to 2.50 L",
    ]);
    job.pours(&tobit, 1..=6).await;
    let page = job.step(&tobit, no::POURS).await;
    page.shows(&[
        "14.10 L of 14.10 L is in. It gives 3",
        "3 % w/v was asked for",
        "On to step 6",
    ]);
    page.does_not_say(&["more than a mark"]);
    assert_eq!(job.poured_and_drawn().await, (14_100, 14_100));
    assert_eq!(job.stock_left().await, 5_900);

    job.begin(&tobit, no::SOAK, "0").await.sent_on();
    job.step(&tobit, no::SOAK).await.shows(&[
        "3 h left",
        "over at <strong>11:50",
        "Full at 08:50, stands until 11:50",
    ]);
    job.minutes_later(180);
    job.step(&tobit, no::SOAK)
        .await
        .shows(&["Time is up", "Soak ended"]);
    job.post(&tobit, no::SOAK, "end", &[]).await.sent_on();
    job.timed(&tobit, no::RINSE, "0", 30).await;
    job.timed(&tobit, no::SECOND_RINSE, "0", 31).await;
    job.strip(&tobit, "2").await.sent_on();
    job.to_the_end(&tobit).await;
    tobit
        .get(&job.path("/run"))
        .await
        .shows(&["To the release"]);

    job.ines.get(&job.path("/release")).await.shows(&[
        "Everything that a release needs is there",
        "Release North 2 for planting",
    ]);
    job.ines
        .post(&job.path("/release"), &[("act", "release")])
        .await
        .sent_on();
    assert_eq!(job.state().await, State::Released);
    job.ines
        .get(&job.path("/release"))
        .await
        .shows(&["North 2 is ready for planting", "Released by Ines V."]);

    // Nothing more is entered for it.
    job.post(&tobit, no::ROOTS, "undo", &[])
        .await
        .refused("act", "This clean-out is released");
    job.garden.logbook_is_whole().await;
    assert_eq!(job.garden.logbook_says("poured").await, 6);
}

#[tokio::test]
async fn nothing_runs_before_its_card_is_issued_or_after_it_was_called_off() {
    let job = Job::issued(20_000).await;
    job.garden
        .change("update cleanout set state = 'booked'")
        .await;
    job.post(&job.ines, no::ROOTS, "done", &[])
        .await
        .refused("act", "Issue its card first");
    job.garden
        .change("update cleanout set state = 'called off', called_off_reason = 'frost'")
        .await;
    job.post(&job.ines, no::ROOTS, "done", &[])
        .await
        .refused("act", "Nothing more is entered");
    assert_eq!(job.count("select count(*) from step_entry").await, 0);
}

#[tokio::test]
async fn two_people_at_one_step_are_once() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    let key = |key: &'static str| [("post_key", key), ("times", "0")];
    job.post(&job.ines, no::ROOTS, "done", &key("a key of Ines's phone"))
        .await
        .sent_on();
    job.post(&oda, no::ROOTS, "done", &key("a key of Oda's phone"))
        .await
        .sent_on();
    assert_eq!(job.count("select count(*) from step_entry").await, 1);
    job.to_the_pours(&job.ines).await;
    // Both see pour 1; the second is told that it was entered, because it may be in the water twice.
    job.protect(&job.ines, &oda).await.sent_on();
    job.protect(&oda, &job.ines).await.sent_on();
    job.pour(&job.ines, 1).await.sent_on();
    job.pour(&oda, 1).await.refused(
        "act",
        "Pour 1 was entered 08:50 by Ines V.: 2.50 L. Yours was not entered",
    );
    assert_eq!(job.poured_and_drawn().await, (2_500, 2_500));
    job.pours(&oda, 2..=6).await;
    job.begin(&job.ines, no::SOAK, "0").await.sent_on();
    job.begin(&oda, no::SOAK, "0").await.sent_on();
    job.minutes_later(180);
    job.post(&job.ines, no::SOAK, "end", &[]).await.sent_on();
    job.post(&oda, no::SOAK, "end", &[]).await.sent_on();
    // A page from before the end does not begin a second soak.
    job.begin(&oda, no::SOAK, "0").await.sent_on();
    assert_eq!(
        job.count("select count(*) from step_entry where step_no = 6")
            .await,
        2
    );
}

#[tokio::test]
async fn a_tick_taken_back_stays_on_record() {
    let job = Job::issued(20_000).await;
    job.tick(&job.ines, no::ROOTS).await;
    job.step(&job.ines, no::ROOTS)
        .await
        .shows(&["Done 08:30 by Ines V.", "Take the tick back"]);
    job.post(&job.ines, no::ROOTS, "undo", &[]).await.sent_on();
    job.post(&job.ines, no::ROOTS, "undo", &[]).await.sent_on();
    job.step(&job.ines, no::ROOTS).await.shows(&["Step 1 done"]);
    assert_eq!(job.count("select count(*) from step_entry").await, 2);
    assert_eq!(job.garden.logbook_says("step taken back").await, 1);
    // Only a tick is taken back.
    let answer = job.post(&job.ines, no::SOAK, "undo", &[]).await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_soak_ends_early_only_by_a_lead_with_a_reason() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    let tobit = job.garden.sign_in("Tobit A.", Role::Hand).await;
    job.to_the_pours(&tobit).await;
    job.protect(&tobit, &oda).await.sent_on();
    job.pours(&tobit, 1..=6).await;
    job.post(&tobit, no::SOAK, "end", &[])
        .await
        .refused("act", "not begun");
    job.begin(&tobit, no::SOAK, "0").await.sent_on();
    job.minutes_later(179);
    job.post(&tobit, no::SOAK, "end", &[]).await.refused(
        "act",
        "It has stood 2 h 59 min of 3 h. Before its time only a lead",
    );
    job.post(&oda, no::SOAK, "end", &[])
        .await
        .refused("reason", "Write why");
    job.post(&oda, no::SOAK, "end", &[("reason", "a bench leaks")])
        .await
        .sent_on();
    job.step(&tobit, no::SOAK)
        .await
        .shows(&["cut short", "a bench leaks", "Soak begun once more"]);
    // It can be drained and rinsed, but not released on that soak.
    job.ines
        .get(&job.path("/release"))
        .await
        .shows(&["Soak once more"]);
    job.timed(&tobit, no::SOAK, "1", 180).await;
    job.ines
        .get(&job.path("/release"))
        .await
        .does_not_say(&["Soak once more"]);
}

#[tokio::test]
async fn trouble_is_noted_at_any_time() {
    let job = Job::issued(20_000).await;
    let pupil = job
        .garden
        .sign_in_with("Group hand", Role::Hand, AgeBand::Minor, &[])
        .await;
    let path = job.path("/run/4/trouble");
    pupil.get(&path).await.shows(&[
        "People first",
        "30 minutes (the safer of two sources)",
        "What happened",
    ]);
    pupil
        .post(&path, &[("text", " ")])
        .await
        .refused("text", "Write what happened");
    pupil
        .post(
            &path,
            &[("text", "The hose slipped, 5 L of water on the floor")],
        )
        .await
        .sent_on();
    job.step(&pupil, no::FILL)
        .await
        .shows(&["Trouble:", "The hose slipped"]);
    job.ines
        .get(&job.path("/release"))
        .await
        .shows(&["Trouble during the run", "The hose slipped"]);
    assert_eq!(job.state().await, State::Issued, "a note begins nothing");
}

#[tokio::test]
async fn a_viewer_reads_and_enters_nothing() {
    let job = Job::issued(20_000).await;
    let reader = job.garden.sign_in("A reader", Role::Viewer).await;
    reader
        .get(&job.path("/run"))
        .await
        .shows(&["You are signed in as a viewer"])
        .does_not_say(&["Step 1 done"]);
    assert_eq!(
        job.post(&reader, no::ROOTS, "done", &[]).await.status,
        StatusCode::FORBIDDEN
    );
    assert_eq!(
        reader.get(&job.path("/run/77")).await.status,
        StatusCode::NOT_FOUND
    );
}

#[tokio::test]
async fn nothing_is_begun_while_a_crop_still_grows_in_the_system() {
    let job = Job::issued(20_000).await;
    let crop = [
        ("system", "1"),
        ("crop", "Pak choi"),
        ("planted_on", "2027-02-01"),
        ("stands", "yes"),
    ];
    let planting = job.ines.post("/turnovers", &crop).await.sent_on();
    let refused = job.post(&job.ines, no::ROOTS, "done", &[]).await;
    assert_ne!(refused.status, StatusCode::SEE_OTHER);
    refused.says(&["Pak choi still grows in North 2"]);
    assert_eq!(job.state().await, State::Issued);
    let off = [("off_on", "2027-03-04")];
    job.ines
        .post(&format!("{planting}/off"), &off)
        .await
        .sent_on();
    job.tick(&job.ines, no::ROOTS).await;
    assert_eq!(job.state().await, State::UnderWay);
}

/// Nothing is known of its room's air, so the usual half hour counts from the first rinse on: while solution
/// stands open nobody else goes in, however long ago the last pour is.
#[tokio::test]
async fn the_room_stays_closed_through_the_soak_and_the_first_rinse() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    job.pours(&job.ines, 1..=6).await;
    job.timed(&job.ines, no::SOAK, "0", 180).await;
    let through = "stays closed to others until 30 min after the first rinse, the usual time";
    let step = async |no: i64| job.ines.get(&job.path(&format!("/run/{no}"))).await;
    step(no::RINSE).await.shows(&[
        through,
        "While solution stands open the air over it may stay above the limit",
        "an adviser or a measurement may shorten that",
    ]);
    job.ines.get("/").await.shows(&[through]);
    job.timed(&job.ines, no::RINSE, "0", 30).await;
    step(no::SECOND_RINSE)
        .await
        .shows(&[
            "30 min after the first rinse at",
            "stays closed to others until",
        ])
        .does_not_say(&["While solution stands open"]);
    job.minutes_later(31);
    step(no::SECOND_RINSE)
        .await
        .shows(&["is aired as reckoned since"]);
    job.ines
        .get("/")
        .await
        .does_not_say(&["stays closed to others"]);
}
