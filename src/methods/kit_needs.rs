//! Which kit a method holds, how many of it, and from which phase to which.

use crate::ids::KitId;
use crate::methods::Phase;
use crate::text::Name;

/// Held from the beginning of one phase to the end of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NewKitNeed {
    pub kit_id: KitId,
    /// 0 when none is needed any more.
    pub count: i64,
    from: Phase,
    to: Phase,
}

impl NewKitNeed {
    pub const COUNT: std::ops::RangeInclusive<i64> = 0..=200;

    /// # Errors
    /// A last phase before the first.
    pub fn new(kit_id: KitId, count: i64, from: Phase, to: Phase) -> Result<Self, String> {
        if to < from {
            return Err(format!("{} comes before {from}.", to.title()));
        }
        Ok(Self {
            kit_id,
            count,
            from,
            to,
        })
    }

    pub fn from(self) -> Phase {
        self.from
    }

    pub fn to(self) -> Phase {
        self.to
    }

    /// How many of it a phase holds.
    pub fn held_in(self, phase: Phase) -> i64 {
        if (self.from..=self.to).contains(&phase) {
            self.count
        } else {
            0
        }
    }

    /// '1, dose to rinse'.
    pub fn words(self) -> String {
        match self.count {
            0 => "none".to_owned(),
            count if self.from == self.to => format!("{count}, {}", self.from),
            count => format!("{count}, {} to {}", self.from, self.to),
        }
    }
}

/// A need with the name of its kit.
#[derive(Clone, Debug)]
pub struct KitNeed {
    pub need: NewKitNeed,
    pub kit: Name,
}
