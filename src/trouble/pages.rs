//! The troubles: those that are open, and each with what was found.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::{Trouble, path, store};
use crate::crew::{Role, Who};
use crate::ids::TroubleId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

struct Line {
    path: String,
    subject: String,
    kind: &'static str,
    at: String,
    open: bool,
}

#[derive(Template)]
#[template(path = "trouble/list.html")]
struct ListPage {
    frame: Frame,
    open: usize,
    lines: Vec<Line>,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let troubles = store::all(&mut conn).await?;
    let line = |trouble: &Trouble| Line {
        path: trouble.path(),
        subject: trouble.subject.clone(),
        kind: trouble.kind.words(),
        at: who.site.moment_words(trouble.at),
        open: trouble.is_open(),
    };
    Ok(Page(ListPage {
        frame: who.frame(Section::Stock),
        open: troubles.iter().filter(|one| one.is_open()).count(),
        lines: troubles.iter().map(line).collect(),
    }))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    found: String,
    told: String,
}

#[derive(Template)]
#[template(path = "trouble/one.html")]
struct OnePage {
    frame: Frame,
    opened: String,
    closed: String,
    may_close: bool,
    trouble: Trouble,
    input: Input,
    errors: FormErrors,
}

impl OnePage {
    fn new(who: &Who, trouble: Trouble, input: Input, errors: FormErrors) -> Self {
        let closed = trouble
            .end
            .as_ref()
            .map(|end| format!("{}, {}", end.person, who.site.moment_words(end.at)));
        Self {
            frame: who.frame(Section::Stock),
            opened: format!("{}, {}", trouble.person, who.site.moment_words(trouble.at)),
            closed: closed.unwrap_or_default(),
            may_close: who.is_at_least(Role::Lead),
            trouble,
            input,
            errors,
        }
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<TroubleId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let trouble = store::by_id(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("trouble"))?;
    Ok(Page(OnePage::new(
        &who,
        trouble,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn close(
    State(app): State<App>,
    who: Who,
    Path(id): Path<TroubleId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let trouble = store::by_id(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("trouble"))?;
    if !trouble.is_open() {
        return Err(AppError::Conflict(
            "Somebody closed this trouble meanwhile. What was found stands on its page.".to_owned(),
        ));
    }
    let input = form.input;
    let mut errors = FormErrors::default();
    let found = match Note::parse(&input.found) {
        Ok(found) if found.is_empty() => Err("Write what was found.".to_owned()),
        other => other,
    };
    let found = errors.take("found", found);
    let told = match Note::parse(&input.told) {
        Ok(told) if told.is_empty() && !trouble.to_tell.is_empty() => {
            Err("Write whom you told and when, or why nobody had to be told.".to_owned())
        }
        other => other,
    };
    let told = errors.take("told", told);
    let (Some(found), Some(told)) = (found, told) else {
        return Ok(Refused(OnePage::new(&who, trouble, input, errors)).into_response());
    };
    store::close(&mut tx, id, &found, &told, who.id, now).await?;
    let entry = Entry::about(
        "trouble",
        id.get(),
        trouble.subject.clone(),
        "trouble closed",
    )
    .with(json!({ "found": found, "told": told }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
