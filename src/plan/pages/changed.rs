//! What was posted, and what changed from one posting to the next, person by person.

use askama::Template;
use axum::extract::{Path, State};

use super::{crew_words, system_path};
use crate::crew::Who;
use crate::ids::{PersonId, PlanId};
use crate::plan::sources::{Kept, Sources};
use crate::plan::timetable::{
    Duty, Entry, changes as between, duty_words, names, span_words, work_words,
};
use crate::plan::{load, store};
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

struct PersonChange {
    name: String,
    new: Vec<String>,
    no_longer: Vec<String>,
}

#[derive(Template)]
#[template(path = "plan/changes.html")]
struct ChangesPage {
    frame: Frame,
    lead: String,
    people: Vec<PersonChange>,
    posted: String,
}

pub async fn changes(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let sources = load::sources(&app, &mut conn, &who.site, now).await?;
    let mut postings = store::postings(&mut conn, 2, None).await?.into_iter();
    let (last, before) = (postings.next(), postings.next());
    let Some(last) = last else {
        return Ok(Page(ChangesPage {
            frame: who.frame(Section::Plan),
            lead: "No plan is posted yet.".to_owned(),
            people: Vec::new(),
            posted: String::new(),
        }));
    };
    let old: &[Entry] = before.as_ref().map_or(&[], |kept| &kept.entries);
    let everybody: Vec<PersonId> = sources.crew.people.iter().map(|person| person.id).collect();
    let since = before.as_ref().map_or(last.at, |kept| kept.at.max(last.at));
    let words = |entries: &[Entry], duty: &Duty| {
        let system = sources.system_name(duty.system);
        duty_words(entries, duty, &system, sources.site.zone)
    };
    let people = between(old, &last.entries, &everybody, since)
        .iter()
        .filter_map(|change| {
            Some(PersonChange {
                name: sources.person_name(change.person)?.to_string(),
                new: change
                    .new
                    .iter()
                    .map(|duty| words(&last.entries, duty))
                    .collect(),
                no_longer: change
                    .no_longer
                    .iter()
                    .map(|duty| words(old, duty))
                    .collect(),
            })
        })
        .collect();
    Ok(Page(ChangesPage {
        frame: who.frame(Section::Plan),
        lead: lead(&sources, &last, before.as_ref()),
        people,
        posted: format!("/plan/posted/{}", last.id),
    }))
}

fn lead(sources: &Sources, last: &Kept, before: Option<&Kept>) -> String {
    let at = |kept: &Kept| format!("{} by {}", sources.site.moment_words(kept.at), kept.by);
    match before {
        Some(before) => format!(
            "From the plan posted on {} to the one posted on {}.",
            at(before),
            at(last)
        ),
        None => format!("The first plan was posted on {}.", at(last)),
    }
}

struct PostedEntry {
    href: String,
    system: String,
    when: String,
    who: String,
    lines: Vec<(String, String, String)>,
}

#[derive(Template)]
#[template(path = "plan/posted.html")]
struct PostedPage {
    frame: Frame,
    title: String,
    by: String,
    entries: Vec<PostedEntry>,
}

pub async fn posted(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlanId>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let kept = store::by_id(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("plan"))?;
    let sources = load::sources(&app, &mut conn, &who.site, now).await?;
    let zone = who.site.zone;
    let view = |entry: &Entry| {
        Some(PostedEntry {
            href: system_path(entry),
            system: sources.system_name(entry.system),
            when: span_words(entry.starts()?, entry.ends()?, zone),
            who: crew_words(&sources, entry),
            lines: entry
                .lines
                .iter()
                .map(|line| {
                    (
                        work_words(entry, line),
                        span_words(line.from, line.to, zone),
                        names(&line.people, |id| sources.person_name(id)),
                    )
                })
                .collect(),
        })
    };
    Ok(Page(PostedPage {
        frame: who.frame(Section::Plan),
        title: if kept.posted {
            "Posted plan".to_owned()
        } else {
            "Draft".to_owned()
        },
        by: format!("{}, {}", who.site.moment_words(kept.at), kept.by),
        entries: kept.entries.iter().filter_map(view).collect(),
    }))
}
