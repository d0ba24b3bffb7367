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
