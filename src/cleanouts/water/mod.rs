//! What else went into the water of a system: agents beside the peroxide of a clean-out, and the rinses
//! that took them out again.
//!
//! Nothing is taken to be gone by itself: what went in counts until a full rinse is entered or a
//! clean-out of the system is released.

pub mod pages;
pub mod store;

use sqlx::SqliteConnection;

use super::card::{FrozenMethod, FrozenStep};
use super::run::Record;
use crate::clock::Moment;
use crate::ids::{SystemId, WaterEntryId};
use crate::methods::waters::treatments;
use crate::science::agents::{self, AgentKind, Pair, Treatment};
use crate::site::{Site, full_day};
use crate::text::{Name, Note};

crate::words! {
    /// What an entry says.
    pub enum What {
        PutIn = "put in",
        RinsedOut = "rinsed out",
        /// An earlier entry was wrong.
        TakenBack = "taken back",
    }
}

/// One entry.
#[derive(Clone, Debug)]
pub struct Entered {
    pub id: WaterEntryId,
    pub what: What,
    pub agent: Option<AgentKind>,
    /// As its label names it.
    pub product: String,
    /// Full fills that were run round and drained.
    pub rinses: Option<i64>,
    pub note: Note,
    pub takes_back: Option<WaterEntryId>,
    pub by: Name,
    pub at: Moment,
}

/// The open clean-out of a system, as far as it has put something into the water.
#[derive(Clone, Debug)]
pub struct OpenJob {
    pub number: String,
    pub method: FrozenMethod,
    pub record: Record,
}

/// All that is known of the water of a system.
#[derive(Clone, Debug, Default)]
pub struct History {
    /// Oldest first.
    pub entries: Vec<Entered>,
    /// When a clean-out of it was last released.
    pub released: Option<Moment>,
    pub open: Option<OpenJob>,
}

/// An agent that may still be in the water.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InWater {
    pub kind: AgentKind,
    /// 'hypochlorite (Line Bright), entered on 3 March 2027 by Oda R.'
    pub said: String,
}

impl History {
    /// The entries that count: not taken back, and no taking back themselves.
    pub fn counting(&self) -> impl Iterator<Item = &Entered> {
        let taken_back = |id| {
            self.entries
                .iter()
                .any(|other| other.takes_back == Some(id))
        };
        self.entries
            .iter()
            .filter(move |entry| entry.what != What::TakenBack && !taken_back(entry.id))
    }

    /// What may still be in the water: what went in since the last full rinse.
    pub fn still_in(&self, site: &Site) -> Vec<InWater> {
        let mut there = self.of_open_job();
        let mut entered: Vec<InWater> = Vec::new();
        for entry in self.counting() {
            match (entry.what, entry.agent) {
                // A full rinse takes out whatever went in before it, the dose of a job with it.
                (What::RinsedOut, _) => {
                    entered.clear();
                    if self.dosed_at().is_none_or(|dosed| dosed < entry.at) {
                        there.clear();
                    }
                }
                (What::PutIn, Some(kind)) if self.released.is_none_or(|out| out <= entry.at) => {
                    entered.push(InWater {
                        kind,
                        said: format!(
                            "{kind} ({}), entered on {} by {}",
                            entry.product,
                            full_day(site.today(entry.at)),
                            entry.by
                        ),
                    });
                }
                _ => {}
            }
        }
        there.extend(entered);
        there
    }

    /// When something of the open job last went in.
    fn dosed_at(&self) -> Option<Moment> {
        let job = self.open.as_ref()?;
        let puts = |no| {
            let step = job.method.steps.iter().find(|step| step.no == no);
            step.is_some_and(|step| step.puts().is_some())
        };
        let entries = job
            .record
            .entries
            .iter()
            .filter(|entry| puts(entry.step_no));
        let pours = job.record.pours.iter().map(|pour| pour.at);
        pours.chain(entries.map(|entry| entry.at)).max()
    }

    fn of_open_job(&self) -> Vec<InWater> {
        let Some(job) = &self.open else {
            return Vec::new();
        };
        let begun = |step: &FrozenStep| {
            let entered = job
                .record
                .entries
                .iter()
                .any(|entry| entry.step_no == step.no);
            match step.puts() {
                Some(AgentKind::HydrogenPeroxide) => !job.record.pours.is_empty(),
                Some(_) => entered,
                None => entered,
            }
        };
        let steps = treatments(&job.method.steps, job.method.rinses_at_least);
        let poured = !job.record.pours.is_empty();
        let mut there = Vec::new();
        for (treatment, step) in steps {
            match treatment {
                Treatment::Puts(kind) if begun(step) => there.push(InWater {
                    kind,
                    said: format!("{kind}, of clean-out {}", job.number),
                }),
                // Once the dose is in, only the release says that it is out.
                Treatment::FullRinse if begun(step) && !poured => there.clear(),
                _ => {}
            }
        }
        there
    }
}

/// Two that would meet, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Meeting {
    /// What is in the water.
    pub there: InWater,
    /// What would come to it.
    pub comes: AgentKind,
    pub pair: &'static Pair,
}

impl Meeting {
    /// Names both, what happens, and where that stands written.
    pub fn words(&self) -> String {
        format!(
            "{} must not meet {}. {} ({}).",
            super::pages::capital(&self.there.said),
            self.comes,
            self.pair.what,
            self.pair.source
        )
    }
}

/// The first agent of what is to come that must not meet what is in the water. Two of what is to come among
/// themselves are the method's own fault, found when it is written.
pub fn meeting<'a>(
    there: &[InWater],
    to_come: impl IntoIterator<Item = &'a Treatment>,
) -> Option<Meeting> {
    for treatment in to_come {
        // What is in the water is out from here on.
        let Treatment::Puts(comes) = *treatment else {
            return None;
        };
        for one in there {
            if let Some(pair) = agents::incompatible(one.kind, comes) {
                return Some(Meeting {
                    there: one.clone(),
                    comes,
                    pair,
                });
            }
        }
    }
    None
}

/// The steps of a method as what they do to the water.
pub fn to_come(steps: &[FrozenStep], rinses_at_least: i64) -> Vec<Treatment> {
    let steps = treatments(steps, rinses_at_least);
    steps.into_iter().map(|(treatment, _)| treatment).collect()
}

/// Why a method must not begin on a system as its water is; none when nothing stands against it.
pub async fn against(
    conn: &mut SqliteConnection,
    system: SystemId,
    method: &FrozenMethod,
    site: &Site,
) -> anyhow::Result<Option<Meeting>> {
    let there = store::history(conn, system).await?.still_in(site);
    Ok(meeting(
        &there,
        &to_come(&method.steps, method.rinses_at_least),
    ))
}

/// Where the water of a system is looked up and entered.
pub fn path(system: SystemId) -> String {
    format!("/systems/{system}/water")
}

/// What is done about it.
pub const RINSE_FIRST: &str =
    "Rinse the system out in full and enter the rinse, or use another method.";

/// The same, where the work has begun.
pub const RINSE_BEFORE: &str = "Put nothing in. Rinse the system out in full, and enter the rinse on the system's page under 'In the water'.";

#[cfg(test)]
mod tests {
    use super::*;
    use Treatment::{FullRinse, Puts};

    fn there(kind: AgentKind) -> InWater {
        InWater {
            kind,
            said: format!("{kind} (Line Bright), entered on 3 March 2027 by Oda R."),
        }
    }

    #[test]
    fn what_is_there_and_what_comes_are_both_named() {
        let water = [there(AgentKind::Hypochlorite)];
        let comes = [Puts(AgentKind::HydrogenPeroxide)];
        let words = meeting(&water, &comes).unwrap().words();
        assert!(words.starts_with("Hypochlorite (Line Bright), entered on 3 March"));
        assert!(
            words.contains("must not meet hydrogen peroxide."),
            "{words}"
        );
        assert!(!words.contains(".."), "{words}");
        assert_eq!(meeting(&water, &[FullRinse, comes[0]]), None);
        assert_eq!(meeting(&[there(AgentKind::Detergent)], &comes), None);
        // What is wrong with a method by itself is not laid to the water.
        let wrong = [Puts(AgentKind::Acid), Puts(AgentKind::HydrogenPeroxide)];
        assert_eq!(meeting(&[], &wrong), None);
    }
}
