//! How a product is ordered, as the coordinator enters it.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::MOST;
use crate::crew::Who;
use crate::ids::ProductId;
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::units::Units;
use crate::state::App;
use crate::stock::store;
use crate::stock::terms::{OrderTerms, Sizes};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    lead_days: String,
    keeping_days: String,
    sizes: String,
    least: String,
    why: String,
}

impl Input {
    fn of(terms: &OrderTerms, units: Units) -> Self {
        let sizes = terms.sizes.get().into_iter();
        let sizes: Vec<String> = sizes
            .map(|size| entry::typed_volume(size.volume(), units))
            .collect();
        Self {
            lead_days: terms.lead_days.to_string(),
            keeping_days: terms
                .keeping_days
                .map_or_else(String::new, |days| days.to_string()),
            sizes: sizes.join("; "),
            least: terms.least.map_or_else(String::new, |least| {
                entry::typed_volume(least.volume(), units)
            }),
            why: String::new(),
        }
    }

    fn check(&self, units: Units) -> Result<(OrderTerms, Note), FormErrors> {
        let mut errors = FormErrors::default();
        let lead_days = errors.take("lead_days", entry::count(&self.lead_days, 0..=365));
        let keeping_days =
            entry::optional(&self.keeping_days, |typed| entry::count(typed, 1..=3650));
        let keeping_days = errors.take("keeping_days", keeping_days);
        let sizes = errors.take("sizes", parse_sizes(&self.sizes, units));
        let least = entry::optional(&self.least, |typed| entry::volume(typed, units, 0..=MOST));
        let least = errors.take("least", least);
        let why = errors.take("why", Note::parse(&self.why));
        match (lead_days, keeping_days, sizes, least, why) {
            (Some(lead_days), Some(keeping_days), Some(sizes), Some(least), Some(why)) => Ok((
                OrderTerms {
                    lead_days,
                    keeping_days,
                    sizes,
                    least,
                },
                why,
            )),
            _ => Err(errors),
        }
    }
}

/// '5; 25', each up to 10 m³ as one container in the table of lots.
fn parse_sizes(typed: &str, units: Units) -> Result<Sizes, String> {
    let parts = typed.split(';').map(str::trim);
    let sizes: Result<Vec<_>, String> = parts
        .filter(|part| !part.is_empty())
        .map(|part| entry::volume(part, units, 10..=10_000_000))
        .collect();
    Sizes::of(sizes?)
}

#[derive(Template)]
#[template(path = "stock/ordering.html")]
struct OrderingPage {
    frame: Frame,
    id: ProductId,
    name: String,
    unit: &'static str,
    /// What was entered, the newest first.
    entered: Vec<String>,
    usual_days: i64,
    input: Input,
    errors: FormErrors,
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    id: ProductId,
    input: Option<Input>,
    errors: FormErrors,
) -> Result<OrderingPage, AppError> {
    let units = who.site.units;
    let product = store::product(conn, id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    let mut all = store::all_terms(conn).await?;
    all.retain(|entered| entered.product_id == id);
    let terms = match all.first() {
        Some(newest) => newest.terms.clone(),
        None => OrderTerms::usual(id, &store::with_balance(conn).await?),
    };
    let entered = all.iter().map(|one| {
        let why = match one.why.is_empty() {
            true => String::new(),
            false => format!(": {}", one.why),
        };
        let at = who.site.moment_words(one.at);
        let days = words(&one.terms, units);
        format!("{}{why}. {}, {at}", days.join(", "), one.person)
    });
    Ok(OrderingPage {
        frame: who.frame(Section::Stock),
        id,
        name: product.name.to_string(),
        unit: entry::large(units).symbol(),
        entered: entered.collect(),
        usual_days: OrderTerms::USUAL_LEAD_DAYS,
        input: input.unwrap_or_else(|| Input::of(&terms, units)),
        errors,
    })
}

/// Each figure in words.
fn words(terms: &OrderTerms, units: Units) -> Vec<String> {
    let mut words = vec![format!("{} to come", days(terms.lead_days))];
    words.extend(
        terms
            .keeping_days
            .map(|keeping| format!("keeps {}", days(keeping))),
    );
    let sizes = terms.sizes.words(units);
    if !sizes.is_empty() {
        words.push(format!("sold as {sizes}"));
    }
    words.extend(terms.least.map(|least| {
        let least = crate::science::show::volume(least.volume(), units);
        format!("{least} never undercut")
    }));
    words
}

fn days(days: i64) -> String {
    match days {
        1 => "1\u{a0}day".to_owned(),
        days => format!("{days}\u{a0}days"),
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let page = page(&mut conn, &who, id, None, FormErrors::default());
    Ok(Page(page.await?))
}

pub async fn enter(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let product = store::product(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    let (new, why) = match form.input.check(units) {
        Ok(checked) => checked,
        Err(errors) => {
            let page = page(tx.conn(), &who, id, Some(form.input), errors).await?;
            return Ok(Refused(page).into_response());
        }
    };
    store::insert_terms(&mut tx, id, &new, &why, who.id, now).await?;
    let detail = json!({ "ordered": words(&new, units), "why": why });
    let name = product.name.as_str();
    let entry = Entry::about("product", id.get(), name, "how it is ordered").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/stock/enough".to_owned(), now)
        .await?
        .into_response())
}
