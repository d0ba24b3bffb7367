//! Where water comes from: the supplies, and a form for each.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::named::{NamedForm, NamedInput};
use super::{Options, options, retired};
use crate::crew::{Role, Who};
use crate::db::WriteTx;
use crate::ids::{SiteId, WaterSupplyId};
use crate::register::facts::Facts;
use crate::register::water::{WaterFigures, WaterSource, WaterSupply, WaterTank};
use crate::register::{entry, store};
use crate::science::show;
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, FormErrors, Frame, Page, Section};

/// A supply as it stands in the list.
struct Line {
    supply: WaterSupply,
    gives: String,
    tank: String,
    level: String,
}

impl Line {
    fn new(supply: WaterSupply, who: &Who) -> Self {
        let units = who.site.units;
        Self {
            gives: super::water_measured::gives(&supply, units),
            tank: supply.figures.tank.map_or_else(
                || "no tank".to_owned(),
                |tank| show::volume(tank.holds.volume(), units),
            ),
            level: supply
                .level
                .as_ref()
                .map(|seen| {
                    let level = show::volume(seen.level.volume(), units);
                    format!("{level}, {}", who.site.moment_words(seen.at))
                })
                .unwrap_or_default(),
            supply,
        }
    }
}

#[derive(Template)]
#[template(path = "register/water_list.html")]
struct WaterPage {
    frame: Frame,
    lines: Vec<Line>,
    retired: Vec<WaterSupply>,
    may_change: bool,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (retired, in_use): (Vec<_>, Vec<_>) = store::water::all(&mut conn)
        .await?
        .into_iter()
        .partition(|supply| supply.retired);
    Ok(Page(WaterPage {
        frame: who.frame(Section::Systems),
        lines: in_use
            .into_iter()
            .map(|supply| Line::new(supply, &who))
            .collect(),
        retired,
        may_change: who.is_at_least(Role::Coordinator),
    }))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    source: String,
    rinses_only: String,
    tank: String,
    least: String,
    version: String,
}

#[derive(Debug, Template)]
#[template(path = "register/water_form.html")]
pub struct WaterForm {
    frame: Frame,
    id: Option<WaterSupplyId>,
    sources: Options,
    unit: &'static str,
    input: Input,
    errors: FormErrors,
}

impl NamedForm for WaterForm {
    const KIND: &'static str = "water";
    const NAMES: &'static str = "water_supply.name";
    const MEANWHILE: StatusCode = StatusCode::CONFLICT;

    type Id = WaterSupplyId;
    type Row = WaterSupply;
    type Figures = WaterFigures;
    type Input = Input;

    fn new(who: &Who, id: Option<WaterSupplyId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            sources: options(WaterSource::ALL, WaterSource::code, WaterSource::words),
            unit: entry::large(who.site.units).symbol(),
            input,
            errors,
        }
    }

    fn name_taken(name: &Name) -> String {
        format!("There is or was water called {name}. Give this another name.")
    }

    fn onward(id: WaterSupplyId) -> String {
        format!("/water/{id}")
    }

    fn name(figures: &WaterFigures) -> &Name {
        &figures.name
    }

    fn facts(figures: &WaterFigures, units: Units) -> Facts {
        figures.facts(units)
    }

    fn recorded(supply: &WaterSupply) -> (&WaterFigures, i64) {
        (&supply.figures, supply.version)
    }

    async fn in_use(
        conn: &mut SqliteConnection,
        id: WaterSupplyId,
    ) -> Result<WaterSupply, AppError> {
        in_use(conn, id).await
    }

    async fn insert(
        tx: &mut WriteTx,
        site: SiteId,
        new: &WaterFigures,
    ) -> sqlx::Result<WaterSupplyId> {
        store::water::insert(tx, site, new).await
    }

    async fn update(
        tx: &mut WriteTx,
        id: WaterSupplyId,
        version: i64,
        new: &WaterFigures,
    ) -> sqlx::Result<bool> {
        store::water::update(tx, id, version, new).await
    }
}

impl NamedInput<WaterForm> for Input {
    fn of(supply: &WaterSupply, units: Units) -> Self {
        let figures = &supply.figures;
        let typed = |of: fn(WaterTank) -> _| {
            let volume = figures.tank.map(of);
            volume
                .map(|volume: crate::science::stored::Millilitres| {
                    entry::typed_volume(volume.volume(), units)
                })
                .unwrap_or_default()
        };
        Self {
            name: figures.name.to_string(),
            source: figures.source.to_string(),
            rinses_only: if figures.rinses_only { "yes" } else { "" }.to_owned(),
            tank: typed(|tank| tank.holds),
            least: typed(|tank| tank.least),
            version: supply.version.to_string(),
        }
    }

    fn check(&self, units: Units) -> Result<WaterFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let source = errors.take(
            "source",
            WaterSource::from_code(&self.source).ok_or("Choose what water it is."),
        );
        let tank = self.tank(units, &mut errors);
        if source == Some(WaterSource::Purified) && self.rinses_only == "yes" {
            errors.add(
                "rinses_only",
                "Purified water is good for all of it; tick this for rainwater or mains water.",
            );
        }
        match (name, source, tank) {
            (Some(name), Some(source), Some(tank)) if !errors.any() => Ok(WaterFigures {
                name,
                source,
                rinses_only: self.rinses_only == "yes",
                tank,
            }),
            _ => Err(errors),
        }
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }
}

impl Input {
    /// From a litre to 1000 m³, as in the table.
    const TANK_ML: std::ops::RangeInclusive<i64> = 1_000..=1_000_000_000;

    fn tank(&self, units: Units, errors: &mut FormErrors) -> Option<Option<WaterTank>> {
        let holds = entry::optional(&self.tank, |typed| {
            entry::volume(typed, units, Self::TANK_ML)
        });
        let holds = errors.take("tank", entry::named("The tank", holds))?;
        let least = entry::optional(&self.least, |typed| {
            entry::volume(typed, units, 0..=*Self::TANK_ML.end())
        });
        let least = errors.take("least", entry::named("Never drawn below", least))?;
        match (holds, least) {
            (None, None) => Some(None),
            (None, Some(_)) => {
                errors.add("tank", "Write what the tank holds, or leave both empty.");
                None
            }
            (Some(_), None) => {
                errors.add(
                    "least",
                    "Write what is never drawn from the tank; 0 if it may run empty.",
                );
                None
            }
            (Some(holds), Some(least)) if least >= holds => {
                errors.add(
                    "least",
                    "This is as much as the tank holds: nothing could be drawn.",
                );
                None
            }
            (Some(holds), Some(least)) => Some(Some(WaterTank { holds, least })),
        }
    }
}

pub(super) async fn in_use(
    conn: &mut SqliteConnection,
    id: WaterSupplyId,
) -> Result<WaterSupply, AppError> {
    let supply = store::water::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("water supply"))?;
    if supply.retired {
        return Err(retired("water supply"));
    }
    Ok(supply)
}
