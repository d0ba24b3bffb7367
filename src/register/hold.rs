//! What a system holds, from its parts on record, and how each figure is known.
//!
//! The sum itself is science's. Here a measured fill that counts overrides the sum, and what is missing is
//! said by name; `reading` takes the parts from the record.

mod reading;

pub use reading::{hold_of, parts_of, parts_of_all};

use super::benches::{Bench, BucketTest};
use super::fills::{MeasuredFill, counting, range_of_fills};
use super::pumps::Pump;
use super::reservoirs::Reservoir;
use super::systems::System;
use super::tubing::TubingRun;
use super::{Media, MediaWas};
use crate::science::dilution::{AlreadyThere, SystemVolume};
use crate::science::flood::{
    self, Bucket, FloodRefusal, FloodTo, HoldRange, HoldUsed, ReturnFit, SystemHold, WaterLoop,
    hold_range, settle,
};
use crate::science::quantity::{Area, Known, Length, Volume, litres};
use crate::science::show;
use crate::science::sources::Choices;
use crate::science::stored::Millimetres;
use crate::science::strength::Strength;
use crate::science::uncertainty::Budget;
use crate::science::units::Units;
use crate::site::full_day;

/// All that is on record of a system, retired parts included.
#[derive(Clone, Debug, PartialEq)]
pub struct Parts {
    pub system: System,
    /// The one in use, and those before it.
    pub reservoirs: Vec<Reservoir>,
    pub benches: Vec<Bench>,
    /// Oldest first.
    pub bucket_tests: Vec<BucketTest>,
    pub pumps: Vec<Pump>,
    pub tubing: Vec<TubingRun>,
    /// Oldest first.
    pub fills: Vec<MeasuredFill>,
    /// What the site goes by where published sources differ.
    pub choices: Choices,
}

/// Why no volume can be given.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotKnown {
    /// Something is not on record; each line names one thing.
    #[error("{}", .0.join(" "))]
    Missing(Vec<String>),
    /// The parts on record cannot be flooded for a clean-out.
    #[error("{0}")]
    Refused(String),
}

impl NotKnown {
    /// Each reason, for a list.
    pub fn reasons(&self) -> Vec<String> {
        match self {
            Self::Missing(reasons) => reasons.clone(),
            Self::Refused(reason) => vec![reason.clone()],
        }
    }
}

/// What a system holds when it is flooded for a clean-out.
#[derive(Clone, Debug)]
pub struct Hold {
    /// The sum of the parts.
    pub parts: SystemHold,
    /// The sum, or the measured fill that overrides it.
    pub used: HoldUsed,
    /// The fill that counts.
    pub fill: Option<MeasuredFill>,
    /// How far the sum and its parts may be off.
    pub parts_range: HoldRange,
    /// How far the volume that is used may be off, in litres, and what that is made of.
    pub range: Budget,
    pub benches: Vec<BenchLevel>,
    /// Plan area of a reservoir with straight walls.
    pub reservoir_area: Option<Area>,
    pub heel_known: Known,
}

/// How high a bench is flooded for a clean-out.
#[derive(Clone, Debug)]
pub struct BenchLevel {
    pub name: String,
    pub media: Media,
    /// Where the overflow stands while a crop grows.
    pub overflow: Length,
    pub level: Length,
    /// What the clean-out riser must add to the overflow; nothing where it is high enough.
    pub riser_needed: Length,
    /// The riser that is kept for it.
    pub riser_kept: Option<Length>,
    /// The bucket test that its media go by.
    pub bucket_test: Option<BucketTest>,
}

/// One line of the volumes.
#[derive(Clone, Debug)]
pub struct Line {
    pub label: String,
    pub working: String,
    pub volume: Volume,
    /// How far it may be off either way.
    pub off: Volume,
    pub known: Known,
    /// Who measured it and when, where somebody did.
    pub by: String,
}

impl Parts {
    pub fn reservoir(&self) -> Option<&Reservoir> {
        self.reservoirs.iter().find(|reservoir| !reservoir.retired)
    }

    pub fn benches_in_use(&self) -> impl Iterator<Item = &Bench> {
        self.benches.iter().filter(|bench| !bench.retired)
    }

    pub fn pump(&self) -> Option<&Pump> {
        self.pumps.iter().find(|pump| !pump.retired)
    }

    pub fn tubing_in_use(&self) -> impl Iterator<Item = &TubingRun> {
        self.tubing.iter().filter(|run| !run.retired)
    }

    /// The newest bucket test of a bench.
    pub fn bucket_test(&self, bench: &Bench) -> Option<&BucketTest> {
        self.bucket_tests
            .iter()
            .rev()
            .find(|test| test.bench_id == bench.id)
    }

    /// What must be entered before a volume can be given.
    pub fn missing(&self) -> Vec<String> {
        let mut missing = Vec::new();
        if self.reservoir().is_none() {
            missing.push("No reservoir is entered.".to_owned());
        }
        if self.benches_in_use().next().is_none() {
            missing.push("No bench is entered.".to_owned());
        }
        if self.tubing_in_use().next().is_none() {
            missing.push("No tubing is entered: what it holds belongs to the dose.".to_owned());
        }
        missing
    }

    /// What the system holds when it is flooded for a clean-out.
    pub fn hold(&self) -> Result<Hold, NotKnown> {
        let missing = self.missing();
        let Some(reservoir) = self.reservoir().filter(|_| missing.is_empty()) else {
            return Err(NotKnown::Missing(missing));
        };
        let refused = |refusal: FloodRefusal| NotKnown::Refused(self.by_name(&refusal));
        let tests: Vec<Option<&BucketTest>> = self
            .benches_in_use()
            .map(|bench| self.bucket_test(bench))
            .collect();
        let benches = self
            .benches_in_use()
            .zip(&tests)
            .map(|(bench, test)| bench.figures.for_science(test.map(|test| &test.figures)))
            .collect::<Result<_, _>>()
            .map_err(refused)?;
        let water_loop = WaterLoop {
            benches,
            tubing: self.tubing_in_use().map(|run| run.figures.tube()).collect(),
            reservoir: reservoir.figures.for_science(),
        };
        let parts = flood::hold(&water_loop, FloodTo::clean_out()).map_err(refused)?;
        let heel_known = reservoir.figures.heel_known.known();
        let buckets: Vec<Option<Bucket>> = tests
            .iter()
            .map(|test| test.map(|test| test.figures.for_science()))
            .collect();
        let parts_range =
            hold_range(&water_loop, FloodTo::clean_out(), &buckets, heel_known).map_err(refused)?;
        let fill = counting(&self.fills, self.system.loop_version).cloned();
        let metered: Vec<Volume> = fill.iter().map(MeasuredFill::whole).collect();
        let used = settle(parts.total(), &metered).map_err(refused)?;
        let range = match &fill {
            Some(fill) => range_of_fills(fill, &self.fills, self.system.loop_version, &parts_range),
            None => parts_range.total.clone(),
        };
        let benches = self
            .benches_in_use()
            .zip(&parts.benches)
            .zip(&tests)
            .map(|((bench, held), test)| BenchLevel {
                name: bench.figures.name.to_string(),
                media: bench.figures.media(),
                overflow: bench.figures.overflow.length(),
                level: held.water.level,
                riser_needed: held.riser,
                riser_kept: bench.figures.riser.map(Millimetres::length),
                bucket_test: test.cloned(),
            })
            .collect();
        Ok(Hold {
            parts,
            used,
            fill,
            parts_range,
            range,
            benches,
            reservoir_area: reservoir.figures.area(),
            heel_known,
        })
    }

    /// A refusal with the bench's own name instead of its number.
    pub(super) fn by_name(&self, refusal: &FloodRefusal) -> String {
        let words = match refusal {
            FloodRefusal::WallTooLow { bench, .. } => {
                match self.benches_in_use().nth(bench.saturating_sub(1)) {
                    Some(named) => refusal.to_string().replacen(
                        &format!("Bench {bench} "),
                        &format!("{} ", named.figures.name),
                        1,
                    ),
                    None => refusal.to_string(),
                }
            }
            _ => refusal.to_string(),
        };
        format!("{words}.")
    }
}

impl Hold {
    /// The volume that a dose is reckoned for.
    pub fn volume(&self) -> SystemVolume {
        self.used.system_volume()
    }

    /// How far that volume may be off either way.
    pub fn off(&self) -> Volume {
        litres(self.range.expanded())
    }

    /// 'between 187 and 202 L'.
    pub fn range_words(&self, units: Units) -> String {
        let (least, most) = self.range.range();
        show::between_volumes(litres(least), litres(most), units)
    }

    /// The water that a dose finds in the system: the heel, and what wet media hold.
    pub fn already_there(&self, media: MediaWas, residual: Strength) -> AlreadyThere {
        self.parts.already_there(media == MediaWas::Dry, residual)
    }

    /// Room in the reservoir over the heel, for one mix.
    pub fn batch_room(&self) -> Volume {
        self.parts.capacity - self.parts.heel
    }

    pub fn return_fit(&self) -> ReturnFit {
        self.parts.return_fit()
    }

    /// The sum, line by line, in the reader's units.
    pub fn lines(&self, units: Units) -> Vec<Line> {
        let words = |volume: Volume| show::volume_fixed(volume, units, 1);
        let mut lines = Vec::with_capacity(self.benches.len() + 5);
        for ((bench, held), range) in self
            .benches
            .iter()
            .zip(&self.parts.benches)
            .zip(&self.parts_range.benches)
        {
            let water = &held.water;
            let working = match held.media_known {
                Some(_) => {
                    format!(
                        "{} in the media, {} over it",
                        words(water.void),
                        words(water.free)
                    )
                }
                None => String::new(),
            };
            lines.push(Line {
                label: format!(
                    "{}, flooded to {}",
                    bench.name,
                    show::length(bench.level, units)
                ),
                working,
                volume: water.void + water.free,
                off: litres(range.0.expanded()),
                known: Known::Computed,
                by: String::new(),
            });
        }
        let plain = |label: &str, volume, range: &Budget, known| Line {
            label: label.to_owned(),
            working: String::new(),
            volume,
            off: litres(range.expanded()),
            known,
            by: String::new(),
        };
        let ranges = &self.parts_range;
        lines.push(plain(
            "Tubing, full",
            self.parts.tubing,
            &ranges.tubing,
            Known::Computed,
        ));
        for ((bench, held), range) in self
            .benches
            .iter()
            .zip(&self.parts.benches)
            .zip(&ranges.benches)
        {
            let Some(known) = held.media_known else {
                continue;
            };
            let by = bench.bucket_test.as_ref().map_or_else(String::new, |test| {
                format!("bucket test, {}, {}", test.by, full_day(test.tested_on))
            });
            lines.push(Line {
                label: format!("{}, held in the media", bench.name),
                working: String::new(),
                volume: held.water.retained,
                off: litres(range.1.expanded()),
                known,
                by,
            });
        }
        lines.push(plain(
            "Reservoir, over the heel",
            self.parts.over_heel,
            &ranges.over_heel,
            Known::Entered,
        ));
        lines.push(plain(
            "Heel",
            self.parts.heel,
            &ranges.heel,
            self.heel_known,
        ));
        lines
    }

    /// What stands in the reservoir while the benches are flooded.
    pub fn in_reservoir_flooded(&self) -> Volume {
        self.parts.heel + self.parts.over_heel
    }

    /// Litres in one millimetre of level, where the walls are straight.
    pub fn per_millimetre(&self) -> Option<Volume> {
        self.reservoir_area.map(|area| litres(area.value))
    }
}
