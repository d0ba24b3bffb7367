//! Putting an entry right: a new entry that points at the old one, and both stay readable.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::{MOST, lot_in_use};
use crate::crew::Who;
use crate::ids::{LotId, StockEntryId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::show;
use crate::state::App;
use crate::stock::Lot;
use crate::stock::ledger::{self, NotEntered, StockEntry};
use crate::stock::store::{self, NewEntry};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    amount: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "stock/correct.html")]
struct CorrectForm {
    frame: Frame,
    /// 'received, 25 L, by Tobit A. on Thu 4 March 2027, 08:30'.
    says: String,
    unit: &'static str,
    lot: Lot,
    entry: StockEntry,
    input: Input,
    errors: FormErrors,
}

/// An entry with its lot and all that was entered for it.
struct Found {
    lot: Lot,
    entry: StockEntry,
    all: Vec<StockEntry>,
}

async fn found(
    conn: &mut SqliteConnection,
    lot: LotId,
    entry: StockEntryId,
) -> Result<Found, AppError> {
    let lot = lot_in_use(conn, lot).await?;
    let all = store::of_lot(conn, lot.id).await?;
    let entry = all
        .iter()
        .find(|one| one.id == entry)
        .cloned()
        .ok_or(AppError::NotFound("entry"))?;
    Ok(Found { lot, entry, all })
}

impl CorrectForm {
    fn new(who: &Who, found: Found, input: Input, errors: FormErrors) -> Self {
        let units = who.site.units;
        let amount = ledger::amount_now(&found.entry, &found.all).map_or_else(
            |_| String::new(),
            |amount| show::volume(amount.volume(), units),
        );
        Self {
            frame: who.frame(Section::Stock),
            says: format!(
                "{}, {amount}, by {} on {}",
                found.entry.kind,
                found.entry.person,
                who.site.moment_words(found.entry.at)
            ),
            unit: entry::large(units).symbol(),
            lot: found.lot,
            entry: found.entry,
            input,
            errors,
        }
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path((lot, entry)): Path<(LotId, StockEntryId)>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let found = found(&mut conn, lot, entry).await?;
    Ok(Page(CorrectForm::new(
        &who,
        found,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn correct(
    State(app): State<App>,
    who: Who,
    Path((lot, entry)): Path<(LotId, StockEntryId)>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let found = found(tx.conn(), lot, entry).await?;
    let input = form.input;
    let mut errors = FormErrors::default();
    let amount = errors.take("amount", entry::volume(&input.amount, units, 0..=MOST));
    let reason = errors.take("reason", Note::parse_reason(&input.reason));
    let (Some(amount), Some(reason)) = (amount, reason) else {
        return Ok(Refused(CorrectForm::new(&who, found, input, errors)).into_response());
    };
    let change = match ledger::corrected(found.lot.on_hand, &found.entry, &found.all, amount) {
        Ok(change) => change,
        Err(refusal) => {
            errors.add("amount", words(&refusal, &who));
            return Ok(Refused(CorrectForm::new(&who, found, input, errors)).into_response());
        }
    };
    let new = NewEntry {
        lot,
        kind: found.entry.kind,
        change,
        counted: None,
        cleanout: None,
        reason: reason.clone(),
        person: who.id,
        corrects: Some(entry),
        at: now,
    };
    store::enter(&mut tx, &new).await?;
    let entry = Entry::about("lot", lot.get(), found.lot.words(), "entry corrected").with(json!({
        "entry": entry,
        "kind": found.entry.kind,
        "should be": show::volume(amount.volume(), units),
        "why": reason,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(found.lot.path(), now).await?.into_response())
}

/// What is gone already cannot be taken out of an earlier entry.
fn words(refusal: &NotEntered, who: &Who) -> String {
    match refusal {
        NotEntered::NotEnough(refusal) => format!(
            "Then the lot would hold less than nothing: {} is on hand, and this takes off {}. Count the lot instead.",
            show::volume(refusal.on_hand.volume(), who.site.units),
            show::volume(refusal.asked.volume(), who.site.units),
        ),
        other => format!("{other}."),
    }
}
