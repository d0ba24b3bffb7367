//! Stories over HTTP, one binary: each on its own database, at a fixed time, without a port.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a story that cannot be set up fails, and says where"
)]

mod garden;

mod anew;
mod calculators;
mod job;

mod bookings;
mod cards;
mod checks;
mod clashes;
mod cleanouts;
mod crew;
mod crops;
mod dose_sheet;
mod effects;
mod enough;
mod fills;
mod first_aid;
mod first_run;
mod flow;
mod helpers;
mod hours;
mod house;
mod house_safety;
mod import;
mod let_go;
mod logbook;
mod measures;
mod methods;
mod mixing;
mod other_products;
mod plan;
mod planned_doses;
mod pours;
mod product_papers;
mod ranges;
mod readings;
mod register;
mod release;
mod run;
mod sessions;
mod site;
mod standing;
mod stock;
mod stores;
mod supplies;
mod tablets;
mod today;
mod tokens;
mod tolerances;
mod training;
mod water;
mod workload;
