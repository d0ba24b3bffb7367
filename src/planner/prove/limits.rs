//! What there is of each resource, and that no more of it is used.
//!
//! What is taken whatever the plan is becomes a profile over the slots, and only those stretches of it are told
//! to the solver in which the jobs could ask for more than is left: its time grows with them.

use pumpkin_constraints as constraints;
use pumpkin_core::predicate;
use pumpkin_core::variables::{AffineView, DomainId, TransformableVariable};

use super::super::problem::Slot;
use super::model::{Model, SHIFT, Work, inside, length, small};

/// From when on, for how many slots, how much.
type Need = (AffineView<DomainId>, i32, i32);
type Fixed = (i32, i32, i32);

impl Model<'_> {
    /// All that limits the jobs, but for the spans of the tank.
    pub fn limits(&mut self) -> Option<()> {
        self.people()?;
        self.rooms();
        self.kits()?;
        self.concentrate()
    }

    /// No more of a resource at any time than there is.
    fn cumulative(&mut self, mut needs: Vec<Need>, fixed: &[Fixed], most: i32) {
        needs.retain(|need| need.1 > 0 && need.2 > 0);
        let reach = |need: &Need| {
            let (first, last) = (
                self.solver.lower_bound(&need.0),
                self.solver.upper_bound(&need.0),
            );
            (first, last.saturating_add(need.1), need.2)
        };
        let reaches: Vec<(i32, i32, i32)> = needs.iter().map(reach).collect();
        let first = reaches.iter().map(|reach| reach.0).min().unwrap_or(0);
        let last = reaches.iter().map(|reach| reach.1).max().unwrap_or(0);
        let slots = usize::try_from(last - first).unwrap_or(0);
        // How much is taken in each slot, and how much could be asked for: first what changes there.
        let (mut taken, mut asked) = (vec![0_i64; slots + 1], vec![0_i64; slots + 1]);
        let place = |slot: i32| usize::try_from(slot.clamp(first, last) - first).unwrap_or(0);
        for &(from, slots, amount) in fixed {
            taken[place(from)] += i64::from(amount);
            taken[place(from.saturating_add(slots))] -= i64::from(amount);
        }
        for &(from, to, amount) in &reaches {
            asked[place(from)] += i64::from(amount);
            asked[place(to)] -= i64::from(amount);
        }
        let (mut held, mut wanted) = (0, 0);
        let mut tight: Vec<i64> = Vec::with_capacity(slots);
        let mut matters = false;
        for slot in 0..slots {
            held += taken[slot];
            wanted += asked[slot];
            let over = held + wanted > i64::from(most);
            matters |= over && wanted > 0;
            tight.push(if over && wanted > 0 { held } else { 0 });
        }
        if !matters {
            return;
        }
        let mut from = first;
        for run in tight.chunk_by(|one, two| one == two) {
            let slots = i32::try_from(run.len()).unwrap_or(i32::MAX);
            if run[0] > 0 {
                let start = self.number(from, from);
                let amount = i32::try_from(run[0]).unwrap_or(i32::MAX);
                needs.push((start.offset(0), slots, amount));
            }
            from += slots;
        }
        let starts: Vec<_> = needs.iter().map(|need| need.0).collect();
        let lengths: Vec<i32> = needs.iter().map(|need| need.1).collect();
        let amounts: Vec<i32> = needs.iter().map(|need| need.2).collect();
        self.post(constraints::cumulative(
            starts, lengths, amounts, most, self.tag,
        ));
    }

    /// The crew by heads, and those of them who may handle concentrate.
    fn people(&mut self) -> Option<()> {
        let at_work = |skilled: bool| -> Vec<i64> {
            (0..self.problem.horizon)
                .map(|slot| {
                    let there =
                        self.farm.people.iter().filter(|hours| {
                            (hours.concentrate || !skilled) && hours.free.has(slot)
                        });
                    there.count() as i64
                })
                .collect()
        };
        let (all, skilled) = (at_work(false), at_work(true));
        let heads = |work: &Work| {
            let people = i32::try_from(work.people).unwrap_or(i32::MAX);
            (self.begins(work), length(work.slots), people)
        };
        let tasks = self.works.iter().map(heads).collect();
        let doses = self.works.iter().filter(|work| work.concentrate);
        let doses = doses
            .map(|work| (self.begins(work), length(work.slots), 1))
            .collect();
        self.profile(tasks, &all)?;
        if all != skilled {
            self.profile(doses, &skilled)?;
        }
        Some(())
    }

    /// No more at any time than there is at that time.
    fn profile(&mut self, tasks: Vec<Need>, there: &[i64]) -> Option<()> {
        let most = there.iter().copied().max().unwrap_or(0);
        let mut fixed = Vec::new();
        let mut from = SHIFT;
        for run in there.chunk_by(|one, two| one == two) {
            let slots = small(run.len() as i64)?;
            // Where nobody is no task can start, so nothing need be said.
            if run[0] > 0 {
                fixed.push((from, slots, small(most - run[0])?));
            }
            from += slots;
        }
        self.cumulative(tasks, &fixed, small(most)?);
        Some(())
    }

    fn rooms(&mut self) {
        for room in 0..self.problem.rooms.len() {
            let mut tasks = Vec::new();
            for own in &self.jobs {
                let job = &self.problem.jobs[own.index];
                if job.room == room {
                    let closed = length(job.dose.duration + job.dose.airing);
                    tasks.push((own.starts[1].offset(0), closed, 1));
                }
            }
            if tasks.len() > 1 {
                self.cumulative(tasks, &[], 1);
            }
        }
    }

    fn kits(&mut self) -> Option<()> {
        let mut tasks = Vec::new();
        for own in &self.jobs {
            let held = self.problem.jobs[own.index].kit_held();
            tasks.push((own.starts[1].offset(0), length(held), 1));
        }
        let taken = &self.problem.taken.kits;
        if tasks.len() + taken.len() <= self.problem.kits {
            return Some(());
        }
        let fixed = taken
            .iter()
            .map(|span| (inside(span.from), length(span.to - span.from), 1));
        let fixed: Vec<Fixed> = fixed.collect();
        self.cumulative(tasks, &fixed, small(self.problem.kits as i64)?);
        Some(())
    }

    /// What is dosed before each delivery has come by then.
    fn concentrate(&mut self) -> Option<()> {
        for (product, stock) in self.problem.stocks.iter().enumerate() {
            let mut times: Vec<Slot> = stock.deliveries.iter().map(|one| one.slot).collect();
            times.push(Slot::MAX);
            times.sort_unstable();
            times.dedup();
            for time in times {
                let before = stock.deliveries.iter().filter(|one| one.slot < time);
                let come = stock.initial_ml + before.map(|one| one.ml).sum::<i64>();
                let mut terms = Vec::new();
                let mut all = 0;
                for own in self.jobs.clone() {
                    let dose = self.problem.jobs[own.index].dose;
                    let first = own.stages[1].first().map_or(Slot::MAX, |start| start.at);
                    if dose.product == product && first < time {
                        let start = own.starts[1];
                        let early = predicate!(start <= inside(time) - 1);
                        if self.solver.is_inconsistent() {
                            return Some(());
                        }
                        let early = self.solver.new_literal_for_predicate(early, self.tag);
                        terms.push(early.scaled(small(dose.peroxide_ml)?));
                        all += dose.peroxide_ml;
                    }
                }
                small(all)?;
                if all > come {
                    self.post(constraints::less_than_or_equals(
                        terms,
                        small(come)?,
                        self.tag,
                    ));
                }
            }
        }
        Some(())
    }

    /// No more water in any span of so many slots than the tank holds and makes meanwhile; false if that was
    /// said already.
    pub fn tank_span(&mut self, slots: Slot) -> Option<bool> {
        if self.spans.contains(&slots) {
            return Some(false);
        }
        self.spans.push(slots);
        let water = self.problem.water;
        let most = water.tank_l + water.rate_l_per_slot * i64::from(slots.saturating_sub(1));
        let mut tasks = Vec::new();
        let span = length(slots);
        for own in &self.jobs {
            let job = &self.problem.jobs[own.index];
            tasks.push((own.starts[1].offset(0), span, small(job.dose.water_l)?));
            let mut offset = 0;
            for rinse in &job.rinses {
                let start = own.starts[2].offset(length(offset));
                tasks.push((start, span, small(rinse.water_l)?));
                offset += rinse.duration;
            }
            for draw in &job.teardown_draws {
                let start = own.starts[3].offset(length(draw.slot));
                tasks.push((start, span, small(draw.litres)?));
            }
            tasks.push((own.starts[4].offset(0), span, small(job.fill_l)?));
        }
        let drawn = self
            .problem
            .taken
            .draws
            .iter()
            .map(|draw| (inside(draw.slot), draw.litres));
        let lacking = (inside(0) - 1, water.tank_l - water.initial_l);
        let mut fixed: Vec<Fixed> = Vec::new();
        for (from, litres) in drawn.chain([lacking]) {
            fixed.push((from, span, small(litres)?));
        }
        let all: i64 = tasks.iter().map(|need| i64::from(need.2)).sum::<i64>()
            + fixed.iter().map(|span| i64::from(span.2)).sum::<i64>();
        small(all)?;
        self.cumulative(tasks, &fixed, i32::try_from(most).unwrap_or(i32::MAX));
        Some(true)
    }
}
