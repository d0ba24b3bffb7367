//! The first run: an empty register gets its site and its coordinator.

pub mod pages;
