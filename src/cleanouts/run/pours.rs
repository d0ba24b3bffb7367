//! The pours of a run against the dose sheet: what is in, what comes next, when it is enough.

use super::Poured;
use crate::cleanouts::card::FrozenDose;
use crate::science::quantity::OutOfRange;
use crate::science::stored::Millilitres;

/// The pour that comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ahead {
    /// From 1, through all batches and whatever is poured after them.
    pub no: i64,
    /// From 0; the last one for what is poured after the sheet's pours.
    pub batch: usize,
    /// As on the sheet; nothing for the rest that is poured after it.
    pub planned: Millilitres,
    /// What is still asked for: never more than the sheet asks in all.
    pub amount: Millilitres,
}

/// What is in, against the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dosed {
    pub sum: Millilitres,
    pub asked: Millilitres,
    /// One mark of the jug: nobody pours closer than that.
    pub mark: Millilitres,
}

impl Dosed {
    pub fn of(dose: &FrozenDose, poured: &[Poured]) -> Result<Self, OutOfRange> {
        let sum = poured.iter().map(|pour| pour.poured.get()).sum();
        Ok(Self {
            sum: Millilitres::new(sum)?,
            asked: dose.poured_when_done(),
            mark: dose.jug.mark,
        })
    }

    /// More than a mark is missing.
    pub fn is_short(self) -> bool {
        self.sum.get() + self.mark.get() < self.asked.get()
    }

    /// More than a mark too much is in.
    pub fn is_over(self) -> bool {
        self.sum.get() > self.asked.get() + self.mark.get()
    }

    fn rest(self) -> i64 {
        (self.asked.get() - self.sum.get()).max(0)
    }
}

/// The next pour; none when the whole dose is in, to a mark of the jug.
pub fn ahead(dose: &FrozenDose, poured: &[Poured]) -> Result<Option<Ahead>, OutOfRange> {
    let dosed = Dosed::of(dose, poured)?;
    let sheet = dose.pours();
    let planned = sheet.get(poured.len());
    // The sheet's last pour may be less than a mark away from what is in already.
    if dosed.rest() == 0 || (planned.is_none() && !dosed.is_short()) {
        return Ok(None);
    }
    let most = planned.map_or(dose.jug.capacity.get(), |pour| pour.planned.get());
    Ok(Some(Ahead {
        no: poured.len() as i64 + 1,
        batch: planned.map_or(dose.batches.len().saturating_sub(1), |pour| pour.batch),
        planned: planned.map_or(Millilitres::new(0)?, |pour| pour.planned),
        amount: Millilitres::new(most.min(dosed.rest()))?,
    }))
}
