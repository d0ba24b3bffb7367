//! The ground floor: pure computing, no IO, no clock, no database.
//!
//! Inputs in, a value or a refusal out. Every function's document names its formula, units, range
//! and source; one worked number is its doctest.

pub mod parse;
pub mod quantity;
pub mod show;
pub mod stored;
pub mod strength;
pub mod units;

pub mod peroxide;
pub mod water;
