//! One's own PIN, set and removed; somebody's unlocked by a lead.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::password;
use super::people_pages::here;
use super::pin::Pin;
use super::{Who, pin_store, store};
use crate::ids::PersonId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Nothing, Page, Redirect, Refused, Section};

#[derive(Default, Deserialize)]
#[serde(default)]
#[expect(
    missing_debug_implementations,
    reason = "the password and the PIN must not reach a log"
)]
pub struct Input {
    password: String,
    pin: String,
    again: String,
}

#[derive(Template)]
#[template(path = "crew/pin.html")]
struct PinPage {
    frame: Frame,
    sign_in: String,
    /// When the PIN that there is was set.
    set: String,
    errors: FormErrors,
}

pub async fn form(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let person = here(store::by_id(&mut conn, who.id).await?)?;
    let kept = pin_store::of(&mut conn, who.id, app.clock.now()).await?;
    Ok(Page(PinPage {
        frame: who.frame(Section::Crew),
        sign_in: person.sign_in.unwrap_or_default(),
        set: kept
            .map(|kept| who.site.moment_words(kept.set_at))
            .unwrap_or_default(),
        errors: FormErrors::default(),
    }))
}

pub async fn set(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let sign_in = here(store::by_id(&mut conn, who.id).await?)?
        .sign_in
        .unwrap_or_default();
    let kept = pin_store::of(&mut conn, who.id, now).await?;
    drop(conn);
    let Input {
        password,
        pin,
        again,
    } = form.input;
    let mut errors = FormErrors::default();
    if !password::is_own(&app, &sign_in, password).await? {
        errors.add("password", "That is not the password you have now.");
    }
    let checked = errors.take("pin", Pin::parse(&pin));
    if checked.is_some() && pin.trim() != again.trim() {
        errors.add("again", "The two do not match. Type the PIN twice.");
    }
    let (Some(checked), false) = (checked, errors.any()) else {
        return Ok(Refused(PinPage {
            frame: who.frame(Section::Crew),
            sign_in,
            set: kept
                .map(|kept| who.site.moment_words(kept.set_at))
                .unwrap_or_default(),
            errors,
        })
        .into_response());
    };
    let hash = password::hashed(checked.as_str().to_owned()).await?;
    let mut tx = app.db.write_once(&form.once).await?;
    pin_store::set(&mut tx, who.id, &hash, now).await?;
    let entry = Entry::about("person", who.id.get(), who.name.as_str(), "own PIN set");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = tx.finish(format!("/crew/{}", who.id), now).await?;
    Ok(onward.into_response())
}

pub async fn remove(
    State(app): State<App>,
    who: Who,
    form: Form<Nothing>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    if !pin_store::remove(&mut tx, who.id).await? {
        return Err(AppError::Conflict("You have no PIN.".to_owned()));
    }
    let entry = Entry::about("person", who.id.get(), who.name.as_str(), "own PIN removed");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish(format!("/crew/{}", who.id), now).await
}

pub async fn unlock(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<Nothing>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = here(store::by_id(tx.conn(), id).await?)?;
    if !pin_store::unlock(&mut tx, id).await? {
        return Err(AppError::Conflict(format!(
            "The PIN of {} is not locked.",
            person.name
        )));
    }
    let entry = Entry::about("person", id.get(), person.name.as_str(), "PIN unlocked");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish(format!("/crew/{id}"), now).await
}
