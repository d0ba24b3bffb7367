//! A crop comes off.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::{Found, day_or, find, path};
use crate::crew::Who;
use crate::crops;
use crate::ids::PlantingId;
use crate::logbook;
use crate::state::App;
use crate::text::parse_day;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    off_on: String,
}

impl Input {
    fn check(&self, planted_on: NaiveDate, today: NaiveDate) -> Result<NaiveDate, FormErrors> {
        let mut errors = FormErrors::default();
        let day = errors.take("off_on", parse_day(&self.off_on));
        if let Some(day) = day {
            if day > today {
                errors.add(
                    "off_on",
                    "This day is still to come. To plan it, move the turnover.",
                );
            } else if day < planted_on {
                errors.add("off_on", "The crop cannot come off before it was planted.");
            }
        }
        day.filter(|_| !errors.any()).ok_or(errors)
    }
}

#[derive(Template)]
#[template(path = "turnovers/off.html")]
struct OffPage {
    frame: Frame,
    title: String,
    back: String,
    planned: String,
    input: Input,
    errors: FormErrors,
}

impl OffPage {
    fn new(who: &Who, found: &Found, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Turnovers),
            title: format!("{}, {}", found.stand.name(), found.planting.crop),
            back: path(found.planting.id),
            planned: day_or(found.planting.turnover_on, "no day: cut and come again"),
            input,
            errors,
        }
    }
}

fn growing_only(found: &Found) -> Result<(), AppError> {
    if found.planting.is_growing() {
        return Ok(());
    }
    Err(AppError::Conflict(format!(
        "{} is {}, so it cannot come off.",
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
    growing_only(&found)?;
    let input = Input {
        off_on: who.site.today(now).to_string(),
    };
    Ok(Page(OffPage::new(
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
    growing_only(&found)?;
    let planting = &found.planting;
    let day = match form.input.check(planting.planted_on, who.site.today(now)) {
        Ok(day) => day,
        Err(errors) => {
            return Ok(Refused(OffPage::new(&who, &found, form.input, errors)).into_response());
        }
    };
    if !crops::store::take_off(&mut tx, planting, day).await? {
        return Err(found.changed_meanwhile());
    }
    let detail = json!({ "off": day, "planned": planting.turnover_on });
    let entry = found.entry("crop off").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
