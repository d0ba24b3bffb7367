//! The forms of the parts of a system: how each is opened, checked beside its system without being
//! saved, and saved. What a kind of part asks for stands in its own file.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;
use sqlx::SqliteConnection;

use super::checking::{self, Checks};
use super::{retired, system_in_use, version};
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::SystemId;
use crate::logbook::{self, Entry};
use crate::register::checks::Draft;
use crate::register::facts::{self, Facts};
use crate::register::part::Part;
use crate::register::systems::{System, path};
use crate::science::units::Units;
use crate::state::App;
use crate::web::{AppError, FieldName, Form, FormErrors, Page, Refused};

/// A row of this kind of part.
pub type PartOf<F> = Part<<F as PartForm>::Id, <F as PartForm>::Figures>;

/// The form of a kind of part, and the way to its rows.
pub trait PartForm: Template + Sized + Send {
    /// As the logbook files it.
    const KIND: &'static str;
    /// As a sentence calls it.
    const CALLED: &'static str = Self::KIND;
    /// The field at which it is told that somebody else changed it.
    const FIRST_FIELD: FieldName = "name";

    type Id: Copy + Into<i64> + DeserializeOwned + Send + Sync;
    type Figures: Clone + Send + Sync;
    type Input: PartInput<Self>;

    fn new(
        who: &Who,
        system: System,
        id: Option<Self::Id>,
        input: Self::Input,
        errors: FormErrors,
    ) -> Self;
    fn checks(&mut self) -> &mut Checks;

    /// What stands in the form of a new part of this system.
    fn first(
        conn: &mut SqliteConnection,
        system: &System,
    ) -> impl Future<Output = Result<Self::Input, AppError>> + Send;

    /// What it is called within its system.
    fn name(figures: &Self::Figures) -> &str;
    fn facts(figures: &Self::Figures, units: Units) -> Facts;
    fn draft(id: Option<Self::Id>, figures: Self::Figures) -> Draft;

    fn by_id(
        conn: &mut SqliteConnection,
        id: Self::Id,
    ) -> impl Future<Output = sqlx::Result<Option<PartOf<Self>>>> + Send;
    fn insert(
        tx: &mut WriteTx,
        system: &System,
        new: &Self::Figures,
    ) -> impl Future<Output = Result<Self::Id, AppError>> + Send;
    /// Whether the row was still this version.
    fn update(
        tx: &mut WriteTx,
        was: &PartOf<Self>,
        version: i64,
        new: &Self::Figures,
    ) -> impl Future<Output = sqlx::Result<bool>> + Send;
}

/// What the form of a part sends.
pub trait PartInput<F: PartForm>: DeserializeOwned + Send {
    fn of(part: &PartOf<F>, units: Units) -> Self;
    fn check(&self, units: Units) -> Result<F::Figures, FormErrors>;
    fn version(&mut self) -> &mut String;
    /// Whether it is only to be checked, not saved.
    fn is_a_check(&self) -> bool;
}

async fn in_use<F: PartForm>(
    conn: &mut SqliteConnection,
    id: F::Id,
) -> Result<(System, PartOf<F>), AppError> {
    let part = F::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound(F::CALLED))?;
    if part.retired {
        return Err(retired(F::CALLED));
    }
    Ok((system_in_use(conn, part.system_id).await?, part))
}

fn subject<F: PartForm>(system: &System, figures: &F::Figures) -> String {
    format!("{}, {}", system.figures.name, F::name(figures))
}

pub async fn new<F: PartForm>(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
) -> Result<Page<F>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_in_use(&mut conn, system).await?;
    let input = F::first(&mut conn, &system).await?;
    Ok(Page(F::new(
        &who,
        system,
        None,
        input,
        FormErrors::default(),
    )))
}

/// The form with the checks of its system as it would stand; nothing is written.
async fn with_checks<F: PartForm>(
    conn: &mut SqliteConnection,
    who: &Who,
    system: System,
    id: Option<F::Id>,
    (input, figures): (F::Input, F::Figures),
) -> Result<Page<F>, AppError> {
    let draft = F::draft(id, figures);
    let checks = checking::with(conn, system.id, draft, who.site.units).await?;
    let mut form = F::new(who, system, id, input, FormErrors::default());
    *form.checks() = checks;
    Ok(Page(form))
}

/// The answer to a form that is only checked.
async fn checked<F: PartForm>(
    conn: &mut SqliteConnection,
    who: &Who,
    system: System,
    id: Option<F::Id>,
    input: F::Input,
) -> Result<Response, AppError> {
    match input.check(who.site.units) {
        Ok(figures) => {
            let page = with_checks::<F>(conn, who, system, id, (input, figures)).await?;
            Ok(page.into_response())
        }
        Err(errors) => Ok(Refused(F::new(who, system, id, input, errors)).into_response()),
    }
}

pub async fn create<F: PartForm>(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    form: Form<F::Input>,
) -> Result<Response, AppError> {
    if form.input.is_a_check() {
        let mut conn = app.db.read().await?;
        let system = system_in_use(&mut conn, system).await?;
        return checked::<F>(&mut conn, &who, system, None, form.input).await;
    }
    let units = who.site.units;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_in_use(tx.conn(), system).await?;
    let new = match form.input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(F::new(&who, system, None, form.input, errors)).into_response());
        }
    };
    let id = F::insert(&mut tx, &system, &new).await?;
    let entry = Entry::about(F::KIND, id.into(), subject::<F>(&system, &new), "added")
        .with(facts::all(&F::facts(&new, units)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}

pub async fn change<F: PartForm>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<F::Id>,
) -> Result<Page<F>, AppError> {
    let mut conn = app.db.read().await?;
    let (system, part) = in_use::<F>(&mut conn, id).await?;
    let input = F::Input::of(&part, who.site.units);
    with_checks(&mut conn, &who, system, Some(id), (input, part.figures)).await
}

pub async fn update<F: PartForm>(
    State(app): State<App>,
    who: Who,
    Path(id): Path<F::Id>,
    form: Form<F::Input>,
) -> Result<Response, AppError> {
    if form.input.is_a_check() {
        let mut conn = app.db.read().await?;
        let (system, _) = in_use::<F>(&mut conn, id).await?;
        return checked::<F>(&mut conn, &who, system, Some(id), form.input).await;
    }
    let units = who.site.units;
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (system, was) = in_use::<F>(tx.conn(), id).await?;
    let new = match input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(F::new(&who, system, Some(id), input, errors)).into_response());
        }
    };
    let (before, after) = (F::facts(&was.figures, units), F::facts(&new, units));
    if !F::update(&mut tx, &was, version(input.version()), &new).await? {
        let errors = FormErrors::only(F::FIRST_FIELD, facts::differences(&before, &after));
        *input.version() = was.version.to_string();
        return Ok(Refused(F::new(&who, system, Some(id), input, errors)).into_response());
    }
    let entry = Entry::about(F::KIND, id.into(), subject::<F>(&system, &new), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}
