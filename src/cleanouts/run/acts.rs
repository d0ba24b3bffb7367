//! What is done at a step: ticked, taken back, begun, ended, measured.

use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::beside::second_signed;
use super::measured::is_corrected;
use super::span::{With, ranged};
use super::store::{self, NewReading};
use super::view::Input;
use super::{Bound, Job, Measured, Standing, What};
use crate::cleanouts::card::{FrozenStep, Marks, ReadingKind, StepKind};
use crate::crew::{Person, Role, Who};
use crate::crops::gap::length_words;
use crate::db::WriteTx;
use crate::ids::CleanoutId;
use crate::science::stored::Minutes;
use crate::state::App;
use crate::text::{Name, Note, parse_optional_day};
use crate::web::{AppError, Form, FormErrors, Redirect, Refused};

/// The step again, with what is wrong.
pub fn refused(job: &Job, step: &FrozenStep, input: Input, errors: FormErrors) -> Response {
    Refused(job.page(step, input, errors)).into_response()
}

/// The same, for what no field can put right.
pub fn not_now(job: &Job, step: &FrozenStep, input: Input, why: impl Into<String>) -> Response {
    refused(job, step, input, FormErrors::only("act", why))
}

/// Only these kinds of step are answered here.
pub fn of_kind(step: &FrozenStep, kind: StepKind) -> Result<(), AppError> {
    if step.kind == kind {
        Ok(())
    } else {
        Err(AppError::NotFound("step"))
    }
}

/// The form again, where nobody signed it on a shared tablet, with what is wrong with name or PIN.
pub fn unsigned(job: &Job, step: &FrozenStep, input: &Input) -> Option<Response> {
    let (field, why) = job.who.via.unsigned()?;
    Some(refused(
        job,
        step,
        input.clone(),
        FormErrors::only(field, why),
    ))
}

/// The group that helped, where one was chosen and may.
fn helping<'a>(job: &'a Job, step: &FrozenStep, typed: &str) -> Result<Option<&'a Person>, String> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    let group = job
        .groups
        .iter()
        .find(|group| group.id.to_string() == typed);
    let group = group.ok_or("Choose a group of the crew, or nobody else.")?;
    let kept_out = job.rules.keeps_out(step, group, job.today);
    kept_out.map_or(Ok(Some(group)), Err)
}

/// Whether a form was sent from a page that had seen all there is: two people at one step, or a
/// second tap, are once.
fn has_seen(job: &Job, step: &FrozenStep, input: &Input) -> bool {
    input.times.trim().parse::<usize>().ok() == Some(job.progress().times(step))
}

pub async fn tick(
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
    of_kind(step, StepKind::Tick)?;
    let again = step.marks == Marks::Rinse && has_seen(&job, step, &input);
    if job.progress().is_done(step) && !again {
        return Ok(Redirect::to(job.run_path()).into_response());
    }
    if let Some(why) = job.obstacle(step) {
        return Ok(not_now(&job, step, input, why));
    }
    let second = match second_signed(&job, step, &input.second) {
        Ok(second) => second,
        Err(why) => {
            let errors = FormErrors::only("second", why);
            return Ok(refused(&job, step, input, errors));
        }
    };
    let helped = match helping(&job, step, &input.helped) {
        Ok(helped) => helped,
        Err(why) => {
            let errors = FormErrors::only("helped", why);
            return Ok(refused(&job, step, input, errors));
        }
    };
    let entry = store::insert_entry(
        &mut tx,
        job.entering(no, second),
        What::Done,
        &Note::default(),
    )
    .await?;
    let mut detail = json!({ "second": second });
    if let Some(group) = helped {
        store::insert_helper(&mut tx, entry, group.id, group.head_count).await?;
        detail["helped"] = json!(format!("{}, {} people", group.name, group.head_count));
    }
    Ok(job
        .entered(tx, step, "step done", detail, job.run_path())
        .await?
        .into_response())
}

/// Takes a tick back. Both stay on record.
pub async fn undo(
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
    of_kind(step, StepKind::Tick)?;
    if !job.progress().is_done(step) {
        return Ok(Redirect::to(job.step_path(no)).into_response());
    }
    if let Err(refusal) = job.may_go_on() {
        return Ok(not_now(&job, step, input, refusal.to_string()));
    }
    store::insert_entry(
        &mut tx,
        job.entering(no, None),
        What::Undone,
        &Note::default(),
    )
    .await?;
    Ok(job
        .entered(tx, step, "step taken back", json!({}), job.step_path(no))
        .await?
        .into_response())
}

/// A timed step begins, or somebody confirms what comes before a pour.
pub async fn begin(
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
    match step.kind {
        StepKind::Pours => return super::pour_acts::protect(tx, &job, step, input).await,
        _ => of_kind(step, StepKind::Timed)?,
    }
    let standing = job.progress().standing(step);
    if standing != Standing::Open && !(standing.is_done() && has_seen(&job, step, &input)) {
        return Ok(Redirect::to(job.step_path(no)).into_response());
    }
    if let Some(why) = job.obstacle(step) {
        return Ok(not_now(&job, step, input, why));
    }
    let second = match second_signed(&job, step, &input.second) {
        Ok(second) => second,
        Err(why) => {
            let errors = FormErrors::only("second", why);
            return Ok(refused(&job, step, input, errors));
        }
    };
    store::insert_entry(
        &mut tx,
        job.entering(no, second),
        What::Begun,
        &Note::default(),
    )
    .await?;
    let detail = json!({ "second": second });
    Ok(job
        .entered(tx, step, "step begun", detail, job.step_path(no))
        .await?
        .into_response())
}

/// A timed step ends, or a lead says that no more is poured.
pub async fn end(
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
    match step.kind {
        StepKind::Pours => super::pour_acts::stop(tx, &job, step, input).await,
        StepKind::Timed => end_timed(tx, &job, step, input).await,
        _ => Err(AppError::NotFound("step")),
    }
}

/// Ends a timed step. Before its time only a lead does, and says why; a soak or a rinse that was cut
/// short does not count for the release.
async fn end_timed(
    mut tx: WriteTx,
    job: &Job,
    step: &FrozenStep,
    input: Input,
) -> Result<Response, AppError> {
    let since = match job.progress().standing(step) {
        Standing::Going { since } => since,
        Standing::Done { .. } => return Ok(Redirect::to(job.run_path()).into_response()),
        Standing::Open => return Ok(not_now(job, step, input, "It has not begun yet.")),
    };
    if let Some(why) = job.obstacle(step) {
        return Ok(not_now(job, step, input, why));
    }
    let least = step.minutes.map_or(0, Minutes::get);
    let gone = job.now.since(since).num_minutes();
    let mut note = Note::default();
    if gone < least {
        let so_far = format!(
            "It has stood {} of {}.",
            length_words(gone),
            length_words(least)
        );
        if !job.who.is_at_least(Role::Lead) {
            let why = format!("{so_far} Before its time only a lead ends it, with a reason.");
            return Ok(not_now(job, step, input, why));
        }
        let mut errors = FormErrors::default();
        match Note::parse_reason(&input.reason) {
            Ok(reason) => note = reason,
            Err(why) => errors.add("reason", format!("{so_far} {why}")),
        }
        if errors.any() {
            return Ok(refused(job, step, input, errors));
        }
    }
    store::insert_entry(&mut tx, job.entering(step.no, None), What::Ended, &note).await?;
    let detail = json!({ "minutes": gone, "asked for": least, "why": note });
    let what = if gone < least {
        "step ended early"
    } else {
        "step ended"
    };
    let location = if gone < least {
        job.step_path(step.no)
    } else {
        job.run_path()
    };
    Ok(job
        .entered(tx, step, what, detail, location)
        .await?
        .into_response())
}

pub async fn reading(
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
    let corrects = !input.corrects.trim().is_empty();
    let kind = match read_at(&job, step, corrects) {
        Some(kind) => kind,
        None if step.marks == Marks::Soak => {
            return Ok(not_now(
                &job,
                step,
                input,
                "No soak stands here now, so nothing is read in it.",
            ));
        }
        None => return Err(AppError::NotFound("step")),
    };
    if let Some(why) = job.obstacle(step) {
        return Ok(not_now(&job, step, input, why));
    }
    let new = match check(&job, step, kind, &input) {
        Ok(new) => new,
        Err(errors) => return Ok(refused(&job, step, input, errors)),
    };
    // A strip in a soak is read beside it, by one.
    let second = match step.kind {
        StepKind::Reading => second_signed(&job, step, &input.second),
        _ => Ok(None),
    };
    let second = match second {
        Ok(second) => second,
        Err(why) => {
            let errors = FormErrors::only("second", why);
            return Ok(refused(&job, step, input, errors));
        }
    };
    store::insert_reading(&mut tx, job.entering(no, None), &new).await?;
    let units = job.who.site.units;
    let beyond = job
        .card
        .method
        .limits
        .iter()
        .any(|limit| limit.reading == kind && new.value.keeps(limit, units).is_err());
    // A reading beyond its limit is not passed over: its page says what that means. So does the page
    // of a soak.
    let location = if beyond || step.kind == StepKind::Timed {
        job.step_path(no)
    } else {
        job.run_path()
    };
    let detail = json!({
        "reading": kind, "value": new.value.words(units), "range": new.how, "diluted 1 in": new.diluted, "tool": new.tool, "expires": new.tool_expires_on,
        "corrects": new.corrects, "second": second,
    });
    let what = if new.corrects.is_some() {
        "reading corrected"
    } else {
        "reading taken"
    };
    Ok(job
        .entered(tx, step, what, detail, location)
        .await?
        .into_response())
}

/// What is read at a step; at a soak that stands, its peroxide.
fn read_at(job: &Job, step: &FrozenStep, corrects: bool) -> Option<ReadingKind> {
    match step.kind {
        StepKind::Reading => step.reading,
        StepKind::Timed if step.marks == Marks::Soak => {
            let standing = job.progress().standing(step);
            let stands = matches!(standing, Standing::Going { .. }) || corrects;
            stands.then_some(ReadingKind::Peroxide)
        }
        _ => None,
    }
}

/// One part in so many; not diluted where nothing is written.
fn one_in(typed: &str) -> Result<i64, String> {
    match typed.trim() {
        "" => Ok(1),
        typed => typed
            .parse::<i64>()
            .ok()
            .filter(|parts| (1..=1000).contains(parts))
            .ok_or_else(|| {
                "Write in how many parts one part of the water was, from 1 to 1000, such as 10."
                    .to_owned()
            }),
    }
}

/// The reading that was typed.
fn check(
    job: &Job,
    step: &FrozenStep,
    kind: ReadingKind,
    input: &Input,
) -> Result<NewReading, FormErrors> {
    let mut errors = FormErrors::default();
    let bound = if input.bound.is_empty() {
        Bound::Exact
    } else {
        Bound::AtMost
    };
    let milli = errors.take(
        "value",
        Measured::parse(kind, &input.value, job.who.site.units),
    );
    let with = errors.take("gauge", With::chosen(kind, &input.gauge, &job.gauges));
    let diluted = errors.take(
        "diluted",
        match kind {
            ReadingKind::Peroxide => one_in(&input.diluted),
            _ => Ok(1),
        },
    );
    let value = match (milli, with, diluted) {
        (Some(milli), Some(with), Some(diluted)) => errors
            .take("value", ranged(kind, milli, bound, diluted, with))
            .map(|ranged| (ranged, with.gauge_id(), diluted)),
        _ => None,
    };
    let tool = match input.tool.trim() {
        "" if kind.takes_strip() => {
            errors.add(
                "tool",
                "Write the lot of the strip, printed on the tube, or of the titrant.",
            );
            None
        }
        "" => Some(String::new()),
        typed => errors
            .take("tool", Name::parse(typed))
            .map(|name| name.to_string()),
    };
    let expires = errors.take(
        "tool_expires_on",
        parse_optional_day(&input.tool_expires_on),
    );
    match expires.flatten() {
        None if kind.takes_strip() && errors.on("tool_expires_on").is_empty() => {
            errors.add(
                "tool_expires_on",
                "Write the last day the strip is good for.",
            );
        }
        Some(last) if last < job.today => errors.add(
            "tool_expires_on",
            "It was no longer good today, so its reading cannot be believed. Take a fresh one.",
        ),
        _ => {}
    }
    let corrects = match input.corrects.trim() {
        "" => Some(None),
        typed => {
            let readings = &job.record.readings;
            let old = readings.iter().find(|reading| {
                reading.id.to_string() == typed
                    && reading.step_no == Some(step.no)
                    && !is_corrected(readings, reading.id)
            });
            if old.is_none() {
                errors.add(
                    "value",
                    "The reading to correct was corrected meanwhile. Look at it again.",
                );
            }
            old.map(|old| Some(old.id))
        }
    };
    match (value, tool, corrects) {
        (Some((ranged, gauge, diluted)), Some(tool), Some(corrects)) if !errors.any() => {
            Ok(NewReading {
                value: Measured::stored(kind, ranged.milli, ranged.bound, Some(ranged.span)),
                how: ranged.how,
                gauge,
                diluted,
                tool,
                tool_expires_on: expires.flatten(),
                corrects,
            })
        }
        _ => Err(errors),
    }
}
