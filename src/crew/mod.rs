//! The crew: people and groups, what they may do, and how they sign in.

pub mod crew_page;
pub mod guessable;
pub mod link;
pub mod link_pages;
pub mod link_store;
pub mod pages;
pub mod password;
pub mod password_pages;
pub mod people_pages;
pub mod pin;
pub mod pin_pages;
pub mod pin_store;
pub mod session;
pub mod session_pages;
pub mod session_store;
pub mod skill_pages;
pub mod store;
pub mod tablet;
pub mod tablet_pages;
pub mod tablet_store;
pub mod token;
pub mod token_pages;
pub mod token_store;
pub mod training_pages;
pub mod training_store;
mod via;

pub use via::Via;

use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use chrono::{Days, NaiveDate};

use crate::clock::Moment;
use crate::ids::{PersonId, SkillId};
use crate::logbook::Author;
use crate::site::Site;
use crate::text::Name;
use crate::web::{AppError, Frame, GuideStep, Section};

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

    /// Signing a dose and releasing a system is for adults.
    pub fn open_to(self, age_band: AgeBand) -> Result<Self, String> {
        if age_band == AgeBand::Minor && self >= Self::Lead {
            Err(format!(
                "A minor cannot be {self}: a {self} answers for concentrate. Choose hand or viewer."
            ))
        } else {
            Ok(self)
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

    /// Whether it may be granted to somebody, with the reason why not.
    pub fn open_to(self, kind: Kind, age_band: AgeBand) -> Result<Self, String> {
        match (kind, age_band) {
            (Kind::Group, _) => Err(format!(
                "A group holds no skill. Grant {self} to each adult by name."
            )),
            (Kind::Person, AgeBand::Minor) => {
                Err(format!("A minor cannot hold {self}: it is for adults."))
            }
            (Kind::Person, AgeBand::Adult) => Ok(self),
        }
    }
}

/// How a skill stands on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SkillState {
    Held,
    /// Held, but only this many days more; the day itself is 0.
    ExpiresIn(i64),
    Expired,
    NotYet,
    Withdrawn,
}

impl SkillState {
    /// A renewal takes a while to arrange, so it is said this long before.
    pub const SOON_DAYS: i64 = 60;
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
    pub granted_by: Option<PersonId>,
    pub withdrawn_at: Option<Moment>,
}

impl Skill {
    /// Whether it counts on this day; the day it expires is the last.
    pub fn held_on(&self, day: NaiveDate) -> bool {
        matches!(
            self.state_on(day),
            SkillState::Held | SkillState::ExpiresIn(_)
        )
    }

    pub fn state_on(&self, day: NaiveDate) -> SkillState {
        if self.withdrawn_at.is_some() {
            return SkillState::Withdrawn;
        }
        if day < self.granted_on {
            return SkillState::NotYet;
        }
        match self.expires_on.map(|last| (last - day).num_days()) {
            Some(left) if left < 0 => SkillState::Expired,
            Some(left) if left <= SkillState::SOON_DAYS => SkillState::ExpiresIn(left),
            Some(_) | None => SkillState::Held,
        }
    }
}

/// Of one kind of skill, the row that says how a person stands: the one held longest, else the newest.
/// `skills` are of one person, newest first, as the store gives them.
pub fn telling(skills: &[Skill], kind: SkillKind, day: NaiveDate) -> Option<&Skill> {
    let of_kind = || skills.iter().filter(move |skill| skill.kind == kind);
    of_kind()
        .filter(|skill| skill.held_on(day))
        .max_by_key(|skill| skill.expires_on.unwrap_or_else(|| day + Days::new(36_525)))
        .or_else(|| of_kind().next())
}

/// Whoever is signed in, and the site they are at.
#[derive(Clone, Debug)]
pub struct Who {
    pub id: PersonId,
    pub name: Name,
    pub role: Role,
    pub age_band: AgeBand,
    pub site: Arc<Site>,
    /// The steps of the set-up that are open, for a coordinator who has not come to a first dose.
    pub guide: Arc<[GuideStep]>,
    /// How they are known.
    pub via: Via,
}

impl Who {
    /// The id of a shared tablet on which nobody signed. No row has it, so whatever would be written
    /// under it is refused by the database, even where a check was forgotten.
    pub const NOBODY: PersonId = PersonId::from_row(0);

    /// The frame of a page shown to this person.
    pub fn frame(&self, section: Section) -> Frame {
        Frame {
            guide: self
                .guide
                .iter()
                .find(|step| step.section == section || section == Section::Today)
                .cloned(),
            tablet: self.via.tablet().map(ToString::to_string),
            ..Frame::new(
                section,
                self.site.name.to_string(),
                format!("{}, {}", self.name, self.role),
            )
        }
    }

    /// How the logbook names this person.
    pub fn author(&self) -> Author {
        Author {
            signed: self.via.signed(),
            ..Author::person(self.id, self.name.as_str())
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
            granted_by: None,
            withdrawn_at: None,
        };
        assert!(!skill.held_on(day("2026-12-31")));
        assert!(skill.held_on(day("2027-01-01")));
        assert!(skill.held_on(day("2027-12-31")));
        assert!(!skill.held_on(day("2028-01-01")));
        assert_eq!(skill.state_on(day("2027-12-31")), SkillState::ExpiresIn(0));
        assert_eq!(skill.state_on(day("2027-11-01")), SkillState::ExpiresIn(60));
        assert_eq!(skill.state_on(day("2027-10-31")), SkillState::Held);
        assert_eq!(skill.state_on(day("2028-01-01")), SkillState::Expired);
        skill.withdrawn_at = Some("2027-05-01T09:00:00Z".parse().unwrap());
        assert!(!skill.held_on(day("2027-06-01")));
        assert_eq!(skill.state_on(day("2027-06-01")), SkillState::Withdrawn);
    }

    #[test]
    fn a_renewed_skill_tells_its_later_end_and_a_lost_one_its_newest_row() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let skill = |id, from: &str, to: Option<&str>| Skill {
            id: SkillId::from_row(id),
            person_id: PersonId::from_row(1),
            kind: SkillKind::Concentrate,
            granted_on: day(from),
            expires_on: to.map(day),
            evidence: String::new(),
            granted_by: None,
            withdrawn_at: None,
        };
        let renewed = [
            skill(2, "2027-01-01", Some("2028-12-31")),
            skill(1, "2026-01-01", Some("2027-12-31")),
        ];
        let tells = |skills: &[Skill], on| {
            telling(skills, SkillKind::Concentrate, day(on)).map(|skill| skill.id.get())
        };
        assert_eq!(tells(&renewed, "2027-06-01"), Some(2));
        assert_eq!(tells(&renewed, "2029-06-01"), Some(2));
        assert_eq!(tells(&[], "2029-06-01"), None);
        let without_end = [
            skill(2, "2027-01-01", Some("2028-12-31")),
            skill(1, "2026-01-01", None),
        ];
        assert_eq!(tells(&without_end, "2027-06-01"), Some(1));
        assert!(telling(&renewed, SkillKind::Release, day("2027-06-01")).is_none());
    }

    #[test]
    fn a_minor_is_no_lead_and_holds_no_skill_and_a_group_holds_none() {
        for role in Role::ALL {
            assert_eq!(role.open_to(AgeBand::Minor).is_ok(), *role < Role::Lead);
            assert!(role.open_to(AgeBand::Adult).is_ok());
        }
        for skill in SkillKind::ALL {
            assert!(skill.open_to(Kind::Person, AgeBand::Adult).is_ok());
            assert!(skill.open_to(Kind::Person, AgeBand::Minor).is_err());
            assert!(skill.open_to(Kind::Group, AgeBand::Adult).is_err());
        }
    }

    #[test]
    fn roles_are_ordered() {
        assert!(
            Role::Coordinator > Role::Lead && Role::Lead > Role::Hand && Role::Hand > Role::Viewer
        );
    }
}
