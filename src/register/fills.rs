//! A measured fill: how much water a system really took to its clean-out level.

use chrono::NaiveDate;

use super::{FillHow, HeelWas, MediaWas};
use crate::ids::{MeasuredFillId, SystemId};
use crate::science::dilution::{AlreadyThere, OwnTolerance};
use crate::science::flood::{FillBy, HoldRange, SystemHold, fill_range, whole_from_fill};
use crate::science::quantity::{OutOfRange, Volume, in_litres, litres};
use crate::science::stored::{Millilitres, Permille};
use crate::science::strength::Strength;
use crate::science::tolerances::{COUNTED_FILL, METER, TIMED_FILL, Tolerance};
use crate::science::uncertainty::Budget;
use crate::text::{Name, Note};

#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredFill {
    pub id: MeasuredFillId,
    pub system_id: SystemId,
    /// What the meter, the jug or the clock counted.
    pub metered: Millilitres,
    pub media_was: MediaWas,
    pub heel_was: HeelWas,
    /// What was there before, as known on that day.
    pub already: Millilitres,
    pub how: FillHow,
    /// How far what was counted may be off either way; none for the usual figure.
    pub off: Option<Permille>,
    /// What the register made of the whole system on that day.
    pub computed: Millilitres,
    /// The loop it was measured in.
    pub loop_version: i64,
    pub measured_on: NaiveDate,
    pub by: Name,
    pub note: Note,
    pub set_aside: Option<SetAside>,
}

/// Why a fill no longer counts.
#[derive(Clone, Debug, PartialEq)]
pub struct SetAside {
    pub reason: Note,
    pub by: Name,
}

/// What a new fill is made from.
#[derive(Clone, Debug)]
pub struct NewFill {
    pub metered: Millilitres,
    pub media_was: MediaWas,
    pub heel_was: HeelWas,
    pub how: FillHow,
    pub off: Option<Permille>,
    pub measured_on: NaiveDate,
    pub note: Note,
}

/// The water that a fill finds in the system.
pub fn already_there(hold: &SystemHold, media: MediaWas, heel: HeelWas) -> AlreadyThere {
    let mut already = hold.already_there(media == MediaWas::Dry, Strength::NONE);
    if heel == HeelWas::Emptied {
        already.heel = litres(0.0);
    }
    already
}

impl FillHow {
    /// What counts the water.
    fn instrument(self) -> &'static str {
        match self {
            Self::Metered => "Water meter",
            Self::Jug => "Jugs counted",
            Self::Timed => "Flow and clock",
        }
    }

    /// How far it may be off where nobody knows better.
    pub fn usual(self) -> Tolerance {
        match self {
            Self::Metered => METER,
            Self::Jug => COUNTED_FILL,
            Self::Timed => TIMED_FILL,
        }
    }
}

impl MeasuredFill {
    /// What counted the water, and how far that may be off.
    fn counted_by(&self) -> FillBy {
        let usual = self.how.usual();
        let (half_width, how) = match self.off {
            Some(own) => {
                let own = OwnTolerance::entered(own, "this fill");
                (own.half_width, own.said())
            }
            None => (usual.half_width, usual.of_it()),
        };
        FillBy {
            what: self.how.instrument(),
            half_width,
            how,
        }
    }

    /// The whole system: what was counted, and what was there before.
    pub fn whole(&self) -> Volume {
        let already = AlreadyThere {
            heel: self.already.volume(),
            ..AlreadyThere::nothing()
        };
        whole_from_fill(self.metered.volume(), &already)
    }

    /// What was there before, with how far it may be off: as much of itself as the parts that it was
    /// are known to today.
    fn already_range(&self, parts: &HoldRange) -> Budget {
        let mut there = Budget::exact(0.0);
        if self.heel_was == HeelWas::In {
            there = there.and(parts.heel.clone());
        }
        if self.media_was == MediaWas::Wet {
            there = there.and(parts.retained());
        }
        let already = in_litres(self.already.volume());
        let scale = if there.value > 0.0 {
            already / there.value
        } else {
            0.0
        };
        for part in &mut there.contributions {
            part.effect *= scale;
        }
        there.value = already;
        there
    }

    /// Whether it speaks of the loop as it is now.
    pub fn counts_in(&self, loop_version: i64) -> bool {
        self.set_aside.is_none() && self.loop_version == loop_version
    }
}

/// The newest fill that counts; fills come oldest first.
pub fn counting(fills: &[MeasuredFill], loop_version: i64) -> Option<&MeasuredFill> {
    fills.iter().rev().find(|fill| fill.counts_in(loop_version))
}

/// The volume by the newest fill with how far it may be off: its instrument, what was there before,
/// and how well the level is met again, of which every fill of the same loop says something.
pub fn range_of_fills(
    newest: &MeasuredFill,
    fills: &[MeasuredFill],
    loop_version: i64,
    parts: &HoldRange,
) -> Budget {
    let wholes: Vec<Volume> = fills
        .iter()
        .filter(|fill| fill.counts_in(loop_version))
        .map(MeasuredFill::whole)
        .collect();
    fill_range(
        newest.metered.volume(),
        &newest.counted_by(),
        &newest.already_range(parts),
        &wholes,
    )
}

/// The stored form of what was there before.
pub fn stored_already(already: &AlreadyThere) -> Result<Millilitres, OutOfRange> {
    Millilitres::nearest(already.volume())
}
