//! Which lot is used first: the one whose date comes first, so that nothing passes its date on the shelf.

use std::cmp::Reverse;

use chrono::NaiveDate;

use super::Lot;
use crate::ids::LotId;

/// Sorts lots so that the first is used first: by the day of expiry or retest, those without a day last;
/// of one day an opened one first, then the one that came first.
pub fn order(lot: &Lot) -> (bool, Option<NaiveDate>, Reverse<bool>, NaiveDate, LotId) {
    (
        lot.retest_on.is_none(),
        lot.retest_on,
        Reverse(lot.opened_on.is_some()),
        lot.received_on,
        lot.id,
    )
}

/// The lots that can be used today, first out first.
pub fn usable(lots: &[Lot], today: NaiveDate) -> Vec<&Lot> {
    let mut usable: Vec<&Lot> = lots
        .iter()
        .filter(|lot| lot.unusable(today).is_none())
        .collect();
    usable.sort_by_key(|lot| order(lot));
    usable
}

/// Why a lot comes first, for the words beside it.
pub fn why(lot: &Lot) -> &'static str {
    match (lot.retest_on, lot.opened_on) {
        (Some(_), _) => "its date comes first",
        (None, Some(_)) => "it is open",
        (None, None) => "it came first",
    }
}
