//! A proposal: the planner's plan for the facts, checked before anybody sees it.

use std::sync::{Arc, OnceLock};

use anyhow::{Context, bail};
use chrono::TimeDelta;

use super::facts::Facts;
use super::mapping::{self, Mapped, lateness};
use super::sources::{Kept, Sources};
use super::timetable::{self, Entry, Standing, Timetable};
use crate::asking::{Question, What};
use crate::by_system::BySystem;
use crate::ids::SystemId;
use crate::planner::{self, Earlier, Keep, Plan, Problem};

/// Moving a posted clean-out to another day has to gain at least this much: half a day of lateness.
const WORTH: i64 = 4 * 48;
/// No more posted clean-outs than this move to another day, beyond those that have to.
pub const MOST_MOVED: usize = 3;
const KEEP: Keep = Keep {
    worth: WORTH,
    most: MOST_MOVED,
};

/// For so many late clean-outs each change that would help is planned with; for the rest it is only named.
const MOST_HELPED: usize = 6;
/// So many changes are tried for one clean-out.
const TRIES: usize = 24;

/// A timetable that holds, and what it was worked out from.
#[derive(Clone, Debug)]
pub struct Proposal {
    pub facts: Facts,
    pub mapped: Mapped,
    pub plan: Plan,
    /// What is proposed, and what stands.
    pub timetable: Timetable,
    /// For these there is no place within the weeks.
    pub unplaced: Vec<SystemId>,
    /// Worked out when somebody asks, once for all who do.
    mark: OnceLock<String>,
    why: OnceLock<Option<Arc<Question>>>,
}

/// What holds of the last posting and of the draft after it: where the planner begins.
pub fn earlier<'s>(sources: &'s Sources, facts: &Facts) -> BySystem<&'s Entry> {
    let of_each = facts.asked.iter().filter_map(|asked| {
        let in_it = |kept: &'s Kept| {
            let entry = kept.entries.of(asked.entry.system);
            entry.filter(|entry| entry.planting == asked.entry.planting)
        };
        let posted = sources.posted.as_ref();
        let posted = posted.filter(|_| asked.entry.standing == Standing::Posted);
        let drafted = sources.draft.as_ref().and_then(in_it);
        drafted.or_else(|| posted.and_then(in_it))
    });
    of_each.collect()
}

/// The proposal for what the sources say, keeping to what was posted and drafted.
///
/// # Errors
/// A plan that breaks a rule: it is not shown.
pub fn propose(sources: &Sources) -> anyhow::Result<Proposal> {
    let facts = Facts::of(sources);
    let earlier = earlier(sources, &facts);
    keeping(facts, &earlier)
}

/// The proposal for these facts that keeps to earlier entries as far as they still hold.
///
/// # Errors
/// A plan that breaks a rule: it is not shown.
pub fn keeping(facts: Facts, earlier: &BySystem<&Entry>) -> anyhow::Result<Proposal> {
    let mapped = mapped(&facts)?;
    let found = if earlier.is_empty() {
        planner::first(&mapped.problem)
    } else {
        let plan = mapped.plan_of(&facts.grid, earlier);
        planner::repair(&mapped.problem, held_to(&plan, &mapped.pinned))
    };
    checked(facts, mapped, found.map(|found| found.plan))
}

/// What holds a new plan to an earlier one.
pub fn held_to<'a>(plan: &'a Plan, pinned: &'a [usize]) -> Earlier<'a> {
    Earlier {
        plan,
        keep: KEEP,
        pinned,
    }
}

pub fn mapped(facts: &Facts) -> anyhow::Result<Mapped> {
    mapping::problem(facts).map_err(|faults| {
        let words: Vec<String> = faults.iter().map(ToString::to_string).collect();
        anyhow::anyhow!(
            "the records make no problem for the planner: {}",
            words.join("; ")
        )
    })
}

/// The proposal that a plan makes, when it breaks no rule.
fn checked(
    mut facts: Facts,
    mapped: Mapped,
    found: Result<Plan, Vec<planner::Broken>>,
) -> anyhow::Result<Proposal> {
    let plan = match found {
        Ok(plan) => plan,
        Err(broken) => {
            let words: Vec<String> = broken.iter().map(ToString::to_string).collect();
            bail!(
                "the planner made a plan that breaks a rule: {}",
                words.join("; ")
            );
        }
    };
    let mut entries: Vec<Entry> = facts.standing.iter().map(|one| one.entry.clone()).collect();
    for placed in &plan.jobs {
        let system = mapped
            .systems
            .get(placed.job)
            .context("a job of no system")?;
        let asked = facts
            .asked_of(*system)
            .context("a system that was not asked for")?;
        entries.push(Entry {
            lines: mapped.lines_of(&facts.grid, placed),
            ..asked.entry.clone()
        });
    }
    let unplaced = plan
        .unplaced
        .iter()
        .filter_map(|job| mapped.systems.get(*job).copied())
        .collect();
    facts.assumed.extend(mapped.said.iter().cloned());
    Ok(Proposal {
        facts,
        mapped,
        plan,
        timetable: Timetable::of(entries),
        unplaced,
        mark: OnceLock::new(),
        why: OnceLock::new(),
    })
}

impl Proposal {
    /// The clean-outs that are proposed or posted, not those that stand anyway.
    pub fn planned(&self) -> impl Iterator<Item = &Entry> {
        self.timetable
            .entries
            .iter()
            .filter(|entry| entry.standing != Standing::Fixed)
    }

    /// By how much a clean-out is late; none when it is in time.
    pub fn late(&self, entry: &Entry) -> Option<TimeDelta> {
        let (_, due, _) = self.facts.about(entry.system)?;
        let late = lateness(entry.ends()?, due);
        (late > TimeDelta::zero()).then_some(late)
    }

    /// What tells this proposal from every other.
    pub fn mark(&self) -> &str {
        self.mark.get_or_init(|| self.timetable.mark())
    }

    /// What the planner found in the way of those that are late or without a place.
    pub fn reasons(&self) -> Vec<planner::Reason> {
        planner::explain(&self.mapped.problem, &self.plan)
    }

    /// The question why some are late or without a place, and what would help; none where there is none.
    pub fn why(&self) -> Option<Arc<Question>> {
        self.why
            .get_or_init(|| self.question_why().map(Arc::new))
            .clone()
    }

    fn question_why(&self) -> Option<Question> {
        let (problem, plan) = (&self.mapped.problem, &self.plan);
        if planner::behind(problem, plan).is_empty() {
            return None;
        }
        Some(Question {
            problem: problem.clone(),
            plan: plan.clone(),
            keep: KEEP,
            pinned: self.mapped.pinned.clone(),
            what: What::Why {
                helped: MOST_HELPED,
                tries: TRIES,
            },
        })
    }

    /// What stands elsewhere than in an earlier proposal.
    pub fn moved_from(&self, earlier: &Timetable) -> Vec<timetable::Moved> {
        timetable::moved(
            &earlier.entries,
            self.timetable.entries.iter(),
            self.facts.grid.zone(),
        )
    }
}

/// Steps of the search when somebody asks again.
pub const STEPS: u64 = 3_000;

/// All that a proposal is worked out from: for as long as it is the same, so is the proposal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Basis {
    problem: Problem,
    earlier: Plan,
    pinned: Vec<usize>,
    /// The clean-outs that are asked for and those that stand.
    entries: Vec<Entry>,
}

impl Basis {
    /// # Errors
    /// The records make no problem for the planner.
    pub fn of(sources: &Sources) -> anyhow::Result<Self> {
        let facts = Facts::of(sources);
        let mapped = mapped(&facts)?;
        let asked = facts.asked.iter().map(|asked| &asked.entry);
        let standing = facts.standing.iter().map(|one| &one.entry);
        Ok(Self {
            earlier: mapped.plan_of(&facts.grid, &earlier(sources, &facts)),
            entries: asked.chain(standing).cloned().collect(),
            problem: mapped.problem,
            pinned: mapped.pinned,
        })
    }

    /// The question for a plan that is better.
    pub fn better(self) -> Question {
        Question {
            problem: self.problem,
            plan: self.earlier,
            keep: KEEP,
            pinned: self.pinned,
            what: What::Better { steps: STEPS },
        }
    }
}

/// The proposal that a plan for these sources makes.
///
/// # Errors
/// The plan breaks a rule.
pub fn with_plan(sources: &Sources, plan: &Plan) -> anyhow::Result<Proposal> {
    let facts = Facts::of(sources);
    let mapped = mapped(&facts)?;
    let holds = planner::verify(&mapped.problem, plan).map(|_| plan.clone());
    checked(facts, mapped, holds)
}
