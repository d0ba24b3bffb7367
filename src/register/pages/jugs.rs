//! The jugs of the site: a list and a form.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::{retired, version};
use crate::crew::{Role, Who};
use crate::db;
use crate::ids::JugId;
use crate::logbook::{self, Entry};
use crate::register::jugs::{Jug, JugFigures};
use crate::register::{entry, facts, store};
use crate::science::show;
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Template)]
#[template(path = "register/jugs.html")]
struct JugsPage {
    frame: Frame,
    jugs: Vec<Jug>,
    units: Units,
    may_change: bool,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    Ok(Page(JugsPage {
        frame: who.frame(Section::Systems),
        jugs: store::jugs::all(&mut conn).await?,
        units: who.site.units,
        may_change: who.is_at_least(Role::Coordinator),
    }))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    capacity: String,
    mark: String,
    version: String,
}

#[derive(Template)]
#[template(path = "register/jug.html")]
struct JugForm {
    frame: Frame,
    id: Option<JugId>,
    units: Units,
    input: Input,
    errors: FormErrors,
}

impl JugForm {
    fn new(who: &Who, id: Option<JugId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            units: who.site.units,
            input,
            errors,
        }
    }

    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }
}

impl Input {
    fn of(jug: &Jug, units: Units) -> Self {
        Self {
            name: jug.figures.name.to_string(),
            capacity: entry::typed_volume(jug.figures.capacity.volume(), units),
            mark: entry::typed_volume(jug.figures.mark.volume(), units),
            version: jug.version.to_string(),
        }
    }

    pub(in crate::register) fn check(&self, units: Units) -> Result<JugFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let capacity = errors.take(
            "capacity",
            entry::named(
                "What it holds",
                entry::volume(&self.capacity, units, 100..=20_000),
            ),
        );
        let mark = errors.take(
            "mark",
            entry::named(
                "From mark to mark",
                entry::volume(&self.mark, units, 1..=5_000),
            ),
        );
        match (name, capacity, mark) {
            (Some(name), Some(capacity), Some(mark)) => {
                let figures = JugFigures {
                    name,
                    capacity,
                    mark,
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

fn name_taken(name: &Name) -> FormErrors {
    let mut errors = FormErrors::default();
    errors.add(
        "name",
        format!("There is or was a jug called {name}. Give this one another name."),
    );
    errors
}

pub async fn new(who: Who) -> Page<impl Template> {
    Page(JugForm::new(
        &who,
        None,
        Input::default(),
        FormErrors::default(),
    ))
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let refused =
        |errors| Ok(Refused(JugForm::new(&who, None, form.input.clone(), errors)).into_response());
    let new = match form.input.check(units) {
        Ok(new) => new,
        Err(errors) => return refused(errors),
    };
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let id = match store::jugs::insert(&mut tx, who.site.id, &new).await {
        Ok(id) => id,
        Err(error) if db::taken(&error, "jug.name") => return refused(name_taken(&new.name)),
        Err(error) => return Err(error.into()),
    };
    let entry = Entry::about("jug", id.get(), new.name.as_str(), "added")
        .with(facts::all(&new.facts(units)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/jugs".to_owned(), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<JugId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let jug = store::jugs::by_id(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("jug"))?;
    if jug.retired {
        return Err(retired("jug"));
    }
    let input = Input::of(&jug, who.site.units);
    Ok(Page(JugForm::new(
        &who,
        Some(id),
        input,
        FormErrors::default(),
    )))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<JugId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let was = store::jugs::by_id(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("jug"))?;
    if was.retired {
        return Err(retired("jug"));
    }
    let refused =
        |input, errors| Ok(Refused(JugForm::new(&who, Some(id), input, errors)).into_response());
    let new = match input.check(units) {
        Ok(new) => new,
        Err(errors) => return refused(input, errors),
    };
    let (before, after) = (was.figures.facts(units), new.facts(units));
    match store::jugs::update(&mut tx, id, version(&input.version), &new).await {
        Ok(true) => {}
        Ok(false) => {
            let mut errors = FormErrors::default();
            errors.add("name", facts::differences(&before, &after));
            input.version = was.version.to_string();
            return refused(input, errors);
        }
        Err(error) if db::taken(&error, "jug.name") => {
            return refused(input, name_taken(&new.name));
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about("jug", id.get(), new.name.as_str(), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/jugs".to_owned(), now).await?.into_response())
}
