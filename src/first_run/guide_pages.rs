//! The page of the guide, and the way to the next form.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::guide::{self, Stands, Step};
use crate::cleanouts;
use crate::crew::Who;
use crate::ids::{PlantingId, SystemId};
use crate::state::App;
use crate::web::{AppError, Frame, Page, Redirect, Section};

#[derive(Template)]
#[template(path = "first_run/guide.html")]
struct GuidePage {
    frame: Frame,
    steps: Vec<Step>,
    /// The number of the step that comes next.
    next: usize,
    /// What the last step proposes the clean-out for.
    planting: Option<(PlantingId, SystemId)>,
}

pub async fn show(State(app): State<App>, who: Who) -> Result<Response, AppError> {
    let mut conn = app.db.read().await?;
    let Some(found) = guide::look(&mut conn).await? else {
        return Ok(Redirect::to("/").into_response());
    };
    let steps = guide::steps(&found);
    let page = GuidePage {
        frame: who.frame(Section::None),
        next: guide::next(&steps).map_or(0, |step| step.no),
        planting: found
            .planting
            .map(|(id, _)| id)
            .zip(found.system.map(|(id, _)| id)),
        steps,
    };
    Ok(Page(page).into_response())
}

/// After something was saved: straight to the form of the next step, where there is one.
pub async fn go_on(State(app): State<App>) -> Result<Redirect, AppError> {
    let mut conn = app.db.read().await?;
    let Some(found) = guide::look(&mut conn).await? else {
        // The last step was done: the dose sheet is what all of it was for.
        let open = cleanouts::store::open(&mut conn).await?;
        let sheet = open
            .first()
            .map(|cleanout| format!("/clean-outs/{}/dose", cleanout.id));
        return Ok(Redirect::to(
            sheet.unwrap_or_else(|| "/clean-outs".to_owned()),
        ));
    };
    let steps = guide::steps(&found);
    let form = guide::next(&steps).and_then(|step| step.form.clone());
    Ok(Redirect::to(form.unwrap_or_else(|| "/set-up".to_owned())))
}
