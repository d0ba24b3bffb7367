//! The pages of the plan, one file for each thing that is done.

mod asked;
mod changed;
pub mod effects;
pub mod enough;
mod moving;
mod posting;
mod proposed;
mod week;
mod workload;

pub use asked::{ask, show as asked, stop as asked_stop, take as asked_take};
pub use changed::{changes, posted};
pub use moving::{form as move_form, let_go, save as move_save};
pub use posting::post;
pub use proposed::show;
pub use week::show as week;
pub use workload::show as workload;

use std::sync::Arc;

use super::load;
use super::sources::Sources;
use super::timetable::{Entry, names};
use crate::clock::Moment;
use crate::crew::Who;
use crate::logbook;
use crate::plan::effects::Known;
use crate::state::App;
use crate::web::AppError;

/// The plan as it is now: worked out off the threads that answer requests, and kept until a record changes or
/// the next quarter of an hour begins.
async fn known(app: &App, who: &Who, now: Moment) -> Result<Arc<Known>, AppError> {
    let mut conn = app.db.read().await?;
    // Asked before the records are read: what is written meanwhile makes another key.
    let writes = app.db.writes();
    let newest = logbook::store::head(&mut conn).await?.map(|(id, _)| id);
    let key = format!("{} {writes} {newest:?} {}", who.site.id, now.next_quarter());
    if let Some(known) = app.plan.get::<Known>(&key) {
        return Ok(known);
    }
    let sources = load::sources(app, &mut conn, &who.site, now).await?;
    drop(conn);
    let known = Arc::new(off_thread(move || Known::of(sources)).await?);
    app.plan.put(key, Arc::clone(&known));
    Ok(known)
}

/// Runs something that plans on a thread of its own.
async fn off_thread<T: Send + 'static>(
    work: impl FnOnce() -> anyhow::Result<T> + Send + 'static,
) -> Result<T, AppError> {
    let done = tokio::task::spawn_blocking(work);
    Ok(done
        .await
        .map_err(|error| AppError::Other(error.into()))??)
}

/// 'Ines V., Oda R.'
fn crew_words(sources: &Sources, entry: &Entry) -> String {
    names(&entry.people(), |id| sources.person_name(id))
}

fn system_path(entry: &Entry) -> String {
    match entry.cleanout {
        Some(id) => crate::cleanouts::path(id),
        None => crate::register::systems::path(entry.system),
    }
}
