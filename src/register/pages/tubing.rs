//! The form of a tubing run.

use askama::Template;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::checking::Checks;
use super::parts::{PartForm, PartInput};
use super::{Options, options};
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::TubingRunId;
use crate::register::checks::Draft;
use crate::register::facts::Facts;
use crate::register::systems::System;
use crate::register::tubing::{TubingFigures, TubingRun};
use crate::register::{Purpose, TubeWall, entry, store};
use crate::science::units::Units;
use crate::text::Name;
use crate::web::{AppError, FormErrors, Frame, Section};

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

#[derive(Debug, Template)]
#[template(path = "register/tubing.html")]
pub struct TubingForm {
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

impl PartForm for TubingForm {
    const KIND: &'static str = "tubing";
    const CALLED: &'static str = "tubing run";

    type Id = TubingRunId;
    type Figures = TubingFigures;
    type Input = Input;

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

    fn checks(&mut self) -> &mut Checks {
        &mut self.checks
    }

    async fn first(_conn: &mut SqliteConnection, _system: &System) -> Result<Input, AppError> {
        Ok(Input {
            name: "Fill".to_owned(),
            purpose: Purpose::Fill.to_string(),
            ..Input::default()
        })
    }

    fn name(figures: &TubingFigures) -> &str {
        figures.name.as_str()
    }

    fn facts(figures: &TubingFigures, units: Units) -> Facts {
        figures.facts(units)
    }

    fn draft(id: Option<TubingRunId>, figures: TubingFigures) -> Draft {
        Draft::Tubing(id, figures)
    }

    async fn by_id(
        conn: &mut SqliteConnection,
        id: TubingRunId,
    ) -> sqlx::Result<Option<TubingRun>> {
        store::tubing::by_id(conn, id).await
    }

    async fn insert(
        tx: &mut WriteTx,
        system: &System,
        new: &TubingFigures,
    ) -> Result<TubingRunId, AppError> {
        Ok(store::tubing::insert(tx, system.id, new).await?)
    }

    async fn update(
        tx: &mut WriteTx,
        was: &TubingRun,
        version: i64,
        new: &TubingFigures,
    ) -> sqlx::Result<bool> {
        store::tubing::update(tx, was, version, new).await
    }
}

impl TubingForm {
    fn long(&self) -> &'static str {
        entry::long(self.units).symbol()
    }

    fn short(&self) -> &'static str {
        entry::short(self.units).symbol()
    }
}

impl PartInput<TubingForm> for Input {
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

    fn check(&self, units: Units) -> Result<TubingFigures, FormErrors> {
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
                errors.settle(figures.faults(units), figures)
            }
            _ => Err(errors),
        }
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }

    fn is_a_check(&self) -> bool {
        !self.check.is_empty()
    }
}
