//! What holds for every page: who may ask it, what is not taken, what each answer carries.

use axum::http::{Method, StatusCode};
use slackwater::crew::Role;
use slackwater::routes::{self, Least};

use crate::garden::Garden;

const ROLES: [Role; 4] = [Role::Viewer, Role::Hand, Role::Lead, Role::Coordinator];

/// A path of the table with its places filled, so that it can be asked.
pub fn filled(path: &str) -> String {
    let mut whole = String::new();
    let mut inside = false;
    for c in path.chars() {
        match c {
            '{' => {
                inside = true;
                whole.push('1');
            }
            '}' => inside = false,
            _ if inside => {}
            c => whole.push(c),
        }
    }
    whole
}

#[tokio::test]
async fn every_route_asks_who_it_is_and_lets_in_only_whom_it_should() {
    let garden = Garden::site().await;
    let mut people = Vec::new();
    for role in ROLES {
        people.push((role, garden.sign_in(&format!("A {role}"), role).await));
    }
    let mut asked = 0;
    for route in routes::table() {
        let path = filled(route.path);
        // These end the sessions that the other lines need; they have stories of their own.
        if ["/sign-out", "/sessions/1/end", "/crew/1/sessions/end"].contains(&path.as_str()) {
            continue;
        }
        let headers = [
            ("sec-fetch-site", "same-origin"),
            ("accept", "application/problem+json"),
        ];
        let least = match route.least {
            Least::Anyone => continue,
            Least::Signed(least) => least,
            // Until the site lets visitors in, a stranger is asked who it is here too.
            Least::Visitor | Least::Own => Role::Viewer,
            Least::Step => Role::Hand,
        };
        let stranger = garden
            .stranger()
            .ask(route.method.clone(), &path, "", &headers)
            .await;
        assert_eq!(
            stranger.status,
            StatusCode::UNAUTHORIZED,
            "{} {path} without a session",
            route.method
        );
        for (role, person) in &people {
            let answer = person.ask(route.method.clone(), &path, "", &headers).await;
            let kept_out = answer.status == StatusCode::FORBIDDEN
                && answer.text.contains("You are signed in as");
            assert_eq!(
                kept_out,
                *role < least,
                "{} {path} as {role}: {} {}",
                route.method,
                answer.status,
                answer.text
            );
            assert!(
                !answer.status.is_server_error(),
                "{} {path} as {role}: {}",
                route.method,
                answer.status
            );
            asked += 1;
        }
    }
    assert!(asked >= 8, "the table was asked {asked} times");
}

#[tokio::test]
async fn a_form_from_another_sites_page_is_refused_on_every_route() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    for route in routes::table()
        .into_iter()
        .filter(|route| route.method == Method::POST)
    {
        let path = filled(route.path);
        let answer = ines
            .ask(Method::POST, &path, "", &[("sec-fetch-site", "cross-site")])
            .await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}");
        answer.says(&["another site"]);
        let answer = ines
            .ask(
                Method::POST,
                &path,
                "",
                &[("origin", "https://elsewhere.example")],
            )
            .await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}");
    }
}

#[tokio::test]
async fn every_answer_carries_the_headers_that_keep_a_page_to_itself() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    for path in ["/", "/sign-in", "/no-such-page", "/static/style.css"] {
        let answer = ines.get(path).await;
        let policy = answer
            .headers
            .get("content-security-policy")
            .unwrap()
            .to_str()
            .unwrap();
        assert!(
            policy.contains("default-src 'none'") && !policy.contains("unsafe"),
            "{path}: {policy}"
        );
        assert_eq!(
            answer.headers.get("x-content-type-options").unwrap(),
            "nosniff"
        );
        assert_eq!(answer.headers.get("x-frame-options").unwrap(), "DENY");
    }
}

#[tokio::test]
async fn an_error_is_a_page_for_people_and_problem_json_for_programs() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    let page = ines.get("/no-such-page").await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    page.says(&["<h1>Not found</h1>"]);
    let json = ines
        .ask(
            Method::GET,
            "/no-such-page",
            "",
            &[("accept", "application/json")],
        )
        .await;
    assert_eq!(json.status, StatusCode::NOT_FOUND);
    assert_eq!(
        json.headers.get("content-type").unwrap(),
        "application/problem+json"
    );
    let problem: serde_json::Value = serde_json::from_str(&json.text).unwrap();
    assert_eq!(problem["status"], 404);
}

#[tokio::test]
async fn a_new_register_leads_to_the_first_run_and_the_first_run_to_a_coordinator() {
    let garden = Garden::empty().await;
    let stranger = garden.stranger();
    assert_eq!(stranger.get("/").await.sent_on(), "/first-run");
    assert_eq!(stranger.get("/sign-in").await.sent_on(), "/first-run");
    let mut fields = vec![
        ("site_name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("name", "Ines V."),
        ("sign_in", "ines"),
        ("password", "short"),
        ("adult", "yes"),
    ];
    stranger
        .post("/first-run", &fields)
        .await
        .refused("password", "at least 15 characters")
        .says(&["Orrelby Glasshouses"])
        .does_not_say(&["short"]);
    fields[6] = ("password", "tide pools at noon");
    assert_eq!(
        stranger.post("/first-run", &fields).await.sent_on(),
        "/set-up"
    );
    // The second to send it is told, and nothing is written twice.
    fields[5] = ("sign_in", "other");
    assert_eq!(
        stranger.post("/first-run", &fields).await.status,
        StatusCode::CONFLICT
    );
    assert_eq!(garden.logbook_says("added as coordinator").await, 1);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_wrong_password_and_an_unknown_name_get_the_same_answer_and_ten_of_them_a_rest() {
    let garden = Garden::empty().await;
    let stranger = garden.stranger();
    let fields = [
        ("site_name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("name", "Ines V."),
        ("sign_in", "ines"),
        ("password", "tide pools at noon"),
        ("adult", "yes"),
    ];
    stranger.post("/first-run", &fields).await.sent_on();
    let wrong = stranger
        .post("/sign-in", &[("sign_in", "ines"), ("password", "wrong")])
        .await;
    let unknown = stranger
        .post("/sign-in", &[("sign_in", "oda"), ("password", "wrong")])
        .await;
    assert_eq!(
        (wrong.status, unknown.status),
        (
            StatusCode::UNPROCESSABLE_ENTITY,
            StatusCode::UNPROCESSABLE_ENTITY
        )
    );
    wrong.says(&["do not belong together"]);
    unknown.says(&["do not belong together"]);
    let right = stranger
        .post(
            "/sign-in",
            &[
                ("sign_in", " Ines "),
                ("password", "tide pools at noon"),
                ("next", "/logbook"),
            ],
        )
        .await;
    assert_eq!(right.sent_on(), "/logbook");
    let cookie = right.headers.get("set-cookie").unwrap().to_str().unwrap();
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax"),
        "{cookie}"
    );
    for _ in 0..10 {
        stranger
            .post("/sign-in", &[("sign_in", "ines"), ("password", "wrong")])
            .await;
    }
    let rested = stranger
        .post(
            "/sign-in",
            &[("sign_in", "ines"), ("password", "tide pools at noon")],
        )
        .await;
    assert_eq!(rested.status, StatusCode::TOO_MANY_REQUESTS);
}

#[tokio::test]
async fn signing_out_ends_the_session_for_good() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Hand).await;
    ines.get("/logbook").await.shows(&["Logbook"]);
    let answer = ines.post("/sign-out", &[]).await;
    assert_eq!(answer.sent_on(), "/sign-in");
    // What the browser kept of the pages goes too.
    assert_eq!(
        answer.headers.get("clear-site-data").unwrap(),
        "\"cache\", \"storage\""
    );
    assert_eq!(
        ines.get("/logbook").await.sent_on(),
        "/sign-in?next=/logbook"
    );
}
