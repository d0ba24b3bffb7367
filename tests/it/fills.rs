//! Measured fills and bucket tests: what counts before usual and computed figures, and for how long.

use axum::http::StatusCode;
use slackwater::crew::Role;
use slackwater::ids::SystemId;
use slackwater::register::hold;

use crate::register::{bench, but, coordinator, north_2, with_version};

/// Bench 1 by its bucket test, 43 % and 7 %: 79.2 L x 0.43 + 7.2 L = 41.256 L, and it holds 5.544 L.
/// Sum 194.4639 + 0.792 - 2.0592 = 193.197 L. Held in the media 5.544 + 10.1376 = 15.6816 L.
/// Fill: 160 L went in, 18 L of heel and 15.682 L in wet media were there: 193.682 L, 0.3 % more.
#[tokio::test]
async fn a_bucket_test_and_a_measured_fill_go_before_usual_and_computed_figures() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let oda = garden.sign_in("Oda R.", Role::Hand).await;
    let test = [
        ("bulk", "10"),
        ("filled", "5"),
        ("drained", "4.3"),
        ("tested_on", "2027-01-09"),
    ];
    for (field, value, message) in [
        ("filled", "11", "More water went in than there are media"),
        ("drained", "5.1", "More ran out than went in"),
        ("tested_on", "2027-03-05", "still to come"),
    ] {
        oda.post("/benches/1/bucket-tests", &but(test.to_vec(), field, value))
            .await
            .refused(field, message);
    }
    let back = oda.post("/benches/1/bucket-tests", &test).await.sent_on();
    oda.get(&back)
        .await
        .shows(&["43.0 % drains, 7.0 % stays wet", "Oda R., 9 January 2027"]);
    oda.get(&system).await.shows(&[
        "<i>193.2 L</i>, two benches",
        "bucket test, Oda R., 9 January 2027",
        "5.5",
    ]);

    let fills = format!("{system}/fills");
    let fill = vec![
        ("metered", "160"),
        ("media_was", "wet"),
        ("heel_was", "in"),
        ("how", "metered"),
        ("measured_on", "2027-02-12"),
    ];
    oda.post(&fills, &but(fill.clone(), "metered", ""))
        .await
        .refused("metered", "enter a number");
    oda.post(&fills, &but(fill.clone(), "measured_on", "2027-03-05"))
        .await
        .refused("measured_on", "still to come");
    oda.post(&fills, &fill).await.sent_on();
    oda.get(&fills).await.shows(&[
        "193.7 L",
        "160 L with a water meter, and 33.68 L there before",
        "counts",
    ]);
    oda.get(&system).await.shows(&[
        "193.7 L is used for doses.",
        "Measured 193.7 L, 0.3 % more than the computed 193.2 L",
        "Oda R., 12 February 2027",
    ]);
    {
        let mut conn = garden.app.db.read().await.unwrap();
        let held = hold::hold_of(&mut conn, SystemId::from_row(1))
            .await
            .unwrap()
            .unwrap();
        let litres = slackwater::science::quantity::in_litres(held.volume().volume);
        assert!((litres - 193.682).abs() < 1e-9, "{litres}");
        let room = slackwater::science::quantity::in_litres(held.batch_room());
        assert!(
            (room - 222.0).abs() < 1e-9,
            "240 L less 18 L of heel, not {room}"
        );
        // 0.8 m x 0.6 m: 0.48 L for each millimetre.
        let mark = slackwater::science::quantity::in_litres(held.per_millimetre().unwrap());
        assert!((mark - 0.48).abs() < 1e-9, "{mark}");
    }

    // Far apart: something was measured wrongly, and it is said.
    oda.post(&fills, &but(fill.clone(), "metered", "220"))
        .await
        .sent_on();
    oda.get(&system)
        .await
        .shows(&["Something was measured wrongly", "class=\"late\""]);

    // A hand measures and does not judge; a lead sets it aside, with why, and the earlier one counts again.
    assert_eq!(
        oda.get("/fills/2/set-aside").await.status,
        StatusCode::FORBIDDEN
    );
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    tobit
        .post("/fills/2/set-aside", &[("reason", " ")])
        .await
        .refused("reason", "Write why");
    tobit
        .post(
            "/fills/2/set-aside",
            &[("reason", "The hose ran beside the meter")],
        )
        .await
        .sent_on();
    assert_eq!(
        tobit
            .post("/fills/2/set-aside", &[("reason", "again")])
            .await
            .status,
        StatusCode::CONFLICT
    );
    tobit
        .get(&fills)
        .await
        .shows(&["set aside by Tobit A.: The hose ran beside the meter"]);
    tobit
        .get(&system)
        .await
        .shows(&["193.7 L is used for doses."]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_fill_speaks_only_of_the_loop_it_was_measured_in() {
    let (_garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let fill = [
        ("metered", "160"),
        ("media_was", "wet"),
        ("heel_was", "in"),
        ("how", "jug"),
        ("measured_on", "2027-02-12"),
    ];
    ines.post(&format!("{system}/fills"), &fill).await.sent_on();
    ines.get(&system)
        .await
        .shows(&["195.7 L is used for doses."]); // 160 + 18 + 17.741
    // A new name or the height over the ground changes nothing of what it holds.
    let renamed = with_version(but(bench("Bench 2", "1.60"), "name", "Upper bench"), "1");
    ines.post("/benches/2", &but(renamed, "floor_height", "1300"))
        .await
        .sent_on();
    ines.get(&system)
        .await
        .shows(&["195.7 L is used for doses."]);
    // A bench that is longer does.
    let longer = with_version(but(bench("Upper bench", "1.60"), "length", "1.70"), "2");
    ines.post("/benches/2", &longer).await.sent_on();
    ines.get(&system)
        .await
        .shows(&["The loop was changed after its fill was measured"]);
    ines.get(&format!("{system}/fills"))
        .await
        .shows(&["no longer counts: the loop was changed since"]);
}
