//! How far the stock goes: what each lot has, and what the open clean-outs take from it in their
//! order.

use chrono::NaiveDateTime;
use sqlx::SqliteConnection;

use super::board::Board;
use crate::cleanouts::given::still_takes;
use crate::clock::Moment;
use crate::drawings::tide::{StockFall, StockRow};
use crate::science::quantity::{Volume, in_litres, litres};
use crate::science::show;
use crate::site::{Site, day_words, short_day};
use crate::stock::{self, Lot};

/// One lot and what is asked of it.
#[derive(Clone, Debug)]
pub struct Supply {
    pub lot: Lot,
    /// In order of time.
    pub takes: Vec<Take>,
}

/// A clean-out that takes from a lot.
#[derive(Clone, Debug)]
pub struct Take {
    pub system: String,
    pub number: String,
    pub href: String,
    pub at: NaiveDateTime,
    /// What is left in the lot after it; below nothing where it does not suffice.
    pub left: Volume,
}

/// The lots in use, and what the clean-outs on this board take from them.
pub async fn of_board(
    conn: &mut SqliteConnection,
    board: &Board,
    site: &Site,
    now: Moment,
) -> anyhow::Result<Vec<Supply>> {
    let today = site.today(now);
    let mut supplies = Vec::new();
    for lot in stock::store::with_balance(conn).await? {
        let mut open: Vec<_> = board
            .stands
            .iter()
            .filter_map(|stand| stand.open())
            .filter(|open| open.lot_id == Some(lot.id))
            .collect();
        open.sort_by_key(|open| (open.starts(), open.id));
        let mut left = lot.on_hand.volume();
        let mut takes = Vec::new();
        for cleanout in open {
            let takes_now = still_takes(conn, cleanout, &lot, site, today).await?;
            if takes_now.get() == 0 {
                continue;
            }
            left -= takes_now.volume();
            takes.push(Take {
                system: cleanout.system_name.to_string(),
                number: cleanout.number.clone(),
                href: cleanout.path(),
                at: cleanout.starts(),
                left,
            });
        }
        if (lot.is_peroxide() && lot.unusable(today).is_none()) || !takes.is_empty() {
            supplies.push(Supply { lot, takes });
        }
    }
    Ok(supplies)
}

impl Supply {
    /// The first clean-out for which the lot does not suffice, and what is missing then.
    pub fn short(&self) -> Option<(&Take, Volume)> {
        let first = self.takes.iter().find(|take| take.left < litres(0.0))?;
        Some((first, -first.left))
    }

    /// The lot as a row below the tide line.
    pub fn row(&self, site: &Site) -> StockRow {
        let short = self.short();
        let state = match (&short, self.takes.is_empty()) {
            (Some((take, _)), _) => format!("short from {}", short_day(take.at.date())),
            (None, true) => "nothing is booked from it".to_owned(),
            (None, false) => "suffices".to_owned(),
        };
        let note = short.map(|(take, missing)| {
            format!(
                "{} for {}, on {}, {} are missing.",
                self.lot.words(),
                take.number,
                day_words(take.at.date()),
                show::volume(missing, site.units)
            )
        });
        StockRow {
            name: format!("{}, {}", self.lot.code, self.lot.product),
            href: self.lot.path(),
            state,
            on_hand: format!(
                "{} on hand",
                show::volume(self.lot.on_hand.volume(), site.units)
            ),
            start_l: in_litres(self.lot.on_hand.volume()),
            falls: self
                .takes
                .iter()
                .map(|take| StockFall {
                    at: take.at,
                    left_l: in_litres(take.left),
                })
                .collect(),
            note: note.map(capital).unwrap_or_default(),
        }
    }
}

fn capital(text: String) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => text,
    }
}
