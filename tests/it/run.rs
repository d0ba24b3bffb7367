//! The run of a clean-out: step by step to its end, and what is refused on the way.

use axum::http::StatusCode;
use slackwater::cleanouts::State;
use slackwater::crew::{AgeBand, Role, SkillKind};

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
    for pour in 1..=6 {
        job.pour(&tobit, pour).await.sent_on();
    }
    let page = job.step(&tobit, no::POURS).await;
    page.shows(&[
        "14.10 L of 14.10 L is in. It gives 3",
        "3 % w/v was asked for",
        "On to step 6",
    ]);
    page.does_not_say(&["more than a mark"]);
    assert_eq!(job.poured_and_drawn().await, (14_100, 14_100));
    assert_eq!(job.stock_left().await, 5_900);

    job.post(&tobit, no::SOAK, "begin", &[("times", "0")])
        .await
        .sent_on();
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
    let set = |state: &'static str| {
        let app = job.garden.app.clone();
        async move {
            let mut tx = app.db.write().await.unwrap();
            sqlx::query("update cleanout set state = ?1, called_off_reason = iif(?1 = 'called off', 'frost', null)")
                .bind(state)
                .execute(tx.conn())
                .await
                .unwrap();
            tx.commit().await.unwrap();
        }
    };
    set("booked").await;
    job.post(&job.ines, no::ROOTS, "done", &[])
        .await
        .refused("act", "Issue its card first");
    set("called off").await;
    job.post(&job.ines, no::ROOTS, "done", &[])
        .await
        .refused("act", "Nothing more is entered");
    assert_eq!(job.count("select count(*) from step_entry").await, 0);
}

#[tokio::test]
async fn concentrate_waits_for_a_clean_system_with_its_riser_and_water() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.protect(&job.ines, &oda)
        .await
        .refused("act", "First: 1 Sieve the roots");
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    // The riser is taken off again: the next pour waits for it.
    job.post(&job.ines, no::RISER_ON, "undo", &[])
        .await
        .sent_on();
    job.pour(&job.ines, 1)
        .await
        .refused("act", "First: 3 Fit the clean-out riser");
    assert_eq!(job.poured_and_drawn().await, (0, 0));
    // The soak waits for the whole dose, the rinse for the soak, the pump for the rinses.
    job.post(&job.ines, no::SOAK, "begin", &[("times", "0")])
        .await
        .refused("act", "5 Pour the concentrate");
    job.post(&job.ines, no::RINSE, "begin", &[("times", "0")])
        .await
        .refused("act", "First: 6 Recirculate");
    job.post(&job.ines, no::PUMP, "done", &[])
        .await
        .refused("act", "First: 6 Recirculate");
}

#[tokio::test]
async fn a_minor_or_somebody_without_the_skill_does_not_pour() {
    let job = Job::issued(20_000).await;
    job.to_the_pours(&job.ines).await;
    let pupil = job
        .garden
        .sign_in_with("Group hand", Role::Hand, AgeBand::Minor, &[])
        .await;
    let oda = job
        .garden
        .sign_in_with(
            "Oda R.",
            Role::Hand,
            AgeBand::Adult,
            &[SkillKind::Electrics],
        )
        .await;
    job.step(&pupil, no::POURS)
        .await
        .shows(&["This step is for adults", "It can be done by Ines V."]);
    job.protect(&pupil, &oda)
        .await
        .refused("act", "This step is for adults");
    job.pour(&pupil, 1)
        .await
        .refused("act", "This step is for adults");
    job.protect(&oda, &job.ines)
        .await
        .refused("act", "skill &#39;concentrate&#39;");
    job.pour(&oda, 1)
        .await
        .refused("act", "It can be done by Ines V.");
    // A pump is not a minor's either; a roots sieve is.
    job.post(&pupil, no::PUMP, "done", &[])
        .await
        .refused("act", "This step is for adults");
    job.post(&pupil, no::ROOTS, "undo", &[]).await.sent_on();
    job.post(&pupil, no::ROOTS, "done", &[]).await.sent_on();
    assert_eq!(job.poured_and_drawn().await, (0, 0));
}

#[tokio::test]
async fn a_skill_counts_until_its_last_day_also_between_two_pours() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    job.pour(&job.ines, 1).await.sent_on();
    let mut tx = job.garden.app.db.write().await.unwrap();
    sqlx::query("update skill set withdrawn_at = '2027-03-04T09:00:00Z' where person_id = ?1 and kind = 'concentrate'")
        .bind(job.ines.id.get())
        .execute(tx.conn())
        .await
        .unwrap();
    tx.commit().await.unwrap();
    job.pour(&job.ines, 2)
        .await
        .refused("act", "It can be done by Oda R.");
}

#[tokio::test]
async fn everybody_who_pours_confirms_the_protection_and_names_a_second_adult() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.pour(&job.ines, 1).await.refused("act", "Confirm first");
    let answer = job
        .post(&job.ines, no::POURS, "begin", &[("air", "yes")])
        .await;
    answer.refused("protection", "Put the protection on");
    answer
        .refused("eyewash", "eyewash")
        .refused("alone", "room is empty")
        .refused("second", "Two adults are asked for");
    let pupil = job
        .garden
        .sign_in_with("Group hand", Role::Hand, AgeBand::Minor, &[])
        .await;
    job.protect(&job.ines, &pupil)
        .await
        .refused("second", "Two adults");
    job.protect(&job.ines, &job.ines)
        .await
        .refused("second", "Two adults");
    job.protect(&job.ines, &oda).await.sent_on();
    job.pour(&job.ines, 1).await.sent_on();
    // Whoever takes over confirms it too, and so does everybody on the next day.
    job.pour(&oda, 2).await.refused("act", "Confirm first");
    job.minutes_later(15 * 60);
    let tobit = job.garden.sign_in("Tobit A.", Role::Hand).await;
    job.protect(&tobit, &oda).await.sent_on();
    job.pour(&tobit, 2).await.sent_on();
    job.minutes_later(20);
    job.pour(&tobit, 3).await.refused("act", "Confirm first");
}

#[tokio::test]
async fn an_amount_that_was_really_poured_is_drawn_and_the_rest_is_asked_for() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    let typed = |no: &'static str, amount: &'static str, litres: &'static str| {
        [("no", no), ("amount", amount), ("poured", litres)]
    };
    job.post(&job.ines, no::POURS, "pour", &typed("1", "typed", "3.2"))
        .await
        .refused("poured", "The jug holds 3.00 L");
    job.post(&job.ines, no::POURS, "pour", &typed("1", "typed", "0"))
        .await
        .refused("poured", "more than nothing");
    job.post(&job.ines, no::POURS, "pour", &typed("1", "typed", "much"))
        .await
        .refused("poured", "much");
    job.post(&job.ines, no::POURS, "pour", &typed("1", "asked", "2.1"))
        .await
        .refused("poured", "Another amount was typed");
    job.post(&job.ines, no::POURS, "pour", &typed("1", "typed", "2.1"))
        .await
        .sent_on();
    for pour in 2..=6 {
        job.pour(&job.ines, pour).await.sent_on();
    }
    let page = job.step(&job.ines, no::POURS).await;
    page.shows(&[
        "The rest, into the reservoir",
        "Poured 0.40 L",
        "13.70 L of 14.10 L is in",
        "more than a mark of the jug short",
    ]);
    job.post(&job.ines, no::SOAK, "begin", &[("times", "0")])
        .await
        .refused("act", "5 Pour the concentrate");
    job.pour(&job.ines, 7).await.sent_on();
    job.step(&job.ines, no::POURS)
        .await
        .shows(&["14.10 L of 14.10 L is in", "On to step 6"]);
    assert_eq!(job.poured_and_drawn().await, (14_100, 14_100));
    assert_eq!(job.count("select sum(planned_ml) from pour").await, 14_100);
}

#[tokio::test]
async fn too_much_is_said_and_nothing_more_is_asked_for() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    for pour in ["1", "2", "3", "4", "5"] {
        let fields = [("no", pour), ("amount", "typed"), ("poured", "3")];
        job.post(&job.ines, no::POURS, "pour", &fields)
            .await
            .sent_on();
    }
    job.step(&job.ines, no::POURS).await.shows(&[
        "15.00 L of 14.10 L is in. It gives 3.176",
        "more than a mark of the jug too much",
    ]);
    job.pour(&job.ines, 6)
        .await
        .refused("act", "not the pour that comes next");
}

#[tokio::test]
async fn the_last_litre_is_poured_once_and_no_more_than_is_there() {
    let job = Job::issued(13_500).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    let tobit = job.garden.sign_in("Tobit A.", Role::Hand).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&tobit, &oda).await.sent_on();
    for pour in 1..=5 {
        job.pour(&tobit, pour).await.sent_on();
    }
    job.pour(&tobit, 6)
        .await
        .refused("act", "lot P-118 has only 1.00 L left");
    let fields = [("no", "6"), ("amount", "typed"), ("poured", "1")];
    job.post(&tobit, no::POURS, "pour", &fields).await.sent_on();
    assert_eq!(job.stock_left().await, 0);
    job.pour(&tobit, 7).await.refused("act", "only 0.00 L left");
    // A hand does not stop the pours; a lead does, and says why.
    job.post(&tobit, no::POURS, "end", &[("reason", "the drum is empty")])
        .await
        .refused("act", "Only a lead");
    job.post(&oda, no::POURS, "end", &[("reason", " ")])
        .await
        .refused("reason", "Write why");
    job.post(&oda, no::POURS, "end", &[("reason", "the drum is empty")])
        .await
        .sent_on();
    job.step(&tobit, no::POURS).await.shows(&[
        "Stopped 08:50 by Oda R.: the drum is empty",
        "13.50 L of 14.10 L is in",
        "On to step 6",
    ]);
    job.post(&tobit, no::SOAK, "begin", &[("times", "0")])
        .await
        .sent_on();
}

#[tokio::test]
async fn a_withdrawn_lot_is_not_poured() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    let mut tx = job.garden.app.db.write().await.unwrap();
    sqlx::query(
        "update lot set withdrawn_at = '2027-03-04T08:00:00Z', withdrawn_reason = 'cloudy'",
    )
    .execute(tx.conn())
    .await
    .unwrap();
    tx.commit().await.unwrap();
    job.pour(&job.ines, 1).await.refused("act", "withdrawn");
    assert_eq!(job.poured_and_drawn().await, (0, 0));
}

#[tokio::test]
async fn a_repeated_post_side_by_side_pours_once() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    let path = job.path(&format!("/run/{}/pour", no::POURS));
    let mut tasks = tokio::task::JoinSet::new();
    for _ in 0..50 {
        let (ines, path) = (job.ines.clone(), path.clone());
        let fields = [
            ("post_key", "one and the same tap"),
            ("no", "1"),
            ("amount", "asked"),
        ];
        tasks.spawn(async move { ines.post(&path, &fields).await.sent_on() });
    }
    let answers = tasks.join_all().await;
    assert_eq!(answers.len(), 50);
    assert!(
        answers.iter().all(|location| *location == answers[0]),
        "{answers:?}"
    );
    assert_eq!(job.poured_and_drawn().await, (2_500, 2_500));
    assert_eq!(job.stock_left().await, 17_500);
    assert_eq!(job.garden.logbook_says("poured").await, 1);
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
    for pour in 2..=6 {
        job.pour(&oda, pour).await.sent_on();
    }
    job.post(&job.ines, no::SOAK, "begin", &[("times", "0")])
        .await
        .sent_on();
    job.post(&oda, no::SOAK, "begin", &[("times", "0")])
        .await
        .sent_on();
    job.minutes_later(180);
    job.post(&job.ines, no::SOAK, "end", &[]).await.sent_on();
    job.post(&oda, no::SOAK, "end", &[]).await.sent_on();
    // A page from before the end does not begin a second soak.
    job.post(&oda, no::SOAK, "begin", &[("times", "0")])
        .await
        .sent_on();
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
    for pour in 1..=6 {
        job.pour(&tobit, pour).await.sent_on();
    }
    job.post(&tobit, no::SOAK, "end", &[])
        .await
        .refused("act", "not begun");
    job.post(&tobit, no::SOAK, "begin", &[("times", "0")])
        .await
        .sent_on();
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
async fn a_reading_is_checked_at_its_fields_and_kept_as_typed() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_strip(&job.ines, &oda).await;
    let answer = job
        .post(
            &job.ines,
            no::STRIP,
            "reading",
            &[("value", "two"), ("tool_expires_on", "soon")],
        )
        .await;
    answer
        .refused("value", "two")
        .refused("tool", "lot of the strip")
        .refused("tool_expires_on", "year-month-day");
    answer.says(&["value=\"two\""]);
    let fields = [
        ("value", "2"),
        ("tool", "S-22"),
        ("tool_expires_on", "2027-03-03"),
    ];
    job.post(&job.ines, no::STRIP, "reading", &fields)
        .await
        .refused("tool_expires_on", "Take a fresh one");
    job.strip(&job.ines, "200000")
        .await
        .refused("value", "between 0 mg/L and 100 000 mg/L");
    assert_eq!(job.count("select count(*) from reading").await, 0);
    // 'At most 10' cannot show a limit of 5; the page says so and stays.
    let fields = [
        ("value", "10"),
        ("bound", "yes"),
        ("tool", "S-9"),
        ("tool_expires_on", "2027-03-04"),
    ];
    let location = job
        .post(&job.ines, no::STRIP, "reading", &fields)
        .await
        .sent_on();
    job.ines.get(&location).await.shows(&[
        "at most 10 mg/L",
        "Take one that reads lower",
        "Rinse once more: step 8",
        "Correct it",
    ]);
}

#[tokio::test]
async fn a_correction_is_a_new_row_and_the_old_one_stays_readable() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_strip(&job.ines, &oda).await;
    job.strip(&job.ines, "25").await.sent_on();
    job.ines
        .get(&job.path("/run/9?correct=1"))
        .await
        .shows(&["You correct the reading 25 mg/L"]);
    let fields = [
        ("value", "2.5"),
        ("tool", "S-22"),
        ("tool_expires_on", "2027-12-31"),
        ("corrects", "1"),
    ];
    job.post(&oda, no::STRIP, "reading", &fields)
        .await
        .sent_on();
    job.step(&oda, no::STRIP)
        .await
        .shows(&["<del>25 mg/L</del>", "2.5 mg/L", "corrected"]);
    job.post(&oda, no::STRIP, "reading", &fields)
        .await
        .refused("value", "corrected meanwhile");
    assert_eq!(job.count("select count(*) from reading").await, 2);
    assert_eq!(job.garden.logbook_says("reading corrected").await, 1);
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
