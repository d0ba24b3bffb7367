//! Facts as the planner's problem, and the planner's plan as entries of a timetable.
//!
//! Water is counted in decilitres, so that a quarter of an hour of a slow membrane is still a whole
//! number; what is drawn is rounded up and what is made is rounded down. Whoever is signed for concentrate
//! on some days only is two people to the planner, whose hours never meet.

use chrono::TimeDelta;

use super::facts::{Asked, Facts, Standing};
use super::grid::{Grid, SLOT_MIN};
use super::rinsing::{Rinses, rinses};
use super::tank::{self, decilitres_up};
use super::timetable::{self, Entry, Line, Work};
use crate::by_system::BySystem;
use crate::clock::Moment;
use crate::hours::Span;
use crate::ids::{PersonId, SystemId};
use crate::methods::Phase;
use crate::planner::{
    self, Delivery, Dosing, Handwork, Job, Named, Person, PlacedJob, Plan, Prices, Problem, Room,
    Slot, Soak, Stock, Taken, Waits,
};

/// A wait between two phases of a clean-out that fits into a working day: a meal, another job, never a night.
const PAUSE: Slot = 4 * 60 / SLOT_MIN;
/// Of a longer one a wait may be a night, not longer.
const NIGHT: Slot = 24 * 60 / SLOT_MIN;
/// The first rinse begins at most this long after the least soak.
const SOAK_LAG: Slot = 60 / SLOT_MIN;
/// More kit than any site needs.
const PLENTY_KITS: usize = 1_000;

/// A problem with the way back from it.
#[derive(Clone, Debug)]
pub struct Mapped {
    pub problem: Problem,
    /// Whose hours each of the planner's people has.
    pub people: Vec<PersonId>,
    /// What each of the planner's jobs cleans out.
    pub systems: Vec<SystemId>,
    /// The jobs that somebody pinned.
    pub pinned: Vec<usize>,
    /// What could not be told to the planner as it is, in sentences.
    pub said: Vec<String>,
}

/// The facts as a problem.
///
/// # Errors
/// What the planner finds wrong with it: nothing that comes from records within their limits.
pub fn problem(facts: &Facts) -> Result<Mapped, Vec<planner::Fault>> {
    let grid = &facts.grid;
    let mut said = Vec::new();
    let (people, whose) = people(facts);
    let longest_day = facts.longest_day();
    let (jobs, systems): (Vec<Job>, Vec<SystemId>) = facts
        .asked
        .iter()
        .filter_map(|asked| {
            let job = job(facts, asked, longest_day, &mut said)?;
            Some((job, asked.entry.system))
        })
        .unzip();
    let (water, draws) = tank::taken(facts, &mut said);
    let mut kits: Vec<planner::Span> = facts
        .standing
        .iter()
        .filter_map(|one| kit_of(grid, one))
        .collect();
    let sets = match &facts.supplies.kits {
        Some(known) => {
            kits.extend(known.out.iter().filter_map(|span| grid.touched(*span)));
            known.sets.max(most_at_once(&kits))
        }
        None => PLENTY_KITS,
    };
    let work = facts.worked();
    let touched = |spans: &[Span]| -> Vec<planner::Span> {
        let spans = spans.iter();
        spans.filter_map(|span| grid.touched(*span)).collect()
    };
    let problem = Problem {
        slot_minutes: SLOT_MIN,
        horizon: grid.horizon(),
        days: grid
            .days()
            .map(|day| grid.begins_from(Moment::day_begins(day, grid.zone())))
            .collect(),
        people,
        rooms: facts
            .rooms
            .iter()
            .map(|room| Room {
                id: room.id.to_string(),
                occupied: touched(&room.occupied),
                closed: touched(&room.closed),
            })
            .collect(),
        crew_out: true,
        kits: sets,
        water,
        stocks: stocks(facts),
        taken: Taken { draws, kits, work },
        jobs,
        prices: Prices {
            late: 4,
            overtime: 3,
        },
    }
    .check()?;
    let is_pinned = |system: &SystemId| {
        let asked = facts.asked_of(*system);
        asked.is_some_and(|asked| asked.pin.is_some())
    };
    let pinned = systems
        .iter()
        .enumerate()
        .filter(|(_, system)| is_pinned(system));
    Ok(Mapped {
        pinned: pinned.map(|(job, _)| job).collect(),
        problem,
        people: whose,
        systems,
        said,
    })
}

/// What there is of each product, in the order of the supplies; where none is known none is drawn.
fn stocks(facts: &Facts) -> Vec<Stock> {
    let known = facts.supplies.concentrates.iter();
    let mut stocks: Vec<Stock> = known
        .map(|known| Stock {
            initial_ml: known.free_ml,
            deliveries: known
                .deliveries
                .iter()
                .map(|(at, ml)| Delivery {
                    slot: facts.grid.begins_from(*at),
                    ml: *ml,
                })
                .collect(),
        })
        .collect();
    if stocks.is_empty() {
        stocks.push(Stock {
            initial_ml: 0,
            deliveries: Vec::new(),
        });
    }
    stocks
}

/// Its product's place among the stocks, and how much of it is drawn.
fn dosed_with(facts: &Facts, asked: &Asked) -> (usize, i64) {
    let mut known = facts.supplies.concentrates.iter();
    match known.position(|known| Some(known.id) == asked.product) {
        Some(product) => (product, asked.amounts.concentrate_ml),
        None => (0, 0),
    }
}

fn people(facts: &Facts) -> (Vec<Person>, Vec<PersonId>) {
    let mut people = Vec::new();
    let mut whose = Vec::new();
    for person in &facts.people {
        for concentrate in [true, false] {
            let of_kind = person
                .shifts
                .iter()
                .filter(|shift| shift.concentrate == concentrate);
            let shifts = of_kind.filter_map(|shift| {
                let span = facts.grid.inside(shift.span)?;
                Some(planner::Shift {
                    span,
                    overtime: shift.overtime,
                })
            });
            let shifts: Vec<planner::Shift> = shifts.collect();
            if !shifts.is_empty() {
                people.push(Person {
                    id: format!("{}{}", person.id, if concentrate { "" } else { " without" }),
                    concentrate,
                    shifts,
                });
                whose.push(person.id);
            }
        }
    }
    (people, whose)
}

fn job(facts: &Facts, asked: &Asked, longest_day: Slot, said: &mut Vec<String>) -> Option<Job> {
    let grid = &facts.grid;
    let hand = |minutes: i64, people: usize| Handwork {
        duration: Grid::slots(minutes),
        people,
    };
    let of = |phase| asked.lengths.of(phase);
    let rinsing = rinses(facts, asked, longest_day);
    let horizon = grid.horizon();
    let (product, peroxide_ml) = dosed_with(facts, asked);
    let mut job = Job {
        id: asked.entry.system.to_string(),
        room: facts.rooms.iter().position(|room| room.id == asked.room)?,
        release: grid
            .begins_from(asked.from.max(facts.now))
            .min(horizon.saturating_sub(1)),
        due: asked.due.map_or(horizon, |due| grid.begun_by(due)),
        hard_due: horizon,
        weight: 1,
        strip: hand(of(Phase::Strip) + of(Phase::Wash), asked.strip_people),
        dose: Dosing {
            duration: Grid::slots(of(Phase::Dose)),
            airing: airing(asked, &rinsing),
            people: asked.dose_people,
            product,
            water_l: decilitres_up(asked.amounts.dose_ml),
            peroxide_ml,
        },
        soak: Soak {
            least: Grid::slots(of(Phase::Soak)),
            lag: SOAK_LAG,
        },
        rinses: rinsing.on_the_day,
        teardown: hand(of(Phase::Teardown) + rinsing.later_min, 1),
        teardown_draws: rinsing.later_draws,
        inspect: hand(of(Phase::Refit) + of(Phase::Check), 1),
        fill_l: decilitres_up(asked.amounts.fill_ml),
        waits: Waits {
            strip_dose: NIGHT,
            rinse_teardown: NIGHT,
            teardown_inspect: NIGHT,
        },
        last_in_day: asked.quarantined,
    };
    // As with every booking: what fits into a working day is not broken over a night.
    let whole = job.strip.duration
        + job.dose.duration
        + job.soak.least
        + job.rinsing()
        + job.teardown.duration
        + job.inspect.duration;
    if whole <= longest_day {
        job.waits = Waits {
            strip_dose: PAUSE,
            rinse_teardown: PAUSE,
            teardown_inspect: PAUSE,
        };
    }
    if rinsing.later > 0 {
        said.push(format!(
            "The sum expects {} rinses for {}, and {} of them do not fit into the day of its dose: they are planned with its teardown, and so is their water. The strip decides.",
            asked.rinses, asked.number_of(facts), rinsing.later
        ));
    }
    if let Some(starts) = asked.pin
        && !pin(&mut job, starts.map(|at| grid.begun_by(at)))
    {
        said.push(format!(
            "The clean-out pinned to {} no longer fits its own phases, so it is planned freely.",
            timetable::at_words(starts[0], grid.zone())
        ));
    }
    Some(job)
}

/// The room stays closed for this long after the dosing. Through a soak that lasts as long as it may and the
/// first rinse, where the open solution asks for that.
fn airing(asked: &Asked, rinsing: &Rinses) -> Slot {
    let minutes = Grid::slots(asked.closed.minutes);
    let first = rinsing.on_the_day.first();
    match asked.closed.is_through_the_soak() {
        true => {
            let soak = Grid::slots(asked.lengths.of(Phase::Soak)) + SOAK_LAG;
            soak + first.map_or(0, |rinse| rinse.duration) + minutes
        }
        false => minutes,
    }
}

/// Holds a job to these starts: every wait becomes as long as it is there, and the end is where it is.
fn pin(job: &mut Job, [strip, dose, rinse, teardown, inspect]: [Slot; 5]) -> bool {
    let waits = [
        dose.checked_sub(strip + job.strip.duration),
        rinse.checked_sub(dose + job.dose.duration + job.soak.least),
        teardown.checked_sub(rinse + job.rinsing()),
        inspect.checked_sub(teardown + job.teardown.duration),
    ];
    let [
        Some(strip_dose),
        Some(lag),
        Some(rinse_teardown),
        Some(teardown_inspect),
    ] = waits
    else {
        return false;
    };
    let end = inspect + job.inspect.duration;
    if strip < job.release
        || end > job.hard_due
        || waits.iter().flatten().any(|wait| *wait > NIGHT * 7)
    {
        return false;
    }
    job.release = strip;
    job.hard_due = end;
    job.soak.lag = lag;
    job.waits = Waits {
        strip_dose,
        rinse_teardown,
        teardown_inspect,
    };
    true
}

fn kit_of(grid: &Grid, one: &Standing) -> Option<planner::Span> {
    let from = one.entry.first(Work::Dose)?.from;
    let to = one.entry.first(Work::Teardown)?.from;
    grid.touched(Span::new(from, to)?)
}

fn most_at_once(spans: &[planner::Span]) -> usize {
    let at = |slot| {
        spans
            .iter()
            .filter(|span| span.from <= slot && slot < span.to)
            .count()
    };
    spans.iter().map(|span| at(span.from)).max().unwrap_or(0)
}

impl Mapped {
    /// The index of one of the crew who is at work in a slot.
    fn person_at(&self, id: PersonId, slot: Slot) -> Option<usize> {
        let works = |index: usize| {
            let mut shifts = self.problem.people[index].shifts.iter();
            shifts.any(|shift| (shift.span.from..shift.span.to).contains(&slot))
        };
        (0..self.people.len()).find(|&index| self.people[index] == id && works(index))
    }

    /// An earlier timetable as the planner's plan, as far as its people are still at work then.
    pub fn plan_of(&self, grid: &Grid, entries: &BySystem<&Entry>) -> Plan {
        let mut plan = Plan::default();
        for (job, system) in self.systems.iter().enumerate() {
            let entry = entries.of(*system);
            match entry.and_then(|entry| self.placed_of(grid, job, entry)) {
                Some(placed) => plan.jobs.push(placed),
                None => plan.unplaced.push(job),
            }
        }
        plan
    }

    fn placed_of(&self, grid: &Grid, job: usize, entry: &Entry) -> Option<PlacedJob> {
        let start = |work| entry.first(work).map(|line| grid.begun_by(line.from));
        let crew = |line: &Line| {
            let slot = grid.begun_by(line.from);
            // Whoever is away gets a number that nobody has, and the place is given up.
            let found = line
                .people
                .iter()
                .map(|id| self.person_at(*id, slot).unwrap_or(usize::MAX));
            found.collect::<Vec<_>>()
        };
        let of = |work| entry.first(work).map(crew).unwrap_or_default();
        let rinses = entry.lines.iter().filter(|line| line.work == Work::Rinse);
        Some(PlacedJob {
            job,
            strip: start(Work::Strip)?,
            dose: start(Work::Dose)?,
            rinse: start(Work::Rinse)?,
            teardown: start(Work::Teardown)?,
            inspect: start(Work::Refit)?,
            people: Named {
                strip: of(Work::Strip),
                dose: of(Work::Dose),
                rinses: rinses.map(crew).collect(),
                teardown: of(Work::Teardown),
                inspect: of(Work::Refit),
            },
        })
    }

    /// The planner's place of a job as the lines of an entry.
    pub fn lines_of(&self, grid: &Grid, placed: &PlacedJob) -> Vec<Line> {
        let Some(job) = self.problem.jobs.get(placed.job) else {
            return Vec::new();
        };
        let line = |work, from: Slot, length: Slot, people: &[usize]| Line {
            work,
            from: grid.moment(from),
            to: grid.moment(from + length),
            people: people
                .iter()
                .filter_map(|index| self.people.get(*index).copied())
                .collect(),
        };
        let named = &placed.people;
        let soaks = placed.dose + job.dose.duration;
        let mut lines = vec![
            line(Work::Strip, placed.strip, job.strip.duration, &named.strip),
            line(Work::Dose, placed.dose, job.dose.duration, &named.dose),
            line(Work::Soak, soaks, placed.rinse - soaks, &[]),
        ];
        let mut at = placed.rinse;
        for (rinse, people) in job.rinses.iter().zip(&named.rinses) {
            lines.push(line(Work::Rinse, at, rinse.hands_on, people));
            at += rinse.duration;
        }
        lines.push(line(
            Work::Teardown,
            placed.teardown,
            job.teardown.duration,
            &named.teardown,
        ));
        lines.push(line(
            Work::Refit,
            placed.inspect,
            job.inspect.duration,
            &named.inspect,
        ));
        lines
    }
}

/// How long before its planting a clean-out ends, or by how much it is late.
pub fn lateness(ends: Moment, due: Option<Moment>) -> TimeDelta {
    due.map_or(TimeDelta::zero(), |due| ends.since(due))
        .max(TimeDelta::zero())
}

/// The five beginnings of a clean-out that begins then and never waits.
pub fn without_waits(facts: &Facts, asked: &Asked, at: Moment) -> Option<[Moment; 5]> {
    let free = Asked {
        pin: None,
        ..asked.clone()
    };
    let job = job(facts, &free, facts.longest_day(), &mut Vec::new())?;
    let grid = &facts.grid;
    let strip = grid.begun_by(at);
    let dose = strip + job.strip.duration;
    let rinse = dose + job.dose.duration + job.soak.least;
    let teardown = rinse + job.rinsing();
    let inspect = teardown + job.teardown.duration;
    (inspect < grid.horizon())
        .then(|| [strip, dose, rinse, teardown, inspect].map(|slot| grid.moment(slot)))
}
