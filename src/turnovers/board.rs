//! Every system with what grows in it, its clean-outs and how it stands: what the turnovers, the
//! first page and the page of a system show.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use sqlx::SqliteConnection;

use crate::by_system::{BySystem, OfSystem};
use crate::cleanouts::{self, Cleanout, State};
use crate::clock::Moment;
use crate::crops::gap::{Gap, Misfit};
use crate::crops::standing::{Facts, Job, Reached, SystemState, system_state};
use crate::crops::{self, Planting};
use crate::drawings::tide;
use crate::ids::{CleanoutId, PlantingId, SystemId};
use crate::register::systems::System;
use crate::register::{self, hold};
use crate::science::show;
use crate::science::units::Units;
use crate::site::{Hours, Site};
use crate::text::Name;

/// One system on the board.
#[derive(Clone, Debug)]
pub struct Stand {
    pub system: System,
    pub state: SystemState,
    /// What it holds for a clean-out, '186 L'; empty until it is asked for, or where it is not known.
    pub volume: String,
    /// In order of planting; dropped ones left out.
    pub plantings: Vec<Planting>,
    /// In order of their start; those called off left out.
    pub cleanouts: Vec<Cleanout>,
    jobs: Vec<Job>,
    spent: HashSet<CleanoutId>,
    moved_from: HashMap<PlantingId, NaiveDate>,
    hours: Hours,
    now: NaiveDateTime,
}

/// All systems in use, by room and name.
#[derive(Clone, Debug)]
pub struct Board {
    pub stands: BySystem<Arc<Stand>>,
}

impl Board {
    /// Reads the systems with the crops and clean-outs that a tide line from this day on shows.
    pub async fn load(
        conn: &mut SqliteConnection,
        site: &Site,
        now: Moment,
        from: NaiveDate,
    ) -> anyhow::Result<Self> {
        Self::read(conn, site, now, from, None).await
    }

    /// One system as it stands on the board; nothing where it is not in use.
    pub async fn one(
        conn: &mut SqliteConnection,
        site: &Site,
        now: Moment,
        from: NaiveDate,
        system: SystemId,
    ) -> anyhow::Result<Option<Arc<Stand>>> {
        let board = Self::read(conn, site, now, from, Some(system)).await?;
        Ok(board.stands.of(system).cloned())
    }

    async fn read(
        conn: &mut SqliteConnection,
        site: &Site,
        now: Moment,
        from: NaiveDate,
        only: Option<SystemId>,
    ) -> anyhow::Result<Self> {
        let systems = match only {
            None => register::store::systems::all(conn).await?,
            Some(id) => {
                let found = register::store::systems::by_id(conn, id).await?;
                found.into_iter().collect()
            }
        };
        let mut plantings: HashMap<SystemId, Vec<Planting>> = HashMap::new();
        for planting in crops::store::around(conn, from, only).await? {
            plantings
                .entry(planting.system_id)
                .or_default()
                .push(planting);
        }
        let mut cleanouts: HashMap<SystemId, Vec<Cleanout>> = HashMap::new();
        let wanted = cleanouts::store::Wanted {
            system: only,
            ..Default::default()
        };
        for cleanout in cleanouts::store::wanted(conn, wanted).await? {
            if cleanout.state != State::CalledOff {
                cleanouts
                    .entry(cleanout.system_id)
                    .or_default()
                    .push(cleanout);
            }
        }
        let spent = crops::store::spent(conn).await?;
        let moved: HashMap<_, _> = crops::store::moved_from(conn).await?.into_iter().collect();
        let stands = systems
            .into_iter()
            .filter(|system| !system.retired)
            .map(|system| {
                let mine = (
                    plantings.remove(&system.id).unwrap_or_default(),
                    cleanouts.remove(&system.id).unwrap_or_default(),
                );
                Arc::new(Stand::new(system, mine, &spent, &moved, site, now))
            })
            .collect();
        Ok(Self { stands })
    }

    /// Adds what each system holds.
    pub async fn with_volumes(
        mut self,
        conn: &mut SqliteConnection,
        units: Units,
    ) -> sqlx::Result<Self> {
        let systems = self.stands.iter().map(|stand| stand.system.clone());
        let parts = hold::parts_of_all(conn, systems.collect()).await?;
        for (stand, parts) in self.stands.iter_mut().zip(parts) {
            if let Ok(hold) = parts.hold() {
                Arc::make_mut(stand).volume = show::volume(hold.used.volume(), units);
            }
        }
        Ok(self)
    }

    pub fn of(&self, system: SystemId) -> Option<&Stand> {
        self.stands.of(system).map(Arc::as_ref)
    }

    /// 'One system in clean-out, one held, five growing.'
    pub fn in_words(&self) -> String {
        use SystemState::{Due, Growing, Held, InCleanOut, LaidUp, Quarantined, Ready};
        let mut said: Vec<String> = Vec::new();
        for state in [InCleanOut, Held, Due, Ready, Quarantined, LaidUp, Growing] {
            let count = self
                .stands
                .iter()
                .filter(|stand| stand.state == state)
                .count();
            if count == 0 {
                continue;
            }
            let noun = match (said.is_empty(), count) {
                (false, _) => "",
                (true, 1) => " system",
                (true, _) => " systems",
            };
            let state = match state {
                Due => "due for a clean-out",
                other => other.code(),
            };
            said.push(format!("{}{noun} {state}", count_words(count)));
        }
        let mut sentence = said.join(", ");
        if let Some(first) = sentence.get(..1) {
            sentence = format!("{}{}.", first.to_uppercase(), &sentence[1..]);
        }
        sentence
    }

    /// The rows of the tide line.
    pub fn rows(&self) -> Vec<tide::Row> {
        self.stands.iter().map(|stand| stand.row()).collect()
    }
}

/// 'one' to 'twelve', then figures.
pub fn count_words(count: usize) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(count)
        .map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

impl OfSystem for Stand {
    fn system(&self) -> SystemId {
        self.system.id
    }
}

impl Stand {
    fn new(
        system: System,
        (plantings, cleanouts): (Vec<Planting>, Vec<Cleanout>),
        spent: &HashSet<CleanoutId>,
        moved: &HashMap<PlantingId, NaiveDate>,
        site: &Site,
        now: Moment,
    ) -> Self {
        let jobs: Vec<Job> = cleanouts
            .iter()
            .map(|cleanout| Job {
                id: cleanout.id,
                reached: reached(cleanout.state),
            })
            .collect();
        let mut stand = Self {
            state: SystemState::Due,
            volume: String::new(),
            moved_from: plantings
                .iter()
                .filter_map(|planting| Some((planting.id, *moved.get(&planting.id)?)))
                .collect(),
            spent: jobs
                .iter()
                .map(|job| job.id)
                .filter(|id| spent.contains(id))
                .collect(),
            system,
            plantings,
            cleanouts,
            jobs,
            hours: site.hours,
            now: now.in_zone(site.zone).naive_local(),
        };
        stand.state = system_state(&stand.facts());
        stand
    }

    /// What the rules of standing and planting ask.
    pub fn facts(&self) -> Facts<'_> {
        Facts {
            quarantined: self.system.quarantine.is_some(),
            laid_up: self.system.laid_up_since.is_some(),
            growing: self.growing().is_some(),
            jobs: &self.jobs,
            spent: Some(&self.spent),
            void_to: self.system.releases_void_to,
        }
    }

    pub fn hours(&self) -> Hours {
        self.hours
    }

    pub fn name(&self) -> &Name {
        &self.system.figures.name
    }

    pub fn growing(&self) -> Option<&Planting> {
        self.plantings.iter().find(|planting| planting.is_growing())
    }

    /// The planting whose gap is next: what grows, else what came off last.
    pub fn current(&self) -> Option<&Planting> {
        self.growing().or_else(|| {
            self.plantings
                .iter()
                .filter(|planting| planting.is_off())
                .max_by_key(|planting| (planting.off_on, planting.id))
        })
    }

    /// The first intended planting after the current one.
    pub fn intended(&self) -> Option<&Planting> {
        self.plantings
            .iter()
            .find(|planting| planting.is_intended())
    }

    /// The gap after a planting. Where no next day was written, an intended planting tells it.
    pub fn gap_after(&self, planting: &Planting) -> Option<Gap> {
        let gap = planting.gap()?;
        let intended = || {
            self.intended()
                .map(|next| next.planted_on)
                .filter(|day| *day >= gap.off_on && planting.is_grown())
        };
        Some(Gap {
            next_on: gap.next_on.or_else(intended),
            ..gap
        })
    }

    /// What goes on next, and when.
    pub fn next(&self) -> Option<(NaiveDate, Option<Name>)> {
        let current = self.current();
        let written =
            current.and_then(|planting| Some((planting.next_on?, planting.next_crop.clone())));
        let intended = self
            .intended()
            .map(|planting| (planting.planted_on, Some(planting.crop.clone())));
        match (written, intended) {
            (Some((day, None)), Some((_, crop))) => Some((day, crop)),
            (written, intended) => written.or(intended),
        }
    }

    /// The clean-out that is not closed yet.
    pub fn open(&self) -> Option<&Cleanout> {
        self.cleanouts
            .iter()
            .find(|cleanout| cleanout.state.is_open())
    }

    /// When a clean-out ends, working hours as they are.
    pub fn ends(&self, cleanout: &Cleanout) -> NaiveDateTime {
        cleanout.ends(&self.hours)
    }

    /// The gap that a clean-out was made for.
    pub fn gap_of(&self, cleanout: &Cleanout) -> Option<Gap> {
        let planting = match cleanout.planting_id {
            Some(id) => self.plantings.iter().find(|planting| planting.id == id)?,
            None => self.current()?,
        };
        self.gap_after(planting)
    }

    /// How the open clean-out lies outside its gap, if it does.
    pub fn misfit(&self) -> Option<(&Cleanout, Misfit)> {
        let open = self.open()?;
        let misfit = self.gap_of(open)?.misfit(open.starts(), self.ends(open))?;
        // One that has begun shows by itself that the crop is off.
        let begun = !matches!(open.state, State::Proposed | State::Booked | State::Issued);
        match misfit {
            Misfit::BeforeTheCropIsOff { .. } if begun => None,
            misfit => Some((open, misfit)),
        }
    }

    /// Whether a clean-out can be proposed: none is open, and a turnover or an empty bench asks for one.
    pub fn wants_cleanout(&self) -> bool {
        let turnover = self
            .growing()
            .is_some_and(|planting| planting.turnover_on.is_some());
        self.open().is_none() && (turnover || self.state == SystemState::Due)
    }

    /// The system as a row of the tide line.
    pub fn row(&self) -> tide::Row {
        let mut growing: Vec<tide::Growing> = self
            .plantings
            .iter()
            .map(|planting| self.tide(planting))
            .collect();
        if self.intended().is_none()
            && let Some((day, crop)) = self.next()
            && day >= self.now.date()
        {
            let crop = crop.map_or_else(|| "next crop".to_owned(), |crop| crop.to_string());
            let on = self.morning(day);
            growing.push(tide::Growing::new(crop).on(on).off(on + FAR));
        }
        let bed = match (&self.system.quarantine, self.system.laid_up_since) {
            (Some(quarantine), _) => tide::Bed::Foul {
                from: midnight(quarantine.since),
                until: None,
                reason: quarantine.reason.to_string(),
            },
            (None, Some(since)) => tide::Bed::Dry {
                from: midnight(since),
                until: None,
            },
            (None, None) => tide::Bed::Clear,
        };
        tide::Row {
            name: self.name().to_string(),
            href: self.system.path(),
            state: self.state.to_string(),
            volume: self.volume.clone(),
            growing,
            bed,
            stakes: self
                .cleanouts
                .iter()
                .map(|cleanout| self.stake(cleanout))
                .collect(),
        }
    }

    fn tide(&self, planting: &Planting) -> tide::Growing {
        let mut drawn =
            tide::Growing::new(planting.crop.as_str()).on(self.morning(planting.planted_on));
        let planned = planting.turnover_on.map(noon);
        // A crop past its turnover still stands: the water stays high until it is said to be off.
        let overdue = planting.is_growing() && planned.is_some_and(|off| off < self.now);
        if overdue {
            let still = midnight(self.now.date()) + TimeDelta::days(1);
            drawn = drawn.off(still.max(self.now));
            if let Some(planned) = planned {
                drawn = drawn.moved_from(planned);
            }
            return drawn;
        }
        // What is off left the whole of its day to the clean-out.
        if let Some(off) = planting.off_on.map(midnight).or(planned) {
            drawn = drawn.off(off);
        }
        match self.moved_from.get(&planting.id) {
            Some(was) => drawn.moved_from(noon(*was)),
            None => drawn,
        }
    }

    fn stake(&self, cleanout: &Cleanout) -> tide::Stake {
        let released = cleanout.state == State::Released;
        tide::Stake {
            number: cleanout.number.clone(),
            href: Some(cleanout.path()),
            standing: topmark(cleanout.state),
            start: cleanout.starts(),
            end: self.ends(cleanout),
            // What was released in the end is not late any more.
            planting: self
                .gap_of(cleanout)
                .and_then(|gap| gap.next_on)
                .filter(|_| !released)
                .map(midnight),
        }
    }

    fn morning(&self, day: NaiveDate) -> NaiveDateTime {
        midnight(day) + TimeDelta::minutes(self.hours.starts_min)
    }
}

/// How far a crop without a known end is drawn.
const FAR: TimeDelta = TimeDelta::days(90);

fn midnight(day: NaiveDate) -> NaiveDateTime {
    day.and_time(NaiveTime::MIN)
}

fn noon(day: NaiveDate) -> NaiveDateTime {
    midnight(day) + TimeDelta::hours(12)
}

fn reached(state: State) -> Reached {
    match state {
        State::Proposed | State::Booked | State::Issued | State::CalledOff => Reached::NotBegun,
        State::UnderWay => Reached::UnderWay,
        State::Held => Reached::Held,
        State::Released => Reached::Released,
    }
}

fn topmark(state: State) -> tide::Standing {
    match state {
        State::Proposed => tide::Standing::Proposed,
        State::Booked => tide::Standing::Booked,
        State::Issued => tide::Standing::Issued,
        State::UnderWay => tide::Standing::UnderWay,
        State::Held => tide::Standing::Held,
        State::Released => tide::Standing::Released,
        State::CalledOff => tide::Standing::CalledOff,
    }
}
