//! The whole crew on one page, and who may pour concentrate today.

use askama::Template;
use axum::extract::State;
use chrono::NaiveDate;

use super::{Person, Role, Skill, SkillKind, SkillState, Who, store, telling};
use crate::site::full_day;
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

/// How a skill stands, in words, and whether it asks for attention.
#[derive(Clone, Debug)]
pub struct Standing {
    pub kind: SkillKind,
    pub words: String,
    pub late: bool,
}

impl Standing {
    pub fn of(skill: &Skill, today: NaiveDate) -> Self {
        let last = skill.expires_on.map(full_day).unwrap_or_default();
        let (words, late) = match skill.state_on(today) {
            SkillState::Held if skill.expires_on.is_some() => (format!("until {last}"), false),
            SkillState::Held => ("without an end date".to_owned(), false),
            SkillState::ExpiresIn(0) => ("expires today".to_owned(), true),
            SkillState::ExpiresIn(1) => ("expires tomorrow".to_owned(), true),
            SkillState::ExpiresIn(days) => (format!("expires in {days} days, on {last}"), true),
            SkillState::Expired => (format!("expired on {last}"), true),
            SkillState::NotYet => (format!("from {}", full_day(skill.granted_on)), false),
            SkillState::Withdrawn => ("withdrawn".to_owned(), false),
        };
        Self {
            kind: skill.kind,
            words,
            late,
        }
    }
}

struct Line {
    person: Person,
    skills: Vec<Standing>,
}

#[derive(Template)]
#[template(path = "crew/list.html")]
struct ListPage {
    frame: Frame,
    /// Who may pour concentrate today, as a sentence.
    pourers: String,
    here: Vec<Line>,
    left: Vec<Person>,
    coordinator: bool,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let skills = store::skills(&mut conn).await?;
    let (left, here): (Vec<Person>, Vec<Person>) = store::all(&mut conn)
        .await?
        .into_iter()
        .partition(|person| person.ended);
    let here: Vec<Line> = here
        .into_iter()
        .map(|person| Line::new(person, &skills, today))
        .collect();
    Ok(Page(ListPage {
        frame: who.frame(Section::Crew),
        pourers: pourers(&here, &skills, today),
        here,
        left,
        coordinator: who.is_at_least(Role::Coordinator),
    }))
}

impl Line {
    fn new(person: Person, skills: &[Skill], today: NaiveDate) -> Self {
        let own: Vec<Skill> = skills
            .iter()
            .filter(|skill| skill.person_id == person.id && skill.withdrawn_at.is_none())
            .cloned()
            .collect();
        let skills = SkillKind::ALL
            .iter()
            .filter_map(|kind| telling(&own, *kind, today))
            .map(|skill| Standing::of(skill, today))
            .collect();
        Self { person, skills }
    }
}

fn pourers(here: &[Line], skills: &[Skill], today: NaiveDate) -> String {
    let names: Vec<&str> = here
        .iter()
        .map(|line| &line.person)
        .filter(|person| {
            skills.iter().any(|skill| {
                skill.person_id == person.id
                    && skill.kind == SkillKind::Concentrate
                    && skill.held_on(today)
            })
        })
        .map(|person| person.name.as_str())
        .collect();
    match names.as_slice() {
        [] => "Nobody may pour concentrate today. A clean-out needs an adult with that skill."
            .to_owned(),
        [one] => format!("Only {one} may pour concentrate today."),
        [most @ .., last] => format!("{} and {last} may pour concentrate today.", most.join(", ")),
    }
}
