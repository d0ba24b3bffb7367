//! Signing in and out.

use askama::Template;
use axum::extract::{Query, State};
use axum::http::HeaderName;
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;
use serde::Deserialize;

use super::{Who, password, session, store};
use crate::ids::PersonId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::web::{AppError, Device, Form, Frame, Page, Redirect, Refused};

#[derive(Template)]
#[template(path = "crew/sign_in.html")]
struct SignInPage {
    frame: Frame,
    sign_in: String,
    next: String,
    /// Empty, or why nobody was signed in.
    problem: &'static str,
}

#[derive(Debug, Deserialize)]
pub struct Next {
    #[serde(default)]
    next: String,
}

pub async fn sign_in_form(
    State(app): State<App>,
    Query(asked): Query<Next>,
) -> Result<Response, AppError> {
    let mut conn = app.db.read().await?;
    if !store::anybody(&mut conn).await? {
        return Ok(Redirect::to("/first-run").into_response());
    }
    let page = SignInPage {
        frame: Frame::bare(),
        sign_in: String::new(),
        next: asked.next,
        problem: "",
    };
    Ok(Page(page).into_response())
}

#[derive(Default, Deserialize)]
#[serde(default)]
#[expect(
    missing_debug_implementations,
    reason = "the password must not reach a log"
)]
pub struct SignIn {
    sign_in: String,
    password: String,
    next: String,
}

pub async fn sign_in(
    State(app): State<App>,
    jar: CookieJar,
    device: Device,
    form: Form<SignIn>,
) -> Result<Response, AppError> {
    let SignIn {
        sign_in,
        password,
        next,
    } = form.input;
    let name = sign_in.trim().to_lowercase();
    let now = app.clock.now();
    if !app.tries.allowed(&name, now) {
        return Err(AppError::TooManyTries);
    }
    let mut conn = app.db.read().await?;
    let found = store::password_hash_of(&mut conn, &name).await?;
    drop(conn);
    let person = found.as_ref().map(|(id, _)| *id);
    let right = password::matches(password, found.map(|(_, hash)| hash)).await?;
    let (true, Some(person)) = (right, person) else {
        app.tries.note_failure(&name, now);
        // Not the name as typed: people type passwords into the wrong field.
        tracing::warn!(person = person.map(PersonId::get), "a sign-in failed");
        // The same answer for an unknown name and a wrong password.
        let problem =
            "That name and password do not belong together. Try again, or ask the coordinator.";
        return Ok(Refused(SignInPage {
            frame: Frame::bare(),
            sign_in,
            next,
            problem,
        })
        .into_response());
    };
    app.tries.forget(&name);
    let mut tx = app.db.write().await?;
    session::end(&mut tx, &jar, app.config.https).await?;
    let cookie = session::begin(&mut tx, person, device, now, app.config.https).await?;
    let name = store::by_id(tx.conn(), person)
        .await?
        .ok_or(AppError::NotFound("person"))?
        .name;
    let author = logbook::Author::person(person, name.as_str());
    logbook::write(
        &mut tx,
        &author,
        Entry::about("person", person.get(), name.as_str(), "signed in"),
        now,
    )
    .await?;
    tx.commit().await?;
    Ok((jar.add(cookie), Redirect::to(inside(&next))).into_response())
}

pub async fn sign_out(
    State(app): State<App>,
    who: Who,
    jar: CookieJar,
) -> Result<Response, AppError> {
    let mut tx = app.db.write().await?;
    session::end(&mut tx, &jar, app.config.https).await?;
    let entry = Entry::about("person", who.id.get(), who.name.as_str(), "signed out");
    logbook::write(&mut tx, &who.author(), entry, app.clock.now()).await?;
    tx.commit().await?;
    // Not the cookies: the one of a shared tablet is nobody's session.
    Ok((
        jar.remove(session::cleared(app.config.https)),
        [(
            HeaderName::from_static("clear-site-data"),
            "\"cache\", \"storage\"",
        )],
        Redirect::to("/sign-in"),
    )
        .into_response())
}

/// Only a path of this server; anything else leads to the first page.
fn inside(next: &str) -> &str {
    let plain =
        next.starts_with('/') && !next.starts_with("//") && !next.contains(['\\', '\r', '\n']);
    if plain { next } else { "/" }
}

#[cfg(test)]
mod tests {
    use super::inside;

    #[test]
    fn after_sign_in_nobody_is_sent_elsewhere() {
        assert_eq!(inside("/systems/3"), "/systems/3");
        for elsewhere in [
            "",
            "//evil.example",
            "https://evil.example",
            "/\\evil.example",
            "/a\r\nb",
        ] {
            assert_eq!(inside(elsewhere), "/");
        }
    }
}
