//! What would help a clean-out that is late: changes that somebody can arrange, each planned with.

use chrono::TimeDelta;

use super::proposal::Proposal;
use super::reasons::{capital, length};
use super::sources::Sources;
use super::timetable::span_words;
use crate::asking::Found;
use crate::planner::{self, Help, Reason, Relief, Slot, Span, Suggestion};
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::text::Name;

/// So many are told.
const TOLD: usize = 4;

/// What would help, in sentences: each was planned with; where none was, what is short is only named.
pub fn of(sources: &Sources, proposal: &Proposal, found: &Found) -> Vec<String> {
    let Found { reason, helps } = found;
    let Some(helps) = helps else {
        return reason
            .reliefs
            .iter()
            .map(|relief| capital(&relief_words(proposal, reason, *relief)))
            .collect();
    };
    helps
        .iter()
        .take(TOLD)
        .filter_map(|suggestion| {
            let what = what(sources, proposal, suggestion.help)?;
            Some(format!("{what}: {}", result(proposal, reason, suggestion)))
        })
        .collect()
}

/// What it would take, with its product by name.
pub fn relief_words(proposal: &Proposal, reason: &Reason, relief: Relief) -> String {
    match (relief, product(proposal, reason)) {
        (Relief::Concentrate, Some(product)) => {
            format!("more {product}, or an earlier delivery of it")
        }
        _ => relief.words().to_owned(),
    }
}

/// What the late clean-out is dosed with.
pub fn product<'p>(proposal: &'p Proposal, reason: &Reason) -> Option<&'p Name> {
    let system = *proposal.mapped.systems.get(reason.job)?;
    let product = proposal.facts.asked_of(system)?.product;
    let known = proposal.facts.supplies.concentrate(product)?;
    Some(&known.product)
}

fn what(sources: &Sources, proposal: &Proposal, help: Help) -> Option<String> {
    let grid = &proposal.facts.grid;
    let zone = grid.zone();
    let hours = |span: Span| span_words(grid.moment(span.from), grid.moment(span.to), zone);
    Some(match help {
        Help::Nothing => "Ask again".to_owned(),
        Help::Person {
            hours: span,
            concentrate,
        } => {
            let signed = if concentrate {
                " signed for concentrate"
            } else {
                ""
            };
            format!("One more person{signed}, {}", hours(span))
        }
        Help::Overtime {
            person,
            hours: span,
        } => {
            let id = *proposal.mapped.people.get(person)?;
            format!("Overtime of {}, {}", sources.person_name(id)?, hours(span))
        }
        Help::Planting { job, days } => {
            let system = *proposal.mapped.systems.get(job)?;
            let days = if days == 1 {
                "one day".to_owned()
            } else {
                format!("{days} days")
            };
            format!("Plant {} {days} later", sources.system_name(system))
        }
        Help::Delivery { product, ml, by } => {
            let known = proposal.facts.supplies.concentrates.get(product)?;
            let product = &known.product;
            let amount = Millilitres::new(ml).ok()?;
            format!(
                "{} more of {product} by {}",
                show::volume(amount.volume(), sources.site.units),
                super::timetable::at_words(grid.moment(by), zone)
            )
        }
        Help::Room { room, day } => {
            let room = proposal.facts.rooms.get(room)?;
            format!(
                "{} free of others on {}",
                room.name,
                grid.local(day.from).format("%a %-d %b")
            )
        }
        Help::Kit => "One more set of kit".to_owned(),
        // The planner counts water in decilitres here.
        Help::Tank { litres } => format!("A tank that holds {}\u{a0}L more", litres / 10),
    })
}

fn result(proposal: &Proposal, reason: &Reason, suggestion: &Suggestion) -> String {
    let in_time = match suggestion.late {
        0 => "it is then in time".to_owned(),
        Slot::MAX => "it still has no place".to_owned(),
        late => format!("it is then {} late", length(minutes(late))),
    };
    let placed = suggestion
        .plan
        .jobs
        .iter()
        .find(|placed| placed.job == reason.job);
    let place = placed.map_or_else(String::new, |placed: &planner::PlacedJob| {
        let at = proposal.facts.grid.moment(placed.strip);
        format!(
            ", from {}",
            super::timetable::at_words(at, proposal.facts.grid.zone())
        )
    });
    let others = match suggestion.moved {
        0 => "Nothing else moves to another day.".to_owned(),
        1 => "One other moves to another day.".to_owned(),
        n => format!("{n} others move to another day."),
    };
    format!("{in_time}{place}. {others}")
}

fn minutes(slots: Slot) -> TimeDelta {
    super::supplies::SLOT * i32::try_from(slots).unwrap_or(i32::MAX)
}
