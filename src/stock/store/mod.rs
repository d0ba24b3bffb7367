//! The only SQL of the stock.

mod deliveries;
mod entries;
mod figures;
mod lots;
mod made;
mod ordering;
mod parts;
mod products;
mod sheets;
mod stores;

pub use deliveries::{Happens, add_event, deliveries, delivery, delivery_events, insert_delivery};
pub use entries::{Draw, NewEntry, NotDrawn, draw, enter, of_lot, received};
pub use figures::{all_figures, figures, insert_figures};
pub use lots::{
    LotChange, NewAssay, NewLot, assays, by_id, change_lot, insert_assay, insert_lot, with_balance,
    withdraw,
};
pub use made::{NewMade, insert_made};
pub use ordering::{all_terms, insert_terms};
pub use parts::{NewMove, NewPart, codes, enter_move, insert_part, open, put_into};
pub use sheets::{insert_sheet, sheet_file, sheets};
pub use stores::{insert_store, retire_store, store, stores, update_store};

pub use products::{NewProduct, change_product, insert_product, product, products, retire_product};

/// Whether an update touched its row: none means that somebody else changed it meanwhile.
fn touched(result: &sqlx::sqlite::SqliteQueryResult) -> bool {
    result.rows_affected() == 1
}
