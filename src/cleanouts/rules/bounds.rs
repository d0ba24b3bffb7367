//! How far a rule of a step may be let go of. No site and no reason goes further.

use chrono::NaiveDate;

use crate::cleanouts::booking::Crew;
use crate::crew::{self, AgeBand, Kind, Person, Role, Skill, SkillKind, SkillState};
use crate::methods::{Least, Phase, Step};
use crate::site::full_day;
use crate::site::rules::{Kept, MayLetGo, StepRule};

/// A skill for concentrate that ran out longer ago is learnt anew. Common practice, no source.
pub const OUT_AT_MOST_DAYS: i64 = 30;

/// Why a rule is not let go of, at the field of the form that says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bounded {
    pub field: &'static str,
    pub why: String,
}

fn at_rule(why: impl Into<String>) -> Bounded {
    Bounded {
        field: "what",
        why: why.into(),
    }
}

fn at_person(why: impl Into<String>) -> Bounded {
    Bounded {
        field: "person",
        why: why.into(),
    }
}

/// Whether a rule may be let go of for somebody: at a step, or for the whole clean-out where it is a skill
/// that has run out.
///
/// # Errors
/// The bound that stands against it.
pub fn bounded(
    rule: StepRule,
    step: Option<&Step>,
    person: &Person,
    crew: &Crew,
    kept: &Kept,
    day: NaiveDate,
) -> Result<(), Bounded> {
    if kept.who(rule) == MayLetGo::Nobody {
        return Err(at_rule(format!(
            "At this site nobody lets go of {}.",
            rule.words()
        )));
    }
    if rule == StepRule::RunOut {
        grown(person)?;
        return run_out(person, crew, day);
    }
    at_step(rule, step.ok_or_else(|| at_rule("Choose the step."))?)?;
    match rule {
        StepRule::Adult => group(person),
        StepRule::RunOut | StepRule::Electrics | StepRule::Second => grown(person),
    }
}

/// Whether a rule may be let go of at a step: the step asks for it, no concentrate is at hand, and no group comes
/// into a room that is closed to others.
///
/// # Errors
/// The bound that stands against it.
pub fn at_step(rule: StepRule, step: &Step) -> Result<(), Bounded> {
    let no = step.no;
    if step.near_concentrate() {
        return Err(at_rule(format!(
            "Concentrate is handled in step {no} or close by: nobody lets go of its rules."
        )));
    }
    let asks = match rule {
        StepRule::RunOut => false,
        StepRule::Electrics => step.least() == Least::Electrics,
        StepRule::Second => step.asks_two(),
        StepRule::Adult => step.least() == Least::Adult,
    };
    if !asks {
        return Err(at_rule(format!("Step {no} does not ask for that.")));
    }
    if rule == StepRule::Adult && matches!(step.phase, Phase::Soak | Phase::Rinse) {
        return Err(at_rule(format!(
            "Step {no} is in the {}, while the room is closed to others: nobody lets go of an adult there.",
            step.phase
        )));
    }
    Ok(())
}

/// A person of age who carries out clean-outs.
fn grown(person: &Person) -> Result<(), Bounded> {
    let name = &person.name;
    if person.ended {
        return Err(at_person(format!("{name} has left the crew.")));
    }
    if person.kind == Kind::Group {
        return Err(at_person(format!(
            "{name} is a group, and this is for one adult."
        )));
    }
    if person.age_band == AgeBand::Minor {
        return Err(at_person(format!(
            "{name} is a minor. No skill and no second adult is let go of for a minor."
        )));
    }
    match person.role < Role::Hand {
        true => Err(at_person(format!("{name} may only read."))),
        false => Ok(()),
    }
}

/// A group under an adult who signs.
fn group(person: &Person) -> Result<(), Bounded> {
    let name = &person.name;
    if person.ended {
        return Err(at_person(format!("{name} has left the crew.")));
    }
    match person.kind {
        Kind::Group => Ok(()),
        Kind::Person => Err(at_person(format!(
            "{name} is no group. It is let go of for a group that helps under an adult; a minor signs for no step that asks for an adult."
        ))),
    }
}

/// The skill for concentrate was there, and ran out a short while ago.
fn run_out(person: &Person, crew: &Crew, day: NaiveDate) -> Result<(), Bounded> {
    let name = &person.name;
    let theirs: Vec<Skill> = crew
        .skills
        .iter()
        .filter(|skill| skill.person_id == person.id)
        .cloned()
        .collect();
    let Some(skill) = crew::telling(&theirs, SkillKind::Concentrate, day) else {
        return Err(at_person(format!(
            "{name} never had the skill for concentrate. Nobody lets go of that."
        )));
    };
    match (skill.state_on(day), skill.expires_on) {
        (SkillState::Expired, Some(last)) => {
            let days = (day - last).num_days();
            match days <= OUT_AT_MOST_DAYS {
                true => Ok(()),
                false => Err(at_person(format!(
                    "The skill of {name} ran out on {}, {days} days before. It is let go of for at most {OUT_AT_MOST_DAYS} days.",
                    full_day(last)
                ))),
            }
        }
        (SkillState::Held | SkillState::ExpiresIn(_), _) => Err(at_person(format!(
            "{name} holds the skill on {}: there is nothing to let go of.",
            full_day(day)
        ))),
        (SkillState::Withdrawn, _) => Err(at_person(format!(
            "The skill for concentrate was taken from {name}. Nobody lets go of that."
        ))),
        (SkillState::NotYet | SkillState::Expired, _) => Err(at_person(format!(
            "{name} does not hold the skill for concentrate yet. Nobody lets go of that."
        ))),
    }
}
