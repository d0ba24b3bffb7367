//! The pages of the run: the first step that is open, and any step.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::Job;
use super::view::Input;
use crate::crew::Who;
use crate::ids::CleanoutId;
use crate::state::App;
use crate::web::{AppError, FormErrors, Page};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// The reading to put right.
    correct: String,
}

/// The first step that is open; the last one when none is.
pub async fn next(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let job = Job::load(&mut conn, who, id, app.clock.now()).await?;
    let step = job.progress().next().or(job.card.method.steps.last());
    let step = step.ok_or(AppError::NotFound("step"))?;
    Ok(Page(job.page(
        step,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn step(
    State(app): State<App>,
    who: Who,
    Path((id, no)): Path<(CleanoutId, i64)>,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let job = Job::load(&mut conn, who, id, app.clock.now()).await?;
    let step = job.step(no)?;
    let input = Input {
        corrects: asked.correct,
        ..Input::default()
    };
    Ok(Page(job.page(step, input, FormErrors::default())))
}
