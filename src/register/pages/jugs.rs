//! The jugs of the site: a list and a form.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::named::{NamedForm, NamedInput};
use super::retired;
use crate::crew::{Role, Who};
use crate::db::WriteTx;
use crate::ids::{JugId, SiteId};
use crate::register::facts::Facts;
use crate::register::jugs::{Jug, JugFigures};
use crate::register::{entry, store};
use crate::science::show;
use crate::science::tolerances::JUG_SCALE;
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, FormErrors, Frame, Page, Section};

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
    scale_off: String,
    version: String,
}

#[derive(Debug, Template)]
#[template(path = "register/jug.html")]
pub struct JugForm {
    frame: Frame,
    id: Option<JugId>,
    units: Units,
    input: Input,
    errors: FormErrors,
}

impl NamedForm for JugForm {
    const KIND: &'static str = "jug";
    const NAMES: &'static str = "jug.name";
    const MEANWHILE: StatusCode = StatusCode::UNPROCESSABLE_ENTITY;

    type Id = JugId;
    type Row = Jug;
    type Figures = JugFigures;
    type Input = Input;

    fn new(who: &Who, id: Option<JugId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            units: who.site.units,
            input,
            errors,
        }
    }

    fn name_taken(name: &Name) -> String {
        format!("There is or was a jug called {name}. Give this one another name.")
    }

    fn onward(_id: JugId) -> String {
        "/jugs".to_owned()
    }

    fn name(figures: &JugFigures) -> &Name {
        &figures.name
    }

    fn facts(figures: &JugFigures, units: Units) -> Facts {
        figures.facts(units)
    }

    fn recorded(jug: &Jug) -> (&JugFigures, i64) {
        (&jug.figures, jug.version)
    }

    async fn in_use(conn: &mut SqliteConnection, id: JugId) -> Result<Jug, AppError> {
        let jug = store::jugs::by_id(conn, id)
            .await?
            .ok_or(AppError::NotFound("jug"))?;
        if jug.retired {
            return Err(retired("jug"));
        }
        Ok(jug)
    }

    async fn insert(tx: &mut WriteTx, site: SiteId, new: &JugFigures) -> sqlx::Result<JugId> {
        store::jugs::insert(tx, site, new).await
    }

    async fn update(
        tx: &mut WriteTx,
        id: JugId,
        version: i64,
        new: &JugFigures,
    ) -> sqlx::Result<bool> {
        store::jugs::update(tx, id, version, new).await
    }
}

impl JugForm {
    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }

    fn usual_scale(&self) -> String {
        format!(
            "By the maker's class, or by filling it on a scale. Empty: {}.",
            JUG_SCALE.of_it()
        )
    }
}

impl NamedInput<JugForm> for Input {
    fn of(jug: &Jug, units: Units) -> Self {
        Self {
            name: jug.figures.name.to_string(),
            capacity: entry::typed_volume(jug.figures.capacity.volume(), units),
            mark: entry::typed_volume(jug.figures.mark.volume(), units),
            scale_off: entry::typed_off(jug.figures.scale_off),
            version: jug.version.to_string(),
        }
    }

    fn check(&self, units: Units) -> Result<JugFigures, FormErrors> {
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
        let scale_off = errors.take("scale_off", entry::own_off(&self.scale_off, 1..=300));
        match (name, capacity, mark, scale_off) {
            (Some(name), Some(capacity), Some(mark), Some(scale_off)) => {
                let figures = JugFigures {
                    name,
                    capacity,
                    mark,
                    scale_off,
                };
                errors.settle(figures.faults(units), figures)
            }
            _ => Err(errors),
        }
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }
}
