//! What a system holds: benches with their media, tubing, reservoir; flooded for a clean-out or to
//! the overflow, and what comes back when it drains.
//!
//! A system worked through, bare benches so that it can be checked in the head:
//!
//! ```
//! use slackwater::science::flood::{Bench, BenchMeasures, FloodTo, Reservoir, WaterLoop, hold, settle};
//! use slackwater::science::quantity::{Known, in_litres, litres, metres, millimetres};
//! use slackwater::science::{strength::Strength, units::Units};
//!
//! let measures =
//!     BenchMeasures::plain(metres(2.4), metres(1.2), millimetres(60.0), millimetres(200.0));
//! let system = WaterLoop {
//!     benches: vec![Bench::new(measures).unwrap()],
//!     tubing: vec![],
//!     reservoir: Reservoir { capacity: litres(300.0), heel: litres(12.0), over_heel: litres(20.0) },
//! };
//! // 2.4 m by 1.2 m by 60 mm are 172.8 L; with cover and heel 204.8 L, and all of it drains.
//! let held = hold(&system, FloodTo::Overflow).unwrap();
//! assert!((in_litres(held.drained()) - 204.8).abs() < 1e-9);
//! assert!((in_litres(held.return_fit().spare) - 95.2).abs() < 1e-9);
//! assert_eq!(held.already_there(false, Strength::NONE).heel, litres(12.0));
//! assert_eq!(held.lines().last().unwrap().key, "sum");
//! // Over all media for a clean-out: 10 mm over the floor is less than the overflow, which stays.
//! assert_eq!(hold(&system, FloodTo::clean_out()).unwrap().total(), held.total());
//! // Two metered fills win over the sum.
//! let used = settle(held.total(), &[litres(203.0), litres(204.0)]).unwrap();
//! assert_eq!((used.known(), used.system_volume().known), (Known::Measured, Known::Measured));
//! assert!(used.verdict(Units::Metric).unwrap().starts_with("Measured"));
//! ```

mod bench;
mod hold;
mod media;
mod range;
mod slab;

pub use bench::{
    Bed, Bench, BenchMeasures, BenchWater, CleanOutLevel, FREEBOARD_MM, Lie, MARGIN_OVER_MEDIA_MM,
    grooves,
};
pub use hold::{
    BenchHold, FILL_APART_WARN, FloodTo, HoldLine, HoldUsed, Reservoir, ReturnFit, SystemHold,
    Tube, WaterLoop, hold, settle, whole_from_fill,
};
pub use media::{
    HoldingCurve, MEDIA_DEFAULTS, MediaDefault, MediaError, MediaFractions, MediaKind,
    SUM_TOLERANCE, bucket_test, mean_water_content,
};

pub use slab::{Slab, SlabVolumes};

pub use range::{Bucket, FillBy, HoldRange, fill_range, hold_range};

use thiserror::Error;

use super::quantity::{Length, OutOfRange, Volume};
use super::show;
use super::units::Units;

/// Why a volume cannot be given.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum FloodRefusal {
    /// A measure outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Fractions of media that cannot be.
    #[error(transparent)]
    Media(#[from] MediaError),
    /// The overflow stands above the wall.
    #[error("The overflow is {} high and the wall only {}: water would run over the wall first", mm(.overflow), mm(.wall))]
    OverflowAboveWall {
        /// Height of the overflow.
        overflow: Length,
        /// Height of the wall.
        wall: Length,
    },
    /// A level that is none.
    #[error("A flood level must be above the floor")]
    NoLevel,
    /// The level is above the wall.
    #[error("A flood level of {} is above the wall of {}", mm(.level), mm(.wall))]
    OverTheWall {
        /// The level.
        level: Length,
        /// Height of the wall.
        wall: Length,
    },
    /// The clean-out level leaves too little of the wall.
    #[error(
        "Bench {bench} would have to be flooded to {} to wet all its media, and its wall of {} leaves {} instead of {}. Take media out until the bed is {} lower, or raise the wall",
        mm(.level), mm(.wall), mm(.left), mm(.freeboard), mm(.lower)
    )]
    WallTooLow {
        /// Which bench, counted from 1.
        bench: usize,
        /// The level needed.
        level: Length,
        /// Height of the wall.
        wall: Length,
        /// What is left of the wall; may be less than nothing.
        left: Length,
        /// What has to be left.
        freeboard: Length,
        /// How much lower the bed would have to be.
        lower: Length,
    },
    /// The solids take more than the water.
    #[error(
        "The solids take {}, more than the {} of water around them",
        show::volume(*.displaced, Units::Metric), show::volume(*.water, Units::Metric)
    )]
    SolidsTakeAll {
        /// Volume of the solids.
        displaced: Volume,
        /// Volume of the water.
        water: Volume,
    },
    /// A loop without a bench.
    #[error("Add a bench: a system without one holds no flood")]
    NoBench,
    /// The heel and the cover of the pump are more than the reservoir takes.
    #[error(
        "The heel and the water over it are {} together, more than the reservoir's {}",
        show::volume(*.needed, Units::Metric), show::volume(*.capacity, Units::Metric)
    )]
    ReservoirTooSmall {
        /// Heel and cover.
        needed: Volume,
        /// What the reservoir takes.
        capacity: Volume,
    },
    /// A metered fill of nothing.
    #[error("A metered fill must be more than nothing")]
    NoFill,
}

fn mm(length: &Length) -> String {
    show::length(*length, Units::Metric)
}

#[cfg(test)]
mod tests;
