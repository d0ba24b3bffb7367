//! A small method and its record, for the tests of the run and of the release.

use super::{Bound, By, Measured, Poured, Reading, Record, StepEntry, What};
use crate::cleanouts::card::{
    FrozenLimit, FrozenMethod, FrozenStep, Least, Marks, Phase, ReadingKind, StepKind,
};
use crate::clock::Moment;
use crate::ids::{LotId, MethodVersionId, PersonId};
use crate::science::stored::{Millilitres, Minutes};
use crate::text::{Name, Note};

pub fn step(no: i64, phase: Phase, kind: StepKind) -> FrozenStep {
    FrozenStep {
        no,
        phase,
        kind,
        text: format!("Step {no}"),
        caution: String::new(),
        least: Least::Anybody,
        two_people: false,
        reading: None,
        minutes: None,
        marks: Marks::Nothing,
        agent: None,
    }
}

/// 1 strip, 2 wash, 3 riser on, 4 fill, 5 pours, 6 soak of 180 min, 7 and 8 rinses of 30 min, 9 strip
/// reading, 10 pump, 11 riser off, 12 fresh fill, 13 pH.
pub fn method() -> FrozenMethod {
    use Phase::*;
    let marked = |no, phase, kind, marks| FrozenStep {
        marks,
        ..step(no, phase, kind)
    };
    let timed = |no, phase, marks, minutes| FrozenStep {
        minutes: Some(Minutes::new(minutes).unwrap()),
        ..marked(no, phase, StepKind::Timed, marks)
    };
    let read = |no, phase, kind| FrozenStep {
        reading: Some(kind),
        ..step(no, phase, StepKind::Reading)
    };
    FrozenMethod {
        version_id: MethodVersionId::from_row(1),
        code: "T-1".to_owned(),
        name: "Small".to_owned(),
        version: 1,
        soak: Minutes::new(180).unwrap(),
        rinses_at_least: 2,
        rinse_from: Minutes::new(30).unwrap(),
        rinse_to: Minutes::new(60).unwrap(),
        steps: vec![
            step(1, Strip, StepKind::Tick),
            step(2, Wash, StepKind::Tick),
            marked(3, Dose, StepKind::Tick, Marks::RiserOn),
            step(4, Dose, StepKind::Tick),
            step(5, Dose, StepKind::Pours),
            timed(6, Soak, Marks::Soak, 180),
            timed(7, Rinse, Marks::Rinse, 30),
            timed(8, Rinse, Marks::Rinse, 30),
            read(9, Rinse, ReadingKind::Peroxide),
            step(10, Teardown, StepKind::Tick),
            marked(11, Refit, StepKind::Tick, Marks::RiserOff),
            marked(12, Check, StepKind::Tick, Marks::FreshFill),
            read(13, Check, ReadingKind::Ph),
        ],
        limits: vec![
            FrozenLimit {
                reading: ReadingKind::Peroxide,
                at_least_milli: None,
                at_most_milli: Some(5000),
                why: String::new(),
            },
            FrozenLimit {
                reading: ReadingKind::Ph,
                at_least_milli: Some(5500),
                at_most_milli: Some(6500),
                why: String::new(),
            },
        ],
    }
}

pub fn by(id: i64) -> By {
    By {
        id: PersonId::from_row(id),
        name: Name::parse("Tobit A.").unwrap(),
    }
}

/// 'HH:MM' on the day of the run.
pub fn at(clock: &str) -> Moment {
    format!("2027-03-04T{clock}:00Z").parse().unwrap()
}

impl Record {
    pub fn enter(&mut self, step_no: i64, what: What, clock: &str) {
        let id = self.entries.len() as i64 + 1;
        self.entries.push(StepEntry {
            id,
            step_no,
            what,
            by: by(1),
            second: None,
            helped: None,
            note: Note::default(),
            at: at(clock),
        });
    }

    pub fn pour(&mut self, ml: i64, clock: &str) {
        self.pours.push(Poured {
            no: self.pours.len() as i64 + 1,
            planned: Millilitres::new(ml).unwrap(),
            poured: Millilitres::new(ml).unwrap(),
            lot_id: LotId::from_row(1),
            by: by(1),
            second: None,
            at: at(clock),
        });
    }

    pub fn read(&mut self, step_no: i64, kind: ReadingKind, milli: i64, clock: &str) {
        self.readings.push(Reading {
            id: self.readings.len() as i64 + 1,
            step_no: Some(step_no),
            value: Measured::stored(kind, milli, Bound::Exact, None),
            tool: "S-22".to_owned(),
            tool_expires_on: None,
            how: String::new(),
            by: by(1),
            at: at(clock),
            corrects: None,
        });
    }
}

/// Everything done as the method asks.
pub fn whole_run() -> Record {
    let mut record = Record::default();
    for no in 1..=4 {
        record.enter(no, What::Done, &format!("08:{no}0"));
    }
    record.enter(5, What::Begun, "09:00");
    record.pour(2500, "09:10");
    record.enter(6, What::Begun, "09:30");
    record.enter(6, What::Ended, "12:30");
    record.enter(7, What::Begun, "12:40");
    record.enter(7, What::Ended, "13:10");
    record.enter(8, What::Begun, "13:20");
    record.enter(8, What::Ended, "13:50");
    record.read(9, ReadingKind::Peroxide, 2000, "13:55");
    record.enter(10, What::Done, "14:10");
    record.enter(11, What::Done, "14:20");
    record.enter(12, What::Done, "14:30");
    record.read(13, ReadingKind::Ph, 6000, "14:40");
    record
}
