//! The pages of the register: a list, a page for each system, and a form for each thing.

pub mod benches;
pub mod bucket_tests;
mod checking;
pub mod fills;
mod flow_history;
pub mod flow_tests;
pub mod gauges;
pub mod jugs;
pub mod kit;
pub mod list;
pub mod named;
pub mod parts;
pub mod pumps;
pub mod reservoirs;
pub mod retire;
pub mod room_hours;
pub mod rooms;
pub mod standing;
pub mod system;
pub mod systems;
pub mod tubing;
pub mod water;
pub mod water_measured;

use sqlx::SqliteConnection;

use super::store;
use super::systems::System;
use crate::ids::SystemId;
use crate::web::AppError;

/// Words to choose from, as a form wants them.
pub(super) type Options = Vec<(String, String)>;

fn options<T: Copy>(
    all: &[T],
    code: fn(T) -> &'static str,
    words: fn(T) -> &'static str,
) -> Options {
    all.iter()
        .map(|one| (code(*one).to_owned(), words(*one).to_owned()))
        .collect()
}

/// A system that parts can still be added to.
async fn system_in_use(conn: &mut SqliteConnection, id: SystemId) -> Result<System, AppError> {
    let system = store::systems::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("system"))?;
    if system.retired {
        return Err(AppError::Conflict(format!(
            "{} is retired: it stays readable, and nothing about it is changed any more.",
            system.figures.name
        )));
    }
    Ok(system)
}

/// The answer to a change of something that was retired.
fn retired(what: &str) -> AppError {
    AppError::Conflict(format!(
        "This {what} is retired: it stays readable, and nothing about it is changed any more."
    ))
}

/// The version that a form was opened with; no row has version 0.
fn version(typed: &str) -> i64 {
    typed.parse().unwrap_or(0)
}
