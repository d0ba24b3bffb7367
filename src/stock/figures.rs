//! The figures of the site for its stock, such as how far a count may differ before it is a trouble.

use crate::clock::Moment;
use crate::science::show;
use crate::science::stored::{Millilitres, Permille};
use crate::science::units::Units;
use crate::text::{Name, Note};

/// What the site goes by.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    pub differs: Differs,
}

/// How far a count may differ before it opens a trouble: by the greater of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Differs {
    pub amount: Millilitres,
    /// Of the balance.
    pub share: Permille,
}

/// A row of them, with who entered it.
#[derive(Clone, Debug)]
pub struct Entered {
    pub figures: Figures,
    pub why: Note,
    pub person: Name,
    pub at: Moment,
}

impl Figures {
    /// Until the site enters its own: half a litre, or two hundredths of the balance. A choice of this
    /// house: what clings in cans and jugs stays under it, a missing bottle does not (common practice, no source).
    pub const USUAL_ML: i64 = 500;
    pub const USUAL_PERMILLE: i64 = 20;

    pub fn usual() -> anyhow::Result<Self> {
        Ok(Self {
            differs: Differs {
                amount: Millilitres::new(Self::USUAL_ML)?,
                share: Permille::new(Self::USUAL_PERMILLE)?,
            },
        })
    }
}

impl Differs {
    /// Whether a count lies so far from the balance that somebody has to look into it.
    pub fn is_trouble(self, balance: Millilitres, found: Millilitres) -> bool {
        let off = balance.get().abs_diff(found.get());
        let of_balance = self.share.share() * balance.get() as f64;
        off as f64 > of_balance.max(self.amount.get() as f64)
    }

    /// '0.5 L or 2 % of the balance, whichever is more'.
    pub fn words(self, units: Units) -> String {
        format!(
            "{} or {}\u{a0}% of the balance, whichever is more",
            show::volume(self.amount.volume(), units),
            show::figures(self.share.share() * 100.0, 3)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_greater_of_the_two_decides() {
        let differs = Figures::usual().unwrap().differs;
        let ml = |amount| Millilitres::new(amount).unwrap();
        let trouble = |balance, found| differs.is_trouble(ml(balance), ml(found));
        assert!(!trouble(10_000, 9_500) && trouble(10_000, 9_499));
        assert!(!trouble(100_000, 98_000) && trouble(100_000, 97_999));
        assert!(trouble(0, 501) && !trouble(0, 500));
    }
}
