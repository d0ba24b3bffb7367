//! What the last posting changed for one of the crew, for their first page.

use chrono::TimeDelta;
use sqlx::SqliteConnection;

use super::store;
use super::timetable::{Duty, Entry, changes, duty_words};
use crate::clock::Moment;
use crate::ids::PersonId;
use crate::site::Site;
use crate::turnovers::board::Board;

/// A change of the plan is said for so long.
const SAID_FOR: TimeDelta = TimeDelta::days(3);

/// A change for one person, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ForYou {
    /// When it was posted and by whom.
    pub posted: String,
    pub new: Vec<String>,
    pub no_longer: Vec<String>,
}

/// What the last posting changed for this person; nothing where it is longer ago, or past.
pub async fn of(
    conn: &mut SqliteConnection,
    board: &Board,
    site: &Site,
    person: PersonId,
    now: Moment,
) -> sqlx::Result<Option<ForYou>> {
    if !store::posted_since(conn, now.plus(-SAID_FOR)).await? {
        return Ok(None);
    }
    let mut postings = store::postings(conn, 2, None).await?.into_iter();
    let Some(last) = postings.next() else {
        return Ok(None);
    };
    let old = postings.next();
    let old: &[Entry] = old.as_ref().map_or(&[], |kept| &kept.entries);
    let words = |entries: &[Entry], duties: &[Duty]| -> Vec<String> {
        let of_each = duties.iter().map(|duty| {
            let stand = board.of(duty.system);
            let system = stand.map_or_else(String::new, |stand| stand.name().to_string());
            duty_words(entries, duty, &system, site.zone)
        });
        of_each.collect()
    };
    let change = changes(old, &last.entries, &[person], now).pop();
    Ok(change.map(|change| ForYou {
        posted: format!("{}, {}", site.moment_words(last.at), last.by),
        new: words(&last.entries, &change.new),
        no_longer: words(old, &change.no_longer),
    }))
}
