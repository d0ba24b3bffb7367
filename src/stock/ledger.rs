//! The ledger of a lot: entries that are only added, and the rules of what may be added.

use crate::clock::Moment;
use crate::ids::{CleanoutId, LotId, StockEntryId};
use crate::science::quantity::OutOfRange;
use crate::science::show;
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::science::units::Units;
use crate::text::{Name, Note};

crate::words! {
    /// Why the balance of a lot changed.
    pub enum EntryKind {
        Received = "received",
        /// Poured, for a clean-out or for something else.
        Drawn = "drawn",
        /// Somebody looked, and this is what is there.
        Counted = "counted",
        Spilled = "spilled",
        Disposed = "disposed",
        /// A closed can that was taken along and came back unopened.
        Returned = "returned",
        /// It went to another store: the whole lot, or a part that goes on as a lot of its own.
        Moved = "moved",
        /// Some of it went into another container, which is a lot of its own.
        Decanted = "decanted",
    }
}

impl EntryKind {
    /// Whether it takes away from the lot.
    pub fn takes(self) -> bool {
        matches!(self, Self::Drawn | Self::Spilled | Self::Disposed)
    }
}

/// One entry as it stands in the ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct StockEntry {
    pub id: StockEntryId,
    pub lot_id: LotId,
    pub kind: EntryKind,
    pub change: MillilitreChange,
    /// What was found, for a count.
    pub counted: Option<Millilitres>,
    pub cleanout_id: Option<CleanoutId>,
    pub cleanout_number: Option<String>,
    pub reason: Note,
    pub person: Name,
    pub at: Moment,
    /// The entry that this one puts right.
    pub corrects: Option<StockEntryId>,
    /// The store it stood in and the one it went to, for what was moved.
    pub from_store: Option<Name>,
    pub to_store: Option<Name>,
    /// The lot at the other end, for what was parted.
    pub other_lot_id: Option<LotId>,
    pub other_lot_code: Option<String>,
}

/// More was asked for than is there.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.words(Units::Metric))]
pub struct NotEnough {
    pub on_hand: Millilitres,
    pub asked: Millilitres,
}

impl NotEnough {
    /// The refusal in the reader's units.
    pub fn words(&self, units: Units) -> String {
        let on_hand = show::volume(self.on_hand.volume(), units);
        let asked = show::volume(self.asked.volume(), units);
        format!(
            "{on_hand} is on hand, and {asked} is asked for. If there is more in the can, count it first"
        )
    }
}

/// Why an entry is not written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotEntered {
    #[error("Write an amount above nothing")]
    Nothing,
    #[error(transparent)]
    NotEnough(#[from] NotEnough),
    #[error("The count differs from the balance. Write why, as far as it is known")]
    CountNeedsReason {
        balance: Millilitres,
        found: Millilitres,
    },
    #[error("{0}")]
    NotCorrected(&'static str),
    #[error(
        "This lot was withdrawn. Nothing is taken from it or added to it, except what is disposed of"
    )]
    Withdrawn,
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

impl NotEntered {
    /// The refusal in the reader's units.
    pub fn words(&self, units: Units) -> String {
        match self {
            Self::NotEnough(refusal) => refusal.words(units),
            Self::CountNeedsReason { balance, found } => {
                let balance = show::volume(balance.volume(), units);
                let found = show::volume(found.volume(), units);
                format!(
                    "The balance says {balance}, and {found} was found. Write why, as far as it is known"
                )
            }
            other => other.to_string(),
        }
    }
}

/// The balance after these changes.
pub fn balance(
    changes: impl IntoIterator<Item = MillilitreChange>,
) -> Result<Millilitres, OutOfRange> {
    Millilitres::new(changes.into_iter().map(MillilitreChange::get).sum())
}

/// The change of an amount that is taken or brought.
pub fn moved(
    balance: Millilitres,
    kind: EntryKind,
    amount: Millilitres,
) -> Result<MillilitreChange, NotEntered> {
    if amount.get() == 0 {
        return Err(NotEntered::Nothing);
    }
    if !kind.takes() {
        balance.plus(amount)?;
        return Ok(MillilitreChange::new(amount.get())?);
    }
    if amount > balance {
        return Err(NotEnough {
            on_hand: balance,
            asked: amount,
        }
        .into());
    }
    Ok(MillilitreChange::new(-amount.get())?)
}

/// The change that a count brings. A count that agrees needs no reason; one that does not, does.
pub fn counted(
    balance: Millilitres,
    found: Millilitres,
    reason: &Note,
) -> Result<MillilitreChange, NotEntered> {
    if found != balance && reason.is_empty() {
        return Err(NotEntered::CountNeedsReason { balance, found });
    }
    Ok(found.since(balance))
}

/// What an entry says today, its corrections taken in: an amount, whichever way it went.
pub fn amount_now(entry: &StockEntry, all: &[StockEntry]) -> Result<Millilitres, OutOfRange> {
    let corrections = all.iter().filter(|other| other.corrects == Some(entry.id));
    let sum: i64 = entry.change.get() + corrections.map(|other| other.change.get()).sum::<i64>();
    Millilitres::new(if entry.kind.takes() { -sum } else { sum })
}

/// The change that puts an entry right, to what it should have said.
pub fn corrected(
    balance: Millilitres,
    entry: &StockEntry,
    all: &[StockEntry],
    should_be: Millilitres,
) -> Result<MillilitreChange, NotEntered> {
    if entry.corrects.is_some() {
        return Err(NotEntered::NotCorrected(
            "This is a correction itself. Correct the entry that it points at",
        ));
    }
    if entry.cleanout_id.is_some() {
        return Err(NotEntered::NotCorrected(
            "A pour belongs to the record of its clean-out. Count the lot: the count puts the balance right",
        ));
    }
    if entry.kind == EntryKind::Counted {
        return Err(NotEntered::NotCorrected(
            "A count is put right by counting again",
        ));
    }
    if matches!(entry.kind, EntryKind::Moved | EntryKind::Decanted) {
        return Err(NotEntered::NotCorrected(
            "What was moved or decanted is put right by moving it again, or by counting both lots",
        ));
    }
    let difference = should_be.since(amount_now(entry, all)?);
    if difference.get() == 0 {
        return Err(NotEntered::NotCorrected("That is what it says already"));
    }
    let change = MillilitreChange::new(if entry.kind.takes() {
        -difference.get()
    } else {
        difference.get()
    })?;
    if balance.get() + change.get() < 0 {
        let asked = Millilitres::new(-change.get())?;
        return Err(NotEnough {
            on_hand: balance,
            asked,
        }
        .into());
    }
    balance.after(change)?;
    Ok(change)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ml(amount: i64) -> Millilitres {
        Millilitres::new(amount).unwrap()
    }

    fn note(text: &str) -> Note {
        Note::parse(text).unwrap()
    }

    fn entry(id: i64, kind: EntryKind, change: i64) -> StockEntry {
        StockEntry {
            id: StockEntryId::from_row(id),
            lot_id: LotId::from_row(1),
            kind,
            change: MillilitreChange::new(change).unwrap(),
            counted: None,
            cleanout_id: None,
            cleanout_number: None,
            reason: Note::default(),
            person: Name::parse("Tobit A.").unwrap(),
            at: "2027-03-04T08:30:00Z".parse().unwrap(),
            corrects: None,
            from_store: None,
            to_store: None,
            other_lot_id: None,
            other_lot_code: None,
        }
    }

    #[test]
    fn the_last_litre_goes_once_and_not_a_millilitre_more() {
        assert_eq!(
            moved(ml(1_000), EntryKind::Drawn, ml(1_000)).unwrap().get(),
            -1_000
        );
        let refused = moved(ml(1_000), EntryKind::Drawn, ml(1_001)).unwrap_err();
        assert_eq!(
            refused.to_string().replace('\u{a0}', " "),
            "1 L is on hand, and 1.001 L is asked for. If there is more in the can, count it first"
        );
        assert_eq!(
            moved(ml(5), EntryKind::Spilled, ml(0)),
            Err(NotEntered::Nothing)
        );
    }

    #[test]
    fn a_count_that_differs_says_why() {
        assert_eq!(counted(ml(900), ml(900), &note("")).unwrap().get(), 0);
        assert!(
            counted(ml(900), ml(870), &note(""))
                .unwrap_err()
                .to_string()
                .contains("Write why")
        );
        assert_eq!(
            counted(ml(900), ml(870), &note("drips")).unwrap().get(),
            -30
        );
        assert_eq!(
            counted(ml(0), ml(870), &note("found a can")).unwrap().get(),
            870
        );
    }

    #[test]
    fn a_correction_adds_the_difference_and_the_next_one_starts_from_there() {
        let received = entry(1, EntryKind::Received, 25_000);
        let mut all = vec![received.clone()];
        let change = corrected(ml(25_000), &received, &all, ml(20_000)).unwrap();
        assert_eq!(change.get(), -5_000);
        all.push(StockEntry {
            corrects: Some(received.id),
            ..entry(2, EntryKind::Received, -5_000)
        });
        assert_eq!(amount_now(&received, &all).unwrap(), ml(20_000));
        assert_eq!(
            corrected(ml(20_000), &received, &all, ml(25_000))
                .unwrap()
                .get(),
            5_000
        );
        // What was spilled less than was written comes back into the balance.
        let spilled = entry(3, EntryKind::Spilled, -2_000);
        assert_eq!(
            corrected(ml(18_000), &spilled, &all, ml(500))
                .unwrap()
                .get(),
            1_500
        );
        assert!(matches!(
            corrected(ml(1_000), &received, &all, ml(0)),
            Err(NotEntered::NotEnough(_))
        ));
        assert!(corrected(ml(0), &all[1].clone(), &all, ml(0)).is_err());
        assert!(corrected(ml(0), &entry(4, EntryKind::Counted, 0), &all, ml(0)).is_err());
    }

    /// Something somebody may try with a lot.
    fn attempt() -> impl Strategy<Value = (EntryKind, i64)> {
        // What is moved or decanted has two ends and is tried where it is parted.
        let alone = |kind: &EntryKind| !matches!(kind, EntryKind::Moved | EntryKind::Decanted);
        let kinds: Vec<EntryKind> = EntryKind::ALL.iter().copied().filter(alone).collect();
        (prop::sample::select(kinds), 0..40_000i64)
    }

    proptest! {
        #[test]
        fn whatever_is_tried_the_balance_is_the_sum_and_never_below_nothing(tries in prop::collection::vec(attempt(), 0..60)) {
            let mut ledger: Vec<MillilitreChange> = Vec::new();
            let mut plain = 0i64;
            for (kind, amount) in tries {
                let before = balance(ledger.iter().copied()).unwrap();
                let outcome = if kind == EntryKind::Counted {
                    counted(before, ml(amount), &note("looked"))
                } else {
                    moved(before, kind, ml(amount))
                };
                match outcome {
                    Ok(change) => {
                        plain = if kind == EntryKind::Counted { amount } else if kind.takes() { plain - amount } else { plain + amount };
                        ledger.push(change);
                    }
                    Err(NotEntered::NotEnough(refusal)) => prop_assert!(amount > plain && refusal.on_hand == before),
                    Err(NotEntered::Nothing) => prop_assert_eq!(amount, 0),
                    Err(other) => prop_assert!(false, "{}", other),
                }
                prop_assert_eq!(balance(ledger.iter().copied()).unwrap().get(), plain);
            }
            // The order of the lines does not matter to the sum.
            ledger.reverse();
            prop_assert_eq!(balance(ledger.iter().copied()).unwrap().get(), plain);
            ledger.sort();
            prop_assert_eq!(balance(ledger).unwrap().get(), plain);
        }
    }
}
