//! Plantings pasted as a table.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use crate::crew::Who;
use crate::state::App;
use crate::turnovers::import;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    table: String,
}

#[derive(Template)]
#[template(path = "turnovers/import.html")]
struct ImportPage {
    frame: Frame,
    input: Input,
    errors: FormErrors,
    columns: Vec<&'static str>,
}

impl ImportPage {
    fn new(who: &Who, input: Input, errors: FormErrors) -> Self {
        let columns = import::COLUMNS;
        Self {
            frame: who.frame(Section::Turnovers),
            input,
            errors,
            columns: [columns.needed, columns.others].concat(),
        }
    }
}

pub async fn form(who: Who) -> Page<impl Template> {
    Page(ImportPage::new(
        &who,
        Input::default(),
        FormErrors::default(),
    ))
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let taken = import::take(&mut tx, &who.author(), &who.site, &form.input.table, now).await?;
    match taken {
        Ok(_) => Ok(tx
            .finish("/turnovers".to_owned(), now)
            .await?
            .into_response()),
        Err(faults) => {
            let mut errors = FormErrors::default();
            for fault in faults {
                errors.add("table", fault.to_string());
            }
            Ok(Refused(ImportPage::new(&who, form.input, errors)).into_response())
        }
    }
}
