//! Whose work a change of the plan touches, and at which clean-outs: a line for each system.

use chrono_tz::Tz;

use super::sources::Sources;
use super::timetable::{Change, Duty, span_words};
use crate::ids::SystemId;

/// The changed work of one of the crew, a line for each system, by its first hour.
pub fn lines(sources: &Sources, change: &Change) -> Vec<String> {
    let zone = sources.site.zone;
    let mut duties: Vec<&Duty> = change.no_longer.iter().chain(&change.new).collect();
    duties.sort();
    let mut systems: Vec<SystemId> = Vec::new();
    for duty in duties {
        if !systems.contains(&duty.system) {
            systems.push(duty.system);
        }
    }
    let at = |duties: &[Duty], system| part(duties, system, zone);
    systems
        .into_iter()
        .filter_map(|system| {
            let name = sources.system_name(system);
            match (at(&change.no_longer, system), at(&change.new, system)) {
                (Some(old), Some(new)) => Some(format!("{name}: {old} becomes {new}")),
                (Some(old), None) => Some(format!("{name}: no longer {old}")),
                (None, Some(new)) => Some(format!("{name}: new, {new}")),
                (None, None) => None,
            }
        })
        .collect()
}

/// 'Tue 9 Mar, 08:30 to 14:15 (dose, rinse)': the duties at one system, from the first to the last.
fn part(duties: &[Duty], system: SystemId, zone: Tz) -> Option<String> {
    let mut mine = duties.iter().filter(|duty| duty.system == system);
    let first = mine.clone().map(|duty| duty.from).min()?;
    let last = mine.clone().map(|duty| duty.to).max()?;
    let mut works = Vec::new();
    for duty in &mut mine {
        let work = duty.work.to_string();
        if !works.contains(&work) {
            works.push(work);
        }
    }
    let span = span_words(first, last, zone);
    Some(format!("{span} ({})", works.join(", ")))
}
