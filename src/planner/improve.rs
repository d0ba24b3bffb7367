//! Makes a plan better, step by step: some jobs near in time leave, and come back to better places.
//!
//! Large neighbourhood search (Shaw, 1998) with the acceptance of simulated annealing (Kirkpatrick, Gelatt
//! and Vecchi, 1983): a step that costs more is accepted if it costs less than a margin drawn beforehand,
//! so an insertion that goes over the margin is given up at once. The margin shrinks over a cycle of steps
//! and cycles grow, all counted in steps: the caller's clock only says when to stop.

use super::alone::{Alone, alone};
use super::chance::Chance;
use super::farm::Farm;
use super::first::first_places;
use super::insert::{Inserter, Taste};
use super::plan::{Placement, Plan, gather};
use super::problem::{Problem, Slot};

/// More than any sum of costs that is worth weighing against a job without a place.
const UNPLACED: i64 = 1_000_000_000_000;
/// Steps of the first cycle.
const CYCLE: u64 = 4_000;
/// What a step may cost more at the beginning of a cycle, on average: so many times what a job costs in
/// the best plan, and never less than the second; and at the end of a cycle.
const HOT: f64 = 2.0;
const LEAST_HOT: f64 = 4.0;
const COLD: f64 = 0.6;
/// The most jobs that leave in one step.
const MOST_LEAVING: usize = 11;

/// What a plan weighs that is not held to an earlier one.
pub(super) fn weight(cost: i64, unplaced: usize) -> i64 {
    cost + UNPLACED * i64::try_from(unplaced).unwrap_or(i64::MAX / UNPLACED / 2)
}

/// What holds a plan to an earlier one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Keep {
    /// Moving a job to another day has to gain at least this much.
    pub worth: i64,
    /// No more jobs than this move to another day.
    pub most: usize,
}

/// What holds a search to an earlier plan.
#[derive(Debug)]
pub(super) struct Hold {
    /// Where the jobs stood.
    pub home: Vec<Option<[Slot; 5]>>,
    pub keep: Option<Keep>,
    /// Jobs that never leave.
    pub pinned: Vec<bool>,
}

/// A search for a better plan, that goes on for as long as it is asked to step.
#[derive(Debug)]
pub struct Search<'p> {
    farm: Farm<'p>,
    inserter: Inserter,
    chance: Chance,
    places: Vec<Option<Placement>>,
    score: i64,
    best: Vec<Option<Placement>>,
    best_score: i64,
    floors: Vec<Option<Alone>>,
    hold: Hold,
    moved: usize,
    steps: u64,
    cycle_ends: u64,
    cycle: u64,
    leaving: Vec<usize>,
    near: Vec<(u64, usize)>,
}

impl<'p> Search<'p> {
    /// Begins with the first plan.
    #[must_use]
    pub fn new(problem: &'p Problem, number: u64) -> Self {
        let mut inserter = Inserter::default();
        let places = first_places(problem, &mut inserter, &mut Chance::new(1));
        let mut farm = Farm::empty(problem);
        for (index, place) in places.iter().enumerate() {
            if let Some(place) = place {
                farm.put(index, place, true);
            }
        }
        let hold = Hold {
            home: vec![None; places.len()],
            keep: None,
            pinned: vec![false; places.len()],
        };
        Self::begin(farm, inserter, places, hold, alone(problem), number)
    }

    /// Begins with these places, which the farm has already.
    pub(super) fn begin(
        farm: Farm<'p>,
        inserter: Inserter,
        places: Vec<Option<Placement>>,
        hold: Hold,
        floors: Vec<Option<Alone>>,
        number: u64,
    ) -> Self {
        let mut search = Self {
            farm,
            inserter,
            chance: Chance::new(number),
            best: places.clone(),
            places,
            score: 0,
            best_score: 0,
            floors,
            hold,
            moved: 0,
            steps: 0,
            cycle_ends: CYCLE,
            cycle: CYCLE,
            leaving: Vec::new(),
            near: Vec::new(),
        };
        search.score = (0..search.places.len())
            .map(|index| search.weigh(index, search.places[index].as_ref()))
            .sum();
        search.best_score = search.score;
        search.moved = (0..search.places.len())
            .filter(|&index| search.has_moved(index, search.places[index].as_ref()))
            .count();
        search
    }

    /// The least that every plan costs: the sum of the jobs alone.
    #[must_use]
    pub fn bound(&self) -> i64 {
        self.floors.iter().flatten().map(|alone| alone.cost).sum()
    }

    /// What the best plan so far weighs: its cost, far more for each job without a place, and what moving
    /// jobs away from an earlier plan has to gain. The less the better.
    #[must_use]
    pub fn weight(&self) -> i64 {
        self.best_score
    }

    /// The best plan so far.
    #[must_use]
    pub fn best(&self) -> Plan {
        gather(&self.farm.problem.jobs, &self.best)
    }

    /// By how much a job is late in the best plan so far; [`Slot::MAX`] without a place.
    pub(super) fn late(&self, index: usize) -> Slot {
        let job = &self.farm.problem.jobs[index];
        let place = self.best[index].as_ref();
        place.map_or(Slot::MAX, |place| {
            (place.starts[4] + job.inspect.duration).saturating_sub(job.due)
        })
    }

    /// The least that any plan weighs: the bound, and the jobs that have no place even alone.
    pub(super) fn least(&self) -> i64 {
        weight(
            self.bound(),
            self.floors.iter().filter(|floor| floor.is_none()).count(),
        )
    }

    /// Whether no plan can be better than the best so far.
    #[must_use]
    pub fn is_proved(&self) -> bool {
        self.best_score <= self.least()
    }

    /// How many jobs the best plan so far has on another day than the earlier plan.
    #[must_use]
    pub fn moved(&self) -> usize {
        (0..self.best.len())
            .filter(|&index| self.has_moved(index, self.best[index].as_ref()))
            .count()
    }

    /// Goes on from a better plan that was found elsewhere; it has to hold.
    pub(super) fn adopt(&mut self, plan: &Plan) {
        let mut places: Vec<Option<Placement>> = vec![None; self.places.len()];
        for placed in &plan.jobs {
            let mut place = Placement::of(placed);
            place.cost = self.farm.cost(placed.job, &place);
            places[placed.job] = Some(place);
        }
        self.best_score = (0..places.len())
            .map(|index| self.weigh(index, places[index].as_ref()))
            .sum();
        self.best = places;
        self.return_to_best();
        self.cycle_ends = self.steps + self.cycle;
    }

    fn has_moved(&self, index: usize, place: Option<&Placement>) -> bool {
        match (self.hold.home[index], place) {
            (Some(home), Some(place)) => self.farm.problem.other_day(home, place.starts),
            _ => false,
        }
    }

    fn weigh(&self, index: usize, place: Option<&Placement>) -> i64 {
        let moved = self.has_moved(index, place);
        place.map_or(UNPLACED, |place| place.cost)
            + self
                .hold
                .keep
                .filter(|_| moved)
                .map_or(0, |keep| keep.worth)
    }

    /// Takes one step; true if it found a better plan than any before.
    pub fn step(&mut self) -> bool {
        if self.places.is_empty() || self.is_proved() {
            return false;
        }
        let margin = self.margin();
        let middle = self.middle();
        self.try_around(middle, margin)
    }

    /// A step about one job, that keeps to what is no worse.
    pub(super) fn step_about(&mut self, middle: usize) -> bool {
        self.try_around(middle, 0)
    }

    /// Takes some jobs near the middle out and puts them back; keeps what costs no more than the margin.
    fn try_around(&mut self, middle: usize, margin: i64) -> bool {
        self.choose(middle);
        if self.leaving.is_empty() {
            return false;
        }
        let leaving = std::mem::take(&mut self.leaving);
        let (score_before, moved_before) = (self.score, self.moved);
        let old: Vec<Option<Placement>> = leaving.iter().map(|&index| self.lift(index)).collect();

        let allowed = score_before + margin;
        let floor =
            |search: &Self, index: usize| search.floors[index].map_or(UNPLACED, |alone| alone.cost);
        let mut floors: i64 = leaving.iter().map(|&index| floor(self, index)).sum();
        let taste = self.taste();
        let mut kept = true;
        for &index in &leaving {
            floors -= floor(self, index);
            let limit = (allowed - self.score - floors + 1).min(UNPLACED);
            let home = self.hold.home[index]
                .zip(self.hold.keep)
                .map(|(home, keep)| (home, keep.worth));
            let taste = Taste { home, ..taste };
            let place = self
                .inserter
                .best(&self.farm, index, limit, taste, &mut self.chance);
            self.set(index, place);
            let over_cap = self
                .hold
                .keep
                .is_some_and(|keep| self.moved > keep.most.max(moved_before));
            if self.score + floors > allowed || over_cap {
                kept = false;
                break;
            }
        }
        if !kept {
            for &index in &leaving {
                self.lift(index);
            }
            for (&index, place) in leaving.iter().zip(old) {
                self.set(index, place);
            }
            self.score = score_before;
            self.moved = moved_before;
        }
        self.leaving = leaving;
        if self.score < self.best_score {
            self.best_score = self.score;
            self.best.clone_from(&self.places);
            return true;
        }
        false
    }

    /// Takes a job out of the plan; afterwards it counts nothing.
    fn lift(&mut self, index: usize) -> Option<Placement> {
        let place = self.places[index].take();
        if let Some(place) = &place {
            self.farm.put(index, place, false);
        }
        self.score -= self.weigh(index, place.as_ref());
        self.moved -= usize::from(self.has_moved(index, place.as_ref()));
        place
    }

    fn set(&mut self, index: usize, place: Option<Placement>) {
        if let Some(place) = &place {
            self.farm.put(index, place, true);
        }
        self.score += self.weigh(index, place.as_ref());
        self.moved += usize::from(self.has_moved(index, place.as_ref()));
        self.places[index] = place;
    }

    /// How much more this step may cost. At the end of a cycle the search returns to the best.
    fn margin(&mut self) -> i64 {
        if self.steps == self.cycle_ends {
            self.cycle += self.cycle / 2;
            self.cycle_ends = self.steps + self.cycle;
            self.return_to_best();
        }
        let done = 1.0 - (self.cycle_ends - self.steps) as f64 / self.cycle as f64;
        self.steps += 1;
        let placed = self.best_score % UNPLACED;
        let hot = (HOT * placed as f64 / self.places.len() as f64).max(LEAST_HOT);
        let heat = hot * (COLD / hot).powf(done);
        (-heat * (1.0 - self.chance.fraction()).ln()) as i64
    }

    fn return_to_best(&mut self) {
        for index in 0..self.places.len() {
            if self.places[index] != self.best[index] {
                self.lift_quietly(index);
            }
        }
        for (index, (place, best)) in self.places.iter_mut().zip(&self.best).enumerate() {
            if let (None, Some(best)) = (&place, best) {
                self.farm.put(index, best, true);
                *place = Some(best.clone());
            }
        }
        self.score = self.best_score;
        self.moved = (0..self.places.len())
            .filter(|&index| self.has_moved(index, self.places[index].as_ref()))
            .count();
    }

    fn lift_quietly(&mut self, index: usize) {
        if let Some(place) = self.places[index].take() {
            self.farm.put(index, &place, false);
        }
    }

    fn taste(&mut self) -> Taste {
        let blur = match self.chance.below(4) {
            0 => 1 << self.chance.below(6),
            _ => 0,
        };
        Taste {
            blur,
            settled: false,
            early: [0, 4, 16, -4, -16][self.chance.below(5)],
            spare: self.chance.below(8) > 0,
            home: None,
        }
    }

    /// How much a job costs more than it would alone.
    fn excess(&self, index: usize) -> i64 {
        match (&self.places[index], self.floors[index]) {
            (Some(place), Some(alone)) => place.cost - alone.cost,
            (None, Some(_)) => UNPLACED,
            _ => 0,
        }
    }

    /// Chooses the job that a step is about: mostly one that costs more than it would alone.
    fn middle(&mut self) -> usize {
        let count = self.places.len();
        let mut middle = self.chance.below(count);
        for _ in 0..self.chance.below(4) {
            let other = self.chance.below(count);
            if self.excess(other) > self.excess(middle) {
                middle = other;
            }
        }
        middle
    }

    /// Chooses who leaves with the middle, in the order in which they will come back.
    fn choose(&mut self, middle: usize) {
        let count = self.places.len();
        self.leaving.clear();
        if self.hold.pinned[middle] {
            return;
        }
        let job = &self.farm.problem.jobs[middle];
        let (from, to) = match &self.places[middle] {
            Some(place) => (
                place.starts[0].min(job.release),
                place.starts[4] + job.inspect.duration,
            ),
            None => (job.release, job.hard_due),
        };
        // Either where the job is or waits, or where it ought to be.
        let (from, to) = if self.chance.below(5) < 2 {
            (job.release, job.due.max(job.release + 1))
        } else {
            (from, to)
        };
        let at = from + self.chance.below((to - from) as usize) as Slot;
        // The less of two: few jobs leave more often than many.
        let more = self
            .chance
            .below(MOST_LEAVING - 1)
            .min(self.chance.below(MOST_LEAVING - 1));
        let size = (2 + more).min(count);
        self.near.clear();
        for index in 0..count {
            if index == middle || self.hold.pinned[index] {
                continue;
            }
            let other = &self.farm.problem.jobs[index];
            let (start, end) = match &self.places[index] {
                Some(place) => (place.starts[0], place.starts[4] + other.inspect.duration),
                None => (other.release, other.hard_due),
            };
            let away = if at < start {
                start - at
            } else {
                at.saturating_sub(end)
            };
            let blurred = u64::from(away + 16) * (64 + self.chance.below(192) as u64);
            self.near.push((blurred, index));
        }
        let others = size - 1;
        if others > 0 && others < self.near.len() {
            self.near.select_nth_unstable(others - 1);
        }
        self.leaving.push(middle);
        self.leaving
            .extend(self.near.iter().take(others).map(|near| near.1));
        self.chance.shuffle(&mut self.leaving);
        let jobs = &self.farm.problem.jobs;
        let mut leaving = std::mem::take(&mut self.leaving);
        match self.chance.below(5) {
            0 => leaving.sort_by_key(|&index| jobs[index].due),
            1 => leaving.sort_by_key(|&index| -jobs[index].weight),
            2 => leaving.sort_by_key(|&index| -self.excess(index)),
            _ => {}
        }
        // The job it is all about comes back first half of the time: the others have to make room.
        if self.chance.below(2) == 0
            && let Some(at) = leaving.iter().position(|&index| index == middle)
        {
            leaving[..=at].rotate_right(1);
        }
        self.leaving = leaving;
    }
}
