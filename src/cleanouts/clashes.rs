//! What a booking clashes with: people who are away then, and others in the room, who must not be there
//! while concentrate is poured.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::Cleanout;
use super::booking::Crew;
use super::given::Obstacle;
use crate::hours::{PersonTimes, RoomTimes, SiteDays, Times, week::hours_words};
use crate::ids::PersonId;
use crate::register;
use crate::site::{Site, day_words};

/// What stands against the time of a clean-out.
#[derive(Debug, Default, PartialEq)]
pub struct Clashes {
    /// Who is booked and not there: no card is issued.
    pub away: Vec<String>,
    /// When others are in its room: to be looked at before pouring.
    pub others: Vec<String>,
}

impl Clashes {
    /// The absences as what is missing before a card can be issued.
    pub fn obstacles(&self, cleanout: &Cleanout) -> impl Iterator<Item = Obstacle> {
        let href = format!("{}/booking", cleanout.path());
        self.away
            .iter()
            .map(move |what| Obstacle::new(what.clone(), "Change the booking", href.clone()))
    }
}

/// Looks a booking up in the hours.
///
/// # Errors
/// A row that breaks a limit, or a database that does not answer.
pub async fn of(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    crew: &Crew,
    site: &Site,
) -> anyhow::Result<Clashes> {
    let times = Times::load(conn, site).await?;
    let day = cleanout.starts_on;
    let mut clashes = Clashes::default();
    let mut booked: Vec<PersonId> = cleanout.person_id.into_iter().collect();
    booked.extend(cleanout.pours_id.filter(|pours| !booked.contains(pours)));
    for id in booked {
        if let Some((person, hours)) = crew.person(id).zip(times.person(id))
            && is_away(hours, &times.site, day, cleanout.starts_min)
        {
            clashes
                .away
                .push(format!("{} is away on {}.", person.name, day_words(day)));
        }
    }
    let system = register::store::systems::by_id(conn, cleanout.system_id).await?;
    if let Some(system) = system {
        let room = times.room(system.figures.room_id);
        let last = cleanout.ends(&site.hours).date();
        let days = day.iter_days().take_while(|day| *day <= last);
        clashes
            .others
            .extend(days.filter_map(|day| others(&room, &times.site, day, &cleanout.room_name)));
    }
    Ok(clashes)
}

/// Whether somebody is written down as away when the clean-out begins.
fn is_away(person: &PersonTimes, site: &SiteDays, day: NaiveDate, minute: i64) -> bool {
    let here = person
        .on(site, day)
        .iter()
        .any(|shift| shift.hours.from_min() <= minute && minute < shift.hours.to_min());
    !here && person.away_on(day).next().is_some()
}

fn others(
    room: &RoomTimes,
    site: &SiteDays,
    day: NaiveDate,
    name: impl std::fmt::Display,
) -> Option<String> {
    let hours = room.hours_on(site, day);
    (!hours.is_empty()).then(|| {
        format!(
            "Others are in {name} on {}, {}: no concentrate is poured while they are there, and they come in again only when it is aired out.",
            day_words(day),
            hours_words(hours.into_iter())
        )
    })
}
