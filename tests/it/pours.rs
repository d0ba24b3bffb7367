//! The pours of a run: what comes before them, who may pour, and what is drawn from the lot.

use slackwater::crew::{AgeBand, Role, SkillKind};

use crate::job::{Job, no};

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
    job.begin(&job.ines, no::SOAK, "0")
        .await
        .refused("act", "5 Pour the concentrate");
    job.begin(&job.ines, no::RINSE, "0")
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
    let (job, _oda) = Job::at_the_pours(20_000).await;
    job.pour(&job.ines, 1).await.sent_on();
    job.garden
        .change("update skill set withdrawn_at = '2027-03-04T09:00:00Z' where person_id = (select id from person where name = 'Ines V.') and kind = 'concentrate'")
        .await;
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
    let (job, _oda) = Job::at_the_pours(20_000).await;
    job.pour_typed(&job.ines, "1", "3.2")
        .await
        .refused("poured", "The jug holds 3.00 L");
    job.pour_typed(&job.ines, "1", "0")
        .await
        .refused("poured", "more than nothing");
    job.pour_typed(&job.ines, "1", "much")
        .await
        .refused("poured", "much");
    let both = [("no", "1"), ("amount", "asked"), ("poured", "2.1")];
    job.post(&job.ines, no::POURS, "pour", &both)
        .await
        .refused("poured", "Another amount was typed");
    job.pour_typed(&job.ines, "1", "2.1").await.sent_on();
    job.pours(&job.ines, 2..=6).await;
    let page = job.step(&job.ines, no::POURS).await;
    page.shows(&[
        "The rest, into the reservoir",
        "Poured 0.40 L",
        "13.70 L of 14.10 L is in",
        "more than a mark of the jug short",
    ]);
    job.begin(&job.ines, no::SOAK, "0")
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
    let (job, _oda) = Job::at_the_pours(20_000).await;
    for pour in ["1", "2", "3", "4", "5"] {
        job.pour_typed(&job.ines, pour, "3").await.sent_on();
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
    job.pours(&tobit, 1..=5).await;
    job.pour(&tobit, 6)
        .await
        .refused("act", "lot P-118 has only 1.00 L left");
    job.pour_typed(&tobit, "6", "1").await.sent_on();
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
    job.begin(&tobit, no::SOAK, "0").await.sent_on();
}

#[tokio::test]
async fn a_withdrawn_lot_is_not_poured() {
    let (job, _oda) = Job::at_the_pours(20_000).await;
    job.garden
        .change("update lot set withdrawn_at = '2027-03-04T08:00:00Z', withdrawn_reason = 'cloudy'")
        .await;
    job.pour(&job.ines, 1).await.refused("act", "withdrawn");
    assert_eq!(job.poured_and_drawn().await, (0, 0));
}

#[tokio::test]
async fn a_repeated_post_side_by_side_pours_once() {
    let (job, _oda) = Job::at_the_pours(20_000).await;
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
