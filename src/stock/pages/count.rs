//! Counting a lot: what is really there counts, and a difference says why.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::{MOST, lot_in_stock, volume};
use crate::crew::Who;
use crate::ids::LotId;
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::show;
use crate::state::App;
use crate::stock::Lot;
use crate::stock::ledger::{self, EntryKind, NotEntered};
use crate::stock::store::{self, NewEntry};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    found: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "stock/count.html")]
struct CountForm {
    frame: Frame,
    on_hand: String,
    unit: &'static str,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

impl CountForm {
    fn new(who: &Who, lot: Lot, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Stock),
            on_hand: volume(&lot, who.site.units),
            unit: entry::large(who.site.units).symbol(),
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
    let lot = lot_in_stock(&mut conn, id).await?;
    Ok(Page(CountForm::new(
        &who,
        lot,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn count(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let lot = lot_in_stock(tx.conn(), id).await?;
    let input = form.input;
    let mut errors = FormErrors::default();
    let found = errors.take("found", entry::volume(&input.found, units, 0..=MOST));
    let reason = errors.take("reason", Note::parse(&input.reason));
    let (Some(found), Some(reason)) = (found, reason) else {
        return Ok(Refused(CountForm::new(&who, lot, input, errors)).into_response());
    };
    let change = match ledger::counted(lot.on_hand, found, &reason) {
        Ok(change) => change,
        Err(refusal) => {
            let field = match refusal {
                NotEntered::CountNeedsReason { .. } => "reason",
                _ => "found",
            };
            errors.add(field, format!("{}.", refusal.words(units)));
            return Ok(Refused(CountForm::new(&who, lot, input, errors)).into_response());
        }
    };
    let new = NewEntry {
        lot: id,
        kind: EntryKind::Counted,
        change,
        counted: Some(found),
        cleanout: None,
        reason: reason.clone(),
        person: who.id,
        corrects: None,
        at: now,
    };
    store::enter(&mut tx, &new).await?;
    let entry = Entry::about("lot", id.get(), lot.words(), "counted").with(json!({
        "found": show::volume(found.volume(), units),
        "balance before": show::volume(lot.on_hand.volume(), units),
        "why": reason,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(lot.path(), now).await?.into_response())
}
