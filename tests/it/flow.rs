//! Flow tests between clean-outs, and what they say together with the times that clean-outs measure.

use axum::http::StatusCode;
use slackwater::crew::Role;

use crate::cleanouts::House;
use crate::register::{but, coordinator, north_2};

fn flood(took: &'static str, on: &'static str) -> Vec<(&'static str, &'static str)> {
    vec![("kind", "flood"), ("took", took), ("tested_on", on)]
}

#[tokio::test]
async fn a_hand_times_a_system_and_a_wrong_test_is_set_aside_by_a_lead() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    ines.get(&system)
        .await
        .shows(&["Nothing was timed yet.", "Time the flow or the drain"]);
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let tests = format!("{system}/flow-tests");
    tobit.get(&tests).await.shows(&["Time it", "2027-03-04"]);
    let flow = vec![
        ("kind", "flow"),
        ("caught", "10"),
        ("took", "48"),
        ("water", "12"),
        ("lift", "0.9"),
        ("tested_on", "2027-03-01"),
    ];
    for (field, value, message) in [
        ("took", "", "enter a number"),
        ("took", "5:72", "minutes and seconds as 5:40"),
        ("caught", "", "how much ran into the bucket"),
        ("tested_on", "2027-03-05", "still to come"),
        ("water", "70", "must lie from 0 to 40 °C"),
        ("kind", "leak", "Choose what was timed"),
    ] {
        tobit
            .post(&tests, &but(flow.clone(), field, value))
            .await
            .refused(field, message);
    }
    tobit
        .post(&tests, &but(flow.clone(), "kind", "drain"))
        .await
        .refused("caught", "A bucket belongs to a flow")
        .refused("lift", "A lift belongs to a flow");
    let back = tobit.post(&tests, &flow).await.sent_on();
    tobit.get(&back).await.shows(&[
        "10 L in 48 s: 12.5 L/min, water at 12 °C, lift 900 mm",
        "Tobit A., 1 March 2027",
    ]);
    tobit
        .post(&tests, &flood("5:40", "2027-03-02"))
        .await
        .sent_on();
    tobit
        .post(&tests, &flood("340", "2027-03-02"))
        .await
        .sent_on();
    tobit.get(&system).await.shows(&[
        "Flow: too few readings: 1 of 4",
        "Time to flood: too few readings: 1 of 4",
        "aria-label=\"Time to flood: 2 readings from 2 March 2027",
        "5 min 40 s",
        "The values",
    ]);

    assert_eq!(
        tobit.get("/flow-tests/1/set-aside").await.status,
        StatusCode::FORBIDDEN
    );
    let oda = garden.sign_in("Oda R.", Role::Lead).await;
    oda.get("/flow-tests/1/set-aside")
        .await
        .shows(&["10 L in 48 s"]);
    oda.post("/flow-tests/1/set-aside", &[("reason", "")])
        .await
        .refused("reason", "Write why");
    oda.post(
        "/flow-tests/1/set-aside",
        &[("reason", "The valve stood half shut")],
    )
    .await
    .sent_on();
    assert_eq!(
        oda.post("/flow-tests/1/set-aside", &[("reason", "again")])
            .await
            .status,
        StatusCode::CONFLICT
    );
    oda.get(&tests)
        .await
        .shows(&["set aside by Oda R.: The valve stood half shut"]);
    oda.get(&system).await.does_not_say(&["Flow: too few"]);
    assert_eq!(garden.logbook_says("timed").await, 3);
    assert_eq!(garden.logbook_says("flow test set aside").await, 1);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn tests_and_clean_outs_make_one_series_and_stand_beside_what_is_reckoned() {
    let house = House::new().await;
    let ines = &house.ines;
    house.propose().await;
    // First, because another pump begins another series.
    let pump = [
        ("name", "Pump"),
        ("kind", "submersible"),
        ("max_flow", "1500"),
        ("max_head", "2.4"),
    ];
    ines.post("/systems/1/pumps", &pump).await.sent_on();
    house
        .run("insert into reading (cleanout_id, step_no, reading, value_milli, person_id, at, flow_version) values (1, 27, 'flood seconds', 331000, 1, '2027-03-03T10:00:00Z', (select flow_version from system where id = 1))")
        .await;
    // Put right later: the corrected one counts, on the day it was measured.
    house
        .run("insert into reading (cleanout_id, step_no, reading, value_milli, person_id, at, corrects, flow_version) values (1, 27, 'flood seconds', 351000, 1, '2027-03-04T07:00:00Z', 1, (select flow_version from system where id = 1))")
        .await;
    for (took, on) in [
        ("5:00", "2026-04-02"),
        ("5:04", "2026-05-02"),
        ("5:02", "2026-06-02"),
        ("5:10", "2026-07-02"),
        ("5:16", "2026-08-02"),
        ("5:22", "2026-09-02"),
        ("5:31", "2026-10-02"),
        ("5:38", "2026-11-02"),
    ] {
        ines.post("/systems/1/flow-tests", &flood(took, on))
            .await
            .sent_on();
    }
    ines.get("/systems/1")
        .await
        .shows(&[
            "likely clogging, see the ports",
            "5 min 51 s",
            "3 March 2027",
            "<a href=\"/clean-outs/1\">27-0001</a>",
            "9 readings from 2 April 2026 to 3 March 2027",
            "95 times in 100",
        ])
        .does_not_say(&["5 min 31 s</td><td>Ines V., <a"]);

    // With its pump and its fill on record the newest stands beside what is reckoned.
    ines.get("/systems/1").await.shows(&[
        "Measured 5 min 51 s on 3 March 2027, Ines V., clean-out 27-0001:",
        "than reckoned",
    ]);
    ines.get("/systems/1/flow-tests")
        .await
        .shows(&["5 min 38 s", "counts"]);
}
