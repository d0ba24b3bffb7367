//! Why a dose is refused, in words that say what to change.

use thiserror::Error;

use crate::science::peroxide::PeroxideError;
use crate::science::quantity::{OutOfRange, Volume};
use crate::science::show;
use crate::science::strength::Strength;
use crate::science::units::Units;

fn metric(volume: &Volume) -> String {
    show::volume(*volume, Units::Metric)
}

/// Why there is no dose.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum DoseRefusal {
    /// The stock is stronger than the house or the site handles.
    #[error(
        "The stock is {stock}, and no stock above {most} is handled. Ask the supplier for a weaker one; do not dilute it here"
    )]
    StockTooStrong {
        /// The stock.
        stock: Strength,
        /// The limit, inclusive.
        most: Strength,
    },
    /// The working strength is the stock's or more.
    #[error("{target} cannot be made from {stock}: the stock must be the stronger one")]
    TargetNotBelowStock {
        /// The working strength.
        target: Strength,
        /// The stock as reckoned.
        stock: Strength,
    },
    /// A working strength of nothing.
    #[error("Enter a working strength above 0")]
    NoTarget,
    /// The working strength is above what is permitted.
    #[error("{target} is above the {most} that is permitted here")]
    TargetAboveLimit {
        /// The working strength.
        target: Strength,
        /// The limit, inclusive.
        most: Strength,
    },
    /// The water already there fills the system.
    #[error(
        "{} stand in the system already, and it holds {}: no room is left for a dose. Drain it first, or measure again",
        metric(.already), metric(.system)
    )]
    AlreadyFull {
        /// Heel and retained water.
        already: Volume,
        /// What the system holds.
        system: Volume,
    },
    /// The water already there is as strong as the solution asked for.
    #[error(
        "The water already there reads {residual}, not weaker than {target}. Drain and rinse before a new dose"
    )]
    ResidualNotBelowTarget {
        /// The residual.
        residual: Strength,
        /// The working strength.
        target: Strength,
    },
    /// The water already there dilutes too far for the room that is left.
    #[error(
        "{} of concentrate are needed, and only {} are free beside the water already there: {target} cannot be reached. At the most {reachable} could be. Drain more water first",
        metric(.needs), metric(.free)
    )]
    NoRoom {
        /// The volume that is free.
        free: Volume,
        /// The concentrate that would be needed.
        needs: Volume,
        /// The strongest that the free volume would allow.
        reachable: Strength,
        /// The working strength.
        target: Strength,
    },
    /// The reservoir is far too small for the mix.
    #[error(
        "The reservoir has {} free for a mix of {}: that would be {batches} batches. Mix in a larger vessel",
        metric(.room), metric(.mix)
    )]
    TooManyBatches {
        /// Free room.
        room: Volume,
        /// Concentrate and purified water.
        mix: Volume,
        /// How many batches that would be.
        batches: usize,
    },
    /// A quantity outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A strength that the density model does not cover.
    #[error(transparent)]
    Peroxide(#[from] PeroxideError),
}

impl DoseRefusal {
    /// A stable text for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Self::StockTooStrong { .. } => "stock_too_strong",
            Self::TargetNotBelowStock { .. } => "target_not_below_stock",
            Self::NoTarget => "no_target",
            Self::TargetAboveLimit { .. } => "target_above_limit",
            Self::AlreadyFull { .. } => "already_full",
            Self::ResidualNotBelowTarget { .. } => "residual_not_below_target",
            Self::NoRoom { .. } => "no_room",
            Self::TooManyBatches { .. } => "too_many_batches",
            Self::OutOfRange(_) => "out_of_range",
            Self::Peroxide(_) => "strength_not_covered",
        }
    }
}
