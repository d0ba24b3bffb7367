//! Laying a system up and putting it under quarantine, and back.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::system_in_use;
use crate::crew::Who;
use crate::ids::SystemId;
use crate::logbook::{self, Entry};
use crate::register::store;
use crate::register::systems::{Quarantine, System, path};
use crate::site::full_day;
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

crate::words! {
    /// What is done to a system's standing.
    pub enum Act {
        LayUp = "lay up",
        BringBack = "bring back",
        Quarantine = "quarantine",
        Lift = "lift",
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    act: String,
    laid_up_why: String,
    quarantine_why: String,
}

#[derive(Template)]
#[template(path = "register/standing.html")]
struct StandingPage {
    frame: Frame,
    system: System,
    laid_up: Option<String>,
    quarantine: Option<(String, String)>,
    input: Input,
    errors: FormErrors,
}

impl StandingPage {
    fn new(who: &Who, system: System, input: Input, errors: FormErrors) -> Self {
        let quarantine = system
            .quarantine
            .as_ref()
            .map(|one| (full_day(one.since), one.reason.to_string()));
        Self {
            frame: who.frame(Section::Systems),
            laid_up: system.laid_up_since.map(full_day),
            quarantine,
            system,
            input,
            errors,
        }
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_in_use(&mut conn, id).await?;
    Ok(Page(StandingPage::new(
        &who,
        system,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn set(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let today = who.site.today(now);
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_in_use(tx.conn(), id).await?;
    let Some(act) = Act::from_code(&form.input.act) else {
        return Err(AppError::Unreadable(
            "the form does not say what is to be done".to_owned(),
        ));
    };
    let (field, typed) = match act {
        Act::LayUp | Act::BringBack => ("laid_up_why", &form.input.laid_up_why),
        Act::Quarantine | Act::Lift => ("quarantine_why", &form.input.quarantine_why),
    };
    let mut errors = FormErrors::default();
    let Some(reason) = errors.take(field, Note::parse_reason(typed)) else {
        return Ok(Refused(StandingPage::new(&who, system, form.input, errors)).into_response());
    };
    let (done, what) = match act {
        Act::LayUp => (
            store::systems::set_laid_up(&mut tx, id, Some(today)).await,
            "laid up",
        ),
        Act::BringBack => (
            store::systems::set_laid_up(&mut tx, id, None).await,
            "brought back into use",
        ),
        Act::Quarantine => {
            let quarantine = Quarantine {
                since: today,
                reason: reason.clone(),
            };
            (
                store::systems::set_quarantine(&mut tx, id, Some(&quarantine)).await,
                "quarantined",
            )
        }
        Act::Lift => (
            store::systems::set_quarantine(&mut tx, id, None).await,
            "quarantine lifted",
        ),
    };
    match done {
        Ok(true) => {}
        Ok(false) => {
            return Err(AppError::Conflict(format!(
                "Somebody did this before you, or undid it: look at {} again.",
                system.figures.name
            )));
        }
        Err(error) if store::systems::is_in_use(&error) => {
            errors.add(
                field,
                "A crop grows in it, or a clean-out of it is open. Take the crop off, and release the clean-out or call it off, first.",
            );
            return Ok(Refused(StandingPage::new(&who, system, form.input, errors)).into_response());
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about("system", id.get(), system.figures.name.as_str(), what)
        .with(json!({ "why": reason }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
