//! Granting a skill and withdrawing it.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::people_pages::here;
use super::store::NewSkill;
use super::training_store::{self, Training};
use super::{Person, Skill, SkillKind, Who, store};
use crate::ids::{PersonId, SkillId, TrainingId};
use crate::logbook::{self, Entry};
use crate::site::full_day;
use crate::state::App;
use crate::text::{Note, parse_day, parse_optional_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// The form that grants a skill, as typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    kind: String,
    granted_on: String,
    expires_on: String,
    evidence: String,
    /// The training that shows it, where one is entered.
    training: String,
}

impl Input {
    fn check(
        &self,
        person: &Person,
        trainings: &[Training],
        who: &Who,
        today: NaiveDate,
    ) -> Result<(NewSkill, Option<TrainingId>), FormErrors> {
        let mut errors = FormErrors::default();
        let kind = SkillKind::from_code(&self.kind)
            .ok_or_else(|| "Choose the skill.".to_owned())
            .and_then(|kind| kind.open_to(person.kind, person.age_band));
        let kind = errors.take("kind", kind);
        let granted_on = parse_day(&self.granted_on).and_then(|day| {
            if day > today {
                Err("That day lies ahead. Grant the skill once it is shown.".to_owned())
            } else {
                Ok(day)
            }
        });
        let granted_on = errors.take("granted_on", granted_on);
        let expires_on = parse_optional_day(&self.expires_on).and_then(|last| match last {
            Some(last) if last < today => {
                Err("That day is over: the skill would have expired already.".to_owned())
            }
            last => Ok(last),
        });
        let expires_on = errors.take("expires_on", expires_on);
        let training = match self.training.trim() {
            "" => Ok(None),
            typed => trainings
                .iter()
                .find(|training| training.id.to_string() == typed)
                .map(Some)
                .ok_or("Choose a training that counts, or none."),
        };
        let training = errors.take("training", training).flatten();
        // What the training is tells enough where nothing else is written.
        let typed = match (self.evidence.trim(), training) {
            ("", Some(training)) => training.evidence.as_str(),
            (typed, _) => typed,
        };
        let evidence = Note::parse_reason(typed).map_err(|error| {
            if typed.is_empty() {
                "Write what shows it: a course, a certificate, who watched the work.".to_owned()
            } else {
                error
            }
        });
        let evidence = errors.take("evidence", evidence);
        match (kind, granted_on, expires_on, evidence) {
            (Some(kind), Some(granted_on), Some(expires_on), Some(evidence)) if !errors.any() => {
                let new = NewSkill {
                    person_id: person.id,
                    kind,
                    granted_on,
                    expires_on,
                    evidence: evidence.as_str().to_owned(),
                    granted_by: Some(who.id),
                };
                Ok((new, training.map(|training| training.id)))
            }
            _ => Err(errors),
        }
    }
}

#[derive(Template)]
#[template(path = "crew/skill.html")]
struct GrantPage {
    frame: Frame,
    person: Person,
    /// The trainings that can show it.
    trainings: Vec<(String, String)>,
    input: Input,
    errors: FormErrors,
}

/// The trainings of a person that count.
async fn counting(
    conn: &mut SqliteConnection,
    person: PersonId,
) -> Result<Vec<Training>, AppError> {
    let mut trainings = training_store::of(conn, person).await?;
    trainings.retain(|training| training.withdrawn.is_none());
    Ok(trainings)
}

fn offered(trainings: &[Training]) -> Vec<(String, String)> {
    let none = (String::new(), "none that is entered".to_owned());
    let words = trainings.iter().map(|training| {
        let held = full_day(training.held_on);
        let topics: String = training.topics.as_str().chars().take(60).collect();
        (
            training.id.to_string(),
            format!("{held}, {}: {topics}", training.trainer),
        )
    });
    std::iter::once(none).chain(words).collect()
}

pub async fn grant_form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let person = here(store::by_id(&mut conn, id).await?)?;
    let trainings = counting(&mut conn, id).await?;
    let input = Input {
        granted_on: who.site.today(app.clock.now()).to_string(),
        ..Input::default()
    };
    Ok(Page(GrantPage {
        frame: who.frame(Section::Crew),
        trainings: offered(&trainings),
        person,
        input,
        errors: FormErrors::default(),
    }))
}

pub async fn grant(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = here(store::by_id(tx.conn(), id).await?)?;
    let trainings = counting(tx.conn(), id).await?;
    let checked = form
        .input
        .check(&person, &trainings, &who, who.site.today(now));
    let (new, training) = match checked {
        Ok(checked) => checked,
        Err(errors) => {
            return Ok(Refused(GrantPage {
                frame: who.frame(Section::Crew),
                trainings: offered(&trainings),
                person,
                input: form.input,
                errors,
            })
            .into_response());
        }
    };
    let skill = store::insert_skill(&mut tx, &new).await?;
    if let Some(training) = training {
        training_store::show_by(&mut tx, skill, training).await?;
    }
    let detail = json!({
        "training": training,
        "skill": new.kind, "from": new.granted_on, "until": new.expires_on, "evidence": new.evidence,
    });
    let entry =
        Entry::about("person", id.get(), person.name.as_str(), "skill granted").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(format!("/crew/{id}"), now).await?.into_response())
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Withdrawal {
    reason: String,
}

#[derive(Template)]
#[template(path = "crew/withdraw.html")]
struct WithdrawPage {
    frame: Frame,
    person: Person,
    skill: Skill,
    input: Withdrawal,
    errors: FormErrors,
}

pub async fn withdraw_form(
    State(app): State<App>,
    who: Who,
    Path((id, skill)): Path<(PersonId, SkillId)>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let person = here(store::by_id(&mut conn, id).await?)?;
    let skill = in_force(store::skills_of(&mut conn, id).await?, skill)?;
    Ok(Page(WithdrawPage {
        frame: who.frame(Section::Crew),
        person,
        skill,
        input: Withdrawal::default(),
        errors: FormErrors::default(),
    }))
}

/// One of these skills that has not been withdrawn.
fn in_force(skills: Vec<Skill>, id: SkillId) -> Result<Skill, AppError> {
    let skill = skills
        .into_iter()
        .find(|skill| skill.id == id)
        .ok_or(AppError::NotFound("skill"))?;
    if skill.withdrawn_at.is_some() {
        return Err(AppError::Conflict(
            "This skill was withdrawn already.".to_owned(),
        ));
    }
    Ok(skill)
}

pub async fn withdraw(
    State(app): State<App>,
    who: Who,
    Path((id, skill)): Path<(PersonId, SkillId)>,
    form: Form<Withdrawal>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = here(store::by_id(tx.conn(), id).await?)?;
    let skill = in_force(store::skills_of(tx.conn(), id).await?, skill)?;
    let mut errors = FormErrors::default();
    let Some(reason) = errors.take("reason", Note::parse_reason(&form.input.reason)) else {
        return Ok(Refused(WithdrawPage {
            frame: who.frame(Section::Crew),
            person,
            skill,
            input: form.input,
            errors,
        })
        .into_response());
    };
    if !store::withdraw_skill(&mut tx, id, skill.id, now).await? {
        return Err(AppError::NotFound("skill"));
    }
    let entry = Entry::about("person", id.get(), person.name.as_str(), "skill withdrawn")
        .with(json!({ "skill": skill.kind, "why": reason }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(format!("/crew/{id}"), now).await?.into_response())
}
