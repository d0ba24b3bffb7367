//! What has to be planned: the farm as it stands and the clean-outs asked for.

use std::collections::HashSet;

/// A count of slots from Monday 00:00 of the first week, or a length in slots.
pub type Slot = u32;

/// Farther than any horizon: 200,000 slots of five minutes are almost two years.
const LONGEST_HORIZON: Slot = 200_000;
/// No single phase, wait or airing lasts longer; it keeps every sum of them inside the number type.
const LONGEST_PHASE: Slot = 20_000;
/// No volume (L or mL), weight or price is greater; it keeps every cost inside the number type.
const GREATEST: i64 = 1_000_000_000;
/// A weight or a price above this is a slip of the keyboard.
const GREATEST_PRICE: i64 = 10_000;

/// The slots from `from` to `to - 1`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    pub from: Slot,
    pub to: Slot,
}

/// Hours in which one person can work; overtime hours cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shift {
    pub span: Span,
    pub overtime: bool,
}

/// One of the crew.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    pub id: String,
    /// May handle the concentrate.
    pub concentrate: bool,
    pub shifts: Vec<Shift>,
}

/// A room with the hours in which others are in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Room {
    pub id: String,
    pub occupied: Vec<Span>,
    /// A dosing that stands is poured or aired: nobody works by hand in it, whatever else is dosed.
    pub closed: Vec<Span>,
}

/// Purified water, made at a constant rate into a tank; a full tank makes nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Water {
    pub tank_l: i64,
    pub initial_l: i64,
    pub rate_l_per_slot: i64,
}

/// Concentrate that arrives at the beginning of a slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Delivery {
    pub slot: Slot,
    pub ml: i64,
}

/// Purified water drawn at the beginning of a slot, in litres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Draw {
    pub slot: Slot,
    pub litres: i64,
}

/// Work by hand at a booking that stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Worked {
    pub span: Span,
    /// As [`Job::last_in_day`].
    pub last_in_day: bool,
}

/// What bookings that stand have taken already: it is not up to the plan.
///
/// Their people are told by the shifts, which leave their hours out, their rooms by the hours in which
/// others are in them, and their concentrate by what is on hand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Taken {
    pub draws: Vec<Draw>,
    /// Each of these spans holds one kit unit.
    pub kits: Vec<Span>,
    /// What is done by hand, for the order of a day.
    pub work: Vec<Worked>,
}

/// One product's concentrate, on hand and to come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stock {
    pub initial_ml: i64,
    pub deliveries: Vec<Delivery>,
}

/// A phase done by hand from its beginning to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Handwork {
    pub duration: Slot,
    pub people: usize,
}

/// Dosing by somebody who may handle the concentrate, and the airing after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dosing {
    pub duration: Slot,
    /// The room stays closed for this long after the dosing.
    pub airing: Slot,
    /// How many are there; one of them may handle the concentrate, the others stand by.
    pub people: usize,
    /// Purified water drawn at the first slot, in litres.
    pub water_l: i64,
    /// Index into [`Problem::stocks`].
    pub product: usize,
    pub peroxide_ml: i64,
}

/// The contact time: nobody is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Soak {
    pub least: Slot,
    /// The first rinse starts at most this long after the least soak.
    pub lag: Slot,
}

/// One rinse; the next follows at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rinse {
    pub duration: Slot,
    /// One person is needed for this long at the start.
    pub hands_on: Slot,
    pub water_l: i64,
}

/// The longest allowed waits between phases.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Waits {
    pub strip_dose: Slot,
    pub rinse_teardown: Slot,
    pub teardown_inspect: Slot,
}

/// One clean-out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    pub id: String,
    /// Index into [`Problem::rooms`].
    pub room: usize,
    /// The turnover: nothing starts before.
    pub release: Slot,
    /// The next planting: what ends later is late.
    pub due: Slot,
    /// Nothing ends after this.
    pub hard_due: Slot,
    pub weight: i64,
    pub strip: Handwork,
    pub dose: Dosing,
    pub soak: Soak,
    pub rinses: Vec<Rinse>,
    pub teardown: Handwork,
    /// Purified water drawn while it is torn down, for rinses that are left for then: each slot counts from the
    /// beginning of the teardown, the first draw first.
    pub teardown_draws: Vec<Draw>,
    /// Refit and check.
    pub inspect: Handwork,
    /// The fresh fill, drawn when refit and check begin, in litres.
    pub fill_l: i64,
    pub waits: Waits,
    /// Its system is sick: on a day on which it is worked at, all work by hand at systems that are not is
    /// over before, so that hands and tools go from the well to the sick and not back.
    pub last_in_day: bool,
}

impl Job {
    /// From the first rinse to the end of the last, in slots.
    #[must_use]
    pub fn rinsing(&self) -> Slot {
        self.rinses.iter().map(|rinse| rinse.duration).sum()
    }

    /// All the purified water it draws, in litres.
    #[must_use]
    pub fn drawn(&self) -> i64 {
        let rinses: i64 = self.rinses.iter().map(|rinse| rinse.water_l).sum();
        let teardown: i64 = self.teardown_draws.iter().map(|draw| draw.litres).sum();
        self.dose.water_l + rinses + teardown + self.fill_l
    }

    /// How long a kit unit is held from the start of the dosing: until the last rinse at the latest.
    #[must_use]
    pub fn kit_held(&self) -> Slot {
        self.dose.duration + self.soak.least + self.soak.lag + self.rinsing()
    }
}

/// What lateness and overtime cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Prices {
    /// For each slot of lateness and each unit of the job's weight.
    pub late: i64,
    /// For each slot that one person works in overtime.
    pub overtime: i64,
}

/// A whole problem; it exists only if [`Problem::check`] found nothing wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    pub slot_minutes: u32,
    /// Every slot is below this.
    pub horizon: Slot,
    /// The first slot of each day from the first on, where days of 23 or 25 hours are among them; empty if
    /// every day has 24.
    pub days: Vec<Slot>,
    pub people: Vec<Person>,
    pub rooms: Vec<Room>,
    /// While a room is dosed and aired nobody works by hand at another system in it.
    pub crew_out: bool,
    /// Kit units (portable pump and riser set).
    pub kits: usize,
    pub water: Water,
    /// The products that clean-outs are dosed with.
    pub stocks: Vec<Stock>,
    pub taken: Taken,
    pub jobs: Vec<Job>,
    pub prices: Prices,
}

/// What is wrong with a problem, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault(pub String);

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl Problem {
    /// Slots in a day of 24 hours.
    #[must_use]
    pub fn day(&self) -> Slot {
        1440 / self.slot_minutes.max(1)
    }

    /// The day of a slot, counted from 0.
    #[must_use]
    pub fn day_of(&self, slot: Slot) -> usize {
        if self.days.is_empty() {
            return (slot / self.day()) as usize;
        }
        self.days
            .partition_point(|&first| first <= slot)
            .saturating_sub(1)
    }

    /// The slots of a day, cut off at the horizon.
    #[must_use]
    pub fn day_span(&self, day: usize) -> Span {
        let first = |day: usize| match self.days.get(day) {
            Some(&first) => first,
            None if self.days.is_empty() => {
                Slot::try_from(day).map_or(self.horizon, |day| day.saturating_mul(self.day()))
            }
            None => self.horizon,
        };
        Span {
            from: first(day).min(self.horizon),
            to: first(day + 1).min(self.horizon),
        }
    }

    /// Whether any phase starts on another day.
    pub(super) fn other_day(&self, before: [Slot; 5], now: [Slot; 5]) -> bool {
        before != now
            && before
                .iter()
                .zip(&now)
                .any(|(&before, &now)| self.day_of(before) != self.day_of(now))
    }

    /// Says everything that makes the problem unfit to be planned.
    ///
    /// # Errors
    /// All faults at once, each naming its person, room or job.
    pub fn check(self) -> Result<Self, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut say = |words: String| faults.push(Fault(words));
        if self.slot_minutes == 0 || 1440 % self.slot_minutes != 0 {
            say("slot_minutes must divide the 1440 minutes of a day".to_owned());
        }
        if self.horizon == 0 || self.horizon > LONGEST_HORIZON {
            say(format!("horizon must be from 1 to {LONGEST_HORIZON} slots"));
        }
        let rising = self.days.windows(2).all(|two| two[0] < two[1]);
        if self.days.first().is_some_and(|&first| first != 0) || !rising {
            say("the days must begin with slot 0 and follow each other".to_owned());
        }
        if self.people.len() > 10_000 || self.kits > 10_000 {
            say("there may be at most 10,000 people and kit units".to_owned());
        }
        let price = |price: i64| (0..=GREATEST_PRICE).contains(&price);
        if !price(self.prices.late) || !price(self.prices.overtime) {
            say(format!("the prices must be from 0 to {GREATEST_PRICE}"));
        }
        let amount = |amount: i64| (0..=GREATEST).contains(&amount);
        let water = self.water;
        if ![water.tank_l, water.initial_l, water.rate_l_per_slot]
            .into_iter()
            .all(amount)
            || water.initial_l > water.tank_l
        {
            say(
                "ro: volumes must not be negative, and the tank cannot begin more than full"
                    .to_owned(),
            );
        }
        let volumes = self.stocks.iter().flat_map(|stock| {
            let delivered = stock.deliveries.iter().map(|delivery| delivery.ml);
            std::iter::once(stock.initial_ml).chain(delivered)
        });
        if !volumes.into_iter().all(amount) {
            say("peroxide: volumes must not be negative".to_owned());
        }
        let inside = |span: &Span| span.from < span.to && span.to <= self.horizon;
        if !self.taken.kits.iter().all(inside)
            || !(self.taken.draws.iter())
                .all(|draw| draw.slot < self.horizon && amount(draw.litres))
            || !self.taken.work.iter().all(|work| inside(&work.span))
        {
            say("taken: a draw, a kit's span or work is empty or outside the horizon".to_owned());
        }
        let mut ids = HashSet::new();
        for person in &self.people {
            let mut spans: Vec<Span> = person.shifts.iter().map(|shift| shift.span).collect();
            if !spans.iter().all(inside) {
                say(format!(
                    "{}: a shift is empty or outside the horizon",
                    person.id
                ));
            }
            spans.sort_by_key(|span| span.from);
            if spans.windows(2).any(|two| two[1].from < two[0].to) {
                say(format!("{}: two shifts overlap", person.id));
            }
            if !ids.insert(&person.id) {
                say(format!("{}: two people have this id", person.id));
            }
        }
        for room in &self.rooms {
            if !room.occupied.iter().chain(&room.closed).all(inside) {
                say(format!(
                    "{}: an occupied or closed span is empty or outside the horizon",
                    room.id
                ));
            }
        }
        let mut ids = HashSet::new();
        for job in &self.jobs {
            if !ids.insert(&job.id) {
                say(format!("{}: two jobs have this id", job.id));
            }
            for words in job_faults(job, &self) {
                say(format!("{}: {words}", job.id));
            }
        }
        if faults.is_empty() {
            Ok(self)
        } else {
            Err(faults)
        }
    }
}

fn job_faults(job: &Job, problem: &Problem) -> Vec<&'static str> {
    let mut faults = Vec::new();
    let mut must = |holds: bool, words: &'static str| {
        if !holds {
            faults.push(words);
        }
    };
    let horizon = problem.horizon;
    must(job.room < problem.rooms.len(), "its room does not exist");
    must(
        job.dose.product < problem.stocks.len(),
        "its product does not exist",
    );
    must(job.release < job.hard_due, "hard_due must be after release");
    must(
        job.hard_due <= horizon,
        "hard_due must be within the horizon",
    );
    must(job.due <= LONGEST_HORIZON, "due is too far away");
    must(
        (0..=GREATEST_PRICE).contains(&job.weight),
        "its weight must be from 0 to 10000",
    );
    let phase = |slots: Slot| (1..=LONGEST_PHASE).contains(&slots);
    let work = [job.strip, job.teardown, job.inspect];
    must(
        work.iter().all(|work| phase(work.duration)) && phase(job.dose.duration),
        "every phase lasts at least one slot",
    );
    must(
        work.iter()
            .map(|work| work.people)
            .chain([job.dose.people])
            .all(|people| (1..=100).contains(&people)),
        "every phase needs 1 to 100 people",
    );
    must(job.rinses.len() <= 100, "at most 100 rinses");
    must(
        job.rinses.iter().all(|rinse| {
            phase(rinse.duration) && rinse.hands_on >= 1 && rinse.hands_on <= rinse.duration
        }),
        "a rinse is hands-on for at least one slot and no longer than it lasts",
    );
    must(
        [
            job.dose.airing,
            job.soak.least,
            job.soak.lag,
            job.waits.strip_dose,
        ]
        .into_iter()
        .chain([job.waits.rinse_teardown, job.waits.teardown_inspect])
        .all(|slots| slots <= LONGEST_PHASE),
        "a wait is too long",
    );
    let draws = &job.teardown_draws;
    must(
        draws.len() <= 100
            && draws.windows(2).all(|two| two[0].slot <= two[1].slot)
            && draws.iter().all(|draw| draw.slot < job.teardown.duration),
        "at most 100 draws while it is torn down, in the order of their slots",
    );
    must(
        job.rinses
            .iter()
            .map(|rinse| rinse.water_l)
            .chain(job.teardown_draws.iter().map(|draw| draw.litres))
            .chain([job.dose.water_l, job.dose.peroxide_ml, job.fill_l])
            .all(|volume| (0..=GREATEST).contains(&volume)),
        "a volume must not be negative",
    );
    faults
}
