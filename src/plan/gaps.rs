//! Which clean-outs are planned: the gaps that ask for one, those proposed, and those that stand.

use std::sync::Arc;

use chrono::{Days, NaiveDate, TimeDelta};

use super::facts::{Asked, Standing, timetable_list};
use super::grid::Grid;
use super::learn::{Known, Lengths};
use super::lots::Lots;
use super::sources::Sources;
use super::takes::takes;
use super::timetable::{self, Entry};
use crate::cleanouts::{Cleanout, State, parts};
use crate::clock::Moment;
use crate::crops::gap::Gap;
use crate::ids::{MethodVersionId, PlantingId};
use crate::methods::{MethodVersion, Phase, Step};
use crate::site::day_words;
use crate::turnovers::board::Stand;

/// A clean-out that begins later than this before the end of the weeks is not planned yet.
const ROOM_AT_THE_END: TimeDelta = TimeDelta::days(3);

/// Whether a booking is the last posting's own, so that it is planned with again.
fn posted_entry<'s>(sources: &'s Sources, open: &Cleanout) -> Option<&'s Entry> {
    let entry = sources.posted.as_ref()?.entries.of(open.system_id)?;
    if entry.cleanout != Some(open.id) || entry.standing == timetable::Standing::Fixed {
        return None;
    }
    let at = entry.starts()?.in_zone(sources.site.zone).naive_local();
    (at == open.starts()).then_some(entry)
}

fn is_movable(sources: &Sources, open: &Cleanout) -> bool {
    match open.state {
        State::Proposed => true,
        State::Booked => posted_entry(sources, open).is_some(),
        _ => false,
    }
}

/// Everything that is to find its place.
pub fn asked(
    sources: &Sources,
    grid: &Grid,
    lots: &Lots<'_>,
    assumed: &mut Vec<String>,
) -> Vec<Asked> {
    let last = grid.moment(grid.horizon()).plus(-ROOM_AT_THE_END);
    let (mut found, mut unknown, mut beyond) = (Vec::new(), Vec::new(), 0);
    let mut learnt = 0;
    for stand in &sources.board.stands {
        let Some(asked) = of_stand(sources, lots, stand) else {
            continue;
        };
        if asked.from >= last {
            beyond += 1;
            continue;
        }
        if sources.hold(asked.entry.system).is_none() {
            unknown.push(stand.name().to_string());
        }
        learnt += usize::from(asked.lengths.known != Known::Written);
        found.push(asked);
    }
    if found.is_empty() {
        return found;
    }
    assumed.push(match learnt {
        0 => "How long each phase takes is the method's own figure: too few jobs were done yet to learn it from.".to_owned(),
        n if n == found.len() => "How long each phase takes is the median of the last jobs.".to_owned(),
        n => format!("How long each phase takes is the median of the last jobs for {n} of {} clean-outs, and the method's own figure for the others.", found.len()),
    });
    if !unknown.is_empty() {
        assumed.push(format!(
            "What {} holds is not known yet, so no water and no concentrate is reckoned for it.",
            timetable_list(&unknown)
        ));
    }
    if beyond > 0 {
        assumed.push(format!(
            "Turnovers too late for these weeks are left out: {beyond}."
        ));
    }
    found
}

/// The gap in which a stand asks for a clean-out that the plan places, and the planting before it.
fn in_gap(sources: &Sources, stand: &Stand) -> Option<(Option<Gap>, Option<PlantingId>)> {
    if stand.system.laid_up_since.is_some() {
        return None;
    }
    match stand.open() {
        Some(open) => is_movable(sources, open).then(|| (stand.gap_of(open), open.planting_id)),
        // A system in quarantine waits until somebody asks for its clean-out.
        None if stand.wants_cleanout() && stand.system.quarantine.is_none() => {
            let current = stand.current();
            let gap = current.and_then(|planting| stand.gap_after(planting));
            Some((gap, current.map(|planting| planting.id)))
        }
        None => None,
    }
}

/// A clean-out to come, as its dose is reckoned: placed by the plan, or standing where it is.
#[derive(Debug)]
pub struct Coming<'s> {
    pub stand: &'s Stand,
    pub open: Option<&'s Cleanout>,
    pub version: &'s Arc<MethodVersion>,
    pub day: NaiveDate,
}

pub fn coming<'s>(sources: &'s Sources, stand: &'s Stand) -> Option<Coming<'s>> {
    let open = stand.open();
    let today = sources.site.today(sources.now);
    let day = match open.filter(|open| !is_movable(sources, open)) {
        Some(stands) if stands.state == State::Held => return None,
        Some(stands) => stands.starts_on.max(today),
        None => {
            let (gap, _) = in_gap(sources, stand)?;
            sources.site.today(from(sources, gap.as_ref()))
        }
    };
    Some(Coming {
        stand,
        open,
        version: method_of(sources, stand)?,
        day,
    })
}

fn of_stand(sources: &Sources, lots: &Lots<'_>, stand: &Stand) -> Option<Asked> {
    let (gap, planting) = in_gap(sources, stand)?;
    let coming = coming(sources, stand)?;
    let Coming { open, version, .. } = coming;
    let from = from(sources, gap.as_ref());
    let lot = lots.of(stand.system.id);
    let takes = takes(sources, &coming, lot);
    let lengths = Lengths::expected(
        &sources.done,
        stand.system.id,
        version.method_id,
        &version.contents,
    )
    .with_rinses(takes.rinses, &version.contents);
    let two = |phase| version.contents.in_phase(phase).any(Step::asks_two);
    let posted = open.and_then(|open| posted_entry(sources, open));
    let pin = sources
        .pins
        .iter()
        .find(|pin| pin.system == stand.system.id && pin.planting == planting);
    Some(Asked {
        entry: Entry {
            system: stand.system.id,
            planting,
            cleanout: open.map(|open| open.id),
            lines: Vec::new(),
            standing: match posted {
                Some(_) if open.is_some_and(|open| open.state == State::Booked) => {
                    timetable::Standing::Posted
                }
                _ => timetable::Standing::Proposed,
            },
            pinned: pin.is_some(),
        },
        number: open.map_or_else(|| "new".to_owned(), |open| open.number.clone()),
        room: stand.system.figures.room_id,
        method: version.id,
        from,
        due: due(sources, gap),
        rinses: takes.rinses,
        least_rinses: version.contents.rinses_at_least,
        closed: takes.closed,
        strip_people: if two(Phase::Strip) || two(Phase::Wash) {
            2
        } else {
            1
        },
        dose_people: if two(Phase::Dose) { 2 } else { 1 },
        product: lot.map(|lot| lot.product_id),
        chosen: !lots.is_open(stand.system.id),
        amounts: takes.amounts,
        lengths,
        pin: pin.map(|pin| pin.starts),
        quarantined: stand.system.quarantine.is_some(),
    })
}

/// The method that its clean-out was proposed with; else the one it had last; else the first there is.
fn method_of<'s>(sources: &'s Sources, stand: &Stand) -> Option<&'s Arc<MethodVersion>> {
    if let Some(open) = stand.open() {
        return sources.methods.get(&open.method_version_id);
    }
    let current = || {
        sources
            .current
            .iter()
            .filter_map(|id| sources.methods.get(id))
    };
    let last: Option<MethodVersionId> = stand.cleanouts.last().map(|last| last.method_version_id);
    let had = last
        .and_then(|id| sources.methods.get(&id))
        .map(|last| last.method_id);
    current()
        .find(|version| Some(version.method_id) == had)
        .or_else(|| current().next())
}

/// The day after the crop comes off, or from now on when it is off.
fn from(sources: &Sources, gap: Option<&Gap>) -> Moment {
    let zone = sources.site.zone;
    let today = sources.site.today(sources.now);
    match gap {
        Some(gap) if !gap.off_already => {
            let off = gap.off_on.max(today);
            Moment::day_begins(off.checked_add_days(Days::new(1)).unwrap_or(off), zone)
        }
        Some(gap) => Moment::day_begins(gap.off_on, zone).max(sources.now),
        None => sources.now,
    }
}

fn due(sources: &Sources, gap: Option<Gap>) -> Option<Moment> {
    let next_on = gap?.next_on?;
    Some(Moment::day_begins(next_on, sources.site.zone))
}

/// The clean-outs that stay where they are: booked by hand, with their card out, under way.
pub fn standing(sources: &Sources, lots: &Lots<'_>, assumed: &mut Vec<String>) -> Vec<Standing> {
    let mut found = Vec::new();
    for stand in &sources.board.stands {
        let Some(open) = stand.open().filter(|open| !is_movable(sources, open)) else {
            continue;
        };
        let Some(coming) = coming(sources, stand) else {
            continue;
        };
        let version = coming.version;
        let planned = posted_entry(sources, open);
        let lot = lots.of(stand.system.id);
        let mut takes = takes(sources, &coming, lot);
        if let Some(card) = sources.cards.get(&open.id) {
            takes.amounts.concentrate_ml = card.still_takes.get();
            takes.rinses = card.rinses.unwrap_or(takes.rinses);
            takes.closed = card.closed.unwrap_or(takes.closed);
        }
        let entry = Entry {
            system: stand.system.id,
            planting: open.planting_id,
            cleanout: Some(open.id),
            lines: planned.map_or_else(
                || parts::booked(open, &version.contents, takes.rinses, &sources.site),
                |entry| entry.lines.clone(),
            ),
            standing: timetable::Standing::Fixed,
            pinned: false,
        };
        if open.state == State::UnderWay && entry.ends().is_some_and(|end| end < sources.now) {
            assumed.push(format!(
                "{} of {} is under way and was to end by {}: nobody and no room is kept for the rest of it.",
                open.number,
                stand.name(),
                timetable::at_words(entry.ends().unwrap_or(sources.now), sources.site.zone)
            ));
        }
        found.push(Standing {
            entry,
            number: open.number.clone(),
            room: stand.system.figures.room_id,
            due: due(sources, stand.gap_of(open)),
            product: lot.map(|lot| lot.product_id),
            amounts: takes.amounts,
            rinses: takes.rinses,
            quarantined: stand.system.quarantine.is_some(),
            closed: takes.closed,
            last_pour: sources.cards.get(&open.id).and_then(|card| card.last_pour),
            rinsed: sources.cards.get(&open.id).and_then(|card| card.rinsed),
        });
    }
    found
}

/// The day on which a crop comes off and the next goes on, in a sentence.
pub fn gap_words(asked: &Asked, zone: chrono_tz::Tz) -> String {
    let from = asked.from.day(zone);
    match asked.due {
        Some(due) => format!(
            "It can begin on {} and the next planting is on {}.",
            day_words(from),
            day_words(due.day(zone))
        ),
        None => format!(
            "It can begin on {}; no next planting is known.",
            day_words(from)
        ),
    }
}
