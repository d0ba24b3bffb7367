//! What follows from the sources for the planner, still in the words of the site: who can work when,
//! which rooms are in use, what is to be cleaned out and what stands. What the register does not know is
//! assumed, and each assumption is said.

use chrono::NaiveDate;

use crate::by_system::{BySystem, OfSystem};
use crate::cleanouts::airing::{Because, CLOSED_AT_LEAST_MIN, Closed, Counts, THROUGH_THE_SOAK};
use crate::cleanouts::parts;
use crate::clock::Moment;
use crate::hours::{Span, in_force};
use crate::ids::{MethodVersionId, PersonId, PlantingId, ProductId, RoomId, SystemId};
use crate::methods::{Contents, Least};
use crate::plan::learn::Lengths;
use crate::plan::timetable::Entry;
use crate::planner::{Slot, Worked};
use crate::science::stored::Millilitres;
use crate::text::Name;

use super::gaps;
use super::grid::Grid;
use super::lots::Lots;
use super::sources::Sources;
use super::supplies::{self, Supplies};
use super::{WEEKS, timetable};

/// Time in which somebody can work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shift {
    pub span: Span,
    pub overtime: bool,
    /// Signed for concentrate on that day.
    pub concentrate: bool,
}

#[derive(Clone, Debug)]
pub struct PersonFacts {
    pub id: PersonId,
    pub name: Name,
    pub shifts: Vec<Shift>,
}

#[derive(Clone, Debug)]
pub struct RoomFacts {
    pub id: RoomId,
    pub name: Name,
    /// When nothing can be dosed: others are in it, or a clean-out that stands is worked at.
    pub occupied: Vec<Span>,
    /// A clean-out that stands is dosed and aired: nothing else is dosed and nobody works at another system.
    pub closed: Vec<Span>,
}

/// What a clean-out takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Amounts {
    pub concentrate_ml: i64,
    /// Purified water for the dose, for each rinse, for the fresh fill.
    pub dose_ml: i64,
    pub rinse_ml: i64,
    pub fill_ml: i64,
}

/// A clean-out that is to find its place.
#[derive(Clone, Debug)]
pub struct Asked {
    pub entry: Entry,
    pub number: String,
    pub room: RoomId,
    pub method: MethodVersionId,
    /// Nothing begins before.
    pub from: Moment,
    /// The next planting goes on.
    pub due: Option<Moment>,
    pub lengths: Lengths,
    /// As many as the dose sheet expects, the method's at least.
    pub rinses: i64,
    /// The method's, which are done in one go however long it takes.
    pub least_rinses: i64,
    /// For how long its room stays closed after the dosing.
    pub closed: Closed,
    pub strip_people: usize,
    /// Whoever pours, and whoever stands by where the method asks for two.
    pub dose_people: usize,
    /// What it is dosed with, and whether somebody has chosen its lot. None where nothing is in stock or to come.
    pub product: Option<ProductId>,
    pub chosen: bool,
    pub amounts: Amounts,
    pub pin: Option<[Moment; 5]>,
    pub quarantined: bool,
}

/// A clean-out that stands where it is.
#[derive(Clone, Debug)]
pub struct Standing {
    pub entry: Entry,
    pub number: String,
    pub room: RoomId,
    pub due: Option<Moment>,
    pub product: Option<ProductId>,
    pub amounts: Amounts,
    pub rinses: i64,
    pub quarantined: bool,
    pub closed: Closed,
    /// When its concentrate was really poured last.
    pub last_pour: Option<Moment>,
    /// When its first rinse was over.
    pub rinsed: Option<Moment>,
}

impl OfSystem for Asked {
    fn system(&self) -> SystemId {
        self.entry.system
    }
}

impl OfSystem for Standing {
    fn system(&self) -> SystemId {
        self.entry.system
    }
}

#[derive(Clone, Debug)]
pub struct Facts {
    pub grid: Grid,
    pub now: Moment,
    pub people: Vec<PersonFacts>,
    pub rooms: Vec<RoomFacts>,
    pub supplies: Supplies,
    pub asked: BySystem<Asked>,
    pub standing: BySystem<Standing>,
    /// What had to be assumed, in sentences.
    pub assumed: Vec<String>,
}

impl Asked {
    /// Its number, or its room's where it has none yet.
    pub fn number_of(&self, facts: &Facts) -> String {
        let mut rooms = facts.rooms.iter();
        match (self.entry.cleanout, rooms.find(|room| room.id == self.room)) {
            (None, Some(room)) => format!("a new clean-out in {}", room.name),
            _ => self.number.clone(),
        }
    }
}

impl Facts {
    /// From the first hour that anybody works to the last, on the longest day.
    pub fn longest_day(&self) -> Slot {
        let mut days: Vec<(NaiveDate, Slot, Slot)> = Vec::new();
        let shifts = self.people.iter().flat_map(|person| &person.shifts);
        for span in shifts.filter_map(|shift| self.grid.inside(shift.span)) {
            let day = self.grid.local(span.from).date();
            match days.iter_mut().find(|(of, ..)| *of == day) {
                Some((_, from, to)) => (*from, *to) = ((*from).min(span.from), (*to).max(span.to)),
                None => days.push((day, span.from, span.to)),
            }
        }
        let lengths = days.iter().map(|(_, from, to)| to - from);
        lengths.max().unwrap_or(0)
    }

    /// Works out everything from the sources.
    pub fn of(sources: &Sources) -> Self {
        let grid = Grid::from_week_of(sources.site.today(sources.now), WEEKS, sources.site.zone);
        let mut assumed = Vec::new();
        let lots = Lots::shared_out(sources);
        let standing: BySystem<Standing> = gaps::standing(sources, &lots, &mut assumed).into();
        let asked: BySystem<Asked> = gaps::asked(sources, &grid, &lots, &mut assumed).into();
        let people = people(sources, &grid, &standing, &mut assumed);
        let rooms = rooms(sources, &grid, &standing);
        let supplies = supplies::of(sources, &grid, &standing, &asked, &mut assumed);
        if !asked.is_empty() {
            assumed.push(closed_words(&asked));
        }
        for sick in asked.iter().filter(|asked| asked.quarantined) {
            assumed.push(format!(
                "{} is in quarantine: on a day on which it is worked at, everything at the other systems is done before, so that hands and tools go from the well to the sick and not back. Clean both before the next day.",
                sources.system_name(sick.entry.system)
            ));
        }
        let electrics = sources
            .methods
            .values()
            .any(|version| asks_electrics(&version.contents));
        if electrics && !asked.is_empty() {
            assumed.push("The plan knows one skill, the one for concentrate. Where a method asks for the skill for pumps and plugs, see that whoever is named for teardown and refit holds it: the run lets nobody else enter those steps.".to_owned());
        }
        Self {
            grid,
            now: sources.now,
            people,
            rooms,
            supplies,
            asked,
            standing,
            assumed,
        }
    }

    /// What is done by hand at what stands, for the order of a day.
    pub fn worked(&self) -> Vec<Worked> {
        let each = self.standing.iter().flat_map(|one| {
            let lines = one.entry.lines.iter();
            let spans = lines
                .filter(|line| line.work != timetable::Work::Soak)
                .filter_map(|line| self.grid.touched(Span::new(line.from, line.to)?));
            spans.map(|span| Worked {
                span,
                last_in_day: one.quarantined,
            })
        });
        each.collect()
    }

    pub fn asked_of(&self, system: SystemId) -> Option<&Asked> {
        self.asked.of(system)
    }

    /// What a clean-out takes, and with which product it is dosed, however it stands.
    pub fn takes(&self, system: SystemId) -> (Amounts, Option<ProductId>) {
        let asked = self.asked_of(system);
        let standing = self.standing.of(system);
        let asked = asked.map(|asked| (asked.amounts, asked.product));
        asked
            .or_else(|| standing.map(|one| (one.amounts, one.product)))
            .unwrap_or_default()
    }

    /// The number of a clean-out, its planting day and its room, however it stands.
    pub fn about(&self, system: SystemId) -> Option<(&str, Option<Moment>, RoomId)> {
        let asked = self
            .asked_of(system)
            .map(|asked| (asked.number.as_str(), asked.due, asked.room));
        asked.or_else(|| {
            let standing = self.standing.of(system)?;
            Some((standing.number.as_str(), standing.due, standing.room))
        })
    }
}

/// Whether a step is for somebody with the skill for pumps and plugs.
fn asks_electrics(contents: &Contents) -> bool {
    let mut steps = contents.steps.iter();
    steps.any(|step| step.least == Least::Electrics)
}

/// The adults who can be answerable for a clean-out, with their hours; those already given to what stands
/// are left out.
fn people(
    sources: &Sources,
    grid: &Grid,
    standing: &[Standing],
    assumed: &mut Vec<String>,
) -> Vec<PersonFacts> {
    let site = &sources.times.site;
    let mut without_hours = Vec::new();
    let mut found = Vec::new();
    let able = sources.crew.people.iter();
    for person in able.filter(|person| sources.crew.not_bookable(person.id).is_none()) {
        let Some(times) = sources.times.person(person.id) else {
            continue;
        };
        let today = sources.site.today(sources.now);
        if in_force(&times.weeks, today).is_none() {
            without_hours.push(person.name.to_string());
        }
        let busy: Vec<Span> = standing
            .iter()
            .flat_map(|one| &one.entry.lines)
            .filter(|line| line.people.contains(&person.id))
            .filter_map(|line| Span::new(line.from, line.to))
            .collect();
        let mut shifts = Vec::new();
        for day in grid.days().filter(|day| *day >= today) {
            let concentrate = sources.crew.not_pouring(person.id, day).is_none();
            for shift in times.on(site, day) {
                let from_now = Span::new(shift.span.from.max(sources.now), shift.span.to);
                for span in from_now.into_iter().flat_map(|span| without(span, &busy)) {
                    shifts.push(Shift {
                        span,
                        overtime: shift.overtime,
                        concentrate,
                    });
                }
            }
        }
        found.push(PersonFacts {
            id: person.id,
            name: person.name.clone(),
            shifts,
        });
    }
    if !without_hours.is_empty() {
        let hours = sources.site.hours;
        assumed.push(format!(
            "No hours are entered for {}: the site's own, {} to {} on the days worked, are assumed.",
            timetable_list(&without_hours),
            crate::site::clock_words(hours.starts_min),
            crate::site::clock_words(hours.ends_min)
        ));
    }
    found
}

/// 'Ines V., Oda R. and Tobit A.'
pub fn timetable_list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// What is left of a time without others.
pub fn without(span: Span, taken: &[Span]) -> Vec<Span> {
    let mut left = vec![span];
    for gone in taken {
        left = left
            .into_iter()
            .flat_map(|piece| {
                let before = Span::new(piece.from, piece.to.min(gone.from));
                let after = Span::new(piece.from.max(gone.to), piece.to);
                before.into_iter().chain(after)
            })
            .collect();
    }
    left
}

fn rooms(sources: &Sources, grid: &Grid, standing: &[Standing]) -> Vec<RoomFacts> {
    let site = &sources.times.site;
    sources
        .rooms
        .iter()
        .filter(|room| !room.retired)
        .map(|room| {
            let times = sources.times.room(room.id);
            let mut occupied: Vec<Span> = grid.days().flat_map(|day| times.on(site, day)).collect();
            let there = || standing.iter().filter(|one| one.room == room.id);
            let worked = there().flat_map(|one| &one.entry.lines);
            occupied.extend(
                worked
                    .filter(|line| line.work != timetable::Work::Soak)
                    .flat_map(|line| line.by_day(&sources.site))
                    .map(|(_, span)| span),
            );
            RoomFacts {
                id: room.id,
                name: room.figures.name.clone(),
                occupied,
                closed: there().filter_map(|one| dosing(one, sources.now)).collect(),
            }
        })
        .collect()
}

/// What is said of the rooms that stay closed, and of what a rinse takes.
fn closed_words(asked: &[Asked]) -> String {
    let reckoned = asked
        .iter()
        .filter(|asked| asked.closed.because != Because::Usual)
        .count();
    let known = match reckoned {
        0 => format!(
            "After a dosing its room stays closed for {CLOSED_AT_LEAST_MIN} min: common practice, no source. Where a room's air is entered, the airing of the dose sheet is planned."
        ),
        n if n == asked.len() => {
            "After a dosing its room stays closed for the time of the label or for the airing that its dose sheet reckons, whichever is longer."
                .to_owned()
        }
        n => format!(
            "After a dosing its room stays closed for the time of the label or for the airing that its dose sheet reckons, whichever is longer, for {n} of {} clean-outs; for the others, where neither is known, for {CLOSED_AT_LEAST_MIN} min: common practice, no source.",
            asked.len()
        ),
    };
    let soak = match asked.iter().any(|asked| asked.closed.is_through_the_soak()) {
        true => format!(" {THROUGH_THE_SOAK}"),
        false => String::new(),
    };
    format!(
        "{known}{soak} In that time nobody works at another system in it. Where the label or the law says longer before anybody goes in again, they win. A rinse needs somebody for its first quarter of an hour: common practice, no source."
    )
}

/// From the dosing to the end of the airing, which begins anew with each pour that comes later than planned, or
/// with the end of the first rinse: while that is to come the airing has not begun.
pub fn dosing(standing: &Standing, now: Moment) -> Option<Span> {
    let planned = parts::closed(&standing.entry.lines, standing.closed)?;
    let long = chrono::TimeDelta::minutes(standing.closed.minutes);
    let counts = match standing.closed.counts {
        Counts::AfterLastPour => standing.last_pour,
        Counts::AfterFirstRinse => standing.last_pour.map(|_| standing.rinsed.unwrap_or(now)),
    };
    let poured = counts.map(|from| from.plus(long));
    Span::new(
        planned.from,
        poured.map_or(planned.to, |aired| aired.max(planned.to)),
    )
}

/// A whole volume, or nothing where it is beyond what can be stored.
pub fn millilitres(volume: crate::science::quantity::Volume) -> i64 {
    Millilitres::nearest(volume).map_or(0, Millilitres::get)
}

/// The planting that an asked clean-out belongs to, as a key with its system.
pub fn key(entry: &Entry) -> (SystemId, Option<PlantingId>) {
    (entry.system, entry.planting)
}
