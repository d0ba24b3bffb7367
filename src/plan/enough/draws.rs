//! What each clean-out to come draws, and when: of the posted plan, of bookings, of proposals, and of
//! turnovers for which nothing is proposed yet.

use chrono::{NaiveDate, TimeDelta};
use chrono_tz::Tz;

use crate::cleanouts::{Cleanout, State, parts};
use crate::clock::Moment;
use crate::ids::ProductId;
use crate::methods::Phase;
use crate::plan::facts::{Amounts, Asked, Facts};
use crate::plan::sources::Sources;
use crate::plan::tank::drawn;
use crate::plan::timetable::{Entry, Line, Work};
use crate::register::tank_days::WaterDraw;
use crate::science::quantity::OutOfRange;
use crate::science::stored::Millilitres;

/// How far it is settled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    Booked,
    Proposed,
    /// Nothing is proposed yet: from its turnover, at the earliest.
    Expected,
}

impl How {
    pub fn words(self) -> &'static str {
        match self {
            Self::Booked => "booked",
            Self::Proposed => "proposed",
            Self::Expected => "from its turnover, at the earliest",
        }
    }
}

/// A clean-out to come.
#[derive(Clone, Debug)]
pub struct Planned {
    pub system: String,
    /// Its number, or that it has none yet.
    pub number: String,
    pub path: String,
    pub how: How,
    pub product: Option<ProductId>,
    pub concentrate_ml: i64,
    amounts: Amounts,
    rinses: i64,
    lines: Vec<Line>,
}

impl Planned {
    fn begins(&self, work: Work) -> Option<Moment> {
        let mut lines = self.lines.iter();
        lines.find(|line| line.work == work).map(|line| line.from)
    }

    /// The day of its dose.
    pub fn dose_on(&self, zone: Tz) -> Option<NaiveDate> {
        Some(self.begins(Work::Dose)?.day(zone))
    }

    /// The purified water that it still draws: for the dose, for each rinse where rinses are made with it,
    /// and for the fresh fill. What is past was drawn.
    pub fn water(&self, rinses: bool, now: Moment) -> Result<Vec<WaterDraw>, OutOfRange> {
        let draws = drawn(&self.lines, self.amounts, self.rinses, rinses);
        let to_come = draws.into_iter().filter(|(at, _)| *at >= now);
        to_come
            .filter(|(_, ml)| *ml > 0)
            .map(|(at, ml)| {
                Ok(WaterDraw {
                    at,
                    amount: Millilitres::new(ml)?,
                })
            })
            .collect()
    }
}

/// Every clean-out to come, by the day of its dose.
pub fn planned(sources: &Sources, facts: &Facts) -> Vec<Planned> {
    let open_of = |entry: &Entry| {
        sources
            .board
            .of(entry.system)
            .and_then(|stand| stand.open())
    };
    let stands = facts.standing.iter().map(|one| {
        let open = open_of(&one.entry);
        Planned {
            system: sources.system_name(one.entry.system),
            number: one.number.clone(),
            path: open.map_or_else(String::new, Cleanout::path),
            how: How::Booked,
            product: one.product,
            concentrate_ml: one.amounts.concentrate_ml,
            amounts: one.amounts,
            rinses: one.rinses,
            lines: one.entry.lines.clone(),
        }
    });
    let asked = facts.asked.iter().map(|asked| {
        let open = open_of(&asked.entry);
        Planned {
            system: sources.system_name(asked.entry.system),
            number: match open {
                Some(open) => open.number.clone(),
                None => "none yet".to_owned(),
            },
            path: open.map_or_else(
                || format!("/systems/{}", asked.entry.system),
                Cleanout::path,
            ),
            how: match open.map(|open| open.state) {
                Some(State::Proposed) => How::Proposed,
                Some(_) => How::Booked,
                None => How::Expected,
            },
            product: asked.product,
            concentrate_ml: asked.amounts.concentrate_ml,
            amounts: asked.amounts,
            rinses: asked.rinses,
            lines: lines(sources, asked, open),
        }
    });
    let mut all: Vec<Planned> = stands.chain(asked).collect();
    all.sort_by_key(|one| (one.begins(Work::Dose), one.number.clone()));
    all
}

/// The parts of a clean-out that is planned with again: as the posting has them, as it is booked or proposed,
/// or one after the other from the first day on which it can begin.
fn lines(sources: &Sources, asked: &Asked, open: Option<&Cleanout>) -> Vec<Line> {
    let kept = [&sources.posted, &sources.draft].into_iter().flatten();
    let mut entries = kept.flat_map(|kept| kept.entries.iter());
    let same = |entry: &&Entry| match open {
        Some(open) => {
            let at = entry
                .starts()
                .map(|at| at.in_zone(sources.site.zone).naive_local());
            entry.cleanout == Some(open.id) && at == Some(open.starts())
        }
        None => {
            let starts = entry.starts().is_some_and(|at| at >= asked.from);
            (entry.system, entry.planting) == (asked.entry.system, asked.entry.planting) && starts
        }
    };
    if let Some(entry) = entries.find(same) {
        return entry.lines.clone();
    }
    if let (Some(open), Some(version)) = (open, sources.methods.get(&asked.method)) {
        return parts::booked(open, &version.contents, asked.rinses, &sources.site);
    }
    let zone = sources.site.zone;
    let opens = Moment::on_the_wall(asked.from.day(zone), sources.site.hours.starts_min, zone);
    let mut at = opens.max(asked.from);
    let mut part = |work, minutes: i64| {
        let from = at;
        at = at.plus(TimeDelta::minutes(minutes));
        Line {
            work,
            from,
            to: at,
            people: Vec::new(),
        }
    };
    let of = |phase| asked.lengths.of(phase);
    let rinses = asked.rinses.max(1);
    let mut parts = vec![
        part(Work::Strip, of(Phase::Strip) + of(Phase::Wash)),
        part(Work::Dose, of(Phase::Dose)),
        part(Work::Soak, of(Phase::Soak)),
    ];
    parts.extend((0..rinses).map(|_| part(Work::Rinse, of(Phase::Rinse) / rinses)));
    parts.push(part(Work::Teardown, of(Phase::Teardown)));
    parts.push(part(Work::Refit, of(Phase::Refit) + of(Phase::Check)));
    parts
}
