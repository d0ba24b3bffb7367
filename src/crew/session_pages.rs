//! Where somebody is signed in: one's own sessions, and for a coordinator anybody's.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::people_pages::found;
use super::session_store::{self, Session};
use super::{Person, Role, Via, Who, store};
use crate::clock::Moment;
use crate::ids::{PersonId, SessionId};
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::web::{AppError, Form, Frame, Nothing, Page, Redirect, Section};

struct Line {
    session: Session,
    device: String,
    seen: String,
    begun: String,
    ends: String,
    /// The one that asks.
    this: bool,
}

#[derive(Template)]
#[template(path = "crew/sessions.html")]
struct SessionsPage {
    frame: Frame,
    person: Person,
    own: bool,
    lines: Vec<Line>,
    idle: String,
    lasts: String,
}

async fn page(
    app: &App,
    who: &Who,
    id: PersonId,
    now: Moment,
) -> Result<Page<SessionsPage>, AppError> {
    let mut conn = app.db.read().await?;
    let person = found(store::by_id(&mut conn, id).await?)?;
    let words = |at| who.site.moment_words(at);
    let lines = session_store::of(&mut conn, id, now)
        .await?
        .into_iter()
        .map(|session| Line {
            device: session.device.words(),
            seen: words(session.seen_at),
            begun: words(session.created_at),
            ends: words(session.ends(now)),
            this: who.via == Via::Session(session.id),
            session,
        });
    Ok(Page(SessionsPage {
        frame: who.frame(Section::Crew),
        own: id == who.id,
        lines: lines.collect(),
        person,
        idle: super::session::IDLE.num_hours().to_string(),
        lasts: super::session::LASTS.num_hours().to_string(),
    }))
}

pub async fn own(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    page(&app, &who, who.id, app.clock.now()).await
}

pub async fn of(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
) -> Result<Response, AppError> {
    if id == who.id {
        return Ok(Redirect::to("/sessions").into_response());
    }
    let page = page(&app, &who, id, app.clock.now()).await?;
    Ok(page.into_response())
}

/// One's own session ended; by a coordinator anybody's.
pub async fn end(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SessionId>,
    form: Form<Nothing>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let of = session_store::person_of(tx.conn(), id).await?;
    // Whoever may not end it does not learn either whether it is there.
    let of = of.filter(|of| *of == who.id || who.is_at_least(Role::Coordinator));
    let person = match of {
        Some(of) => found(store::by_id(tx.conn(), of).await?)?,
        None => return Err(AppError::NotFound("session")),
    };
    session_store::delete(&mut tx, person.id, id).await?;
    let entry = Entry::about(
        "person",
        person.id.get(),
        person.name.as_str(),
        "session ended",
    );
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let to = if person.id == who.id {
        "/sessions".to_owned()
    } else {
        format!("/crew/{}/sessions", person.id)
    };
    tx.finish(to, now).await
}

/// All of one's own but this one.
pub async fn end_others(
    State(app): State<App>,
    who: Who,
    form: Form<Nothing>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let Via::Session(this) = who.via else {
        return Err(AppError::NotFound("session"));
    };
    let mut tx = app.db.write_once(&form.once).await?;
    let ended = session_store::delete_others(&mut tx, who.id, this).await?;
    let entry = Entry::about(
        "person",
        who.id.get(),
        who.name.as_str(),
        "other sessions ended",
    );
    let entry = entry.with(json!({ "sessions": ended }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish("/sessions".to_owned(), now).await
}

/// All of somebody's, by a coordinator.
pub async fn end_all(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<Nothing>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = found(store::by_id(tx.conn(), id).await?)?;
    let ended = session_store::delete_of(&mut tx, id).await?;
    let entry = Entry::about(
        "person",
        id.get(),
        person.name.as_str(),
        "all sessions ended",
    );
    let entry = entry.with(json!({ "sessions": ended }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish(format!("/crew/{id}/sessions"), now).await
}
