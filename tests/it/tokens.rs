//! Tokens for programs: made, shown once, kept to their scope, ended.

use axum::http::{Method, StatusCode};
use slackwater::crew::Role;
use slackwater::crew::token::Room;
use slackwater::routes::{self, Least};

use crate::garden::{Answer, Garden, Person};
use crate::house::filled;

const PASSWORD: &str = "tide pools at noon";

/// Makes a token of this scope and reads it off the page.
async fn token(garden: &Garden, person: &Person, rooms: &[&str]) -> String {
    garden.set_password(person.id, PASSWORD).await;
    let mut fields = vec![
        ("name", "Rain gauge"),
        ("days", "30"),
        ("password", PASSWORD),
    ];
    fields.extend(rooms.iter().map(|room| ("writes_in", *room)));
    let answer = person.post("/tokens", &fields).await;
    answer.shows(&["It is shown this once"]);
    let at = answer.text.find("slackwater_").unwrap();
    answer.text[at..].split('<').next().unwrap().to_owned()
}

async fn ask(garden: &Garden, token: &str, method: Method, path: &str, body: &str) -> Answer {
    let bearer = format!("Bearer {token}");
    let headers = [("authorization", bearer.as_str())];
    garden.stranger().ask(method, path, body, &headers).await
}

#[tokio::test]
async fn a_token_is_shown_once_reads_and_the_list_says_when_it_was_used() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let reads = token(&garden, &ines, &[]).await;
    ines.get("/tokens")
        .await
        .shows(&["Rain gauge", "reads", "never"])
        .does_not_say(&[&reads]);
    ask(&garden, &reads, Method::GET, "/stock", "")
        .await
        .shows(&["Stock"]);
    ines.get("/tokens")
        .await
        .shows(&["4 March"])
        .does_not_say(&["never</td>"]);
    // The hash alone is kept.
    let mut conn = garden.app.db.read().await.unwrap();
    let kept: String = sqlx::query_scalar("select token_hash from api_token")
        .fetch_one(&mut *conn)
        .await
        .unwrap();
    assert!(!reads.contains(&kept) && !kept.contains(&reads));
    drop(conn);
    ines.post("/tokens/1/end", &[]).await.sent_on();
    let ended = ask(&garden, &reads, Method::GET, "/stock", "").await;
    assert_eq!(ended.status, StatusCode::UNAUTHORIZED);
    assert_eq!(
        ended.headers.get("content-type").unwrap(),
        "application/problem+json"
    );
    assert_eq!(ended.headers.get("www-authenticate").unwrap(), "Bearer");
    for what in ["token made", "token ended"] {
        assert_eq!(garden.logbook_says(what).await, 1, "{what}");
    }
}

#[tokio::test]
async fn what_is_wrong_with_a_new_token_is_said_at_its_field() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    garden.set_password(ines.id, PASSWORD).await;
    let fields = [
        ("name", ""),
        ("days", "401"),
        ("writes_in", "crew"),
        ("password", "some other words"),
    ];
    let answer = ines.post("/tokens", &fields).await;
    answer
        .refused("name", "Write what it is for")
        .refused("days", "1 to 400")
        .refused("writes_in", "Choose from the list")
        .refused("password", "not the password you have now")
        .does_not_say(&["some other words"]);
}

#[tokio::test]
async fn a_token_goes_as_far_as_its_scope_and_no_further_than_its_person() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let all: Vec<&str> = Room::ALL.iter().map(|room| room.code()).collect();
    let lead = garden.sign_in("Lea K.", Role::Lead).await;
    let tokens = [
        (Role::Coordinator, vec![], token(&garden, &ines, &[]).await),
        (
            Role::Coordinator,
            vec!["stock"],
            token(&garden, &ines, &["stock"]).await,
        ),
        (Role::Lead, all.clone(), token(&garden, &lead, &all).await),
    ];
    let (mut open, mut shut) = (0, 0);
    for route in routes::table() {
        let reads = route.method == Method::GET;
        let least = match route.least {
            Least::Anyone => continue,
            Least::Visitor => Some(Role::Viewer),
            Least::Signed(role) => Some(role),
            Least::Step if reads => Some(Role::Hand),
            Least::Step | Least::Own => None,
        };
        let path = filled(route.path);
        for (role, rooms, token) in &tokens {
            let may_write = Room::of(route.path).is_some_and(|room| rooms.contains(&room.code()));
            let lets_in = least.is_some_and(|least| *role >= least) && (reads || may_write);
            let answer = ask(&garden, token, route.method.clone(), &path, "").await;
            let kept_out = answer.status == StatusCode::FORBIDDEN;
            assert_eq!(
                kept_out, !lets_in,
                "{} {path} as {role} in {rooms:?}: {}",
                route.method, answer.text
            );
            assert!(!answer.status.is_server_error(), "{path}: {}", answer.text);
            if lets_in { open += 1 } else { shut += 1 }
        }
    }
    assert!(open > 200 && shut > 200, "{open} open, {shut} shut");
    assert_eq!(garden.logbook_says("card issued").await, 0);
}

#[tokio::test]
async fn what_a_program_writes_is_in_the_logbook_as_such_and_what_is_refused_says_why() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let writes = token(&garden, &ines, &["systems"]).await;
    let refused = ask(&garden, &writes, Method::POST, "/rooms", "name=").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let problem: serde_json::Value = serde_json::from_str(&refused.text).unwrap();
    assert_eq!(problem["status"], 422);
    assert_eq!(problem["errors"][0]["field"], "name");
    let done = ask(&garden, &writes, Method::POST, "/rooms", "name=Bay+2").await;
    done.sent_on();
    let detail = garden.logbook_detail("added").await;
    assert_eq!(
        detail["signed how"],
        "by a program, with the token Rain gauge"
    );
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_token_ends_with_its_time_and_with_its_person() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let oda = garden.sign_in("Oda R.", Role::Coordinator).await;
    let (one, other) = (
        token(&garden, &ines, &[]).await,
        token(&garden, &oda, &[]).await,
    );
    garden
        .change("update person set ended_at = '2027-03-04T08:30:00Z' where name = 'Oda R.'")
        .await;
    let status = async |token: &str| ask(&garden, token, Method::GET, "/stock", "").await.status;
    assert_eq!(status(&one).await, StatusCode::OK);
    assert_eq!(status(&other).await, StatusCode::UNAUTHORIZED);
    garden.app.clock.advance(chrono::TimeDelta::days(30));
    assert_eq!(status(&one).await, StatusCode::UNAUTHORIZED);
    for wrong in ["", "slackwater_", "slackwater_abc"] {
        assert_eq!(status(wrong).await, StatusCode::UNAUTHORIZED);
    }
}

#[tokio::test]
async fn a_token_of_somebody_else_is_ended_by_a_coordinator_alone() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let lead = garden.sign_in("Lea K.", Role::Lead).await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let made = token(&garden, &tobit, &[]).await;
    let answer = lead.post("/tokens/1/end", &[]).await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
    lead.get("/tokens").await.does_not_say(&["Rain gauge"]);
    ines.get("/tokens")
        .await
        .shows(&["Rain gauge", "for Tobit A."]);
    ines.post("/tokens/1/end", &[]).await.sent_on();
    let answer = ask(&garden, &made, Method::GET, "/stock", "").await;
    assert_eq!(answer.status, StatusCode::UNAUTHORIZED);
}
