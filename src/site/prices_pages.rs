//! The page of what things and time cost at this site.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::prices::{Currency, Entered, Prices};
use super::store;
use crate::crew::{Role, Who};
use crate::logbook::{self, Entry};
use crate::science::parse;
use crate::science::stored::Hundredths;
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// The most that one figure may be, in hundredths, as in the table.
const MOST: i64 = 100_000_000;

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    currency: String,
    hour: String,
    strip: String,
    water: String,
    bench_week: String,
    why: String,
}

impl Input {
    fn of(prices: &Prices) -> Self {
        let typed = |amount: Option<Hundredths>| amount.map(Hundredths::words).unwrap_or_default();
        Self {
            currency: prices.currency.as_str().to_owned(),
            hour: typed(prices.hour),
            strip: typed(prices.strip),
            water: typed(prices.water),
            bench_week: typed(prices.bench_week),
            why: String::new(),
        }
    }

    fn check(&self) -> Result<(Prices, Note), FormErrors> {
        let mut errors = FormErrors::default();
        let currency = errors.take("currency", Currency::parse(&self.currency));
        let hour = errors.take("hour", amount(&self.hour));
        let strip = errors.take("strip", amount(&self.strip));
        let water = errors.take("water", amount(&self.water));
        let bench_week = errors.take("bench_week", amount(&self.bench_week));
        let why = errors.take("why", Note::parse(&self.why));
        match (currency, hour, strip, water, bench_week, why) {
            (Some(currency), Some(hour), Some(strip), Some(water), Some(bench_week), Some(why)) => {
                Ok((
                    Prices {
                        currency,
                        hour,
                        strip,
                        water,
                        bench_week,
                    },
                    why,
                ))
            }
            _ => Err(errors),
        }
    }
}

/// An amount of money; may stay empty.
fn amount(typed: &str) -> Result<Option<Hundredths>, String> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let figure = parse::decimal(typed).map_err(|error| format!("{error}."))?;
    let amount = Hundredths::nearest(figure).ok();
    let amount = amount.filter(|amount| amount.get() <= MOST);
    let amount = amount.ok_or("Write an amount from 0 to 1 000 000, as in 24.50.")?;
    Ok(Some(amount))
}

#[derive(Template)]
#[template(path = "site/prices.html")]
struct PricesPage {
    frame: Frame,
    currency: String,
    /// What counts now.
    lines: Vec<(&'static str, String)>,
    /// What was entered, the newest first.
    entered: Vec<String>,
    may_change: bool,
    input: Input,
    errors: FormErrors,
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    input: Option<Input>,
    errors: FormErrors,
) -> Result<PricesPage, AppError> {
    let entered = store::prices::all(conn).await?;
    let newest = entered.first().map(|entered| &entered.prices);
    let words = |one: &Entered| {
        let figures = one.prices.lines().into_iter();
        let figures: Vec<String> = figures
            .map(|(what, amount)| format!("{what} {amount}"))
            .collect();
        let figures = match figures.is_empty() {
            true => format!("{}, no figure", one.prices.currency.as_str()),
            false => figures.join(", "),
        };
        let why = match one.why.is_empty() {
            true => String::new(),
            false => format!(": {}", one.why),
        };
        let at = who.site.moment_words(one.at);
        format!("{figures}{why}. {}, {at}", one.person)
    };
    Ok(PricesPage {
        frame: who.frame(Section::None),
        currency: newest.map_or_else(String::new, |newest| newest.currency.as_str().to_owned()),
        lines: newest.map(Prices::lines).unwrap_or_default(),
        may_change: who.is_at_least(Role::Coordinator),
        input: input.unwrap_or_else(|| newest.map(Input::of).unwrap_or_default()),
        entered: entered.iter().map(words).collect(),
        errors,
    })
}

pub async fn form(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    Ok(Page(
        page(&mut conn, &who, None, FormErrors::default()).await?,
    ))
}

pub async fn enter(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (new, why) = match form.input.check() {
        Ok(checked) => checked,
        Err(errors) => {
            let page = page(tx.conn(), &who, Some(form.input), errors).await?;
            return Ok(Refused(page).into_response());
        }
    };
    store::prices::insert(&mut tx, &new, &why, who.id, now).await?;
    let figures: Vec<String> = new
        .lines()
        .into_iter()
        .map(|(what, amount)| format!("{what}: {amount}"))
        .collect();
    let detail = json!({ "money": new.currency, "prices": figures, "why": why });
    let name = who.site.name.as_str();
    let entry = Entry::about("site", who.site.id.get(), name, "prices entered").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/site/prices".to_owned(), now)
        .await?
        .into_response())
}
