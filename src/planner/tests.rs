//! The planner's own tests, by what they try.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

pub(crate) mod farms;

mod problem;
mod prove;
mod search;
mod telling;
mod verify;
