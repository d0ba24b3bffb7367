//! A shared tablet: made by a coordinator, read by anybody, signed on with name and PIN.

use axum::http::{Method, StatusCode};
use slackwater::crew::{AgeBand, Role, SkillKind, pin_store};
use slackwater::routes::{self, Least};

use crate::garden::{Answer, Garden, Person};
use crate::house::filled;
use crate::job::{Job, no};

const PASSWORD: &str = "tide pools at noon";

/// Makes a browser of this coordinator a shared tablet.
async fn tablet(garden: &Garden, coordinator: &Person, name: &str) -> Person {
    let made = coordinator.post("/tablets", &[("name", name)]).await;
    assert_eq!(made.sent_on(), "/clean-outs");
    garden.with_named_cookie(&made, "slackwater_tablet")
}

/// Gives somebody a password and has them set this PIN with it.
async fn with_pin(garden: &Garden, person: &Person, pin: &str) {
    garden.set_password(person.id, PASSWORD).await;
    set_pin(person, PASSWORD, pin, pin).await.sent_on();
}

async fn set_pin(person: &Person, password: &str, pin: &str, again: &str) -> Answer {
    let fields = [("password", password), ("pin", pin), ("again", again)];
    person.post("/pin", &fields).await
}

#[tokio::test]
async fn a_pin_is_set_with_the_password_and_common_ones_are_refused() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    garden.set_password(tobit.id, PASSWORD).await;
    tobit.get("/pin").await.shows(&["You have none yet"]);
    set_pin(&tobit, "some other words", "7382", "7382")
        .await
        .refused("password", "not the password you have now")
        .does_not_say(&["7382", "some other words"]);
    set_pin(&tobit, PASSWORD, "1234", "1234")
        .await
        .refused("pin", "digits in a row");
    set_pin(&tobit, PASSWORD, "73", "73")
        .await
        .refused("pin", "4 to 8 digits");
    set_pin(&tobit, PASSWORD, "7382", "7328")
        .await
        .refused("again", "do not match");
    let page = set_pin(&tobit, PASSWORD, "7382", "7382").await.sent_on();
    tobit.get(&page).await.shows(&["Signs on shared tablets"]);
    tobit.post("/pin/remove", &[]).await.sent_on();
    tobit.get(&page).await.shows(&["No PIN for shared tablets"]);
    for what in ["own PIN set", "own PIN removed"] {
        assert_eq!(garden.logbook_says(what).await, 1, "{what}");
    }
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn making_a_tablet_signs_the_coordinator_out_and_ending_it_shuts_it() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.post("/tablets", &[("name", " ")])
        .await
        .refused("name", "Write where it stands");
    let bay = tablet(&garden, &ines, "Tablet in Bay 2").await;
    assert_eq!(ines.get("/tablets").await.status, StatusCode::SEE_OTHER);
    bay.get("/clean-outs")
        .await
        .shows(&["This is Tablet in Bay 2, a shared tablet"]);
    let oda = garden.sign_in("Oda R.", Role::Coordinator).await;
    oda.post("/tablets", &[("name", "Tablet in Bay 2")])
        .await
        .refused("name", "has this name already");
    oda.get("/tablets")
        .await
        .shows(&["Tablet in Bay 2", "by Ines V."]);
    oda.post("/tablets/1/end", &[]).await.sent_on();
    assert_eq!(
        bay.get("/clean-outs").await.sent_on(),
        "/sign-in?next=/clean-outs"
    );
    assert_eq!(garden.logbook_says("no longer a shared tablet").await, 1);
}

#[tokio::test]
async fn a_tablet_that_nobody_opened_for_sixty_days_ends_by_itself() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let bay = tablet(&garden, &ines, "Tablet in Bay 2").await;
    for _ in 0..2 {
        garden.app.clock.advance(chrono::TimeDelta::days(59));
        bay.get("/clean-outs").await.shows(&["a shared tablet"]);
    }
    garden.app.clock.advance(chrono::TimeDelta::days(60));
    assert_eq!(bay.get("/clean-outs").await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_tablet_by_itself_reads_and_is_let_to_nothing_but_steps() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let bay = tablet(&garden, &ines, "Tablet in Bay 2").await;
    let headers = [
        ("sec-fetch-site", "same-origin"),
        ("accept", "application/problem+json"),
    ];
    let before = garden.logbook_length().await;
    let (mut open, mut shut) = (0, 0);
    for route in routes::table() {
        let reads = route.method == Method::GET;
        let lets_in = match route.least {
            Least::Anyone => continue,
            Least::Step => true,
            Least::Signed(Role::Viewer) | Least::Visitor => reads,
            Least::Signed(_) | Least::Own => false,
        };
        let path = filled(route.path);
        let answer = bay.ask(route.method.clone(), &path, "", &headers).await;
        let kept_out =
            answer.status == StatusCode::FORBIDDEN && answer.text.contains("a shared tablet");
        assert_eq!(
            kept_out, !lets_in,
            "{} {path}: {}",
            route.method, answer.text
        );
        assert!(!answer.status.is_server_error(), "{path}: {}", answer.text);
        if lets_in { open += 1 } else { shut += 1 }
    }
    assert!(open > 40 && shut > 100, "{open} open, {shut} shut");
    assert_eq!(
        garden.logbook_length().await,
        before,
        "a tablet wrote by itself"
    );
}

/// A job with a tablet beside it, and a hand who has a PIN.
async fn beside(job: &Job) -> (Person, Person) {
    let tobit = job
        .garden
        .sign_in_with(
            "Tobit A.",
            Role::Hand,
            AgeBand::Adult,
            &[SkillKind::Concentrate],
        )
        .await;
    with_pin(&job.garden, &tobit, "7382").await;
    let oda = job.garden.sign_in("Oda R.", Role::Coordinator).await;
    let bay = tablet(&job.garden, &oda, "Tablet in Bay 2").await;
    (bay, tobit)
}

#[tokio::test]
async fn a_step_is_signed_with_name_and_pin_and_the_logbook_says_on_which_tablet() {
    let job = Job::issued(20_000).await;
    let (bay, tobit) = beside(&job).await;
    job.step(&bay, no::ROOTS)
        .await
        .shows(&["Who signs", "Tobit A.", "PIN", "Step 1 done"])
        .does_not_say(&["You are signed in as a viewer"]);
    let id = tobit.id.to_string();
    let tick = |signer: &str, pin: &str| {
        let fields = [
            ("signer", signer.to_owned()),
            ("signer_pin", pin.to_owned()),
        ];
        let (job, bay) = (&job, &bay);
        async move {
            let fields: Vec<_> = fields.iter().map(|(a, b)| (*a, b.as_str())).collect();
            job.post(bay, no::ROOTS, "done", &fields).await
        }
    };
    tick("", "").await.refused("signer", "Choose the name");
    tick(&id, "")
        .await
        .refused("signer_pin", "Type the PIN of Tobit A.");
    tick(&id, "8273")
        .await
        .refused("signer_pin", "not the PIN of Tobit A.")
        .does_not_say(&["8273"]);
    tick("99", "7382")
        .await
        .refused("signer", "Choose the name");
    tick(&job.ines.id.to_string(), "7382")
        .await
        .refused("signer_pin", "has no PIN yet");
    assert_eq!(job.garden.logbook_says("step done").await, 0);
    tick(&id, "7382").await.sent_on();
    job.step(&bay, no::ROOTS).await.shows(&["by Tobit A."]);
    let detail = job.garden.logbook_detail("step done").await;
    assert_eq!(detail["signed how"], "by PIN on Tablet in Bay 2");
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn on_a_tablet_no_form_of_a_run_is_taken_without_a_signature() {
    let job = Job::issued(20_000).await;
    let (bay, _) = beside(&job).await;
    let before = job.garden.logbook_length().await;
    for (step, act) in [
        (no::ROOTS, "done"),
        (no::ROOTS, "undo"),
        (no::SOAK, "begin"),
        (no::POURS, "begin"),
        (no::SOAK, "end"),
        (no::POURS, "end"),
        (no::POURS, "pour"),
        (no::STRIP, "reading"),
        (no::ROOTS, "trouble"),
    ] {
        job.post(&bay, step, act, &[("text", "a spill"), ("reason", "why")])
            .await
            .refused("signer", "Choose the name");
    }
    assert_eq!(job.garden.logbook_length().await, before);
}

#[tokio::test]
async fn whoever_signs_must_be_allowed_the_step_and_the_next_may_try() {
    let job = Job::issued(20_000).await;
    let (bay, _) = beside(&job).await;
    let pupil = job
        .garden
        .sign_in_with("Pia L.", Role::Hand, AgeBand::Minor, &[])
        .await;
    with_pin(&job.garden, &pupil, "4071").await;
    job.to_the_pours(&job.ines).await;
    let signer = pupil.id.to_string();
    let fields = [("signer", signer.as_str()), ("signer_pin", "4071")];
    job.post(&bay, no::POURS, "begin", &fields)
        .await
        .refused("act", "This step is for adults")
        .says(&["Who signs", "Ready to pour"]);
}

#[tokio::test]
async fn before_a_pour_both_adults_sign_with_their_own_pin() {
    let job = Job::issued(20_000).await;
    let (bay, tobit) = beside(&job).await;
    with_pin(&job.garden, &job.ines, "905518").await;
    job.to_the_pours(&job.ines).await;
    let (first, second) = (tobit.id.to_string(), job.ines.id.to_string());
    let confirm = |second_pin: &'static str, second: String| {
        let (job, bay, first) = (&job, &bay, first.clone());
        async move {
            let fields = [
                ("protection", "yes"),
                ("eyewash", "yes"),
                ("air", "yes"),
                ("alone", "yes"),
                ("second", second.as_str()),
                ("second_pin", second_pin),
                ("signer", first.as_str()),
                ("signer_pin", "7382"),
            ];
            job.post(bay, no::POURS, "begin", &fields).await
        }
    };
    confirm("", second.clone())
        .await
        .refused("second_pin", "Type the PIN of Ines V.");
    confirm("905581", second.clone())
        .await
        .refused("second_pin", "not the PIN of Ines V.");
    // Nobody is the second of oneself.
    confirm("7382", first.clone())
        .await
        .refused("second", "Choose who is with you");
    confirm("905518", second).await.sent_on();
    job.step(&bay, no::POURS)
        .await
        .shows(&["Poured", "Who signs"]);
    // Somebody who did not confirm it is asked to, on the same tablet.
    let ines = job.ines.id.to_string();
    let pour = |signer: String, pin: &'static str| {
        let (job, bay) = (&job, &bay);
        async move {
            let fields = [
                ("no", "1"),
                ("amount", "asked"),
                ("signer", signer.as_str()),
                ("signer_pin", pin),
            ];
            job.post(bay, no::POURS, "pour", &fields).await
        }
    };
    pour(ines, "905518")
        .await
        .refused("act", "Confirm first")
        .says(&["Ready to pour"]);
    pour(first, "7382").await.sent_on();
    let (poured, drawn) = job.poured_and_drawn().await;
    assert!(poured > 0 && poured == drawn);
    let detail = job.garden.logbook_detail("protection confirmed").await;
    assert_eq!(detail["signed how"], "by PIN on Tablet in Bay 2");
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn wrong_pins_rest_then_lock_and_a_lead_unlocks() {
    let job = Job::issued(20_000).await;
    let (bay, tobit) = beside(&job).await;
    let signer = tobit.id.to_string();
    let sign = |pin: &'static str| {
        let (job, bay, signer) = (&job, &bay, signer.clone());
        async move {
            let fields = [("signer", signer.as_str()), ("signer_pin", pin)];
            job.post(bay, no::ROOTS, "done", &fields).await
        }
    };
    for _ in 0..4 {
        sign("8273").await.refused("signer_pin", "not the PIN");
    }
    sign("8273")
        .await
        .refused("signer_pin", "rests until 09:00");
    // Even the right one rests.
    sign("7382")
        .await
        .refused("signer_pin", "rests until 09:00");
    job.minutes_later(30);
    for _ in 0..4 {
        sign("8273").await.refused("signer_pin", "not the PIN");
    }
    sign("8273").await.refused("signer_pin", "is locked");
    job.minutes_later(24 * 60);
    sign("7382").await.refused("signer_pin", "is locked");
    assert_eq!(job.garden.logbook_says("tenth try at the PIN").await, 1);

    let hand = job.garden.sign_in("Hal M.", Role::Hand).await;
    let unlock = format!("/crew/{}/pin/unlock", tobit.id);
    assert_eq!(hand.post(&unlock, &[]).await.status, StatusCode::FORBIDDEN);
    let lead = job.garden.sign_in("Lea K.", Role::Lead).await;
    let page = format!("/crew/{}", tobit.id);
    lead.get(&page)
        .await
        .shows(&["is locked", "Unlock the PIN of Tobit A."]);
    lead.post(&unlock, &[]).await.sent_on();
    sign("7382").await.sent_on();
    assert_eq!(lead.post(&unlock, &[]).await.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn many_wrong_pins_at_once_are_no_more_tries_than_one_after_another() {
    let job = Job::issued(20_000).await;
    let (bay, tobit) = beside(&job).await;
    let signer = tobit.id.to_string();
    let fields = [("signer", signer.as_str()), ("signer_pin", "8273")];
    let (job_, bay_, fields_) = (&job, &bay, &fields);
    let mut looked_at = 0;
    let tries = (0..20).map(|_| job_.post(bay_, no::ROOTS, "done", fields_));
    for answer in futures_all(tries).await {
        answer.refused("signer_pin", "PIN of Tobit A.");
        if answer.text.contains("That is not the PIN") {
            looked_at += 1;
        }
    }
    assert_eq!(looked_at, 5, "a PIN rests after five tries");
    let mut conn = job.garden.app.db.read().await.unwrap();
    let kept = pin_store::of(&mut conn, tobit.id, job.garden.app.clock.now())
        .await
        .unwrap()
        .unwrap();
    assert_ne!(kept.standing, slackwater::crew::pin::Standing::Open);
}

/// Polls all at once.
async fn futures_all<F: Future<Output = Answer>>(all: impl Iterator<Item = F>) -> Vec<Answer> {
    let mut waiting: Vec<_> = all.map(Box::pin).collect();
    let mut answers: Vec<Option<Answer>> = waiting.iter().map(|_| None).collect();
    std::future::poll_fn(|context| {
        let mut open = false;
        for (one, answer) in waiting.iter_mut().zip(&mut answers) {
            if answer.is_none() {
                match one.as_mut().poll(context) {
                    std::task::Poll::Ready(done) => *answer = Some(done),
                    std::task::Poll::Pending => open = true,
                }
            }
        }
        if open {
            std::task::Poll::Pending
        } else {
            std::task::Poll::Ready(())
        }
    })
    .await;
    answers.into_iter().flatten().collect()
}

#[tokio::test]
async fn a_release_is_signed_on_a_tablet_by_one_lead_and_by_another_one_second() {
    let job = Job::issued(20_000).await;
    job.garden
        .change("update site set second_signature = 1")
        .await;
    let (bay, tobit) = beside(&job).await;
    let lea = job.garden.sign_in("Lea K.", Role::Lead).await;
    let mara = job.garden.sign_in("Mara S.", Role::Lead).await;
    with_pin(&job.garden, &lea, "5170").await;
    with_pin(&job.garden, &mara, "6284").await;
    job.to_the_strip(&job.ines, &lea).await;
    job.strip(&job.ines, "3").await.sent_on();
    job.to_the_end(&job.ines).await;
    let page = job.path("/release");
    bay.get(&page)
        .await
        .shows(&["Everything that a release needs is there", "Who signs"]);
    let sign = |signer: &Person, pin: &'static str| {
        let (bay, page, signer) = (&bay, &page, signer.id.to_string());
        async move {
            let fields = [
                ("act", "release"),
                ("signer", signer.as_str()),
                ("signer_pin", pin),
            ];
            bay.post(page, &fields).await
        }
    };
    bay.post(&page, &[("act", "release")])
        .await
        .refused("signer", "Choose the name");
    sign(&tobit, "7382")
        .await
        .refused("signer", "A lead signs for the release");
    sign(&lea, "5170").await.sent_on();
    bay.get(&page)
        .await
        .shows(&["Sign second: release North 2"]);
    sign(&lea, "5170").await.refused("act", "signed it already");
    sign(&mara, "6284").await.sent_on();
    bay.get(&page).await.shows(&[
        "North 2 is ready for planting",
        "Released by Lea K. and Mara S.",
    ]);
    let detail = job.garden.logbook_detail("released").await;
    assert_eq!(detail["signed how"], "by PIN on Tablet in Bay 2");
    job.garden.logbook_is_whole().await;
}
