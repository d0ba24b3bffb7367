//! A proposal: the planner's plan for the facts, checked before anybody sees it.

use anyhow::{Context, bail};
use chrono::TimeDelta;

use super::facts::Facts;
use super::mapping::{self, Mapped, lateness};
use super::sources::Sources;
use super::timetable::{self, Entry, Standing, Timetable};
use crate::ids::SystemId;
use crate::planner::{self, Checked, Earlier, Effort, Keep, Plan};

/// Moving a posted clean-out to another day has to gain at least this much: half a day of lateness.
const WORTH: i64 = 4 * 48;
/// No more posted clean-outs than this move to another day, beyond those that have to.
pub const MOST_MOVED: usize = 3;

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
}

/// What holds of the last posting and of the draft after it: where the planner begins.
pub fn earlier(sources: &Sources, facts: &Facts) -> Vec<Entry> {
    let draft = sources.draft.iter().flat_map(|kept| &kept.entries);
    let posted = sources.posted.iter().flat_map(|kept| &kept.entries);
    facts
        .asked
        .iter()
        .filter_map(|asked| {
            let same = |entry: &&Entry| {
                entry.system == asked.entry.system && entry.planting == asked.entry.planting
            };
            let drafted = draft.clone().find(same);
            let from_posting = posted
                .clone()
                .find(same)
                .filter(|_| asked.entry.standing == Standing::Posted);
            drafted.or(from_posting).cloned()
        })
        .collect()
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
pub fn keeping(facts: Facts, earlier: &[Entry]) -> anyhow::Result<Proposal> {
    let mapped = mapped(&facts)?;
    let found = if earlier.is_empty() {
        planner::first(&mapped.problem)
    } else {
        let plan = mapped.plan_of(&facts.grid, earlier);
        planner::repair(&mapped.problem, held_to(&plan, &mapped.pinned))
    };
    checked(facts, mapped, found)
}

/// What holds a new plan to an earlier one.
pub fn held_to<'a>(plan: &'a Plan, pinned: &'a [usize]) -> Earlier<'a> {
    let keep = Keep {
        worth: WORTH,
        most: MOST_MOVED,
    };
    Earlier { plan, keep, pinned }
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
    found: Result<Checked, Vec<planner::Broken>>,
) -> anyhow::Result<Proposal> {
    let plan = match found {
        Ok(found) => found.plan,
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
    pub fn mark(&self) -> String {
        self.timetable.mark()
    }

    /// What the planner found in the way of those that are late or without a place.
    pub fn reasons(&self) -> Vec<planner::Reason> {
        planner::explain(&self.mapped.problem, &self.plan)
    }

    /// What stands elsewhere than in an earlier proposal.
    pub fn moved_from(&self, earlier: &Timetable) -> Vec<timetable::Moved> {
        timetable::moved(
            &earlier.entries,
            &self.timetable.entries,
            self.facts.grid.zone(),
        )
    }
}

/// Steps of the search when somebody asks again.
pub const STEPS: u64 = 3_000;

/// The proposal after so many steps of looking for a better one, or fewer where it is told to stop.
///
/// # Errors
/// A plan that breaks a rule: it is not shown.
pub fn searched(
    sources: &Sources,
    steps: u64,
    stop: &(dyn Fn() -> bool + Sync),
) -> anyhow::Result<Proposal> {
    let facts = Facts::of(sources);
    let earlier = earlier(sources, &facts);
    let mapped = mapped(&facts)?;
    let plan = mapped.plan_of(&facts.grid, &earlier);
    let held = (!earlier.is_empty()).then(|| held_to(&plan, &mapped.pinned));
    let effort = Effort {
        number: 1,
        steps,
        threads: 1,
        proof: 0,
    };
    let found = planner::improve(&mapped.problem, held, effort, stop, &mut |_| {});
    checked(facts, mapped, found.map(|outcome| outcome.best))
}
