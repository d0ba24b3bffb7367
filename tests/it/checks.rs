//! Set-up checks as they are typed, and the warning of a bench that can run over.

use axum::http::StatusCode;

use crate::cleanouts::House;
use crate::register::{bench, but, coordinator, north_2, tubing};

#[tokio::test]
async fn a_part_is_checked_before_it_is_saved_and_nothing_is_written() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let before = garden.logbook_says("added").await;
    let new = format!("{system}/pumps/new");
    ines.get(&new).await.shows(&[
        "Press Check",
        "name=\"check\" value=\"yes\"",
        "/static/js/checks.js",
        "role=\"status\"",
    ]);
    let pump = [
        ("name", "Upper pump"),
        ("kind", "submersible"),
        ("max_flow", "1500"),
        ("max_head", "1.1"),
        ("check", "yes"),
        ("post_key", "a-key"),
    ];
    let pumps = format!("{system}/pumps");
    ines.post(&pumps, &pump).await.shows(&[
        "value=\"Upper pump\"",
        "Does not fit: lift and flow; time to flood.",
        "No flow: to the flood level it lifts",
        // What lacks is a link, and a figure of the form itself leads to its field.
        "href=\"/benches/1/change#overflow_bore\"",
    ]);
    // Checked as often as one likes, then saved with the same key.
    ines.post(&pumps, &pump).await.shows(&["No flow"]);
    assert_eq!(garden.logbook_says("added").await, before);
    ines.get(&system).await.does_not_say(&["Upper pump"]);
    let mut saved = pump.to_vec();
    saved.retain(|(field, _)| *field != "check");
    ines.post(&pumps, &saved).await.sent_on();
    ines.get(&system)
        .await
        .shows(&["Upper pump", "No flow: to the flood level it lifts"]);

    // A change is held against the rest of the system, and what is on record stays.
    let change = [
        ("name", "Upper pump"),
        ("kind", "submersible"),
        ("max_flow", "1500"),
        ("max_head", "2.4"),
        ("version", "1"),
        ("check", "yes"),
    ];
    ines.post("/pumps/1", &change)
        .await
        .shows(&["lifts 1 189 mm of at most 2.4 m and brings between"]);
    ines.get("/pumps/1/change")
        .await
        .shows(&["value=\"1.1\"", "No flow"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_check_keeps_what_was_typed_and_says_what_cannot_be_read() {
    let (garden, ines) = coordinator().await;
    let system = north_2(&ines).await;
    let before = garden.logbook_says("added").await;
    let benches = format!("{system}/benches");
    let mut typed = but(bench("Bench 3", "1.60"), "wall", "tall");
    typed.push(("check", "yes"));
    let refused = ines.post(&benches, &typed).await;
    refused
        .refused("wall", "It is said here once this is put right.")
        .says(&["value=\"Bench 3\"", "value=\"tall\""]);

    // A port's bore without the drain run gives the one way, and says what the other lacks.
    let mut ported = but(bench("Bench 3", "1.60"), "drain_bore", "25.4");
    ported.push(("check", "yes"));
    ines.post(&benches, &ported)
        .await
        .shows(&["the bore of the drain port of Bench 1", "Bench 3"]);
    let mut low = but(bench("Bench 3", "1.60"), "wall", "125");
    low.push(("check", "yes"));
    ines.post(&benches, &low)
        .await
        .shows(&["Wall and riser, Bench 3", "until the bed is 10 mm lower"]);
    let mut reservoir = vec![
        ("capacity", "120"),
        ("heel", "18"),
        ("heel_known", "measured"),
        ("pump_need", "62"),
        ("version", "1"),
    ];
    reservoir.push(("check", "yes"));
    ines.post("/reservoirs/1", &reservoir)
        .await
        .shows(&["a reservoir that takes only 120 L", "run over"]);
    let mut hose = but(tubing(), "wall", "ribbed");
    hose.extend([("fittings", "4"), ("check", "yes")]);
    ines.post(&format!("{system}/tubing"), &hose)
        .await
        .shows(&["Does it fit?"]);
    for (field, value, message) in [
        ("fittings", "400", "from 0 to 300"),
        ("wall", "wavy", "Choose what its wall is like"),
    ] {
        ines.post(
            &format!("{system}/tubing"),
            &but(hose.clone(), field, value),
        )
        .await
        .refused(field, message);
    }
    let pump = vec![
        ("name", "Pump"),
        ("kind", "inline"),
        ("max_flow", "1500"),
        ("max_head", "2.4"),
        ("point_flow", "800"),
    ];
    ines.post(&format!("{system}/pumps"), &pump)
        .await
        .refused("point_head", "or neither");
    let mut high = pump;
    high.push(("point_head", "2.6"));
    ines.post(&format!("{system}/pumps"), &high)
        .await
        .refused("point_flow", "A point between gives less flow");
    assert_eq!(garden.logbook_says("added").await, before);
}

#[tokio::test]
async fn a_bench_that_can_run_over_is_warned_of_before_a_clean_out() {
    let house = House::new().await;
    let ines = &house.ines;
    let pump = [
        ("name", "Pump"),
        ("kind", "submersible"),
        ("max_flow", "1500"),
        ("max_head", "2.4"),
    ];
    ines.post("/systems/1/pumps", &pump).await.sent_on();
    let narrow = but(bench("Bench 1", "1.20"), "overflow_bore", "19");
    let mut narrow = narrow;
    narrow.push(("version", "1"));
    ines.post("/benches/1", &narrow).await.sent_on();
    let warned = [
        "A bench can run over",
        "Overflow, Bench 1",
        "It runs over the wall.",
        "Never leave this pump running unattended.",
    ];
    ines.get("/systems/1").await.shows(&warned);
    ines.get("/clean-outs/new").await.shows(&warned);
    house.propose().await;
    ines.get("/clean-outs/1").await.shows(&warned);
    ines.get("/clean-outs/1/dose")
        .await
        .shows(&["Overflow, Bench 1", "It runs over the wall."]);
    // A viewer reads the checks, and is led to no form.
    let viewer = house
        .garden
        .sign_in("Vera L.", slackwater::crew::Role::Viewer)
        .await;
    viewer
        .get("/systems/1")
        .await
        .shows(&["the bore of the overflow", "A bench can run over"])
        .does_not_say(&["/change#overflow_bore"]);
    assert_eq!(
        viewer
            .post("/systems/1/pumps", &[("check", "yes")])
            .await
            .status,
        StatusCode::FORBIDDEN
    );
}
