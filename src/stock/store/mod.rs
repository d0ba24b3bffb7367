//! The only SQL of the stock.

mod deliveries;
mod entries;
mod lots;
mod products;

pub use deliveries::{Happens, add_event, deliveries, delivery, delivery_events, insert_delivery};
pub use entries::{Draw, NewEntry, NotDrawn, draw, enter, of_lot, received};
pub use lots::{
    LotChange, NewAssay, NewLot, assays, by_id, change_lot, insert_assay, insert_lot, with_balance,
    withdraw,
};
pub use products::{NewProduct, change_product, insert_product, product, products, retire_product};

/// Whether an update touched its row: none means that somebody else changed it meanwhile.
fn touched(result: &sqlx::sqlite::SqliteQueryResult) -> bool {
    result.rows_affected() == 1
}
