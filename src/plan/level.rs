//! The level of the tank of purified water through the weeks: what is in it now, what is made, what the
//! clean-outs draw.

use chrono::TimeDelta;

use super::grid::SLOT_MIN;
use super::proposal::Proposal;
use super::tank::drawn;
use crate::clock::Moment;

/// A level that rises evenly and falls with each draw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Level {
    pub full_ml: i64,
    /// From one to the next it rises evenly or stays; two of the same moment are a draw.
    pub points: Vec<(Moment, i64)>,
}

/// The level as it is planned; nothing where water is not on record.
pub fn of(proposal: &Proposal) -> Option<Level> {
    let facts = &proposal.facts;
    let water = facts.supplies.water?;
    let purified = facts.supplies.rinses_purified;
    let planned = proposal.planned().filter_map(|entry| {
        let asked = facts.asked_of(entry.system)?;
        Some((entry, asked.amounts, asked.rinses))
    });
    let standing = facts
        .standing
        .iter()
        .map(|one| (&one.entry, one.amounts, one.rinses));
    let mut draws: Vec<(Moment, i64)> = planned
        .chain(standing)
        .flat_map(|(entry, amounts, rinses)| drawn(&entry.lines, amounts, rinses, purified))
        .filter(|(at, ml)| *at >= facts.now && *ml > 0)
        .collect();
    draws.sort();
    Some(Level {
        full_ml: water.tank_ml,
        points: through(
            water.tank_ml,
            water.per_slot_ml,
            (facts.now, water.level_ml),
            &draws,
        ),
    })
}

/// The level from a beginning on, with these draws in order of time; what is drawn beyond it leaves nothing.
fn through(
    full: i64,
    per_slot: i64,
    begins: (Moment, i64),
    draws: &[(Moment, i64)],
) -> Vec<(Moment, i64)> {
    let mut points = vec![begins];
    let (mut at, mut level) = begins;
    let fill = |points: &mut Vec<(Moment, i64)>, at: Moment, level: i64| {
        let missing = full - level;
        if missing > 0 && per_slot > 0 {
            let minutes = (missing * i64::from(SLOT_MIN) + per_slot - 1) / per_slot;
            points.push((at.plus(TimeDelta::minutes(minutes)), full));
        }
    };
    for (then, ml) in draws {
        let minutes = then.since(at).num_minutes().max(0);
        let made = per_slot.saturating_mul(minutes) / i64::from(SLOT_MIN);
        let before = level.saturating_add(made).min(full);
        if before == full && level < full {
            fill(&mut points, at, level);
        }
        points.push((*then, before));
        level = (before - ml).max(0);
        points.push((*then, level));
        at = *then;
    }
    fill(&mut points, at, level);
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(minute: i64) -> Moment {
        let first: Moment = "2027-03-08T00:00:00Z".parse().unwrap();
        first.plus(TimeDelta::minutes(minute))
    }

    #[test]
    fn it_rises_to_the_brim_and_falls_with_each_draw() {
        // 4 L a quarter of an hour: 100 L full, 60 L now.
        let points = through(100, 4, (at(0), 60), &[(at(60), 50), (at(600), 30)]);
        let told: Vec<(i64, i64)> = points
            .iter()
            .map(|(when, level)| (when.since(at(0)).num_minutes(), *level))
            .collect();
        // After an hour 76, then 26; full again 74 / 4 = 18.5 quarters later.
        let expected = [
            (0, 60),
            (60, 76),
            (60, 26),
            (338, 100),
            (600, 100),
            (600, 70),
            (713, 100),
        ];
        assert_eq!(told, expected);
    }

    proptest! {
        #[test]
        fn it_stays_between_empty_and_full_and_goes_with_time(
            full in 1i64..5000, per_slot in 0i64..500, level in 0i64..5000,
            draws in prop::collection::vec((0i64..3000, 0i64..3000), 0..12),
        ) {
            let mut draws: Vec<(Moment, i64)> = draws.into_iter().map(|(minute, ml)| (at(minute), ml)).collect();
            draws.sort();
            let points = through(full, per_slot, (at(0), level.min(full)), &draws);
            prop_assert!(points.iter().all(|(_, level)| (0..=full).contains(level)));
            for two in points.windows(2) {
                let minutes = two[1].0.since(two[0].0).num_minutes();
                prop_assert!(minutes >= 0);
                // Never more than is made in that time.
                prop_assert!((two[1].1 - two[0].1) * i64::from(SLOT_MIN) <= per_slot * minutes);
            }
        }
    }
}
