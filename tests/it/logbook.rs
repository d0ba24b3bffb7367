//! The record cannot be quietly altered: each way of altering it is tried on the file itself.

use slackwater::crew::Role;
use slackwater::logbook::{self, Author, Chain, Entry};
use sqlx::{Connection, SqliteConnection};

use crate::garden::Garden;

/// A site with ten entries.
async fn ten_entries() -> Garden {
    let garden = Garden::site().await;
    let now = garden.app.clock.now();
    let mut tx = garden.app.db.write().await.unwrap();
    for no in 1..=10 {
        let entry = Entry::about("system", no, format!("North {no}"), "added")
            .with(serde_json::json!({ "room": "North bay", "no": no }));
        logbook::write(&mut tx, &Author::server(), entry, now)
            .await
            .unwrap();
    }
    tx.commit().await.unwrap();
    garden
}

/// Alters the file as somebody with a database tool would, triggers out of the way.
async fn alter(garden: &Garden, sql: &'static str) {
    let file = garden.app.config.database();
    let mut conn = SqliteConnection::connect(&format!("sqlite:{}", file.display()))
        .await
        .unwrap();
    for drop in [
        "drop trigger logbook_is_not_changed",
        "drop trigger logbook_is_not_deleted",
    ] {
        sqlx::raw_sql(drop).execute(&mut conn).await.unwrap();
    }
    sqlx::raw_sql(sql).execute(&mut conn).await.unwrap();
    conn.close().await.unwrap();
}

async fn chain(garden: &Garden) -> Chain {
    let mut conn = garden.app.db.read().await.unwrap();
    logbook::store::check(&mut conn).await.unwrap()
}

#[tokio::test]
async fn a_whole_chain_names_its_length_and_head() {
    let garden = ten_entries().await;
    match chain(&garden).await {
        Chain::Whole { entries, head } => {
            assert_eq!(entries, 10);
            assert_eq!(head.len(), 64);
        }
        broken => panic!("{broken:?}"),
    }
}

#[tokio::test]
async fn each_way_of_altering_the_record_is_found_where_it_was_done() {
    let changes: [(&str, &'static str, i64); 7] = [
        ("a changed text", "update logbook set subject = 'South 1' where id = 4", 4),
        ("a changed detail", "update logbook set detail = '{\"room\":\"South bay\"}' where id = 10", 10),
        ("a changed time", "update logbook set at = '2027-03-03T08:30:00Z' where id = 1", 1),
        ("a removed row", "delete from logbook where id = 5", 6),
        ("the first row removed", "delete from logbook where id = 1", 2),
        (
            "two rows that changed places",
            "update logbook set id = 99 where id = 3; update logbook set id = 3 where id = 4; update logbook set id = 4 where id = 99",
            3,
        ),
        (
            "an inserted row",
            "update logbook set id = id + 100 where id > 6; update logbook set id = id - 99 where id > 100;
             insert into logbook select 7, at, person_id, person_name, about, subject, what, detail, hash, substr(hash, 2) || 'f'
               from logbook where id = 6",
            7,
        ),
    ];
    for (how, sql, at) in changes {
        let garden = ten_entries().await;
        alter(&garden, sql).await;
        match chain(&garden).await {
            Chain::Broken { at: found, why } => assert_eq!(found, at, "{how}: {why}"),
            whole => panic!("{how} was not seen: {whole:?}"),
        }
    }
}

#[tokio::test]
async fn the_database_itself_refuses_to_change_the_record() {
    let garden = ten_entries().await;
    let mut tx = garden.app.db.write().await.unwrap();
    for sql in [
        "update logbook set what = 'x' where id = 1",
        "delete from logbook where id = 1",
    ] {
        let refused = sqlx::raw_sql(sql).execute(tx.conn()).await.unwrap_err();
        assert!(
            refused.to_string().contains("added to, never changed"),
            "{refused}"
        );
    }
}

#[tokio::test]
async fn the_page_finds_words_and_leads_back_in_time() {
    let garden = ten_entries().await;
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    ines.get("/logbook")
        .await
        .shows(&["North 10", "room: North bay"]);
    ines.get("/logbook?words=north+7")
        .await
        .shows(&["North 7"])
        .does_not_say(&["North 8"]);
    ines.get("/logbook?before=4")
        .await
        .shows(&["North 3"])
        .does_not_say(&["North 4"]);
    ines.get("/logbook?words=no+such+words")
        .await
        .shows(&["No entry"]);
}

#[tokio::test]
async fn the_page_names_the_head_follows_the_chain_when_asked_and_says_where_it_breaks() {
    let garden = ten_entries().await;
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    let Chain::Whole { head, .. } = chain(&garden).await else {
        panic!("the chain is broken before anybody touched it");
    };
    ines.get("/logbook")
        .await
        .shows(&["10 entries, head", &head[..12], "Follow the chain now"])
        .does_not_say(&["the chain is whole"]);
    ines.get("/logbook?check=yes")
        .await
        .shows(&["at 08:30: the chain is whole"]);
    alter(
        &garden,
        "update logbook set subject = 'South 1' where id = 4",
    )
    .await;
    ines.get("/logbook?check=yes")
        .await
        .shows(&["The record was altered", "entry 4"])
        .does_not_say(&["the chain is whole"]);
}

#[tokio::test]
async fn entries_are_found_by_words_by_days_and_by_what_they_are_about() {
    let garden = ten_entries().await;
    garden.app.clock.advance(chrono::TimeDelta::days(1));
    let mut tx = garden.app.db.write().await.unwrap();
    let entry = Entry::about("person", 1, "Ines <V.>", "added");
    let now = garden.app.clock.now();
    logbook::write(&mut tx, &Author::server(), entry, now)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    ines.get("/logbook?words=north+3")
        .await
        .shows(&["North 3"])
        .does_not_say(&["North 4"]);
    ines.get("/logbook?about=system/7")
        .await
        .shows(&["Entries about North 7", "room: North bay"])
        .does_not_say(&["North 8"]);
    ines.get("/logbook?from=2027-03-05&to=2027-03-05")
        .await
        .shows(&["Ines &#60;V.&#62;", "href=\"/crew/1\""])
        .does_not_say(&["North 1"]);
    ines.get("/logbook?to=2027-03-04")
        .await
        .shows(&["North 10"])
        .does_not_say(&["&#60;V"]);
    ines.get("/logbook?from=2027-02-30")
        .await
        .refused("from", "year-month-day");
    ines.get("/logbook?before=4")
        .await
        .shows(&["North 3"])
        .does_not_say(&["North 4"]);
    ines.get("/logbook?words=nothing+like+it")
        .await
        .shows(&["No entry fits what you asked for."]);
}

#[tokio::test]
async fn older_entries_are_a_link_away_with_the_same_question() {
    let garden = Garden::site().await;
    let now = garden.app.clock.now();
    let mut tx = garden.app.db.write().await.unwrap();
    for no in 1..=60 {
        let entry = Entry::about("system", 1, "North 1 & 2", format!("filled no. {no:02}"));
        logbook::write(&mut tx, &Author::server(), entry, now)
            .await
            .unwrap();
    }
    tx.commit().await.unwrap();
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    let first = ines.get("/logbook?words=1+%26+2").await;
    first
        .shows(&[
            "filled no. 60",
            "filled no. 11",
            "before=11&#38;words=1+%26+2",
        ])
        .does_not_say(&["filled no. 10"]);
    ines.get("/logbook?before=11&words=1+%26+2")
        .await
        .shows(&["filled no. 10", "filled no. 01"])
        .does_not_say(&["filled no. 11", "Older entries"]);
}

#[test]
fn every_place_of_the_logbook_is_a_page() {
    let pages: Vec<&str> = slackwater::routes::table()
        .iter()
        .filter(|route| route.method == axum::http::Method::GET)
        .map(|route| route.path)
        .collect();
    for (kind, place) in logbook::places::PLACES {
        assert!(
            pages.contains(place),
            "{kind} leads to {place}, which is no page"
        );
    }
}
