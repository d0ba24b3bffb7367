//! Proposing a clean-out for a gap: the earliest time that fits and that its room allows, the method, and the lot and jug
//! where there is no choice.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDateTime;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::clashes::first_free;
use super::offers;
use super::store::{self, NewCleanout};
use super::water;
use super::{pages, path};
use crate::clock::Moment;
use crate::crew::Who;
use crate::crops::gap::{Gap, NoRoom, Slot, earliest};
use crate::crops::{self, Planting};
use crate::db::{self, WriteTx};
use crate::ids::{CleanoutId, MethodVersionId, PlantingId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::checks;
use crate::site::Site;
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct ProposeInput {
    /// Empty when the system stands without a crop.
    pub planting_id: String,
    pub system_id: String,
    pub method: String,
}

#[derive(Template)]
#[template(path = "cleanouts/propose.html")]
struct ProposePage {
    frame: Frame,
    input: ProposeInput,
    errors: FormErrors,
    systems: Vec<(String, String)>,
    methods: Vec<(String, String)>,
    /// Benches that can run over, of every system that can be chosen.
    overflows: Vec<String>,
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    input: ProposeInput,
    errors: FormErrors,
) -> Result<ProposePage, AppError> {
    let systems = offers::systems_offered(conn).await?;
    let mut overflows = Vec::new();
    for (id, name) in &systems {
        let Ok(system) = id.parse::<SystemId>() else {
            continue;
        };
        let warnings = checks::overflow_warnings_of(conn, system, who.site.units).await?;
        overflows.extend(warnings.iter().map(|words| format!("{name}. {words}")));
    }
    Ok(ProposePage {
        frame: who.frame(Section::Cleanouts),
        systems,
        overflows,
        methods: offers::methods_offered(conn).await?,
        input,
        errors,
    })
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Query(input): Query<ProposeInput>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    Ok(Page(
        page(&mut conn, &who, input, FormErrors::default()).await?,
    ))
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    Form { input, once }: Form<ProposeInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&once).await?;
    let new = match check(
        tx.conn(),
        &input,
        &who.site,
        now.in_zone(who.site.zone).naive_local(),
    )
    .await?
    {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(page(tx.conn(), &who, input, errors).await?).into_response());
        }
    };
    let id = match propose_where_free(&mut tx, &who, &new, now).await {
        Ok(made) => made,
        Err(AppError::Db(error)) if db::taken(&error, "cleanout.system_id") => {
            let errors = FormErrors::only(
                "system_id",
                "This system has an open clean-out. Finish it or call it off first.",
            );
            return Ok(Refused(page(tx.conn(), &who, input, errors).await?).into_response());
        }
        Err(error) => return Err(error),
    };
    Ok(tx.finish(path(id), now).await?.into_response())
}

/// Adds it under the next number, with lot and jug where there is no choice, and writes that down.
pub async fn propose(
    tx: &mut WriteTx,
    who: &Who,
    new: &NewCleanout,
    now: Moment,
) -> Result<CleanoutId, AppError> {
    let id = added(tx, who, new, now).await?;
    told(tx, who, id, now).await
}

/// The same at the first time from then on at which its room lets it be dosed, as its booking will ask.
async fn propose_where_free(
    tx: &mut WriteTx,
    who: &Who,
    new: &NewCleanout,
    now: Moment,
) -> Result<CleanoutId, AppError> {
    let id = added(tx, who, new, now).await?;
    let cleanout = pages::found(tx.conn(), id).await?;
    let earliest = Slot {
        starts: cleanout.starts(),
        ends: cleanout.ends(&who.site.hours),
    };
    let free = first_free(tx.conn(), &cleanout, earliest, &who.site).await?;
    store::propose_for(tx, id, free.day(), free.start_min()).await?;
    told(tx, who, id, now).await
}

async fn added(
    tx: &mut WriteTx,
    who: &Who,
    new: &NewCleanout,
    now: Moment,
) -> Result<CleanoutId, AppError> {
    let today = who.site.today(now);
    let (id, _) = store::insert(tx, new, today, now).await?;
    offers::choose_where_there_is_no_choice(tx, id, &who.site, today).await?;
    Ok(id)
}

async fn told(
    tx: &mut WriteTx,
    who: &Who,
    id: CleanoutId,
    now: Moment,
) -> Result<CleanoutId, AppError> {
    let cleanout = pages::found(tx.conn(), id).await?;
    let entry = Entry::about("clean-out", id.get(), cleanout.subject(), "proposed").with(json!({
        "system": cleanout.system_name,
        "starts": cleanout.starts().format("%Y-%m-%d %H:%M").to_string(),
        "number": cleanout.number,
    }));
    logbook::write(tx, &who.author(), entry, now).await?;
    Ok(id)
}

async fn check(
    conn: &mut SqliteConnection,
    input: &ProposeInput,
    site: &Site,
    now: NaiveDateTime,
) -> Result<Result<NewCleanout, FormErrors>, AppError> {
    let mut errors = FormErrors::default();
    let system = errors.take(
        "system_id",
        input
            .system_id
            .trim()
            .parse::<SystemId>()
            .map_err(|_| "Choose the system."),
    );
    let planting = match input.planting_id.trim() {
        "" => match system {
            Some(system) => crops::store::growing_in(conn, system).await?,
            None => None,
        },
        typed => match typed.parse::<PlantingId>() {
            Ok(id) => Some(
                crops::store::by_id(conn, id)
                    .await?
                    .ok_or(AppError::NotFound("planting"))?,
            ),
            Err(_) => return Err(AppError::NotFound("planting")),
        },
    };
    // A planting names its system; the other field need not be sent then.
    let system = match &planting {
        Some(planting) => {
            errors = FormErrors::default();
            Some(planting.system_id)
        }
        None => system,
    };
    if let Some(system) = system
        && let Some(why) = offers::not_usable(conn, system).await?
    {
        errors.add("system_id", why);
    }
    let method = match input.method.trim() {
        "" => offers::only_method(conn).await?.ok_or("Choose the method."),
        typed => typed
            .parse::<MethodVersionId>()
            .map_err(|_| "Choose the method."),
    };
    let offered = offers::methods_offered(conn).await?;
    let in_use = |id: &MethodVersionId| offered.iter().any(|(code, _)| *code == id.to_string());
    let method = match errors.take("method", method) {
        Some(id) => {
            let found = offers::method_of(conn, id).await?.filter(|_| in_use(&id));
            errors.take(
                "method",
                found.ok_or("Choose the newest version of a method in use."),
            )
        }
        None => None,
    };
    let (Some(system_id), Some(method)) = (system, method) else {
        return Ok(Err(errors));
    };
    if let Some(meeting) = water::against(conn, system_id, &method.card, site).await? {
        let words = meeting.words();
        errors.add("system_id", format!("{words} {}", water::RINSE_FIRST));
    }
    let slot = errors.take(
        "system_id",
        slot_for(planting.as_ref(), site, method.length.get(), now),
    );
    let Some(slot) = slot.filter(|_| !errors.any()) else {
        return Ok(Err(errors));
    };
    Ok(Ok(NewCleanout {
        system_id,
        planting_id: planting.map(|planting| planting.id),
        method_version_id: method.version_id,
        starts_on: slot.day(),
        starts_min: slot.start_min(),
        length: method.length,
        target: method.target,
        target_source: method.target_source,
        target_reference: method.target_reference,
    }))
}

/// The earliest slot, late or not: a late one is proposed and said to be late.
fn slot_for(
    planting: Option<&Planting>,
    site: &Site,
    length_min: i64,
    now: NaiveDateTime,
) -> Result<Slot, String> {
    let gap = match planting {
        Some(planting) => planting
            .gap()
            .ok_or("This crop has no day on which it comes off. Enter its turnover first.")?,
        // An empty system can be cleaned out from now on.
        None => Gap {
            off_on: now.date(),
            off_already: true,
            next_on: None,
        },
    };
    match earliest(&gap, &site.hours, length_min, now) {
        Ok(slot) | Err(NoRoom::Late { slot, .. }) => Ok(slot),
        Err(never @ NoRoom::Never) => Err(never.to_string()),
    }
}
