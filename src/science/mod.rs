//! The ground floor: pure computing, no IO, no clock, no database.
//!
//! Inputs in, a value or a refusal out. Every function's document names its formula, units, range
//! and source; one worked number is its doctest. `tests/tidy.rs` looks for the doctest.

#![warn(missing_docs, clippy::missing_errors_doc)]

pub mod parse;
pub mod quantity;
pub mod show;
pub mod stored;
pub mod strength;
pub mod units;

pub mod agents;
pub mod chlorine;
pub mod classes;
pub mod decomposition;
pub mod density_check;
pub mod dilution;
pub mod flood;
pub mod keeping;
pub mod label_rate;
pub mod peroxide;
pub mod sources;
pub mod statements;
pub mod titration;
pub mod transport;
pub mod water;

mod numeric;
pub mod viscosity;

pub mod fitting;
pub mod flood_time;
pub mod friction;
pub mod pipe;
pub mod pump;

pub mod drain;
pub mod mixing;
pub mod orifice;
pub mod overflow;

pub mod chart;
pub mod flow_test;
pub mod statistics;
pub mod tolerances;
pub mod trend;
pub mod uncertainty;

pub mod decay;
pub mod rinse;
pub mod soak;
pub mod strip;

pub mod air;
pub mod capillary;
pub mod evaporation;
pub mod osmotic;
pub mod ro;
pub mod vapour;

#[cfg(test)]
mod tests;
