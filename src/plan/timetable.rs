//! A timetable: when each part of each clean-out begins, who does it, and when it ends.

use chrono::{NaiveDate, NaiveDateTime};
use chrono_tz::Tz;

pub use crate::cleanouts::parts::{Line, Work};

use crate::by_system::{BySystem, OfSystem};
use crate::clock::Moment;
use crate::ids::{CleanoutId, PersonId, PlantingId, SystemId};
use crate::text::Name;

/// How an entry stands in the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Not booked: this is where it is proposed to be.
    Proposed,
    /// It was posted, and is planned with again.
    Posted,
    /// Booked by hand, its card out, or under way: it stays where it is.
    Fixed,
}

/// One clean-out with its times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    pub system: SystemId,
    pub planting: Option<PlantingId>,
    /// None until it is proposed.
    pub cleanout: Option<CleanoutId>,
    /// In order of time.
    pub lines: Vec<Line>,
    pub standing: Standing,
    pub pinned: bool,
}

impl OfSystem for Entry {
    fn system(&self) -> SystemId {
        self.system
    }
}

impl Entry {
    pub fn starts(&self) -> Option<Moment> {
        self.lines.first().map(|line| line.from)
    }

    pub fn ends(&self) -> Option<Moment> {
        self.lines.iter().map(|line| line.to).max()
    }

    /// The first line of a part.
    pub fn first(&self, work: Work) -> Option<&Line> {
        self.lines.iter().find(|line| line.work == work)
    }

    /// Everybody who takes part, whoever does most first.
    pub fn people(&self) -> Vec<PersonId> {
        let mut found: Vec<(PersonId, i64)> = Vec::new();
        for line in &self.lines {
            for person in &line.people {
                let minutes = line.to.since(line.from).num_minutes();
                match found.iter_mut().find(|(id, _)| id == person) {
                    Some((_, sum)) => *sum += minutes,
                    None => found.push((*person, minutes)),
                }
            }
        }
        found.sort_by_key(|(id, minutes)| (-minutes, *id));
        found.into_iter().map(|(id, _)| id).collect()
    }
}

/// The entries of a plan, by their beginning.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Timetable {
    pub entries: BySystem<Entry>,
}

impl Timetable {
    pub fn of(mut entries: Vec<Entry>) -> Self {
        entries.sort_by_key(|entry| (entry.starts(), entry.system));
        Self {
            entries: entries.into(),
        }
    }

    pub fn entry(&self, system: SystemId) -> Option<&Entry> {
        self.entries.of(system)
    }

    /// What tells this timetable from every other: the same until a time or a person changes.
    pub fn mark(&self) -> String {
        use sha2::{Digest, Sha256};
        let mut hash = Sha256::new();
        let mut add = |number: i64| hash.update(number.to_le_bytes());
        for entry in &self.entries {
            add(entry.system.get());
            add(entry.cleanout.map_or(0, CleanoutId::get));
            // Each list with its length, so that no two timetables are told by the same numbers.
            add(entry.lines.len() as i64);
            for line in &entry.lines {
                add(line.work as i64);
                add(line.from.seconds());
                add(line.to.seconds());
                add(line.people.len() as i64);
                line.people.iter().for_each(|person| add(person.get()));
            }
        }
        let hash = hash.finalize();
        hash.iter()
            .take(8)
            .map(|byte| format!("{byte:02x}"))
            .collect()
    }
}

/// A part as somebody finds it in their week.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Duty {
    pub from: Moment,
    pub to: Moment,
    pub system: SystemId,
    pub work: Work,
}

/// What changed for one person from one timetable to another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    pub person: PersonId,
    pub no_longer: Vec<Duty>,
    pub new: Vec<Duty>,
}

/// The duties of a person, in order.
pub fn duties<'e>(entries: impl IntoIterator<Item = &'e Entry>, person: PersonId) -> Vec<Duty> {
    let mut duties: Vec<Duty> = entries
        .into_iter()
        .flat_map(|entry| {
            let mine = entry
                .lines
                .iter()
                .filter(move |line| line.people.contains(&person));
            mine.map(|line| Duty {
                from: line.from,
                to: line.to,
                system: entry.system,
                work: line.work,
            })
        })
        .collect();
    duties.sort();
    duties
}

/// What changed for whom, people without a change left out. What lies before `since` is past and no change.
pub fn changes(
    before: &[Entry],
    after: &[Entry],
    people: &[PersonId],
    since: Moment,
) -> Vec<Change> {
    let (old, new) = (before.iter().collect(), after.iter().collect());
    let (gone, come) = (not_the_same_in(&new, &old), not_the_same_in(&old, &new));
    people
        .iter()
        .filter_map(|&person| {
            let mut no_longer = duties(gone.iter().copied(), person);
            let mut new = duties(come.iter().copied(), person);
            let kept: Vec<Duty> = new
                .iter()
                .filter(|duty| no_longer.contains(duty))
                .cloned()
                .collect();
            no_longer.retain(|duty| !kept.contains(duty) && duty.to > since);
            new.retain(|duty| !kept.contains(duty) && duty.to > since);
            (!no_longer.is_empty() || !new.is_empty()).then_some(Change {
                person,
                no_longer,
                new,
            })
        })
        .collect()
}

/// The entries that are not the same in another timetable: in what is, nothing changes for anybody.
fn not_the_same_in<'e>(other: &BySystem<&Entry>, of: &BySystem<&'e Entry>) -> Vec<&'e Entry> {
    let is_same = |entry: &&&Entry| {
        let there = other.of(entry.system);
        there.is_some_and(|there| there.lines == entry.lines)
    };
    of.iter().filter(|entry| !is_same(entry)).copied().collect()
}

/// A clean-out that stands somewhere else than before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    pub system: SystemId,
    pub from: Moment,
    pub to: Moment,
    /// On another day of the site's calendar, not only at another hour.
    pub other_day: bool,
}

/// What stands elsewhere in a later timetable than in an earlier one.
pub fn moved<'e>(
    before: &BySystem<Entry>,
    after: impl Iterator<Item = &'e Entry>,
    zone: Tz,
) -> Vec<Moved> {
    after
        .filter_map(|entry| {
            let old = before.of(entry.system)?;
            let (from, to) = (old.starts()?, entry.starts()?);
            (from != to).then(|| Moved {
                system: entry.system,
                from,
                to,
                other_day: from.day(zone) != to.day(zone),
            })
        })
        .collect()
}

/// 'Tue 9 Mar, 08:30'.
pub fn at_words(at: Moment, zone: Tz) -> String {
    at.in_zone(zone).format("%a %-d %b, %H:%M").to_string()
}

/// 'Tue 9 Mar, 08:30 to 14:15', and over a night 'Tue 9 Mar, 15:00 to Wed 10 Mar, 11:00'.
pub fn span_words(from: Moment, to: Moment, zone: Tz) -> String {
    let (start, end) = (from.in_zone(zone), to.in_zone(zone));
    let ends = if start.date_naive() == end.date_naive() {
        end.format("%H:%M").to_string()
    } else {
        at_words(to, zone)
    };
    format!("{} to {ends}", at_words(from, zone))
}

/// What a part is called, its number where there are several: 'rinse 2'.
pub fn work_words(entry: &Entry, line: &Line) -> String {
    if line.work != Work::Rinse {
        return line.work.to_string();
    }
    let rinses: Vec<&Line> = entry
        .lines
        .iter()
        .filter(|line| line.work == Work::Rinse)
        .collect();
    match rinses.iter().position(|rinse| rinse.from == line.from) {
        Some(at) if rinses.len() > 1 => format!("{} {}", line.work, at + 1),
        _ => line.work.to_string(),
    }
}

/// 'South 2, dose: Tue 9 Mar, 08:30 to 09:15': a duty of these entries, at the system of this name.
pub fn duty_words(entries: &[Entry], duty: &Duty, system: &str, zone: Tz) -> String {
    let work = entries
        .iter()
        .filter(|entry| entry.system == duty.system)
        .find_map(|entry| {
            let line = entry
                .lines
                .iter()
                .find(|line| line.work == duty.work && line.from == duty.from)?;
            Some(work_words(entry, line))
        })
        .unwrap_or_else(|| duty.work.to_string());
    format!("{system}, {work}: {}", span_words(duty.from, duty.to, zone))
}

/// The wall clock of a moment.
pub fn wall(at: Moment, zone: Tz) -> NaiveDateTime {
    at.in_zone(zone).naive_local()
}

/// The names of some people, by the crew's own list.
pub fn names(people: &[PersonId], of: impl Fn(PersonId) -> Option<Name>) -> String {
    let names: Vec<String> = people
        .iter()
        .filter_map(|id| of(*id).map(|name| name.to_string()))
        .collect();
    names.join(", ")
}

/// The Monday of a week.
pub fn monday(day: NaiveDate) -> NaiveDate {
    day.week(chrono::Weekday::Mon)
        .checked_first_day()
        .unwrap_or(day)
}
