//! Moving and parting stock: a whole lot that goes to another store, or a part that goes on as a lot of
//! its own, so that every lot stands in one place, in one kind of container, and has one age.

use super::Lot;
use super::ledger::{EntryKind, NotEnough, NotEntered};
use crate::science::stored::{MillilitreChange, Millilitres};

crate::words! {
    /// What somebody does with a lot.
    pub enum Going {
        Whole = "whole",
        Part = "part",
        Decanted = "decanted",
    }
}

impl Going {
    pub fn words(self) -> &'static str {
        match self {
            Self::Whole => "The whole lot goes to another store",
            Self::Part => "Some closed containers of it go to another store",
            Self::Decanted => "Some of it is decanted into another container",
        }
    }

    pub fn entry(self) -> EntryKind {
        match self {
            Self::Whole | Self::Part => EntryKind::Moved,
            Self::Decanted => EntryKind::Decanted,
        }
    }

    /// Whether the part goes on as a lot of its own.
    pub fn parts(self) -> bool {
        self != Self::Whole
    }
}

/// The two changes of a parting: what the lot loses, the part gains.
pub fn parted(
    balance: Millilitres,
    amount: Millilitres,
) -> Result<(MillilitreChange, MillilitreChange), NotEntered> {
    if amount.get() == 0 {
        return Err(NotEntered::Nothing);
    }
    if amount > balance {
        return Err(NotEnough {
            on_hand: balance,
            asked: amount,
        }
        .into());
    }
    let gained = MillilitreChange::new(amount.get())?;
    Ok((MillilitreChange::new(-amount.get())?, gained))
}

/// The code offered for the next part of a lot: 'P-118/2', then 'P-118/3'.
pub fn next_code(lot: &Lot, taken: &[String]) -> String {
    let numbers = 2..=i64::try_from(taken.len()).unwrap_or(0) + 2;
    let mut codes = numbers.map(|number| format!("{}/{number}", lot.code));
    let free = codes.find(|code| !taken.contains(code));
    free.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_one_lot_loses_the_other_gains(balance in 0..100_000i64, asked in 0..100_000i64) {
            let ml = |amount| Millilitres::new(amount).unwrap();
            match parted(ml(balance), ml(asked)) {
                Ok((lost, gained)) => {
                    prop_assert_eq!(lost.get() + gained.get(), 0);
                    prop_assert!(gained.get() > 0 && balance + lost.get() >= 0);
                }
                Err(NotEntered::Nothing) => prop_assert_eq!(asked, 0),
                Err(NotEntered::NotEnough(_)) => prop_assert!(asked > balance),
                Err(other) => prop_assert!(false, "{}", other),
            }
        }
    }
}
