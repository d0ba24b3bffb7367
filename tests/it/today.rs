//! The first page: what is to be done, what is in the way, and where to begin.

use slackwater::crew::{AgeBand, Role};

use crate::crops::Bench;
use crate::garden::Garden;

#[tokio::test]
async fn an_empty_register_says_where_to_begin() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.get("/")
        .await
        .shows(&[
            "Day 63 of 2027, week 9",
            "Thursday 4 March",
            "The register is empty.",
            "Enter the first system",
        ])
        .does_not_say(&["To do today", "Two weeks of water"]);
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.get("/").await.shows(&[
        "Nothing is planted yet.",
        "Add a planting",
        "Two weeks of water",
    ]);
}

/// Four systems on Thursday 4 March: one in clean-out, one held, one ready, one growing.
async fn a_working_day() -> Bench {
    let bench = Bench::new().await;
    for (id, name) in [(2, "North 2"), (3, "North 3"), (4, "Propagation")] {
        bench.system(id, name).await;
    }
    bench
        .run(
            "insert into planting (id, system_id, crop, planted_on, turnover_on, next_on, next_crop, stage, off_on, already_growing, created_at)
             values (1, 1, 'Basil', '2027-01-20', '2027-03-02', '2027-03-05', 'Basil', 'off', '2027-03-02', 1, '2027-01-20T08:00:00Z'),
                    (2, 2, 'Pak choi', '2027-01-20', '2027-03-02', '2027-03-06', null, 'off', '2027-03-02', 1, '2027-01-20T08:00:00Z'),
                    (3, 3, 'Lettuce', '2027-01-20', '2027-03-04', '2027-03-06', null, 'growing', null, 1, '2027-01-20T08:00:00Z'),
                    (4, 4, 'Cress', '2027-01-20', '2027-03-01', '2027-03-04', 'Cress', 'off', '2027-03-01', 1, '2027-01-20T08:00:00Z')",
        )
        .await;
    bench
}

#[tokio::test]
async fn a_day_names_each_task_and_the_button_goes_to_the_one_furthest_along() {
    let bench = a_working_day().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    bench
        .cleanout("27-0041", 1, Some(1), "held", "2027-03-03")
        .await;
    bench
        .cleanout("27-0042", 2, Some(2), "under way", "2027-03-04")
        .await;
    bench
        .cleanout("27-0040", 4, Some(4), "released", "2027-03-02")
        .await;
    ines.get("/").await.shows(&[
        "One system in clean-out, one held, one ready, one growing.",
        "<a class=\"btn\" href=\"/clean-outs/2/run\">Go on with 27-0042</a>",
        "08:00",
        "clean-out 27-0042</a><br>under way",
        "release 27-0041</a>",
        "it waits for its release",
        "Lettuce comes off",
        "href=\"/turnovers/3/off\"",
        "Cress goes on",
        "ready; to be planted today",
    ]);
    // Once that one is held too, the releases come first.
    bench
        .run("update cleanout set state = 'held' where number = '27-0042'")
        .await;
    ines.get("/")
        .await
        .shows(&["href=\"/clean-outs/2/release\">Release 27-0042</a>"]);
}

#[tokio::test]
async fn what_is_in_the_way_is_said_with_its_reason() {
    let bench = a_working_day().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    let pupil = bench
        .garden
        .sign_in_with("Bo", Role::Hand, AgeBand::Minor, &[])
        .await;
    // Ends at four in the afternoon of Friday 5, and Basil was to go on that morning.
    bench
        .cleanout("27-0041", 1, Some(1), "booked", "2027-03-05")
        .await;
    // Nobody began it.
    bench
        .cleanout("27-0042", 2, Some(2), "proposed", "2027-03-03")
        .await;
    bench
        .run("update system set quarantined_since = '2027-03-03', quarantine_reason = 'root rot.' where id = 4")
        .await;
    ines.get("/").await.shows(&[
        "In the way",
        "North 1, 27-0041",
        "the next planting is on Friday 5 March. As it is booked now it is <span class=\"late\">16 h late</span>",
        "proposed for Wednesday 3 March. Its date, Wednesday 3 March, is past.",
        "booked for Friday 5 March. Nobody is named who pours the concentrate",
        "Lettuce comes off on Thursday 4 March, and no clean-out is proposed.",
        "quarantined since Wednesday 3 March: root rot. Nothing is shared with it: no hose, no net, no hands.",
    ]);
    bench
        .run("update cleanout set pours_person_id = (select id from person where name = 'Bo') where number = '27-0041'")
        .await;
    pupil
        .get("/")
        .await
        .shows(&["booked for Friday 5 March. Bo "]);
}
