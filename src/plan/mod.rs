//! The plan: from what the site has on record to a timetable of clean-outs, and back to bookings.
//!
//! [`sources`] is what the other rooms say; [`facts`] is what follows from it for the planner, with
//! everything that had to be assumed said in words; [`mapping`] turns facts into the planner's problem
//! and its plan into a [`Timetable`]. All three are pure, so that the effect of a change can be shown
//! before it is saved: the change is made to a copy of the sources.

pub mod changes;
pub mod effects;
pub mod enough;
pub mod facts;
pub mod for_you;
pub mod gaps;
pub mod grid;
pub mod helps;
pub mod learn;
pub mod level;
pub mod load;
pub mod lots;
pub mod mapping;
pub mod moves;
pub mod pages;
pub mod proposal;
pub mod reasons;
pub mod rinsing;
pub mod sources;
pub mod store;
pub mod supplies;
pub mod takes;
pub mod tank;
pub mod timetable;
mod whose;
pub mod workload;

pub use facts::Facts;
pub use grid::Grid;
pub use proposal::{Proposal, propose};
pub use sources::Sources;
pub use timetable::{Entry, Line, Timetable, Work};

/// How many weeks are planned, this one among them.
pub const WEEKS: u8 = 6;

#[cfg(test)]
mod tests;
