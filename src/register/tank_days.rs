//! How far the tank of purified water goes, day by day: what a membrane makes, and what doses, rinses and
//! fresh fills draw.

use chrono::NaiveDate;

use crate::clock::Moment;
use crate::science::quantity::OutOfRange;
use crate::science::stored::{MillilitreChange, Millilitres, MillilitresPerMinute};

/// A tank now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TankNow {
    /// What can be drawn from it when it is full.
    pub usable: Millilitres,
    /// What can be drawn from it now.
    pub level: Millilitres,
    pub makes: MillilitresPerMinute,
}

/// Water that is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct WaterDraw {
    pub at: Moment,
    pub amount: Millilitres,
}

/// One day of a tank. Below nothing is what is missing and is waited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TankDay {
    pub day: NaiveDate,
    pub drawn: Millilitres,
    /// After the draw that leaves least.
    pub lowest: MillilitreChange,
    /// At the end of the day.
    pub evening: MillilitreChange,
}

/// The days up to each of these ends, in order.
///
/// level = min(usable, level + flow × minutes) - drawn, from draw to draw, in millilitres. What is missing
/// is owed and fills up first.
///
/// ```
/// use slackwater::register::tank_days::{TankNow, WaterDraw, days};
/// use slackwater::science::stored::{Millilitres, MillilitresPerMinute};
/// let ml = |amount| Millilitres::new(amount).unwrap();
/// let tank = TankNow { usable: ml(200_000), level: ml(150_000), makes: MillilitresPerMinute::new(300)? };
/// let now: slackwater::clock::Moment = "2027-03-04T08:00:00Z".parse()?;
/// let draw = WaterDraw { at: now, amount: ml(180_000) };
/// let ends = [("2027-03-04".parse()?, "2027-03-05T00:00:00Z".parse()?)];
/// let of = days(tank, now, &ends, &[draw])?;
/// // 30 L are missing at eight; sixteen hours make 288 L, and the tank holds 200 L.
/// assert_eq!((of[0].lowest.get(), of[0].evening.get()), (-30_000, 200_000));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Amounts that together are beyond what can be stored.
pub fn days(
    tank: TankNow,
    now: Moment,
    ends: &[(NaiveDate, Moment)],
    draws: &[WaterDraw],
) -> Result<Vec<TankDay>, OutOfRange> {
    let mut draws = draws.to_vec();
    draws.sort();
    let mut draws = draws.into_iter().peekable();
    let (mut level, mut at) = (tank.level.get(), now);
    let fill = |level: i64, from: Moment, to: Moment| {
        let minutes = to.since(from).num_minutes().max(0);
        let made = tank.makes.get().saturating_mul(minutes);
        level.saturating_add(made).min(tank.usable.get().max(level))
    };
    let mut found = Vec::new();
    for (day, end) in ends {
        let (mut drawn, mut lowest) = (0, level);
        while let Some(draw) = draws.next_if(|draw| draw.at < *end) {
            let when = draw.at.max(at);
            level = fill(level, at, when) - draw.amount.get();
            at = when;
            drawn += draw.amount.get();
            lowest = lowest.min(level);
        }
        level = fill(level, at, *end);
        at = at.max(*end);
        found.push(TankDay {
            day: *day,
            drawn: Millilitres::new(drawn)?,
            lowest: MillilitreChange::new(lowest)?,
            evening: MillilitreChange::new(level)?,
        });
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;
    use proptest::prelude::*;

    fn ml(amount: i64) -> Millilitres {
        Millilitres::new(amount).unwrap()
    }

    proptest! {
        #[test]
        fn a_tank_is_never_fuller_than_it_holds_and_loses_only_what_is_drawn(
            usable in 1_000i64..500_000, full in 0i64..=100, makes in 0i64..2_000,
            draws in prop::collection::vec((0i64..14 * 1440, 0i64..200_000), 0..30),
        ) {
            let now: Moment = "2027-03-04T08:00:00Z".parse().unwrap();
            let tank = TankNow { usable: ml(usable), level: ml(usable * full / 100), makes: MillilitresPerMinute::new(makes).unwrap() };
            let draws: Vec<WaterDraw> = draws.iter()
                .map(|(minute, amount)| WaterDraw { at: now.plus(TimeDelta::minutes(*minute)), amount: ml(*amount) })
                .collect();
            let first: NaiveDate = "2027-03-04".parse().unwrap();
            let ends: Vec<(NaiveDate, Moment)> = first.iter_days().take(14).zip(1..)
                .map(|(day, no)| (day, now.plus(TimeDelta::hours(24 * no - 8)))).collect();
            let days = days(tank, now, &ends, &draws).unwrap();
            let mut before = tank.level.get();
            for day in &days {
                prop_assert!(day.evening.get() <= usable && day.lowest <= day.evening);
                let made = day.evening.get() + day.drawn.get() - before;
                prop_assert!((0..=makes * 1440).contains(&made));
                before = day.evening.get();
            }
            let inside: i64 = draws.iter().filter(|draw| draw.at < ends[13].1).map(|draw| draw.amount.get()).sum();
            prop_assert_eq!(days.iter().map(|day| day.drawn.get()).sum::<i64>(), inside);
        }
    }
}
