//! The calculators: each model of the science as a thing that takes named values and gives worked
//! lines. Pure: no clock, no database, no page.
//!
//! A calculator is declared once, in the file of its group. The command, its list, its lines and the
//! pages all come from that declaration; see [`calculator::Calculator`].
//!
//! To add one: its `Calculator` and the function that fills its answer, in the file of its group. Of an
//! input, the words up to the first mark of punctuation are the label of its field and the rest its hint;
//! the key of an output ends with its unit; every number says how it comes about. A source that more than
//! one uses stands in `published`. The tests try its example by the command, by lines and on its page.

mod agents;
mod air;
pub mod answer;
mod benches;
pub mod calculator;
mod charts;
mod chlorine;
mod contacts;
mod conversions;
mod decays;
mod drains;
mod flows;
mod heat;
mod holes;
pub mod inputs;
pub mod kind;
mod laboratory;
mod media;
mod mixing;
mod pipework;
mod published;
mod pumps;
mod question;
mod readings;
pub mod registry;
mod soaks;
mod solutions;
mod vapours;

pub use answer::{Answer, Found, Line, Refusal};
pub use calculator::{Calculator, Input, Need, Output};
pub use inputs::Inputs;
pub use kind::{Given, Kind};
pub use question::Question;
pub use registry::{all, find};

mod telling;
mod typed;
pub use typed::work_typed;

#[cfg(test)]
mod tests;
