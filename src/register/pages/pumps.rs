//! The form of a pump.

use askama::Template;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::checking::Checks;
use super::parts::{PartForm, PartInput};
use super::{Options, options};
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::PumpId;
use crate::register::checks::Draft;
use crate::register::facts::Facts;
use crate::register::pumps::{Pump, PumpFigures};
use crate::register::systems::System;
use crate::register::{PumpKind, entry, store};
use crate::science::stored::{MillilitresPerMinute, Millimetres};
use crate::science::units::Units;
use crate::text::{Name, parse_optional_day};
use crate::web::{AppError, FormErrors, Frame, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    kind: String,
    max_flow: String,
    max_head: String,
    point_flow: String,
    point_head: String,
    lift: String,
    last_teardown: String,
    version: String,
    /// Not empty when the form is only to be checked.
    check: String,
}

#[derive(Debug, Template)]
#[template(path = "register/pump.html")]
pub struct PumpForm {
    frame: Frame,
    system: System,
    id: Option<PumpId>,
    units: Units,
    kinds: Options,
    input: Input,
    errors: FormErrors,
    checks: Checks,
}

impl PartForm for PumpForm {
    const KIND: &'static str = "pump";

    type Id = PumpId;
    type Figures = PumpFigures;
    type Input = Input;

    fn new(
        who: &Who,
        system: System,
        id: Option<PumpId>,
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let kinds = options(PumpKind::ALL, PumpKind::code, |kind| match kind {
            PumpKind::Submersible => "submersible, in the water",
            PumpKind::Inline => "inline, beside the reservoir",
        });
        Self {
            frame: who.frame(Section::Systems),
            system,
            id,
            units: who.site.units,
            kinds,
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
            name: "Pump".to_owned(),
            ..Input::default()
        })
    }

    fn name(figures: &PumpFigures) -> &str {
        figures.name.as_str()
    }

    fn facts(figures: &PumpFigures, units: Units) -> Facts {
        figures.facts(units)
    }

    fn draft(id: Option<PumpId>, figures: PumpFigures) -> Draft {
        Draft::Pump(id, figures)
    }

    async fn by_id(conn: &mut SqliteConnection, id: PumpId) -> sqlx::Result<Option<Pump>> {
        store::pumps::by_id(conn, id).await
    }

    async fn insert(
        tx: &mut WriteTx,
        system: &System,
        new: &PumpFigures,
    ) -> Result<PumpId, AppError> {
        Ok(store::pumps::insert(tx, system.id, new).await?)
    }

    async fn update(
        tx: &mut WriteTx,
        was: &Pump,
        version: i64,
        new: &PumpFigures,
    ) -> sqlx::Result<bool> {
        store::pumps::update(tx, was.id, version, new).await
    }
}

impl PumpForm {
    fn flow(&self) -> String {
        entry::flow_unit(self.units)
    }

    fn long(&self) -> &'static str {
        entry::long(self.units).symbol()
    }
}

impl PartInput<PumpForm> for Input {
    fn of(pump: &Pump, units: Units) -> Self {
        let figures = &pump.figures;
        let long = |length: Option<Millimetres>| {
            length
                .map(|length| entry::typed_length(length.length(), entry::long(units)))
                .unwrap_or_default()
        };
        let flow = |flow: Option<MillilitresPerMinute>| {
            flow.map(|flow| entry::typed_flow(flow, units))
                .unwrap_or_default()
        };
        let (point_flow, point_head) = figures.point.unzip();
        Self {
            name: figures.name.to_string(),
            kind: figures.kind.to_string(),
            max_flow: flow(figures.max_flow),
            max_head: long(figures.max_head),
            point_flow: flow(point_flow),
            point_head: long(point_head),
            lift: long(figures.lift),
            last_teardown: figures
                .last_teardown
                .map(|day| day.to_string())
                .unwrap_or_default(),
            version: pump.version.to_string(),
            check: String::new(),
        }
    }

    fn check(&self, units: Units) -> Result<PumpFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let kind = errors.take(
            "kind",
            PumpKind::from_code(&self.kind).ok_or("Choose where it sits."),
        );
        let flow = |typed: &str| {
            entry::optional(typed, |typed| entry::flow(typed, units, 100..=10_000_000))
        };
        let length = |typed: &str, least| {
            entry::optional(typed, |typed| {
                entry::length(typed, entry::long(units), units, least..=100_000)
            })
        };
        let max_flow = errors.take("max_flow", entry::named("Most flow", flow(&self.max_flow)));
        let max_head = errors.take(
            "max_head",
            entry::named("Most head", length(&self.max_head, 100)),
        );
        let point_flow = errors.take(
            "point_flow",
            entry::named("Flow at a point between", flow(&self.point_flow)),
        );
        let point_head = errors.take(
            "point_head",
            entry::named("Head at that flow", length(&self.point_head, 10)),
        );
        let lift = errors.take("lift", entry::named("Lift", length(&self.lift, 0)));
        let last_teardown = errors.take("last_teardown", parse_optional_day(&self.last_teardown));
        let point = match (point_flow, point_head) {
            (Some(Some(_)), Some(None)) => {
                errors.add("point_head", "Give the head at that flow too, or neither.");
                None
            }
            (Some(None), Some(Some(_))) => {
                errors.add("point_flow", "Give the flow at that head too, or neither.");
                None
            }
            (flow, head) => flow.zip(head).map(|(flow, head)| flow.zip(head)),
        };
        let (
            (Some(name), Some(kind), Some(last_teardown)),
            (Some(max_flow), Some(max_head), Some(point), Some(lift)),
        ) = (
            (name, kind, last_teardown),
            (max_flow, max_head, point, lift),
        )
        else {
            return Err(errors);
        };
        let figures = PumpFigures {
            name,
            kind,
            max_flow,
            max_head,
            point,
            lift,
            last_teardown,
        };
        errors.settle(figures.faults(), figures)
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }

    fn is_a_check(&self) -> bool {
        !self.check.is_empty()
    }
}
