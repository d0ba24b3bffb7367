//! Crops and their turnovers: what is planted when, what a moved day does, what is refused.

use axum::http::StatusCode;
use slackwater::crew::Role;

use crate::garden::Garden;

/// A site with one empty system, and where to write rows of rooms that have no story here.
pub struct Bench {
    pub garden: Garden,
}

impl Bench {
    pub async fn new() -> Self {
        let garden = Garden::site().await;
        let bench = Self { garden };
        bench
            .run("insert into room (id, site_id, name) values (1, 1, 'North bay')")
            .await;
        bench.system(1, "North 1").await;
        bench.garden.with_the_builtin_methods().await;
        bench
    }

    pub async fn run(&self, sql: &'static str) {
        self.garden.change(sql).await;
    }

    pub async fn system(&self, id: i64, name: &str) {
        let mut tx = self.garden.app.db.write().await.unwrap();
        sqlx::query("insert into system (id, room_id, name, created_at) values (?1, 1, ?2, '2027-01-01T00:00:00Z')")
            .bind(id)
            .bind(name)
            .execute(tx.conn())
            .await
            .unwrap();
        tx.commit().await.unwrap();
    }

    /// A clean-out of eight hours from eight in the morning.
    pub async fn cleanout(
        &self,
        number: &str,
        system: i64,
        planting: Option<i64>,
        state: &str,
        day: &str,
    ) {
        let mut tx = self.garden.app.db.write().await.unwrap();
        sqlx::query(
            "insert into cleanout (number, system_id, planting_id, method_version_id, state, starts_on, starts_min,
                length_min, person_id, target_value, target_basis, target_source, created_at)
             values (?1, ?2, ?3, (select min(id) from method_version), ?4, ?5, 480, 480, (select min(id) from person), 3, '% w/v', 'none', '2027-03-01T08:00:00Z')",
        )
        .bind(number)
        .bind(system)
        .bind(planting)
        .bind(state)
        .bind(day)
        .execute(tx.conn())
        .await
        .unwrap();
        tx.commit().await.unwrap();
    }
}

const PAK_CHOI: [(&str, &str); 7] = [
    ("system", "1"),
    ("crop", "Pak choi"),
    ("planted_on", "2027-02-01"),
    ("turnover_on", "2027-03-10"),
    ("next_on", "2027-03-13"),
    ("next_crop", "Basil"),
    ("stands", "yes"),
];

#[tokio::test]
async fn a_crop_that_stood_there_is_entered_and_comes_off_and_the_system_is_due() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    let planting = ines.post("/turnovers", &PAK_CHOI).await.sent_on();
    ines.get(&planting).await.shows(&[
        "Pak choi",
        "it stood there when the system was entered",
        "Wednesday 10 March",
        "Basil, Saturday 13 March",
        "3 days",
        "one of 8 h fits on Thursday 11 March from 08:00",
        "Propose a clean-out",
    ]);
    ines.get("/turnovers").await.shows(&[
        "One system growing.",
        "1 to 21 March",
        "Pak choi",
        "Wed 10 Mar",
    ]);
    // A day to come is a plan, not a fact.
    ines.post(&format!("{planting}/off"), &[("off_on", "2027-03-05")])
        .await
        .refused("off_on", "still to come");
    ines.post(&format!("{planting}/off"), &[("off_on", "2027-01-31")])
        .await
        .refused("off_on", "before it was planted");
    let off = ines
        .post(&format!("{planting}/off"), &[("off_on", "2027-03-03")])
        .await;
    assert_eq!(off.sent_on(), planting);
    ines.get(&planting)
        .await
        .shows(&["came off on Wednesday 3 March"]);
    ines.get("/turnovers")
        .await
        .shows(&["One system due for a clean-out.", "off since Wed 3 Mar"]);
    // It cannot come off twice.
    let again = ines
        .post(&format!("{planting}/off"), &[("off_on", "2027-03-04")])
        .await;
    assert_eq!(again.status, StatusCode::CONFLICT);
    assert_eq!(bench.garden.logbook_says("crop off").await, 1);
    bench.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn the_systems_say_how_they_stand_and_what_was_done() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    ines.get("/systems").await.shows(&["North 1", "due"]);
    ines.post("/turnovers", &PAK_CHOI).await.sent_on();
    ines.get("/systems")
        .await
        .shows(&["growing, Pak choi until Wed 10 Mar"]);
    bench
        .cleanout("27-0043", 1, Some(1), "proposed", "2027-03-11")
        .await;
    ines.get("/systems/1").await.shows(&[
        "Crop and gap",
        "Pak choi, comes off on Wednesday 10 March",
        "27-0043, proposed for Thursday 11 March, 08:00",
        "Crops and clean-outs",
        "1 February 2027",
    ]);
}

#[tokio::test]
async fn a_crop_stands_already_only_while_its_system_has_no_history() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    let planting = ines.post("/turnovers", &PAK_CHOI).await.sent_on();
    ines.post("/turnovers", &PAK_CHOI)
        .await
        .refused("stands", "has a history here");
    ines.post(&format!("{planting}/off"), &[("off_on", "2027-03-03")])
        .await
        .sent_on();
    ines.post("/turnovers", &PAK_CHOI)
        .await
        .refused("stands", "has a history here");
    bench.system(2, "North 2").await;
    bench
        .cleanout("27-0001", 2, None, "under way", "2027-03-04")
        .await;
    let mut other = PAK_CHOI;
    other[0] = ("system", "2");
    ines.post("/turnovers", &other)
        .await
        .refused("stands", "has a history here");
}

#[tokio::test]
async fn nothing_is_planted_into_a_system_that_is_not_released() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    let basil = |day| {
        [
            ("system", "1"),
            ("crop", "Basil"),
            ("planted_on", day),
            ("turnover_on", "2027-04-10"),
        ]
    };
    ines.post("/turnovers", &basil("2027-03-04"))
        .await
        .refused("planted_on", "was not cleaned out and released");
    let intended = ines
        .post("/turnovers", &basil("2027-03-05"))
        .await
        .sent_on();
    ines.get(&intended)
        .await
        .shows(&["intended for 5 March 2027"]);
    let plant = format!("{intended}/plant");
    let today = [("planted_on", "2027-03-04")];
    ines.get(&plant)
        .await
        .shows(&["Not yet.", "was not cleaned out and released"])
        .does_not_say(&["It is planted"]);

    bench
        .cleanout("27-0001", 1, None, "under way", "2027-03-04")
        .await;
    ines.post(&plant, &today)
        .await
        .refused("planted_on", "under way and not released")
        .says(&["Open clean-out 27-0001", "href=\"/clean-outs/1\""]);
    bench.run("update cleanout set state = 'held'").await;
    ines.post(&plant, &today)
        .await
        .refused("planted_on", "waits for its release");
    bench.run("update cleanout set state = 'released'").await;
    bench
        .run("update system set quarantined_since = '2027-03-04', quarantine_reason = 'root rot'")
        .await;
    ines.post(&plant, &today)
        .await
        .refused("planted_on", "It is quarantined");
    bench
        .run("update system set quarantined_since = null, quarantine_reason = null")
        .await;
    // What was released before the quarantine has to be cleaned out again.
    ines.post(&plant, &today)
        .await
        .refused("planted_on", "was not cleaned out and released");
    bench
        .cleanout("27-0002", 1, None, "released", "2027-03-04")
        .await;
    ines.get("/turnovers").await.shows(&["One system ready."]);
    ines.post(&plant, &[("planted_on", "2027-03-05")])
        .await
        .refused("planted_on", "still to come");
    assert_eq!(ines.post(&plant, &today).await.sent_on(), intended);
    ines.get("/turnovers").await.shows(&["One system growing."]);

    // The release is used up: after this crop comes another clean-out.
    ines.post(&format!("{intended}/off"), &[("off_on", "2027-03-04")])
        .await
        .sent_on();
    ines.post("/turnovers", &basil("2027-03-04"))
        .await
        .refused("planted_on", "was not cleaned out and released");
    bench.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_turnover_is_moved_only_after_its_effect_was_seen() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    let planting = ines.post("/turnovers", &PAK_CHOI).await.sent_on();
    bench
        .cleanout("27-0043", 1, Some(1), "booked", "2027-03-12")
        .await;
    let to = format!("{planting}/move");
    ines.get(&to)
        .await
        .shows(&["off Wednesday 10 March", "value=\"2027-03-13\""]);
    let mut days = vec![
        ("turnover_on", "2027-03-12"),
        ("next_on", "2027-03-13"),
        ("next_crop", "Basil"),
        ("reason", ""),
        ("version", "1"),
        ("shown", ""),
    ];
    ines.post(&to, &days).await.refused("reason", "Write why.");
    days[3] = ("reason", "heads are small");
    ines.post(&to, &days).await.shows(&[
        "The gap: 1 day. It was: 3 days.",
        "Clean-out 27-0043, booked for Friday 12 March, 08:00 to 16:00, no longer fits: it starts before the crop is off, on Friday 12 March.",
        "No day fits: no whole day lies between the crop coming off and the next going on.",
        "Nothing is saved yet.",
    ]);
    ines.get(&planting).await.shows(&["Wednesday 10 March"]);
    // Days whose effect was not shown are not saved.
    days[1] = ("next_on", "2027-03-17");
    days[5] = ("shown", "2027-03-12 2027-03-13");
    ines.post(&to, &days)
        .await
        .shows(&["The earliest that fits is Monday 15 March, 08:00."]);
    days[5] = ("shown", "2027-03-12 2027-03-17");
    assert_eq!(ines.post(&to, &days).await.sent_on(), planting);
    ines.get(&planting).await.shows(&[
        "Friday 12 March",
        "heads are small",
        "comes off Fri 12 Mar, was Wed 10 Mar; next goes on Wed 17 Mar, was Sat 13 Mar",
        "Does not fit: it starts before the crop is off",
    ]);
    // Somebody who still saw the old days is told, and keeps what was typed.
    days[0] = ("turnover_on", "2027-03-11");
    ines.post(&to, &days)
        .await
        .refused("turnover_on", "Somebody moved it meanwhile")
        .says(&["value=\"2027-03-11\"", "heads are small"]);
    assert_eq!(bench.garden.logbook_says("turnover moved").await, 1);
    bench.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn an_intended_planting_is_dropped_and_a_growing_one_is_not() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    let later = [
        ("system", "1"),
        ("crop", "Cress"),
        ("planted_on", "2027-03-20"),
    ];
    let intended = ines.post("/turnovers", &later).await.sent_on();
    let reason = [("reason", "no seed in")];
    assert_eq!(
        ines.post(&format!("{intended}/drop"), &reason)
            .await
            .sent_on(),
        "/turnovers"
    );
    assert_eq!(ines.get(&intended).await.status, StatusCode::NOT_FOUND);
    let growing = ines.post("/turnovers", &PAK_CHOI).await.sent_on();
    let kept = ines.post(&format!("{growing}/drop"), &reason).await;
    assert_eq!(kept.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn the_same_planting_sent_fifty_times_at_once_is_planted_once() {
    let bench = Bench::new().await;
    let ines = bench.garden.sign_in("Ines V.", Role::Lead).await;
    let mut sendings = Vec::new();
    for _ in 0..50 {
        let ines = ines.clone();
        sendings.push(tokio::spawn(async move {
            let mut fields = PAK_CHOI.to_vec();
            fields.push(("post_key", "0123456789abcdefghij"));
            ines.post("/turnovers", &fields).await.sent_on()
        }));
    }
    for sent in sendings {
        assert_eq!(sent.await.unwrap(), "/turnovers/1");
    }
    assert_eq!(bench.garden.logbook_says("stood already").await, 1);
}

#[tokio::test]
async fn a_pasted_table_is_taken_whole_or_not_at_all() {
    let bench = Bench::new().await;
    bench.system(2, "North 2").await;
    let ines = bench.garden.sign_in("Ines V.", Role::Coordinator).await;
    let send = async |table: &str| ines.post("/turnovers/import", &[("table", table)]).await;
    let head = "system,crop,planted_on,turnover_on,next_on,next_crop\n";

    // Every bad row is named, and the good one is not taken either.
    let bad = format!(
        "{head}North 1,Basil,2027-02-01,2027-03-10,2027-03-13,Basil\n\
         North 9,Basil,2027-02-01,,,\n\
         North 2,,2027-02-01,2027-01-10,,\n"
    );
    send(&bad)
        .await
        .refused("table", "Line 3, system: There is no system in use called")
        .says(&[
            "Line 4, crop: Write a name.",
            "Line 4, turnover_on: The crop cannot come off before it is planted.",
            "North 1,Basil,2027-02-01",
        ]);
    assert_eq!(bench.garden.logbook_says("stood already").await, 0);

    let good = format!(
        "{head}North 1,Basil,2027-02-01,2027-03-10,2027-03-13,Basil\nNorth 1,Basil,2027-03-13,2027-04-20,,\n"
    );
    assert_eq!(send(&good).await.sent_on(), "/turnovers");
    ines.get("/turnovers")
        .await
        .shows(&["Wed 10 Mar", "Basil, Sat 13 Mar"]);

    // Sent again with another day, only the day moves.
    let moved = good.replace("2027-03-10", "2027-03-11");
    assert_eq!(send(&moved).await.sent_on(), "/turnovers");
    ines.get("/turnovers/1")
        .await
        .shows(&["import, line 2", "was Wed 10 Mar"]);
    assert_eq!(bench.garden.logbook_says("turnover moved").await, 1);
    assert_eq!(bench.garden.logbook_says("intended").await, 1);

    // What stands already is only taken for a system without a history.
    send(&format!("{head}North 1,Mint,2027-02-02,,,\n"))
        .await
        .refused("table", "Line 2, planted_on: North 1 has a history here");
    bench.garden.logbook_is_whole().await;
}
