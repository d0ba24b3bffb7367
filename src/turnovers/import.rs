//! Plantings and their turnovers from a table. All of it is taken, or nothing.
//!
//! One row is one planting: `system, crop, planted_on, turnover_on, next_on, next_crop`, days as
//! year-month-day. A planting with the same system, crop and planting day as one that is known is
//! the same planting: where its days differ, its turnover is moved. A planting of today or earlier
//! stands already, which is only taken for a system without a history; a later one is intended.

use chrono::NaiveDate;
use serde_json::json;

use super::board::{Board, Stand};
use super::pages::new;
use crate::clock::Moment;
use crate::crops::form::PlantingInput;
use crate::crops::{self, NewPlanting, Planting, Turnover};
use crate::db::WriteTx;
use crate::logbook::{self, Author, Entry};
use crate::site::Site;
use crate::table::{self, Columns, Fault, Row};
use crate::text::Note;

pub const COLUMNS: Columns = Columns {
    needed: &["system", "crop", "planted_on"],
    others: &["turnover_on", "next_on", "next_crop"],
};

/// What an import did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Done {
    pub added: usize,
    pub moved: usize,
    pub unchanged: usize,
}

impl std::fmt::Display for Done {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            added,
            moved,
            unchanged,
        } = self;
        write!(f, "{added} added, {moved} moved, {unchanged} unchanged")
    }
}

/// Takes every row inside this transaction, or tells every fault; then the caller must not commit.
pub async fn take(
    tx: &mut WriteTx,
    author: &Author,
    site: &Site,
    text: &str,
    now: Moment,
) -> anyhow::Result<Result<Done, Vec<Fault>>> {
    let (rows, mut faults) = table::read(text, &COLUMNS);
    let today = site.today(now);
    let mut done = Done::default();
    for row in &rows {
        // Each row sees what the rows above it did.
        let board = Board::load(tx.conn(), site, now, today).await?;
        let stand = board
            .stands
            .iter()
            .find(|stand| stand.name().as_str() == row.cell("system"));
        let Some(stand) = stand else {
            let message = match row.cell("system") {
                "" => "Write the system.".to_owned(),
                name => format!("There is no system in use called '{name}'."),
            };
            faults.push(row.fault("system", message));
            continue;
        };
        match take_row(tx, author, stand, row, today, now).await? {
            Ok(Taken::Added) => done.added += 1,
            Ok(Taken::Moved) => done.moved += 1,
            Ok(Taken::Unchanged) => done.unchanged += 1,
            Err(found) => faults.extend(found),
        }
    }
    Ok(if faults.is_empty() {
        Ok(done)
    } else {
        faults.sort_by_key(|fault| fault.line);
        Err(faults)
    })
}

enum Taken {
    Added,
    Moved,
    Unchanged,
}

async fn take_row(
    tx: &mut WriteTx,
    author: &Author,
    stand: &Stand,
    row: &Row,
    today: NaiveDate,
    now: Moment,
) -> anyhow::Result<Result<Taken, Vec<Fault>>> {
    let input = PlantingInput {
        system: stand.system.id.to_string(),
        crop: row.cell("crop").to_owned(),
        planted_on: row.cell("planted_on").to_owned(),
        turnover_on: row.cell("turnover_on").to_owned(),
        next_on: row.cell("next_on").to_owned(),
        next_crop: row.cell("next_crop").to_owned(),
        stands: String::new(),
    };
    let mut read = match input.check(today) {
        Ok(read) => read,
        Err(errors) => {
            let faults = errors.all().iter();
            return Ok(Err(faults
                .map(|(column, message)| row.fault(column.as_ref(), message.as_str()))
                .collect()));
        }
    };
    let known = crops::store::of_system(tx.conn(), stand.system.id)
        .await?
        .into_iter()
        .find(|known| known.crop == read.crop && known.planted_on == read.planted_on);
    if let Some(known) = known {
        return move_known(tx, author, stand, row, &known, &read.turnover, now).await;
    }
    read.stands = read.planted_on <= today;
    let has_grown = crops::store::has_grown(tx.conn(), stand.system.id).await?;
    let begins = match new::begins(stand, &read, has_grown, today) {
        Ok(begins) => begins,
        Err(not) => {
            return Ok(Err(vec![row.fault(
                "planted_on",
                format!("{} Add it on its own page.", not.message),
            )]));
        }
    };
    let planting = NewPlanting {
        system_id: read.system_id,
        crop: read.crop,
        planted_on: read.planted_on,
        turnover: read.turnover,
        begins,
    };
    new::write(tx, author, stand, &planting, now).await?;
    Ok(Ok(Taken::Added))
}

async fn move_known(
    tx: &mut WriteTx,
    author: &Author,
    stand: &Stand,
    row: &Row,
    known: &Planting,
    turnover: &Turnover,
    now: Moment,
) -> anyhow::Result<Result<Taken, Vec<Fault>>> {
    if known.turnover() == *turnover {
        return Ok(Ok(Taken::Unchanged));
    }
    if known.is_off() && known.turnover_on != turnover.off_on {
        let message = "The crop is off, so this day stays as it was.";
        return Ok(Err(vec![row.fault("turnover_on", message)]));
    }
    let reason = Note::parse(&format!("import, line {}", row.line)).map_err(anyhow::Error::msg)?;
    if !crops::store::move_turnover(tx, known, turnover, &reason, author.id, now).await? {
        anyhow::bail!("{} changed inside the import", known.words());
    }
    let subject = format!("{}, {}", stand.name(), known.words());
    let entry = Entry::about("planting", known.id.get(), subject, "turnover moved").with(json!({
        "turnover": turnover.off_on,
        "turnover was": known.turnover_on,
        "next planting": turnover.next_on,
        "next planting was": known.next_on,
        "next crop": turnover.next_crop,
        "reason": reason,
    }));
    logbook::write(tx, author, entry, now).await?;
    Ok(Ok(Taken::Moved))
}
