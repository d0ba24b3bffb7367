//! Granting a skill and withdrawing it.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::people_pages::here;
use super::store::NewSkill;
use super::{Person, Skill, SkillKind, Who, store};
use crate::ids::{PersonId, SkillId};
use crate::logbook::{self, Entry};
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
}

impl Input {
    fn check(&self, person: &Person, who: &Who, today: NaiveDate) -> Result<NewSkill, FormErrors> {
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
        let evidence = Note::parse_reason(&self.evidence).map_err(|error| {
            if self.evidence.trim().is_empty() {
                "Write what shows it: a course, a certificate, who watched the work.".to_owned()
            } else {
                error
            }
        });
        let evidence = errors.take("evidence", evidence);
        match (kind, granted_on, expires_on, evidence) {
            (Some(kind), Some(granted_on), Some(expires_on), Some(evidence)) => Ok(NewSkill {
                person_id: person.id,
                kind,
                granted_on,
                expires_on,
                evidence: evidence.as_str().to_owned(),
                granted_by: Some(who.id),
            }),
            _ => Err(errors),
        }
    }
}

#[derive(Template)]
#[template(path = "crew/skill.html")]
struct GrantPage {
    frame: Frame,
    person: Person,
    input: Input,
    errors: FormErrors,
}

pub async fn grant_form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let person = here(store::by_id(&mut conn, id).await?)?;
    let input = Input {
        granted_on: who.site.today(app.clock.now()).to_string(),
        ..Input::default()
    };
    Ok(Page(GrantPage {
        frame: who.frame(Section::Crew),
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
    let new = match form.input.check(&person, &who, who.site.today(now)) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(GrantPage {
                frame: who.frame(Section::Crew),
                person,
                input: form.input,
                errors,
            })
            .into_response());
        }
    };
    store::insert_skill(&mut tx, &new).await?;
    let detail = json!({
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
