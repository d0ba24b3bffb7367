//! Moving a turnover: the effect is shown first, then the new days are saved with the reason.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::{Found, day_or, find, local, path, typed};
use crate::clock::Moment;
use crate::crew::Who;
use crate::crops::form::read_turnover;
use crate::crops::{self, Turnover};
use crate::ids::PlantingId;
use crate::logbook;
use crate::state::App;
use crate::text::Note;
use crate::turnovers::effect;
use crate::web::{AppError, Effect, Form, FormErrors, Frame, Page, Refused, Section, TakesEffects};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    turnover_on: String,
    next_on: String,
    next_crop: String,
    reason: String,
    version: String,
    /// The days whose effect was shown; only these are saved.
    shown: String,
}

impl Input {
    fn shown(turnover: &Turnover) -> String {
        format!("{} {}", typed(turnover.off_on), typed(turnover.next_on))
    }

    fn check(&self, found: &Found) -> Result<(Turnover, Note), FormErrors> {
        let mut errors = FormErrors::default();
        let planting = &found.planting;
        let days = [
            self.turnover_on.as_str(),
            self.next_on.as_str(),
            self.next_crop.as_str(),
        ];
        let turnover = read_turnover(&mut errors, Some(planting.planted_on), days);
        let reason = errors.take("reason", Note::parse_reason(&self.reason));
        if let Some(turnover) = &turnover {
            if *turnover == planting.turnover() && !errors.any() {
                errors.add("turnover_on", "These are the days it has now.");
            }
            // What came off keeps the day it was to come off: only the next planting still moves.
            if planting.is_off() && turnover.off_on != planting.turnover_on {
                errors.add("turnover_on", "The crop is off, so this day stays.");
            }
        }
        match (turnover, reason) {
            (Some(turnover), Some(reason)) if !errors.any() => Ok((turnover, reason)),
            _ => Err(errors),
        }
    }
}

#[derive(Debug, Template)]
#[template(path = "turnovers/move.html")]
pub struct MovePage {
    frame: Frame,
    title: String,
    back: String,
    was_off: String,
    was_next: String,
    input: Input,
    errors: FormErrors,
    /// What saving does; empty until the new days were looked at.
    effects: Vec<Effect>,
    /// What it does to the plan.
    plan: Vec<Effect>,
}

impl TakesEffects for MovePage {
    fn with(self, plan: Vec<Effect>) -> Self {
        Self { plan, ..self }
    }
}

impl MovePage {
    fn new(who: &Who, found: &Found, input: Input) -> Self {
        let planting = &found.planting;
        Self {
            frame: who.frame(Section::Turnovers),
            title: format!("{}, {}", found.stand.name(), planting.crop),
            back: path(planting.id),
            was_off: day_or(planting.turnover_on, "no end date"),
            was_next: day_or(planting.next_on, "no day yet"),
            input,
            errors: FormErrors::default(),
            effects: Vec::new(),
            plan: Vec::new(),
        }
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlantingId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let found = find(&mut conn, &who.site, app.clock.now(), id).await?;
    let planting = &found.planting;
    let input = Input {
        turnover_on: typed(planting.turnover_on),
        next_on: typed(planting.next_on),
        next_crop: planting
            .next_crop
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        version: planting.version.to_string(),
        ..Input::default()
    };
    Ok(Page(MovePage::new(&who, &found, input)))
}

/// The page with what the new days do to the system, and the days, where these were not shown yet; nothing where
/// they were, or where saving has something to complain of.
pub async fn looked(
    conn: &mut SqliteConnection,
    who: &Who,
    now: Moment,
    id: PlantingId,
    input: &Input,
) -> Result<Option<(MovePage, Turnover)>, AppError> {
    let found = find(conn, &who.site, now, id).await?;
    let Ok((turnover, _)) = input.check(&found) else {
        return Ok(None);
    };
    let meanwhile = input.version != found.planting.version.to_string();
    if meanwhile || input.shown == Input::shown(&turnover) {
        return Ok(None);
    }
    let mut page = MovePage::new(who, &found, input.clone());
    page.effects = effect::of_move(
        &found.stand,
        &found.planting,
        &turnover,
        local(&who.site, now),
    );
    page.input.shown = Input::shown(&turnover);
    Ok(Some((page, turnover)))
}

/// Saves days that were looked at.
pub async fn save(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlantingId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let found = find(tx.conn(), &who.site, now, id).await?;
    let mut page = MovePage::new(&who, &found, form.input.clone());
    let (turnover, reason) = match form.input.check(&found) {
        Ok(checked) => checked,
        Err(errors) => {
            page.errors = errors;
            return Ok(Refused(page).into_response());
        }
    };
    if form.input.version != found.planting.version.to_string() {
        page.errors.add(
            "turnover_on",
            format!(
                "Somebody moved it meanwhile. It now comes off: {}; next on: {}. Look at your days again.",
                page.was_off, page.was_next
            ),
        );
        page.input.version = found.planting.version.to_string();
        page.input.shown = String::new();
        return Ok(Refused(page).into_response());
    }
    if form.input.shown != Input::shown(&turnover) {
        return Err(found.changed_meanwhile());
    }
    let planting = &found.planting;
    let by = Some(who.id);
    if !crops::store::move_turnover(&mut tx, planting, &turnover, &reason, by, now).await? {
        return Err(found.changed_meanwhile());
    }
    let detail = json!({
        "turnover": turnover.off_on,
        "turnover was": planting.turnover_on,
        "next planting": turnover.next_on,
        "next planting was": planting.next_on,
        "next crop": turnover.next_crop,
        "reason": reason,
    });
    let entry = found.entry("turnover moved").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
