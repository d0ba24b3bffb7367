//! How long people were at a clean-out, from what they entered.

use chrono::TimeDelta;

use crate::cleanouts::card::{FrozenMethod, Phase};
use crate::cleanouts::run::{Record, What};
use crate::clock::Moment;

/// Between two entries nobody was at it for longer than this: a night, another job.
const BREAK: TimeDelta = TimeDelta::hours(3);

/// The minutes of everybody together. What lies between two entries belongs to whoever made the later one,
/// and to whoever signed it beside; the soak goes on by itself, and a longer break is no work. What was done
/// before the first entry is not in it.
pub fn worked_minutes(record: &Record, method: &FrozenMethod) -> i64 {
    let phase = |no: i64| {
        let step = method.steps.iter().find(|step| step.no == no);
        step.map(|step| step.phase)
    };
    let done = record
        .entries
        .iter()
        .filter(|entry| entry.what != What::Undone);
    let people = |second: bool| if second { 2 } else { 1 };
    let entries = done.map(|entry| {
        (
            entry.at,
            phase(entry.step_no),
            people(entry.second.is_some()),
        )
    });
    let pours = record.pours.iter();
    let pours = pours.map(|pour| (pour.at, Some(Phase::Dose), people(pour.second.is_some())));
    let readings = record.readings.iter();
    let readings = readings.map(|reading| (reading.at, reading.step_no.and_then(phase), 1));
    let mut all: Vec<(Moment, Option<Phase>, i64)> = entries.chain(pours).chain(readings).collect();
    all.sort_by_key(|(at, ..)| *at);
    let between = all.windows(2).filter_map(|two| {
        let [(before, ..), (at, phase, people)] = two else {
            return None;
        };
        let took = at.since(*before);
        let by_itself = *phase == Some(Phase::Soak) || took > BREAK;
        (!by_itself).then(|| took.num_seconds() * people)
    });
    (between.sum::<i64>() + 59) / 60
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cleanouts::run::fixture::{by, method};

    #[test]
    fn the_soak_and_a_long_break_are_no_work_and_two_signers_count_twice() {
        let mut record = Record::default();
        record.enter(1, What::Done, "08:00");
        record.enter(2, What::Done, "08:30");
        record.pour(4_000, "08:40");
        record.pours[0].second = Some(by(2));
        record.enter(6, What::Begun, "08:50");
        record.enter(6, What::Ended, "11:50");
        record.enter(7, What::Done, "12:20");
        // The next entry is more than three hours later.
        record.enter(10, What::Done, "16:00");
        assert_eq!(worked_minutes(&record, &method()), 30 + 2 * 10 + 30);
        assert_eq!(worked_minutes(&Record::default(), &method()), 0);
    }
}
