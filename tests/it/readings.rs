//! The readings of a run: checked at their fields, kept as typed, corrected by a new row.

use slackwater::crew::Role;

use crate::job::{Job, no};

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
    // A lowest step of 10 may be half a step more, and cannot show a limit of 5; the page says so and stays.
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
        "at most 15 mg/L, read as 10",
        "this strip cannot show that it is kept",
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
        .shows(&["You correct the reading between 12.5 and 37.5 mg/L, read as 25"]);
    let fields = [
        ("value", "2.5"),
        ("tool", "S-22"),
        ("tool_expires_on", "2027-12-31"),
        ("corrects", "1"),
    ];
    job.post(&oda, no::STRIP, "reading", &fields)
        .await
        .sent_on();
    job.step(&oda, no::STRIP).await.shows(&[
        "<del>between 12.5 and 37.5 mg/L, read as 25</del>",
        "read as 2.5",
        "corrected",
    ]);
    job.post(&oda, no::STRIP, "reading", &fields)
        .await
        .refused("value", "corrected meanwhile");
    assert_eq!(job.count("select count(*) from reading").await, 2);
    assert_eq!(job.garden.logbook_says("reading corrected").await, 1);
}
