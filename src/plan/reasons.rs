//! Why a clean-out is late or has no place, in the grower's words.

use chrono::TimeDelta;

use super::facts::{Asked, Facts, timetable_list};
use super::gaps::gap_words;
use super::helps;
use super::proposal::Proposal;
use super::sources::Sources;
use super::timetable::{Entry, at_words};
use crate::asking::Found;
use crate::clock::Moment;
use crate::hours::Span;
use crate::ids::SystemId;
use crate::planner::{self, Reason, Relief, Why};
use crate::site::{day_words, length_words};

/// A clean-out that is late or has no place, and why.
#[derive(Clone, Debug)]
pub struct Told {
    pub system: SystemId,
    /// None where it has no place at all.
    pub late: Option<TimeDelta>,
    pub ends: Option<Moment>,
    pub due: Option<Moment>,
    /// None until it is worked out.
    pub why: Option<WhyLate>,
}

/// Why, and what would help.
#[derive(Clone, Debug)]
pub struct WhyLate {
    /// A reason a line.
    pub why: Vec<String>,
    /// Each of these alone would do.
    pub helps: Vec<String>,
}

/// Everything that is late or without a place, in the order of the plan, with what is known by now of why.
pub fn told(sources: &Sources, proposal: &Proposal, known: &[Found]) -> Vec<Told> {
    planner::behind(&proposal.mapped.problem, &proposal.plan)
        .into_iter()
        .filter_map(|job| {
            let system = *proposal.mapped.systems.get(job)?;
            let asked = proposal.facts.asked_of(system)?;
            let entry = proposal.timetable.entry(system);
            let late = entry.and_then(|entry| proposal.late(entry));
            if entry.is_some() && late.is_none() {
                return None;
            }
            let found = known.iter().find(|found| found.reason.job == job);
            Some(Told {
                system,
                late,
                ends: entry.and_then(Entry::ends),
                due: asked.due,
                why: found.map(|found| WhyLate {
                    why: why(sources, proposal, asked, &found.reason),
                    helps: helps::of(sources, proposal, found),
                }),
            })
        })
        .collect()
}

fn why(sources: &Sources, proposal: &Proposal, asked: &Asked, reason: &Reason) -> Vec<String> {
    let facts = &proposal.facts;
    let mut lines = vec![format!(
        "{} It takes {} of work and soak.",
        gap_words(asked, facts.grid.zone()),
        length_words(asked.lengths.total())
    )];
    let window = asked.due.and_then(|due| Span::new(asked.from, due));
    match window {
        None if asked.due.is_some() => {
            lines.push(
                "No time is left between the crop coming off and the next going on.".to_owned(),
            );
        }
        Some(window) => lines.extend(who_is_there(sources, facts, window)),
        None => {}
    }
    match &reason.why {
        Why::Alone => {
            lines.push("Even if nothing else were planned it could not be in time.".to_owned());
            lines.push(together(proposal, reason));
        }
        Why::Others(others) => {
            let others: Vec<String> = others
                .iter()
                .filter_map(|job| proposal.mapped.systems.get(*job))
                .map(|system| named(sources, facts, *system))
                .collect();
            lines.push(format!(
                "{} {} in its way: without {} it could be in time.",
                timetable_list(&others),
                if others.len() == 1 { "stands" } else { "stand" },
                if others.len() == 1 { "it" } else { "any one of them" }
            ));
        }
        Why::Cheaper => lines.push(
            "A place in time is free, but only with overtime that costs more than the delay, or after a longer search: ask again.".to_owned(),
        ),
    }
    lines
}

/// The facts that keep it from being in time only together.
fn together(proposal: &Proposal, reason: &Reason) -> String {
    let facts: Vec<String> = reason
        .facts
        .iter()
        .map(|fact| match (fact, helps::product(proposal, reason)) {
            (Relief::Concentrate, Some(product)) => {
                format!("how much {product} there is and when more comes")
            }
            _ => fact.fact().to_owned(),
        })
        .collect();
    match facts.len() {
        0 => "Its work and soak alone take longer than there is time.".to_owned(),
        1 => format!("What stands against it: {}.", facts[0]),
        _ => format!(
            "What stands against it, only all together: {}.",
            timetable_list(&facts)
        ),
    }
}

/// 'North 2, Thu 4 Mar, 08:30' or only the name while it has no place.
fn named(sources: &Sources, facts: &Facts, system: SystemId) -> String {
    let name = sources.system_name(system);
    match facts
        .about(system)
        .map(|(number, _, _)| number)
        .filter(|number| *number != "new")
    {
        Some(number) => format!("{name} ({number})"),
        None => name,
    }
}

/// Who may pour in a time, or that nobody is there who may, with why not.
fn who_is_there(sources: &Sources, facts: &Facts, window: Span) -> Vec<String> {
    let minutes = |id, all: bool| -> i64 {
        let shifts = facts
            .people
            .iter()
            .filter(|person| person.id == id)
            .flat_map(|person| &person.shifts);
        shifts
            .filter(|shift| all || shift.concentrate)
            .filter_map(|shift| {
                Span::new(
                    shift.span.from.max(window.from),
                    shift.span.to.min(window.to),
                )
            })
            .map(Span::minutes)
            .sum()
    };
    let zone = facts.grid.zone();
    let mut able = Vec::new();
    let mut lines = Vec::new();
    for person in &facts.people {
        let signed = minutes(person.id, false);
        if signed > 0 {
            able.push(format!("{} ({})", person.name, length_words(signed)));
        } else if minutes(person.id, true) > 0 {
            lines.push(format!(
                "{} is there, but not signed for concentrate then.",
                person.name
            ));
        } else if let Some(why) = away(sources, person.id, window, zone) {
            lines.push(format!("{} is away: {why}.", person.name));
        }
    }
    let first = if able.is_empty() {
        "Nobody who may handle concentrate is at work in that time.".to_owned()
    } else {
        format!(
            "At work in that time and signed for concentrate: {}.",
            timetable_list(&able)
        )
    };
    lines.insert(0, first);
    lines
}

/// The absence that keeps somebody away, in words.
fn away(
    sources: &Sources,
    id: crate::ids::PersonId,
    window: Span,
    zone: chrono_tz::Tz,
) -> Option<String> {
    let times = sources.times.person(id)?;
    let mut absences = times.absences.iter().filter(|days| {
        let last = window.to.plus(TimeDelta::seconds(-1)).day(zone);
        let first = window.from.day(zone);
        first
            .iter_days()
            .take_while(|day| *day <= last)
            .any(|day| days.holds(day))
    });
    let absence = absences.next()?;
    Some(format!(
        "{}, {}",
        absence.new.what.words(),
        absence.new.days.words()
    ))
}

pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// 'Done on Thu 11 Mar, 15:00, 1 d 15 h after the next planting is to go on.'
pub fn late_words(told: &Told, zone: chrono_tz::Tz) -> (String, String) {
    match (told.ends, told.late, told.due) {
        (Some(ends), Some(late), Some(due)) => (
            format!("Done on {},", at_words(ends, zone)),
            format!(
                "{} after the day of the next planting begins, {}",
                length(late),
                day_words(due.day(zone))
            ),
        ),
        _ => (
            "There is no place for it".to_owned(),
            "within the weeks that are planned".to_owned(),
        ),
    }
}

/// '1 d 15 h', '3 h 15 min'.
pub fn length(length: TimeDelta) -> String {
    let minutes = length.num_minutes();
    match (minutes / 1440, minutes % 1440 / 60) {
        (0, _) => length_words(minutes),
        (days, 0) => format!("{days}\u{a0}d"),
        (days, hours) => format!("{days}\u{a0}d {hours}\u{a0}h"),
    }
}
