//! What people and programs must not get away with on any page: text that is taken for markup or for
//! a query, paths that lead out, bodies that are too long, fields that a form does not have.

use axum::http::{Method, StatusCode};
use slackwater::config::Config;
use slackwater::crew::Role;
use slackwater::web::Device;

use crate::garden::Garden;

const MARKUP: &str = "<script>alert(1)</script>\"'&";
const QUERY: &str = "x'); drop table person; --";

#[tokio::test]
async fn what_people_type_is_text_wherever_it_is_shown() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    for name in [MARKUP, QUERY] {
        let fields = [
            ("kind", "person"),
            ("name", name),
            ("role", "hand"),
            ("age_band", "adult"),
        ];
        let page = ines.post("/crew", &fields).await.sent_on();
        ines.post("/rooms", &[("name", name)]).await.sent_on();
        for page in [page.as_str(), "/crew", "/systems", "/logbook", "/crew/week"] {
            let answer = ines.get(page).await;
            assert_eq!(answer.status, StatusCode::OK, "{page}");
            answer.does_not_say(&["<script>alert"]);
        }
        // It is kept as it was typed, and everybody is still there.
        let mut conn = garden.app.db.read().await.unwrap();
        let kept: i64 = sqlx::query_scalar("select count(*) from person where name = ?1")
            .bind(name)
            .fetch_one(&mut *conn)
            .await
            .unwrap();
        assert_eq!(kept, 1);
    }
    // The same in an address, in a search and in a form that comes back.
    let search = format!(
        "/logbook?words={}",
        "%27%29%3B%20drop%20table%20person%3B%20--"
    );
    ines.get(&search).await.shows(&["Logbook"]);
    let back = ines
        .post("/crew", &[("kind", "person"), ("name", MARKUP)])
        .await;
    back.refused("role", "Choose a role")
        .does_not_say(&["<script>alert"]);
    let stranger = garden.stranger();
    stranger
        .get("/sign-in?next=%22%3E%3Cscript%3Ealert(1)%3C/script%3E")
        .await
        .does_not_say(&["<script>alert"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_body_that_is_too_long_or_is_no_form_is_not_read() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let same = ("sec-fetch-site", "same-origin");
    let long = format!("name={}", "x".repeat(1024 * 1024));
    let answer = ines.ask(Method::POST, "/rooms", &long, &[same]).await;
    assert!(answer.status.is_client_error(), "{}", answer.status);
    // A shared tablet is read by another way, with the same limit.
    let made = ines.post("/tablets", &[("name", "Tablet in Bay 2")]).await;
    let bay = garden.with_named_cookie(&made, "slackwater_tablet");
    let answer = bay
        .ask(Method::POST, "/clean-outs/1/run/1/done", &long, &[same])
        .await;
    assert_eq!(answer.status, StatusCode::BAD_REQUEST);
    for body in [
        "%",
        "name=%zz",
        "\u{0}",
        "name=a&name=b",
        "{\"name\": \"a\"}",
    ] {
        let answer = bay
            .ask(Method::POST, "/clean-outs/1/run/1/done", body, &[same])
            .await;
        assert!(answer.status.is_client_error(), "{body}: {}", answer.status);
    }
}

#[tokio::test]
async fn no_path_leads_out_of_the_files_that_are_served() {
    let garden = Garden::site().await;
    let stranger = garden.stranger();
    for path in [
        "/static/../Cargo.toml",
        "/static/..%2f..%2fCargo.toml",
        "/static/%2e%2e/%2e%2e/etc/passwd",
        "/static//etc/passwd",
        "/static/fonts",
        "/.git/config",
        "/slackwater.db",
    ] {
        let answer = stranger.get(path).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
    }
}

#[tokio::test]
async fn fields_that_a_form_does_not_have_change_nothing() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let fields = [
        ("kind", "person"),
        ("name", "Tobit A."),
        ("role", "hand"),
        ("age_band", "adult"),
        ("id", "1"),
        ("sign_in", "tobit"),
        ("password_hash", "x"),
        ("ended_at", ""),
    ];
    ines.post("/crew", &fields).await.sent_on();
    let mut conn = garden.app.db.read().await.unwrap();
    let open: i64 = sqlx::query_scalar(
        "select count(*) from person where name = 'Tobit A.' and (sign_in is not null or password_hash is not null or id = 1)",
    )
    .fetch_one(&mut *conn)
    .await
    .unwrap();
    assert_eq!(open, 0);
    // The same field twice is not understood, so nobody is somebody else in one half of the house.
    let twice = "kind=person&name=Oda+R.&role=viewer&role=coordinator&age_band=adult";
    let answer = ines
        .ask(
            Method::POST,
            "/crew",
            twice,
            &[("sec-fetch-site", "same-origin")],
        )
        .await;
    assert_eq!(answer.status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn no_other_site_may_read_an_answer_and_no_method_but_ours_is_answered() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let elsewhere = [("origin", "https://elsewhere.example")];
    let answer = ines.ask(Method::GET, "/crew", "", &elsewhere).await;
    assert!(answer.headers.get("access-control-allow-origin").is_none());
    for method in [Method::TRACE, Method::PUT, Method::DELETE, Method::PATCH] {
        let same = [("sec-fetch-site", "same-origin")];
        let answer = ines.ask(method.clone(), "/crew", "", &same).await;
        assert_eq!(answer.status, StatusCode::METHOD_NOT_ALLOWED, "{method}");
    }
}

#[tokio::test]
async fn over_https_cookies_are_sent_over_https_alone_and_bound_to_this_host() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let config: &Config = &garden.app.config;
    assert!(!config.https);
    let now = garden.app.clock.now();
    let mut tx = garden.app.db.write().await.unwrap();
    let begin = slackwater::crew::session::begin;
    let cookie = begin(&mut tx, ines.id, Device::Phone, now, true)
        .await
        .unwrap();
    assert!(cookie.name().starts_with("__Host-"));
    assert_eq!(cookie.secure(), Some(true));
    assert_eq!(cookie.http_only(), Some(true));
    assert_eq!(cookie.path(), Some("/"));
    assert_eq!(cookie.domain(), None);
    assert!(cookie.same_site().unwrap().is_lax());
}
