//! Rooms that are closed to others now: from the pours on until the airing after the last one is over.

use chrono::TimeDelta;
use sqlx::SqliteConnection;

use super::airing::Closed;
use super::card::FrozenCard;
use super::{Cleanout, State, store};
use crate::clock::Moment;
use crate::site::{Site, length_words};
use crate::text::Name;

/// A room after a pour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aired {
    pub room: Name,
    pub last_pour: Moment,
    pub closed: Closed,
}

impl Aired {
    /// By the card that was issued. Cards of before airing was reckoned go by the usual time.
    pub fn of(card: &FrozenCard, last_pour: Moment) -> Self {
        Self {
            room: card.system.room.clone(),
            last_pour,
            closed: card.dose.closed(),
        }
    }

    /// When others may go in again, as far as arithmetic can say.
    pub fn until(&self) -> Moment {
        self.last_pour.plus(TimeDelta::minutes(self.closed.minutes))
    }

    pub fn is_over(&self, now: Moment) -> bool {
        now >= self.until()
    }

    /// 'North bay stays closed to others until 13:32: 4 h 20 min after the last pour, ...'
    pub fn words(&self, site: &Site, now: Moment) -> String {
        let when = |at: Moment| {
            if site.today(at) == site.today(now) {
                site.time_words(at)
            } else {
                site.moment_words(at)
            }
        };
        let (room, until, last) = (&self.room, when(self.until()), when(self.last_pour));
        if self.is_over(now) {
            return format!(
                "{room} is aired as reckoned since {until}. The label's or the law's time wins where it is longer."
            );
        }
        let long = length_words(self.closed.minutes);
        let because = self.closed.because.words();
        format!(
            "{room} stays closed to others until {until}: {long} after the last pour at {last}, {because}. Inside, only whoever is protected. The label's or the law's time wins where it is longer."
        )
    }
}

/// The rooms that are closed now, each with the clean-out that closed it.
///
/// # Errors
/// A row that breaks a limit, or a database that does not answer.
pub async fn closed_now<'c>(
    conn: &mut SqliteConnection,
    open: &[&'c Cleanout],
    now: Moment,
) -> anyhow::Result<Vec<(&'c Cleanout, Aired)>> {
    let mut found = Vec::new();
    let begun = |cleanout: &&Cleanout| matches!(cleanout.state, State::UnderWay | State::Held);
    for cleanout in open.iter().copied().filter(begun) {
        let Some(last_pour) = store::last_pour(conn, cleanout.id).await? else {
            continue;
        };
        let Some(card) = store::card_of(conn, cleanout.id).await? else {
            continue;
        };
        let aired = Aired::of(&card, last_pour);
        if !aired.is_over(now) {
            found.push((cleanout, aired));
        }
    }
    Ok(found)
}
