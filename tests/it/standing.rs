//! How a system stands: retired, laid up, quarantined, and not while a crop grows in it.

use axum::http::StatusCode;
use slackwater::crew::Role;

use crate::register::{bench, coordinator, north_2, with_version};

#[tokio::test]
async fn what_is_retired_stays_readable_and_is_not_used_anew() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    ines.get("/retire/bench/2")
        .await
        .shows(&["Retire North 2, Bench 2", "This cannot be undone"]);
    ines.post("/retire/bench/2", &[("reason", "")])
        .await
        .refused("reason", "Write why");
    ines.post("/retire/bench/2", &[("reason", "Cracked along the drain")])
        .await
        .sent_on();
    // Without bench 2: 40.464 + 2.307 + 7.603 + 62 + 18 = 130.374 L.
    ines.get(&system)
        .await
        .shows(&["<i>130.4 L</i>, one bench", "Retired: Bench 2"]);
    for path in ["/benches/2/change", "/retire/bench/2"] {
        assert_eq!(ines.get(path).await.status, StatusCode::CONFLICT, "{path}");
    }
    assert_eq!(
        ines.post("/benches/2", &with_version(bench("Bench 2", "1.6"), "2"))
            .await
            .status,
        StatusCode::CONFLICT
    );
    let room = ines.get("/retire/room/1").await;
    assert_eq!(room.status, StatusCode::CONFLICT);
    room.says(&["Systems stand in North bay"]);
    ines.post("/retire/system/1", &[("reason", "Taken down")])
        .await
        .sent_on();
    ines.get(&system)
        .await
        .shows(&["Retired. It stays readable"])
        .does_not_say(&["benches/new", "Enter a measured fill"]);
    ines.get("/systems")
        .await
        .shows(&["<h2 id=\"h-retired\">Retired</h2>", "North 2"]);
    assert_eq!(
        ines.post(&format!("{system}/benches"), &bench("Bench 3", "1.60"))
            .await
            .status,
        StatusCode::CONFLICT
    );
    ines.post("/retire/room/1", &[("reason", "Let to a neighbour")])
        .await
        .sent_on();
    ines.get("/systems/new").await.shows(&["There is none yet"]);
    assert_eq!(
        ines.get("/retire/barn/1").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(
        ines.get("/retire/jug/1").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(garden.logbook_says("retired").await, 3);
}

#[tokio::test]
async fn a_lead_lays_a_system_up_or_quarantines_it_with_why_and_back() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let tobit = garden.sign_in("Tobit A.", Role::Lead).await;
    let standing = format!("{system}/standing");
    tobit
        .post(&standing, &[("act", "quarantine")])
        .await
        .refused("quarantine_why", "Write why");
    tobit
        .post(
            &standing,
            &[("act", "quarantine"), ("quarantine_why", "Brown roots")],
        )
        .await
        .sent_on();
    tobit
        .get(&system)
        .await
        .shows(&["Quarantined since 4 March 2027: Brown roots"]);
    ines.get("/systems")
        .await
        .shows(&["quarantined since 4 March 2027: Brown roots"]);
    let twice = tobit
        .post(
            &standing,
            &[("act", "quarantine"), ("quarantine_why", "Again")],
        )
        .await;
    assert_eq!(twice.status, StatusCode::CONFLICT);
    tobit
        .post(
            &standing,
            &[("act", "lift"), ("quarantine_why", "Three clean samples")],
        )
        .await
        .sent_on();
    tobit
        .get(&system)
        .await
        .does_not_say(&["Quarantined since"]);
    tobit
        .post(&standing, &[("act", "lay up"), ("laid_up_why", "Winter")])
        .await
        .sent_on();
    tobit
        .get(&system)
        .await
        .shows(&["Laid up since 4 March 2027."]);
    tobit
        .post(
            &standing,
            &[("act", "bring back"), ("laid_up_why", "Spring")],
        )
        .await
        .sent_on();
    assert_eq!(
        tobit.post(&standing, &[("act", "paint")]).await.status,
        StatusCode::BAD_REQUEST
    );
    for what in [
        "quarantined",
        "quarantine lifted",
        "laid up",
        "brought back into use",
    ] {
        assert_eq!(garden.logbook_says(what).await, 1, "{what}");
    }
}

#[tokio::test]
async fn a_system_in_which_a_crop_grows_is_neither_retired_nor_laid_up() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    garden
        .change("insert into planting (system_id, crop, planted_on, stage, already_growing, created_at) values (1, 'Pak choi', '2027-02-01', 'growing', 1, '2027-02-01T08:00:00Z')")
        .await;
    let refused = ines
        .post("/retire/system/1", &[("reason", "Taken down")])
        .await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["A crop grows in North 2"]);
    ines.post(
        &format!("{system}/standing"),
        &[("act", "lay up"), ("laid_up_why", "Winter")],
    )
    .await
    .refused("laid_up_why", "A crop grows in it");
    assert_eq!(
        garden.logbook_says("retired").await + garden.logbook_says("laid up").await,
        0
    );
}
