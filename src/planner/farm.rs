//! The farm while a plan is being made: what is still free once some jobs have their places.

use super::bits::Bits;
use super::order::Order;
use super::plan::Placement;
use super::problem::{Job, Person, Problem, Slot, Stock};
use super::rooms::Rooms;
use super::tank::Tank;

/// One person's hours.
#[derive(Clone, Debug)]
pub(super) struct Hours {
    pub concentrate: bool,
    /// At work and without a task.
    pub free: Bits,
    /// Hours that are not overtime, whether free or not.
    pub regular: Bits,
    /// Overtime slots before each slot; empty for who works none.
    overtime_before: Vec<u32>,
    /// Where one shift meets another that does not go on from it: no task crosses these.
    pub seams: Vec<Slot>,
}

impl Hours {
    fn of(person: &Person, horizon: Slot) -> Self {
        let mut hours = Self {
            concentrate: person.concentrate,
            free: Bits::none(horizon),
            regular: Bits::none(horizon),
            overtime_before: Vec::new(),
            seams: Vec::new(),
        };
        let mut shifts = person.shifts.clone();
        shifts.sort_by_key(|shift| shift.span.from);
        for (index, shift) in shifts.iter().enumerate() {
            hours.free.put(shift.span.from, shift.span.to, true);
            if !shift.overtime {
                hours.regular.put(shift.span.from, shift.span.to, true);
            }
            if index > 0 {
                let before = shifts[index - 1];
                let one_span = shift.overtime && !before.overtime;
                if before.span.to == shift.span.from && !one_span {
                    hours.seams.push(shift.span.from);
                }
            }
        }
        if shifts.iter().any(|shift| shift.overtime) {
            let mut sum = 0;
            for slot in 0..=horizon {
                hours.overtime_before.push(sum);
                sum += u32::from(hours.free.has(slot) && !hours.regular.has(slot));
            }
        }
        hours
    }

    pub fn works_overtime(&self) -> bool {
        !self.overtime_before.is_empty()
    }

    /// Slots of overtime from `from` to `to - 1`.
    pub fn overtime(&self, from: Slot, to: Slot) -> i64 {
        match (
            self.overtime_before.get(from as usize),
            self.overtime_before.get(to as usize),
        ) {
            (Some(before), Some(after)) => i64::from(after - before),
            _ => 0,
        }
    }

    /// Free for a whole task.
    pub fn fits(&self, from: Slot, to: Slot) -> bool {
        self.free.all(from, to) && !self.seams.iter().any(|&seam| from < seam && seam < to)
    }
}

/// A task somebody does by hand, as the placing of a job sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Task {
    pub from: Slot,
    pub to: Slot,
    pub people: usize,
    /// One of them may handle the concentrate.
    pub concentrate: bool,
}

/// The tasks of a job in the order of work.
pub(super) fn tasks(job: &Job, starts: [Slot; 5]) -> impl Iterator<Item = Task> {
    let [strip, dose, rinse, teardown, inspect] = starts;
    let task = |from: Slot, length: Slot, people: usize, concentrate: bool| Task {
        from,
        to: from + length,
        people,
        concentrate,
    };
    let rinses = job.rinses.iter().scan(rinse, move |at, rinse| {
        let from = *at;
        *at += rinse.duration;
        Some(task(from, rinse.hands_on, 1, false))
    });
    [
        task(strip, job.strip.duration, job.strip.people, false),
        task(dose, job.dose.duration, job.dose.people, true),
    ]
    .into_iter()
    .chain(rinses)
    .chain([
        task(teardown, job.teardown.duration, job.teardown.people, false),
        task(inspect, job.inspect.duration, job.inspect.people, false),
    ])
}

/// Leaves in `costs` the cheapest people for a task and adds up what they cost; none if they are too few.
///
/// One of them may handle the concentrate if the task asks for that: the cheapest who may, and the cheapest
/// of all others beside.
pub(super) fn team(
    people: &[Hours],
    task: Task,
    costs: &mut Vec<(i64, u16)>,
    mut cost: impl FnMut(&Hours) -> i64,
) -> Option<i64> {
    costs.clear();
    for (index, hours) in (0_u16..).zip(people) {
        let alone = task.concentrate && task.people == 1;
        if (hours.concentrate || !alone) && hours.fits(task.from, task.to) {
            costs.push((cost(hours), index));
        }
    }
    costs.sort_unstable();
    if task.concentrate {
        let may = |one: &(i64, u16)| people[usize::from(one.1)].concentrate;
        let first = costs.iter().position(may)?;
        costs[..=first].rotate_right(1);
    }
    if costs.len() < task.people {
        return None;
    }
    costs.truncate(task.people);
    Some(costs.iter().map(|one| one.0).sum())
}

/// What a job's rinses draw from the first one on.
pub(super) fn rinsed(job: &Job, from: Slot) -> impl Iterator<Item = (Slot, i64)> {
    job.rinses.iter().scan(from, |at, rinse| {
        let begins = *at;
        *at += rinse.duration;
        Some((begins, rinse.water_l))
    })
}

/// What a job draws while it is torn down from a slot on.
pub(super) fn torn_down(job: &Job, from: Slot) -> impl Iterator<Item = (Slot, i64)> {
    let draws = job.teardown_draws.iter();
    draws.map(move |draw| (from + draw.slot, draw.litres))
}

/// The draws of purified water of a job in the order of time.
pub(super) fn draws(job: &Job, starts: [Slot; 5], out: &mut Vec<(Slot, i64)>) {
    let [_, dose, rinse, teardown, inspect] = starts;
    out.clear();
    out.push((dose, job.dose.water_l));
    out.extend(rinsed(job, rinse));
    out.extend(torn_down(job, teardown));
    out.push((inspect, job.fill_l));
}

/// What is free.
#[derive(Clone, Debug)]
pub(super) struct Farm<'p> {
    pub problem: &'p Problem,
    pub people: Vec<Hours>,
    pub rooms: Rooms,
    /// Slots in which a kit unit is left.
    pub kit_left: Bits,
    kits_held: Vec<u32>,
    pub tank: Tank,
    pub order: Order,
    /// By product: before each of these slots so much is left, in order; the last is the end of time.
    stocks_left: Vec<Vec<(Slot, i64)>>,
    draws: Vec<(Slot, i64)>,
}

impl<'p> Farm<'p> {
    pub fn empty(problem: &'p Problem) -> Self {
        let horizon = problem.horizon;
        let longest_held = problem.jobs.iter().map(Job::kit_held).max().unwrap_or(0);
        let mut kit_left = Bits::none(horizon + longest_held);
        kit_left.put(0, horizon + longest_held + 1, problem.kits > 0);
        let mut kits_held = vec![0; (horizon + longest_held) as usize + 1];
        for slot in (problem.taken.kits.iter()).flat_map(|span| span.from..span.to) {
            let held: &mut u32 = &mut kits_held[slot as usize];
            *held += 1;
            kit_left.put(slot, slot + 1, (*held as usize) < problem.kits);
        }
        let mut tank = Tank::new(problem.water, horizon);
        for draw in &problem.taken.draws {
            tank.draw(draw.slot, draw.litres);
        }
        Self {
            problem,
            people: problem
                .people
                .iter()
                .map(|person| Hours::of(person, horizon))
                .collect(),
            rooms: Rooms::new(problem),
            kit_left,
            kits_held,
            tank,
            order: Order::new(problem),
            stocks_left: problem.stocks.iter().map(left_before).collect(),
            draws: Vec::new(),
        }
    }

    /// The first slot at which a job can be dosed with everything dosed later still covered; none if
    /// never.
    pub fn stock_from(&self, job: &Job) -> Option<Slot> {
        let mut from = Some(0);
        for &(before, left) in &self.stocks_left[job.dose.product] {
            if left < job.dose.peroxide_ml {
                from = (before != Slot::MAX).then_some(before);
            }
        }
        from
    }

    /// Gives a job its place, or takes it away.
    pub fn put(&mut self, index: usize, place: &Placement, here: bool) {
        let job = &self.problem.jobs[index];
        let mut crew = place.crew.iter();
        for task in tasks(job, place.starts) {
            for &person in crew.by_ref().take(task.people) {
                self.people[usize::from(person)]
                    .free
                    .put(task.from, task.to, !here);
            }
        }
        self.order.put(self.problem, index, place, here);
        let dose = place.starts[1];
        self.rooms.put(self.problem, index, place, here);
        for slot in dose..dose + job.kit_held() {
            let held = &mut self.kits_held[slot as usize];
            *held = if here {
                *held + 1
            } else {
                held.saturating_sub(1)
            };
            let left = (*held as usize) < self.problem.kits;
            self.kit_left.put(slot, slot + 1, left);
        }
        let mut drawn = std::mem::take(&mut self.draws);
        draws(job, place.starts, &mut drawn);
        for &(slot, litres) in &drawn {
            self.tank.draw(slot, if here { litres } else { -litres });
        }
        self.draws = drawn;
        for (before, left) in &mut self.stocks_left[job.dose.product] {
            if dose < *before {
                *left += if here {
                    -job.dose.peroxide_ml
                } else {
                    job.dose.peroxide_ml
                };
            }
        }
    }

    /// Whether a placement whose own times are sound fits among what is there.
    pub fn holds(&mut self, index: usize, place: &Placement) -> bool {
        let job = &self.problem.jobs[index];
        let dose = place.starts[1];
        let mut crew = place.crew.iter();
        for task in tasks(job, place.starts) {
            let team: Vec<u16> = crew.by_ref().take(task.people).copied().collect();
            let able = |person: &u16| {
                let hours = self.people.get(usize::from(*person));
                hours.is_some_and(|hours| hours.fits(task.from, task.to))
            };
            let skilled = |person: &u16| {
                let hours = self.people.get(usize::from(*person));
                hours.is_some_and(|hours| hours.concentrate)
            };
            let twice = (1..team.len()).any(|index| team[..index].contains(&team[index]));
            let unskilled = task.concentrate && !team.iter().any(skilled);
            if team.len() != task.people || twice || unskilled || !team.iter().all(able) {
                return false;
            }
            if !self.may_work(job, task.from, task.to) {
                return false;
            }
        }
        let mut drawn = std::mem::take(&mut self.draws);
        draws(job, place.starts, &mut drawn);
        let water = self.tank.fits(&drawn);
        self.draws = drawn;
        water
            && self.rooms.open[job.room].all(dose, dose + job.dose.duration + job.dose.airing)
            && self.kit_left.all(dose, dose + job.kit_held())
            && self.stock_from(job).is_some_and(|from| dose >= from)
    }

    /// Whether work at a job keeps the sick last among what is there, and out of what is dosed and aired.
    pub fn may_work(&self, job: &Job, from: Slot, to: Slot) -> bool {
        self.order.allows(self.problem, from, to, job.last_in_day)
            && self.rooms.is_quiet(job, from, to)
    }

    /// What a placement costs: lateness and overtime.
    pub fn cost(&self, index: usize, place: &Placement) -> i64 {
        let job = &self.problem.jobs[index];
        let late = (place.starts[4] + job.inspect.duration).saturating_sub(job.due);
        let mut crew = place.crew.iter();
        let overtime: i64 = tasks(job, place.starts)
            .map(|task| {
                crew.by_ref()
                    .take(task.people)
                    .map(|&person| self.people[usize::from(person)].overtime(task.from, task.to))
                    .sum::<i64>()
            })
            .sum();
        self.problem.prices.late * job.weight * i64::from(late)
            + self.problem.prices.overtime * overtime
    }
}

/// What is left of a product before each of its deliveries, if nothing is dosed.
fn left_before(stock: &Stock) -> Vec<(Slot, i64)> {
    let mut deliveries = stock.deliveries.clone();
    deliveries.sort_by_key(|delivery| delivery.slot);
    let mut left = stock.initial_ml;
    let mut before = Vec::with_capacity(deliveries.len() + 1);
    for delivery in deliveries {
        before.push((delivery.slot, left));
        left += delivery.ml;
    }
    before.push((Slot::MAX, left));
    before
}
