//! Trouble during a run: a spill, a splash, an overflow, anything that went wrong.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::{Job, store};
use crate::crew::Who;
use crate::ids::CleanoutId;
use crate::logbook::{self, Entry};
use crate::science::sources::Question;
use crate::site::first_aid::{CASES, Case};
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    text: String,
    signer: String,
}

#[derive(Template)]
#[template(path = "cleanouts/run_trouble.html")]
struct TroublePage {
    frame: Frame,
    number: String,
    system: String,
    cleanout: String,
    step_path: String,
    step: String,
    cases: &'static [Case],
    /// How long eyes are rinsed.
    eyes: String,
    signers: Option<Vec<(String, String)>>,
    input: Input,
    errors: FormErrors,
}

fn page(job: &Job, no: i64, input: Input, errors: FormErrors) -> Result<TroublePage, AppError> {
    let step = job.step(no)?;
    Ok(TroublePage {
        frame: job.who.frame(Section::Cleanouts),
        number: job.cleanout.number.clone(),
        system: job.card.system.name.to_string(),
        cleanout: job.cleanout.path(),
        step_path: job.step_path(no),
        step: format!("{} {}", step.no, step.text),
        cases: CASES,
        eyes: job.who.site.source(Question::EyeRinse).short(),
        signers: job.signer_options(),
        input,
        errors,
    })
}

pub async fn note_form(
    State(app): State<App>,
    who: Who,
    Path((id, no)): Path<(CleanoutId, i64)>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let job = Job::load(&mut conn, who, id, app.clock.now()).await?;
    Ok(Page(page(
        &job,
        no,
        Input::default(),
        FormErrors::default(),
    )?))
}

/// Trouble is noted whatever the state of the clean-out: what happened, happened.
pub async fn note_trouble(
    State(app): State<App>,
    who: Who,
    Path((id, no)): Path<(CleanoutId, i64)>,
    Form { input, once }: Form<Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&once).await?;
    let job = Job::load(tx.conn(), who, id, app.clock.now()).await?;
    let step = job.step(no)?;
    let mut errors = FormErrors::default();
    if let Some((field, why)) = job.who.via.unsigned() {
        errors.add(field, why);
    }
    let text = match Note::parse(&input.text) {
        Ok(text) if text.is_empty() => Err("Write what happened and what was done.".to_owned()),
        checked => checked,
    };
    let text = errors.take("text", text);
    let (Some(text), false) = (text, errors.any()) else {
        return Ok(Refused(page(&job, no, input, errors)?).into_response());
    };
    store::insert_trouble(&mut tx, job.entering(no, None), &text).await?;
    let detail = json!({ "step": format!("{} {}", step.no, step.text), "text": text });
    let entry = Entry::about(
        "clean-out",
        id.get(),
        job.cleanout.subject(),
        "trouble noted",
    )
    .with(detail);
    logbook::write(&mut tx, &job.who.author(), entry, job.now).await?;
    Ok(tx.finish(job.step_path(no), job.now).await?.into_response())
}
