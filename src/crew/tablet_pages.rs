//! The shared tablets: which there are, a browser made one, and one ended.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::tablet::{self, Tablet};
use super::{Who, tablet_store};
use crate::clock::Moment;
use crate::db::taken;
use crate::ids::TabletId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Nothing, Page, Redirect, Refused, Section};

struct Line {
    tablet: Tablet,
    made: String,
    seen: String,
}

#[derive(Template)]
#[template(path = "crew/tablets.html")]
struct TabletsPage {
    frame: Frame,
    here: Vec<Line>,
    ended: Vec<Line>,
    typed: String,
    errors: FormErrors,
}

impl TabletsPage {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        now: Moment,
        typed: String,
        errors: FormErrors,
    ) -> Result<Self, AppError> {
        let lines = tablet_store::all(conn)
            .await?
            .into_iter()
            .map(|tablet| Line {
                made: who.site.moment_words(tablet.made_at),
                seen: who.site.moment_words(tablet.seen_at),
                tablet,
            });
        let (here, ended) = lines.partition(|line| line.tablet.lives(now));
        Ok(Self {
            frame: who.frame(Section::Crew),
            here,
            ended,
            typed,
            errors,
        })
    }
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let now = app.clock.now();
    let page = TabletsPage::load(&mut conn, &who, now, String::new(), FormErrors::default());
    Ok(Page(page.await?))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
}

pub async fn make(
    State(app): State<App>,
    who: Who,
    jar: CookieJar,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let mut errors = FormErrors::default();
    let name = Name::parse(&form.input.name)
        .map_err(|_| "Write where it stands, in at most 60 characters: Tablet in Bay 2.");
    let made = match errors.take("name", name) {
        None => None,
        Some(name) => {
            match tablet::make(&mut tx, jar, &name, who.id, now, app.config.https).await {
                Ok((id, jar)) => Some((name, id, jar)),
                Err(error)
                    if error
                        .downcast_ref()
                        .is_some_and(|e| taken(e, "tablet.name")) =>
                {
                    errors.add("name", "A shared tablet has this name already. End that one first, or add a number.");
                    None
                }
                Err(error) => return Err(error.into()),
            }
        }
    };
    let Some((name, id, jar)) = made else {
        let page = TabletsPage::load(tx.conn(), &who, now, form.input.name, errors).await?;
        return Ok(Refused(page).into_response());
    };
    let entry = Entry::about("tablet", id.get(), name.as_str(), "made a shared tablet");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = tx.finish("/clean-outs".to_owned(), now).await?;
    Ok((jar, onward).into_response())
}

pub async fn end(
    State(app): State<App>,
    who: Who,
    Path(id): Path<TabletId>,
    form: Form<Nothing>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let name = tablet_store::end(&mut tx, id, now)
        .await?
        .ok_or(AppError::NotFound("shared tablet"))?;
    let entry = Entry::about(
        "tablet",
        id.get(),
        name.as_str(),
        "no longer a shared tablet",
    );
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish("/tablets".to_owned(), now).await
}
