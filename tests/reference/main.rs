//! The science against values from outside the house: each row of the files beside this one is
//! checked by its id at the tolerance it states, or left with a reason. A row that no check knows
//! fails.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a row that cannot be read fails, and the counts are printed"
)]

mod air;
mod basins;
mod classes;
mod flood;
mod lines;
mod near;
mod readings;
mod rows;
mod rules;
mod soaks;
mod solutions;
mod tubing;
