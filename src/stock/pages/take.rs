//! What leaves a lot without a clean-out, or comes back to it: spilled, disposed of, used for something
//! else, brought back unopened.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::{MOST, lot_in_stock, volume};
use crate::clock::Moment;
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::LotId;
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::show;
use crate::science::sources::Question;
use crate::science::stored::Millilitres;
use crate::state::App;
use crate::stock::Lot;
use crate::stock::ledger::{self, EntryKind, NotEntered};
use crate::stock::store::{self, Draw, NewEntry, NotDrawn};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// What can be entered here. What comes by delivery is received, and what a clean-out takes is poured.
const KINDS: [EntryKind; 4] = [
    EntryKind::Spilled,
    EntryKind::Disposed,
    EntryKind::Drawn,
    EntryKind::Returned,
];

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    kind: String,
    amount: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "stock/take.html")]
struct TakeForm {
    frame: Frame,
    on_hand: String,
    unit: &'static str,
    /// How long eyes are rinsed.
    eyes: String,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

impl TakeForm {
    fn new(who: &Who, lot: Lot, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Stock),
            on_hand: volume(&lot, who.site.units),
            unit: entry::large(who.site.units).symbol(),
            eyes: who.site.source(Question::EyeRinse).short(),
            lot,
            input,
            errors,
        }
    }

    /// The choices, with what each means; a withdrawn lot only goes.
    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        let offered = KINDS.iter().filter(|kind| {
            self.lot.withdrawn.is_none() || matches!(kind, EntryKind::Spilled | EntryKind::Disposed)
        });
        offered.map(|kind| (kind.code(), meaning(*kind))).collect()
    }
}

fn meaning(kind: EntryKind) -> &'static str {
    match kind {
        EntryKind::Spilled => "Spilled or leaked",
        EntryKind::Disposed => "Disposed of, as local rules say",
        EntryKind::Drawn => "Used for something other than a clean-out",
        EntryKind::Returned => "Brought back: a closed can that was taken along and not opened",
        EntryKind::Received => "Received",
        EntryKind::Counted => "Counted",
        EntryKind::Moved => "Moved",
        EntryKind::Decanted => "Decanted",
    }
}

struct Checked {
    kind: EntryKind,
    amount: Millilitres,
    reason: Note,
}

impl Input {
    fn check(&self, who: &Who, lot: &Lot) -> Result<Checked, FormErrors> {
        let mut errors = FormErrors::default();
        let kind = errors.take(
            "kind",
            EntryKind::from_code(&self.kind)
                .filter(|kind| KINDS.contains(kind))
                .ok_or("Choose what happened."),
        );
        if lot.withdrawn.is_some()
            && kind.is_some_and(|kind| !matches!(kind, EntryKind::Spilled | EntryKind::Disposed))
        {
            errors.add("kind", format!("{}.", NotEntered::Withdrawn));
        }
        let amount = errors.take(
            "amount",
            entry::volume(&self.amount, who.site.units, 1..=MOST),
        );
        let reason = errors.take("reason", Note::parse_reason(&self.reason));
        match (kind, amount, reason) {
            (Some(kind), Some(amount), Some(reason)) if !errors.any() => Ok(Checked {
                kind,
                amount,
                reason,
            }),
            _ => Err(errors),
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
    Ok(Page(TakeForm::new(
        &who,
        lot,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn take(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let lot = lot_in_stock(tx.conn(), id).await?;
    let checked = match form.input.check(&who, &lot) {
        Ok(checked) => checked,
        Err(errors) => {
            return Ok(Refused(TakeForm::new(&who, lot, form.input, errors)).into_response());
        }
    };
    if let Err(refusal) = enter(&mut tx, &who, &lot, &checked, now).await? {
        let errors = FormErrors::only("amount", format!("{}.", refusal.words(units)));
        return Ok(Refused(TakeForm::new(&who, lot, form.input, errors)).into_response());
    }
    let entry = Entry::about("lot", id.get(), lot.words(), checked.kind.code()).with(json!({
        "amount": show::volume(checked.amount.volume(), units),
        "why": checked.reason,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(lot.path(), now).await?.into_response())
}

async fn enter(
    tx: &mut WriteTx,
    who: &Who,
    lot: &Lot,
    checked: &Checked,
    now: Moment,
) -> Result<Result<(), NotEntered>, AppError> {
    if checked.kind == EntryKind::Drawn {
        let draw = Draw {
            lot: lot.id,
            amount: checked.amount,
            cleanout: None,
            reason: checked.reason.clone(),
            person: who.id,
            today: who.site.today(now),
            at: now,
        };
        return match store::draw(tx, &draw).await {
            Ok(_) => Ok(Ok(())),
            Err(NotDrawn::NotEnough(refusal)) => Ok(Err(refusal.into())),
            Err(NotDrawn::Refused(why)) => Err(AppError::Conflict(why)),
            Err(NotDrawn::Other(error)) => Err(error.into()),
        };
    }
    let change = match ledger::moved(lot.on_hand, checked.kind, checked.amount) {
        Ok(change) => change,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let new = NewEntry {
        lot: lot.id,
        kind: checked.kind,
        change,
        counted: None,
        cleanout: None,
        reason: checked.reason.clone(),
        person: who.id,
        corrects: None,
        at: now,
    };
    store::enter(tx, &new).await?;
    Ok(Ok(()))
}
