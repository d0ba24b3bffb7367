//! Moving a clean-out in the plan, or pinning it where it is: what that does is shown before it is saved.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use crate::cleanouts::booking::parse_minute;
use crate::clock::Moment;
use crate::crew::Who;
use crate::ids::SystemId;
use crate::logbook::{self, Entry as LogEntry};
use crate::plan::moves::{self, Tried};
use crate::plan::proposal::{Basis, Proposal};
use crate::plan::sources::Sources;
use crate::plan::timetable::{Entry, at_words, span_words, wall};
use crate::plan::{load, reasons, store};
use crate::state::App;
use crate::text::parse_day;
use crate::web::{
    AppError, Effect, Form, FormErrors, Frame, Meanwhile, Page, Redirect, Refused, Section,
};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    day: String,
    time: String,
    /// The beginning and the plan whose effect was shown; only those are saved.
    shown: String,
}

impl Input {
    fn check(&self, zone: chrono_tz::Tz) -> Result<Moment, FormErrors> {
        let mut errors = FormErrors::default();
        let day = errors.take("day", parse_day(&self.day));
        let minute = errors.take(
            "time",
            parse_minute(&self.time).and_then(|minute| match minute % 15 {
                0 => Ok(minute),
                _ => Err("The plan goes by quarters of an hour: write 08:15 or 08:30.".to_owned()),
            }),
        );
        match (day, minute) {
            (Some(day), Some(minute)) => Ok(Moment::on_the_wall(day, minute, zone)),
            _ => Err(errors),
        }
    }
}

#[derive(Template)]
#[template(path = "plan/move.html")]
struct MovePage {
    frame: Frame,
    path: String,
    title: String,
    lead: String,
    input: Input,
    errors: FormErrors,
    /// What saving does; empty until the beginning was looked at.
    effects: Vec<Effect>,
}

impl MovePage {
    fn new(
        who: &Who,
        sources: &Sources,
        proposal: &Proposal,
        system: SystemId,
        input: Input,
    ) -> Self {
        let zone = who.site.zone;
        let entry = proposal.timetable.entry(system);
        let place = entry.and_then(|entry| Some(span_words(entry.starts()?, entry.ends()?, zone)));
        Self {
            frame: who.frame(Section::Plan),
            path: format!("/plan/{system}/move"),
            title: sources.system_name(system),
            lead: match (place, entry.is_some_and(|entry| entry.pinned)) {
                (Some(place), true) => format!("Pinned to {place}."),
                (Some(place), false) => format!("Proposed for {place}."),
                (None, _) => "It has no place in the plan yet.".to_owned(),
            },
            input,
            errors: FormErrors::default(),
            effects: Vec::new(),
        }
    }
}

fn found(proposal: &Proposal, system: SystemId) -> Result<(), AppError> {
    match proposal.facts.asked_of(system) {
        Some(_) => Ok(()),
        None => Err(AppError::NotFound(
            "clean-out in the plan that can be moved",
        )),
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let known = super::known(&app, &who, now).await?;
    let (sources, proposal) = (&known.sources, &known.proposal);
    found(proposal, system)?;
    let starts = proposal.timetable.entry(system).and_then(Entry::starts);
    let starts = starts.map(|at| wall(at, who.site.zone));
    let input = Input {
        day: starts.map(|at| at.date().to_string()).unwrap_or_default(),
        time: starts
            .map(|at| at.format("%H:%M").to_string())
            .unwrap_or_default(),
        shown: String::new(),
    };
    Ok(Page(MovePage::new(&who, sources, proposal, system, input)))
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    Form { input, once }: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let known = super::known(&app, &who, now).await?;
    let (sources, proposal) = (&known.sources, &known.proposal);
    found(proposal, system)?;
    let mut page = MovePage::new(&who, sources, proposal, system, input.clone());
    let at = match input.check(who.site.zone) {
        Ok(at) => at,
        Err(errors) => {
            page.errors = errors;
            return Ok(Refused(page).into_response());
        }
    };
    let from = Arc::clone(&known);
    let (basis, tried) = super::off_thread(move || {
        let tried = moves::tried(&from.sources, &from.proposal, system, at)?;
        Ok((Basis::of(&from.sources)?, tried))
    })
    .await?;
    let (after, starts) = match tried {
        Tried::Fits { proposal, starts } => (proposal, starts),
        Tried::Not(why) => {
            page.errors.add("day", why.join(" "));
            return Ok(Refused(page).into_response());
        }
    };
    let shown = format!("{at} {}", after.mark());
    if input.shown != shown {
        let ends = after.timetable.entry(system).and_then(Entry::ends);
        let place = span_words(at, ends.unwrap_or(at), who.site.zone);
        page.effects = vec![Effect::holds(format!("It is held to {place}."))];
        let others = moves::effects(sources, proposal, &after, Some(system));
        if others.is_empty() {
            page.effects
                .push(Effect::holds("Nothing else moves.".to_owned()));
        }
        page.effects.extend(others);
        page.input.shown = shown;
        return Ok(Page(page).into_response());
    }
    // Nothing is planned while the database is written to: it is only asked whether all is as it was.
    let mut tx = app.db.write_once(&once).await?;
    let sources = load::sources(&app, tx.conn(), &who.site, now).await?;
    if Basis::of(&sources)? != basis {
        page.errors.add(
            "day",
            "Something changed while this was saved. Look at what it does now.",
        );
        return Ok(Meanwhile(page).into_response());
    }
    let planting = after
        .facts
        .asked_of(system)
        .and_then(|asked| asked.entry.planting);
    store::pin(&mut tx, system, planting, Some(starts), who.id, now).await?;
    store::insert(
        &mut tx,
        who.site.id,
        false,
        &moves::kept(&after),
        who.id,
        now,
    )
    .await?;
    let words = at_words(at, who.site.zone);
    let entry = LogEntry::about(
        "system",
        system.get(),
        sources.system_name(system),
        "pinned in the plan",
    )
    .with(json!({ "begins": words }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/plan".to_owned(), now).await?.into_response())
}

/// Takes a pin off: the clean-out stays where it is until something asks it to move.
pub async fn let_go(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    Form { once, .. }: Form<Input>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&once).await?;
    let sources = load::sources(&app, tx.conn(), &who.site, now).await?;
    let pin = sources.pins.iter().find(|pin| pin.system == system);
    let pin = pin.ok_or(AppError::NotFound("pin"))?;
    store::pin(&mut tx, system, pin.planting, None, who.id, now).await?;
    let name = reasons::capital(&sources.system_name(system));
    let entry = LogEntry::about("system", system.get(), name, "let go in the plan");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish("/plan".to_owned(), now).await
}
