//! Slackwater: clean-outs of flood-and-drain systems, from a turnover date to a released system.

pub mod science;
