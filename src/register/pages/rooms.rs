//! The form of a room.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::{retired, version};
use crate::crew::Who;
use crate::db;
use crate::ids::RoomId;
use crate::logbook::{self, Entry};
use crate::register::rooms::RoomFigures;
use crate::register::{entry, facts, store};
use crate::science::stored::{ChangesPerDay, CubicMetres};
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    air: String,
    air_changes: String,
    version: String,
}

#[derive(Template)]
#[template(path = "register/room.html")]
struct RoomForm {
    frame: Frame,
    id: Option<RoomId>,
    input: Input,
    errors: FormErrors,
}

impl RoomForm {
    fn new(who: &Who, id: Option<RoomId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            input,
            errors,
        }
    }
}

impl Input {
    fn of(figures: &RoomFigures, version: i64) -> Self {
        Self {
            name: figures.name.to_string(),
            air: figures
                .air
                .map(|air| air.get().to_string())
                .unwrap_or_default(),
            air_changes: figures
                .air_changes
                .map(|changes| changes.get().to_string())
                .unwrap_or_default(),
            version: version.to_string(),
        }
    }

    pub(in crate::register) fn check(&self) -> Result<RoomFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let air = entry::optional(&self.air, |typed| {
            let whole = entry::count(typed, CubicMetres::LEAST..=CubicMetres::MOST)?;
            CubicMetres::new(whole).map_err(|error| error.to_string())
        });
        let air = errors.take("air", entry::named("Air in it", air));
        let changes = entry::optional(&self.air_changes, |typed| {
            let whole = entry::count(typed, ChangesPerDay::LEAST..=ChangesPerDay::MOST)?;
            ChangesPerDay::new(whole).map_err(|error| error.to_string())
        });
        let air_changes = errors.take("air_changes", entry::named("Air changes", changes));
        match (name, air, air_changes) {
            (Some(name), Some(air), Some(air_changes)) => Ok(RoomFigures {
                name,
                air,
                air_changes,
            }),
            _ => Err(errors),
        }
    }
}

fn name_taken(name: &Name) -> FormErrors {
    let mut errors = FormErrors::default();
    errors.add(
        "name",
        format!("There is or was a room called {name}. Give this one another name."),
    );
    errors
}

pub async fn new(who: Who) -> Page<impl Template> {
    Page(RoomForm::new(
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
    let refused =
        |errors| Ok(Refused(RoomForm::new(&who, None, form.input.clone(), errors)).into_response());
    let new = match form.input.check() {
        Ok(new) => new,
        Err(errors) => return refused(errors),
    };
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let id = match store::rooms::insert(&mut tx, who.site.id, &new).await {
        Ok(id) => id,
        Err(error) if db::taken(&error, "room.name") => return refused(name_taken(&new.name)),
        Err(error) => return Err(error.into()),
    };
    let entry =
        Entry::about("room", id.get(), new.name.as_str(), "added").with(facts::all(&new.facts()));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/systems".to_owned(), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<RoomId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let room = store::rooms::by_id(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("room"))?;
    if room.retired {
        return Err(retired("room"));
    }
    let input = Input::of(&room.figures, room.version);
    Ok(Page(RoomForm::new(
        &who,
        Some(id),
        input,
        FormErrors::default(),
    )))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<RoomId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let was = store::rooms::by_id(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("room"))?;
    if was.retired {
        return Err(retired("room"));
    }
    let new = match input.check() {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(RoomForm::new(&who, Some(id), input, errors)).into_response());
        }
    };
    match store::rooms::update(&mut tx, id, version(&input.version), &new).await {
        Ok(true) => {}
        Ok(false) => {
            let mut errors = FormErrors::default();
            errors.add(
                "name",
                facts::differences(&was.figures.facts(), &new.facts()),
            );
            input.version = was.version.to_string();
            return Ok(Refused(RoomForm::new(&who, Some(id), input, errors)).into_response());
        }
        Err(error) if db::taken(&error, "room.name") => {
            let errors = name_taken(&new.name);
            return Ok(Refused(RoomForm::new(&who, Some(id), input, errors)).into_response());
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about("room", id.get(), new.name.as_str(), "changed")
        .with(facts::changes(&was.figures.facts(), &new.facts()));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/systems".to_owned(), now).await?.into_response())
}
