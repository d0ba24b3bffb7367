//! Clean-outs as they lie in time: by the posted plan while the booking is still the posted one, else as booked.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use crate::cleanouts::airing::Closed;
use crate::cleanouts::closed_for::closed_for;
use crate::cleanouts::parts::{self, Line};
use crate::cleanouts::{Cleanout, State, store};
use crate::ids::{MethodVersionId, PersonId, RoomId, SystemId};
use crate::methods::{self, Contents, MethodVersion};
use crate::register;
use crate::site::Site;

/// A clean-out as it lies in time.
#[derive(Clone)]
pub(super) struct Lying<'a> {
    pub cleanout: &'a Cleanout,
    pub room: RoomId,
    pub lines: Vec<Line>,
    /// For how long its room stays closed after the dosing.
    pub closed: Closed,
}

impl Lying<'_> {
    pub fn words(&self) -> String {
        format!("{}, {}", self.cleanout.number, self.cleanout.system_name)
    }
}

/// What does not change from one clean-out to the next.
pub(super) struct Known {
    rooms: HashMap<SystemId, RoomId>,
    methods: HashMap<MethodVersionId, MethodVersion>,
}

impl Known {
    pub async fn load(conn: &mut SqliteConnection) -> anyhow::Result<Self> {
        let systems = register::store::systems::all(conn).await?;
        let systems = systems.iter();
        Ok(Self {
            rooms: systems
                .map(|system| (system.id, system.figures.room_id))
                .collect(),
            methods: HashMap::new(),
        })
    }

    pub fn contents_of(&self, cleanout: &Cleanout) -> Option<&Contents> {
        let version = self.methods.get(&cleanout.method_version_id)?;
        Some(&version.contents)
    }

    /// None when its method or its system is not on record.
    pub async fn lying<'a>(
        &mut self,
        conn: &mut SqliteConnection,
        cleanout: &'a Cleanout,
        site: &Site,
    ) -> anyhow::Result<Option<Lying<'a>>> {
        let id = cleanout.method_version_id;
        if !self.methods.contains_key(&id)
            && let Some(version) = methods::store::version(conn, id).await?
        {
            self.methods.insert(id, version);
        }
        let found = self
            .methods
            .get(&id)
            .zip(self.rooms.get(&cleanout.system_id));
        let Some((version, room)) = found else {
            return Ok(None);
        };
        let posted = store::posted_lines(conn, cleanout.id).await?;
        Ok(Some(Lying {
            cleanout,
            room: *room,
            lines: match is_of(&posted, cleanout, site) {
                true => posted,
                false => {
                    let rinses = version.contents.rinses_at_least;
                    parts::booked(cleanout, &version.contents, rinses, site)
                }
            },
            closed: closed_for(conn, cleanout, site).await?,
        }))
    }
}

impl Known {
    /// Those of the open ones that stand where they are booked and are not too far away to meet this one.
    pub async fn beside<'a>(
        &mut self,
        conn: &mut SqliteConnection,
        open: &'a [Cleanout],
        this: &Cleanout,
        is_near: impl Fn(i64) -> bool,
        site: &Site,
    ) -> anyhow::Result<Vec<Lying<'a>>> {
        let mut found = Vec::new();
        for other in open {
            let stands = matches!(other.state, State::Booked | State::Issued | State::UnderWay);
            let days = (other.starts_on - this.starts_on).num_days();
            if other.id != this.id && stands && is_near(days) {
                found.extend(self.lying(conn, other, site).await?);
            }
        }
        Ok(found)
    }
}

/// Whether the booking is still the one that was posted.
fn is_of(posted: &[Line], cleanout: &Cleanout, site: &Site) -> bool {
    let begins = posted
        .first()
        .map(|line| line.from.in_zone(site.zone).naive_local());
    let is_at = |person: PersonId| posted.iter().any(|line| line.people.contains(&person));
    begins == Some(cleanout.starts())
        && cleanout.person_id.is_none_or(is_at)
        && cleanout.pours_id.is_none_or(is_at)
}
