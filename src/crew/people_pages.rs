//! One of the crew on a page: shown, added, changed, ended, taken back.

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::crew_page::Standing as SkillStanding;
use super::pin::Standing;
use super::store::{Changed, NewPerson};
use super::tablet::closed_words;
use super::{AgeBand, Kind, Person, Role, Skill, Who, pin_store, store, training_store};
use crate::clock::Moment;
use crate::db::{WriteTx, taken};
use crate::ids::{PersonId, SkillId};
use crate::logbook::{self, Entry};
use crate::site::full_day;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Redirect, Refused, Section};

pub(super) const NAME_TAKEN: &str =
    "Somebody in the crew has this name already. Add a letter or a number to tell them apart.";
pub(super) const LAST_COORDINATOR: &str =
    "Nobody else who can sign in is coordinator. Give somebody else that role first.";

/// A row of the skills of one person.
#[derive(Debug)]
struct SkillLine {
    skill: Skill,
    standing: SkillStanding,
    granted: String,
    /// When and by whom, as far as it is known.
    by: String,
    withdrawn: String,
    /// The training that shows it, and whether that was withdrawn since.
    training: Option<String>,
    training_gone: bool,
}

/// The page of one of the crew. Rooms that know more of them give it their part.
#[derive(Debug, Template)]
#[template(path = "crew/person.html")]
pub struct PersonPage {
    frame: Frame,
    person: Person,
    skills: Vec<SkillLine>,
    coordinator: bool,
    own: bool,
    holds_skills: bool,
    /// Whether they have a PIN for shared tablets, in words.
    pin: String,
    /// A PIN that rests or is locked, which this reader may unlock.
    unlockable: bool,
    /// Their hours, as a part of the page.
    hours: String,
}

impl PersonPage {
    pub async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        person: Person,
        now: Moment,
        hours: String,
    ) -> Result<Self, AppError> {
        let today = who.site.today(now);
        let people = store::all(conn).await?;
        let pin = pin_store::of(conn, person.id, now).await?;
        let unlockable = pin.is_some_and(|pin| pin.standing != Standing::Open);
        let skills = store::skills_of(conn, person.id).await?;
        let trainings = training_store::of(conn, person.id).await?;
        let shown_by = training_store::shown_by(conn, person.id).await?;
        let training_of = |skill: SkillId| {
            let (_, id) = shown_by.iter().find(|(of, _)| *of == skill)?;
            trainings.iter().find(|training| training.id == *id)
        };
        let skills = skills.into_iter().map(|skill| SkillLine {
            training: training_of(skill.id).map(|training| {
                let held = full_day(training.held_on);
                format!("{held}, taught by {}", training.trainer)
            }),
            training_gone: training_of(skill.id)
                .is_some_and(|training| training.withdrawn.is_some()),
            standing: SkillStanding::of(&skill, today),
            granted: full_day(skill.granted_on),
            by: people
                .iter()
                .find(|person| Some(person.id) == skill.granted_by)
                .map(|person| person.name.to_string())
                .unwrap_or_default(),
            withdrawn: skill
                .withdrawn_at
                .map(|at| full_day(who.site.today(at)))
                .unwrap_or_default(),
            skill,
        });
        Ok(Self {
            frame: who.frame(Section::Crew),
            holds_skills: person.kind == Kind::Person && person.age_band == AgeBand::Adult,
            skills: skills.collect(),
            coordinator: who.is_at_least(Role::Coordinator),
            own: who.id == person.id,
            unlockable: unlockable && who.is_at_least(Role::Lead) && !person.ended,
            pin: match pin {
                None => "No PIN for shared tablets.".to_owned(),
                Some(pin) => match pin.standing {
                    Standing::Open => "Signs on shared tablets with a PIN.".to_owned(),
                    closed => closed_words(&who.site, &person.name, closed),
                },
            },
            person,
            hours,
        })
    }
}

pub fn found(person: Option<Person>) -> Result<Person, AppError> {
    person.ok_or(AppError::NotFound("person"))
}

/// The form for a person or a group, as typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    kind: String,
    name: String,
    head_count: String,
    role: String,
    age_band: String,
    version: String,
}

impl Input {
    fn of(person: &Person) -> Self {
        Self {
            kind: person.kind.to_string(),
            name: person.name.to_string(),
            head_count: person.head_count.to_string(),
            role: person.role.to_string(),
            age_band: person.age_band.to_string(),
            version: person.version.to_string(),
        }
    }

    fn is_group(&self) -> bool {
        self.kind == Kind::Group.code()
    }

    fn check(&self) -> Result<(Kind, Changed), FormErrors> {
        let mut errors = FormErrors::default();
        let kind = errors.take(
            "kind",
            Kind::from_code(&self.kind).ok_or("Choose a person or a group."),
        );
        let name = errors.take("name", Name::parse(&self.name));
        let age_band = errors.take(
            "age_band",
            AgeBand::from_code(&self.age_band).ok_or("Choose adult or minor."),
        );
        let (head_count, role) = if self.is_group() {
            // A group carries out work under somebody who is named; it never signs in.
            let count = errors.take("head_count", parse_head_count(&self.head_count));
            (count, Some(Role::Hand))
        } else {
            let role = Role::from_code(&self.role)
                .ok_or_else(|| "Choose a role.".to_owned())
                .and_then(|role| age_band.map_or(Ok(role), |age_band| role.open_to(age_band)));
            (Some(1), errors.take("role", role))
        };
        match (kind, name, head_count, role, age_band) {
            (Some(kind), Some(name), Some(head_count), Some(role), Some(age_band)) => Ok((
                kind,
                Changed {
                    name,
                    head_count,
                    role,
                    age_band,
                },
            )),
            _ => Err(errors),
        }
    }
}

fn parse_head_count(typed: &str) -> Result<i64, &'static str> {
    match typed.trim().parse() {
        Ok(count) if (1..=200).contains(&count) => Ok(count),
        _ => Err("Write how many people, 1 to 200, as a whole number."),
    }
}

#[derive(Template)]
#[template(path = "crew/form.html")]
struct FormPage {
    frame: Frame,
    /// Nothing when somebody is added.
    id: Option<PersonId>,
    title: String,
    input: Input,
    errors: FormErrors,
    /// What is stored now, when somebody else changed it meanwhile.
    stored_now: String,
    role_choices: Vec<(&'static str, String)>,
}

impl FormPage {
    fn new(who: &Who, id: Option<PersonId>, title: String, input: Input) -> Self {
        let role_choices = Role::ALL
            .iter()
            .map(|role| (role.code(), format!("{role}: {}", role.words())))
            .collect();
        Self {
            frame: who.frame(Section::Crew),
            id,
            title,
            input,
            errors: FormErrors::default(),
            stored_now: String::new(),
            role_choices,
        }
    }

    fn refused(mut self, errors: FormErrors) -> Response {
        self.errors = errors;
        Refused(self).into_response()
    }
}

fn add_title(input: &Input) -> String {
    if input.is_group() {
        "Add a group".to_owned()
    } else {
        "Add a person".to_owned()
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    kind: String,
}

pub async fn add_form(who: Who, Query(asked): Query<Asked>) -> Page<impl Template> {
    let kind = Kind::from_code(&asked.kind).unwrap_or(Kind::Person);
    let input = Input {
        kind: kind.to_string(),
        role: Role::Hand.to_string(),
        ..Input::default()
    };
    Page(FormPage::new(&who, None, add_title(&input), input))
}

pub async fn add(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let input = form.input;
    let page = |input: Input| FormPage::new(&who, None, add_title(&input), input);
    let (kind, new) = match input.check() {
        Ok(checked) => checked,
        Err(errors) => return Ok(page(input).refused(errors)),
    };
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = NewPerson {
        name: new.name.clone(),
        kind,
        head_count: new.head_count,
        role: new.role,
        age_band: new.age_band,
        sign_in: None,
        password_hash: None,
    };
    let id = match store::insert(&mut tx, &person, now).await {
        Ok(id) => id,
        Err(error) if taken(&error, "person.name") => {
            return Ok(page(input).refused(name_taken()));
        }
        Err(error) => return Err(error.into()),
    };
    let entry =
        Entry::about("person", id.get(), new.name.as_str(), "added").with(words(kind, &new));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(format!("/crew/{id}"), now).await?.into_response())
}

fn name_taken() -> FormErrors {
    FormErrors::only("name", NAME_TAKEN)
}

fn words(kind: Kind, person: &Changed) -> serde_json::Value {
    match kind {
        Kind::Group => {
            json!({ "kind": kind, "head count": person.head_count, "age band": person.age_band })
        }
        Kind::Person => json!({ "role": person.role, "age band": person.age_band }),
    }
}

pub async fn change_form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let person = here(store::by_id(&mut conn, id).await?)?;
    let title = format!("Change {}", person.name);
    Ok(Page(FormPage::new(
        &who,
        Some(id),
        title,
        Input::of(&person),
    )))
}

/// Somebody who is crew today.
pub fn here(person: Option<Person>) -> Result<Person, AppError> {
    let person = found(person)?;
    if person.ended {
        return Err(AppError::Conflict(format!(
            "{} has left the crew. Take {} back first, on their page.",
            person.name, person.name
        )));
    }
    Ok(person)
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = here(store::by_id(tx.conn(), id).await?)?;
    let mut input = form.input;
    // What somebody is does not change, a person or a group.
    input.kind = person.kind.to_string();
    let page = |input| FormPage::new(&who, Some(id), format!("Change {}", person.name), input);
    let new = match input.check() {
        Ok((_, new)) => new,
        Err(errors) => return Ok(page(input).refused(errors)),
    };
    let errors = against(&mut tx, &person, &new, who.site.today(now)).await?;
    if errors.any() {
        return Ok(page(input).refused(errors));
    }
    if input.version != person.version.to_string() {
        // Saving again, with both before the eyes, is a decision; it is not made for anybody.
        input.version = person.version.to_string();
        let mut again = page(input);
        again.stored_now = one_line(&person);
        return Ok(Refused(again).into_response());
    }
    match store::update(&mut tx, id, person.version, &new).await {
        Ok(true) => {}
        Ok(false) => return Err(AppError::NotFound("person")),
        Err(error) if taken(&error, "person.name") => {
            return Ok(page(input).refused(name_taken()));
        }
        Err(error) => return Err(error.into()),
    }
    let mut detail = words(person.kind, &new);
    if person.name != new.name {
        detail["name before"] = json!(person.name);
    }
    if person.role != new.role {
        detail["role before"] = json!(person.role);
    }
    let entry = Entry::about("person", id.get(), new.name.as_str(), "changed").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(format!("/crew/{id}"), now).await?.into_response())
}

/// What stands against a change, given what else is known of the person.
async fn against(
    tx: &mut WriteTx,
    person: &Person,
    new: &Changed,
    today: NaiveDate,
) -> Result<FormErrors, AppError> {
    let mut errors = FormErrors::default();
    let steps_down = person.role == Role::Coordinator && new.role != Role::Coordinator;
    if steps_down && !store::another_coordinator(tx.conn(), person.id).await? {
        errors.add("role", LAST_COORDINATOR);
    }
    if new.age_band == AgeBand::Minor {
        let held: Vec<&str> = store::skills_of(tx.conn(), person.id)
            .await?
            .iter()
            .filter(|skill| skill.held_on(today))
            .map(|skill| skill.kind.code())
            .collect();
        if !held.is_empty() {
            errors.add(
                "age_band",
                format!(
                    "A minor holds no skill. Withdraw first: {}.",
                    held.join(", ")
                ),
            );
        }
    }
    Ok(errors)
}

fn one_line(person: &Person) -> String {
    match person.kind {
        Kind::Group => format!(
            "{}, a group of {}, {}",
            person.name, person.head_count, person.age_band
        ),
        Kind::Person => format!("{}, {}, {}", person.name, person.role, person.age_band),
    }
}

/// The two acts that take no more than a button on a person's page.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Button {
    version: String,
}

pub async fn end(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<Button>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = here(store::by_id(tx.conn(), id).await?)?;
    if form.input.version != person.version.to_string() {
        return Err(AppError::Conflict(format!(
            "The entry of {} was changed meanwhile. Look at it again, then end it.",
            person.name
        )));
    }
    if person.role == Role::Coordinator && !store::another_coordinator(tx.conn(), id).await? {
        return Err(AppError::Conflict(LAST_COORDINATOR.to_owned()));
    }
    if !store::end(&mut tx, id, person.version, now).await? {
        return Err(AppError::NotFound("person"));
    }
    let entry = Entry::about("person", id.get(), person.name.as_str(), "left the crew");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish("/crew".to_owned(), now).await
}

pub async fn take_back(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
    form: Form<Button>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let person = found(store::by_id(tx.conn(), id).await?)?;
    if !store::take_back(&mut tx, id).await? {
        return Err(AppError::Conflict(format!(
            "{} is in the crew already.",
            person.name
        )));
    }
    let entry = Entry::about("person", id.get(), person.name.as_str(), "back in the crew");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish(format!("/crew/{id}"), now).await
}
