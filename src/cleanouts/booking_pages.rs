//! The page on which a clean-out is booked, or booked anew.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde_json::json;
use sqlx::SqliteConnection;

use super::booking::{Around, Booking, BookingInput, Crew, shown};
use super::pages::{found, planting_of};
use super::rules::Rules;
use super::rules::pages::Line;
use super::{Cleanout, clashes, store};
use crate::clock::Moment;
use crate::crew::Who;
use crate::crops::gap::length_words;
use crate::db::WriteTx;
use crate::ids::CleanoutId;
use crate::logbook::{self, Entry};
use crate::site::clock_words;
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Template)]
#[template(path = "cleanouts/booking.html")]
struct BookingPage {
    frame: Frame,
    cleanout: Cleanout,
    input: BookingInput,
    errors: FormErrors,
    people: Vec<(String, String)>,
    pouring: Vec<(String, String)>,
    length: String,
    gap: String,
    /// What stands against it, once it was asked for.
    against: Vec<String>,
    shown: String,
    /// What was let go of at its steps.
    let_go: Vec<Line>,
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    cleanout: Cleanout,
    rules: &Rules,
    input: BookingInput,
    errors: FormErrors,
) -> Result<BookingPage, AppError> {
    let day = input.starts_on.parse().unwrap_or(cleanout.starts_on);
    let gap = planting_of(conn, &cleanout).await?.and_then(|planting| {
        let gap = planting.gap()?;
        Some(match gap.next_on {
            Some(next) => format!(
                "{} comes off on {}; the next planting is on {}.",
                planting.crop,
                words(gap.off_on),
                words(next)
            ),
            None => format!(
                "{} comes off on {}; no next planting yet.",
                planting.crop,
                words(gap.off_on)
            ),
        })
    });
    let first = |empty: &str, mut list: Vec<(String, String)>| {
        list.insert(0, (String::new(), empty.to_owned()));
        list
    };
    Ok(BookingPage {
        frame: who.frame(Section::Cleanouts),
        people: first("Choose", rules.bookable(day)),
        pouring: first("Whoever is booked, where they may", rules.pouring(day)),
        length: length_words(cleanout.length.get()),
        gap: gap.unwrap_or_default(),
        against: Vec::new(),
        shown: String::new(),
        let_go: rules
            .let_gos()
            .iter()
            .map(|let_go| Line::of(rules, let_go, &who.site, Some(day)))
            .collect(),
        cleanout,
        input,
        errors,
    })
}

fn words(day: chrono::NaiveDate) -> String {
    crate::site::day_words(day)
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
    let rules = Rules::of(&mut conn, &cleanout).await?;
    let text = |id: Option<crate::ids::PersonId>| id.map(|id| id.to_string()).unwrap_or_default();
    let input = BookingInput {
        starts_on: cleanout.starts_on.to_string(),
        starts_at: clock_words(cleanout.starts_min),
        person: text(cleanout.person_id),
        pours: text(cleanout.pours_id),
        others: cleanout.others.clone(),
        version: cleanout.version.to_string(),
        ..BookingInput::default()
    };
    Ok(Page(
        page(
            &mut conn,
            &who,
            cleanout,
            &rules,
            input,
            FormErrors::default(),
        )
        .await?,
    ))
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    Form { input, once }: Form<BookingInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&once).await?;
    let cleanout = found(tx.conn(), id).await?;
    cleanout
        .state
        .booked()
        .map_err(|no| AppError::Conflict(no.to_string()))?;
    let rules = Rules::of(tx.conn(), &cleanout).await?;
    let planting = planting_of(tx.conn(), &cleanout).await?;
    let around = Around {
        today: who.site.today(now),
        gap: planting.and_then(|planting| planting.gap()),
        hours: who.site.hours,
        length: cleanout.length,
        rules: &rules,
    };
    let mut booking = match input.check(&around) {
        Ok(booking) => booking,
        Err(errors) => {
            let page = page(tx.conn(), &who, cleanout, &rules, input, errors).await?;
            return Ok(Refused(page).into_response());
        }
    };
    let clashes = clashes::of(tx.conn(), &booking.of(&cleanout), &rules, &who.site).await?;
    booking.despite = match input.despite(&clashes) {
        Ok(despite) => despite,
        Err(errors) => {
            let against = clashes.words();
            let page = BookingPage {
                shown: shown(&against),
                against,
                ..page(tx.conn(), &who, cleanout, &rules, input, errors).await?
            };
            return Ok(Refused(page).into_response());
        }
    };
    if !book(&mut tx, &who, &cleanout, &booking, &rules.crew, now).await? {
        let errors = FormErrors::only("starts_on", changed_meanwhile(&cleanout));
        let input = BookingInput {
            version: cleanout.version.to_string(),
            ..input
        };
        let page = page(tx.conn(), &who, cleanout, &rules, input, errors).await?;
        return Ok(Refused(page).into_response());
    }
    Ok(tx.finish(cleanout.path(), now).await?.into_response())
}

/// Books it and writes that down. False when somebody else changed it meanwhile.
pub async fn book(
    tx: &mut WriteTx,
    who: &Who,
    cleanout: &Cleanout,
    booking: &Booking,
    crew: &Crew,
    now: Moment,
) -> Result<bool, AppError> {
    let to = cleanout
        .state
        .booked()
        .map_err(|no| AppError::Conflict(no.to_string()))?;
    if !store::book(tx, cleanout, to, booking).await? {
        return Ok(false);
    }
    if let Some(despite) = &booking.despite {
        store::insert_despite(tx, cleanout.id, booking, despite, who.id, now).await?;
    }
    let entry = Entry::about("clean-out", cleanout.id.get(), cleanout.subject(), "booked")
        .with(detail(booking, crew, cleanout));
    logbook::write(tx, &who.author(), entry, now).await?;
    Ok(true)
}

/// What stands there now, so that both can be seen.
fn changed_meanwhile(cleanout: &Cleanout) -> String {
    let name = |name: &Option<crate::text::Name>| {
        name.as_ref()
            .map_or("nobody".to_owned(), ToString::to_string)
    };
    format!(
        "Somebody changed this while you wrote. It says now: {}, {}, booked to {}, poured by {}. Yours stands below; save it again to put it in place.",
        words(cleanout.starts_on),
        clock_words(cleanout.starts_min),
        name(&cleanout.person_name),
        name(&cleanout.pours_name)
    )
}

fn detail(booking: &Booking, crew: &Crew, was: &Cleanout) -> serde_json::Value {
    let name = |id| crew.person(id).map(|person| person.name.to_string());
    let mut detail = json!({
        "starts": super::at_minute(booking.starts_on, booking.starts_min).format("%Y-%m-%d %H:%M").to_string(),
        "before": was.starts().format("%Y-%m-%d %H:%M").to_string(),
        "to": name(booking.person),
        "pours": booking.pours.and_then(name),
        "others": booking.others,
    });
    if let Some(despite) = &booking.despite {
        detail["against it"] = json!(despite.against);
        detail["all the same because"] = json!(despite.why);
    }
    detail
}
