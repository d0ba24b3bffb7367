//! Who may do a step.

use crate::cleanouts::card::{FrozenStep, Least, StepKind};
use crate::crew::{AgeBand, Role, SkillKind};
use crate::ids::PersonId;
use crate::text::Name;

/// Somebody at a step, with the skills that count today.
#[derive(Clone, Debug)]
pub struct Doer {
    pub id: PersonId,
    pub name: Name,
    pub role: Role,
    pub age_band: AgeBand,
    pub concentrate: bool,
    pub electrics: bool,
    pub release: bool,
}

impl Doer {
    pub fn is_adult(&self) -> bool {
        self.age_band == AgeBand::Adult
    }
}

/// What somebody lacks for a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotYours {
    #[error("You are signed in as a viewer, who reads everything and enters nothing.")]
    Reads,
    #[error("This step is for adults.")]
    Minor,
    #[error("This step is for adults who hold the skill '{0}' today, and you do not.")]
    Skill(SkillKind),
}

impl FrozenStep {
    /// Who may do it. Pouring asks for the skill whatever the method says.
    pub fn least(&self) -> Least {
        if self.kind == StepKind::Pours {
            Least::Concentrate
        } else {
            self.least
        }
    }

    /// Whether somebody may do it today.
    pub fn open_to(&self, doer: &Doer) -> Result<(), NotYours> {
        if doer.role < Role::Hand {
            return Err(NotYours::Reads);
        }
        let least = self.least();
        if least == Least::Anybody {
            return Ok(());
        }
        if !doer.is_adult() {
            return Err(NotYours::Minor);
        }
        match least {
            Least::Concentrate if !doer.concentrate => Err(NotYours::Skill(SkillKind::Concentrate)),
            Least::Electrics if !doer.electrics => Err(NotYours::Skill(SkillKind::Electrics)),
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cleanouts::run::fixture::step;

    fn doer(role: Role, age_band: AgeBand, skilled: bool) -> Doer {
        Doer {
            id: PersonId::from_row(1),
            name: Name::parse("Tobit A.").unwrap(),
            role,
            age_band,
            concentrate: skilled,
            electrics: skilled,
            release: skilled,
        }
    }

    #[test]
    fn a_step_is_open_to_whom_the_method_says() {
        let mut tick = step(1, crate::cleanouts::card::Phase::Dose, StepKind::Tick);
        let minor = doer(Role::Hand, AgeBand::Minor, false);
        let adult = doer(Role::Hand, AgeBand::Adult, false);
        let skilled = doer(Role::Hand, AgeBand::Adult, true);
        let viewer = doer(Role::Viewer, AgeBand::Adult, true);
        assert_eq!(tick.open_to(&minor), Ok(()));
        assert_eq!(tick.open_to(&viewer), Err(NotYours::Reads));
        tick.least = Least::Adult;
        assert_eq!(tick.open_to(&minor), Err(NotYours::Minor));
        assert_eq!(tick.open_to(&adult), Ok(()));
        tick.least = Least::Electrics;
        assert_eq!(
            tick.open_to(&adult),
            Err(NotYours::Skill(SkillKind::Electrics))
        );
        assert_eq!(tick.open_to(&skilled), Ok(()));
        // A skill on record does not make a minor old enough.
        assert_eq!(
            tick.open_to(&doer(Role::Hand, AgeBand::Minor, true)),
            Err(NotYours::Minor)
        );
    }

    #[test]
    fn pouring_asks_for_the_skill_whatever_the_method_says() {
        let mut pours = step(1, crate::cleanouts::card::Phase::Dose, StepKind::Pours);
        pours.least = Least::Anybody;
        assert_eq!(
            pours.open_to(&doer(Role::Coordinator, AgeBand::Adult, false)),
            Err(NotYours::Skill(SkillKind::Concentrate))
        );
        assert_eq!(
            pours.open_to(&doer(Role::Hand, AgeBand::Minor, false)),
            Err(NotYours::Minor)
        );
    }
}
