//! Sessions: seen, ended, and ended by themselves.

use axum::http::StatusCode;
use chrono::TimeDelta;
use slackwater::crew::{Role, session_store};
use slackwater::web::Device;

use crate::garden::{Garden, Person};

const PASSWORD: &str = "tide pools at noon";

/// Signs in with a browser that says this of itself.
async fn sign_in(garden: &Garden, name: &str, browser: &str) -> Person {
    let body = serde_html_form::to_string([("sign_in", name), ("password", PASSWORD)]).unwrap();
    let headers = [("sec-fetch-site", "same-origin"), ("user-agent", browser)];
    let answer = garden
        .stranger()
        .ask(axum::http::Method::POST, "/sign-in", &body, &headers)
        .await;
    answer.sent_on();
    garden.with_cookie_of(&answer)
}

const PHONE: &str = "Mozilla/5.0 (Linux; Android 14) Mobile";

async fn is_signed_in(person: &Person) -> bool {
    person.get("/crew").await.status == StatusCode::OK
}

#[tokio::test]
async fn own_sessions_are_listed_in_plain_words_and_ended_one_by_one() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    garden.set_password(tobit.id, PASSWORD).await;
    garden.app.clock.advance(TimeDelta::minutes(40));
    let phone = sign_in(&garden, "tobita", PHONE).await;
    let page = tobit.get("/sessions").await;
    page.shows(&["a phone", "a computer, this one", "09:10"]);
    // The sign-in of the story is the first session, the phone the second.
    tobit.post("/sessions/2/end", &[]).await.sent_on();
    assert!(!is_signed_in(&phone).await && is_signed_in(&tobit).await);
    assert_eq!(garden.logbook_says("session ended").await, 1);
}

#[tokio::test]
async fn nobody_but_a_coordinator_ends_the_session_of_somebody_else() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let lea = garden.sign_in("Lea K.", Role::Lead).await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let other = lea.post("/sessions/1/end", &[]).await;
    assert_eq!(other.status, StatusCode::NOT_FOUND);
    // No more is said of one that is there than of one that is not.
    assert_eq!(other.text, lea.post("/sessions/1/end", &[]).await.text);
    assert!(is_signed_in(&tobit).await);
    let page = format!("/crew/{}/sessions", tobit.id);
    assert_eq!(lea.get(&page).await.status, StatusCode::FORBIDDEN);
    ines.get(&page)
        .await
        .shows(&["a computer", "Sign Tobit A. out everywhere"]);
    ines.post("/sessions/1/end", &[]).await.sent_on();
    assert!(!is_signed_in(&tobit).await);
    ines.get(&page).await.shows(&["Nowhere just now"]);
    ines.post(&format!("/crew/{}/sessions/end", lea.id), &[])
        .await
        .sent_on();
    assert!(!is_signed_in(&lea).await && is_signed_in(&ines).await);
}

#[tokio::test]
async fn signing_out_everywhere_else_leaves_this_one_and_a_new_password_leaves_its_own() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    garden.set_password(tobit.id, PASSWORD).await;
    let (one, other) = (
        sign_in(&garden, "tobita", PHONE).await,
        sign_in(&garden, "tobita", PHONE).await,
    );
    one.post("/sessions/end", &[]).await.sent_on();
    assert!(is_signed_in(&one).await);
    assert!(!is_signed_in(&other).await && !is_signed_in(&tobit).await);

    let third = sign_in(&garden, "tobita", PHONE).await;
    let new = "a tide of my own";
    let fields = [("old", PASSWORD), ("new", new), ("again", new)];
    let changed = one.post("/password", &fields).await;
    changed.sent_on();
    assert!(!is_signed_in(&one).await && !is_signed_in(&third).await);
    assert!(is_signed_in(&garden.with_cookie_of(&changed)).await);
}

#[tokio::test]
async fn a_session_ends_after_five_idle_hours_and_in_any_case_after_twelve() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let idle = garden.sign_in("Oda R.", Role::Hand).await;
    for _ in 0..2 {
        garden.app.clock.advance(TimeDelta::minutes(5 * 60 - 6));
        assert!(is_signed_in(&tobit).await);
    }
    assert!(!is_signed_in(&idle).await);
    // Used all along, it ends when its day is over.
    garden.app.clock.advance(TimeDelta::minutes(2 * 60));
    assert!(is_signed_in(&tobit).await);
    garden.app.clock.advance(TimeDelta::minutes(60));
    assert!(!is_signed_in(&tobit).await);
}

#[tokio::test]
async fn signing_in_anew_ends_the_session_of_this_browser() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    garden.set_password(tobit.id, PASSWORD).await;
    let fields = [("sign_in", "tobita"), ("password", PASSWORD)];
    let again = tobit.post("/sign-in", &fields).await;
    assert!(!is_signed_in(&tobit).await);
    assert!(is_signed_in(&garden.with_cookie_of(&again)).await);
    let mut conn = garden.app.db.read().await.unwrap();
    let now = garden.app.clock.now();
    let all = session_store::of(&mut conn, tobit.id, now).await.unwrap();
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].device, Device::Program);
}
