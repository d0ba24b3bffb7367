//! Which rules of a step a coordinator may let go of at this site. The site can be stricter than the bounds
//! that clean-outs keep, never looser.

crate::words! {
    /// A rule of a step that can be let go of within bounds.
    pub enum StepRule {
        RunOut = "skill run out",
        Electrics = "pumps and plugs",
        Second = "second person",
        Adult = "adult",
    }
}

impl StepRule {
    /// What is let go of, as a sentence goes on with it.
    pub fn words(self) -> &'static str {
        match self {
            Self::RunOut => "the skill for concentrate, run out a short while ago",
            Self::Electrics => "the skill for pumps and plugs",
            Self::Second => "the second adult",
            Self::Adult => "the rule that only adults take part",
        }
    }

    /// The bounds that no site widens.
    pub fn bounds(self) -> &'static str {
        match self {
            Self::RunOut => {
                "For one adult at one clean-out, at most 30 days after the skill ran out (common practice, no source), and with somebody beside who holds it. Whoever never had it, or had it taken away, does not pour."
            }
            Self::Electrics => {
                "For one adult at one step, never where concentrate is at hand. The plug is out first all the same."
            }
            Self::Second => {
                "For one adult at one step, never where concentrate is at hand or poured."
            }
            Self::Adult => {
                "For one group at one step, under an adult who signs for it; never from the dose to the rinse, when the room can be closed to others."
            }
        }
    }
}

crate::words! {
    /// Who may let go of a rule.
    pub enum MayLetGo {
        Coordinator = "coordinator",
        Nobody = "nobody",
    }
}

/// The rules that nobody lets go of at this site.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Kept(Vec<StepRule>);

impl Kept {
    /// From the newest choice of each rule.
    pub fn new(newest: impl IntoIterator<Item = (StepRule, MayLetGo)>) -> Self {
        let kept = newest
            .into_iter()
            .filter(|(_, who)| *who == MayLetGo::Nobody);
        Self(kept.map(|(rule, _)| rule).collect())
    }

    pub fn who(&self, rule: StepRule) -> MayLetGo {
        match self.0.contains(&rule) {
            true => MayLetGo::Nobody,
            false => MayLetGo::Coordinator,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coordinator_may_until_the_site_says_nobody() {
        let kept = Kept::new([
            (StepRule::Adult, MayLetGo::Nobody),
            (StepRule::Second, MayLetGo::Coordinator),
        ]);
        assert_eq!(kept.who(StepRule::Adult), MayLetGo::Nobody);
        for rule in [StepRule::RunOut, StepRule::Electrics, StepRule::Second] {
            assert_eq!(kept.who(rule), MayLetGo::Coordinator);
        }
    }
}
