//! Readings as ranges: strips by their colours, pens by what they are known to, and the release by the
//! safer end.

use slackwater::cleanouts::State;
use slackwater::crew::Role;

use crate::garden::Person;
use crate::job::{Job, no};

const RELEASE: [(&str, &str); 1] = [("act", "release")];

fn low_strip() -> [(&'static str, &'static str); 3] {
    [
        ("name", "Low strip"),
        ("kind", "peroxide strip"),
        ("colours", "0 0,5 2 5 10 25"),
    ]
}

async fn read(job: &Job, by: &Person, step: i64, more: &[(&str, &str)]) -> crate::garden::Answer {
    let mut fields = vec![("tool", "S-22"), ("tool_expires_on", "2027-12-31")];
    fields.extend_from_slice(more);
    job.post(by, step, "reading", &fields).await
}

#[tokio::test]
async fn strips_and_pens_are_entered_with_what_they_are_known_to() {
    let job = Job::issued(20_000).await;
    let ines = &job.ines;
    ines.get("/gauges").await.shows(&["None is entered"]);
    let wrong = [
        ("kind", "peroxide strip"),
        ("colours", "0 5 2"),
        ("off", "3"),
    ];
    ines.post("/gauges", &wrong)
        .await
        .refused("name", "Write a name")
        .refused("colours", "2 does not rise")
        .refused("off", "leave this empty");
    ines.post("/gauges", &low_strip()).await.sent_on();
    ines.post("/gauges", &low_strip())
        .await
        .refused("name", "one called Low strip");
    let pen = |off| [("name", "Pen 2"), ("kind", "ph pen"), ("off", off)];
    ines.post("/gauges", &pen("20"))
        .await
        .refused("off", "0.001 to 2");
    ines.post("/gauges", &pen("0.02")).await.sent_on();
    ines.get("/gauges")
        .await
        .shows(&["0, 0.5, 2, 5, 10, 25 mg/L", "0.02 pH either way"]);
    let changed = [
        ("name", "Pen 2"),
        ("kind", "ph pen"),
        ("off", ""),
        ("version", "1"),
    ];
    ines.post("/gauges/2", &changed).await.sent_on();
    ines.get("/gauges")
        .await
        .shows(&["usual figure: 0.1 pH either way"]);
    ines.post("/retire/gauge/1", &[("reason", "used up")])
        .await
        .sent_on();
    ines.get("/gauges").await.shows(&["retired"]);
    assert_eq!(job.garden.logbook_says("added").await, 2);
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_limit_inside_the_range_of_a_strip_is_not_shown_and_a_lower_colour_releases() {
    let job = Job::issued(20_000).await;
    job.ines.post("/gauges", &low_strip()).await.sent_on();
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_strip(&job.ines, &oda).await;
    job.step(&oda, no::STRIP).await.shows(&[
        "the whole range of the reading within it",
        "Low strip: 0, 0.5",
    ]);
    read(&job, &oda, no::STRIP, &[("value", "30"), ("gauge", "1")])
        .await
        .refused("value", "highest colour of Low strip is 25 mg/L");
    read(&job, &oda, no::STRIP, &[("value", "5"), ("gauge", "9")])
        .await
        .refused("gauge", "no longer in use");
    read(
        &job,
        &oda,
        no::STRIP,
        &[("value", "5"), ("gauge", "1"), ("diluted", "0")],
    )
    .await
    .refused("diluted", "from 1 to 1000");
    let location = read(&job, &oda, no::STRIP, &[("value", "5"), ("gauge", "1")])
        .await
        .sent_on();
    oda.get(&location).await.shows(&[
        "between 3.5 and 7.5 mg/L, read as 5",
        "half a step either way on Low strip",
        "The limit of 5 mg/L lies inside that range, so this strip cannot show that it is kept",
        "A strip with finer colours there can, or a titration",
        "Rinse once more: step 8",
    ]);
    job.to_the_end(&job.ines).await;
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Held);
    oda.get(&job.path("/release"))
        .await
        .shows(&["One thing is missing", "this strip cannot show"]);
    // The strip is entered anew with other colours: what was read keeps its range.
    job.ines
        .post(
            "/gauges/1",
            &[
                ("name", "Low strip"),
                ("kind", "peroxide strip"),
                ("colours", "0 1 2 3 4 5 6"),
                ("version", "1"),
            ],
        )
        .await
        .sent_on();
    oda.get(&job.path("/release"))
        .await
        .shows(&["between 3.5 and 7.5 mg/L, read as 5"]);
    // The lowest colour says 'at most half a step' by itself, and that is enough.
    read(&job, &oda, no::STRIP, &[("value", "0"), ("gauge", "1")])
        .await
        .sent_on();
    oda.get(&job.path("/release"))
        .await
        .shows(&["at most 0.5 mg/L, read as 0"]);
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Released);
}

#[tokio::test]
async fn nothing_on_a_strip_that_is_not_on_record_shows_nothing() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_strip(&job.ines, &oda).await;
    let location = read(&job, &oda, no::STRIP, &[("value", "0"), ("bound", "yes")])
        .await
        .sent_on();
    oda.get(&location).await.shows(&[
        "not above the lowest colour",
        "how little the lowest colour tells apart is not on record",
    ]);
    // A titration is known well enough.
    read(
        &job,
        &oda,
        no::STRIP,
        &[("value", "1"), ("gauge", "titration")],
    )
    .await
    .sent_on();
    job.to_the_end(&job.ines).await;
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Released);
}

#[tokio::test]
async fn strips_in_the_soak_say_how_fast_it_falls_and_the_release_goes_by_the_weaker_end() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    job.to_the_pours(&job.ines).await;
    job.protect(&job.ines, &oda).await.sent_on();
    job.pours(&job.ines, 1..=6).await;
    read(&job, &oda, no::SOAK, &[("value", "100")])
        .await
        .refused("act", "No soak stands here");
    job.begin(&oda, no::SOAK, "0").await.sent_on();
    job.step(&oda, no::SOAK)
        .await
        .shows(&["Strips in the soak", "at least 30 000 mg/L"]);
    job.minutes_later(10);
    let titrated = |value| [("value", value), ("gauge", "titration")];
    read(&job, &oda, no::SOAK, &titrated("34000"))
        .await
        .sent_on();
    job.step(&oda, no::SOAK).await.shows(&[
        "between 33 320 and 34 680",
        "A second strip, some time after the first",
    ]);
    job.minutes_later(60);
    read(&job, &oda, no::SOAK, &titrated("31000"))
        .await
        .sent_on();
    // 30 380 is left at the least, and an hour took at most 12.4 %: it would end below the card's least.
    job.step(&oda, no::SOAK).await.shows(&[
        "In an hour it loses between 5.1 % and 12 %",
        "mg·min/L. It is a record; no label is met by it",
        "To keep even the weaker end above 30 000 mg/L",
        "of lot P-118",
        "A lead decides",
    ]);
    job.minutes_later(110);
    // A strip whose range holds the least leaves it open, and the release says so.
    read(
        &job,
        &oda,
        no::SOAK,
        &[("value", "300"), ("diluted", "100")],
    )
    .await
    .sent_on();
    job.step(&oda, no::SOAK)
        .await
        .shows(&["between 15 000 and 45 000", "lies inside that range"]);
    job.post(&oda, no::SOAK, "end", &[]).await.sent_on();
    job.timed(&oda, no::RINSE, "0", 30).await;
    job.timed(&oda, no::SECOND_RINSE, "0", 35).await;
    job.strip(&oda, "2").await.sent_on();
    job.to_the_end(&oda).await;
    oda.get(&job.path("/release")).await.shows(&[
        "One thing is missing",
        "Strength in the soak",
        "so soak once more",
    ]);
    oda.post(&job.path("/release"), &RELEASE).await.sent_on();
    assert_eq!(job.state().await, State::Held);
    job.garden.logbook_is_whole().await;
}
