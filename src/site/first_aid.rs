//! First aid after peroxide: whom to call where this rule set holds, what to do, and each source.
//!
//! The facts are those of public authorities, in words of our own. The label, the safety data sheet and
//! whoever answers the call win over all of it.

/// A number that is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Call {
    pub whom: &'static str,
    pub number: &'static str,
    pub source: &'static str,
}

/// What is done in one case.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    pub title: &'static str,
    /// What to do, first things first. [`EYES`] stands for how long eyes are rinsed.
    pub acts: &'static [&'static str],
    pub source: &'static str,
}

/// Stands where the site's figure for the eyes is put in.
pub const EYES: &str = "{eyes}";

impl Case {
    /// The first thing to do.
    pub fn first(&self, eyes: &str) -> String {
        self.told(eyes).into_iter().next().unwrap_or_default()
    }

    /// What to do, with the time for which this site rinses eyes.
    pub fn told(&self, eyes: &str) -> Vec<String> {
        self.acts
            .iter()
            .map(|act| act.replace(EYES, eyes))
            .collect()
    }
}

const AMBULANCE_EU: Call = Call {
    whom: "Ambulance and fire service",
    number: "112",
    source: "Directive (EU) 2018/1972, Article 109: the single European emergency number (from memory)",
};

/// The numbers of a rule set. A site that writes its own shows its own first.
pub fn calls(rule_set: &str) -> &'static [Call] {
    match rule_set {
        "us" => &[
            Call {
                whom: "Ambulance and fire service",
                number: "911",
                source: "Health Resources and Services Administration, page of the Poison Help line",
            },
            Call {
                whom: "Poison centre, Poison Help line",
                number: "1-800-222-1222",
                source: "Health Resources and Services Administration, page of the Poison Help line",
            },
        ],
        "uk" => &[Call {
            whom: "Ambulance and fire service",
            number: "999 or 112",
            source: "the emergency numbers of Great Britain (from memory)",
        }],
        "eu" => &[AMBULANCE_EU],
        _ => &[],
    }
}

/// What to say about a poison centre where the rule set has no number for all of its land.
pub fn no_poison_number(rule_set: &str) -> Option<&'static str> {
    match rule_set {
        "us" => None,
        _ => Some(
            "The number of the poison centre stands in section 1 of the safety data sheet. A coordinator can write it here.",
        ),
    }
}

const ATSDR: &str = "Agency for Toxic Substances and Disease Registry (US), medical management guidelines for hydrogen peroxide";

/// The cases, in the order in which they are looked for.
pub const CASES: &[Case] = &[
    Case {
        title: "In an eye",
        acts: &[
            "Rinse at once under running water, the lids held open, for {eyes}. Do not stop to look.",
            "Contact lenses out if they come easily, then rinse on.",
            "Call an ambulance while somebody else goes on rinsing.",
        ],
        source: "National Institute for Occupational Safety and Health (US), first aid procedures, 'irrigate immediately'; the minutes as under 'Sources that differ'",
    },
    Case {
        title: "On skin or clothes",
        acts: &[
            "Gloves, shoes and wet clothes off, under running water.",
            "Rinse for 15 minutes at least. White spots that sting are usual with peroxide; blisters or pain need a doctor.",
            "Put the clothes into water: peroxide that dries in cloth or leather can set it on fire.",
        ],
        source: "Poison Help line (US): 15 to 20 minutes of running water; that it kindles what burns: the same guidelines of the Agency for Toxic Substances and Disease Registry",
    },
    Case {
        title: "Swallowed",
        acts: &[
            "Rinse the mouth. Do not make the person vomit: it burns again and foams.",
            "Call the poison centre at once, and an ambulance if it was concentrate, or if there is pain, vomiting, sleepiness or trouble with breathing.",
            "Give nothing to somebody who is not fully awake.",
        ],
        source: ATSDR,
    },
    Case {
        title: "Breathed in",
        acts: &[
            "Out into fresh air, half upright, calm.",
            "Cough, a tight chest or short breath, even hours later: a doctor. Not breathing: call an ambulance.",
        ],
        source: "the same guidelines; half upright: International Chemical Safety Card 0164",
    },
    Case {
        title: "Spilled",
        acts: &[
            "Everybody out, vents open, much water on it.",
            "Take up what is diluted with sand or another thing that does not burn. No sawdust, no rags, no paper.",
            "Nothing of it back into the can.",
        ],
        source: ATSDR,
    },
    Case {
        title: "Heat, foam, a bulging can",
        acts: &[
            "Leave, keep everybody away, call the fire service from outside.",
            "It breaks down by itself and makes heat and oxygen. Only water puts out what it kindled.",
        ],
        source: ATSDR,
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_case_says_what_to_do_and_who_says_so() {
        for case in CASES {
            assert!(
                !case.acts.is_empty() && !case.source.is_empty(),
                "{}",
                case.title
            );
            assert!(case.told("30 minutes").iter().all(|act| !act.contains('{')));
        }
    }

    #[test]
    fn the_eyes_are_rinsed_as_long_as_the_site_goes_by() {
        let told = CASES[0].told("15 minutes");
        assert!(told[0].ends_with("for 15 minutes. Do not stop to look."));
        assert_eq!(told[0], CASES[0].first("15 minutes"));
    }

    #[test]
    fn each_rule_set_has_somebody_to_call_and_says_where_a_poison_centre_is_found() {
        for rule_set in ["eu", "uk", "us"] {
            assert!(!calls(rule_set).is_empty());
            let named = calls(rule_set)
                .iter()
                .any(|call| call.whom.contains("Poison"));
            assert_ne!(named, no_poison_number(rule_set).is_some(), "{rule_set}");
        }
    }
}
