//! One's own password, changed by oneself.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;
use serde::Deserialize;

use super::password::{self, Avoid, Password};
use super::people_pages::here;
use super::{Person, Who, session, store};
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::web::{AppError, Device, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Default, Deserialize)]
#[serde(default)]
#[expect(
    missing_debug_implementations,
    reason = "the passwords must not reach a log"
)]
pub struct OwnInput {
    old: String,
    new: String,
    again: String,
}

#[derive(Template)]
#[template(path = "crew/own_password.html")]
struct OwnPage {
    frame: Frame,
    sign_in: String,
    errors: FormErrors,
}

pub async fn own_form(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let sign_in = sign_in_of(store::by_id(&mut conn, who.id).await?)?;
    Ok(Page(OwnPage {
        frame: who.frame(Section::Crew),
        sign_in,
        errors: FormErrors::default(),
    }))
}

fn sign_in_of(person: Option<Person>) -> Result<String, AppError> {
    here(person)?
        .sign_in
        .ok_or(AppError::NotFound("sign-in name"))
}

pub async fn own(
    State(app): State<App>,
    who: Who,
    jar: CookieJar,
    device: Device,
    form: Form<OwnInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let sign_in = sign_in_of(store::by_id(&mut conn, who.id).await?)?;
    drop(conn);
    let OwnInput { old, new, again } = form.input;
    let avoid = Avoid::new(&[who.site.name.as_str(), who.name.as_str(), &sign_in]);
    let mut errors = FormErrors::default();
    if old.is_empty() {
        errors.add("old", "Write the password you have now.");
    } else if !password::is_own(&app, &sign_in, old).await? {
        errors.add("old", "That is not the password you have now.");
    }
    let password = errors.take("new", Password::parse(&new, &avoid));
    if password.is_some() && new != again {
        errors.add("again", "The two do not match. Write the new one twice.");
    }
    let (Some(password), false) = (password, errors.any()) else {
        return Ok(Refused(OwnPage {
            frame: who.frame(Section::Crew),
            sign_in,
            errors,
        })
        .into_response());
    };
    let hash = password.hash().await?;
    let mut tx = app.db.write_once(&form.once).await?;
    store::set_password(&mut tx, who.id, &hash).await?;
    // Every session of this person ended with the old password; this one goes on under a new token.
    let cookie = session::begin(&mut tx, who.id, device, now, app.config.https).await?;
    let entry = Entry::about(
        "person",
        who.id.get(),
        who.name.as_str(),
        "own password changed",
    );
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = tx.finish(format!("/crew/{}", who.id), now).await?;
    Ok((jar.add(cookie), onward).into_response())
}
