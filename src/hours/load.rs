//! All hours and days at once, for whoever plans with them.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::{Owner, PersonTimes, RoomTimes, SiteDays, UnusualDays, store};
use crate::crew::{self, Person};
use crate::ids::{KitId, PersonId, RoomId};
use crate::site::Site;

/// Who is where, and when; asked day by day.
#[derive(Debug)]
pub struct Times {
    pub site: SiteDays,
    /// Everybody who is crew now.
    people: HashMap<PersonId, PersonTimes>,
    rooms: HashMap<RoomId, RoomTimes>,
    kit_out: HashMap<KitId, Vec<UnusualDays>>,
}

impl Times {
    /// # Errors
    /// A row that breaks a limit, or a database that does not answer.
    pub async fn load(conn: &mut SqliteConnection, site: &Site) -> anyhow::Result<Self> {
        let crew = crew::store::all(conn).await?;
        let mut times = Self {
            site: SiteDays::new(site, Vec::new()),
            people: crew
                .iter()
                .filter(|person| !person.ended)
                .map(|person| (person.id, PersonTimes::new(person)))
                .collect(),
            rooms: HashMap::new(),
            kit_out: HashMap::new(),
        };
        for week in store::weeks(conn, None).await? {
            match week.owner {
                Owner::Person(id) => {
                    if let Some(person) = times.people.get_mut(&id) {
                        person.weeks.push(week);
                    }
                }
                Owner::Room(id) => times.rooms.entry(id).or_default().weeks.push(week),
                Owner::Kit(_) | Owner::Site(_) => {}
            }
        }
        for days in store::standing(conn).await? {
            match days.owner {
                Owner::Person(id) => {
                    if let Some(person) = times.people.get_mut(&id) {
                        person.absences.push(days);
                    }
                }
                Owner::Room(id) => times.rooms.entry(id).or_default().exceptions.push(days),
                Owner::Kit(id) => times.kit_out.entry(id).or_default().push(days),
                Owner::Site(_) => times.site.unusual.push(days),
            }
        }
        Ok(times)
    }

    /// Nothing when the person has left the crew.
    pub fn person(&self, id: PersonId) -> Option<&PersonTimes> {
        self.people.get(&id)
    }

    /// A room that nothing is written about stands empty of others.
    pub fn room(&self, id: RoomId) -> RoomTimes {
        self.rooms.get(&id).cloned().unwrap_or_default()
    }

    /// The days on which kit of this kind is out of order.
    pub fn kit_out(&self, id: KitId) -> &[UnusualDays] {
        self.kit_out.get(&id).map_or(&[], Vec::as_slice)
    }
}

impl PersonTimes {
    /// Somebody nothing is written about yet.
    pub fn new(person: &Person) -> Self {
        Self {
            kind: person.kind,
            weeks: Vec::new(),
            absences: Vec::new(),
        }
    }

    /// One of the crew with all that is written about them.
    ///
    /// # Errors
    /// A row that breaks a limit, or a database that does not answer.
    pub async fn load(conn: &mut SqliteConnection, person: &Person) -> anyhow::Result<Self> {
        let owner = Owner::Person(person.id);
        Ok(Self {
            kind: person.kind,
            weeks: store::weeks(conn, Some(owner)).await?,
            absences: store::days_of(conn, owner).await?,
        })
    }
}

impl SiteDays {
    /// The site with its closed days.
    ///
    /// # Errors
    /// A row that breaks a limit, or a database that does not answer.
    pub async fn load(conn: &mut SqliteConnection, site: &Site) -> anyhow::Result<Self> {
        let unusual = store::days_of(conn, Owner::Site(site.id)).await?;
        Ok(Self::new(site, unusual))
    }
}
