//! Drawings from plain data to SVG: the tide line, the water loop, the measures of a bench
//! and of a reservoir, the jug, the soak, the flow over the months, what is left over
//! the days, hours and the work in them. They know no room and no database.
//!
//! Each drawing is a value that can be displayed. It escapes the text it was given and is marked
//! as ready HTML, so a template shows it with `{{ drawing }}`. No inline style and no script, so
//! it stands under a strict content policy; colours and strokes come from `water.css`.

pub mod bench_measures;
pub mod flow_trend;
pub mod hours_bar;
pub mod jug;
mod markup;
mod pebbles;
pub mod pictograms;
pub mod reservoir_measures;
mod rings;
#[cfg(test)]
mod samples;
mod scale;
pub mod soak;
pub mod stock_days;
pub mod tide;
pub mod topmarks;
pub mod water_loop;

use markup::{Text, n};
