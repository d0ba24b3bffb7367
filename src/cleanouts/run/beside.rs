//! Who has to be beside whoever does a step: a second adult, or one who holds the skill.

use super::{Job, StepEntry};
use crate::cleanouts::card::FrozenStep;
use crate::cleanouts::rules::Beside;
use crate::crew::{Person, SkillKind, Via};
use crate::ids::PersonId;

/// The second adult, where the step asks for two. On a shared tablet that is whoever signed beside.
pub fn second_signed(
    job: &Job,
    step: &FrozenStep,
    typed: &str,
) -> Result<Option<PersonId>, String> {
    let chosen = second(job, step, typed)?;
    match &job.who.via {
        Via::Pin { second, .. } if chosen != *second => {
            Err("Two adults are asked for. Choose who is with you; both sign.".to_owned())
        }
        _ => Ok(chosen),
    }
}

/// The second adult, where one has to be beside.
pub fn second(job: &Job, step: &FrozenStep, typed: &str) -> Result<Option<PersonId>, String> {
    let beside = job.beside(step);
    let chosen = typed.trim().parse::<PersonId>().ok();
    let chosen = chosen.filter(|id| job.can_be_beside(beside).any(|person| person.id == *id));
    match (beside, chosen) {
        // Where the second adult was let go of, one who is there all the same is noted.
        (Beside::Nobody, chosen) => Ok(chosen.filter(|_| step.asks_two())),
        (_, Some(id)) => Ok(Some(id)),
        (Beside::Adult, None) if job.adults.is_empty() => {
            Err("Two adults are asked for, and the crew has no other adult. A coordinator adds one under Crew.".to_owned())
        }
        (Beside::Adult, None) => Err("Two adults are asked for. Choose who is with you.".to_owned()),
        (Beside::Holder, None) => Err(
            "Your skill for concentrate has run out, and that was let go of with somebody beside who holds it. Choose who is with you and holds it today."
                .to_owned(),
        ),
    }
}

impl Job {
    /// Who has to be beside whoever stands here.
    pub fn beside(&self, step: &FrozenStep) -> Beside {
        self.rules.beside(step, self.who.id, self.today)
    }

    /// Those who can be beside.
    pub fn can_be_beside(&self, beside: Beside) -> impl Iterator<Item = &Person> {
        self.adults.iter().filter(move |person| {
            let concentrate = SkillKind::Concentrate;
            beside != Beside::Holder || self.rules.crew.holds(person.id, concentrate, self.today)
        })
    }

    /// What this person confirmed today before pouring, with whoever has to be beside by the rules as they
    /// are now.
    pub fn protected(&self, step: &FrozenStep) -> Option<&StepEntry> {
        let zone = self.who.site.zone;
        let entry = self
            .record
            .protection_of(step, self.who.id, self.today, zone)?;
        let beside = self.beside(step);
        let there = entry.second.as_ref().is_some_and(|second| {
            self.can_be_beside(beside)
                .any(|person| person.id == second.id)
        });
        (there || beside == Beside::Nobody).then_some(entry)
    }
}
