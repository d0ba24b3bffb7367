//! The forms of what the site has under a name of its own, such as a room, a jug, kit and water: how
//! each is opened, added and changed. What it asks for stands in its own file.

use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;
use sqlx::SqliteConnection;

use super::version;
use crate::crew::Who;
use crate::db::{self, WriteTx};
use crate::ids::SiteId;
use crate::logbook::{self, Entry};
use crate::register::facts::{self, Facts};
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Page, Refused};

/// The form of a kind of thing, and the way to its rows.
pub trait NamedForm: Template + Sized + Send {
    /// As the logbook files it.
    const KIND: &'static str;
    /// The column in which no name stands twice.
    const NAMES: &'static str;
    /// The answer where somebody else changed it meanwhile.
    const MEANWHILE: StatusCode;

    type Id: Copy + Into<i64> + DeserializeOwned + Send + Sync;
    type Row: Send + Sync;
    type Figures: Send + Sync;
    type Input: NamedInput<Self>;

    fn new(who: &Who, id: Option<Self::Id>, input: Self::Input, errors: FormErrors) -> Self;
    /// The complaint about a name that is given.
    fn name_taken(name: &Name) -> String;
    /// Where the reader is sent when it is saved.
    fn onward(id: Self::Id) -> String;

    fn name(figures: &Self::Figures) -> &Name;
    fn facts(figures: &Self::Figures, units: Units) -> Facts;
    /// What is on record, and its version.
    fn recorded(row: &Self::Row) -> (&Self::Figures, i64);

    /// Fills in what the page offers to choose from, where that stands in the database.
    fn offer(
        &mut self,
        _conn: &mut SqliteConnection,
    ) -> impl Future<Output = Result<(), AppError>> + Send {
        async { Ok(()) }
    }
    /// What is wrong with it that only the database knows.
    fn faults(
        _conn: &mut SqliteConnection,
        _new: &Self::Figures,
    ) -> impl Future<Output = Result<FormErrors, AppError>> + Send {
        async { Ok(FormErrors::default()) }
    }

    /// One that is not retired.
    fn in_use(
        conn: &mut SqliteConnection,
        id: Self::Id,
    ) -> impl Future<Output = Result<Self::Row, AppError>> + Send;
    fn insert(
        tx: &mut WriteTx,
        site: SiteId,
        new: &Self::Figures,
    ) -> impl Future<Output = sqlx::Result<Self::Id>> + Send;
    /// Whether the row was still this version.
    fn update(
        tx: &mut WriteTx,
        id: Self::Id,
        version: i64,
        new: &Self::Figures,
    ) -> impl Future<Output = sqlx::Result<bool>> + Send;
}

/// What the form of a thing sends.
pub trait NamedInput<F: NamedForm>: Default + DeserializeOwned + Send {
    fn of(row: &F::Row, units: Units) -> Self;
    fn check(&self, units: Units) -> Result<F::Figures, FormErrors>;
    fn version(&mut self) -> &mut String;
}

/// The page, with what it offers.
async fn page<F: NamedForm>(
    conn: &mut SqliteConnection,
    who: &Who,
    id: Option<F::Id>,
    input: F::Input,
    errors: FormErrors,
) -> Result<F, AppError> {
    let mut page = F::new(who, id, input, errors);
    page.offer(conn).await?;
    Ok(page)
}

pub async fn new<F: NamedForm>(State(app): State<App>, who: Who) -> Result<Page<F>, AppError> {
    let mut conn = app.db.read().await?;
    let (input, errors) = (F::Input::default(), FormErrors::default());
    Ok(Page(page(&mut conn, &who, None, input, errors).await?))
}

pub async fn create<F: NamedForm>(
    State(app): State<App>,
    who: Who,
    form: Form<F::Input>,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (new, errors) = checked::<F>(tx.conn(), &input, units).await?;
    let Some(new) = new else {
        let page: F = page(tx.conn(), &who, None, input, errors).await?;
        return Ok(Refused(page).into_response());
    };
    let name = F::name(&new);
    let id = match F::insert(&mut tx, who.site.id, &new).await {
        Ok(id) => id,
        Err(error) if db::taken(&error, F::NAMES) => {
            let errors = FormErrors::only("name", F::name_taken(name));
            let page: F = page(tx.conn(), &who, None, input, errors).await?;
            return Ok(Refused(page).into_response());
        }
        Err(error) => return Err(error.into()),
    };
    let entry = Entry::about(F::KIND, id.into(), name.as_str(), "added")
        .with(facts::all(&F::facts(&new, units)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(F::onward(id), now).await?.into_response())
}

/// The figures where nothing is wrong with them, and the complaints.
async fn checked<F: NamedForm>(
    conn: &mut SqliteConnection,
    input: &F::Input,
    units: Units,
) -> Result<(Option<F::Figures>, FormErrors), AppError> {
    let new = match input.check(units) {
        Ok(new) => new,
        Err(errors) => return Ok((None, errors)),
    };
    let errors = F::faults(conn, &new).await?;
    Ok(((!errors.any()).then_some(new), errors))
}

pub async fn change<F: NamedForm>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<F::Id>,
) -> Result<Page<F>, AppError> {
    let mut conn = app.db.read().await?;
    let row = F::in_use(&mut conn, id).await?;
    let (input, errors) = (F::Input::of(&row, who.site.units), FormErrors::default());
    Ok(Page(page(&mut conn, &who, Some(id), input, errors).await?))
}

pub async fn update<F: NamedForm>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<F::Id>,
    form: Form<F::Input>,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let row = F::in_use(tx.conn(), id).await?;
    let (new, errors) = checked::<F>(tx.conn(), &input, units).await?;
    let Some(new) = new else {
        let page: F = page(tx.conn(), &who, Some(id), input, errors).await?;
        return Ok(Refused(page).into_response());
    };
    let (was, newest) = F::recorded(&row);
    let (before, after) = (F::facts(was, units), F::facts(&new, units));
    let name = F::name(&new);
    match F::update(&mut tx, id, version(input.version()), &new).await {
        Ok(true) => {}
        Ok(false) => {
            *input.version() = newest.to_string();
            let errors = FormErrors::only("name", facts::differences(&before, &after));
            let page: F = page(tx.conn(), &who, Some(id), input, errors).await?;
            return Ok((F::MEANWHILE, Page(page)).into_response());
        }
        Err(error) if db::taken(&error, F::NAMES) => {
            let errors = FormErrors::only("name", F::name_taken(name));
            let page: F = page(tx.conn(), &who, Some(id), input, errors).await?;
            return Ok(Refused(page).into_response());
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about(F::KIND, id.into(), name.as_str(), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(F::onward(id), now).await?.into_response())
}
