//! Asking again: a better plan is looked for off the requests, its page shows how far that is, and what was
//! found becomes the draft when somebody takes it.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::off_thread;
use crate::asking::{Question, Seen, Stands};
use crate::clock::Moment;
use crate::crew::Who;
use crate::logbook::{self, Entry as LogEntry};
use crate::plan::proposal::{Basis, Proposal, with_plan};
use crate::plan::sources::Sources;
use crate::plan::{load, moves, reasons, store};
use crate::site::full_day;
use crate::state::App;
use crate::turnovers::board::count_words;
use crate::web::{AppError, Effect, Form, Frame, Nothing, Page, Redirect, Section};

/// Puts the question for a better plan, without the draft: what was posted is kept where nothing is gained by
/// moving it.
pub async fn ask(State(app): State<App>, who: Who, _: Form<Nothing>) -> Result<Redirect, AppError> {
    let question = question(&app, &who, app.clock.now()).await?;
    let no = put(&app, question)?;
    Ok(Redirect::to(format!("/plan/asked/{no}")))
}

fn put(app: &App, question: Question) -> Result<u64, AppError> {
    let put = app.asking.ask(question);
    put.map_err(|full| AppError::Conflict(full.to_string()))
}

async fn without_draft(app: &App, who: &Who, now: Moment) -> Result<Sources, AppError> {
    let known = super::known(app, who, now).await?;
    let mut sources = known.sources.clone();
    sources.draft = None;
    Ok(sources)
}

/// The question as it is now.
async fn question(app: &App, who: &Who, now: Moment) -> Result<Question, AppError> {
    let sources = without_draft(app, who, now).await?;
    off_thread(move || Ok(Basis::of(&sources)?.better())).await
}

#[derive(Template)]
#[template(path = "plan/asked.html")]
struct AskedPage {
    frame: Frame,
    no: u64,
    title: &'static str,
    /// How far it is, or how it ended.
    stands: String,
    best: String,
    goes_on: bool,
    /// All that was asked for was done.
    whole: bool,
    done: u64,
    of: u64,
    again: bool,
    /// What was found, when it is over and better than what there is.
    found: Option<FoundView>,
}

struct FoundView {
    effects: Vec<Effect>,
    mark: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Query {
    again: String,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(no): Path<u64>,
    axum::extract::Query(query): axum::extract::Query<Query>,
) -> Result<Response, AppError> {
    let seen = seen(&app, no)?;
    let now = app.clock.now();
    if !seen.stands.goes_on() {
        let fresh = question(&app, &who, now).await?;
        if fresh != *seen.question {
            // The answer is to a question that nobody has any more.
            let no = put(&app, fresh)?;
            return Ok(Redirect::to(format!("/plan/asked/{no}?again=yes")).into_response());
        }
    }
    let found = match &seen.best {
        Some(best) if !seen.stands.goes_on() => {
            let known = super::known(&app, &who, now).await?;
            let (plan, beside) = (best.plan.clone(), Arc::clone(&known));
            let after = off_thread(move || with_plan(&beside.sources, &plan)).await?;
            found(&known.sources, &known.proposal, &after)
        }
        _ => None,
    };
    Ok(Page(AskedPage {
        frame: who.frame(Section::Plan),
        no,
        title: match seen.stands.goes_on() {
            true => "Looking for a better plan",
            false => "What was found",
        },
        stands: stands_words(&seen),
        best: best_words(&seen),
        goes_on: seen.stands.goes_on(),
        whole: seen.stands == Stands::Answered,
        done: seen.done,
        of: seen.of,
        again: query.again == "yes",
        found,
    })
    .into_response())
}

fn seen(app: &App, no: u64) -> Result<Seen, AppError> {
    app.asking
        .look(no)
        .ok_or_else(|| AppError::Conflict("This question is not known any more: it was asked a while ago, or the server was started anew. Go to the plan and ask again.".to_owned()))
}

fn found(sources: &Sources, before: &Proposal, after: &Proposal) -> Option<FoundView> {
    (before.mark() != after.mark()).then(|| {
        let mut effects = moves::effects(sources, before, after, None);
        if effects.is_empty() {
            effects.push(Effect::holds(
                "Every clean-out keeps its time; some are done by others.".to_owned(),
            ));
        }
        FoundView {
            effects,
            mark: after.mark().to_owned(),
        }
    })
}

fn stands_words(seen: &Seen) -> String {
    match seen.stands {
        Stands::Waits(0) => "It is next.".to_owned(),
        Stands::Waits(1) => "One question is answered before it.".to_owned(),
        Stands::Waits(n) => format!(
            "{} questions are answered before it.",
            reasons::capital(&count_words(n))
        ),
        Stands::UnderWay => format!("{} of {} steps are done.", seen.done, seen.of),
        Stands::Answered => format!("{} steps were looked through.", seen.of),
        Stands::Stopped => format!("It was stopped after {} steps.", seen.done),
        Stands::Left => format!(
            "Nobody looked any more, so it was given up after {} steps.",
            seen.done
        ),
        Stands::Failed => {
            "The planner found nothing that holds. The plan stays as it is.".to_owned()
        }
    }
}

fn best_words(seen: &Seen) -> String {
    let Some(best) = &seen.best else {
        return String::new();
    };
    let (late, unplaced) = (best.reckoned.jobs_late, best.reckoned.unplaced);
    let are = |n: usize| if n == 1 { "is" } else { "are" };
    let words = match (late, unplaced) {
        (0, 0) => "every clean-out is in time".to_owned(),
        (late, 0) => format!("{} {} late", count_words(late), are(late)),
        (0, none) => format!("{} {} without a place", count_words(none), are(none)),
        (late, none) => format!(
            "{} {} late and {} without a place",
            count_words(late),
            are(late),
            count_words(none)
        ),
    };
    let moved = match best.moved {
        0 => String::new(),
        1 => "; one that was posted moves to another day".to_owned(),
        n => format!("; {} that were posted move to another day", count_words(n)),
    };
    format!("The best so far: {words}{moved}.")
}

pub async fn stop(
    State(app): State<App>,
    _: Who,
    Path(no): Path<u64>,
    _: Form<Nothing>,
) -> Result<Redirect, AppError> {
    app.asking.stop(no);
    Ok(Redirect::to(format!("/plan/asked/{no}")))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct TakeInput {
    /// The mark of the plan that was shown; only that one is taken.
    shown: String,
}

/// Keeps what was found as the draft.
pub async fn take(
    State(app): State<App>,
    who: Who,
    Path(no): Path<u64>,
    Form { input, once }: Form<TakeInput>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let seen = seen(&app, no)?;
    let old = || {
        AppError::Conflict("The plan is not the one that you were shown: something changed since it was asked for. Ask again.".to_owned())
    };
    let Some(best) = seen.best.filter(|_| !seen.stands.goes_on()) else {
        return Err(old());
    };
    let sources = without_draft(&app, &who, now).await?;
    let (basis, after) =
        off_thread(move || Ok((Basis::of(&sources)?, with_plan(&sources, &best.plan)?))).await?;
    if basis.clone().better() != *seen.question || after.mark() != input.shown {
        return Err(old());
    }
    let mut tx = app.db.write_once(&once).await?;
    let mut sources = load::sources(&app, tx.conn(), &who.site, now).await?;
    sources.draft = None;
    if Basis::of(&sources)? != basis {
        return Err(old());
    }
    let entries = moves::kept(&after);
    let id = store::insert(&mut tx, who.site.id, false, &entries, who.id, now).await?;
    let subject = format!("draft of {}", full_day(who.site.today(now)));
    let entry = LogEntry::about("plan", id.get(), subject, "asked for")
        .with(json!({ "clean-outs": entries.len() }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish("/plan".to_owned(), now).await
}
