//! The only SQL of the stock.

pub mod entries;
pub mod lots;
pub mod products;

pub use entries::{NewEntry, add, draw, of_lot};
pub use lots::{by_id, with_balance};
