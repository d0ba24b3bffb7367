//! The tank of purified water, exact for every draw that is added or taken away.

use super::problem::{Slot, Water};

/// What the tank lacks to be full after each slot, and how much more later draws will need.
///
/// With `debt(t) = max(0, debt(t - 1) - rate) + draws(t)` and
/// `ahead(t) = max(0, ahead(t + 1) + draws(t + 1) - rate)`, the greatest shortage of any span of slots
/// that holds `t` is `debt(t) + ahead(t)`, so exactly `tank - debt(t) - ahead(t)` more can be drawn at
/// `t`. Both recursions are local: a change stops where the old value is met.
#[derive(Clone, Debug)]
pub(super) struct Tank {
    size: i64,
    rate: i64,
    start: i64,
    draws: Vec<i64>,
    debt: Vec<i64>,
    ahead: Vec<i64>,
}

impl Tank {
    pub fn new(water: Water, horizon: Slot) -> Self {
        let slots = horizon as usize + 1;
        let mut tank = Self {
            size: water.tank_l,
            rate: water.rate_l_per_slot,
            start: water.tank_l - water.initial_l,
            draws: vec![0; slots],
            debt: vec![0; slots],
            ahead: vec![0; slots],
        };
        let mut debt = tank.start;
        for slot in &mut tank.debt {
            debt = (debt - tank.rate).max(0);
            *slot = debt;
        }
        tank
    }

    /// Adds to what is drawn at `slot`; a negative volume takes a draw back.
    pub fn draw(&mut self, slot: Slot, litres: i64) {
        if litres == 0 {
            return;
        }
        let at = slot as usize;
        self.draws[at] += litres;
        let mut before = if at == 0 {
            self.start
        } else {
            self.debt[at - 1]
        };
        for index in at..self.debt.len() {
            let debt = (before - self.rate).max(0) + self.draws[index];
            if index > at && debt == self.debt[index] {
                break;
            }
            self.debt[index] = debt;
            before = debt;
        }
        for index in (0..at).rev() {
            let ahead = (self.ahead[index + 1] + self.draws[index + 1] - self.rate).max(0);
            if ahead == self.ahead[index] {
                break;
            }
            self.ahead[index] = ahead;
        }
    }

    /// How much more can be drawn at `slot`, in litres.
    pub fn room(&self, slot: Slot) -> i64 {
        let at = slot as usize;
        self.size - self.debt[at] - self.ahead[at]
    }

    /// Whether all these draws, in the order of time, can be made together.
    ///
    /// A span of slots that holds the draws `i` to `j` and no other of them lacks at most
    /// `debt(i) + what is drawn between - rate * slots between + ahead(j)` before they come.
    pub fn fits(&self, draws: &[(Slot, i64)]) -> bool {
        let all: i64 = draws.iter().map(|draw| draw.1).sum();
        if draws
            .iter()
            .all(|&(slot, litres)| litres == 0 || self.room(slot) >= all)
        {
            return true;
        }
        for (first, &(from, _)) in draws.iter().enumerate() {
            let mut lacking = self.debt[from as usize];
            let mut at = from as usize;
            for &(to, litres) in &draws[first..] {
                while at < to as usize {
                    at += 1;
                    lacking += self.draws[at] - self.rate;
                }
                lacking += litres;
                if lacking + self.ahead[at] > self.size {
                    return false;
                }
            }
        }
        true
    }
}
