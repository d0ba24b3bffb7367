//! What to order of a product, and by when: so that it is there before less than the safety stock is
//! left, in whole containers, never more than may stand there and than is used before it is too old.

use chrono::{Days, NaiveDate};

use super::containers::{Containers, choose, together};
use super::enough::{Batch, Course, Outlook};
use crate::science::quantity::OutOfRange;
use crate::science::stored::{MillilitreChange, Millilitres};

/// How a product is ordered.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Terms {
    /// From the order to the delivery, in days of the calendar.
    pub lead_days: i64,
    /// For how long it is relied on from the day it came.
    pub keeping_days: Option<i64>,
    /// As the supplier sells it; none where that is not entered, and then the amount is not rounded.
    pub sizes: Vec<Millilitres>,
    /// The most of this product that may stand at the site.
    pub limit: Option<Millilitres>,
}

/// Why less is ordered than is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// More may not stand there: so much is there already when it comes.
    ByLimit { there: Millilitres },
    /// What is planned until then uses no more before it is too old.
    ByKeeping { until: NaiveDate },
}

/// One order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// The last day on which it can be given.
    pub by: NaiveDate,
    /// The day on which it comes when it is given then; it counts from the next day on.
    pub comes: NaiveDate,
    /// The day on which less than the safety stock would be left.
    pub needed: NaiveDate,
    /// What is wanted until the last day that is looked at.
    pub wanted: Millilitres,
    pub amount: Millilitres,
    /// Empty where no size is entered.
    pub containers: Vec<Containers>,
    pub held: Option<Held>,
    /// What clean-outs miss before it comes, where it comes too late.
    pub missing: Option<(NaiveDate, Millilitres)>,
    /// What of it is not used when it is too old, less than one container.
    pub over: Millilitres,
}

/// What cannot be ordered although it is needed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotOrdered {
    pub needed: NaiveDate,
    pub wanted: Millilitres,
    pub held: Held,
}

/// As many orders are looked for.
const MOST_ORDERS: usize = 8;

/// The orders of the weeks to come, one after the other, and what stands in the way of another one.
///
/// An order is given so early that it comes on the day before it is needed: `by` = needed - 1 - lead time,
/// on a day on which somebody works, and it comes on such a day. Its amount is safety - min(left) over
/// all the days that are looked at, in millilitres, up to whole containers. Never more than limit - max(what
/// stands there), and never a whole container more than is drawn of it until it is too old.
///
/// # Errors
/// Amounts that together are beyond what can be stored.
pub fn orders(
    outlook: &Outlook,
    terms: &Terms,
    safety: Millilitres,
    worked: impl Fn(NaiveDate) -> bool,
) -> Result<(Vec<Order>, Option<NotOrdered>), OutOfRange> {
    let mut given = Vec::new();
    let (mut so_far, mut after) = (outlook.clone(), outlook.today);
    while given.len() < MOST_ORDERS {
        let asked = Asked {
            outlook: &so_far,
            course: so_far.course()?,
            terms,
            safety: safety.get(),
            after,
        };
        match asked.next(&worked)? {
            None => break,
            Some(Err(not)) => return Ok((given, Some(not))),
            Some(Ok(order)) => {
                let batch = order.batch(terms);
                after = batch.from;
                so_far = so_far.with(batch);
                given.push(order);
            }
        }
    }
    Ok((given, None))
}

impl Order {
    /// What it adds to what can be used.
    pub fn batch(&self, terms: &Terms) -> Batch {
        Batch {
            from: plus(self.comes, 1),
            until: terms.keeping_days.map(|days| plus(self.comes, days)),
            amount: self.amount,
        }
    }
}

/// What the next order is asked of.
struct Asked<'a> {
    outlook: &'a Outlook,
    course: Course,
    terms: &'a Terms,
    safety: i64,
    /// Days before are past mending: what was ordered for them comes now.
    after: NaiveDate,
}

/// What an order on a day could be.
struct Try {
    wanted: i64,
    amount: i64,
    containers: Vec<Containers>,
    held: Option<Held>,
    over: i64,
}

impl Asked<'_> {
    fn next(
        &self,
        worked: &impl Fn(NaiveDate) -> bool,
    ) -> Result<Option<Result<Order, NotOrdered>>, OutOfRange> {
        let days = self.course.days.iter();
        let mut low = days.filter(|on| on.day >= self.after && on.left.get() < self.safety);
        let Some(needed) = low.next().map(|on| on.day) else {
            return Ok(None);
        };
        let (earliest, _) = when(self.outlook.today, needed, self.terms.lead_days, worked);
        let mut refused = None;
        for by in earliest
            .iter_days()
            .take_while(|by| *by <= self.outlook.last)
        {
            let comes = comes(by, self.terms.lead_days, worked);
            if by != earliest && (!worked(by) || comes >= self.outlook.last) {
                continue;
            }
            let tried = self.on(comes)?;
            if tried.wanted == 0 {
                // A delivery that is on its way mends it before an order could.
                return Ok(None);
            }
            if tried.amount == 0 {
                refused = refused.or(Some((tried.wanted, tried.held)));
                continue;
            }
            return Ok(Some(Ok(Order {
                by,
                comes,
                needed,
                wanted: Millilitres::new(tried.wanted)?,
                amount: Millilitres::new(tried.amount)?,
                containers: tried.containers,
                held: tried.held,
                missing: self.missing(comes)?,
                over: Millilitres::new(tried.over)?,
            })));
        }
        let refusal = match refused {
            Some((wanted, Some(held))) => Some(NotOrdered {
                needed,
                wanted: Millilitres::new(wanted)?,
                held,
            }),
            _ => None,
        };
        Ok(refusal.map(Err))
    }

    /// What can be ordered to come on a day.
    fn on(&self, comes: NaiveDate) -> Result<Try, OutOfRange> {
        let from = plus(comes, 1);
        // Beyond the last day that is looked at, it stays as it is then.
        let end = self.course.days.last();
        let least = self.course.least_from(from).or(end.map(|on| on.left));
        let least = least.map_or(0, MillilitreChange::get);
        let wanted = match (self.safety - least).max(0) {
            0 => 0,
            missing => self.with_lapses(from, missing)?,
        };
        let there = self.course.most_from(from).or(end.map(|on| on.stands));
        let there = there.map_or(0, Millilitres::get);
        let limit = self.terms.limit;
        let room = limit.map(|limit| (limit.get() - there).max(0));
        let until = self.terms.keeping_days.map(|days| plus(comes, days));
        let until = until.filter(|until| *until <= self.outlook.last);
        let used = match until {
            Some(until) => Some((until, self.used_of(comes, until, wanted)?)),
            None => None,
        };
        let most = room.into_iter().chain(used.map(|(_, used)| used)).min();
        let want = most.map_or(wanted, |most| most.min(wanted));
        // By its keeping time it is rounded up, because a supplier parts no container; by the limit of
        // the stores never.
        let containers = match want > 0 {
            true => choose(&self.terms.sizes, want, room),
            false => Vec::new(),
        };
        let amount = match self.terms.sizes.is_empty() {
            true => want,
            false => together(&containers),
        };
        let by_keeping =
            used.filter(|(_, used)| *used < wanted && room.is_none_or(|room| *used < room));
        let held = match (amount < wanted, by_keeping) {
            (false, _) => None,
            (true, Some((until, _))) => Some(Held::ByKeeping { until }),
            (true, None) => Some(Held::ByLimit {
                there: Millilitres::new(there)?,
            }),
        };
        Ok(Try {
            wanted,
            amount,
            containers,
            held,
            over: used.map_or(0, |(_, used)| (amount - used).max(0)),
        })
    }

    /// What is missing, and what passes its date on the shelf because this comes and is drawn before it.
    fn with_lapses(&self, from: NaiveDate, missing: i64) -> Result<i64, OutOfRange> {
        let mut wanted = missing;
        for _ in 0..=self.outlook.batches.len() {
            let with = self.outlook.with(Batch {
                from,
                until: None,
                amount: Millilitres::new(wanted)?,
            });
            let least = with.course()?.least_from(from);
            let still = least.map_or(0, |least| (self.safety - least.get()).max(0));
            if still == 0 {
                break;
            }
            wanted += still;
        }
        Ok(wanted)
    }

    /// What clean-outs miss before it comes: since when, and how much at most.
    fn missing(&self, comes: NaiveDate) -> Result<Option<(NaiveDate, Millilitres)>, OutOfRange> {
        let days = self.course.days.iter();
        let short: Vec<_> = days
            .filter(|on| (self.after..=comes).contains(&on.day) && on.left.get() < 0)
            .collect();
        let most = short.iter().map(|on| -on.left.get()).max();
        match (short.first(), most) {
            (Some(first), Some(most)) => Ok(Some((first.day, Millilitres::new(most)?))),
            _ => Ok(None),
        }
    }

    /// How much of a delivery is drawn until it is too old, when it is large enough.
    fn used_of(&self, comes: NaiveDate, until: NaiveDate, wanted: i64) -> Result<i64, OutOfRange> {
        let draws: i64 = self
            .outlook
            .draws
            .iter()
            .map(|draw| draw.amount.get())
            .sum();
        let large = draws.max(wanted);
        let batch = Batch {
            from: plus(comes, 1),
            until: Some(until),
            amount: Millilitres::new(large)?,
        };
        let with = self.outlook.with(batch).course()?;
        let lapsed = |course: &Course| -> i64 {
            let on = course.days.iter().find(|on| on.day == until);
            on.map_or(0, |on| on.lapsed.get())
        };
        Ok((large - (lapsed(&with) - lapsed(&self.course)).max(0)).max(0))
    }
}

/// The last day on which it can be ordered so that it comes before it is needed, and the day it comes on;
/// today where that is past.
fn when(
    today: NaiveDate,
    needed: NaiveDate,
    lead_days: i64,
    worked: &impl Fn(NaiveDate) -> bool,
) -> (NaiveDate, NaiveDate) {
    let mut by = minus(needed, lead_days + 1);
    while by > today {
        let comes = comes(by, lead_days, worked);
        if worked(by) && comes < needed {
            return (by, comes);
        }
        by = minus(by, 1);
    }
    (today, comes(today, lead_days, worked))
}

/// The day on which an order comes: somebody has to be there to take it in.
fn comes(by: NaiveDate, lead_days: i64, worked: &impl Fn(NaiveDate) -> bool) -> NaiveDate {
    let day = plus(by, lead_days);
    // Where nobody works for a fortnight, it comes when it comes.
    let worked = day.iter_days().take(14).find(|day| worked(*day));
    worked.unwrap_or(day)
}

fn plus(day: NaiveDate, days: i64) -> NaiveDate {
    let days = Days::new(days.unsigned_abs());
    day.checked_add_days(days).unwrap_or(day)
}

fn minus(day: NaiveDate, days: i64) -> NaiveDate {
    let days = Days::new(days.unsigned_abs());
    day.checked_sub_days(days).unwrap_or(day)
}

#[cfg(test)]
#[path = "ordering_tests.rs"]
mod tests;
