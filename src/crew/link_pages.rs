//! Giving somebody a sign-in, or a way back to it: a coordinator makes a link, the person opens it and
//! sets the password.

use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;
use serde::Deserialize;
use serde_json::json;

use super::link::{self, Link, Purpose};
use super::password::{Avoid, Password};
use super::people_pages::here;
use super::{Kind, Person, Who, link_store, parse_sign_in, session, store};
use crate::db::taken;
use crate::ids::PersonId;
use crate::logbook::{self, Author, Entry};
use crate::state::App;
use crate::web::{AppError, Device, Form, FormErrors, Frame, Page, Redirect, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct GivenInput {
    sign_in: String,
}

#[derive(Template)]
#[template(path = "crew/sign_in_given.html")]
struct GivenPage {
    frame: Frame,
    person: Person,
    purpose: Purpose,
    sign_in: String,
    /// Until when a link that was made earlier can be used.
    open_until: String,
    errors: FormErrors,
}

/// The link, shown once.
#[derive(Template)]
#[template(path = "crew/link.html")]
struct LinkPage {
    frame: Frame,
    person: Person,
    address: String,
    until: String,
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

/// Whether somebody begins to sign in or forgot how.
async fn purpose_for(conn: &mut sqlx::SqliteConnection, id: PersonId) -> Result<Purpose, AppError> {
    Ok(if store::has_password(conn, id).await? {
        Purpose::Recovery
    } else {
        Purpose::Invitation
    })
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
    let open = link_store::open_until(&mut conn, id, app.clock.now()).await?;
    Ok(Page(GivenPage {
        frame: who.frame(Section::Crew),
        purpose: purpose_for(&mut conn, id).await?,
        sign_in: person.sign_in.clone().unwrap_or_default(),
        open_until: open.map(|at| who.site.moment_words(at)).unwrap_or_default(),
        person,
        errors: FormErrors::default(),
    })
    .into_response())
}

pub async fn give(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    headers: HeaderMap,
    form: Form<GivenInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let sign_in = form.input.sign_in;
    let mut tx = app.db.write_once(&form.once).await?;
    let person = may_be_given(here(store::by_id(tx.conn(), id).await?)?, &who)?;
    let purpose = purpose_for(tx.conn(), id).await?;
    let mut errors = FormErrors::default();
    let checked = errors.take("sign_in", parse_sign_in(&sign_in));
    if let Some(name) = &checked {
        match store::set_sign_in(&mut tx, id, name).await {
            Ok(true) => {}
            Ok(false) => return Err(AppError::NotFound("person")),
            Err(error) if taken(&error, "person.sign_in") => {
                errors.add("sign_in", "Somebody signs in with this name already.");
            }
            Err(error) => return Err(error.into()),
        }
    }
    let (Some(name), false) = (checked, errors.any()) else {
        return Ok(Refused(GivenPage {
            frame: who.frame(Section::Crew),
            person,
            purpose,
            sign_in,
            open_until: String::new(),
            errors,
        })
        .into_response());
    };
    let path = link::make(&mut tx, id, purpose, Some(who.id), now).await?;
    let until = who.site.moment_words(now.plus(purpose.lasts()));
    let what = match purpose {
        Purpose::Invitation => "invited to sign in",
        Purpose::Recovery => "link for a new password made",
    };
    let entry = Entry::about("person", id.get(), person.name.as_str(), what)
        .with(json!({ "sign-in name": name, "works until": until }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    // The link is on this page and nowhere else: sent again, the form leads to the person.
    tx.finish(format!("/crew/{id}"), now).await?;
    Ok(Page(LinkPage {
        frame: who.frame(Section::Crew),
        person,
        address: format!("{}{path}", address(&app, &who, &headers)),
        until,
    })
    .into_response())
}

/// Where people reach this server: as the site says, else as whoever asks reached it.
fn address(app: &App, who: &Who, headers: &HeaderMap) -> String {
    let asked = || {
        let host = headers.get(header::HOST)?.to_str().ok()?;
        let scheme = if app.config.https { "https" } else { "http" };
        Some(format!("{scheme}://{host}"))
    };
    who.site.address.clone().or_else(asked).unwrap_or_default()
}

#[derive(Template)]
#[template(path = "crew/welcome.html")]
struct WelcomePage {
    frame: Frame,
    path: String,
    site_name: String,
    name: String,
    sign_in: String,
    purpose: Purpose,
    errors: FormErrors,
}

#[derive(Default, Deserialize)]
#[serde(default)]
#[expect(
    missing_debug_implementations,
    reason = "the password must not reach a log"
)]
pub struct WelcomeInput {
    password: String,
    again: String,
}

/// The link with its person, or one answer for all that cannot be used.
async fn opened(
    conn: &mut sqlx::SqliteConnection,
    token: &str,
    now: crate::clock::Moment,
) -> Result<(Link, Person, String), AppError> {
    let link = link_store::open(conn, &session::hash(token), now)
        .await?
        .ok_or(AppError::LinkSpent)?;
    let person = here(store::by_id(conn, link.person_id).await?)?;
    let site = crate::site::store::current(conn).await?;
    let site = site.ok_or(AppError::LinkSpent)?;
    Ok((link, person, site.name.to_string()))
}

pub async fn welcome_form(
    State(app): State<App>,
    Path(token): Path<String>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (link, person, site_name) = opened(&mut conn, &token, app.clock.now()).await?;
    Ok(Page(WelcomePage {
        frame: Frame::bare(),
        path: format!("/welcome/{token}"),
        site_name,
        name: person.name.to_string(),
        sign_in: person.sign_in.unwrap_or_default(),
        purpose: link.purpose,
        errors: FormErrors::default(),
    }))
}

pub async fn welcome(
    State(app): State<App>,
    Path(token): Path<String>,
    jar: CookieJar,
    device: Device,
    form: Form<WelcomeInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let (link, person, site_name) = opened(&mut conn, &token, now).await?;
    drop(conn);
    let sign_in = person.sign_in.clone().unwrap_or_default();
    let WelcomeInput { password, again } = form.input;
    let mut errors = FormErrors::default();
    let avoid = Avoid::new(&[&site_name, person.name.as_str(), &sign_in]);
    let checked = errors.take("password", Password::parse(&password, &avoid));
    if checked.is_some() && password != again {
        errors.add("again", "The two do not match. Write it twice.");
    }
    let (Some(checked), false) = (checked, errors.any()) else {
        return Ok(Refused(WelcomePage {
            frame: Frame::bare(),
            path: format!("/welcome/{token}"),
            site_name,
            name: person.name.to_string(),
            sign_in,
            purpose: link.purpose,
            errors,
        })
        .into_response());
    };
    let hash = checked.hash().await?;
    let mut tx = app.db.write().await?;
    // Looked at again where it is used up: two who open it at once set one password.
    let (link, person, _) = opened(tx.conn(), &token, now).await?;
    link_store::use_up(&mut tx, link.id, now).await?;
    store::set_password(&mut tx, person.id, &hash).await?;
    app.tries.forget(&sign_in);
    session::end(&mut tx, &jar, app.config.https).await?;
    let cookie = session::begin(&mut tx, person.id, device, now, app.config.https).await?;
    let author = Author::person(person.id, person.name.as_str());
    let entry = Entry::about(
        "person",
        person.id.get(),
        person.name.as_str(),
        "password set by a link",
    )
    .with(json!({ "link": link.purpose }));
    logbook::write(&mut tx, &author, entry, now).await?;
    tx.commit().await?;
    Ok((jar.add(cookie), Redirect::to("/")).into_response())
}
