//! When each part of a clean-out is, and who is at it: as the posted plan says, or, for a booking by hand,
//! one part after the other from its beginning.

use chrono::{NaiveDate, NaiveTime};

use super::airing::{Closed, Counts};
use super::{Cleanout, ends};
use crate::clock::Moment;
use crate::hours::{DaySpan, Span};
use crate::ids::PersonId;
use crate::methods::{Contents, Phase};
use crate::science::stored::Minutes;
use crate::site::Site;

crate::words! {
    /// A part of a clean-out that is planned as one.
    pub enum Work {
        Strip = "strip and wash",
        Dose = "dose",
        Soak = "soak",
        Rinse = "rinse",
        Teardown = "teardown",
        Refit = "refit and check",
    }
}

/// One part with its people; nobody is needed while it soaks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub work: Work,
    pub from: Moment,
    /// Of a planned rinse, until nobody is needed any more.
    pub to: Moment,
    pub people: Vec<PersonId>,
}

impl Line {
    /// The stretches of each day in which somebody is at it. A part that begins in the site's hours and
    /// runs over a night is worked in the site's hours only, as the booking reckons its end.
    pub fn by_day(&self, site: &Site) -> Vec<(NaiveDate, Span)> {
        let zone = site.zone;
        let usual = DaySpan::new(site.hours.starts_min, site.hours.ends_min).ok();
        let usual_on = |day| {
            usual
                .filter(|_| site.hours.worked(day))
                .and_then(|hours| hours.on(day, zone))
        };
        let first = self.from.day(zone);
        let stops =
            usual_on(first).is_some_and(|span| span.from <= self.from && self.from < span.to);
        let days = first
            .iter_days()
            .take_while(|day| Moment::day_begins(*day, zone) < self.to);
        let pieces = days.filter_map(|day| {
            let whole = DaySpan::WHOLE_DAY.on(day, zone)?;
            let over_night = whole.to < self.to || whole.from > self.from;
            let open = match stops && over_night {
                true => usual_on(day)?,
                false => whole,
            };
            let span = Span::new(self.from.max(open.from), self.to.min(open.to))?;
            Some((day, span))
        });
        pieces.collect()
    }
}

/// The parts of a booking, one after the other from its beginning, with a stop for the night as the
/// booking itself has, with so many rinses.
pub fn booked(cleanout: &Cleanout, contents: &Contents, rinses: i64, site: &Site) -> Vec<Line> {
    let minutes = |phase| contents.minutes_of(phase).map_or(0, Minutes::get);
    let after = |sum: i64| {
        let local = match Minutes::new(sum) {
            Ok(length) if sum > 0 => ends(cleanout.starts(), &site.hours, length),
            _ => cleanout.starts(),
        };
        let minute = (local - local.date().and_time(NaiveTime::MIN)).num_minutes();
        Moment::on_the_wall(local.date(), minute, site.zone)
    };
    let person: Vec<PersonId> = cleanout.person_id.into_iter().collect();
    let pours = cleanout
        .pours_id
        .or(cleanout.person_id)
        .into_iter()
        .collect();
    let rinses = rinses.max(1);
    let more = (rinses - contents.rinses_at_least).max(0);
    let rinsing = minutes(Phase::Rinse) + more * contents.rinse_from.get();
    let strip = minutes(Phase::Strip) + minutes(Phase::Wash);
    let mut parts = vec![
        (Work::Strip, strip, person.clone()),
        (Work::Dose, minutes(Phase::Dose), pours),
        (Work::Soak, minutes(Phase::Soak), Vec::new()),
    ];
    let rinse = rinsing / rinses;
    parts.extend((0..rinses).map(|_| (Work::Rinse, rinse, person.clone())));
    parts.push((Work::Teardown, minutes(Phase::Teardown), person.clone()));
    let refit = minutes(Phase::Refit) + minutes(Phase::Check);
    parts.push((Work::Refit, refit, person));
    let mut sum = 0;
    parts
        .into_iter()
        .map(|(work, minutes, people)| {
            let from = after(sum);
            sum += minutes;
            Line {
                work,
                from,
                to: after(sum),
                people,
            }
        })
        .collect()
}

/// From the dosing until its room may be entered again.
pub fn closed(lines: &[Line], closed: Closed) -> Option<Span> {
    let dose = lines.iter().find(|line| line.work == Work::Dose)?;
    let aired = chrono::TimeDelta::minutes(closed.minutes);
    let counts = match closed.counts {
        Counts::AfterLastPour => dose.to,
        Counts::AfterFirstRinse => rinsed(lines).unwrap_or(dose.to),
    };
    Span::new(dose.from, counts.plus(aired))
}

/// When the first rinse is over. A planned one ends where nobody is needed any more, so it lasts until the next.
fn rinsed(lines: &[Line]) -> Option<Moment> {
    let mut rinses = lines.iter().filter(|line| line.work == Work::Rinse);
    let Some(first) = rinses.next() else {
        let soak = lines.iter().find(|line| line.work == Work::Soak)?;
        return Some(soak.to);
    };
    let second = rinses.next().map(|next| next.from);
    Some(second.map_or(first.to, |next| next.max(first.to)))
}
