//! Pouring: what is confirmed before it, each pour with the stock it is drawn from, and the lead's
//! word that no more is poured.

use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::acts::{not_now, of_kind, refused, unsigned};
use super::beside::{second, second_signed};
use super::panels::jug_words;
use super::store::{self, NewPour};
use super::view::Input;
use super::{Ahead, Job, What, sentence};
use crate::cleanouts::card::{FrozenStep, StepKind};
use crate::crew::{Role, Who};
use crate::db::WriteTx;
use crate::ids::CleanoutId;
use crate::science::parse;
use crate::science::stored::Millilitres;
use crate::science::units::VolumeUnit;
use crate::state::App;
use crate::stock::{
    self,
    store::{Draw, NotDrawn},
};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Redirect};

/// Everybody who pours confirms it for himself, each day.
pub async fn protect(
    mut tx: WriteTx,
    job: &Job,
    step: &FrozenStep,
    input: Input,
) -> Result<Response, AppError> {
    if !job.needs_protection(step) || job.progress().is_done(step) {
        return Ok(Redirect::to(job.step_path(step.no)).into_response());
    }
    if let Some(why) = job.obstacle(step) {
        return Ok(not_now(job, step, input, why));
    }
    let mut errors = FormErrors::default();
    for (field, ticked, why) in [
        (
            "protection",
            &input.protection,
            "Put the protection on first, and tick that it is on.",
        ),
        (
            "eyewash",
            &input.eyewash,
            "Make sure of the eyewash first, and tick that it is there.",
        ),
        (
            "air",
            &input.air,
            "Air the room first, and tick that it is aired.",
        ),
        (
            "alone",
            &input.alone,
            "See that the room is empty first, and tick that it is.",
        ),
    ] {
        if ticked.is_empty() {
            errors.add(field, why);
        }
    }
    let second = errors.take("second", second_signed(job, step, &input.second));
    let (false, Some(second)) = (errors.any(), second) else {
        return Ok(refused(job, step, input, errors));
    };
    let note = Note::parse("Goggles, face shield, gauntlets and apron on; eyewash within reach; room aired; nobody in the room without protection.")
        .map_err(|error| anyhow::anyhow!(error))?;
    store::insert_entry(&mut tx, job.entering(step.no, second), What::Begun, &note).await?;
    let detail = json!({ "confirmed": note, "second": second });
    Ok(job
        .entered(
            tx,
            step,
            "protection confirmed",
            detail,
            job.step_path(step.no),
        )
        .await?
        .into_response())
}

/// One pour: the amount is drawn from the lot in the same transaction, or nothing is written.
pub async fn pour(
    State(app): State<App>,
    who: Who,
    Path((id, no)): Path<(CleanoutId, i64)>,
    Form { input, once }: Form<Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&once).await?;
    let job = Job::load(tx.conn(), who, id, app.clock.now()).await?;
    let step = job.step(no)?;
    if let Some(again) = unsigned(&job, step, &input) {
        return Ok(again);
    }
    of_kind(step, StepKind::Pours)?;
    if let Some(why) = job.obstacle(step) {
        return Ok(not_now(&job, step, input, why));
    }
    let sent = input.no.trim().parse::<i64>().unwrap_or(0);
    if let Some(earlier) = job.record.pours.iter().find(|pour| pour.no == sent) {
        let (figure, unit) = jug_words(earlier.poured, job.card.dose.jug.capacity);
        let why = format!(
            "Pour {sent} was entered {} by {}: {figure}\u{a0}{unit}. Yours was not entered. If both of you poured, enter yours as the next one.",
            job.when(earlier.at),
            earlier.by.name
        );
        return Ok(not_now(&job, step, input, why));
    }
    let Some(ahead) = job.ahead.filter(|ahead| ahead.no == sent) else {
        return Ok(not_now(
            &job,
            step,
            input,
            "This is not the pour that comes next.",
        ));
    };
    let Some(protected) = job.protected(step) else {
        return Ok(not_now(
            &job,
            step,
            input,
            "Confirm first what comes before a pour.",
        ));
    };
    let with = protected
        .second
        .as_ref()
        .map(|second| second.id.to_string())
        .unwrap_or_default();
    let with = match second(&job, step, &with) {
        Ok(with) => with,
        Err(why) => return Ok(not_now(&job, step, input, why)),
    };
    let poured = match amount(&job, &ahead, &input) {
        Ok(poured) => poured,
        Err(why) => {
            let errors = FormErrors::only("poured", why);
            return Ok(refused(&job, step, input, errors));
        }
    };
    let by = job.entering(no, with);
    let lot = &job.card.dose.lot;
    let draw = Draw {
        lot: lot.id,
        amount: poured,
        cleanout: Some(id),
        reason: Note::default(),
        person: job.who.id,
        today: job.today,
        at: job.now,
    };
    let drawn = match stock::store::draw(&mut tx, &draw).await {
        Ok(drawn) => drawn,
        Err(not_drawn) => {
            let why = not_drawn_words(&job, not_drawn)?;
            return Ok(not_now(&job, step, input, why));
        }
    };
    let new = NewPour {
        no: ahead.no,
        planned: ahead.planned,
        poured,
        lot: lot.id,
        drawn,
    };
    store::insert_pour(&mut tx, by, &new).await?;
    let detail = json!({ "pour": ahead.no, "ml": poured, "planned ml": ahead.planned, "lot": lot.code, "second": with });
    Ok(job
        .entered(tx, step, "poured", detail, job.step_path(no))
        .await?
        .into_response())
}

/// What was poured: as asked for, or as typed.
fn amount(job: &Job, ahead: &Ahead, input: &Input) -> Result<Millilitres, String> {
    let capacity = job.card.dose.jug.capacity;
    let typed = input.poured.trim();
    if input.amount == "asked" && typed.is_empty() {
        return Ok(ahead.amount);
    }
    let unit = if capacity.get() < 1000 {
        VolumeUnit::Millilitre
    } else {
        VolumeUnit::Litre
    };
    let volume = parse::volume(typed, Some(unit)).map_err(|error| error.to_string())?;
    let poured = Millilitres::nearest(volume).map_err(|error| error.to_string())?;
    let (figure, unit) = jug_words(capacity, capacity);
    if poured.get() < 1 || poured > capacity {
        return Err(format!(
            "The jug holds {figure}\u{a0}{unit}: write what was poured from it, more than nothing."
        ));
    }
    if input.amount == "asked" && poured != ahead.amount {
        return Err("Another amount was typed than the large button says. If it is right, send it with the button under it.".to_owned());
    }
    Ok(poured)
}

/// Why the lot gives nothing, and what to do.
fn not_drawn_words(job: &Job, refusal: NotDrawn) -> Result<String, AppError> {
    let lot = &job.card.dose.lot.code;
    match refusal {
        NotDrawn::NotEnough(refusal) => Ok(format!(
            "By the book lot {lot} has only {} left. Count it under Stock if more is there, or pour and enter less.",
            job.litres(refusal.on_hand)
        )),
        NotDrawn::Refused(why) => Ok(sentence(format!("Lot {lot} gives nothing. {why}"))),
        NotDrawn::Other(error) => Err(error.into()),
    }
}

/// A lead says that no more is poured, and why.
pub async fn stop(
    mut tx: WriteTx,
    job: &Job,
    step: &FrozenStep,
    input: Input,
) -> Result<Response, AppError> {
    if job.progress().is_done(step) {
        return Ok(Redirect::to(job.step_path(step.no)).into_response());
    }
    if let Err(refusal) = job.may_go_on() {
        return Ok(not_now(job, step, input, refusal.to_string()));
    }
    if !job.who.is_at_least(Role::Lead) {
        return Ok(not_now(
            job,
            step,
            input,
            "Only a lead stops the pours before the dose is in, with a reason.",
        ));
    }
    let reason = match Note::parse_reason(&input.reason) {
        Ok(reason) => reason,
        Err(why) => {
            let errors = FormErrors::only("reason", why);
            return Ok(refused(job, step, input, errors));
        }
    };
    store::insert_entry(&mut tx, job.entering(step.no, None), What::Ended, &reason).await?;
    let detail = json!({ "in ml": job.dosed.sum, "asked for ml": job.dosed.asked, "why": reason });
    Ok(job
        .entered(tx, step, "pours stopped", detail, job.step_path(step.no))
        .await?
        .into_response())
}
