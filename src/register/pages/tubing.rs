//! The form of a tubing run.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::checking::{self, Checks};
use super::{Options, options, retired, system_in_use, version};
use crate::crew::Who;
use crate::ids::{SystemId, TubingRunId};
use crate::logbook::{self, Entry};
use crate::register::checks::Draft;
use crate::register::systems::{System, path};
use crate::register::tubing::{TubingFigures, TubingRun};
use crate::register::{Purpose, TubeWall, entry, facts, store};
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    purpose: String,
    bore: String,
    length: String,
    rise: String,
    fittings: String,
    wall: String,
    version: String,
    /// Not empty when the form is only to be checked.
    check: String,
}

#[derive(Template)]
#[template(path = "register/tubing.html")]
struct TubingForm {
    frame: Frame,
    system: System,
    id: Option<TubingRunId>,
    units: Units,
    purposes: Options,
    walls: Options,
    input: Input,
    errors: FormErrors,
    checks: Checks,
}

impl TubingForm {
    fn new(
        who: &Who,
        system: System,
        id: Option<TubingRunId>,
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let purposes = options(Purpose::ALL, Purpose::code, |purpose| match purpose {
            Purpose::Fill => "fill: from the pump to the benches",
            Purpose::Drain => "drain: from the benches back",
            Purpose::Overflow => "overflow: from a standpipe back",
        });
        let mut walls = vec![(String::new(), "not given: reckoned as smooth".to_owned())];
        walls.extend(options(TubeWall::ALL, TubeWall::code, |wall| match wall {
            TubeWall::Smooth => "smooth",
            TubeWall::Ribbed => "ribbed, as a corrugated hose",
        }));
        Self {
            frame: who.frame(Section::Systems),
            system,
            id,
            units: who.site.units,
            purposes,
            walls,
            checks: Checks::waiting(&errors),
            input,
            errors,
        }
    }

    fn long(&self) -> &'static str {
        entry::long(self.units).symbol()
    }

    fn short(&self) -> &'static str {
        entry::short(self.units).symbol()
    }
}

impl Input {
    fn of(run: &TubingRun, units: Units) -> Self {
        let (figures, long) = (&run.figures, entry::long(units));
        Self {
            name: figures.name.to_string(),
            purpose: figures.purpose.to_string(),
            bore: entry::typed_length(figures.bore.length(), entry::short(units)),
            length: entry::typed_length(figures.length.length(), long),
            rise: figures
                .rise
                .map(|rise| entry::typed_length(rise.length(), long))
                .unwrap_or_default(),
            fittings: figures
                .fittings
                .map(|losses| losses.k().to_string())
                .unwrap_or_default(),
            wall: figures
                .wall
                .map(|wall| wall.to_string())
                .unwrap_or_default(),
            version: run.version.to_string(),
            check: String::new(),
        }
    }

    pub(in crate::register) fn check(&self, units: Units) -> Result<TubingFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let long = entry::long(units);
        let name = errors.take("name", Name::parse(&self.name));
        let purpose = errors.take(
            "purpose",
            Purpose::from_code(&self.purpose).ok_or("Choose what it is for."),
        );
        let bore = errors.take(
            "bore",
            entry::named("Bore", entry::bore(&self.bore, units, 2..=300)),
        );
        let length = errors.take(
            "length",
            entry::named(
                "Length",
                entry::length(&self.length, long, units, 10..=500_000),
            ),
        );
        let rise = entry::optional(&self.rise, |typed| {
            entry::length(typed, long, units, 0..=10_000)
        });
        let rise = errors.take("rise", entry::named("Rise", rise));
        let fittings = errors.take(
            "fittings",
            entry::named("Fittings", entry::optional(&self.fittings, entry::fittings)),
        );
        let wall = entry::optional(&self.wall, |typed| {
            TubeWall::from_code(typed).ok_or_else(|| "Choose what its wall is like.".to_owned())
        });
        let wall = errors.take("wall", wall);
        match (name, purpose, (bore, length, rise), fittings, wall) {
            (
                Some(name),
                Some(purpose),
                (Some(bore), Some(length), Some(rise)),
                Some(fittings),
                Some(wall),
            ) => {
                let figures = TubingFigures {
                    name,
                    purpose,
                    bore,
                    length,
                    rise,
                    fittings,
                    wall,
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

async fn in_use(
    conn: &mut SqliteConnection,
    id: TubingRunId,
) -> Result<(System, TubingRun), AppError> {
    let run = store::tubing::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("tubing run"))?;
    if run.retired {
        return Err(retired("tubing run"));
    }
    Ok((system_in_use(conn, run.system_id).await?, run))
}

fn subject(system: &System, run: &TubingFigures) -> String {
    format!("{}, {}", system.figures.name, run.name)
}

pub async fn new(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_in_use(&mut conn, system).await?;
    let input = Input {
        name: "Fill".to_owned(),
        purpose: Purpose::Fill.to_string(),
        ..Input::default()
    };
    Ok(Page(TubingForm::new(
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
    id: Option<TubingRunId>,
    input: Input,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let figures = match input.check(units) {
        Ok(figures) => figures,
        Err(errors) => {
            return Ok(Refused(TubingForm::new(who, system, id, input, errors)).into_response());
        }
    };
    let checks = checking::with(conn, system.id, Draft::Tubing(id, figures), units).await?;
    let mut form = TubingForm::new(who, system, id, input, FormErrors::default());
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
                Refused(TubingForm::new(&who, system, None, form.input, errors)).into_response(),
            );
        }
    };
    let id = store::tubing::insert(&mut tx, system.id, &new).await?;
    let entry = Entry::about("tubing", id.get(), subject(&system, &new), "added")
        .with(facts::all(&new.facts(units)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<TubingRunId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (system, run) = in_use(&mut conn, id).await?;
    let input = Input::of(&run, who.site.units);
    let draft = Draft::Tubing(Some(id), run.figures);
    let checks = checking::with(&mut conn, system.id, draft, who.site.units).await?;
    let mut form = TubingForm::new(&who, system, Some(id), input, FormErrors::default());
    form.checks = checks;
    Ok(Page(form))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<TubingRunId>,
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
                Refused(TubingForm::new(&who, system, Some(id), input, errors)).into_response(),
            );
        }
    };
    let (before, after) = (was.figures.facts(units), new.facts(units));
    if !store::tubing::update(&mut tx, &was, version(&input.version), &new).await? {
        let mut errors = FormErrors::default();
        errors.add("name", facts::differences(&before, &after));
        input.version = was.version.to_string();
        return Ok(Refused(TubingForm::new(&who, system, Some(id), input, errors)).into_response());
    }
    let entry = Entry::about("tubing", id.get(), subject(&system, &new), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}
