//! What follows from the usual week and the days that are not as usual: when somebody can be planned
//! with, and when others are in a room.

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::days::{UnusualDays, What};
use super::span::{DaySpan, Span, joined, without};
use super::week::{Stretch, UsualWeek, Week, in_force};
use crate::crew::Kind;
use crate::site::{Hours, Site};

/// What the site gives to all: its zone, its own hours, its closed days.
#[derive(Clone, Debug)]
pub struct SiteDays {
    pub zone: Tz,
    pub hours: Hours,
    pub unusual: Vec<UnusualDays>,
}

impl SiteDays {
    pub fn new(site: &Site, unusual: Vec<UnusualDays>) -> Self {
        Self {
            zone: site.zone,
            hours: site.hours,
            unusual,
        }
    }

    /// The days on which this one is closed or out of term; closed counts more.
    pub fn on(&self, day: NaiveDate) -> Option<&UnusualDays> {
        let all = || self.unusual.iter().filter(|days| days.holds(day));
        all()
            .find(|days| days.new.what == What::Closed)
            .or_else(|| all().next())
    }

    fn is(&self, what: What, day: NaiveDate) -> bool {
        self.unusual
            .iter()
            .any(|days| days.new.what == what && days.holds(day))
    }

    pub fn is_closed(&self, day: NaiveDate) -> bool {
        self.is(What::Closed, day)
    }

    /// Whether groups and others are away: on a closed day they are as well.
    pub fn is_out_of_term(&self, day: NaiveDate) -> bool {
        self.is_closed(day) || self.is(What::OutOfTerm, day)
    }
}

/// When one of the crew is there as a rule, and when not.
#[derive(Clone, Debug)]
pub struct PersonTimes {
    pub kind: Kind,
    pub weeks: Vec<UsualWeek>,
    pub absences: Vec<UnusualDays>,
}

/// Real time in which somebody can be planned with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shift {
    pub span: Span,
    /// The same on the clocks.
    pub hours: DaySpan,
    pub overtime: bool,
}

impl PersonTimes {
    /// The week that counts on a day: their own, or the site's hours for a person without one. A group
    /// is only there when its hours say so.
    pub fn week_on(&self, site: &SiteDays, day: NaiveDate) -> Week {
        match (in_force(&self.weeks, day), self.kind) {
            (Some(own), _) => own.week.clone(),
            (None, Kind::Person) => Week::of_site(site.hours),
            (None, Kind::Group) => Week::default(),
        }
    }

    /// The absences that touch a day.
    pub fn away_on(&self, day: NaiveDate) -> impl Iterator<Item = &UnusualDays> {
        self.absences.iter().filter(move |days| days.holds(day))
    }

    /// The hours of a day, in order and apart from each other: none on a closed day, a group's none
    /// out of term, and none while they are away.
    ///
    /// ```
    /// # use slackwater::crew::Kind;
    /// # use slackwater::hours::{PersonTimes, SiteDays};
    /// # use slackwater::site::Hours;
    /// let site = SiteDays {
    ///     zone: chrono_tz::Europe::London,
    ///     hours: Hours { starts_min: 30, ends_min: 150, days: [true; 7] },
    ///     unusual: Vec::new(),
    /// };
    /// let somebody = PersonTimes { kind: Kind::Person, weeks: Vec::new(), absences: Vec::new() };
    /// // At one o'clock of this night the clocks are put forward to two: an hour of the two is missing.
    /// let night = somebody.on(&site, "2027-03-28".parse()?);
    /// assert_eq!(night.len(), 1);
    /// assert_eq!(night[0].span.minutes(), 60);
    /// # Ok::<(), chrono::ParseError>(())
    /// ```
    pub fn on(&self, site: &SiteDays, day: NaiveDate) -> Vec<Shift> {
        if site.is_closed(day) || (self.kind == Kind::Group && site.is_out_of_term(day)) {
            return Vec::new();
        }
        let away: Vec<DaySpan> = self.away_on(day).map(UnusualDays::hours).collect();
        let week = self.week_on(site, day);
        let here = week.on(day).flat_map(|Stretch { hours, overtime }| {
            without(vec![hours], &away)
                .into_iter()
                .map(move |hours| (hours, overtime))
        });
        here.filter_map(|(hours, overtime)| {
            hours.on(day, site.zone).map(|span| Shift {
                span,
                hours,
                overtime,
            })
        })
        .collect()
    }
}

/// When others are in a room.
#[derive(Clone, Debug, Default)]
pub struct RoomTimes {
    pub weeks: Vec<UsualWeek>,
    pub exceptions: Vec<UnusualDays>,
}

impl RoomTimes {
    /// The hours of a day on the clocks in which others are in it: as in a usual week, but not while the
    /// site is closed or out of term, less when it stands empty, and when it is taken in any case.
    pub fn hours_on(&self, site: &SiteDays, day: NaiveDate) -> Vec<DaySpan> {
        let usual: Vec<DaySpan> = match in_force(&self.weeks, day) {
            Some(own) if !site.is_out_of_term(day) => {
                own.week.on(day).map(|stretch| stretch.hours).collect()
            }
            _ => Vec::new(),
        };
        let of = |what: What| -> Vec<DaySpan> {
            let all = self.exceptions.iter();
            all.filter(|days| days.new.what == what && days.holds(day))
                .map(UnusualDays::hours)
                .collect()
        };
        let mut taken = without(usual, &of(What::Empty));
        taken.extend(of(What::Taken));
        joined(taken)
    }

    /// The same as real time, in order; an hour that comes twice is taken both times.
    pub fn on(&self, site: &SiteDays, day: NaiveDate) -> Vec<Span> {
        let hours = self.hours_on(site, day);
        hours
            .into_iter()
            .filter_map(|hours| hours.at_most_on(day, site.zone))
            .collect()
    }
}
