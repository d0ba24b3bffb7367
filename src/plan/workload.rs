//! How much of everybody's hours is taken: by clean-outs that stand, by what is posted and by what is
//! proposed. It counts the lines of the timetable against the usual weeks, the days that are not as usual
//! and the closed days, and reckons nothing of its own beside them.

use chrono::NaiveDate;

use super::sources::Sources;
use super::timetable::{Entry, Standing, Timetable, Work, monday};
use super::{WEEKS, load};
use crate::clock::Moment;
use crate::crew::{Person, Role};
use crate::hours::{PersonTimes, SiteDays, Span};
use crate::ids::{CleanoutId, PersonId, SystemId};
use crate::site::Site;

/// A part of a clean-out on one day, as far as somebody is at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    pub day: NaiveDate,
    pub span: Span,
    pub system: SystemId,
    pub cleanout: Option<CleanoutId>,
    pub work: Work,
    pub standing: Standing,
}

/// Minutes of work, each of them once, however many parts lie over each other: what stands counts
/// first, then what is posted, then what is proposed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Given {
    pub stands: i64,
    pub posted: i64,
    pub proposed: i64,
    /// Of these, at the dose: pouring, or beside whoever pours.
    pub concentrate: i64,
}

impl Given {
    pub fn of(pieces: &[Piece]) -> Self {
        let minutes = |counts: &dyn Fn(&Piece) -> bool| {
            let spans = pieces.iter().filter(|piece| counts(piece));
            joined_minutes(spans.map(|piece| piece.span).collect())
        };
        let stands = minutes(&|piece| piece.standing == Standing::Fixed);
        let with_posted = minutes(&|piece| piece.standing != Standing::Proposed);
        Self {
            stands,
            posted: with_posted - stands,
            proposed: minutes(&|_| true) - with_posted,
            concentrate: minutes(&|piece| piece.work == Work::Dose),
        }
    }

    pub fn all(&self) -> i64 {
        self.stands + self.posted + self.proposed
    }
}

/// One day of somebody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayLoad {
    pub day: NaiveDate,
    /// Minutes in which they are there as usual, and those of overtime that may be planned with.
    pub usual: i64,
    pub overtime: i64,
    pub given: Given,
    /// What fills the day, in order.
    pub pieces: Vec<Piece>,
}

impl DayLoad {
    /// Usual hours without work.
    pub fn left(&self) -> i64 {
        (self.usual - self.given.all()).max(0)
    }

    /// Work that takes overtime.
    pub fn in_overtime(&self) -> i64 {
        (self.given.all() - self.usual).clamp(0, self.overtime)
    }

    /// Work for which there are no hours at all.
    pub fn over(&self) -> i64 {
        (self.given.all() - self.usual - self.overtime).max(0)
    }

    /// Parts of different clean-outs that lie over each other: somebody is to be at two places.
    pub fn clashes(&self) -> Vec<(Piece, Piece)> {
        let mut found = Vec::new();
        for (at, one) in self.pieces.iter().enumerate() {
            let later = self.pieces.iter().skip(at + 1);
            let met =
                later.filter(|other| other.system != one.system && other.span.overlaps(one.span));
            found.extend(met.map(|other| (*one, *other)));
        }
        found
    }
}

/// Several days of somebody together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sum {
    pub usual: i64,
    pub given: Given,
    pub left: i64,
    pub in_overtime: i64,
    pub over: i64,
}

impl Sum {
    pub fn of<'a>(days: impl IntoIterator<Item = &'a DayLoad>) -> Self {
        days.into_iter().fold(Self::default(), |sum, day| Self {
            usual: sum.usual + day.usual,
            given: Given {
                stands: sum.given.stands + day.given.stands,
                posted: sum.given.posted + day.given.posted,
                proposed: sum.given.proposed + day.given.proposed,
                concentrate: sum.given.concentrate + day.given.concentrate,
            },
            left: sum.left + day.left(),
            in_overtime: sum.in_overtime + day.in_overtime(),
            over: sum.over + day.over(),
        })
    }
}

/// One of the crew with their days, from now to the end of the weeks that are planned.
#[derive(Clone, Debug)]
pub struct PersonLoad {
    pub person: Person,
    /// Whether a clean-out can be booked to them, so that what they have left is room in the plan.
    pub bookable: bool,
    pub days: Vec<DayLoad>,
}

impl PersonLoad {
    /// The days of the week that begins on a Monday.
    pub fn week(&self, first: NaiveDate) -> impl Iterator<Item = &DayLoad> {
        self.days.iter().filter(move |day| monday(day.day) == first)
    }
}

/// Everybody who is there, and whoever has work without being there.
pub fn of(sources: &Sources, timetable: &Timetable) -> Vec<PersonLoad> {
    let site = &sources.times.site;
    let today = sources.site.today(sources.now);
    let last = load::last_day(today);
    let loads = sources.crew.people.iter().filter_map(|person| {
        let pieces = pieces(&timetable.entries, person.id, &sources.site, sources.now);
        if person.ended && pieces.is_empty() {
            return None;
        }
        let times = match person.ended {
            true => None,
            false => sources.times.person(person.id),
        };
        let days = today.iter_days().take_while(|day| *day <= last);
        let days = days.map(|day| day_of(day, times, site, &pieces, sources.now));
        Some(PersonLoad {
            bookable: sources.crew.not_bookable(person.id).is_none(),
            days: days.collect(),
            person: person.clone(),
        })
    });
    // Whoever only reads, and a group without hours, has nothing to show.
    let shown = |load: &PersonLoad| {
        let sum = Sum::of(&load.days);
        let helps = load.person.role >= Role::Hand && sum.usual > 0;
        load.bookable || helps || sum.given.all() > 0
    };
    loads.filter(shown).collect()
}

/// The Mondays of the weeks that are planned.
pub fn mondays(today: NaiveDate) -> Vec<NaiveDate> {
    let weeks = monday(today).iter_weeks().take(usize::from(WEEKS));
    weeks.collect()
}

/// What somebody is at, from a moment on, day by day and in order.
pub fn pieces(entries: &[Entry], person: PersonId, site: &Site, since: Moment) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for entry in entries {
        let mine = entry
            .lines
            .iter()
            .filter(|line| line.people.contains(&person));
        for line in mine {
            let parts = line.by_day(site).into_iter().filter_map(|(day, span)| {
                Some(Piece {
                    day,
                    span: Span::new(span.from.max(since), span.to)?,
                    system: entry.system,
                    cleanout: entry.cleanout,
                    work: line.work,
                    standing: entry.standing,
                })
            });
            pieces.extend(parts);
        }
    }
    pieces.sort_by_key(|piece| (piece.span, piece.system));
    pieces
}

/// One day: the hours that are left of it, and what lies in it.
fn day_of(
    day: NaiveDate,
    times: Option<&PersonTimes>,
    site: &SiteDays,
    pieces: &[Piece],
    now: Moment,
) -> DayLoad {
    let shifts = times.map_or_else(Vec::new, |times| times.on(site, day));
    let minutes = |overtime| {
        let of_kind = shifts.iter().filter(|shift| shift.overtime == overtime);
        let left = of_kind.filter_map(|shift| Span::new(shift.span.from.max(now), shift.span.to));
        left.map(Span::minutes).sum()
    };
    let pieces: Vec<Piece> = pieces
        .iter()
        .filter(|piece| piece.day == day)
        .copied()
        .collect();
    DayLoad {
        day,
        usual: minutes(false),
        overtime: minutes(true),
        given: Given::of(&pieces),
        pieces,
    }
}

/// How long some stretches are together, what lies over each other counted once.
fn joined_minutes(mut spans: Vec<Span>) -> i64 {
    spans.sort();
    let mut joined: Vec<Span> = Vec::new();
    for span in spans {
        match joined.last_mut() {
            Some(last) if span.from <= last.to => last.to = last.to.max(span.to),
            _ => joined.push(span),
        }
    }
    joined.into_iter().map(Span::minutes).sum()
}

#[cfg(test)]
#[path = "workload_tests.rs"]
mod tests;
