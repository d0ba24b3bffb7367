//! The forms of a turnover, of hours and days and of deliveries, sent to see what they would do to the plan.
//! Nothing is written here: the records are only read, and what was typed is kept.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use sqlx::Sqlite;
use sqlx::pool::PoolConnection;

use super::{known, off_thread};
use crate::clock::Moment;
use crate::crew::Who;
use crate::hours::about::About;
use crate::hours::owned_pages::{HasDays, HasWeek};
use crate::hours::{closed_pages, days_pages, week_pages};
use crate::ids::{DeliveryId, PlantingId, UnusualDaysId};
use crate::plan::changes::Change;
use crate::state::App;
use crate::stock::pages::deliveries;
use crate::turnovers::pages as turnovers;
use crate::web::{AppError, Form, Page, TakesEffects};

/// A form as it was sent with the change that it asks for, or what it is answered with instead.
type Looked<P> = Result<(P, Change), Response>;

/// The form again, with what the change would do.
async fn seen<P>(app: &App, who: &Who, looked: Looked<P>, now: Moment) -> Result<Response, AppError>
where
    P: TakesEffects + Template,
{
    let (page, change) = match looked {
        Ok(looked) => looked,
        Err(answer) => return Ok(answer),
    };
    let known = known(app, who, now).await?;
    let effects = off_thread(move || Arc::as_ref(&known).with(&change)).await?;
    Ok(Page(page.with(effects)).into_response())
}

/// Moves a turnover: the first time what it does is shown, the second time it is saved.
pub async fn turnover(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlantingId>,
    form: Form<turnovers::MoveInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let looked = turnovers::move_looked(&mut conn, &who, now, id, &form.input).await?;
    drop(conn);
    let Some((page, turnover)) = looked else {
        return turnovers::move_save(State(app), who, Path(id), form).await;
    };
    let looked = Ok((page, Change::Turnover(id, turnover)));
    seen(&app, &who, looked, now).await
}

async fn days(
    app: App,
    who: Who,
    mut conn: PoolConnection<Sqlite>,
    (about, most): (About, Option<i64>),
    of: Option<UnusualDaysId>,
    input: days_pages::Input,
) -> Result<Response, AppError> {
    let owner = about.owner;
    let looked = days_pages::looked(&mut conn, &who, about, most, of, input).await?;
    drop(conn);
    let instead_of = of;
    let change = |new| Change::Days {
        owner,
        new,
        instead_of,
    };
    let looked = looked.map(|(page, new)| (page, change(new)));
    seen(&app, &who, looked, app.clock.now()).await
}

pub async fn new_days<O: HasDays>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<O::Id>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let mut conn = app.db.read().await?;
    let about = O::with_days(&mut conn, id).await?;
    days(app, who, conn, about, None, form.input).await
}

pub async fn corrected_days<O: HasDays>(
    State(app): State<App>,
    who: Who,
    Path((id, of)): Path<(O::Id, UnusualDaysId)>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let mut conn = app.db.read().await?;
    let about = O::with_days(&mut conn, id).await?;
    days(app, who, conn, about, Some(of), form.input).await
}

pub async fn closed_days(
    State(app): State<App>,
    who: Who,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let conn = app.db.read().await?;
    let about = closed_pages::about(&who);
    days(app, who, conn, (about, None), None, form.input).await
}

pub async fn corrected_closed_days(
    State(app): State<App>,
    who: Who,
    Path(of): Path<UnusualDaysId>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let conn = app.db.read().await?;
    let about = closed_pages::about(&who);
    days(app, who, conn, (about, None), Some(of), form.input).await
}

pub async fn week<O: HasWeek>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<O::Id>,
    form: Form<week_pages::Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let told = O::with_week(&mut conn, id, &who).await?;
    let owner = told.about.owner;
    let looked = week_pages::looked(&mut conn, &who, told, form.input, now).await?;
    drop(conn);
    let change = |week, from| Change::Week { owner, week, from };
    let looked = looked.map(|(page, (week, from))| (page, change(week, from)));
    seen(&app, &who, looked, now).await
}

pub async fn delivery_expected(
    State(app): State<App>,
    who: Who,
    form: Form<deliveries::Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let looked = deliveries::looked_new(&mut conn, &who, form.input, now).await?;
    drop(conn);
    let looked =
        looked.map(|(page, (new, product))| (page, Change::DeliveryExpected(new, product)));
    seen(&app, &who, looked, now).await
}

pub async fn delivery_moved(
    State(app): State<App>,
    who: Who,
    Path(id): Path<DeliveryId>,
    form: Form<deliveries::MoveInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let looked = deliveries::looked_moved(&mut conn, &who, id, form.input, now).await?;
    drop(conn);
    let looked = looked.map(|(page, day)| (page, Change::DeliveryMoved(id, day)));
    seen(&app, &who, looked, now).await
}

pub async fn delivery_called_off(
    State(app): State<App>,
    who: Who,
    Path(id): Path<DeliveryId>,
    form: Form<deliveries::MoveInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let page = deliveries::looked_called_off(&mut conn, &who, id, form.input, now).await?;
    drop(conn);
    let looked = Ok((page, Change::DeliveryCalledOff(id)));
    seen(&app, &who, looked, now).await
}
