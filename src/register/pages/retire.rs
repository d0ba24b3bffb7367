//! Retiring: what is retired stays readable where records point at it, and is never used anew.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::{retired, system_in_use};
use crate::clock::Moment;
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::{
    BenchId, GaugeId, JugId, KitId, PumpId, ReservoirId, RoomId, SystemId, TubingRunId,
    WaterSupplyId,
};
use crate::logbook::{self, Entry};
use crate::register::benches::Bench;
use crate::register::reservoirs::Reservoir;
use crate::register::store;
use crate::register::tubing::TubingRun;
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// What is to be retired.
enum Thing {
    Room(RoomId),
    System(SystemId),
    Reservoir(Reservoir),
    Bench(Bench),
    Pump(PumpId),
    Tubing(TubingRun),
    Jug(JugId),
    Kit(KitId),
    Gauge(GaugeId),
    Water(WaterSupplyId),
}

/// The thing with its names and the page to go back to.
struct Found {
    thing: Thing,
    kind: &'static str,
    id: i64,
    /// As the logbook calls it.
    subject: String,
    back: String,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    reason: String,
}

#[derive(Template)]
#[template(path = "register/retire.html")]
struct RetirePage {
    frame: Frame,
    found: Found,
    input: Input,
    errors: FormErrors,
}

impl RetirePage {
    fn new(who: &Who, found: Found, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            found,
            input,
            errors,
        }
    }

    /// What follows from it, for the page that asks.
    fn follows(&self) -> &'static str {
        match self.found.thing {
            Thing::Room(_) => "No system can be put in it any more.",
            Thing::System(_) => {
                "No crop is planted in it and no clean-out is booked for it any more."
            }
            Thing::Reservoir(_) | Thing::Bench(_) | Thing::Tubing(_) => {
                "It is left out of what the system holds, and fills that were measured with it no longer count."
            }
            Thing::Pump(_) => "It is left out of the drawing and of the checks.",
            Thing::Jug(_) => "No new dose is split into pours for it.",
            Thing::Kit(_) => "No method needs it any more.",
            Thing::Gauge(_) => {
                "No reading is taken with it any more; those that were keep their range."
            }
            Thing::Water(_) => "Nothing is planned with its water any more.",
        }
    }
}

async fn find(conn: &mut SqliteConnection, kind: &str, id: i64) -> Result<Found, AppError> {
    match kind {
        "room" => {
            let room = store::rooms::by_id(conn, RoomId::from_row(id))
                .await?
                .ok_or(AppError::NotFound("room"))?;
            in_use(room.retired, "room")?;
            if store::rooms::holds_systems(conn, room.id).await? {
                return Err(AppError::Conflict(format!(
                    "Systems stand in {}. Move them to another room, or retire them, first.",
                    room.figures.name
                )));
            }
            let (thing, subject) = (Thing::Room(room.id), room.figures.name.to_string());
            Ok(Found {
                thing,
                kind: "room",
                id,
                subject,
                back: "/systems".to_owned(),
            })
        }
        "jug" => {
            let jug = store::jugs::by_id(conn, JugId::from_row(id))
                .await?
                .ok_or(AppError::NotFound("jug"))?;
            in_use(jug.retired, "jug")?;
            let (thing, subject) = (Thing::Jug(jug.id), jug.figures.name.to_string());
            Ok(Found {
                thing,
                kind: "jug",
                id,
                subject,
                back: "/jugs".to_owned(),
            })
        }
        "kit" => {
            let kit = store::kit::by_id(conn, KitId::from_row(id))
                .await?
                .ok_or(AppError::NotFound("kit"))?;
            in_use(kit.retired, "kit")?;
            let (thing, subject) = (Thing::Kit(kit.id), kit.figures.name.to_string());
            Ok(Found {
                thing,
                kind: "kit",
                id,
                subject,
                back: "/kit".to_owned(),
            })
        }
        "gauge" => {
            let gauge = store::gauges::by_id(conn, GaugeId::from_row(id))
                .await?
                .ok_or(AppError::NotFound("strip or pen"))?;
            in_use(gauge.retired, "strip or pen")?;
            let (thing, subject) = (Thing::Gauge(gauge.id), gauge.figures.name.to_string());
            Ok(Found {
                thing,
                kind: "gauge",
                id,
                subject,
                back: "/gauges".to_owned(),
            })
        }
        "water" => {
            let supply = store::water::by_id(conn, WaterSupplyId::from_row(id))
                .await?
                .ok_or(AppError::NotFound("water supply"))?;
            in_use(supply.retired, "water supply")?;
            let (thing, subject) = (Thing::Water(supply.id), supply.figures.name.to_string());
            Ok(Found {
                thing,
                kind: "water",
                id,
                subject,
                back: "/water".to_owned(),
            })
        }
        "system" => {
            let system = system_in_use(conn, SystemId::from_row(id)).await?;
            let (thing, subject) = (Thing::System(system.id), system.figures.name.to_string());
            Ok(Found {
                thing,
                kind: "system",
                id,
                subject,
                back: system.path(),
            })
        }
        _ => find_part(conn, kind, id).await,
    }
}

async fn find_part(conn: &mut SqliteConnection, kind: &str, id: i64) -> Result<Found, AppError> {
    let (thing, kind, system, name) = match kind {
        "reservoir" => {
            let found = store::reservoirs::by_id(conn, ReservoirId::from_row(id)).await?;
            let found = found.ok_or(AppError::NotFound("reservoir"))?;
            in_use(found.retired, "reservoir")?;
            let system = found.system_id;
            (
                Thing::Reservoir(found),
                "reservoir",
                system,
                "reservoir".to_owned(),
            )
        }
        "bench" => {
            let found = store::benches::by_id(conn, BenchId::from_row(id)).await?;
            let found = found.ok_or(AppError::NotFound("bench"))?;
            in_use(found.retired, "bench")?;
            let (system, name) = (found.system_id, found.figures.name.to_string());
            (Thing::Bench(found), "bench", system, name)
        }
        "pump" => {
            let found = store::pumps::by_id(conn, PumpId::from_row(id)).await?;
            let found = found.ok_or(AppError::NotFound("pump"))?;
            in_use(found.retired, "pump")?;
            (
                Thing::Pump(found.id),
                "pump",
                found.system_id,
                found.figures.name.to_string(),
            )
        }
        "tubing" => {
            let found = store::tubing::by_id(conn, TubingRunId::from_row(id)).await?;
            let found = found.ok_or(AppError::NotFound("tubing run"))?;
            in_use(found.retired, "tubing run")?;
            let (system, name) = (found.system_id, found.figures.name.to_string());
            (Thing::Tubing(found), "tubing", system, name)
        }
        _ => return Err(AppError::NotFound("page")),
    };
    let system = system_in_use(conn, system).await?;
    let subject = format!("{}, {name}", system.figures.name);
    Ok(Found {
        thing,
        kind,
        id,
        subject,
        back: system.path(),
    })
}

fn in_use(is_retired: bool, what: &str) -> Result<(), AppError> {
    if is_retired {
        Err(retired(what))
    } else {
        Ok(())
    }
}

async fn write(tx: &mut WriteTx, thing: &Thing, now: Moment) -> sqlx::Result<bool> {
    match thing {
        Thing::Room(id) => store::rooms::retire(tx, *id, now).await,
        Thing::System(id) => store::systems::retire(tx, *id, now).await,
        Thing::Reservoir(reservoir) => store::reservoirs::retire(tx, reservoir, now).await,
        Thing::Bench(bench) => store::benches::retire(tx, bench, now).await,
        Thing::Pump(id) => store::pumps::retire(tx, *id, now).await,
        Thing::Tubing(run) => store::tubing::retire(tx, run, now).await,
        Thing::Jug(id) => store::jugs::retire(tx, *id, now).await,
        Thing::Kit(id) => store::kit::retire(tx, *id, now).await,
        Thing::Gauge(id) => store::gauges::retire(tx, *id, now).await,
        Thing::Water(id) => store::water::retire(tx, *id, now).await,
    }
}

pub async fn ask(
    State(app): State<App>,
    who: Who,
    Path((kind, id)): Path<(String, i64)>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let found = find(&mut conn, &kind, id).await?;
    Ok(Page(RetirePage::new(
        &who,
        found,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn retire(
    State(app): State<App>,
    who: Who,
    Path((kind, id)): Path<(String, i64)>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let found = find(tx.conn(), &kind, id).await?;
    let mut errors = FormErrors::default();
    let Some(reason) = errors.take("reason", Note::parse_reason(&form.input.reason)) else {
        return Ok(Refused(RetirePage::new(&who, found, form.input, errors)).into_response());
    };
    match write(&mut tx, &found.thing, now).await {
        Ok(true) => {}
        Ok(false) => return Err(retired(found.kind)),
        Err(error) if store::systems::is_in_use(&error) => {
            return Err(AppError::Conflict(format!(
                "A crop grows in {}, or a clean-out of it is open. Take the crop off, and release the clean-out or call it off, first.",
                found.subject
            )));
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about(found.kind, id, found.subject.as_str(), "retired")
        .with(json!({ "why": reason }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(found.back, now).await?.into_response())
}
