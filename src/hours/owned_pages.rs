//! The forms of the hours and days of somebody or something that has an id: a person, a room, kit.

use axum::extract::{Path, State};
use axum::response::Response;
use serde::de::DeserializeOwned;
use sqlx::SqliteConnection;

use super::about::About;
use super::days_pages::{self, DaysPage};
use super::week_pages::{self, Told, WeekPage};
use crate::crew::Who;
use crate::ids::UnusualDaysId;
use crate::state::App;
use crate::web::{AppError, Form, Page};

/// Has days that are not as usual.
pub trait HasDays {
    type Id: Copy + DeserializeOwned + Send;

    /// What the pages say of it, and of how many some may be out; a refusal where nothing of it is
    /// changed any more.
    fn with_days(
        conn: &mut SqliteConnection,
        id: Self::Id,
    ) -> impl Future<Output = Result<(About, Option<i64>), AppError>> + Send;
}

/// Has a usual week of its own.
pub trait HasWeek: HasDays {
    fn with_week(
        conn: &mut SqliteConnection,
        id: Self::Id,
        who: &Who,
    ) -> impl Future<Output = Result<Told, AppError>> + Send;
}

pub async fn week_form<O: HasWeek>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<O::Id>,
) -> Result<Page<WeekPage>, AppError> {
    let mut conn = app.db.read().await?;
    let told = O::with_week(&mut conn, id, &who).await?;
    let today = who.site.today(app.clock.now());
    week_pages::open(&mut conn, &who, told, today).await
}

pub async fn save_week<O: HasWeek>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<O::Id>,
    form: Form<week_pages::Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&form.once).await?;
    let told = O::with_week(tx.conn(), id, &who).await?;
    week_pages::save(tx, &who, told, form.input, app.clock.now()).await
}

pub async fn days_form<O: HasDays>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<O::Id>,
) -> Result<Page<DaysPage>, AppError> {
    let mut conn = app.db.read().await?;
    let (about, most) = O::with_days(&mut conn, id).await?;
    let today = who.site.today(app.clock.now());
    Ok(days_pages::open_new(&who, about, most, today))
}

pub async fn add_days<O: HasDays>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<O::Id>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&form.once).await?;
    let (about, most) = O::with_days(tx.conn(), id).await?;
    days_pages::add(tx, &who, about, most, form.input, app.clock.now()).await
}

pub async fn correction_form<O: HasDays>(
    State(app): State<App>,
    who: Who,
    Path((id, days)): Path<(O::Id, UnusualDaysId)>,
) -> Result<Page<DaysPage>, AppError> {
    let mut conn = app.db.read().await?;
    let (about, most) = O::with_days(&mut conn, id).await?;
    days_pages::open_change(&mut conn, &who, about, most, days).await
}

pub async fn correct_days<O: HasDays>(
    State(app): State<App>,
    who: Who,
    Path((id, days)): Path<(O::Id, UnusualDaysId)>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&form.once).await?;
    let (about, most) = O::with_days(tx.conn(), id).await?;
    let now = app.clock.now();
    days_pages::correct(tx, &who, about, most, days, form.input, now).await
}
