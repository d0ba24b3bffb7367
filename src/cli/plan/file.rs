//! The problem and plan files: JSON in whole numbers, read into the planner's types at the door.
//!
//! All times are slots of `slot_minutes` from Monday 00:00 of the first week; a span `[a, b]` holds the
//! slots `a` to `b - 1`. A problem:
//!
//! ```json
//! { "slot_minutes": 15, "horizon": 2016,
//!   "staff": [{"id": "ines", "certified": true, "shifts": [[32, 64, 0], [64, 72, 1]]}],
//!   "rooms": [{"id": "bay-2", "occupied": [[34, 40]]}],
//!   "kits": 2,
//!   "ro": {"tank_l": 2500, "initial_l": 2500, "rate_l_per_slot": 36},
//!   "peroxide": {"initial_ml": 9000, "deliveries": [[808, 7000]]},
//!   "jobs": [{"id": "b3-lettuce", "room": 0, "release": 32, "due": 160, "hard_due": 832, "weight": 2,
//!     "strip": {"dur": 5, "people": 1},
//!     "dose": {"dur": 2, "vent": 4, "water": 300, "peroxide_ml": 900},
//!     "soak": {"min": 12, "max_lag": 4},
//!     "rinses": [{"dur": 3, "hands_on": 1, "water": 240}],
//!     "teardown": {"dur": 3, "people": 1}, "inspect": {"dur": 2, "people": 1, "water": 300},
//!     "max_gap": {"strip_dose": 192, "rinse_teardown": 192, "teardown_inspect": 192}}],
//!   "cost": {"tardy_per_weight_slot": 4, "overtime_per_person_slot": 3} }
//! ```
//!
//! A shift is `[from, to, 1 for overtime or 0]`; `certified` may handle the concentrate; `room` counts from
//! 0. A dose may have `"people": 2`, one of whom is certified (1 if it says nothing), and `"product": 1` for
//! the first of `other_products`, written like `peroxide` (product 0). A teardown may have
//! `"draws": [[0, 240], [3, 240]]`, the water of rinses that are left for it: slots from its beginning, and
//! litres; it has none if it says nothing. With `"crew_out": true` nobody works by hand in a room while
//! another clean-out in it is dosed and aired; a problem that does not say so lets them. A room may have
//! `"closed": [[34, 52]]`, where nobody works by hand because a dosing outside the problem is poured or aired.
//! `"days": [0, 96, 188]` gives the first
//! slot of each day where the clocks change. A plan names every person:
//!
//! ```json
//! { "cost": 0, "jobs": [{"id": "b3-lettuce", "strip": 32, "dose": 40, "rinse": 54, "teardown": 57,
//!     "inspect": 60, "people": {"strip": ["ines"], "dose": ["ines"], "rinses": [["ines"]],
//!     "teardown": ["ines"], "inspect": ["ines"]}}],
//!   "unplaced": [], "proved": true, "bound": 0 }
//! ```

use std::collections::HashMap;

use serde::{Deserialize, Serialize};

use crate::planner::{
    Delivery, Dosing, Draw, Fault, Handwork, Job, Named, Person, PlacedJob, Plan, Prices, Problem,
    Rinse, Room, Shift, Slot, Soak, Span, Stock, Taken, Waits, Water,
};

/// A problem as it is written.
#[derive(Debug, Deserialize)]
pub struct ProblemFile {
    slot_minutes: u32,
    horizon: Slot,
    #[serde(default)]
    days: Vec<Slot>,
    staff: Vec<PersonFile>,
    rooms: Vec<RoomFile>,
    #[serde(default)]
    crew_out: bool,
    kits: usize,
    ro: WaterFile,
    peroxide: StockFile,
    #[serde(default)]
    other_products: Vec<StockFile>,
    jobs: Vec<JobFile>,
    cost: PricesFile,
}

#[derive(Debug, Deserialize)]
struct PersonFile {
    id: String,
    certified: bool,
    shifts: Vec<(Slot, Slot, u8)>,
}

#[derive(Debug, Deserialize)]
struct RoomFile {
    id: String,
    occupied: Vec<(Slot, Slot)>,
    #[serde(default)]
    closed: Vec<(Slot, Slot)>,
}

#[derive(Debug, Deserialize)]
struct WaterFile {
    tank_l: i64,
    initial_l: i64,
    rate_l_per_slot: i64,
}

#[derive(Debug, Deserialize)]
struct StockFile {
    initial_ml: i64,
    deliveries: Vec<(Slot, i64)>,
}

#[derive(Debug, Deserialize)]
struct PricesFile {
    tardy_per_weight_slot: i64,
    overtime_per_person_slot: i64,
}

#[derive(Debug, Deserialize)]
struct JobFile {
    id: String,
    room: usize,
    release: Slot,
    due: Slot,
    hard_due: Slot,
    weight: i64,
    strip: HandworkFile,
    dose: DosingFile,
    soak: SoakFile,
    rinses: Vec<RinseFile>,
    teardown: HandworkFile,
    inspect: HandworkFile,
    max_gap: WaitsFile,
}

#[derive(Debug, Deserialize)]
struct HandworkFile {
    dur: Slot,
    people: usize,
    #[serde(default)]
    water: i64,
    #[serde(default)]
    draws: Vec<(Slot, i64)>,
}

#[derive(Debug, Deserialize)]
struct DosingFile {
    dur: Slot,
    vent: Slot,
    #[serde(default = "one")]
    people: usize,
    water: i64,
    peroxide_ml: i64,
    #[serde(default)]
    product: usize,
}

fn one() -> usize {
    1
}

#[derive(Debug, Deserialize)]
struct SoakFile {
    min: Slot,
    max_lag: Slot,
}

#[derive(Debug, Deserialize)]
struct RinseFile {
    dur: Slot,
    hands_on: Slot,
    water: i64,
}

#[derive(Debug, Deserialize)]
struct WaitsFile {
    strip_dose: Slot,
    rinse_teardown: Slot,
    teardown_inspect: Slot,
}

impl ProblemFile {
    /// Reads the problem into the planner's terms.
    ///
    /// # Errors
    /// Everything that makes it unfit to be planned.
    pub fn parse(self) -> Result<Problem, Vec<Fault>> {
        let span = |(from, to): (Slot, Slot)| Span { from, to };
        Problem {
            slot_minutes: self.slot_minutes,
            horizon: self.horizon,
            days: self.days,
            people: self
                .staff
                .into_iter()
                .map(|person| Person {
                    id: person.id,
                    concentrate: person.certified,
                    shifts: person
                        .shifts
                        .into_iter()
                        .map(|(from, to, overtime)| Shift {
                            span: Span { from, to },
                            overtime: overtime != 0,
                        })
                        .collect(),
                })
                .collect(),
            rooms: self
                .rooms
                .into_iter()
                .map(|room| Room {
                    id: room.id,
                    occupied: room.occupied.into_iter().map(span).collect(),
                    closed: room.closed.into_iter().map(span).collect(),
                })
                .collect(),
            crew_out: self.crew_out,
            kits: self.kits,
            water: Water {
                tank_l: self.ro.tank_l,
                initial_l: self.ro.initial_l,
                rate_l_per_slot: self.ro.rate_l_per_slot,
            },
            stocks: std::iter::once(self.peroxide)
                .chain(self.other_products)
                .map(StockFile::parse)
                .collect(),
            taken: Taken::default(),
            jobs: self.jobs.into_iter().map(JobFile::parse).collect(),
            prices: Prices {
                late: self.cost.tardy_per_weight_slot,
                overtime: self.cost.overtime_per_person_slot,
            },
        }
        .check()
    }
}

impl StockFile {
    fn parse(self) -> Stock {
        let deliveries = self.deliveries.into_iter();
        Stock {
            initial_ml: self.initial_ml,
            deliveries: deliveries.map(|(slot, ml)| Delivery { slot, ml }).collect(),
        }
    }
}

impl JobFile {
    fn parse(self) -> Job {
        let work = |work: &HandworkFile| Handwork {
            duration: work.dur,
            people: work.people,
        };
        Job {
            room: self.room,
            release: self.release,
            due: self.due,
            hard_due: self.hard_due,
            weight: self.weight,
            strip: work(&self.strip),
            dose: Dosing {
                duration: self.dose.dur,
                airing: self.dose.vent,
                people: self.dose.people,
                product: self.dose.product,
                water_l: self.dose.water,
                peroxide_ml: self.dose.peroxide_ml,
            },
            soak: Soak {
                least: self.soak.min,
                lag: self.soak.max_lag,
            },
            rinses: self
                .rinses
                .iter()
                .map(|rinse| Rinse {
                    duration: rinse.dur,
                    hands_on: rinse.hands_on,
                    water_l: rinse.water,
                })
                .collect(),
            teardown: work(&self.teardown),
            teardown_draws: self
                .teardown
                .draws
                .iter()
                .map(|&(slot, litres)| Draw { slot, litres })
                .collect(),
            inspect: work(&self.inspect),
            fill_l: self.inspect.water,
            // The file knows no sick systems.
            last_in_day: false,
            waits: Waits {
                strip_dose: self.max_gap.strip_dose,
                rinse_teardown: self.max_gap.rinse_teardown,
                teardown_inspect: self.max_gap.teardown_inspect,
            },
            id: self.id,
        }
    }
}

/// A plan as it is written.
#[derive(Debug, Deserialize, Serialize)]
pub struct PlanFile {
    pub cost: i64,
    pub jobs: Vec<PlacedFile>,
    pub unplaced: Vec<String>,
    #[serde(default)]
    pub proved: bool,
    #[serde(default)]
    pub bound: i64,
}

#[derive(Debug, Deserialize, Serialize)]
pub struct PlacedFile {
    pub id: String,
    pub strip: Slot,
    pub dose: Slot,
    pub rinse: Slot,
    pub teardown: Slot,
    pub inspect: Slot,
    pub people: NamedFile,
}

#[derive(Debug, Deserialize, Serialize)]
pub struct NamedFile {
    pub strip: Vec<String>,
    pub dose: Vec<String>,
    pub rinses: Vec<Vec<String>>,
    pub teardown: Vec<String>,
    pub inspect: Vec<String>,
}

impl PlanFile {
    /// Writes a plan in the terms of its problem.
    #[must_use]
    pub fn of(problem: &Problem, plan: &Plan, cost: i64, bound: i64, proved: bool) -> Self {
        let names = |people: &[usize]| -> Vec<String> {
            people
                .iter()
                .map(|&person| problem.people[person].id.clone())
                .collect()
        };
        Self {
            cost,
            jobs: plan
                .jobs
                .iter()
                .map(|placed| PlacedFile {
                    id: problem.jobs[placed.job].id.clone(),
                    strip: placed.strip,
                    dose: placed.dose,
                    rinse: placed.rinse,
                    teardown: placed.teardown,
                    inspect: placed.inspect,
                    people: NamedFile {
                        strip: names(&placed.people.strip),
                        dose: names(&placed.people.dose),
                        rinses: placed
                            .people
                            .rinses
                            .iter()
                            .map(|team| names(team))
                            .collect(),
                        teardown: names(&placed.people.teardown),
                        inspect: names(&placed.people.inspect),
                    },
                })
                .collect(),
            unplaced: plan
                .unplaced
                .iter()
                .map(|&job| problem.jobs[job].id.clone())
                .collect(),
            proved,
            bound,
        }
    }

    /// Reads a plan in the terms of a problem, and says which of its names the problem does not know.
    /// Jobs it does not know are left out; people it does not know are nobody.
    #[must_use]
    pub fn parse(&self, problem: &Problem) -> (Plan, Vec<String>) {
        let people: HashMap<&str, usize> = problem
            .people
            .iter()
            .enumerate()
            .map(|(index, person)| (person.id.as_str(), index))
            .collect();
        let jobs: HashMap<&str, usize> = problem
            .jobs
            .iter()
            .enumerate()
            .map(|(index, job)| (job.id.as_str(), index))
            .collect();
        let mut unknown = Vec::new();
        let mut plan = Plan::default();
        for placed in &self.jobs {
            let Some(&job) = jobs.get(placed.id.as_str()) else {
                unknown.push(format!("job {}", placed.id));
                continue;
            };
            let mut named = |ids: &[String]| -> Vec<usize> {
                ids.iter()
                    .map(|id| {
                        people.get(id.as_str()).copied().unwrap_or_else(|| {
                            unknown.push(format!("person {id}"));
                            usize::MAX
                        })
                    })
                    .collect()
            };
            let people = Named {
                strip: named(&placed.people.strip),
                dose: named(&placed.people.dose),
                rinses: placed
                    .people
                    .rinses
                    .iter()
                    .map(|team| named(team))
                    .collect(),
                teardown: named(&placed.people.teardown),
                inspect: named(&placed.people.inspect),
            };
            plan.jobs.push(PlacedJob {
                job,
                strip: placed.strip,
                dose: placed.dose,
                rinse: placed.rinse,
                teardown: placed.teardown,
                inspect: placed.inspect,
                people,
            });
        }
        for id in &self.unplaced {
            match jobs.get(id.as_str()) {
                Some(&job) => plan.unplaced.push(job),
                None => unknown.push(format!("job {id}")),
            }
        }
        (plan, unknown)
    }
}
