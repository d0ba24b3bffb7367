//! The crew: people and groups, what they may do, and how they sign in.

pub mod pages;
pub mod password;
pub mod session;
pub mod store;

use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use chrono::NaiveDate;

use crate::ids::{PersonId, SkillId};
use crate::logbook::Author;
use crate::site::Site;
use crate::text::Name;
use crate::web::{AppError, Frame, Section};

crate::words! {
    /// What a person may do on the pages, least first.
    pub enum Role {
        Viewer = "viewer",
        Hand = "hand",
        Lead = "lead",
        Coordinator = "coordinator",
    }
}

impl Role {
    pub fn words(self) -> &'static str {
        match self {
            Self::Viewer => "reads everything, changes nothing",
            Self::Hand => "carries out clean-outs, enters readings",
            Self::Lead => "issues cards, signs doses and releases",
            Self::Coordinator => "runs the site: register, plan, stock, crew",
        }
    }
}

crate::words! {
    /// An age band, never a birth date.
    pub enum AgeBand {
        Adult = "adult",
        Minor = "minor",
    }
}

crate::words! {
    /// A person, or a group of pupils that has a name and a head count and no personal data.
    pub enum Kind {
        Person = "person",
        Group = "group",
    }
}

crate::words! {
    /// A dated permission.
    pub enum SkillKind {
        Concentrate = "concentrate",
        Electrics = "electrics",
        Release = "release",
    }
}

impl SkillKind {
    pub fn words(self) -> &'static str {
        match self {
            Self::Concentrate => {
                "handles concentrated peroxide: pours, spills, protective clothing"
            }
            Self::Electrics => "unplugs and takes apart pumps near water",
            Self::Release => "judges readings and releases a system for planting",
        }
    }
}

#[derive(Clone, Debug)]
pub struct Person {
    pub id: PersonId,
    pub name: Name,
    pub kind: Kind,
    pub head_count: i64,
    pub role: Role,
    pub age_band: AgeBand,
    pub sign_in: Option<String>,
    pub ended: bool,
    pub version: i64,
}

#[derive(Clone, Debug)]
pub struct Skill {
    pub id: SkillId,
    pub person_id: PersonId,
    pub kind: SkillKind,
    pub granted_on: NaiveDate,
    pub expires_on: Option<NaiveDate>,
    pub evidence: String,
    pub withdrawn: bool,
}

impl Skill {
    /// Whether it counts on this day; the day it expires is the last.
    pub fn held_on(&self, day: NaiveDate) -> bool {
        !self.withdrawn && self.granted_on <= day && self.expires_on.is_none_or(|last| day <= last)
    }
}

/// Whoever is signed in, and the site they are at.
#[derive(Clone, Debug)]
pub struct Who {
    pub id: PersonId,
    pub name: Name,
    pub role: Role,
    pub age_band: AgeBand,
    pub site: Arc<Site>,
}

impl Who {
    /// The frame of a page shown to this person.
    pub fn frame(&self, section: Section) -> Frame {
        Frame::new(
            section,
            self.site.name.to_string(),
            format!("{}, {}", self.name, self.role),
        )
    }

    /// How the logbook names this person.
    pub fn author(&self) -> Author {
        Author {
            id: Some(self.id),
            name: self.name.to_string(),
        }
    }

    pub fn is_at_least(&self, role: Role) -> bool {
        self.role >= role
    }
}

impl<S: Sync> FromRequestParts<S> for Who {
    type Rejection = AppError;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, AppError> {
        parts
            .extensions
            .get::<Self>()
            .cloned()
            .ok_or_else(|| AppError::SignInFirst {
                next: parts.uri.path().to_owned(),
            })
    }
}

/// The name somebody signs in with: 2 to 60 characters, small letters, no spaces.
pub fn parse_sign_in(typed: &str) -> Result<String, String> {
    let name = typed.trim().to_lowercase();
    match name.chars().count() {
        0 | 1 => Err("Write a sign-in name of at least 2 characters.".to_owned()),
        2..=60 if !name.chars().any(|c| c.is_whitespace() || c.is_control()) => Ok(name),
        2..=60 => Err("Write the sign-in name without spaces.".to_owned()),
        n => Err(format!("Write at most 60 characters; this has {n}.")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_skill_counts_from_its_day_to_its_last_day() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let mut skill = Skill {
            id: SkillId::from_row(1),
            person_id: PersonId::from_row(1),
            kind: SkillKind::Concentrate,
            granted_on: day("2027-01-01"),
            expires_on: Some(day("2027-12-31")),
            evidence: String::new(),
            withdrawn: false,
        };
        assert!(!skill.held_on(day("2026-12-31")));
        assert!(skill.held_on(day("2027-01-01")));
        assert!(skill.held_on(day("2027-12-31")));
        assert!(!skill.held_on(day("2028-01-01")));
        skill.withdrawn = true;
        assert!(!skill.held_on(day("2027-06-01")));
    }

    #[test]
    fn roles_are_ordered() {
        assert!(
            Role::Coordinator > Role::Lead && Role::Lead > Role::Hand && Role::Hand > Role::Viewer
        );
    }
}
