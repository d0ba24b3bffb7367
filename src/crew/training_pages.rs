//! What somebody was taught: listed, entered, withdrawn.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::people_pages::{found, here};
use super::training_store::{self, NewTraining, Training};
use super::{Kind, Person, Role, Who, store};
use crate::ids::{PersonId, TrainingId};
use crate::logbook::{self, Entry};
use crate::site::full_day;
use crate::state::App;
use crate::text::{Name, Note, parse_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// The form, as typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    held_on: String,
    topics: String,
    trainer: String,
    evidence: String,
}

impl Input {
    fn check(&self, today: NaiveDate) -> Result<NewTraining, FormErrors> {
        let mut errors = FormErrors::default();
        let held_on = parse_day(&self.held_on).and_then(|day| {
            if day > today {
                Err("That day has not come. Enter it when it was held.".to_owned())
            } else {
                Ok(day)
            }
        });
        let held_on = errors.take("held_on", held_on);
        let written = |typed: &str, otherwise: &str| match Note::parse(typed) {
            Ok(note) if note.is_empty() => Err(otherwise.to_owned()),
            other => other,
        };
        let topics = errors.take("topics", written(&self.topics, "Write what was taught."));
        let trainer = errors.take(
            "trainer",
            Name::parse(&self.trainer)
                .map_err(|_| "Write who taught it, in at most 60 characters."),
        );
        let evidence = errors.take(
            "evidence",
            written(
                &self.evidence,
                "Write where the signed sheet or the certificate lies.",
            ),
        );
        match (held_on, topics, trainer, evidence) {
            (Some(held_on), Some(topics), Some(trainer), Some(evidence)) => Ok(NewTraining {
                held_on,
                topics,
                trainer,
                evidence,
            }),
            _ => Err(errors),
        }
    }
}

struct Line {
    training: Training,
    held: String,
}

#[derive(Template)]
#[template(path = "crew/training.html")]
struct TrainingPage {
    frame: Frame,
    person: Person,
    lines: Vec<Line>,
    may_enter: bool,
    input: Input,
    errors: FormErrors,
}

impl TrainingPage {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        person: Person,
        input: Input,
        errors: FormErrors,
    ) -> Result<Self, AppError> {
        let lines = training_store::of(conn, person.id).await?;
        let lines = lines.into_iter().map(|training| Line {
            held: full_day(training.held_on),
            training,
        });
        Ok(Self {
            frame: who.frame(Section::Crew),
            lines: lines.collect(),
            may_enter: who.is_at_least(Role::Lead) && !person.ended,
            person,
            input,
            errors,
        })
    }
}

/// Training is a person's; a group has no personal record.
fn a_person(person: Person) -> Result<Person, AppError> {
    match person.kind {
        Kind::Person => Ok(person),
        Kind::Group => Err(AppError::Conflict(
            "A group has no record of training: it keeps no names.".to_owned(),
        )),
    }
}

pub async fn list(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let person = a_person(found(store::by_id(&mut conn, id).await?)?)?;
    let input = Input {
        held_on: who.site.today(app.clock.now()).to_string(),
        ..Input::default()
    };
    let page = TrainingPage::load(&mut conn, &who, person, input, FormErrors::default());
    Ok(Page(page.await?))
}

pub async fn enter(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = a_person(here(store::by_id(tx.conn(), id).await?)?)?;
    let new = match form.input.check(who.site.today(now)) {
        Ok(new) => new,
        Err(errors) => {
            let page = TrainingPage::load(tx.conn(), &who, person, form.input, errors);
            return Ok(Refused(page.await?).into_response());
        }
    };
    training_store::insert(&mut tx, id, &new, who.id, now).await?;
    let entry = Entry::about("person", id.get(), person.name.as_str(), "training entered").with(
        json!({ "held on": new.held_on, "topics": new.topics, "trainer": new.trainer, "evidence": new.evidence }),
    );
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = tx.finish(format!("/crew/{id}/training"), now).await?;
    Ok(onward.into_response())
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Withdrawal {
    reason: String,
}

#[derive(Template)]
#[template(path = "crew/training_withdraw.html")]
struct WithdrawPage {
    frame: Frame,
    person: Person,
    id: TrainingId,
    topics: String,
    input: Withdrawal,
    errors: FormErrors,
}

/// An entry of this person that counts.
async fn counting(
    conn: &mut SqliteConnection,
    person: PersonId,
    id: TrainingId,
) -> Result<Training, AppError> {
    let all = training_store::of(conn, person).await?;
    let training = all
        .into_iter()
        .find(|training| training.id == id)
        .ok_or(AppError::NotFound("training"))?;
    if training.withdrawn.is_some() {
        return Err(AppError::Conflict(
            "This entry was withdrawn already.".to_owned(),
        ));
    }
    Ok(training)
}

pub async fn withdraw_form(
    State(app): State<App>,
    who: Who,
    Path((person, id)): Path<(PersonId, TrainingId)>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let training = counting(&mut conn, person, id).await?;
    let person = found(store::by_id(&mut conn, person).await?)?;
    Ok(Page(WithdrawPage {
        frame: who.frame(Section::Crew),
        person,
        id,
        topics: training.topics.to_string(),
        input: Withdrawal::default(),
        errors: FormErrors::default(),
    }))
}

pub async fn withdraw(
    State(app): State<App>,
    who: Who,
    Path((person, id)): Path<(PersonId, TrainingId)>,
    form: Form<Withdrawal>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let training = counting(tx.conn(), person, id).await?;
    let person = found(store::by_id(tx.conn(), person).await?)?;
    let mut errors = FormErrors::default();
    let Some(reason) = errors.take("reason", Note::parse_reason(&form.input.reason)) else {
        return Ok(Refused(WithdrawPage {
            frame: who.frame(Section::Crew),
            person,
            id,
            topics: training.topics.to_string(),
            input: form.input,
            errors,
        })
        .into_response());
    };
    training_store::withdraw(&mut tx, id, &reason, who.id, now).await?;
    let entry = Entry::about(
        "person",
        person.id.get(),
        person.name.as_str(),
        "training withdrawn",
    )
    .with(json!({ "topics": training.topics, "held on": training.held_on, "why": reason }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = tx
        .finish(format!("/crew/{}/training", person.id), now)
        .await?;
    Ok(onward.into_response())
}
