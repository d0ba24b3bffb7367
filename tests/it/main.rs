//! Stories over HTTP, one binary: each on its own database, at a fixed time, without a port.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a story that cannot be set up fails, and says where"
)]

mod garden;

mod calculators;
mod job;

mod checks;
mod clashes;
mod cleanouts;
mod crew;
mod crops;
mod first_run;
mod flow;
mod hours;
mod house;
mod import;
mod logbook;
mod methods;
mod plan;
mod register;
mod release;
mod run;
mod site;
mod stock;
mod supplies;
mod today;
mod water;
