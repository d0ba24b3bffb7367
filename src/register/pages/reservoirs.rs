//! The form of a reservoir.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::checking::{self, Checks};
use super::{Options, options, retired, system_in_use, version};
use crate::crew::Who;
use crate::db;
use crate::ids::{ReservoirId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::checks::Draft;
use crate::register::reservoirs::{Reservoir, ReservoirFigures};
use crate::register::systems::{System, path};
use crate::register::{HeelKnown, entry, facts, store};
use crate::science::units::Units;
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    capacity: String,
    length: String,
    width: String,
    height: String,
    heel: String,
    heel_known: String,
    pump_need: String,
    version: String,
    /// Not empty when the form is only to be checked.
    check: String,
}

#[derive(Template)]
#[template(path = "register/reservoir.html")]
struct ReservoirForm {
    frame: Frame,
    system: System,
    id: Option<ReservoirId>,
    units: Units,
    heel_words: Options,
    input: Input,
    errors: FormErrors,
    checks: Checks,
}

impl ReservoirForm {
    fn new(
        who: &Who,
        system: System,
        id: Option<ReservoirId>,
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let heel_words = options(HeelKnown::ALL, HeelKnown::code, |known| match known {
            HeelKnown::Measured => "measured with a jug",
            HeelKnown::Usual => "a guess, not measured",
        });
        Self {
            frame: who.frame(Section::Systems),
            system,
            id,
            units: who.site.units,
            heel_words,
            checks: Checks::waiting(&errors),
            input,
            errors,
        }
    }

    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }

    fn short(&self) -> &'static str {
        entry::short(self.units).symbol()
    }
}

impl Input {
    fn of(figures: &ReservoirFigures, version: i64, units: Units) -> Self {
        let short = entry::short(units);
        let length = |whole: Option<crate::science::stored::Millimetres>| {
            whole
                .map(|whole| entry::typed_length(whole.length(), short))
                .unwrap_or_default()
        };
        Self {
            capacity: entry::typed_volume(figures.capacity.volume(), units),
            length: length(figures.plan.map(|plan| plan.0)),
            width: length(figures.plan.map(|plan| plan.1)),
            height: length(figures.height),
            heel: entry::typed_volume(figures.heel.volume(), units),
            heel_known: figures.heel_known.to_string(),
            pump_need: entry::typed_volume(figures.pump_need.volume(), units),
            version: version.to_string(),
            check: String::new(),
        }
    }

    pub(in crate::register) fn check(&self, units: Units) -> Result<ReservoirFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let short = entry::short(units);
        let capacity = errors.take(
            "capacity",
            entry::named(
                "What it takes",
                entry::volume(&self.capacity, units, 1_000..=100_000_000),
            ),
        );
        let plan = |typed: &str| {
            entry::optional(typed, |typed| {
                entry::length(typed, short, units, 50..=20_000)
            })
        };
        let length = errors.take("length", entry::named("Length", plan(&self.length)));
        let width = errors.take("width", entry::named("Width", plan(&self.width)));
        let height = entry::optional(&self.height, |typed| {
            entry::length(typed, short, units, 50..=10_000)
        });
        let height = errors.take("height", entry::named("Height", height));
        let heel = errors.take(
            "heel",
            entry::named("Heel", entry::volume(&self.heel, units, 0..=100_000_000)),
        );
        let heel_known =
            HeelKnown::from_code(&self.heel_known).ok_or("Choose how the heel is known.");
        let heel_known = errors.take("heel_known", heel_known);
        let pump_need = errors.take(
            "pump_need",
            entry::named(
                "Water over the heel",
                entry::volume(&self.pump_need, units, 0..=100_000_000),
            ),
        );
        match (length, width) {
            (Some(Some(_)), Some(None)) => errors.add(
                "width",
                "Give the width too, or neither: level marks need both.",
            ),
            (Some(None), Some(Some(_))) => errors.add(
                "length",
                "Give the length too, or neither: level marks need both.",
            ),
            _ => {}
        }
        match (capacity, length, width, height, heel, heel_known, pump_need) {
            (
                Some(capacity),
                Some(length),
                Some(width),
                Some(height),
                Some(heel),
                Some(heel_known),
                Some(pump_need),
            ) if !errors.any() => {
                let figures = ReservoirFigures {
                    plan: length.zip(width),
                    height,
                    capacity,
                    pump_need,
                    heel,
                    heel_known,
                };
                for (field, fault) in figures.faults(units) {
                    errors.add(field, fault);
                }
                if errors.any() {
                    Err(errors)
                } else {
                    Ok(figures)
                }
            }
            _ => Err(errors),
        }
    }
}

fn has_one(system: &System) -> AppError {
    AppError::Conflict(format!(
        "{} has a reservoir. Change that one, or retire it first.",
        system.figures.name
    ))
}

async fn in_use(
    conn: &mut SqliteConnection,
    id: ReservoirId,
) -> Result<(System, Reservoir), AppError> {
    let reservoir = store::reservoirs::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("reservoir"))?;
    if reservoir.retired {
        return Err(retired("reservoir"));
    }
    Ok((system_in_use(conn, reservoir.system_id).await?, reservoir))
}

pub async fn new(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_in_use(&mut conn, system).await?;
    if store::reservoirs::of_system(&mut conn, system.id)
        .await?
        .iter()
        .any(|one| !one.retired)
    {
        return Err(has_one(&system));
    }
    let input = Input {
        heel_known: HeelKnown::Measured.to_string(),
        ..Input::default()
    };
    Ok(Page(ReservoirForm::new(
        &who,
        system,
        None,
        input,
        FormErrors::default(),
    )))
}

/// The form again with its checks; nothing is written.
async fn checked(
    conn: &mut SqliteConnection,
    who: &Who,
    system: System,
    id: Option<ReservoirId>,
    input: Input,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let figures = match input.check(units) {
        Ok(figures) => figures,
        Err(errors) => {
            return Ok(Refused(ReservoirForm::new(who, system, id, input, errors)).into_response());
        }
    };
    let checks = checking::with(conn, system.id, Draft::Reservoir(id, figures), units).await?;
    let mut form = ReservoirForm::new(who, system, id, input, FormErrors::default());
    form.checks = checks;
    Ok(Page(form).into_response())
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    if !form.input.check.is_empty() {
        let mut conn = app.db.read().await?;
        let system = system_in_use(&mut conn, system).await?;
        return checked(&mut conn, &who, system, None, form.input).await;
    }
    let units = who.site.units;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_in_use(tx.conn(), system).await?;
    let new = match form.input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(
                Refused(ReservoirForm::new(&who, system, None, form.input, errors)).into_response(),
            );
        }
    };
    let id = match store::reservoirs::insert(&mut tx, system.id, &new).await {
        Ok(id) => id,
        Err(error) if db::taken(&error, "reservoir.system_id") => return Err(has_one(&system)),
        Err(error) => return Err(error.into()),
    };
    let subject = format!("{}, reservoir", system.figures.name);
    let entry =
        Entry::about("reservoir", id.get(), subject, "added").with(facts::all(&new.facts(units)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ReservoirId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (system, was) = in_use(&mut conn, id).await?;
    let input = Input::of(&was.figures, was.version, who.site.units);
    let draft = Draft::Reservoir(Some(id), was.figures);
    let checks = checking::with(&mut conn, system.id, draft, who.site.units).await?;
    let mut form = ReservoirForm::new(&who, system, Some(id), input, FormErrors::default());
    form.checks = checks;
    Ok(Page(form))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ReservoirId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    if !form.input.check.is_empty() {
        let mut conn = app.db.read().await?;
        let (system, _) = in_use(&mut conn, id).await?;
        return checked(&mut conn, &who, system, Some(id), form.input).await;
    }
    let units = who.site.units;
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (system, was) = in_use(tx.conn(), id).await?;
    let new = match input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(
                Refused(ReservoirForm::new(&who, system, Some(id), input, errors)).into_response(),
            );
        }
    };
    let (before, after) = (was.figures.facts(units), new.facts(units));
    if !store::reservoirs::update(&mut tx, &was, version(&input.version), &new).await? {
        let mut errors = FormErrors::default();
        errors.add("capacity", facts::differences(&before, &after));
        input.version = was.version.to_string();
        return Ok(
            Refused(ReservoirForm::new(&who, system, Some(id), input, errors)).into_response(),
        );
    }
    let subject = format!("{}, reservoir", system.figures.name);
    let entry = Entry::about("reservoir", id.get(), subject, "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}
