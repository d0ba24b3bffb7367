//! The form of a pump.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::checking::{self, Checks};
use super::{Options, options, retired, system_in_use, version};
use crate::crew::Who;
use crate::ids::{PumpId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::checks::Draft;
use crate::register::pumps::{Pump, PumpFigures};
use crate::register::systems::{System, path};
use crate::register::{PumpKind, entry, facts, store};
use crate::science::stored::{MillilitresPerMinute, Millimetres};
use crate::science::units::Units;
use crate::state::App;
use crate::text::{Name, parse_optional_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

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

#[derive(Template)]
#[template(path = "register/pump.html")]
struct PumpForm {
    frame: Frame,
    system: System,
    id: Option<PumpId>,
    units: Units,
    kinds: Options,
    input: Input,
    errors: FormErrors,
    checks: Checks,
}

impl PumpForm {
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

    fn flow(&self) -> String {
        entry::flow_unit(self.units)
    }

    fn long(&self) -> &'static str {
        entry::long(self.units).symbol()
    }
}

impl Input {
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

    pub(in crate::register) fn check(&self, units: Units) -> Result<PumpFigures, FormErrors> {
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
        for (field, fault) in figures.faults() {
            errors.add(field, fault);
        }
        if errors.any() {
            Err(errors)
        } else {
            Ok(figures)
        }
    }
}

async fn in_use(conn: &mut SqliteConnection, id: PumpId) -> Result<(System, Pump), AppError> {
    let pump = store::pumps::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("pump"))?;
    if pump.retired {
        return Err(retired("pump"));
    }
    Ok((system_in_use(conn, pump.system_id).await?, pump))
}

fn subject(system: &System, pump: &PumpFigures) -> String {
    format!("{}, {}", system.figures.name, pump.name)
}

pub async fn new(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_in_use(&mut conn, system).await?;
    let input = Input {
        name: "Pump".to_owned(),
        ..Input::default()
    };
    Ok(Page(PumpForm::new(
        &who,
        system,
        None,
        input,
        FormErrors::default(),
    )))
}

/// The form again with its checks; nothing is written.
async fn checked(
    conn: &mut SqliteConnection,
    who: &Who,
    system: System,
    id: Option<PumpId>,
    input: Input,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let figures = match input.check(units) {
        Ok(figures) => figures,
        Err(errors) => {
            return Ok(Refused(PumpForm::new(who, system, id, input, errors)).into_response());
        }
    };
    let checks = checking::with(conn, system.id, Draft::Pump(id, figures), units).await?;
    let mut form = PumpForm::new(who, system, id, input, FormErrors::default());
    form.checks = checks;
    Ok(Page(form).into_response())
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    if !form.input.check.is_empty() {
        let mut conn = app.db.read().await?;
        let system = system_in_use(&mut conn, system).await?;
        return checked(&mut conn, &who, system, None, form.input).await;
    }
    let units = who.site.units;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_in_use(tx.conn(), system).await?;
    let new = match form.input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(
                Refused(PumpForm::new(&who, system, None, form.input, errors)).into_response(),
            );
        }
    };
    let id = store::pumps::insert(&mut tx, system.id, &new).await?;
    let entry = Entry::about("pump", id.get(), subject(&system, &new), "added")
        .with(facts::all(&new.facts(units)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PumpId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (system, pump) = in_use(&mut conn, id).await?;
    let input = Input::of(&pump, who.site.units);
    let draft = Draft::Pump(Some(id), pump.figures);
    let checks = checking::with(&mut conn, system.id, draft, who.site.units).await?;
    let mut form = PumpForm::new(&who, system, Some(id), input, FormErrors::default());
    form.checks = checks;
    Ok(Page(form))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PumpId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    if !form.input.check.is_empty() {
        let mut conn = app.db.read().await?;
        let (system, _) = in_use(&mut conn, id).await?;
        return checked(&mut conn, &who, system, Some(id), form.input).await;
    }
    let units = who.site.units;
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (system, was) = in_use(tx.conn(), id).await?;
    let new = match input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(
                Refused(PumpForm::new(&who, system, Some(id), input, errors)).into_response(),
            );
        }
    };
    let (before, after) = (was.figures.facts(units), new.facts(units));
    if !store::pumps::update(&mut tx, id, version(&input.version), &new).await? {
        let mut errors = FormErrors::default();
        errors.add("name", facts::differences(&before, &after));
        input.version = was.version.to_string();
        return Ok(Refused(PumpForm::new(&who, system, Some(id), input, errors)).into_response());
    }
    let entry = Entry::about("pump", id.get(), subject(&system, &new), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}
