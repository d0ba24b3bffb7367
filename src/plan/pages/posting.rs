//! Posting a plan: what it proposes is booked, and everybody can read what changed for them.

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::cleanouts::booking::{Around, BookingInput, Crew};
use crate::cleanouts::rules::Rules;
use crate::cleanouts::{
    booking_pages, pages as cleanouts, propose as proposing, store::NewCleanout,
};
use crate::clock::Moment;
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, PersonId};
use crate::logbook::{self, Entry as LogEntry};
use crate::plan::proposal::{Basis, Proposal};
use crate::plan::sources::Sources;
use crate::plan::timetable::{
    Change, Duty, Entry, Standing, Work, changes, duty_words, wall, work_words,
};
use crate::plan::{load, store};
use crate::science::stored::Minutes;
use crate::site::{clock_words, full_day};
use crate::state::App;
use crate::web::{AppError, Form};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct PostInput {
    /// The mark of the plan that was shown; only that one is posted.
    shown: String,
}

pub async fn post(
    State(app): State<App>,
    who: Who,
    Form { input, once }: Form<PostInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let known = super::known(&app, &who, now).await?;
    let (basis, proposal) = (Basis::of(&known.sources)?, &known.proposal);
    let mut tx = app.db.write_once(&once).await?;
    let sources = load::sources(&app, tx.conn(), &who.site, now).await?;
    if proposal.mark() != input.shown || Basis::of(&sources)? != basis {
        return Err(AppError::Conflict(
            "The plan is not the one that you were shown: something changed since. Look at it again, then post it.".to_owned(),
        ));
    }
    let mut entries = Vec::new();
    let mut refused = Vec::new();
    for entry in &proposal.timetable.entries {
        if entry.standing == Standing::Fixed {
            entries.push(entry.clone());
            continue;
        }
        let cleanout = match entry.cleanout {
            Some(id) => id,
            None => proposed(&mut tx, &who, &sources, proposal, entry, now).await?,
        };
        match booked(&mut tx, &who, &sources, entry, cleanout, now).await? {
            Ok(()) => entries.push(Entry {
                cleanout: Some(cleanout),
                ..entry.clone()
            }),
            Err(why) => refused.push(format!("{}: {why}", sources.system_name(entry.system))),
        }
    }
    if !refused.is_empty() {
        return Err(AppError::Conflict(format!(
            "Nothing was posted. A booking does not hold: {} Mend that, or move the clean-out, then post again.",
            refused.join(" ")
        )));
    }
    let id = store::insert(&mut tx, who.site.id, true, &entries, who.id, now).await?;
    let before: &[Entry] = sources.posted.as_ref().map_or(&[], |kept| &kept.entries);
    let people: Vec<PersonId> = sources.crew.people.iter().map(|person| person.id).collect();
    let changed = changes(before, &entries, &people, now);
    let subject = format!("plan of {}", full_day(who.site.today(now)));
    let entry = LogEntry::about("plan", id.get(), subject, "posted")
        .with(detail(&sources, before, &entries, &changed));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/plan/changes".to_owned(), now)
        .await?
        .into_response())
}

/// A clean-out for a gap that had none.
async fn proposed(
    tx: &mut WriteTx,
    who: &Who,
    sources: &Sources,
    proposal: &Proposal,
    entry: &Entry,
    now: Moment,
) -> Result<CleanoutId, AppError> {
    let asked = proposal.facts.asked_of(entry.system);
    let (Some(asked), Some(starts)) = (asked, entry.starts()) else {
        return Err(AppError::NotFound("clean-out in the plan"));
    };
    let Some(version) = sources.methods.get(&asked.method) else {
        return Err(AppError::NotFound("method"));
    };
    let starts = wall(starts, sources.site.zone);
    let new = NewCleanout {
        system_id: entry.system,
        planting_id: entry.planting,
        method_version_id: asked.method,
        starts_on: starts.date(),
        starts_min: minute_of(starts),
        length: Minutes::new(asked.lengths.total()).map_err(anyhow::Error::from)?,
        target: version.contents.target,
        target_source: version.contents.target_source,
        target_reference: version.contents.target_reference.clone(),
    };
    proposing::propose(tx, who, &new, now).await
}

fn minute_of(at: chrono::NaiveDateTime) -> i64 {
    (at - at.date().and_time(chrono::NaiveTime::MIN)).num_minutes()
}

/// Books it as the plan says, by the rules of every booking; what is booked so already is left alone.
async fn booked(
    tx: &mut WriteTx,
    who: &Who,
    sources: &Sources,
    entry: &Entry,
    cleanout: CleanoutId,
    now: Moment,
) -> Result<Result<(), String>, AppError> {
    let cleanout = cleanouts::found(tx.conn(), cleanout).await?;
    let planting = cleanouts::planting_of(tx.conn(), &cleanout).await?;
    let rules = Rules::of(tx.conn(), &cleanout).await?;
    let around = Around {
        today: who.site.today(now),
        gap: planting.and_then(|planting| planting.gap()),
        hours: who.site.hours,
        length: cleanout.length,
        rules: &rules,
    };
    let Some(input) = booking_of(sources, entry, cleanout.version) else {
        return Ok(Err("nobody is named for it.".to_owned()));
    };
    let booking = match input.check(&around) {
        Ok(booking) => booking,
        Err(errors) => {
            let words = errors.all().iter().map(|(_, words)| words.as_str());
            return Ok(Err(words.collect::<Vec<_>>().join(" ")));
        }
    };
    let as_it_is = cleanout.person_id == Some(booking.person)
        && cleanout.pours_id == booking.pours
        && cleanout.others == booking.others
        && (cleanout.starts_on, cleanout.starts_min) == (booking.starts_on, booking.starts_min);
    if as_it_is && entry.standing == Standing::Posted {
        return Ok(Ok(()));
    }
    if booking_pages::book(tx, who, &cleanout, &booking, &rules.crew, now).await? {
        Ok(Ok(()))
    } else {
        Ok(Err("somebody changed it meanwhile.".to_owned()))
    }
}

/// Whoever does most answers for it, the dose is poured by whom the plan names, the others take part.
fn booking_of(sources: &Sources, entry: &Entry, version: i64) -> Option<BookingInput> {
    let starts = wall(entry.starts()?, sources.site.zone);
    let people = entry.people();
    let person = people.first()?;
    // Of those who are there for the dose, one who may pour.
    let dose = &entry.first(Work::Dose)?.people;
    let may = |id: &&PersonId| sources.crew.not_pouring(**id, starts.date()).is_none();
    let pours = dose.iter().find(may).or(dose.first())?;
    Some(BookingInput {
        starts_on: starts.date().to_string(),
        starts_at: clock_words(minute_of(starts)),
        person: person.to_string(),
        pours: pours.to_string(),
        others: others(&sources.crew, entry, people.get(1..).unwrap_or_default()),
        version: version.to_string(),
        ..BookingInput::default()
    })
}

/// 'Oda R. (dose, rinse 1)', as much of it as a booking holds.
fn others(crew: &Crew, entry: &Entry, people: &[PersonId]) -> String {
    const MOST: usize = 200;
    let mut words = String::new();
    for id in people {
        let Some(person) = crew.person(*id) else {
            continue;
        };
        let mine = entry.lines.iter().filter(|line| line.people.contains(id));
        let works: Vec<String> = mine.map(|line| work_words(entry, line)).collect();
        let next = format!("{} ({})", person.name, works.join(", "));
        let joined = if words.is_empty() {
            next
        } else {
            format!("{words}, {next}")
        };
        if joined.chars().count() > MOST {
            break;
        }
        words = joined;
    }
    words
}

/// What changed for whom, as the logbook keeps it.
fn detail(sources: &Sources, before: &[Entry], after: &[Entry], changed: &[Change]) -> Value {
    let words = |entries: &[Entry], duties: &[Duty]| -> Vec<String> {
        duties
            .iter()
            .map(|duty| {
                let system = sources.system_name(duty.system);
                duty_words(entries, duty, &system, sources.site.zone)
            })
            .collect()
    };
    let of_each: serde_json::Map<String, Value> = changed
        .iter()
        .filter_map(|change| {
            let name = sources.person_name(change.person)?.to_string();
            let what = json!({
                "no longer": words(before, &change.no_longer),
                "new": words(after, &change.new),
            });
            Some((name, what))
        })
        .collect();
    json!({ "clean-outs": after.len(), "changed for": of_each })
}
