//! Moving a clean-out by hand: it is held to the beginning that somebody chose, and the others find
//! their places around it.

use super::facts::Facts;
use super::helps::relief_words;
use super::mapping::without_waits;
use super::proposal::{Proposal, keeping};
use super::reasons::length;
use super::sources::Sources;
use super::timetable::{Entry, Work, at_words, span_words};
use crate::by_system::BySystem;
use crate::clock::Moment;
use crate::ids::SystemId;
use crate::web::Effect;

/// What came of a move that was tried.
#[derive(Clone, Debug)]
pub enum Tried {
    /// It fits there, with these beginnings; the others stand as in this proposal.
    Fits {
        proposal: Box<Proposal>,
        starts: [Moment; 5],
    },
    /// Nothing can begin there, and why.
    Not(Vec<String>),
}

/// Tries to begin the clean-out of a system then.
///
/// # Errors
/// A plan that breaks a rule: it is not shown.
pub fn tried(
    sources: &Sources,
    now: &Proposal,
    system: SystemId,
    at: Moment,
) -> anyhow::Result<Tried> {
    let facts = Facts::of(sources);
    let Some(asked) = facts.asked_of(system) else {
        return Ok(Tried::Not(vec![
            "It is not planned with: its card is out, or nothing is asked for.".to_owned(),
        ]));
    };
    if at < asked.from {
        return Ok(Tried::Not(vec![format!(
            "The crop is not off then: it can begin from {} on.",
            at_words(asked.from, facts.grid.zone())
        )]));
    }
    let current: Vec<&Entry> = now.planned().collect();
    let mut candidates: Vec<[Moment; 5]> = without_waits(&facts, asked, at).into_iter().collect();
    if let Some(waiting) = with_waits(&facts, &current, system, at)? {
        candidates.push(waiting);
    }
    for starts in candidates {
        let proposal = held(&facts, &current, system, starts)?;
        if !proposal.unplaced.contains(&system) {
            return Ok(Tried::Fits {
                proposal: Box::new(proposal),
                starts,
            });
        }
    }
    Ok(Tried::Not(why_not(sources, &facts, system, at)?))
}

fn changed(facts: &Facts, system: SystemId, change: impl Fn(&mut super::facts::Asked)) -> Facts {
    let mut facts = facts.clone();
    if let Some(asked) = facts.asked.of_mut(system) {
        change(asked);
    }
    facts
}

/// Its beginnings when it may wait for the night, if its first is then.
fn with_waits(
    facts: &Facts,
    current: &[&Entry],
    system: SystemId,
    at: Moment,
) -> anyhow::Result<Option<[Moment; 5]>> {
    let from_then = changed(facts, system, |asked| {
        asked.pin = None;
        asked.from = at;
    });
    let proposal = keeping(from_then, &others(current, system).collect())?;
    let entry = proposal.timetable.entry(system);
    Ok(entry
        .filter(|entry| entry.starts() == Some(at))
        .and_then(starts_of))
}

fn others<'e>(current: &[&'e Entry], system: SystemId) -> impl Iterator<Item = &'e Entry> {
    let others = current.iter().copied();
    others.filter(move |entry| entry.system != system)
}

/// The five beginnings of an entry.
pub fn starts_of(entry: &Entry) -> Option<[Moment; 5]> {
    let start = |work| entry.first(work).map(|line| line.from);
    Some([
        start(Work::Strip)?,
        start(Work::Dose)?,
        start(Work::Rinse)?,
        start(Work::Teardown)?,
        start(Work::Refit)?,
    ])
}

/// The proposal with the clean-out held there. It finds its people first among what does not meet it, then
/// those that meet it are planned around it.
fn held(
    facts: &Facts,
    current: &[&Entry],
    system: SystemId,
    starts: [Moment; 5],
) -> anyhow::Result<Proposal> {
    let facts = changed(facts, system, |asked| {
        asked.pin = Some(starts);
        asked.entry.pinned = true;
    });
    let first = keeping(facts.clone(), &others(current, system).collect())?;
    if !first.unplaced.contains(&system) {
        return Ok(first);
    }
    let day = facts.grid.zone();
    let (from, to) = (starts[0].day(day), starts[4].day(day));
    let apart: BySystem<&Entry> = others(current, system)
        .filter(|entry| {
            let days = entry.starts().zip(entry.ends());
            days.is_some_and(|(starts, ends)| ends.day(day) < from || starts.day(day) > to)
        })
        .collect();
    let mut fewer = facts.clone();
    fewer
        .asked
        .retain(|asked| asked.entry.system == system || apart.of(asked.entry.system).is_some());
    let alone = keeping(fewer, &apart)?;
    keeping(facts, &alone.planned().collect())
}

/// What stands in the way of a beginning, in words: what the planner finds for the clean-out held there
/// with nothing else proposed.
fn why_not(
    sources: &Sources,
    facts: &Facts,
    system: SystemId,
    at: Moment,
) -> anyhow::Result<Vec<String>> {
    let Some(starts) = facts
        .asked_of(system)
        .and_then(|asked| without_waits(facts, asked, at))
    else {
        return Ok(vec![
            "It would not end within the weeks that are planned.".to_owned(),
        ]);
    };
    let mut facts = changed(facts, system, |asked| asked.pin = Some(starts));
    facts.asked.retain(|asked| asked.entry.system == system);
    let proposal = keeping(facts, &BySystem::default())?;
    let mut words = vec![format!(
        "It cannot begin at {}, even with nothing else proposed.",
        at_words(at, sources.site.zone)
    )];
    for reason in proposal.reasons() {
        let reliefs = reason.reliefs.iter();
        let reliefs: Vec<String> = reliefs
            .map(|relief| relief_words(&proposal, &reason, *relief))
            .collect();
        words.push(match reliefs.is_empty() {
            true => "No single change would do.".to_owned(),
            false => format!("It could with {}.", reliefs.join(", or with ")),
        });
    }
    Ok(words)
}

/// What another proposal does, in sentences: which clean-outs move, which become late, which lose their
/// place. What is said of the one that is held by hand is said elsewhere.
pub fn effects(
    sources: &Sources,
    before: &Proposal,
    after: &Proposal,
    held: Option<SystemId>,
) -> Vec<Effect> {
    let zone = sources.site.zone;
    let name = |system| sources.system_name(system);
    let moved = after.moved_from(&before.timetable).into_iter();
    let mut effects: Vec<Effect> = moved
        .filter(|moved| Some(moved.system) != held)
        .map(|moved| {
            Effect::holds(format!(
                "{} moves from {} to {}.",
                name(moved.system),
                at_words(moved.from, zone),
                at_words(moved.to, zone)
            ))
        })
        .collect();
    for entry in after.planned() {
        let old = before.timetable.entry(entry.system);
        let was = old.and_then(|old| before.late(old));
        match (was, after.late(entry)) {
            (was, Some(late)) if was != Some(late) => effects.push(Effect::breaks(format!(
                "{} would be {} late{}.",
                name(entry.system),
                length(late),
                was.map_or_else(String::new, |was| format!("; it was {}", length(was)))
            ))),
            (Some(_), None) => effects.push(Effect::holds(format!(
                "{} is no longer late.",
                name(entry.system)
            ))),
            _ => {}
        }
    }
    let lost = after.unplaced.iter();
    effects.extend(
        lost.filter(|system| !before.unplaced.contains(system))
            .map(|system| {
                Effect::breaks(match before.timetable.entry(*system) {
                    Some(_) => format!("{} has no place any more.", name(*system)),
                    None => format!("{} has no place.", name(*system)),
                })
            }),
    );
    let gained = before.unplaced.iter();
    effects.extend(gained.filter_map(|system| {
        let entry = after.timetable.entry(*system)?;
        Some(Effect::holds(format!(
            "{} finds a place: {}.",
            name(*system),
            span_words(entry.starts()?, entry.ends()?, zone)
        )))
    }));
    effects
}

/// The entries that a proposal keeps when it becomes a draft.
pub fn kept(proposal: &Proposal) -> Vec<Entry> {
    proposal.planned().cloned().collect()
}
