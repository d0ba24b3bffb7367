//! Passwords: one's own changed by oneself, somebody's given by the coordinator.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;
use serde::Deserialize;
use serde_json::json;

use super::password::{self, Password};
use super::people_pages::here;
use super::{Kind, Person, Who, parse_sign_in, session, store};
use crate::db::taken;
use crate::ids::PersonId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::web::{AppError, Device, Form, FormErrors, Frame, Page, Redirect, Refused, Section};

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
    let mut errors = FormErrors::default();
    if old.is_empty() {
        errors.add("old", "Write the password you have now.");
    } else if !password::is_own(&app, &sign_in, old).await? {
        errors.add("old", "That is not the password you have now.");
    }
    let password = errors.take("new", Password::parse(&new));
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
    store::set_sign_in(&mut tx, who.id, &sign_in, &hash).await?;
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

#[derive(Default, Deserialize)]
#[serde(default)]
#[expect(
    missing_debug_implementations,
    reason = "the password must not reach a log"
)]
pub struct GivenInput {
    sign_in: String,
    password: String,
}

#[derive(Template)]
#[template(path = "crew/sign_in_given.html")]
struct GivenPage {
    frame: Frame,
    person: Person,
    sign_in: String,
    errors: FormErrors,
}

/// Somebody who may be given a sign-in: a person, and not oneself.
fn may_be_given(person: Person, who: &Who) -> Result<Person, AppError> {
    match person.kind {
        Kind::Group => Err(AppError::Conflict(
            "A group does not sign in. Give a sign-in to a person.".to_owned(),
        )),
        Kind::Person if person.id == who.id => Err(AppError::Conflict(
            "Change your own password on its own page, which asks for the old one.".to_owned(),
        )),
        Kind::Person => Ok(person),
    }
}

pub async fn give_form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
) -> Result<Response, AppError> {
    if id == who.id {
        return Ok(Redirect::to("/password").into_response());
    }
    let mut conn = app.db.read().await?;
    let person = may_be_given(here(store::by_id(&mut conn, id).await?)?, &who)?;
    Ok(Page(GivenPage {
        frame: who.frame(Section::Crew),
        sign_in: person.sign_in.clone().unwrap_or_default(),
        person,
        errors: FormErrors::default(),
    })
    .into_response())
}

pub async fn give(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<GivenInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let GivenInput { sign_in, password } = form.input;
    let mut errors = FormErrors::default();
    let checked_name = errors.take("sign_in", parse_sign_in(&sign_in));
    let checked_password = errors.take("password", Password::parse(&password));
    let mut conn = app.db.read().await?;
    let person = may_be_given(here(store::by_id(&mut conn, id).await?)?, &who)?;
    drop(conn);
    let had_one = person.sign_in.is_some();
    let refused = |person, errors| {
        Ok(Refused(GivenPage {
            frame: who.frame(Section::Crew),
            person,
            sign_in,
            errors,
        })
        .into_response())
    };
    let (Some(checked_name), Some(checked_password)) = (checked_name, checked_password) else {
        return refused(person, errors);
    };
    let hash = checked_password.hash().await?;
    let mut tx = app.db.write_once(&form.once).await?;
    match store::set_sign_in(&mut tx, id, &checked_name, &hash).await {
        Ok(true) => {}
        Ok(false) => return Err(AppError::NotFound("person")),
        Err(error) if taken(&error, "person.sign_in") => {
            errors.add("sign_in", "Somebody signs in with this name already.");
            return refused(person, errors);
        }
        Err(error) => return Err(error.into()),
    }
    app.tries.forget(&checked_name);
    let what = if had_one {
        "new password given"
    } else {
        "sign-in given"
    };
    let entry = Entry::about("person", id.get(), person.name.as_str(), what)
        .with(json!({ "sign-in name": checked_name }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(format!("/crew/{id}"), now).await?.into_response())
}
