//! The page of the site's figures for its stock.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::MOST;
use crate::crew::Who;
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::state::App;
use crate::stock::figures::{Differs, Entered, Figures};
use crate::stock::store;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    differs: String,
    share: String,
    why: String,
}

impl Input {
    fn check(&self, who: &Who) -> Result<(Figures, Note), FormErrors> {
        let mut errors = FormErrors::default();
        let amount = entry::volume(&self.differs, who.site.units, 0..=MOST);
        let amount = errors.take("differs", amount);
        let share = errors.take("share", entry::percent(&self.share, 0..=1000));
        let why = errors.take("why", Note::parse_reason(&self.why));
        match (amount, share, why) {
            (Some(amount), Some(share), Some(why)) => Ok((
                Figures {
                    differs: Differs { amount, share },
                },
                why,
            )),
            _ => Err(errors),
        }
    }
}

#[derive(Template)]
#[template(path = "stock/figures.html")]
struct FiguresPage {
    frame: Frame,
    unit: &'static str,
    /// What was entered, the newest first; none while the usual figures stand.
    entered: Vec<String>,
    input: Input,
    errors: FormErrors,
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    input: Option<Input>,
    errors: FormErrors,
) -> Result<FiguresPage, AppError> {
    let units = who.site.units;
    let figures = store::figures(conn).await?;
    let words = |one: &Entered| {
        format!(
            "{}: {}. {}, {}",
            one.figures.differs.words(units),
            one.why,
            one.person,
            who.site.moment_words(one.at)
        )
    };
    let entered = store::all_figures(conn).await?;
    Ok(FiguresPage {
        frame: who.frame(Section::Stock),
        unit: entry::large(units).symbol(),
        entered: entered.iter().map(words).collect(),
        input: input.unwrap_or_else(|| Input {
            differs: entry::typed_volume(figures.differs.amount.volume(), units),
            share: entry::typed_percent(figures.differs.share),
            why: String::new(),
        }),
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
    let (new, why) = match form.input.check(&who) {
        Ok(checked) => checked,
        Err(errors) => {
            let page = page(tx.conn(), &who, Some(form.input), errors).await?;
            return Ok(Refused(page).into_response());
        }
    };
    store::insert_figures(&mut tx, &new, &why, who.id, now).await?;
    let detail = json!({ "a count may differ by": new.differs.words(who.site.units), "why": why });
    let name = who.site.name.as_str();
    let entry = Entry::about(
        "site",
        who.site.id.get(),
        name,
        "figures for the stock entered",
    )
    .with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/stock/figures".to_owned(), now)
        .await?
        .into_response())
}
