//! The pages of the plan, one file for each thing that is done.

mod changed;
pub mod enough;
mod moving;
mod posting;
mod proposed;
mod week;

pub use changed::{changes, posted};
pub use moving::{form as move_form, let_go, save as move_save};
pub use posting::{ask_anew, post};
pub use proposed::show;
pub use week::show as week;

use sqlx::SqliteConnection;

use super::load;
use super::proposal::{Proposal, propose};
use super::sources::Sources;
use super::timetable::{Entry, Line, Work, names};
use crate::clock::Moment;
use crate::crew::Who;
use crate::web::AppError;

/// The proposal as it is now, worked out off the threads that answer requests.
async fn proposal(
    conn: &mut SqliteConnection,
    who: &Who,
    now: Moment,
) -> Result<(Sources, Proposal), AppError> {
    let sources = load::sources(conn, &who.site, now).await?;
    worked_out(sources, propose).await
}

/// Runs something that plans on a thread of its own.
async fn worked_out<T: Send + 'static>(
    sources: Sources,
    work: impl FnOnce(&Sources) -> anyhow::Result<T> + Send + 'static,
) -> Result<(Sources, T), AppError> {
    let done = tokio::task::spawn_blocking(move || {
        let result = work(&sources);
        (sources, result)
    });
    let (sources, result) = done.await.map_err(|error| AppError::Other(error.into()))?;
    Ok((sources, result?))
}

/// 'Ines V., Oda R.'
fn crew_words(sources: &Sources, entry: &Entry) -> String {
    names(&entry.people(), |id| sources.person_name(id))
}

/// What a part is called, its number where there are several: 'rinse 2'.
fn work_words(entry: &Entry, line: &Line) -> String {
    if line.work != Work::Rinse {
        return line.work.to_string();
    }
    let rinses: Vec<&Line> = entry
        .lines
        .iter()
        .filter(|line| line.work == Work::Rinse)
        .collect();
    match rinses.iter().position(|rinse| rinse.from == line.from) {
        Some(at) if rinses.len() > 1 => format!("{} {}", line.work, at + 1),
        _ => line.work.to_string(),
    }
}

fn system_path(entry: &Entry) -> String {
    match entry.cleanout {
        Some(id) => crate::cleanouts::path(id),
        None => crate::register::systems::path(entry.system),
    }
}
