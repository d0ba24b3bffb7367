//! Whether there is enough of a product on each day to come: what can be used, what planned clean-outs
//! draw, what is delivered, and what passes its date on the shelf.

use chrono::NaiveDate;

use crate::science::quantity::OutOfRange;
use crate::science::stored::{MillilitreChange, Millilitres};

/// An amount that can be used from one day on, up to but without the day that its strength is to be
/// measured again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Batch {
    pub from: NaiveDate,
    pub until: Option<NaiveDate>,
    pub amount: Millilitres,
}

/// What is drawn on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Draw {
    pub day: NaiveDate,
    pub amount: Millilitres,
}

/// What is known of the days to come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outlook {
    pub today: NaiveDate,
    /// The last day that is looked at.
    pub last: NaiveDate,
    pub batches: Vec<Batch>,
    pub draws: Vec<Draw>,
}

/// One day: what comes, what is drawn, what passes its date, and what is left in the evening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayBalance {
    pub day: NaiveDate,
    /// What counts from this day on.
    pub came: Millilitres,
    /// What the clean-outs of the day ask for.
    pub drawn: Millilitres,
    /// What passes its date, and is not counted from this day on.
    pub lapsed: Millilitres,
    /// What can be used after all that; below nothing by what is missing.
    pub left: MillilitreChange,
    /// What stands in the stores before anything is drawn, with what passed its date.
    pub stands: Millilitres,
}

/// The days in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    pub days: Vec<DayBalance>,
}

impl Outlook {
    /// The balance of each day. What passes its date first is used first; what could not be drawn is
    /// owed, and is drawn from the next that comes.
    ///
    /// left(d) = left(d - 1) + came(d) - drawn(d) - lapsed(d), in millilitres.
    ///
    /// ```
    /// use slackwater::science::stored::Millilitres;
    /// use slackwater::stock::enough::{Batch, Draw, Outlook};
    /// let day = |text: &str| text.parse().unwrap();
    /// let ml = |amount| Millilitres::new(amount).unwrap();
    /// let outlook = Outlook {
    ///     today: day("2027-03-04"), last: day("2027-03-10"),
    ///     batches: vec![Batch { from: day("2027-03-01"), until: None, amount: ml(20_000) }],
    ///     draws: vec![Draw { day: day("2027-03-05"), amount: ml(14_000) }, Draw { day: day("2027-03-08"), amount: ml(14_000) }],
    /// };
    /// let course = outlook.course()?;
    /// assert_eq!(course.runs_out(), Some(day("2027-03-08")));
    /// assert_eq!(course.left_on(day("2027-03-08")).unwrap().get(), -8_000);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// Amounts that together are beyond what can be stored.
    pub fn course(&self) -> Result<Course, OutOfRange> {
        let mut batches: Vec<(Batch, i64)> = self
            .batches
            .iter()
            .map(|batch| (*batch, batch.amount.get()))
            .collect();
        batches.sort_by_key(|(batch, _)| (batch.until.is_none(), batch.until, batch.from));
        let (mut owed, mut past) = (0i64, 0i64);
        let mut days = Vec::new();
        for day in self.today.iter_days().take_while(|day| *day <= self.last) {
            let first = day == self.today;
            let came: i64 = batches
                .iter()
                .filter(|(batch, _)| batch.from == day && !first)
                .map(|(_, rest)| rest)
                .sum();
            let there = |batch: &Batch| batch.from <= day;
            let mut lapsed = 0;
            for (batch, rest) in &mut batches {
                if there(batch) && batch.until.is_some_and(|until| until <= day) {
                    lapsed += std::mem::take(rest);
                }
            }
            past += lapsed;
            let usable = |batches: &[(Batch, i64)]| -> i64 {
                let there = batches.iter().filter(|(batch, _)| there(batch));
                there.map(|(_, rest)| rest).sum()
            };
            let stands = usable(&batches) + past;
            let drawn: i64 = self
                .draws
                .iter()
                .filter(|draw| draw.day == day || (first && draw.day < day))
                .map(|draw| draw.amount.get())
                .sum();
            owed += drawn;
            for (batch, rest) in batches.iter_mut().filter(|(batch, _)| there(batch)) {
                debug_assert!(batch.until.is_none_or(|until| until > day) || *rest == 0);
                let taken = owed.min(*rest);
                *rest -= taken;
                owed -= taken;
            }
            days.push(DayBalance {
                day,
                came: Millilitres::new(came)?,
                drawn: Millilitres::new(drawn)?,
                lapsed: Millilitres::new(lapsed)?,
                left: MillilitreChange::new(usable(&batches) - owed)?,
                stands: Millilitres::new(stands)?,
            });
        }
        Ok(Course { days })
    }

    /// The same with one more amount.
    pub fn with(&self, batch: Batch) -> Self {
        let mut more = self.clone();
        more.batches.push(batch);
        more
    }
}

impl Course {
    /// The first day on which something is missing.
    pub fn runs_out(&self) -> Option<NaiveDate> {
        self.below(0)
    }

    /// The first day on which less than this is left, in millilitres.
    pub fn below(&self, least: i64) -> Option<NaiveDate> {
        let first = self.days.iter().find(|day| day.left.get() < least);
        first.map(|day| day.day)
    }

    pub fn left_on(&self, day: NaiveDate) -> Option<MillilitreChange> {
        let on = self.days.iter().find(|on| on.day == day);
        on.map(|on| on.left)
    }

    /// The least that is left from a day on.
    pub fn least_from(&self, day: NaiveDate) -> Option<MillilitreChange> {
        self.from(day).map(|on| on.left).min()
    }

    /// The most that stands in the stores from a day on.
    pub fn most_from(&self, day: NaiveDate) -> Option<Millilitres> {
        self.from(day).map(|on| on.stands).max()
    }

    fn from(&self, day: NaiveDate) -> impl Iterator<Item = &DayBalance> {
        self.days.iter().filter(move |on| on.day >= day)
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use chrono::Days;
    use proptest::prelude::*;

    pub fn day(offset: u64) -> NaiveDate {
        let first: NaiveDate = "2027-03-01".parse().unwrap();
        first.checked_add_days(Days::new(offset)).unwrap()
    }

    pub fn ml(amount: i64) -> Millilitres {
        Millilitres::new(amount).unwrap()
    }

    /// Six weeks with some stock, some deliveries and some clean-outs.
    pub fn outlook() -> impl Strategy<Value = Outlook> {
        let batch = (0..42u64, prop::option::of(0..120u64), 0..60_000i64).prop_map(
            |(from, until, amount)| Batch {
                from: day(from.saturating_sub(15)),
                until: until.map(day),
                amount: ml(amount),
            },
        );
        let draw = (0..42u64, 0..20_000i64).prop_map(|(on, amount)| Draw {
            day: day(on),
            amount: ml(amount),
        });
        let batches = prop::collection::vec(batch, 0..6);
        let draws = prop::collection::vec(draw, 0..20);
        (batches, draws).prop_map(|(batches, draws)| Outlook {
            today: day(0),
            last: day(41),
            batches,
            draws,
        })
    }

    #[test]
    fn what_passes_its_date_first_is_used_first_and_the_rest_is_not_counted() {
        let batch = |until: Option<u64>, amount| Batch {
            from: day(0),
            until: until.map(day),
            amount: ml(amount),
        };
        let outlook = Outlook {
            today: day(0),
            last: day(9),
            batches: vec![batch(None, 10_000), batch(Some(5), 10_000)],
            draws: vec![Draw {
                day: day(2),
                amount: ml(4_000),
            }],
        };
        let course = outlook.course().unwrap();
        assert_eq!(course.left_on(day(4)).unwrap().get(), 16_000);
        // 6 L of the older one pass their date, and still stand there.
        assert_eq!(course.left_on(day(5)).unwrap().get(), 10_000);
        assert_eq!(course.most_from(day(5)), Some(ml(16_000)));
        assert_eq!(course.runs_out(), None);
    }

    #[test]
    fn what_is_owed_is_drawn_from_the_next_that_comes() {
        let outlook = Outlook {
            today: day(0),
            last: day(9),
            batches: vec![Batch {
                from: day(5),
                until: None,
                amount: ml(10_000),
            }],
            draws: vec![Draw {
                day: day(2),
                amount: ml(4_000),
            }],
        };
        let course = outlook.course().unwrap();
        assert_eq!(course.runs_out(), Some(day(2)));
        assert_eq!(course.left_on(day(4)).unwrap().get(), -4_000);
        assert_eq!(course.left_on(day(5)).unwrap().get(), 6_000);
    }

    proptest! {
        #[test]
        fn each_day_follows_from_the_one_before(outlook in outlook()) {
            let course = outlook.course().unwrap();
            prop_assert_eq!(course.days.len(), 42);
            for two in course.days.windows(2) {
                let [before, on] = two else { continue };
                let change = on.came.get() - on.drawn.get() - on.lapsed.get();
                prop_assert_eq!(on.left.get(), before.left.get() + change);
                prop_assert!(on.stands.get() >= on.left.get() + on.drawn.get());
            }
            let (all, drawn): (i64, i64) = (
                outlook.batches.iter().map(|batch| batch.amount.get()).sum(),
                outlook.draws.iter().map(|draw| draw.amount.get()).sum(),
            );
            let lapsed: i64 = course.days.iter().map(|on| on.lapsed.get()).sum();
            prop_assert_eq!(course.days.last().unwrap().left.get(), all - drawn - lapsed);
        }

        #[test]
        fn the_order_in_which_things_are_entered_does_not_matter(outlook in outlook()) {
            let mut other = outlook.clone();
            other.batches.reverse();
            other.draws.reverse();
            prop_assert_eq!(outlook.course().unwrap(), other.course().unwrap());
        }
    }
}
