//! The dose sheet: its range, its class, its rinses and its airing, and what it warns of or refuses.

use axum::http::StatusCode;

use crate::cleanouts::House;
use crate::plan::hidden;

/// The register passes every fill of the loop on: their spread says how well the level is met.
#[tokio::test]
async fn the_range_follows_how_the_volume_is_known() {
    let house = House::dosed().await;
    for (metered, says) in [
        ("158", "1 % as a standard deviation"),
        ("161", "the spread of 2 fills"),
    ] {
        let fill = [
            ("metered", metered),
            ("media_was", "wet"),
            ("heel_was", "in"),
            ("how", "metered"),
            ("measured_on", "2027-03-02"),
        ];
        house.ines.post("/systems/1/fills", &fill).await.sent_on();
        let sheet = house.sheet().await;
        sheet.shows(&["Water meter", "Filling to the level again", says]);
        sheet.does_not_say(&["Water over the heel"]);
    }
    // The newest is the value, and not the mean of both: 161 + 18 + 17.741.
    let system = house.ines.get("/systems/1").await;
    system.shows(&[
        "196.7 L is used for doses.",
        "It lies between 187 and 206 L",
    ]);
}

/// A solution whose range reaches into the next class is said to, and its class is the higher one.
#[tokio::test]
async fn the_upper_end_of_the_range_decides_the_class() {
    let house = House::booked().await;
    house.choose("target", "4").await.sent_on();
    let sheet = house.sheet().await;
    sheet.shows(&[
        "at its strongest",
        "it is in a higher class",
        "Eye Irrit. 2",
    ]);
}

/// Worked by hand: 18 L of heel and 17.741 L in the clay stay behind; r = 35.741/194.464 = 0.1838, with
/// E = 0.8 a rinse leaves 0.2 + 0.147 = 0.347. From 33 600 mg/L to 5 mg/L: ln(6 720)/ln(1/0.347) = 8.3,
/// so 9; with complete mixing ln(6 720)/ln(1/0.1838) = 5.2, so 6. Each takes 158.7 L.
#[tokio::test]
async fn the_sheet_plans_the_rinses_and_says_that_two_are_not_expected_to_do() {
    let house = House::dosed().await;
    let sheet = house.sheet().await;
    sheet.shows(&[
        "The sum expects <strong>9 rinses, 6 if each mixes completely</strong>, to come to 5 mg/L",
        "the method asks for 2 rinses or more",
        "The strip decides, not this sum.",
        "A rinse takes 158.7 L, and 35.74 L stay behind",
        // 144.1 + 10 x 158.723
        "Water in all: 1 731 L",
        "The method asks for 2 rinses or more, and the sum expects 9 rinses",
        "With the heel of 18 L let out before each rinse it expects 7 rinses.",
        "Plan 1 429 L of rinse water",
    ]);
    house.issue().await.sent_on();
    house.card().await.shows(&[
        "Rinses: 9 of 158.7 L each, 1 731 L in all. The strip decides.",
        "Re-entry: 10 h 49 min after rinse 1 (sum). Label, law win.",
    ]);
}

/// A room of 420 m3 with one air change an hour, a third of it counted: from 10.3 ppm to 0.28 in
/// 180 ln(36.7) = 649 min; the whole 5.8 kg of peroxide in it add 0.4 points of oxygen.
#[tokio::test]
async fn the_sheet_plans_the_airing_or_says_what_to_enter() {
    let house = House::dosed().await;
    let sheet = house.sheet().await;
    sheet.shows(&[
        "The re-entry time of the label or the law wins",
        "an upper bound",
        "the open concentrate",
        "183 ppm",
        "21.3 % of oxygen",
        "420 m³, air changes an hour: 1 as entered",
        "10 h 49 min",
        "closed to others for <strong>10 h 49 min</strong> after the first rinse, as its dose sheet reckons",
        "At ten air changes an hour, vents open and fan on, the air clears in 1 h 5 min",
    ]);
    house
        .run("update room set air_volume_m3 = null, air_changes_per_day = null")
        .await;
    let sheet = house.sheet().await;
    sheet.shows(&[
        "The volume of its air and its air changes in a day are not entered for North bay",
        "href=\"/rooms/1/change\">Enter the air of North bay</a>",
        "not known",
    ]);
}

/// Others may be in the room while a bench soaks only where somebody says so for this room, on the record.
#[tokio::test]
async fn who_measured_the_air_through_a_soak_lets_the_closed_time_count_from_the_last_pour() {
    let house = House::dosed().await;
    let form = house.ines.get("/rooms/1/change").await;
    let version = hidden(&form, "version");
    let mut fields = [
        ("name", "North bay"),
        ("air", "420"),
        ("air_changes", "24"),
        ("soak_air", "it is fine"),
        ("version", version.as_str()),
    ];
    house
        .ines
        .post("/rooms/1", &fields)
        .await
        .refused(
            "soak_air",
            "Write who says so, when, and what was measured.",
        )
        .says(&["it is fine"]);
    fields[3] = ("soak_air", "Hygienist, 12 May: 0.1 ppm, vents open");
    house.ines.post("/rooms/1", &fields).await.sent_on();
    house.sheet().await.shows(&[
        "closed to others for <strong>10 h 49 min</strong> after the last pour",
        "is entered for North bay: Hygienist, 12 May: 0.1 ppm, vents open.",
    ]);
    assert_eq!(
        house.garden.logbook_detail("changed").await["air through the soak"],
        "Hygienist, 12 May: 0.1 ppm, vents open, was not given"
    );
}

/// The time that the label names keeps the room closed where it is longer than the sum, on the sheet and on
/// the card, and a card keeps the one that it was issued with.
#[tokio::test]
async fn the_labels_time_wins_over_a_shorter_sum() {
    let house = House::dosed().await;
    house.run("update product set reentry_min = 60").await;
    house.sheet().await.shows(&[
        "closed to others for <strong>10 h 49 min</strong> after the first rinse, as its dose sheet reckons",
        "The label or the law names 1 h.",
    ]);
    house.run("update product set reentry_min = 720").await;
    house.sheet().await.shows(&[
        "closed to others for <strong>12 h</strong> after the first rinse, as the label or the law names it",
    ]);
    house.issue().await.sent_on();
    house.run("update product set reentry_min = null").await;
    house
        .card()
        .await
        .shows(&["Re-entry: 12 h after rinse 1, by the label or the law."]);
}

/// From 10.3 ppm to 1 ppm in 180 ln(10.3) = 420 min, and not to 0.28 in 649: the site's choice of source
/// reaches the sheet, and the card keeps the one that it was issued with.
#[tokio::test]
async fn the_airing_goes_by_the_source_that_the_site_chose_and_a_card_keeps_it() {
    let house = House::dosed().await;
    let choose = |choice| {
        [
            ("question", "air-limit"),
            ("choice", choice),
            ("why", "Works physician, 2 March 2027"),
        ]
    };
    house.sheet().await.shows(&[
        "Down to 0.28 ppm in",
        "Published sources differ: 0.28 ppm (0.4 mg/m³), 0.5 ppm and 1 ppm; the safer, 0.28 ppm (0.4 mg/m³), is used.",
        "Scatchard, Kavanagh and Ticknor",
    ]);
    house
        .ines
        .post("/site/sources", &choose("1"))
        .await
        .sent_on();
    let chosen = ["Down to 1 ppm in", "this site chose 1 ppm on 4 March 2027."];
    let sheet = house.sheet().await;
    sheet.shows(&chosen).does_not_say(&["10 h 49 min"]);
    house.issue().await.sent_on();
    house
        .ines
        .post("/site/sources", &choose("0.5"))
        .await
        .sent_on();
    house.sheet().await.shows(&chosen);
}

#[tokio::test]
async fn a_dose_that_cannot_be_given_is_refused_with_what_to_do() {
    let house = House::booked().await;
    house.choose("target", "40").await.sent_on();
    let sheet = house.sheet().await;
    sheet.shows(&["No dose can be given", "the stock must be the stronger one"]);
    assert_eq!(house.issue().await.status, StatusCode::CONFLICT);
    house.choose_as_usual().await;
    // A lot without an assay, whose label says more than is handled here.
    house.run("update product set strength_value = 60").await;
    house.lot(2, "P-119", 20_000).await;
    house.choose("lot", "2").await.sent_on();
    house
        .sheet()
        .await
        .shows(&["No dose can be given", "no stock above 50 % w/w is handled"]);
    assert_eq!(house.issue().await.status, StatusCode::CONFLICT);
    house.choose("lot", "1").await.sent_on();
    house
        .run("update lot set withdrawn_at = '2027-03-04T08:00:00Z', withdrawn_reason = 'bulging'")
        .await;
    house
        .sheet()
        .await
        .shows(&["No dose can be given", "withdrawn"]);
    house
        .run("update lot set withdrawn_at = null, withdrawn_reason = null")
        .await;
    house
        .run("update reservoir set retired_at = '2027-03-04T08:00:00Z'")
        .await;
    house
        .sheet()
        .await
        .shows(&["No dose can be given", "No reservoir is entered."]);
}

#[tokio::test]
async fn what_has_to_be_looked_at_before_pouring_is_said() {
    let house = House::booked().await;
    let page = house.sheet().await;
    page.shows(&[
        "Nobody is named who says that 3 % w/v is right here",
        "The volume of the system is not measured",
    ]);
    house.choose("water", "mains").await.sent_on();
    house.sheet().await.shows(&["The water is mains"]);
    house.choose("water_on_hand", "100").await.sent_on();
    house
        .sheet()
        .await
        .shows(&["100 L of purified water are on hand", "44.08 L short"]);
    house.run("update lot set retest_on = '2027-03-01'").await;
    house.run("update reservoir set capacity_ml = 130000").await;
    let page = house.sheet().await;
    page.shows(&[
        "Lot P-118 was to be retested by 1 March 2027",
        "mixed in 2 batches",
        "Batch 1 of 2",
        "When the benches drain, 176.7 L stand in the reservoir, 46.72 L more than it takes",
    ]);
    // A second system that draws from the same lot.
    house.run("insert into system (id, room_id, name, created_at) values (2, 1, 'North 3', '2027-01-01T00:00:00Z')").await;
    house.run("insert into bench (system_id, name, length_mm, width_mm, floor_fall_mm, wall_mm, overflow_mm, media, media_depth_mm, drainable_permille, retained_permille, fractions_known) values (2, 'Bench 1', 1200, 600, 0, 200, 90, 'clay', 110, 420, 96, 'usual figure')").await;
    house.run("insert into reservoir (system_id, capacity_ml, pump_need_ml, heel_ml, heel_known) values (2, 240000, 62000, 18000, 'measured')").await;
    house.run("insert into tubing_run (system_id, name, purpose, bore_um, length_mm) values (2, 'Fill', 'fill', 25000, 4700)").await;
    house
        .ines
        .post("/clean-outs", &[("planting_id", ""), ("system_id", "2")])
        .await
        .sent_on();
    // 40.464 + 2.307 + 7.603 + 62 + 18 = 130.374 L at 30 g/L is 9.88 L of 395.9 g/L, 9.9 L by the marks;
    // with 14.75 L that is 24.65 L of the 20 L on hand.
    let page = house.sheet().await;
    page.shows(&["other open clean-outs take 9.9 L: 4.65 L short in all"]);
}
