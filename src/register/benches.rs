//! A bench with its media bed. All heights go up from the lowest point of its floor.

use chrono::NaiveDate;

use super::facts::Facts;
use super::part::Part;
use super::{FractionsKnown, Media, MediaLie, entry};
use crate::ids::{BenchId, BucketTestId};
use crate::science::flood::{
    self, Bed, BenchMeasures, FloodRefusal, Lie, MediaError, MediaFractions, bucket_test,
};
use crate::science::quantity::Known;
use crate::science::show;
use crate::science::stored::{Micrometres, Millilitres, Millimetres, OverflowCount, Permille};
use crate::science::units::Units;
use crate::text::Name;

pub type Bench = Part<BenchId, BenchFigures>;

/// What is on record of a bench.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchFigures {
    pub name: Name,
    /// Inside, along which the floor falls.
    pub length: Millimetres,
    pub width: Millimetres,
    pub floor_fall: Millimetres,
    pub wall: Millimetres,
    /// Without the clean-out riser.
    pub overflow: Millimetres,
    pub bed: Option<BedFigures>,
    pub recess: Millilitres,
    pub solids: Millilitres,
    /// The riser that is kept for it.
    pub riser: Option<Millimetres>,
    /// The lowest point of the floor over the ground.
    pub floor_height: Option<Millimetres>,
    pub ports: Ports,
}

/// What water leaves a bench through. What is not given has a usual figure, or cannot be reckoned with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ports {
    /// Inside bore of the standpipe.
    pub overflow_bore: Option<Micrometres>,
    /// How many alike stand in the bench; one where it is not given.
    pub overflows: Option<OverflowCount>,
    /// The part of its capacity that an overflow keeps behind its strainer or with roots about.
    pub overflow_keeps: Option<Permille>,
    /// Inside bore of the port that the bench drains through.
    pub drain_bore: Option<Micrometres>,
}

impl Ports {
    fn facts(&self, units: Units) -> Facts {
        let bore = |bore: Option<Micrometres>| {
            bore.map(|bore| entry::show_bore(bore.length(), units))
                .unwrap_or_default()
        };
        vec![
            ("bore of the overflow", bore(self.overflow_bore)),
            (
                "overflows alike",
                self.overflows
                    .map(|count| count.get().to_string())
                    .unwrap_or_default(),
            ),
            (
                "overflow keeps",
                self.overflow_keeps
                    .map(|share| format!("{}\u{a0}%", entry::typed_percent(share)))
                    .unwrap_or_default(),
            ),
            ("bore of the drain", bore(self.drain_bore)),
        ]
    }
}

/// The media in a bench. The figures for what drains and stays are overridden by a bucket test.
#[derive(Clone, Debug, PartialEq)]
pub struct BedFigures {
    pub media: Media,
    /// At the low end of the floor.
    pub depth: Millimetres,
    pub lie: MediaLie,
    pub drainable: Permille,
    pub retained: Permille,
    pub fractions_known: FractionsKnown,
}

/// A bucket test of a bench's own media.
#[derive(Clone, Debug, PartialEq)]
pub struct BucketTest {
    pub id: BucketTestId,
    pub bench_id: BenchId,
    pub figures: BucketFigures,
    pub tested_on: NaiveDate,
    pub by: Name,
}

/// What a bucket test measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BucketFigures {
    /// Media, dry and shaken down.
    pub bulk: Millilitres,
    /// Water taken up to the top of the media.
    pub filled: Millilitres,
    /// What then ran out by itself.
    pub drained: Millilitres,
}

impl BucketFigures {
    pub fn for_science(&self) -> flood::Bucket {
        flood::Bucket {
            bulk: self.bulk.volume(),
            soaked: self.filled.volume(),
            drained: self.drained.volume(),
        }
    }

    pub fn fractions(&self) -> Result<MediaFractions, MediaError> {
        bucket_test(
            self.bulk.volume(),
            self.filled.volume(),
            self.drained.volume(),
        )
    }
}

/// The heights of a bench as far as they are given: those that are can be held against each other
/// while others are still to be put right.
#[derive(Clone, Copy, Debug, Default)]
pub struct Heights {
    pub wall: Option<Millimetres>,
    pub overflow: Option<Millimetres>,
    pub floor_fall: Option<Millimetres>,
    pub media_depth: Option<Millimetres>,
}

impl Heights {
    /// A height that cannot be beside the wall: the field, and why.
    pub fn faults(&self, units: Units) -> Vec<(&'static str, String)> {
        let show = |length: Millimetres| show::length(length.length(), units);
        let mut faults = Vec::new();
        let Some(wall) = self.wall else {
            return faults;
        };
        if let Some(depth) = self.media_depth.filter(|depth| *depth > wall) {
            faults.push((
                "media_depth",
                format!(
                    "Media {} deep stand over a wall of {}. Measure both again from the floor at the drain.",
                    show(depth),
                    show(wall)
                ),
            ));
        }
        if let Some(overflow) = self.overflow.filter(|overflow| *overflow >= wall) {
            faults.push((
                "overflow",
                format!(
                    "{} is not below the wall, {}: the bench would run over. Measure both again from the floor at the drain.",
                    show(overflow),
                    show(wall)
                ),
            ));
        }
        if let Some(fall) = self.floor_fall.filter(|fall| *fall >= wall) {
            faults.push((
                "floor_fall",
                format!(
                    "A floor that falls by {} comes out over a wall of {}. Measure the fall from end to end, in height.",
                    show(fall),
                    show(wall)
                ),
            ));
        }
        faults
    }
}

impl BenchFigures {
    pub fn media(&self) -> Media {
        self.bed.as_ref().map_or(Media::None, |bed| bed.media)
    }

    /// A measure that cannot be beside another one: the field, and why.
    pub fn faults(&self, units: Units) -> Vec<(&'static str, String)> {
        let mut faults = Heights {
            wall: Some(self.wall),
            overflow: Some(self.overflow),
            floor_fall: Some(self.floor_fall),
            media_depth: self.bed.as_ref().map(|bed| bed.depth),
        }
        .faults(units);
        let Some(bed) = &self.bed else {
            return faults;
        };
        let (drains, stays) = (bed.drainable.share(), bed.retained.share());
        if drains + stays > 0.98 {
            faults.push((
                "drainable",
                format!(
                    "What drains and what stays make {}\u{a0}% of the bed together, which leaves no room for the media.",
                    show::fixed((drains + stays) * 100.0, 1)
                ),
            ));
        }
        faults
    }

    /// The same for science; a bucket test overrides the fractions on record.
    pub fn for_science(&self, test: Option<&BucketFigures>) -> Result<flood::Bench, FloodRefusal> {
        let bed = match &self.bed {
            None => None,
            Some(bed) => {
                let (fractions, known) = match test {
                    Some(test) => (test.fractions()?, Known::Measured),
                    None => (
                        MediaFractions::new(bed.drainable.share(), bed.retained.share())?,
                        bed.fractions_known.known(),
                    ),
                };
                let lie = match bed.lie {
                    MediaLie::Level => Lie::Level,
                    MediaLie::FollowsFloor => Lie::FollowsFloor,
                };
                Some(Bed {
                    depth: bed.depth.length(),
                    lie,
                    fractions,
                    known,
                })
            }
        };
        flood::Bench::new(BenchMeasures {
            length: self.length.length(),
            width: self.width.length(),
            fall: self.floor_fall.length(),
            bed,
            overflow: self.overflow.length(),
            wall: self.wall.length(),
            recess: self.recess.volume(),
            displaced: self.solids.volume(),
        })
    }

    /// Whether a fill that was measured with these figures still speaks of the other ones: name,
    /// height over the ground and the riser that is kept do not change what a bench holds, and
    /// neither do fractions, which are a way to reckon it.
    pub fn holds_as(&self, other: &Self) -> bool {
        let shape = |bench: &Self| {
            let bed = bench
                .bed
                .as_ref()
                .map(|bed| (bed.media, bed.depth, bed.lie));
            (
                (
                    bench.length,
                    bench.width,
                    bench.floor_fall,
                    bench.wall,
                    bench.overflow,
                ),
                (bed, bench.recess, bench.solids),
            )
        };
        shape(self) == shape(other)
    }

    pub fn facts(&self, units: Units) -> Facts {
        let length = |length: Millimetres| show::length(length.length(), units);
        let percent = |share: Permille| format!("{}\u{a0}%", show::fixed(share.share() * 100.0, 1));
        let bed = |words: &dyn Fn(&BedFigures) -> String| {
            self.bed.as_ref().map(words).unwrap_or_default()
        };
        let some = |volume: Millilitres| {
            if volume.get() == 0 {
                String::new()
            } else {
                show::volume(volume.volume(), units)
            }
        };
        let mut facts = vec![
            ("name", self.name.to_string()),
            ("length", length(self.length)),
            ("width", length(self.width)),
            ("fall of the floor", length(self.floor_fall)),
            ("wall", length(self.wall)),
            ("overflow", length(self.overflow)),
            ("media", self.media().words().to_owned()),
            ("depth of the media", bed(&|bed| length(bed.depth))),
            ("top of the media", bed(&|bed| bed.lie.to_string())),
            (
                "drains",
                bed(&|bed| format!("{}, {}", percent(bed.drainable), bed.fractions_known)),
            ),
            (
                "stays wet",
                bed(&|bed| format!("{}, {}", percent(bed.retained), bed.fractions_known)),
            ),
            ("grooves", some(self.recess)),
            ("solids", some(self.solids)),
            ("riser kept", self.riser.map(length).unwrap_or_default()),
            (
                "floor over the ground",
                self.floor_height.map(length).unwrap_or_default(),
            ),
        ];
        facts.extend(self.ports.facts(units));
        facts
    }
}
