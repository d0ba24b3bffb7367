//! The form of a reservoir.

use askama::Template;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::checking::Checks;
use super::parts::{PartForm, PartInput};
use super::{Options, options};
use crate::crew::Who;
use crate::db::{self, WriteTx};
use crate::ids::ReservoirId;
use crate::register::checks::Draft;
use crate::register::facts::Facts;
use crate::register::reservoirs::{Reservoir, ReservoirFigures};
use crate::register::systems::System;
use crate::register::{HeelKnown, entry, store};
use crate::science::units::Units;
use crate::web::{AppError, FieldName, FormErrors, Frame, Section};

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

#[derive(Debug, Template)]
#[template(path = "register/reservoir.html")]
pub struct ReservoirForm {
    frame: Frame,
    system: System,
    id: Option<ReservoirId>,
    units: Units,
    heel_words: Options,
    input: Input,
    errors: FormErrors,
    checks: Checks,
}

impl PartForm for ReservoirForm {
    const KIND: &'static str = "reservoir";
    const FIRST_FIELD: FieldName = "capacity";

    type Id = ReservoirId;
    type Figures = ReservoirFigures;
    type Input = Input;

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

    fn checks(&mut self) -> &mut Checks {
        &mut self.checks
    }

    async fn first(conn: &mut SqliteConnection, system: &System) -> Result<Input, AppError> {
        let all = store::reservoirs::of(conn, Some(system.id)).await?;
        if all.iter().any(|one| !one.retired) {
            return Err(has_one(system));
        }
        Ok(Input {
            heel_known: HeelKnown::Measured.to_string(),
            ..Input::default()
        })
    }

    fn name(_figures: &ReservoirFigures) -> &str {
        "reservoir"
    }

    fn facts(figures: &ReservoirFigures, units: Units) -> Facts {
        figures.facts(units)
    }

    fn draft(id: Option<ReservoirId>, figures: ReservoirFigures) -> Draft {
        Draft::Reservoir(id, figures)
    }

    async fn by_id(
        conn: &mut SqliteConnection,
        id: ReservoirId,
    ) -> sqlx::Result<Option<Reservoir>> {
        store::reservoirs::by_id(conn, id).await
    }

    async fn insert(
        tx: &mut WriteTx,
        system: &System,
        new: &ReservoirFigures,
    ) -> Result<ReservoirId, AppError> {
        match store::reservoirs::insert(tx, system.id, new).await {
            Err(error) if db::taken(&error, "reservoir.system_id") => Err(has_one(system)),
            inserted => Ok(inserted?),
        }
    }

    async fn update(
        tx: &mut WriteTx,
        was: &Reservoir,
        version: i64,
        new: &ReservoirFigures,
    ) -> sqlx::Result<bool> {
        store::reservoirs::update(tx, was, version, new).await
    }
}

impl ReservoirForm {
    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }

    fn short(&self) -> &'static str {
        entry::short(self.units).symbol()
    }
}

impl PartInput<ReservoirForm> for Input {
    fn of(reservoir: &Reservoir, units: Units) -> Self {
        let (figures, short) = (&reservoir.figures, entry::short(units));
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
            version: reservoir.version.to_string(),
            check: String::new(),
        }
    }

    fn check(&self, units: Units) -> Result<ReservoirFigures, FormErrors> {
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

fn has_one(system: &System) -> AppError {
    AppError::Conflict(format!(
        "{} has a reservoir. Change that one, or retire it first.",
        system.figures.name
    ))
}
