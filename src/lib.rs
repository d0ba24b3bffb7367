//! Slackwater: clean-outs of flood-and-drain systems, from a turnover date to a released system.
//!
//! The modules stand in reading order: a later one may use an earlier one, never the other way.

pub mod science;

pub mod drawings;
