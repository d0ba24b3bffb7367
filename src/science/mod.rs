//! The ground floor: pure computing, no IO, no clock, no database.
