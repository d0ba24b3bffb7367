//! Withdrawing a lot for good: it bulges, it is dirty, nobody knows what is in it.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::{lot_in_use, volume};
use crate::crew::Who;
use crate::ids::LotId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::stock::{Lot, store};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    reason: String,
}

#[derive(Template)]
#[template(path = "stock/withdraw.html")]
struct WithdrawForm {
    frame: Frame,
    on_hand: String,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

impl WithdrawForm {
    fn new(who: &Who, lot: Lot, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Stock),
            on_hand: volume(&lot, who.site.units),
            lot,
            input,
            errors,
        }
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let lot = lot_in_use(&mut conn, id).await?;
    Ok(Page(WithdrawForm::new(
        &who,
        lot,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn withdraw(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let lot = lot_in_use(tx.conn(), id).await?;
    let mut errors = FormErrors::default();
    let Some(reason) = errors.take("reason", Note::parse_reason(&form.input.reason)) else {
        return Ok(Refused(WithdrawForm::new(&who, lot, form.input, errors)).into_response());
    };
    store::withdraw(&mut tx, id, &reason, now).await?;
    let entry = Entry::about("lot", id.get(), lot.words(), "withdrawn").with(json!({
        "on hand": volume(&lot, who.site.units),
        "why": reason,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(lot.path(), now).await?.into_response())
}
