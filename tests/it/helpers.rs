//! A group of pupils that helps at a step: named with its head count, kept out where it must be.

use slackwater::clock::Moment;
use slackwater::crew::store::NewPerson;
use slackwater::crew::{self, AgeBand, Kind, Role};
use slackwater::ids::PersonId;
use slackwater::text::Name;

use crate::job::{Job, no};

async fn group(job: &Job, name: &str, age_band: AgeBand) -> PersonId {
    let now: Moment = job.garden.app.clock.now();
    let mut tx = job.garden.app.db.write().await.unwrap();
    let new = NewPerson {
        name: Name::parse(name).unwrap(),
        kind: Kind::Group,
        head_count: 12,
        role: Role::Hand,
        age_band,
        sign_in: None,
        password_hash: None,
    };
    let id = crew::store::insert(&mut tx, &new, now).await.unwrap();
    tx.commit().await.unwrap();
    id
}

#[tokio::test]
async fn a_group_that_helps_is_named_with_its_head_count_and_no_pupil_is() {
    let job = Job::issued(20_000).await;
    let pupils = group(&job, "Group 7B", AgeBand::Minor).await.to_string();
    job.step(&job.ines, no::ROOTS)
        .await
        .shows(&["Who helps", "Group 7B, 12 people"]);
    job.post(&job.ines, no::ROOTS, "done", &[("helped", "99")])
        .await
        .refused("helped", "Choose a group of the crew");
    job.post(&job.ines, no::ROOTS, "done", &[("helped", &pupils)])
        .await
        .sent_on();
    job.step(&job.ines, no::ROOTS)
        .await
        .shows(&["by Ines V.; Group 7B, 12 people, helped."]);
    let detail = job.garden.logbook_detail("step done").await;
    assert_eq!(detail["helped"], "Group 7B, 12 people");
    // What the group grows to later does not change what was.
    job.garden
        .change("update person set head_count = 20 where name = 'Group 7B'")
        .await;
    job.step(&job.ines, no::ROOTS)
        .await
        .shows(&["12 people, helped"]);
    // The step without help is done as ever.
    job.post(&job.ines, no::SCRUB, "done", &[]).await.sent_on();
    job.step(&job.ines, no::SCRUB)
        .await
        .does_not_say(&["helped"]);
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_group_is_kept_out_of_a_step_that_asks_for_adults_or_a_skill() {
    let job = Job::issued(20_000).await;
    let pupils = group(&job, "Group 7B", AgeBand::Minor).await.to_string();
    let grown = group(&job, "Evening class", AgeBand::Adult)
        .await
        .to_string();
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_strip(&job.ines, &oda).await;
    job.strip(&job.ines, "2").await.sent_on();
    job.step(&job.ines, no::PUMP)
        .await
        .does_not_say(&["Group 7B, 12 people"]);
    for id in [&pupils, &grown] {
        let answer = job
            .post(&job.ines, no::PUMP, "done", &[("helped", id)])
            .await;
        assert_ne!(answer.status, axum::http::StatusCode::SEE_OTHER);
        answer.says(&["keep out of it"]);
    }
}
