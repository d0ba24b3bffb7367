//! The form of a system: its room, its name, a note.

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::{Options, system_in_use, version};
use crate::crew::Who;
use crate::db;
use crate::ids::{RoomId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::rooms::Room;
use crate::register::systems::{SystemFigures, path};
use crate::register::{facts, store};
use crate::state::App;
use crate::text::{Name, Note};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    room: String,
    name: String,
    note: String,
    version: String,
}

#[derive(Template)]
#[template(path = "register/system_form.html")]
struct SystemForm {
    frame: Frame,
    id: Option<SystemId>,
    rooms: Options,
    input: Input,
    errors: FormErrors,
}

impl SystemForm {
    fn new(
        who: &Who,
        id: Option<SystemId>,
        rooms: &[Room],
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let rooms = rooms
            .iter()
            .map(|room| (room.id.to_string(), room.figures.name.to_string()))
            .collect();
        Self {
            frame: who.frame(Section::Systems),
            id,
            rooms,
            input,
            errors,
        }
    }
}

impl Input {
    fn check<'a>(&self, rooms: &'a [Room]) -> Result<(SystemFigures, &'a Room), FormErrors> {
        let mut errors = FormErrors::default();
        let room = rooms.iter().find(|room| room.id.to_string() == self.room);
        let room = errors.take("room", room.ok_or("Choose the room that it stands in."));
        let name = errors.take("name", Name::parse(&self.name));
        let note = errors.take("note", Note::parse(&self.note));
        match (room, name, note) {
            (Some(room), Some(name), Some(note)) => Ok((
                SystemFigures {
                    room_id: room.id,
                    name,
                    note,
                },
                room,
            )),
            _ => Err(errors),
        }
    }
}

async fn rooms_in_use(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Room>> {
    let mut rooms = store::rooms::all(conn).await?;
    rooms.retain(|room| !room.retired);
    Ok(rooms)
}

fn name_taken(name: &Name) -> FormErrors {
    FormErrors::only(
        "name",
        format!(
            "There is or was a system called {name}. Records point at it, so give this one another name."
        ),
    )
}

#[derive(Debug, Default, Deserialize)]
pub struct Asked {
    room: Option<RoomId>,
}

pub async fn new(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let rooms = rooms_in_use(&mut conn).await?;
    let room = asked.room.or_else(|| rooms.first().map(|room| room.id));
    let input = Input {
        room: room.map(|room| room.to_string()).unwrap_or_default(),
        ..Input::default()
    };
    Ok(Page(SystemForm::new(
        &who,
        None,
        &rooms,
        input,
        FormErrors::default(),
    )))
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let rooms = rooms_in_use(tx.conn()).await?;
    let refused = |errors| {
        Ok(Refused(SystemForm::new(
            &who,
            None,
            &rooms,
            form.input.clone(),
            errors,
        ))
        .into_response())
    };
    let (new, room) = match form.input.check(&rooms) {
        Ok(checked) => checked,
        Err(errors) => return refused(errors),
    };
    let id = match store::systems::insert(&mut tx, &new, now).await {
        Ok(id) => id,
        Err(error) if db::taken(&error, "system.name") => return refused(name_taken(&new.name)),
        Err(error) => return Err(error.into()),
    };
    let entry = Entry::about("system", id.get(), new.name.as_str(), "added")
        .with(facts::all(&new.facts(&room.figures.name)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_in_use(&mut conn, id).await?;
    let rooms = rooms_in_use(&mut conn).await?;
    let input = Input {
        room: system.figures.room_id.to_string(),
        name: system.figures.name.to_string(),
        note: system.figures.note.to_string(),
        version: system.version.to_string(),
    };
    Ok(Page(SystemForm::new(
        &who,
        Some(id),
        &rooms,
        input,
        FormErrors::default(),
    )))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let was = system_in_use(tx.conn(), id).await?;
    let rooms = rooms_in_use(tx.conn()).await?;
    let refused = |input, errors| {
        Ok(Refused(SystemForm::new(&who, Some(id), &rooms, input, errors)).into_response())
    };
    let (new, room) = match input.check(&rooms) {
        Ok(checked) => checked,
        Err(errors) => return refused(input, errors),
    };
    let (before, after) = (
        was.figures.facts(&was.room_name),
        new.facts(&room.figures.name),
    );
    match store::systems::update(&mut tx, id, version(&input.version), &new).await {
        Ok(true) => {}
        Ok(false) => {
            let errors = FormErrors::only("name", facts::differences(&before, &after));
            input.version = was.version.to_string();
            return refused(input, errors);
        }
        Err(error) if db::taken(&error, "system.name") => {
            return refused(input, name_taken(&new.name));
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about("system", id.get(), new.name.as_str(), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
