//! The form that amends a dated table of bands, the whole of it from a day on. What the bands of a
//! table say stands in the table's own file.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::json;
use sqlx::SqliteConnection;

use super::amending::{self, Dated, Standing};
use super::bands::LimitPpm;
use super::{RuleSet, full_day, store};
use crate::crew::Who;
use crate::db::WriteTx;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// What is typed of the table beside its bands.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Whole {
    /// The strength at which the table ends.
    pub end: String,
    pub in_force_from: String,
    pub source: String,
    pub mark: String,
    /// Empty to save; 'add 3' or 'take 3' to change the rows.
    rows: String,
}

impl Whole {
    /// Of the table that stands, to be amended.
    pub fn of<B: Dated>(standing: &Standing<B>, end: Option<LimitPpm>) -> Self {
        Self {
            end: end.map_or(String::new(), |end| end.to_string()),
            in_force_from: standing.earliest.to_string(),
            mark: standing.mark(),
            ..Self::default()
        }
    }
}

/// A table as typed: the same place in each list is one band.
pub trait TypedTable: DeserializeOwned + Send + Sized {
    /// The page that shows the table.
    const PAGE: &'static str;
    /// As the logbook says it.
    const AMENDED: &'static str;

    type Band: Dated + Send + Sync;
    /// A band to be written.
    type New: Clone + PartialEq + Send + Sync;
    /// A band as typed, with its number for the names of its fields.
    type Typed;
    type Page: Template;

    /// The table that stands, to be amended.
    fn of(standing: &Standing<Self::Band>) -> Self;
    fn typed(&self) -> Vec<Self::Typed>;
    fn check_band(
        band: &Self::Typed,
        limits: Option<(LimitPpm, LimitPpm)>,
        errors: &mut FormErrors,
    ) -> Option<Self::New>;
    /// The lists, the one of the lower limits first.
    fn lists(&mut self) -> [&mut Vec<String>; 5];
    fn lower_limits(&self) -> &[String];
    fn whole(&mut self) -> &mut Whole;
    fn page(frame: Frame, table: Amending<Self::Typed>) -> Self::Page;

    /// A band that stands, as it would be written; none without an upper limit.
    fn as_new(band: &Self::Band) -> Option<Self::New>;
    fn has_gap(table: &[Self::New]) -> bool;

    fn bands(
        conn: &mut SqliteConnection,
        rule_set: &str,
    ) -> impl Future<Output = anyhow::Result<Vec<Self::Band>>> + Send;
    fn end(
        tx: &mut WriteTx,
        band: &Self::Band,
        on: NaiveDate,
    ) -> impl Future<Output = sqlx::Result<()>> + Send;
    fn begin(
        tx: &mut WriteTx,
        rule_set: &str,
        new: &Self::New,
        source: &str,
        from: NaiveDate,
    ) -> impl Future<Output = sqlx::Result<()>> + Send;
}

struct Checked<N> {
    table: Vec<N>,
    day: NaiveDate,
    source: String,
}

fn check<T: TypedTable>(typed: &mut T, earliest: NaiveDate) -> Result<Checked<T::New>, FormErrors> {
    let mut errors = FormErrors::default();
    let end = typed.whole().end.clone();
    let limits = amending::limits(typed.lower_limits(), &end, &mut errors);
    let mut table = Vec::new();
    for (band, limits) in typed.typed().iter().zip(limits) {
        table.extend(T::check_band(band, limits, &mut errors));
    }
    let Whole {
        in_force_from,
        source,
        ..
    } = typed.whole();
    match amending::day_and_source(in_force_from, source, earliest, &mut errors) {
        Some((day, source)) if !errors.any() => Ok(Checked { table, day, source }),
        _ => Err(errors),
    }
}

/// What the form shows.
#[derive(Debug)]
pub struct Amending<B> {
    pub rule_set: String,
    pub bands: Vec<B>,
    pub whole: Whole,
    pub errors: FormErrors,
    pub earliest: String,
    /// What else stands against saving.
    pub problem: &'static str,
}

impl<B> Amending<B> {
    /// The complaint about a field of the band with this number.
    pub fn on(&self, field: &str, no: &usize) -> &str {
        self.errors.on(&format!("{field}-{no}"))
    }
}

/// The form as it is first shown, or again with what is wrong with it.
fn page<T: TypedTable>(
    who: &Who,
    rule_set: &RuleSet,
    standing: &Standing<T::Band>,
    mut typed: T,
    (errors, problem): (FormErrors, &'static str),
) -> T::Page {
    let table = Amending {
        rule_set: rule_set.name.clone(),
        bands: typed.typed(),
        whole: std::mem::take(typed.whole()),
        errors,
        earliest: full_day(standing.earliest),
        problem,
    };
    T::page(who.frame(Section::Site), table)
}

/// The rule set that the site stands under.
pub async fn rule_set(conn: &mut SqliteConnection, who: &Who) -> Result<RuleSet, AppError> {
    store::rule_set(conn, &who.site.rule_set)
        .await?
        .ok_or(AppError::NotFound("rule set"))
}

pub async fn form<T: TypedTable>(
    State(app): State<App>,
    who: Who,
) -> Result<Page<T::Page>, AppError> {
    let mut conn = app.db.read().await?;
    let rule_set = rule_set(&mut conn, &who).await?;
    let all = T::bands(&mut conn, &rule_set.code).await?;
    let standing = Standing::of(all, who.site.today(app.clock.now()));
    let typed = T::of(&standing);
    let as_yet = (FormErrors::default(), "");
    Ok(Page(page(&who, &rule_set, &standing, typed, as_yet)))
}

pub async fn amend<T: TypedTable>(
    State(app): State<App>,
    who: Who,
    form: Form<T>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let rule_set = rule_set(tx.conn(), &who).await?;
    let all = T::bands(tx.conn(), &rule_set.code).await?;
    let standing = Standing::of(all, who.site.today(now));
    let mut typed = form.input;
    let again = |typed, errors, problem| page(&who, &rule_set, &standing, typed, (errors, problem));
    let rows = std::mem::take(&mut typed.whole().rows);
    if !rows.is_empty() {
        amending::change_rows(&rows, &mut typed.lists());
        return Ok(Page(again(typed, FormErrors::default(), "")).into_response());
    }
    let checked = match check(&mut typed, standing.earliest) {
        Ok(checked) => checked,
        Err(errors) => return Ok(Refused(again(typed, errors, "")).into_response()),
    };
    let old: Vec<_> = standing
        .bands
        .iter()
        .map(|band| (band, T::as_new(band)))
        .collect();
    let amendment = amending::amendment(&old, &checked.table);
    let unchanged = amendment.end.is_empty() && amendment.begin.is_empty();
    let is_newest = typed.whole().mark == standing.mark();
    if let Some(problem) = amending::problem(is_newest, T::has_gap(&checked.table), unchanged) {
        typed.whole().mark = standing.mark();
        return Ok(Refused(again(typed, FormErrors::default(), problem)).into_response());
    }
    for band in &amendment.end {
        T::end(&mut tx, band, checked.day).await?;
    }
    for band in &amendment.begin {
        T::begin(&mut tx, &rule_set.code, band, &checked.source, checked.day).await?;
    }
    let ended: Vec<String> = amendment
        .end
        .iter()
        .map(|band| band.range_words())
        .collect();
    let site = &who.site;
    let entry = Entry::about("site", site.id.get(), site.name.as_str(), T::AMENDED).with(json!({
        "rule set": rule_set.code, "from": checked.day, "bands ended": ended,
        "bands begun": amendment.begin.len(), "source": checked.source,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(T::PAGE.to_owned(), now).await?.into_response())
}
