//! The form of a room.

use askama::Template;
use axum::http::StatusCode;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::named::{NamedForm, NamedInput};
use super::retired;
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::{RoomId, SiteId};
use crate::register::facts::Facts;
use crate::register::rooms::{Room, RoomFigures};
use crate::register::{entry, store};
use crate::science::stored::{ChangesPerDay, CubicMetres};
use crate::science::units::Units;
use crate::text::{Name, Note};
use crate::web::{AppError, FormErrors, Frame, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    air: String,
    air_changes: String,
    soak_air: String,
    version: String,
}

#[derive(Debug, Template)]
#[template(path = "register/room.html")]
pub struct RoomForm {
    frame: Frame,
    id: Option<RoomId>,
    input: Input,
    errors: FormErrors,
}

impl NamedForm for RoomForm {
    const KIND: &'static str = "room";
    const NAMES: &'static str = "room.name";
    const MEANWHILE: StatusCode = StatusCode::UNPROCESSABLE_ENTITY;

    type Id = RoomId;
    type Row = Room;
    type Figures = RoomFigures;
    type Input = Input;

    fn new(who: &Who, id: Option<RoomId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            input,
            errors,
        }
    }

    fn name_taken(name: &Name) -> String {
        format!("There is or was a room called {name}. Give this one another name.")
    }

    fn onward(_id: RoomId) -> String {
        "/systems".to_owned()
    }

    fn name(figures: &RoomFigures) -> &Name {
        &figures.name
    }

    fn facts(figures: &RoomFigures, _units: Units) -> Facts {
        figures.facts()
    }

    fn recorded(room: &Room) -> (&RoomFigures, i64) {
        (&room.figures, room.version)
    }

    async fn in_use(conn: &mut SqliteConnection, id: RoomId) -> Result<Room, AppError> {
        in_use(conn, id).await
    }

    async fn insert(tx: &mut WriteTx, site: SiteId, new: &RoomFigures) -> sqlx::Result<RoomId> {
        store::rooms::insert(tx, site, new).await
    }

    async fn update(
        tx: &mut WriteTx,
        id: RoomId,
        version: i64,
        new: &RoomFigures,
    ) -> sqlx::Result<bool> {
        store::rooms::update(tx, id, version, new).await
    }
}

impl NamedInput<RoomForm> for Input {
    fn of(room: &Room, _units: Units) -> Self {
        let figures = &room.figures;
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
            soak_air: figures.soak_air.to_string(),
            version: room.version.to_string(),
        }
    }

    fn check(&self, _units: Units) -> Result<RoomFigures, FormErrors> {
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
        let soak_air = errors.take("soak_air", soak_air(&self.soak_air));
        match (name, air, air_changes, soak_air) {
            (Some(name), Some(air), Some(air_changes), Some(soak_air)) => Ok(RoomFigures {
                name,
                air,
                air_changes,
                soak_air,
            }),
            _ => Err(errors),
        }
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }
}

/// A word is not enough for a room to be open to others while solution stands in it.
fn soak_air(typed: &str) -> Result<Note, String> {
    let note = Note::parse(typed)?;
    match note.as_str().chars().count() {
        1..20 => Err("Write who says so, when, and what was measured.".to_owned()),
        _ => Ok(note),
    }
}

pub(super) async fn found(conn: &mut SqliteConnection, id: RoomId) -> Result<Room, AppError> {
    store::rooms::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("room"))
}

pub(super) async fn in_use(conn: &mut SqliteConnection, id: RoomId) -> Result<Room, AppError> {
    let room = found(conn, id).await?;
    if room.retired {
        return Err(retired("room"));
    }
    Ok(room)
}
