//! What a booking clashes with: others in the room while it is dosed and closed, and people who are away,
//! outside their hours, or at another job. A lead may book all the same and says why.

mod first_free;
mod lying;

use chrono::{NaiveDate, TimeDelta};
use sqlx::SqliteConnection;

use super::booking::Crew;
use super::given::Obstacle;
use super::parts::{self, Line, Work};
use super::rules::Rules;
use super::{Cleanout, store};
use crate::hours::{PersonTimes, RoomTimes, Shift, SiteDays, Span, Times, What, week::hours_words};
use crate::ids::PersonId;
use crate::site::{Site, clock_words, day_words};
use crate::text::{Name, Note};

pub use first_free::first_free;
use lying::{Known, Lying};

/// Hours that are no longer apart than this are one working day: a meal is moved, not worked through.
/// Common practice, no source.
const MEAL: TimeDelta = TimeDelta::minutes(90);
/// Clean-outs that begin farther from each other than this cannot meet.
const FAR_DAYS: i64 = 14;

/// Something that stands against a booking, at the field that can mend it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    pub field: &'static str,
    pub what: String,
}

/// What is to be said of the time of a clean-out and of its people.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Clashes {
    /// It is not booked and no card is issued, unless somebody decided it all the same.
    pub against: Vec<Clash>,
    /// To be looked at before pouring.
    pub said: Vec<String>,
}

/// Booked although something stood against it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Despite {
    /// The sentences that were shown.
    pub against: Vec<String>,
    pub why: Note,
}

/// The same, as it was written down.
#[derive(Clone, Debug)]
pub struct Decided {
    pub despite: Despite,
    pub by: Name,
}

impl Clashes {
    pub fn words(&self) -> Vec<String> {
        self.against
            .iter()
            .map(|clash| clash.what.clone())
            .collect()
    }

    /// What is missing before a card can be issued: whatever nobody has decided.
    pub fn obstacles(&self, cleanout: &Cleanout, decided: Option<&Decided>) -> Vec<Obstacle> {
        let href = format!("{}/booking", cleanout.path());
        let is_decided =
            |what: &String| decided.is_some_and(|decided| decided.despite.against.contains(what));
        let open = self.against.iter().filter(|clash| !is_decided(&clash.what));
        open.map(|clash| Obstacle::new(clash.what.clone(), "Change the booking", href.clone()))
            .collect()
    }

    /// What the dose sheet says: what to look at, and what was decided.
    pub fn warnings(&self, decided: Option<&Decided>) -> Vec<String> {
        let mut warnings = self.said.clone();
        if let Some(decided) = decided {
            let standing = |what: &&String| self.against.iter().any(|clash| clash.what == **what);
            let against = decided.despite.against.iter().filter(standing);
            warnings.extend(against.map(|what| {
                format!(
                    "{what} {} booked it all the same: {}",
                    decided.by, decided.despite.why
                )
            }));
        }
        warnings
    }
}

/// Looks a booking up in the hours and among the other clean-outs.
///
/// # Errors
/// A row that breaks a limit, or a database that does not answer.
pub async fn of(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    rules: &Rules,
    site: &Site,
) -> anyhow::Result<Clashes> {
    let times = Times::load(conn, site).await?;
    let mut known = Known::load(conn).await?;
    let Some(this) = known.lying(conn, cleanout, site).await? else {
        return Ok(Clashes::default());
    };
    let open = store::open(conn).await?;
    let near = |days: i64| days.abs() <= FAR_DAYS;
    let others = known.beside(conn, &open, cleanout, near, site).await?;
    let mut clashes = found(&this, &others, &rules.crew, &times, site);
    let person = cleanout.person_id;
    let lacks = person.and_then(|person| rules.without_electrics(person, cleanout.starts_on));
    clashes.said.extend(lacks);
    Ok(clashes)
}

fn found(this: &Lying, others: &[Lying], crew: &Crew, times: &Times, site: &Site) -> Clashes {
    let mut clashes = Clashes::default();
    let mut people: Vec<PersonId> = this.cleanout.person_id.into_iter().collect();
    people.extend(this.cleanout.pours_id);
    people.extend(this.lines.iter().flat_map(|line| &line.people));
    let mut seen = Vec::new();
    for id in people {
        if seen.contains(&id) {
            continue;
        }
        seen.push(id);
        let Some((person, hours)) = crew.person(id).zip(times.person(id)) else {
            continue;
        };
        let field = match this.cleanout {
            Cleanout { person_id, .. } if *person_id == Some(id) => "person",
            Cleanout { pours_id, .. } if *pours_id == Some(id) => "pours",
            _ => "starts_at",
        };
        let needed = Needed {
            id,
            name: &person.name,
            lines: &this.lines,
        };
        let mut against = needed.outside(hours, &times.site, site, &mut clashes.said);
        against.extend(
            others
                .iter()
                .filter_map(|other| needed.elsewhere(other, site)),
        );
        let against = against.into_iter().map(|what| Clash { field, what });
        clashes.against.extend(against);
    }
    let room = times.room(this.room);
    of_room(this, others, (room, &times.site), site, &mut clashes);
    clashes
}

/// One of those who are to be at it.
struct Needed<'a> {
    id: PersonId,
    name: &'a Name,
    lines: &'a [Line],
}

impl Needed<'_> {
    /// When they are needed, day by day.
    fn days(&self, site: &Site) -> Vec<(NaiveDate, Vec<Span>)> {
        let mut days: Vec<(NaiveDate, Vec<Span>)> = Vec::new();
        let mine = self
            .lines
            .iter()
            .filter(|line| line.people.contains(&self.id));
        for (day, span) in mine.flat_map(|line| line.by_day(site)) {
            match days.iter_mut().find(|(of, _)| *of == day) {
                Some((_, spans)) => spans.push(span),
                None => days.push((day, vec![span])),
            }
        }
        days
    }

    /// Away, or outside their hours; overtime is only said.
    fn outside(
        &self,
        hours: &PersonTimes,
        days: &SiteDays,
        site: &Site,
        said: &mut Vec<String>,
    ) -> Vec<String> {
        let (name, mut against) = (self.name, Vec::new());
        for (day, spans) in self.days(site) {
            let on = day_words(day);
            let away = hours.away_on(day).find(|away| {
                let away = away.hours().at_most_on(day, site.zone);
                away.is_some_and(|away| spans.iter().any(|span| span.overlaps(away)))
            });
            if let Some(away) = away {
                let part = away.new.part.map(|part| format!(", {part}"));
                against.push(format!(
                    "{name} is away on {on}{}.",
                    part.unwrap_or_default()
                ));
                continue;
            }
            let shifts = hours.on(days, day);
            let overtime = shifts.iter().filter(|shift| shift.overtime);
            for shift in overtime.filter(|shift| spans.iter().any(|s| s.overlaps(shift.span))) {
                said.push(format!("{name} works overtime on {on}, {}.", shift.hours));
            }
            let there = bridged(&shifts);
            let in_hours = |span: &Span| {
                there
                    .iter()
                    .any(|open| open.from <= span.from && span.to <= open.to)
            };
            let out: Vec<Span> = spans.into_iter().filter(|span| !in_hours(span)).collect();
            let Some((from, to)) = reach(&out) else {
                continue;
            };
            let needed = wall(from, to, site);
            against.push(if days.is_closed(day) {
                format!("{name} is needed on {on}, {needed}, and the site is closed that day.")
            } else if shifts.is_empty() {
                format!("{name} is needed on {on}, {needed}, and does not work that day.")
            } else {
                let hours = hours_words(shifts.iter().map(|shift| shift.hours));
                format!("{name} is needed on {on}, {needed}, and works {hours} that day.")
            });
        }
        against
    }

    /// At another clean-out at the same time.
    fn elsewhere(&self, other: &Lying, site: &Site) -> Option<String> {
        let there = Needed {
            lines: &other.lines,
            ..*self
        };
        let (mine, theirs) = (self.days(site), there.days(site));
        let mut both = mine.iter().flat_map(|(day, spans)| {
            let same = theirs.iter().filter(move |(of, _)| of == day);
            same.flat_map(move |(_, others)| {
                let met = others
                    .iter()
                    .filter(move |other| spans.iter().any(|span| span.overlaps(**other)));
                met.map(move |span| (*day, *span))
            })
        });
        let (day, span) = both.next()?;
        Some(format!(
            "{} is booked for {} on {}, {}.",
            self.name,
            other.words(),
            day_words(day),
            wall(span.from, span.to, site)
        ))
    }
}

/// From the first to the last of some stretches.
fn reach(spans: &[Span]) -> Option<(crate::clock::Moment, crate::clock::Moment)> {
    let from = spans.iter().map(|span| span.from).min()?;
    Some((from, spans.iter().map(|span| span.to).max()?))
}

/// '08:30 to 10:00' on the site's clocks.
fn wall(from: crate::clock::Moment, to: crate::clock::Moment, site: &Site) -> String {
    let clock = |at| clock_words(site.minute_of_day(at));
    format!("{} to {}", clock(from), clock(to))
}

/// The hours of a day with the meals in them.
fn bridged(shifts: &[Shift]) -> Vec<Span> {
    let mut found: Vec<Span> = Vec::new();
    for shift in shifts {
        match found.last_mut() {
            Some(last) if shift.span.from.since(last.to) <= MEAL => last.to = shift.span.to,
            _ => found.push(shift.span),
        }
    }
    found
}

/// Nobody else is in a room while it is dosed, nor until it is aired.
fn of_room(
    this: &Lying,
    others: &[Lying],
    (room, days): (&RoomTimes, &SiteDays),
    site: &Site,
    clashes: &mut Clashes,
) {
    let name = &this.cleanout.room_name;
    let Some(closed) = parts::closed(&this.lines, this.closed) else {
        return;
    };
    let until = wall(closed.from, closed.to, site);
    let mut against = Vec::new();
    let (first, last) = (
        this.cleanout.starts_on,
        this.cleanout
            .ends(&site.hours)
            .date()
            .max(closed.to.day(site.zone)),
    );
    for day in first.iter_days().take_while(|day| *day <= last) {
        let Some(words) = others_on(room, days, day, name) else {
            continue;
        };
        if room.on(days, day).iter().any(|span| span.overlaps(closed)) {
            against.push(format!(
                "{words} Dosed and closed it is {until} on {}.",
                day_words(closed.from.day(site.zone))
            ));
        } else {
            clashes.said.push(words);
        }
    }
    for other in others.iter().filter(|other| other.room == this.room) {
        let theirs = parts::closed(&other.lines, other.closed);
        if let Some(theirs) = theirs.filter(|theirs| theirs.overlaps(closed)) {
            against.push(format!(
                "{} is dosed in {name} on {} and keeps it closed, {}: one dosing at a time in a room.",
                other.words(),
                day_words(theirs.from.day(site.zone)),
                wall(theirs.from, theirs.to, site)
            ));
            continue;
        }
        let at_work = at_work_in(&other.lines, closed, site).map(|(day, span)| {
            format!(
                "{} is worked at in {name} on {}, {}, while this one is dosed and the room is closed, {until}.",
                other.words(),
                day_words(day),
                wall(span.from, span.to, site)
            )
        });
        let in_theirs = theirs.and_then(|theirs| {
            at_work_in(&this.lines, theirs, site)?;
            Some(format!(
                "{} is dosed in {name} on {} and keeps it closed, {}, while this one is worked at.",
                other.words(),
                day_words(theirs.from.day(site.zone)),
                wall(theirs.from, theirs.to, site)
            ))
        });
        against.extend(at_work.into_iter().chain(in_theirs));
    }
    clashes
        .against
        .extend(against.into_iter().map(|what| Clash {
            field: "starts_at",
            what,
        }));
}

/// Somebody's work in that time.
fn at_work_in(lines: &[Line], closed: Span, site: &Site) -> Option<(NaiveDate, Span)> {
    lines
        .iter()
        .filter(|line| line.work != Work::Soak)
        .flat_map(|line| line.by_day(site))
        .find(|(_, span)| span.overlaps(closed))
}

/// When others are in a room, and who, where that is written.
fn others_on(room: &RoomTimes, site: &SiteDays, day: NaiveDate, name: &Name) -> Option<String> {
    let hours = room.hours_on(site, day);
    let taken = room.exceptions.iter();
    let names: Vec<&str> = taken
        .filter(|days| days.new.what == What::Taken && days.holds(day))
        .map(|days| days.new.name.as_str())
        .filter(|name| !name.is_empty())
        .collect();
    let who = match names.as_slice() {
        [] => String::new(),
        names => format!(" ({})", names.join(", ")),
    };
    (!hours.is_empty()).then(|| {
        format!(
            "Others are in {name} on {}, {}{who}: no concentrate is poured while they are there, and they come in again only when it is aired out.",
            day_words(day),
            hours_words(hours.into_iter())
        )
    })
}

#[cfg(test)]
mod tests;
