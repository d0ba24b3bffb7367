//! A clean-out whose card is out, to tell the stories of the run and of the release on.

use std::ops::RangeInclusive;

use chrono::NaiveDate;
use slackwater::cleanouts::card::{
    FORM, FrozenBatch, FrozenBench, FrozenCard, FrozenDose, FrozenHazards, FrozenJug, FrozenLimit,
    FrozenLot, FrozenMethod, FrozenPerson, FrozenRule, FrozenStep, FrozenSystem, Least, Marks,
    Phase, ReadingKind, StepKind,
};
use slackwater::cleanouts::{self, MediaWas, State, TargetSource, Water};
use slackwater::crew::Role;
use slackwater::ids::{CleanoutId, JugId, LotId, MethodVersionId, SystemId};
use slackwater::science::quantity::Known;
use slackwater::science::stored::{Grams, Millilitres, Millimetres, Minutes, TenthsCelsius};
use slackwater::science::strength::{Basis, Strength};
use slackwater::science::units::Units;
use slackwater::text::Name;

use crate::garden::{Answer, Garden, Person};

pub struct Job {
    pub garden: Garden,
    /// Coordinator, with every skill.
    pub ines: Person,
    pub id: CleanoutId,
}

/// Numbers of the steps below.
pub mod no {
    pub const ROOTS: i64 = 1;
    pub const SCRUB: i64 = 2;
    pub const RISER_ON: i64 = 3;
    pub const FILL: i64 = 4;
    pub const POURS: i64 = 5;
    pub const SOAK: i64 = 6;
    pub const RINSE: i64 = 7;
    pub const SECOND_RINSE: i64 = 8;
    pub const STRIP: i64 = 9;
    pub const PUMP: i64 = 10;
    pub const RISER_OFF: i64 = 11;
    pub const FRESH: i64 = 12;
    pub const PH: i64 = 13;
}

fn ml(value: i64) -> Millilitres {
    Millilitres::new(value).unwrap()
}

fn min(value: i64) -> Minutes {
    Minutes::new(value).unwrap()
}

fn percent(value: f64, basis: Basis) -> Strength {
    Strength::new(value, basis).unwrap()
}

fn steps() -> Vec<FrozenStep> {
    use Phase::{Check, Dose, Refit, Rinse, Soak, Strip, Teardown, Wash};
    let step = |no, phase, kind, text: &str| FrozenStep {
        no,
        phase,
        kind,
        text: text.to_owned(),
        caution: String::new(),
        least: Least::Anybody,
        two_people: false,
        reading: None,
        minutes: None,
        marks: Marks::Nothing,
        agent: None,
    };
    let marked = |no, phase, text: &str, marks| FrozenStep {
        marks,
        ..step(no, phase, StepKind::Tick, text)
    };
    let timed = |no, phase, text: &str, marks, minutes| FrozenStep {
        marks,
        minutes: Some(min(minutes)),
        ..step(no, phase, StepKind::Timed, text)
    };
    let read = |no, phase, text: &str, kind| FrozenStep {
        reading: Some(kind),
        ..step(no, phase, StepKind::Reading, text)
    };
    vec![
        step(
            no::ROOTS,
            Strip,
            StepKind::Tick,
            "Sieve the roots out of the media",
        ),
        step(
            no::SCRUB,
            Wash,
            StepKind::Tick,
            "Empty and scrub the reservoir",
        ),
        marked(
            no::RISER_ON,
            Dose,
            "Fit the clean-out riser on both benches",
            Marks::RiserOn,
        ),
        step(
            no::FILL,
            Dose,
            StepKind::Tick,
            "Fill with 156.1 L of purified water",
        ),
        FrozenStep {
            two_people: true,
            ..step(
                no::POURS,
                Dose,
                StepKind::Pours,
                "Pour the concentrate into the water",
            )
        },
        timed(
            no::SOAK,
            Soak,
            "Recirculate with every bit of media under water",
            Marks::Soak,
            180,
        ),
        timed(
            no::RINSE,
            Rinse,
            "Drain, fill with clean water, recirculate",
            Marks::Rinse,
            30,
        ),
        timed(
            no::SECOND_RINSE,
            Rinse,
            "Drain and rinse a second time",
            Marks::Rinse,
            30,
        ),
        read(
            no::STRIP,
            Rinse,
            "Dip a strip into the last rinse",
            ReadingKind::Peroxide,
        ),
        FrozenStep {
            least: Least::Electrics,
            caution: "Plug out first, and keep it in your hand's sight.".to_owned(),
            ..step(
                no::PUMP,
                Teardown,
                StepKind::Tick,
                "Take the pump apart and brush it",
            )
        },
        marked(
            no::RISER_OFF,
            Refit,
            "Take the clean-out riser off",
            Marks::RiserOff,
        ),
        marked(no::FRESH, Check, "Fill with fresh water", Marks::FreshFill),
        read(
            no::PH,
            Check,
            "Read the pH of the fresh fill",
            ReadingKind::Ph,
        ),
    ]
}

/// 186 L of 3 % w/v from 35 % w/w: 14.09 L of concentrate, poured as 14.10 L from a jug of 3 L.
fn card(system: SystemId, person: &FrozenPerson, now: slackwater::clock::Moment) -> FrozenCard {
    FrozenCard {
        form: FORM,
        number: "27-0001".to_owned(),
        site: Name::parse("Orrelby Glasshouses").unwrap(),
        units: Units::Metric,
        system: FrozenSystem {
            id: system,
            name: Name::parse("North 2").unwrap(),
            room: Name::parse("North").unwrap(),
            benches: vec![FrozenBench {
                name: "bench 1".to_owned(),
                overflow: Millimetres::new(80).unwrap(),
                riser: Some(Millimetres::new(40).unwrap()),
            }],
        },
        planting: None,
        starts_on: day("2027-03-04"),
        starts_min: 510,
        length: min(480),
        ends: day("2027-03-04").and_hms_opt(16, 30, 0).unwrap(),
        booked: person.clone(),
        pours: person.clone(),
        others: String::new(),
        issued_by: person.clone(),
        issued_at: now,
        method: FrozenMethod {
            version_id: MethodVersionId::from_row(1),
            code: "T-1".to_owned(),
            name: "Short clean-out".to_owned(),
            version: 1,
            soak: min(180),
            rinses_at_least: 2,
            rinse_from: min(30),
            rinse_to: min(60),
            steps: steps(),
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
        },
        dose: FrozenDose {
            lot: FrozenLot {
                id: LotId::from_row(1),
                code: "P-118".to_owned(),
                product: "Peroxide 35".to_owned(),
                label: percent(35.0, Basis::PercentWw),
                label_reference: String::new(),
                label_says: String::new(),
                reentry: None,
                kept_in: String::new(),
            },
            jug: FrozenJug {
                id: JugId::from_row(1),
                name: "White jug".to_owned(),
                capacity: ml(3000),
                mark: ml(100),
                scale_off: None,
            },
            stock: percent(35.0, Basis::PercentWw),
            stock_known: Known::Label,
            target: percent(3.0, Basis::PercentWv),
            target_source: TargetSource::Label,
            target_reference: "label, section 4".to_owned(),
            temperature: TenthsCelsius::new(200).unwrap(),
            water_kind: Water::ReverseOsmosis,
            media_was: MediaWas::Wet,
            volume_known: Known::Measured,
            heel: ml(6000),
            retained: ml(10_000),
            concentrate: ml(14_093),
            concentrate_mass: Grams::new(15_943).unwrap(),
            water: ml(156_100),
            water_mass: Grams::new(155_800).unwrap(),
            finished: ml(186_000),
            batches: vec![FrozenBatch {
                pours: vec![ml(2500), ml(2500), ml(2500), ml(2500), ml(2500), ml(1600)],
                water: ml(156_100),
            }],
            gives: percent(3.0, Basis::PercentWv),
            levels: None,
            range: None,
            range_parts: Vec::new(),
            rinse: None,
            airing: None,
            looks_at_soak: true,
            others: Vec::new(),
            sentence: String::new(),
            lines: Vec::new(),
            label_rule: FrozenRule {
                working: String::new(),
                concentrate: None,
                verdict: String::new(),
            },
            hazards: FrozenHazards {
                rule_set: "eu".to_owned(),
                concentrate: None,
                solution: None,
            },
            oxygen: String::new(),
            warnings: Vec::new(),
            density_model: String::new(),
        },
    }
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

impl Job {
    /// A card that is out at half past eight, and a lot with so much in it.
    pub async fn issued(stock_ml: i64) -> Self {
        Self::issued_with(stock_ml, |_| ()).await
    }

    /// The same with something on the card otherwise.
    pub async fn issued_with(stock_ml: i64, change: impl FnOnce(&mut FrozenCard)) -> Self {
        let garden = Garden::site().await;
        let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
        let now = garden.app.clock.now();
        let mut tx = garden.app.db.write().await.unwrap();
        let rows = [
            "insert into room (site_id, name) values (1, 'North')".to_owned(),
            format!("insert into system (room_id, name, created_at) values (1, 'North 2', '{now}')"),
            "insert into product (name, agent, strength_value, strength_basis) values ('Peroxide 35', 'hydrogen peroxide', 35.0, '% w/w')".to_owned(),
            format!("insert into lot (product_id, code, received_on, created_at) values (1, 'P-118', '2027-01-12', '{now}')"),
            format!("insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (1, 'received', {stock_ml}, {}, '{now}')", ines.id),
            "insert into method (code, name) values ('T-1', 'Short clean-out')".to_owned(),
            format!(
                "insert into method_version (method_id, version, agent, target_value, target_basis, target_source, soak_min,
                                             rinses_at_least, rinse_from_min, rinse_to_min, at)
                 values (1, 1, 'hydrogen peroxide', 3.0, '% w/v', 'label', 180, 2, 30, 60, '{now}')"
            ),
        ];
        for row in rows {
            sqlx::query(sqlx::AssertSqlSafe(row))
                .execute(tx.conn())
                .await
                .unwrap();
        }
        let new = cleanouts::store::NewCleanout {
            system_id: SystemId::from_row(1),
            planting_id: None,
            method_version_id: MethodVersionId::from_row(1),
            starts_on: day("2027-03-04"),
            starts_min: 510,
            length: min(480),
            target: percent(3.0, Basis::PercentWv),
            target_source: TargetSource::Label,
            target_reference: String::new(),
        };
        let (id, _) = cleanouts::store::insert(&mut tx, &new, day("2027-03-04"), now)
            .await
            .unwrap();
        sqlx::query("update cleanout set person_id = ?1, state = 'issued'")
            .bind(ines.id.get())
            .execute(tx.conn())
            .await
            .unwrap();
        let person = FrozenPerson {
            id: ines.id,
            name: Name::parse("Ines V.").unwrap(),
        };
        let mut card = card(SystemId::from_row(1), &person, now);
        change(&mut card);
        cleanouts::store::insert_card(&mut tx, id, &card)
            .await
            .unwrap();
        tx.commit().await.unwrap();
        Self { garden, ines, id }
    }

    /// The same, with Ines at the pours, protected, and Oda as the second adult.
    pub async fn at_the_pours(stock_ml: i64) -> (Self, Person) {
        let job = Self::issued(stock_ml).await;
        let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
        job.to_the_pours(&job.ines).await;
        job.protect(&job.ines, &oda).await.sent_on();
        (job, oda)
    }

    pub fn path(&self, rest: &str) -> String {
        format!("/clean-outs/{}{rest}", self.id)
    }

    pub fn minutes_later(&self, minutes: i64) {
        self.garden
            .app
            .clock
            .advance(chrono::TimeDelta::minutes(minutes));
    }

    pub async fn post(&self, by: &Person, no: i64, act: &str, fields: &[(&str, &str)]) -> Answer {
        by.post(&self.path(&format!("/run/{no}/{act}")), fields)
            .await
    }

    pub async fn step(&self, by: &Person, no: i64) -> Answer {
        by.get(&self.path(&format!("/run/{no}"))).await
    }

    pub async fn tick(&self, by: &Person, no: i64) {
        self.post(by, no, "done", &[]).await.sent_on();
        self.minutes_later(5);
    }

    /// Everything that comes before the pours.
    pub async fn to_the_pours(&self, by: &Person) {
        for no in [no::ROOTS, no::SCRUB, no::RISER_ON, no::FILL] {
            self.tick(by, no).await;
        }
    }

    /// Confirms what comes before a pour.
    pub async fn protect(&self, by: &Person, second: &Person) -> Answer {
        let second = second.id.to_string();
        let fields = [
            ("protection", "yes"),
            ("eyewash", "yes"),
            ("air", "yes"),
            ("alone", "yes"),
            ("second", &second),
        ];
        self.post(by, no::POURS, "begin", &fields).await
    }

    pub async fn pour(&self, by: &Person, pour: i64) -> Answer {
        let pour = pour.to_string();
        self.post(by, no::POURS, "pour", &[("no", &pour), ("amount", "asked")])
            .await
    }

    pub async fn pours(&self, by: &Person, which: RangeInclusive<i64>) {
        for pour in which {
            self.pour(by, pour).await.sent_on();
        }
    }

    /// Pours, and types what it was.
    pub async fn pour_typed(&self, by: &Person, no: &str, litres: &str) -> Answer {
        let fields = [("no", no), ("amount", "typed"), ("poured", litres)];
        self.post(by, no::POURS, "pour", &fields).await
    }

    /// Begins a timed step that was begun so often before.
    pub async fn begin(&self, by: &Person, no: i64, times: &str) -> Answer {
        self.post(by, no, "begin", &[("times", times)]).await
    }

    pub async fn timed(&self, by: &Person, no: i64, times: &str, minutes: i64) {
        self.begin(by, no, times).await.sent_on();
        self.minutes_later(minutes);
        self.post(by, no, "end", &[]).await.sent_on();
    }

    pub async fn strip(&self, by: &Person, value: &str) -> Answer {
        let fields = [
            ("value", value),
            ("tool", "S-22"),
            ("tool_expires_on", "2027-12-31"),
        ];
        self.post(by, no::STRIP, "reading", &fields).await
    }

    /// Pours everything, soaks and rinses.
    pub async fn to_the_strip(&self, by: &Person, second: &Person) {
        self.to_the_pours(by).await;
        self.protect(by, second).await.sent_on();
        self.pours(by, 1..=6).await;
        self.timed(by, no::SOAK, "0", 180).await;
        self.timed(by, no::RINSE, "0", 30).await;
        self.timed(by, no::SECOND_RINSE, "0", 35).await;
    }

    /// All that is left after the strip.
    pub async fn to_the_end(&self, by: &Person) {
        for no in [no::PUMP, no::RISER_OFF, no::FRESH] {
            self.tick(by, no).await;
        }
        self.post(by, no::PH, "reading", &[("value", "6.0")])
            .await
            .sent_on();
    }

    pub async fn state(&self) -> State {
        let mut conn = self.garden.app.db.read().await.unwrap();
        cleanouts::store::by_id(&mut conn, self.id)
            .await
            .unwrap()
            .unwrap()
            .state
    }

    async fn sum(&self, what: &'static str) -> i64 {
        let mut conn = self.garden.app.db.read().await.unwrap();
        sqlx::query_scalar(what)
            .fetch_one(&mut *conn)
            .await
            .unwrap()
    }

    pub async fn stock_left(&self) -> i64 {
        self.sum("select sum(change_ml) from stock_entry").await
    }

    /// What was poured, and what was drawn from the stock for it.
    pub async fn poured_and_drawn(&self) -> (i64, i64) {
        let poured = self
            .sum("select coalesce(sum(poured_ml), 0) from pour")
            .await;
        let drawn = self.sum("select coalesce(-sum(change_ml), 0) from stock_entry where kind = 'drawn' and cleanout_id = 1").await;
        (poured, drawn)
    }

    pub async fn count(&self, what: &'static str) -> i64 {
        self.sum(what).await
    }
}
