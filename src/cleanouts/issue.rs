//! Issuing the card, which freezes it, and calling a clean-out off.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::card::{FORM, FrozenCard, FrozenPerson, FrozenPlanting, FrozenSystem};
use super::given::{self, Readiness};
use super::pages::{found, planting_of};
use super::{Cleanout, NotNow, offers, store};
use crate::clock::Moment;
use crate::crew::Who;
use crate::crops::Planting;
use crate::ids::CleanoutId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Redirect, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct IssueInput {}

/// Freezes everything and sends the card out, or says all that is missing.
pub async fn issue(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    Form { once, .. }: Form<IssueInput>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&once).await?;
    let cleanout = found(tx.conn(), id).await?;
    let refused = |no: NotNow| AppError::Conflict(no.to_string());
    // An issued card is not worked out again.
    if !cleanout.state.can_change() {
        cleanout.state.issued(Vec::new()).map_err(refused)?;
    }
    let ready = given::readiness(tx.conn(), &cleanout, &who.site, who.site.today(now)).await?;
    let missing = ready
        .missing
        .iter()
        .map(|obstacle| obstacle.what.clone())
        .collect();
    let to = cleanout.state.issued(missing).map_err(refused)?;
    let method = offers::method_of(tx.conn(), cleanout.method_version_id).await?;
    let planting = planting_of(tx.conn(), &cleanout).await?;
    let method = method.ok_or(AppError::NotFound("method"))?;
    let card = card(&cleanout, &who, now, ready, method.card, planting).ok_or_else(|| {
        AppError::Conflict(
            "Something is missing for the card. Look at the clean-out again.".to_owned(),
        )
    })?;
    store::insert_card(&mut tx, id, &card).await?;
    if !store::set_state(&mut tx, &cleanout, to).await? {
        return Err(AppError::Conflict(
            "Somebody else changed this clean-out just now. Look again.".to_owned(),
        ));
    }
    let entry =
        Entry::about("clean-out", id.get(), cleanout.subject(), "card issued").with(json!({
            "method": format!("{} version {}", card.method.code, card.method.version),
            "lot": card.dose.lot.code,
            "dose": card.dose.sentence.replace('\u{a0}', " "),
            "pours": card.dose.pours().len(),
        }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish(format!("{}/card", cleanout.path()), now).await
}

/// All of it together; none when something that a card needs is not there.
fn card(
    cleanout: &Cleanout,
    who: &Who,
    now: Moment,
    ready: Readiness,
    method: super::card::FrozenMethod,
    planting: Option<Planting>,
) -> Option<FrozenCard> {
    let person = |id, name: &Option<crate::text::Name>| {
        Some(FrozenPerson {
            id,
            name: name.clone()?,
        })
    };
    Some(FrozenCard {
        form: FORM,
        number: cleanout.number.clone(),
        site: who.site.name.clone(),
        units: who.site.units,
        system: FrozenSystem {
            id: cleanout.system_id,
            name: cleanout.system_name.clone(),
            room: cleanout.room_name.clone(),
            benches: ready.benches,
        },
        planting: planting.map(|planting| FrozenPlanting {
            comes_off: planting.off_on.or(planting.turnover_on),
            crop: planting.crop,
            planted_on: planting.planted_on,
            next_on: planting.next_on,
            next_crop: planting.next_crop,
        }),
        starts_on: cleanout.starts_on,
        starts_min: cleanout.starts_min,
        length: cleanout.length,
        ends: cleanout.ends(&who.site.hours),
        booked: person(cleanout.person_id?, &cleanout.person_name)?,
        pours: person(cleanout.pours_id?, &cleanout.pours_name)?,
        others: cleanout.others.clone(),
        issued_by: FrozenPerson {
            id: who.id,
            name: who.name.clone(),
        },
        issued_at: now,
        method,
        dose: ready.dose?,
    })
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct CallOffInput {
    pub reason: String,
}

#[derive(Template)]
#[template(path = "cleanouts/call_off.html")]
struct CallOffPage {
    frame: Frame,
    cleanout: Cleanout,
    input: CallOffInput,
    errors: FormErrors,
}

pub async fn call_off_form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let cleanout = found(&mut conn, id).await?;
    cleanout
        .state
        .called_off()
        .map_err(|no| AppError::Conflict(no.to_string()))?;
    Ok(Page(CallOffPage {
        frame: who.frame(Section::Cleanouts),
        cleanout,
        input: CallOffInput::default(),
        errors: FormErrors::default(),
    }))
}

pub async fn call_off(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    Form { input, once }: Form<CallOffInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&once).await?;
    let cleanout = found(tx.conn(), id).await?;
    cleanout
        .state
        .called_off()
        .map_err(|no| AppError::Conflict(no.to_string()))?;
    let mut errors = FormErrors::default();
    let Some(reason) = errors.take("reason", Note::parse_reason(&input.reason)) else {
        let page = CallOffPage {
            frame: who.frame(Section::Cleanouts),
            cleanout,
            input,
            errors,
        };
        return Ok(Refused(page).into_response());
    };
    if !store::call_off(&mut tx, &cleanout, &reason).await? {
        return Err(AppError::Conflict(
            "Somebody else changed this clean-out just now. Look again.".to_owned(),
        ));
    }
    let entry = Entry::about("clean-out", id.get(), cleanout.subject(), "called off")
        .with(json!({ "reason": reason, "was": cleanout.state }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(cleanout.path(), now).await?.into_response())
}
