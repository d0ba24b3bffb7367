//! The strips and pens of the site: a list and a form.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::named::{NamedForm, NamedInput};
use super::{Options, options, retired};
use crate::crew::{Role, Who};
use crate::db::WriteTx;
use crate::ids::{GaugeId, SiteId};
use crate::register::facts::Facts;
use crate::register::gauges::{
    Gauge, GaugeFigures, GaugeKind, colours_text, parse_colours, thousandths,
};
use crate::register::{entry, store};
use crate::science::parse;
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, FormErrors, Frame, Page, Section};

#[derive(Template)]
#[template(path = "register/gauges.html")]
struct GaugesPage {
    frame: Frame,
    gauges: Vec<Gauge>,
    may_change: bool,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    Ok(Page(GaugesPage {
        frame: who.frame(Section::Systems),
        gauges: store::gauges::all(&mut conn).await?,
        may_change: who.is_at_least(Role::Coordinator),
    }))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    kind: String,
    colours: String,
    off: String,
    version: String,
}

#[derive(Debug, Template)]
#[template(path = "register/gauge.html")]
pub struct GaugeForm {
    frame: Frame,
    id: Option<GaugeId>,
    kinds: Options,
    input: Input,
    errors: FormErrors,
}

impl NamedForm for GaugeForm {
    const KIND: &'static str = "gauge";
    const NAMES: &'static str = "gauge.name";
    const MEANWHILE: StatusCode = StatusCode::UNPROCESSABLE_ENTITY;

    type Id = GaugeId;
    type Row = Gauge;
    type Figures = GaugeFigures;
    type Input = Input;

    fn new(who: &Who, id: Option<GaugeId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            kinds: options(GaugeKind::ALL, GaugeKind::code, GaugeKind::words),
            input,
            errors,
        }
    }

    fn name_taken(name: &Name) -> String {
        format!("There is or was one called {name}. Give this one another name.")
    }

    fn onward(_id: GaugeId) -> String {
        "/gauges".to_owned()
    }

    fn name(figures: &GaugeFigures) -> &Name {
        &figures.name
    }

    fn facts(figures: &GaugeFigures, _units: Units) -> Facts {
        figures.facts()
    }

    fn recorded(gauge: &Gauge) -> (&GaugeFigures, i64) {
        (&gauge.figures, gauge.version)
    }

    async fn in_use(conn: &mut SqliteConnection, id: GaugeId) -> Result<Gauge, AppError> {
        let gauge = store::gauges::by_id(conn, id)
            .await?
            .ok_or(AppError::NotFound("strip or pen"))?;
        if gauge.retired {
            return Err(retired("strip or pen"));
        }
        Ok(gauge)
    }

    async fn insert(tx: &mut WriteTx, site: SiteId, new: &GaugeFigures) -> sqlx::Result<GaugeId> {
        store::gauges::insert(tx, site, new).await
    }

    async fn update(
        tx: &mut WriteTx,
        id: GaugeId,
        version: i64,
        new: &GaugeFigures,
    ) -> sqlx::Result<bool> {
        store::gauges::update(tx, id, version, new).await
    }
}

impl NamedInput<GaugeForm> for Input {
    fn of(gauge: &Gauge, _units: Units) -> Self {
        let figures = &gauge.figures;
        let colours = figures.colours.as_ref();
        Self {
            name: figures.name.to_string(),
            kind: figures.kind.code().to_owned(),
            colours: colours.map_or_else(String::new, |colours| colours_text(colours, " ")),
            off: figures.off_milli.map_or_else(String::new, thousandths),
            version: gauge.version.to_string(),
        }
    }

    fn check(&self, _units: Units) -> Result<GaugeFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let kind = errors.take(
            "kind",
            GaugeKind::from_code(&self.kind).ok_or("Choose what it is."),
        );
        let (mut colours, mut off_milli) = (None, None);
        match kind {
            Some(GaugeKind::Strip) => {
                colours = errors.take("colours", parse_colours(&self.colours));
                if !self.off.trim().is_empty() {
                    errors.add(
                        "off",
                        "A strip is known to half a step between its colours; leave this empty.",
                    );
                }
            }
            Some(kind) => {
                off_milli = errors
                    .take("off", entry::optional(&self.off, |typed| off(typed, kind)))
                    .flatten();
                if !self.colours.trim().is_empty() {
                    errors.add("colours", "A pen has no colours; leave this empty.");
                }
            }
            None => {}
        }
        match (name, kind) {
            (Some(name), Some(kind)) if !errors.any() => Ok(GaugeFigures {
                name,
                kind,
                colours,
                off_milli,
            }),
            _ => Err(errors),
        }
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }
}

/// How far a pen may be off, in thousandths of its unit.
fn off(typed: &str, kind: GaugeKind) -> Result<i64, String> {
    let value = parse::decimal(typed).map_err(|error| format!("{error}."))?;
    let (most, unit) = match kind {
        GaugeKind::EcPen => (5.0, "\u{a0}mS/cm"),
        _ => (2.0, ""),
    };
    if (0.001..=most).contains(&value) {
        Ok((value * 1000.0).round() as i64)
    } else {
        Err(format!(
            "A pen is off by 0.001 to {most}{unit} either way; look again at the figure and its unit."
        ))
    }
}
