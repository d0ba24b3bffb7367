//! Days that are not as usual: somebody is away, a room is taken or empty, kit is out of order, the
//! site is closed. They are added and corrected, never deleted.

use chrono::NaiveDate;

use super::Owner;
use super::span::DaySpan;
use crate::clock::Moment;
use crate::ids::{PersonId, UnusualDaysId};
use crate::site::{full_day, short_day};
use crate::text::Name;

/// Days from one to another, both included; without a last day they go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayRange {
    from: NaiveDate,
    to: Option<NaiveDate>,
}

impl DayRange {
    /// # Errors
    /// A last day before the first.
    pub fn new(from: NaiveDate, to: Option<NaiveDate>) -> Result<Self, String> {
        match to {
            Some(to) if to < from => Err(format!(
                "The last day, {}, is before the first, {}.",
                full_day(to),
                full_day(from)
            )),
            to => Ok(Self { from, to }),
        }
    }

    pub fn from(self) -> NaiveDate {
        self.from
    }

    /// The last day, where one is known.
    pub fn to(self) -> Option<NaiveDate> {
        self.to
    }

    pub fn holds(self, day: NaiveDate) -> bool {
        self.from <= day && self.to.is_none_or(|to| day <= to)
    }

    pub fn is_over(self, today: NaiveDate) -> bool {
        self.to.is_some_and(|to| to < today)
    }

    /// How many days it is, where its end is known.
    pub fn count(self) -> Option<i64> {
        self.to.map(|to| (to - self.from).num_days() + 1)
    }

    /// 'Thu 4 Mar 2027', 'Thu 4 Mar to Mon 8 Mar 2027', 'from Thu 4 Mar 2027 on'.
    pub fn words(self) -> String {
        use chrono::Datelike;
        let with_year = |day: NaiveDate| format!("{} {}", short_day(day), day.year());
        match self.to {
            None => format!("from {} on", with_year(self.from)),
            Some(to) if to == self.from => with_year(to),
            Some(to) if to.year() == self.from.year() => {
                format!("{} to {}", short_day(self.from), with_year(to))
            }
            Some(to) => format!("{} to {}", with_year(self.from), with_year(to)),
        }
    }
}

crate::words! {
    /// What is not as usual.
    pub enum What {
        Leave = "leave",
        Ill = "ill",
        Course = "course",
        Elsewhere = "elsewhere",
        Taken = "taken",
        Empty = "empty",
        OutOfOrder = "out of order",
        Closed = "closed",
        OutOfTerm = "out of term",
    }
}

impl What {
    pub fn words(self) -> &'static str {
        match self {
            Self::Leave => "on leave",
            Self::Ill => "ill",
            Self::Course => "on a course",
            Self::Elsewhere => "working elsewhere",
            Self::Taken => "others are in it",
            Self::Empty => "nobody else is in it",
            Self::OutOfOrder => "out of order",
            Self::Closed => "closed: nobody works, nobody is in the rooms",
            Self::OutOfTerm => "out of term: no groups and no others in the rooms, the crew works",
        }
    }

    /// What can be said of a person, a room, a kind of kit, the site.
    pub fn of(owner: Owner) -> &'static [Self] {
        match owner {
            Owner::Person(_) => &[Self::Leave, Self::Ill, Self::Course, Self::Elsewhere],
            Owner::Room(_) => &[Self::Taken, Self::Empty],
            Owner::Kit(_) => &[Self::OutOfOrder],
            Owner::Site(_) => &[Self::Closed, Self::OutOfTerm],
        }
    }
}

crate::words! {
    /// How days came in.
    pub enum Source {
        Typed = "typed",
        File = "file",
        Address = "address",
    }
}

impl Source {
    pub fn words(self) -> &'static str {
        match self {
            Self::Typed => "typed",
            Self::File => "from a calendar file",
            Self::Address => "from a calendar address",
        }
    }
}

/// What is written down of such days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewDays {
    pub what: What,
    /// Why, or what it is called; may be empty.
    pub name: String,
    pub days: DayRange,
    /// The part of each day that it is about; nothing for all of it.
    pub part: Option<DaySpan>,
    /// How many of the kit.
    pub count: Option<i64>,
    pub source: Source,
}

/// Such days as they stand.
#[derive(Clone, Debug)]
pub struct UnusualDays {
    pub id: UnusualDaysId,
    pub owner: Owner,
    pub new: NewDays,
    pub author_id: PersonId,
    pub author: Name,
    pub at: Moment,
    pub corrects: Option<UnusualDaysId>,
    /// A later row stands in its place.
    pub replaced: bool,
    /// This row says that what it corrects is no longer so.
    pub taken_back: bool,
}

impl UnusualDays {
    /// Whether it counts.
    pub fn stands(&self) -> bool {
        !self.replaced && !self.taken_back
    }

    pub fn holds(&self, day: NaiveDate) -> bool {
        self.stands() && self.new.days.holds(day)
    }

    /// The hours of such a day that it is about.
    pub fn hours(&self) -> DaySpan {
        self.new.part.unwrap_or(DaySpan::WHOLE_DAY)
    }
}

impl NewDays {
    /// Days and hours as words: 'Thu 4 Mar to Fri 5 Mar 2027, 13:00-17:00'.
    pub fn words(&self) -> String {
        match self.part {
            Some(part) => format!("{}, {part}", self.days.words()),
            None => self.days.words(),
        }
    }
}

/// How many of a kind of kit are in order on a day.
pub fn in_order_on(count: i64, out: &[UnusualDays], day: NaiveDate) -> i64 {
    let missing: i64 = out
        .iter()
        .filter(|days| days.holds(day))
        .filter_map(|days| days.new.count)
        .sum();
    (count - missing).max(0)
}
