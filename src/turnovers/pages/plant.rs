//! An intended planting goes on, when its system is released for it, or is dropped.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::{Found, find, path};
use crate::crew::Who;
use crate::crops;
use crate::crops::standing::may_plant;
use crate::ids::PlantingId;
use crate::logbook;
use crate::state::App;
use crate::text::{Note, parse_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    planted_on: String,
}

#[derive(Template)]
#[template(path = "turnovers/plant.html")]
struct PlantPage {
    frame: Frame,
    title: String,
    back: String,
    /// What is missing before anything may be planted.
    missing: String,
    /// The clean-out that stands in the way: its number and its address.
    cleanout: Option<(String, String)>,
    input: Input,
    errors: FormErrors,
}

impl PlantPage {
    fn new(who: &Who, found: &Found, input: Input, errors: FormErrors) -> Self {
        let open = found.stand.open();
        Self {
            frame: who.frame(Section::Turnovers),
            title: format!("{}, {}", found.stand.name(), found.planting.crop),
            back: path(found.planting.id),
            missing: may_plant(&found.stand.facts()).err().unwrap_or_default(),
            cleanout: open.map(|open| (open.number.clone(), open.path())),
            input,
            errors,
        }
    }
}

fn intended_only(found: &Found) -> Result<(), AppError> {
    if found.planting.is_intended() {
        return Ok(());
    }
    Err(AppError::Conflict(format!(
        "{} is {} already.",
        found.subject(),
        found.planting.stage
    )))
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlantingId>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let found = find(&mut conn, &who.site, now, id).await?;
    intended_only(&found)?;
    let input = Input {
        planted_on: who.site.today(now).to_string(),
    };
    Ok(Page(PlantPage::new(
        &who,
        &found,
        input,
        FormErrors::default(),
    )))
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlantingId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let found = find(tx.conn(), &who.site, now, id).await?;
    intended_only(&found)?;
    let mut errors = FormErrors::default();
    let day = errors.take("planted_on", day(&form.input, &found, who.site.today(now)));
    let release = errors.take("planted_on", may_plant(&found.stand.facts()));
    let (Some(day), Some(release)) = (day, release) else {
        return Ok(Refused(PlantPage::new(&who, &found, form.input, errors)).into_response());
    };
    if !crops::store::plant(&mut tx, &found.planting, day, release).await? {
        return Err(found.changed_meanwhile());
    }
    let detail = json!({ "planted": day, "after clean-out": release });
    logbook::write(
        &mut tx,
        &who.author(),
        found.entry("planted").with(detail),
        now,
    )
    .await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}

fn day(input: &Input, found: &Found, today: NaiveDate) -> Result<NaiveDate, String> {
    let day = parse_day(&input.planted_on)?;
    match found.planting.turnover_on {
        _ if day > today => Err("This day is still to come: plant it first.".to_owned()),
        Some(off) if day > off => {
            Err("Its turnover lies before this day. Move the turnover first.".to_owned())
        }
        _ => Ok(day),
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Dropped {
    reason: String,
}

/// An intended planting will not be.
pub async fn drop_intended(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlantingId>,
    form: Form<Dropped>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let found = find(tx.conn(), &who.site, now, id).await?;
    intended_only(&found)?;
    let reason = Note::parse(&form.input.reason).map_err(AppError::Unreadable)?;
    if !crops::store::drop_intended(&mut tx, &found.planting).await? {
        return Err(found.changed_meanwhile());
    }
    let entry = found.entry("dropped").with(json!({ "reason": reason }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/turnovers".to_owned(), now)
        .await?
        .into_response())
}
