//! The site's settings, and the dated table of what a solution is classed as.

use axum::http::StatusCode;
use slackwater::crew::Role;
use slackwater::science::quantity::MassFraction;
use slackwater::site::{bands, store};

use crate::garden::Garden;

type Fields = Vec<(&'static str, String)>;

fn settings() -> Fields {
    [
        ("name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("address", ""),
        ("starts", "08:00"),
        ("ends", "17:00"),
        ("day", "0"),
        ("day", "1"),
        ("day", "5"),
        ("version", "1"),
    ]
    .into_iter()
    .map(|(name, value)| (name, value.to_owned()))
    .collect()
}

fn set(fields: &mut Fields, name: &str, value: &str) {
    for field in fields.iter_mut().filter(|field| field.0 == name) {
        value.clone_into(&mut field.1);
    }
}

fn sent(fields: &Fields) -> Vec<(&str, &str)> {
    fields
        .iter()
        .map(|(name, value)| (*name, value.as_str()))
        .collect()
}

#[tokio::test]
async fn the_settings_are_changed_checked_and_told_to_whoever_was_second() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    tobit
        .get("/site")
        .await
        .shows(&["Monday, Tuesday, Wednesday, Thursday, Friday, 08:00 to 17:00"])
        .does_not_say(&["/site/change"]);
    let mut fields = settings();
    for (field, wrong, message) in [
        ("zone", "Orrelby", "Choose a time zone"),
        ("ends", "07:30", "07:30 is not after 08:00"),
        ("starts", "eight", "such as 08:30"),
        ("address", "bench.local", "Begin with http"),
        ("rule_set", "none", "Choose a rule set"),
        ("units", "cubits", "Choose the units"),
    ] {
        let mut fields = fields.clone();
        set(&mut fields, field, wrong);
        ines.post("/site/change", &sent(&fields))
            .await
            .refused(field, message);
    }
    let mut idle = fields.clone();
    idle.retain(|field| field.0 != "day");
    ines.post("/site/change", &sent(&idle))
        .await
        .refused("days", "at least one day");
    set(&mut fields, "address", "http://bench.local:8642/");
    set(&mut fields, "zone", "Europe/Lisbon");
    ines.post("/site/change", &sent(&fields)).await.sent_on();
    tobit.get("/site").await.shows(&[
        "Europe/Lisbon",
        "Monday, Tuesday, Saturday, 08:00 to 17:00",
        "http://bench.local:8642<",
    ]);
    // Sent from a page that was opened before that.
    set(&mut fields, "zone", "Europe/Oslo");
    let told = ines.post("/site/change", &sent(&fields)).await;
    assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY);
    told.says(&[
        "Somebody changed this meanwhile",
        "Europe/Lisbon",
        "value=\"Europe/Oslo\"",
    ]);
    set(&mut fields, "version", "2");
    ines.post("/site/change", &sent(&fields)).await.sent_on();
    assert_eq!(garden.logbook_says("changed").await, 2);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn the_classes_are_shown_in_plain_words_and_the_label_wins() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    tobit
        .get("/site")
        .await
        .shows(&[
            "The product label and local rules win.",
            "8 to under 20 % w/w",
            "can blind",
            "Regulation (EC) 1272/2008 Annex VI",
            "the official text stands on the label",
        ])
        .does_not_say(&["/site/classes"]);
}

/// Two bands in place of the eight: harmless under 4 %, then Danger up to 60 %.
fn two_bands(from: &str, mark: &str) -> Vec<(&'static str, String)> {
    [
        ("from", "0"),
        ("signal", ""),
        ("classes", "none by strength"),
        ("statements", ""),
        ("pictograms", ""),
        ("from", "4"),
        ("signal", "Danger"),
        ("classes", "Eye Dam. 1"),
        ("statements", "H318 h272"),
        ("pictograms", "GHS05"),
        ("end", "60"),
        ("in_force_from", from),
        ("source", "supplier's data sheet of 2 March 2027, section 2"),
        ("mark", mark),
    ]
    .into_iter()
    .map(|(name, value)| (name, value.to_owned()))
    .collect()
}

fn mark_on(page: &str) -> String {
    let begins = "name=\"mark\" value=\"";
    let rest = &page[page.find(begins).unwrap() + begins.len()..];
    rest[..rest.find('"').unwrap()].to_owned()
}

#[tokio::test]
async fn an_amended_table_stands_from_its_day_and_the_old_one_is_kept() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let page = ines.get("/site/classes").await;
    page.shows(&["Band 8", "value=\"35\""]);
    let mark = mark_on(&page.text);
    let fields = two_bands("2027-03-10", &mark);
    ines.post("/site/classes", &sent(&fields)).await.sent_on();

    let mut conn = garden.app.db.read().await.unwrap();
    let all = store::bands(&mut conn, "eu").await.unwrap();
    drop(conn);
    let statements = |day: &str, percent: f64| {
        let strength = MassFraction::from_percent(percent).unwrap();
        bands::at(&all, day.parse().unwrap(), strength)
            .unwrap()
            .class
            .statements
            .join(" ")
    };
    assert_eq!(statements("2027-03-09", 4.5), "");
    assert_eq!(statements("2027-03-10", 4.5), "H318 H272");
    assert_eq!(
        statements("2027-03-09", 35.0),
        "H318 H315 H335 H272 H302 H332"
    );
    assert_eq!(all.len(), 10, "the eight old rows and the two new ones");
    ines.get("/site").await.shows(&[
        "From a later day",
        "4 to under 60 % w/w",
        "5 to under 8 % w/w",
        "ended 10 March 2027",
    ]);
    // The page that was opened before that is told; so is a day before the change.
    let late = ines.post("/site/classes", &sent(&fields)).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    late.says(&["Somebody amended the table meanwhile"]);
    let early = two_bands("2027-03-09", &mark_on(&late.text));
    ines.post("/site/classes", &sent(&early))
        .await
        .refused("in_force_from", "10 March 2027 or later");
    // Nothing to change is not a change.
    let same = two_bands("2027-03-11", &mark_on(&late.text));
    ines.post("/site/classes", &sent(&same))
        .await
        .says(&["Nothing differs"]);
    garden
        .app
        .clock
        .advance(chrono::TimeDelta::hours(5 * 24 + 16));
    let ines = garden.sign_in("Ines W.", Role::Coordinator).await;
    ines.get("/site").await.shows(&["Bands that stood before"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_table_with_a_gap_an_overlap_or_no_source_is_refused() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let mark = mark_on(&ines.get("/site/classes").await.text);
    let good = two_bands("2027-03-10", &mark);
    for (place, wrong, field, message) in [
        (0, "1", "from-1", "the table begins at 0 %"),
        (
            5,
            "0",
            "from-1",
            "has to lie under the lower limit of band 2",
        ),
        (5, "61", "from-2", "has to lie under the end of the table"),
        (5, "four", "from-2", "Band 2, lower limit"),
        (8, "318", "statements-2", "is not H with 3 figures"),
        (7, " ", "classes-2", "write the classes"),
        (6, "Care", "signal-2", "choose the signal word"),
        (9, "flame", "pictograms-2", "is not GHS with 2 figures"),
        (12, " ", "source", "Write where the limits stand"),
        (11, "2027-03-03", "in_force_from", "4 March 2027 or later"),
    ] {
        let mut fields = good.clone();
        wrong.clone_into(&mut fields[place].1);
        ines.post("/site/classes", &sent(&fields))
            .await
            .refused(field, message);
    }
    let mut conn = garden.app.db.read().await.unwrap();
    assert_eq!(store::bands(&mut conn, "eu").await.unwrap().len(), 8);
}

#[tokio::test]
async fn a_band_is_added_and_taken_out_of_the_form_without_a_script() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let mut fields = two_bands("2027-03-10", "0");
    fields.push(("rows", "add 1".to_owned()));
    let three = ines.post("/site/classes", &sent(&fields)).await;
    three.shows(&[
        "Band 3",
        "id=\"from-2\" name=\"from\" value=\"\"",
        "id=\"from-3\" name=\"from\" value=\"4\"",
    ]);
    fields.pop();
    fields.push(("rows", "take 1".to_owned()));
    let one = ines.post("/site/classes", &sent(&fields)).await;
    one.shows(&["id=\"from-1\" name=\"from\" value=\"4\""])
        .does_not_say(&["Band 2"]);
    for nonsense in ["add 0", "take 99", "add", "add x", "burn 1"] {
        fields.pop();
        fields.push(("rows", nonsense.to_owned()));
        ines.post("/site/classes", &sent(&fields))
            .await
            .shows(&["Band 2"])
            .does_not_say(&["Band 3"]);
    }
}

#[tokio::test]
async fn where_sources_differ_the_safer_is_used_until_the_site_chooses() {
    let house = crate::cleanouts::House::new().await;
    let tobit = house.garden.sign_in("Tobit A.", Role::Viewer).await;
    tobit
        .get("/site/sources")
        .await
        .shows(&[
            "Two sources differ: 30 minutes and 15 minutes; the safer, 30 minutes, is used.",
            "New Jersey Right to Know",
            "because it rinses longer",
        ])
        .does_not_say(&["Save the choice"]);
    house
        .ines
        .get("/stock/lots/1/take")
        .await
        .shows(&["water for 30 minutes (the safer of two sources)"]);
    house.ines.get("/stock/receive").await.shows(&[
        "name=\"loss\" value=\"2\"",
        "the safer, 2 % a year, is used",
    ]);
    let choose = |choice, why| [("question", "eye-rinse"), ("choice", choice), ("why", why)];
    house
        .ines
        .post("/site/sources", &choose("20", " "))
        .await
        .refused("choice-eye-rinse", "Choose one of the sources")
        .refused("why-eye-rinse", "Write why, and who says so");
    let refused = tobit.post("/site/sources", &choose("15", "mine")).await;
    assert_eq!(refused.status, StatusCode::FORBIDDEN);
    house
        .ines
        .post(
            "/site/sources",
            &choose("15", "Works physician, 2 March 2027"),
        )
        .await
        .sent_on();
    house.ines.get("/site/sources").await.shows(&[
        "this site chose 15 minutes on 4 March 2027.",
        "Works physician, 2 March 2027",
    ]);
    house
        .ines
        .get("/stock/lots/1/take")
        .await
        .shows(&["water for 15 minutes (as this site chose)"]);
    let loss = [
        ("question", "stock-loss"),
        ("choice", "1"),
        ("why", "Supplier's letter of 3 March 2027"),
    ];
    house.ines.post("/site/sources", &loss).await.sent_on();
    house.ines.get("/stock/receive").await.shows(&[
        "name=\"loss\" value=\"1\"",
        "this site chose 1 % a year on 4 March 2027.",
    ]);
    house.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn storage_classes_are_read_by_all_and_amended_with_a_source() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    tobit
        .get("/site/storage")
        .await
        .shows(&["oxidising liquid", "no figure", "The fire authority"])
        .does_not_say(&["/site/storage/change"]);
    let page = ines.get("/site/storage/change").await;
    let mark = mark_on(&page.text);
    let fields = |kept: &str, source: &str| {
        let fields = [
            ("from", "0"),
            ("class", "none by strength"),
            ("kept", ""),
            ("closed_use", ""),
            ("open_use", ""),
            ("from", "over 8"),
            ("class", "oxidising liquid"),
            ("kept", kept),
            ("closed_use", "50"),
            ("open_use", "20"),
            ("end", "over 52"),
            ("in_force_from", "2027-03-04"),
            ("source", source),
            ("mark", mark.as_str()),
        ];
        fields
            .map(|(name, value)| (name, value.to_owned()))
            .to_vec()
    };
    ines.post("/site/storage/change", &sent(&fields("much", " ")))
        .await
        .refused("kept-2", "Band 2")
        .refused("source", "Write where the limits stand")
        .says(&["value=\"much\"", "value=\"over 8\""]);
    let good = fields("100", "letter of the fire authority, 1 March 2027");
    ines.post("/site/storage/change", &sent(&good))
        .await
        .sent_on();
    tobit.get("/site/storage").await.shows(&[
        "over 8 to 52 % w/w",
        "kept: 100 kg",
        "letter of the fire authority",
        "Bands that stood before",
    ]);
    ines.post("/site/storage/change", &sent(&good))
        .await
        .says(&["Somebody amended the table meanwhile"]);
    garden.logbook_is_whole().await;
}
