//! All hours and days at once, sorted by whose they are, for whoever plans with them.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::{Owner, PersonTimes, RoomTimes, SiteDays, UnusualDays, UsualWeek, store};
use crate::crew::{self, Person};
use crate::ids::{KitId, PersonId, RoomId, UnusualDaysId};
use crate::site::Site;

/// Who is where, and when; asked day by day.
#[derive(Clone, Debug)]
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
        Self::of_crew(conn, site, &crew).await
    }

    /// The same with a crew that was read already.
    ///
    /// # Errors
    /// A row that breaks a limit, or a database that does not answer.
    pub async fn of_crew(
        conn: &mut SqliteConnection,
        site: &Site,
        crew: &[Person],
    ) -> anyhow::Result<Self> {
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
            times.add_week(week);
        }
        for days in store::standing(conn).await? {
            times.add_days(days);
        }
        Ok(times)
    }

    /// A week more. Of two from the same day the one with the greater id counts.
    pub fn add_week(&mut self, week: UsualWeek) {
        match week.owner {
            Owner::Person(id) => {
                if let Some(person) = self.people.get_mut(&id) {
                    person.weeks.push(week);
                }
            }
            Owner::Room(id) => self.rooms.entry(id).or_default().weeks.push(week),
            Owner::Kit(_) | Owner::Site(_) => {}
        }
    }

    /// Days more that are not as usual.
    pub fn add_days(&mut self, days: UnusualDays) {
        if let Some(all) = self.days_of(days.owner) {
            all.push(days);
        }
    }

    /// The days without one of them.
    pub fn take_out(&mut self, owner: Owner, id: UnusualDaysId) {
        if let Some(all) = self.days_of(owner) {
            all.retain(|days| days.id != id);
        }
    }

    /// Nothing of somebody who has left the crew.
    fn days_of(&mut self, owner: Owner) -> Option<&mut Vec<UnusualDays>> {
        Some(match owner {
            Owner::Person(id) => &mut self.people.get_mut(&id)?.absences,
            Owner::Room(id) => &mut self.rooms.entry(id).or_default().exceptions,
            Owner::Kit(id) => self.kit_out.entry(id).or_default(),
            Owner::Site(_) => &mut self.site.unusual,
        })
    }

    /// Nothing when the person has left the crew.
    pub fn person(&self, id: PersonId) -> Option<&PersonTimes> {
        self.people.get(&id)
    }

    /// A room that nothing is written about stands empty of others.
    pub fn room(&self, id: RoomId) -> &RoomTimes {
        const EMPTY: &RoomTimes = &RoomTimes {
            weeks: Vec::new(),
            exceptions: Vec::new(),
        };
        self.rooms.get(&id).unwrap_or(EMPTY)
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
