//! The first time at which a room lets a proposed clean-out be dosed, judged as the booking is judged.

use chrono::{Days, Timelike};
use sqlx::SqliteConnection;

use super::{Clashes, FAR_DAYS, Known, Lying, of_room, parts};
use crate::cleanouts::{Cleanout, store};
use crate::crops::gap::{Slot, later};
use crate::hours::Times;
use crate::site::Site;

/// Farther than this nobody looks for a free room: the proposal then stands at its earliest time.
const LOOK_AHEAD: Days = Days::new(28);

/// The first of the slots from this one on in which nothing stands against the dosing of its room; this one
/// itself where there is none within four weeks.
///
/// # Errors
/// A row that breaks a limit, or a database that does not answer.
pub async fn first_free(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    earliest: Slot,
    site: &Site,
) -> anyhow::Result<Slot> {
    let times = Times::load(conn, site).await?;
    let mut known = Known::load(conn).await?;
    let Some(this) = known.lying(conn, cleanout, site).await? else {
        return Ok(earliest);
    };
    let last = earliest.day().checked_add_days(LOOK_AHEAD);
    let open = store::open(conn).await?;
    let near = |days: i64| days >= -FAR_DAYS;
    let others = known.beside(conn, &open, cleanout, near, site).await?;
    let room = times.room(this.room);
    let contents = known.contents_of(cleanout);
    let is_free = |slot: &Slot| {
        let there = Cleanout {
            starts_on: slot.day(),
            starts_min: i64::from(slot.starts.num_seconds_from_midnight() / 60),
            ..cleanout.clone()
        };
        let rinses = contents.map_or(1, |contents| contents.rinses_at_least);
        let lying = Lying {
            cleanout: &there,
            lines: contents.map_or_else(Vec::new, |contents| {
                parts::booked(&there, contents, rinses, site)
            }),
            ..this.clone()
        };
        let mut clashes = Clashes::default();
        of_room(&lying, &others, (room, &times.site), site, &mut clashes);
        clashes.against.is_empty()
    };
    let length = cleanout.length.get();
    let mut slots = later(earliest, &site.hours, length)
        .take_while(|slot| last.is_none_or(|last| slot.day() <= last));
    Ok(slots.find(is_free).unwrap_or(earliest))
}
