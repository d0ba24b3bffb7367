//! The only SQL of the register, by noun.

pub mod benches;
pub mod fills;
pub mod flow_tests;
pub mod gauges;
pub mod jugs;
pub mod kit;
pub mod pumps;
pub mod reservoirs;
pub mod rooms;
pub mod systems;
pub mod tubing;
pub mod water;
