//! The page on which it is chosen what a dose is worked from.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde_json::json;
use sqlx::SqliteConnection;

use super::choices::ChoicesInput;
use super::pages::found;
use super::{Cleanout, MediaWas, TargetSource, Water, offers, store};
use crate::crew::Who;
use crate::ids::CleanoutId;
use crate::logbook::{self, Entry};
use crate::science::show;
use crate::science::strength::Basis;
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "cleanouts/choices.html")]
struct ChoicesPage {
    frame: Frame,
    cleanout: Cleanout,
    input: ChoicesInput,
    errors: FormErrors,
    lots: Options,
    jugs: Options,
    bases: Options,
    sources: Options,
    waters: Options,
    media: Options,
    volume_unit: &'static str,
    temperature_unit: &'static str,
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    cleanout: Cleanout,
    input: ChoicesInput,
    errors: FormErrors,
    today: chrono::NaiveDate,
) -> Result<ChoicesPage, AppError> {
    let first = |mut list: Options| {
        list.insert(0, (String::new(), "Choose".to_owned()));
        list
    };
    let units = who.site.units;
    Ok(ChoicesPage {
        frame: who.frame(Section::Cleanouts),
        lots: first(offers::lots_offered(conn, &who.site, today).await?),
        jugs: first(offers::jugs_offered(conn, &who.site).await?),
        bases: Basis::ALL
            .iter()
            .map(|basis| (basis.code().to_owned(), basis.words().to_owned()))
            .collect(),
        sources: TargetSource::ALL
            .iter()
            .map(|source| (source.code().to_owned(), source.words().to_owned()))
            .collect(),
        waters: Water::ALL
            .iter()
            .map(|water| (water.code().to_owned(), water.words().to_owned()))
            .collect(),
        media: MediaWas::ALL
            .iter()
            .map(|media| (media.code().to_owned(), media.code().to_owned()))
            .collect(),
        volume_unit: show::large_volume_unit(units).symbol(),
        temperature_unit: show::temperature_unit(units).symbol(),
        cleanout,
        input,
        errors,
    })
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let cleanout = found(&mut conn, id).await?;
    cleanout
        .state
        .changed()
        .map_err(|no| AppError::Conflict(no.to_string()))?;
    let input = ChoicesInput::of(&cleanout, who.site.units);
    let today = who.site.today(app.clock.now());
    Ok(Page(
        page(
            &mut conn,
            &who,
            cleanout,
            input,
            FormErrors::default(),
            today,
        )
        .await?,
    ))
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    Form { input, once }: Form<ChoicesInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let today = who.site.today(now);
    let mut tx = app.db.write_once(&once).await?;
    let cleanout = found(tx.conn(), id).await?;
    cleanout
        .state
        .changed()
        .map_err(|no| AppError::Conflict(no.to_string()))?;
    let mut refused = FormErrors::default();
    let choices = match input.check(who.site.units) {
        Ok(choices) => Some(choices),
        Err(errors) => {
            refused = errors;
            None
        }
    };
    if let Some(choices) = &choices {
        if !offered(
            &offers::lots_offered(tx.conn(), &who.site, today).await?,
            &choices.lot.to_string(),
        ) {
            refused.add("lot", "Choose a lot that is in use and not empty.");
        }
        if !offered(
            &offers::jugs_offered(tx.conn(), &who.site).await?,
            &choices.jug.to_string(),
        ) {
            refused.add("jug", "Choose a jug that is in use.");
        }
    }
    let Some(choices) = choices.filter(|_| !refused.any()) else {
        let page = page(tx.conn(), &who, cleanout, input, refused, today).await?;
        return Ok(Refused(page).into_response());
    };
    if !store::choose(&mut tx, id, &choices).await? {
        refused.add("target", format!(
            "Somebody changed this while you wrote. It says now: {} {}, {}. Yours stands below; save it again to put it in place.",
            cleanout.target, cleanout.target_source, cleanout.water
        ));
        let input = ChoicesInput {
            version: cleanout.version.to_string(),
            ..input
        };
        let page = page(tx.conn(), &who, cleanout, input, refused, today).await?;
        return Ok(Refused(page).into_response());
    }
    let entry =
        Entry::about("clean-out", id.get(), cleanout.subject(), "dose chosen").with(json!({
            "lot": choices.lot,
            "jug": choices.jug,
            "target": choices.target.to_string(),
            "source": choices.target_source,
            "reference": choices.target_reference,
            "water": choices.water,
            "media": choices.media_was,
            "tenths of a degree": choices.temperature,
        }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(cleanout.path(), now).await?.into_response())
}

fn offered(options: &Options, code: &str) -> bool {
    options.iter().any(|(offered, _)| offered == code)
}
