//! The calculators: each model of the science as a thing that takes named values and gives worked
//! lines. Pure: no clock, no database, no page.
//!
//! A calculator is declared once, in the file of its group. The command, its list, its lines and the
//! pages all come from that declaration; see [`calculator::Calculator`].
//!
//! To add one: its `Calculator` and the function that fills its answer, in the file of its group. Of an
//! input, the words up to the first mark of punctuation are the label of its field and the rest its hint;
//! the key of an output ends with its unit. Every number says how it comes about: its formula, with the
//! inputs and earlier outputs that stand in it in braces, so that the numbers can be put in. An input that
//! is measured says how far it may be off, and every number that depends on it gets its range from that. A source that more than
//! one uses stands in `published`. The tests try its example by the command, by lines and on its page.

mod agents;
mod air;
pub mod answer;
mod benches;
mod bores;
pub mod calculator;
mod charts;
mod chlorine;
mod contacts;
mod conversions;
mod decays;
mod dosing;
mod drains;
mod evaporating;
mod flows;
mod heat;
mod holding;
mod holes;
pub mod inputs;
pub mod kind;
mod laboratory;
mod media;
mod mixing;
mod off;
mod pipework;
mod published;
mod pumps;
mod question;
mod ranges;
mod readings;
pub mod registry;
mod rinsing;
mod salts;
mod slabs;
mod soaks;
mod solutions;
mod vapours;
mod working;

pub use answer::{Answer, Found, Line, Refusal};
pub use calculator::{Calculator, Input, Need, Output, Usual};
pub use inputs::Inputs;
pub use kind::{Given, Kind};
pub use off::Off;
pub use question::Question;
pub use ranges::{Part, Range};
pub use registry::{all, find};

mod telling;
mod typed;
pub use typed::{work_typed, work_typed_by};

#[cfg(test)]
mod tests;
