//! What a change does to the plan, said before it is saved: the plan is repaired with the change made to a
//! copy, and set beside the plan as it is.

use super::changes::Change;
use super::facts::{dosing, without};
use super::moves;
use super::proposal::{Proposal, propose};
use super::sources::Sources;
use super::timetable::{Entry, changes, span_words};
use super::whose;
use crate::hours::Span;
use crate::ids::{PersonId, RoomId};
use crate::web::Effect;

/// The sources with the proposal that they make.
#[derive(Debug)]
pub struct Known {
    pub sources: Sources,
    pub proposal: Proposal,
}

impl Known {
    /// # Errors
    /// A plan that breaks a rule: it is not shown.
    pub fn of(sources: Sources) -> anyhow::Result<Self> {
        let proposal = propose(&sources)?;
        Ok(Self { sources, proposal })
    }

    /// What the change does, in sentences; nothing of it is stored.
    ///
    /// # Errors
    /// A plan that breaks a rule: it is not shown.
    pub fn with(&self, change: &Change) -> anyhow::Result<Vec<Effect>> {
        let mut sources = self.sources.clone();
        change.made(&mut sources);
        let proposal = propose(&sources)?;
        Ok(self.beside(&Self { sources, proposal }))
    }

    /// How a later plan differs.
    fn beside(&self, after: &Self) -> Vec<Effect> {
        let (old, new) = (&self.proposal, &after.proposal);
        let mut effects = moves::effects(&after.sources, old, new, None);
        effects.extend(self.come_and_gone(after));
        effects.extend(self.clashes(after));
        let people: Vec<PersonId> = self.sources.crew.people.iter().map(|one| one.id).collect();
        let (before, now) = (&old.timetable.entries, self.sources.now);
        for change in changes(before, &new.timetable.entries, &people, now) {
            let Some(name) = self.sources.person_name(change.person) else {
                continue;
            };
            let words = format!("The work of {name} changes:");
            let lines = whose::lines(&after.sources, &change);
            effects.push(Effect::holds(words).made_of(lines));
        }
        if effects.is_empty() {
            effects.push(Effect::holds("Nothing in the plan changes.".to_owned()));
        }
        effects
    }

    /// Clean-outs that are planned with the change and were not before, and the other way about.
    fn come_and_gone(&self, after: &Self) -> Vec<Effect> {
        let (old, new) = (&self.proposal, &after.proposal);
        let known =
            |proposal: &Proposal, entry: &Entry| proposal.facts.about(entry.system).is_some();
        let come = new.planned().filter(|entry| !known(old, entry));
        let gone = old.planned().filter(|entry| !known(new, entry));
        let zone = self.sources.site.zone;
        let come = come.filter_map(|entry| {
            Some(Effect::holds(format!(
                "{} is planned for {}.",
                after.sources.system_name(entry.system),
                span_words(entry.starts()?, entry.ends()?, zone)
            )))
        });
        let gone = gone.map(|entry| {
            Effect::breaks(format!(
                "{} is not planned any more.",
                self.sources.system_name(entry.system)
            ))
        });
        come.chain(gone).collect()
    }

    /// What stands where it is, and no longer fits who is there or who else is in the room.
    fn clashes(&self, after: &Self) -> Vec<Effect> {
        let mut effects = Vec::new();
        let zone = self.sources.site.zone;
        for one in &after.proposal.facts.standing {
            let (Some(starts), Some(ends)) = (one.entry.starts(), one.entry.ends()) else {
                continue;
            };
            if ends <= self.sources.now {
                continue;
            }
            let stands = format!(
                "{}, {}, stays where it is, {},",
                after.sources.system_name(one.entry.system),
                one.number,
                span_words(starts, ends, zone)
            );
            for person in one.entry.people() {
                let lines = one.entry.lines.iter();
                let mut mine = lines
                    .filter(|line| line.people.contains(&person))
                    .filter_map(|line| Span::new(line.from, line.to));
                let missed = mine.any(|span| {
                    is_there(&self.sources, person, span) && !is_there(&after.sources, person, span)
                });
                if missed && let Some(name) = self.sources.person_name(person) {
                    effects.push(Effect::breaks(format!(
                        "{stands} and {name} is not there for all of it."
                    )));
                }
            }
            let closed = dosing(one, self.sources.now).filter(|span| {
                !is_in_use(&self.sources, one.room, *span)
                    && is_in_use(&after.sources, one.room, *span)
            });
            if closed.is_some() {
                effects.push(Effect::breaks(format!(
                    "{stands} and others would be in its room while it is dosed or aired."
                )));
            }
        }
        effects
    }
}

/// Whether somebody is at work for all of a time.
fn is_there(sources: &Sources, person: PersonId, span: Span) -> bool {
    let Some(times) = sources.times.person(person) else {
        return false;
    };
    let (site, zone) = (&sources.times.site, sources.site.zone);
    let days = span.from.day(zone).iter_days();
    let last = span.to.day(zone);
    let shifts: Vec<Span> = days
        .take_while(|day| *day <= last)
        .flat_map(|day| times.on(site, day))
        .map(|shift| shift.span)
        .collect();
    without(span, &shifts).is_empty()
}

/// Whether others are in a room in a part of a time.
fn is_in_use(sources: &Sources, room: RoomId, span: Span) -> bool {
    let times = sources.times.room(room);
    let (site, zone) = (&sources.times.site, sources.site.zone);
    let last = span.to.day(zone);
    span.from
        .day(zone)
        .iter_days()
        .take_while(|day| *day <= last)
        .flat_map(|day| times.on(site, day))
        .any(|others| others.from < span.to && span.from < others.to)
}
