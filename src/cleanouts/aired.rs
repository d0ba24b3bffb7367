//! Rooms that are closed to others now: from the pours on until the airing is over that begins with the last
//! pour, or, where the open solution may keep the air above the limit, with the end of the first rinse.

use chrono::TimeDelta;
use sqlx::SqliteConnection;

use super::airing::{Closed, Counts, THROUGH_THE_SOAK};
use super::card::FrozenCard;
use super::{Cleanout, State, store};
use crate::clock::Moment;
use crate::ids::CleanoutId;
use crate::site::{Site, length_words};
use crate::text::Name;

/// A room after a pour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aired {
    pub room: Name,
    pub last_pour: Moment,
    /// When the first rinse was over.
    pub rinsed: Option<Moment>,
    pub closed: Closed,
}

impl Aired {
    /// By the card that was issued. Cards of before airing was reckoned go by the usual time.
    pub fn of(card: &FrozenCard, last_pour: Moment, rinsed: Option<Moment>) -> Self {
        Self {
            room: card.system.room.clone(),
            last_pour,
            rinsed,
            closed: card.dose.closed(),
        }
    }

    /// From when on the time counts; none while solution stands open.
    fn counts_from(&self) -> Option<Moment> {
        match self.closed.counts {
            Counts::AfterLastPour => Some(self.last_pour),
            Counts::AfterFirstRinse => self.rinsed,
        }
    }

    /// When others may go in again, as far as arithmetic can say.
    pub fn until(&self) -> Option<Moment> {
        let long = TimeDelta::minutes(self.closed.minutes);
        self.counts_from().map(|from| from.plus(long))
    }

    pub fn is_over(&self, now: Moment) -> bool {
        self.until().is_some_and(|until| now >= until)
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
        let room = &self.room;
        let long = length_words(self.closed.minutes);
        let because = self.closed.because.words();
        let Some((from, until)) = self.counts_from().zip(self.until()) else {
            return format!(
                "{room} stays closed to others until {long} after the first rinse, {because}. {THROUGH_THE_SOAK} Inside, only whoever is protected. The label's or the law's time wins where it is longer."
            );
        };
        let (until, from, counts) = (when(until), when(from), self.closed.counts.words());
        if self.is_over(now) {
            return format!(
                "{room} is aired as reckoned since {until}. The label's or the law's time wins where it is longer."
            );
        }
        format!(
            "{room} stays closed to others until {until}: {long} {counts} at {from}, {because}. Inside, only whoever is protected. The label's or the law's time wins where it is longer."
        )
    }
}

/// When the first rinse of a run was over; none while it is still to come.
///
/// # Errors
/// A row that breaks a limit, or a database that does not answer.
pub async fn rinsed(
    conn: &mut SqliteConnection,
    id: CleanoutId,
    card: &FrozenCard,
) -> sqlx::Result<Option<Moment>> {
    match card.first_rinse() {
        Some(step) => store::step_over(conn, id, step.no).await,
        None => Ok(None),
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
        let rinsed = rinsed(conn, cleanout.id, &card).await?;
        let aired = Aired::of(&card, last_pour, rinsed);
        if !aired.is_over(now) {
            found.push((cleanout, aired));
        }
    }
    Ok(found)
}
