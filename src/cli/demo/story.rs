//! What happened at the demo site in the last two weeks.
//!
//! The days of the tables are those of March 2027, in which 4 March is today; here they are moved so
//! that it is.

mod strips;
mod supplies;
mod timed;

use anyhow::Context;
use axum::Router;
use chrono::{Days, NaiveDate, TimeDelta};
use chrono_tz::Tz;

use super::on_clock;
use super::person::Person;
use crate::cleanouts::card::{FrozenCard, ReadingKind, StepKind};
use crate::cleanouts::{self, Cleanout};
use crate::cli::import::{Tables, take};
use crate::clock::{Clock, Moment};
use crate::config::Config;
use crate::db::Db;
use crate::ids::{CleanoutId, SystemId};
use crate::routes;
use crate::science::stored::Minutes;
use crate::state::App;
use crate::{crew, crops, register};

pub const SITE: &str = "Orrelby Glasshouses";
pub const PASSWORD: &str = "four fathoms deep";

const REGISTER: &str = include_str!("register.csv");
const TURNOVERS: &str = include_str!("turnovers.csv");
const ZONE: Tz = chrono_tz::Europe::London;

/// The day that the tables take for today.
fn tables_today() -> anyhow::Result<NaiveDate> {
    NaiveDate::from_ymd_opt(2027, 3, 4).context("no such day")
}

struct Story {
    app: App,
    router: Router,
    today: NaiveDate,
    now: Moment,
}

/// Tells the story up to now.
pub async fn tell(db: &Db, config: &Config, now: Moment) -> anyhow::Result<()> {
    let today = now.day(ZONE);
    let app = on_clock(db, config, Clock::fixed(now));
    let router = routes::router(app.clone());
    let story = Story {
        app,
        router,
        today,
        now,
    };
    story.set_up().await?;
    story.class_4_is_cleaned_and_released().await?;
    story.north_1_is_cleaned_and_held().await?;
    story.north_2_is_under_way().await?;
    story.what_comes_next().await?;
    story.what_was_timed().await
}

impl Story {
    /// Sets the clock: so many days ago, at this time of the site. It never stands after now.
    fn at(&self, days_ago: u64, hour: u32, minute: u32) -> anyhow::Result<Moment> {
        let day = self.day(days_ago)?;
        let local = day.and_hms_opt(hour, minute, 0).context("no such time")?;
        let wanted = local
            .and_local_timezone(ZONE)
            .earliest()
            .context("the clocks went forward just then")?;
        let moment = Moment::from(wanted.to_utc()).min(self.now);
        let clock = &self.app.clock;
        clock.advance(moment.since(clock.now()));
        Ok(moment)
    }

    fn day(&self, days_ago: u64) -> anyhow::Result<NaiveDate> {
        self.today
            .checked_sub_days(Days::new(days_ago))
            .context("no such day")
    }

    fn later(&self, minutes: i64) {
        self.app.clock.advance(TimeDelta::minutes(minutes));
    }

    async fn sign_in(&self, name: &str) -> anyhow::Result<Person> {
        Person::sign_in(&self.router, name, PASSWORD).await
    }

    async fn set_up(&self) -> anyhow::Result<()> {
        self.at(12, 9, 0)?;
        let mut ines = Person::stranger(&self.router);
        let first = [
            ("site_name", SITE),
            ("zone", ZONE.name()),
            ("units", "metric"),
            ("rule_set", "eu"),
            ("name", "Ines V."),
            ("sign_in", "ines"),
            ("password", PASSWORD),
            ("adult", "yes"),
            ("skill", "yes"),
        ];
        ines.send("/first-run", &first).await?;
        self.crew(&mut ines).await?;
        // Whatever day the demo is tried on, somebody works.
        let mut site = vec![
            ("name", SITE),
            ("zone", ZONE.name()),
            ("units", "metric"),
            ("rule_set", "eu"),
            ("starts", "07:30"),
            ("ends", "18:00"),
            ("version", "1"),
        ];
        site.extend(["0", "1", "2", "3", "4", "5", "6"].map(|day| ("day", day)));
        ines.send("/site/change", &site).await?;
        let product = [
            ("name", "Peroxide 35"),
            ("strength", "35"),
            ("basis", "% w/w"),
            ("label_reference", "label of the demo, 2026"),
            (
                "label_says",
                "For empty benches and lines. 3 % w/v, three hours, rinse twice. Not for use with a crop in place.",
            ),
        ];
        ines.send("/stock/products", &product).await?;
        for (code, amount, received, retest) in
            [("P-118", "60", 12_u64, 150_u64), ("P-121", "25", 5, 180)]
        {
            self.at(received, 10, 0)?;
            let received_on = self.day(received)?.to_string();
            let retest_on = self
                .today
                .checked_add_days(Days::new(retest))
                .context("no such day")?
                .to_string();
            let lot = [
                ("product", "1"),
                ("code", code),
                ("amount", amount),
                ("received_on", &received_on),
                ("retest_on", &retest_on),
                ("kept_in", "store 2, bottom shelf"),
                ("loss", "2"),
            ];
            self.sign_in("ines")
                .await?
                .send("/stock/receive", &lot)
                .await?;
        }
        let imported = self.at(12, 11, 0)?;
        let turnovers = self.moved(TURNOVERS)?;
        let register = self.moved(REGISTER)?;
        let tables = Tables {
            register: Some(&register),
            turnovers: Some(&turnovers),
        };
        let mut said = Vec::new();
        let taken = take(&self.app.db, tables, imported, &mut said).await?;
        anyhow::ensure!(taken, "{}", String::from_utf8_lossy(&said));
        let mut ines = self.sign_in("ines").await?;
        self.strips_and_pens(&mut ines).await?;
        self.hours_and_supplies(&mut ines).await
    }

    async fn crew(&self, ines: &mut Person) -> anyhow::Result<()> {
        let granted = self.day(12)?.to_string();
        let expires = self
            .today
            .checked_add_days(Days::new(300))
            .context("no such day")?
            .to_string();
        let people = [
            (
                "Oda R.",
                "lead",
                "oda",
                &["concentrate", "electrics", "release"][..],
            ),
            (
                "Tobit A.",
                "hand",
                "tobit",
                &["concentrate", "electrics"][..],
            ),
        ];
        for (name, role, sign_in, skills) in people {
            let person = [
                ("kind", "person"),
                ("name", name),
                ("role", role),
                ("age_band", "adult"),
            ];
            let page = ines.send("/crew", &person).await?;
            let link = ines.link(&format!("{page}/sign-in"), sign_in).await?;
            let mut invited = Person::stranger(&self.router);
            invited
                .send(&link, &[("password", PASSWORD), ("again", PASSWORD)])
                .await?;
            for skill in skills {
                let fields = [
                    ("kind", *skill),
                    ("granted_on", &granted),
                    ("expires_on", &expires),
                    ("evidence", "course at the site, signed sheet in the office"),
                ];
                ines.send(&format!("{page}/skills/new"), &fields).await?;
            }
        }
        let group = [
            ("kind", "group"),
            ("name", "Group 7B"),
            ("head_count", "12"),
            ("age_band", "minor"),
        ];
        ines.send("/crew", &group).await?;
        Ok(())
    }

    /// A table with its days moved, so that the tables' today is today.
    fn moved(&self, table: &str) -> anyhow::Result<String> {
        let by = self.today - tables_today()?;
        let moved = |cell: &str| {
            cell.parse::<NaiveDate>()
                .map_or_else(|_| cell.to_owned(), |day| (day + by).to_string())
        };
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(table.as_bytes());
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in reader.records() {
            writer.write_record(row?.iter().map(moved))?;
        }
        Ok(String::from_utf8(writer.into_inner()?)?)
    }

    async fn class_4_is_cleaned_and_released(&self) -> anyhow::Result<()> {
        self.at(6, 14, 0)?;
        self.crop_off("Class 4", 6).await?;
        let job = self.issued("Class 4", 3).await?;
        self.at(3, 9, 0)?;
        self.run(job, Until::Release { strip: "0.5" }).await?;
        let mut oda = self.sign_in("oda").await?;
        oda.send(
            &format!("{}/release", cleanouts::path(job)),
            &[("act", "release")],
        )
        .await?;
        Ok(())
    }

    async fn north_1_is_cleaned_and_held(&self) -> anyhow::Result<()> {
        self.at(2, 15, 0)?;
        self.crop_off("North 1", 2).await?;
        let job = self.issued("North 1", 1).await?;
        self.at(1, 8, 0)?;
        self.run(job, Until::Release { strip: "10" }).await?;
        let mut oda = self.sign_in("oda").await?;
        let fields = [
            ("act", "hold"),
            ("reason", "The strip still shows 10 mg/L: one more rinse."),
        ];
        oda.send(&format!("{}/release", cleanouts::path(job)), &fields)
            .await?;
        Ok(())
    }

    async fn north_2_is_under_way(&self) -> anyhow::Result<()> {
        self.at(2, 16, 0)?;
        self.crop_off("North 2", 2).await?;
        let job = self.issued("North 2", 0).await?;
        // Begun the afternoon before; the dose waits for today.
        self.at(1, 15, 0)?;
        self.run(job, Until::Dose).await
    }

    async fn what_comes_next(&self) -> anyhow::Result<()> {
        self.at(1, 17, 0)?;
        self.crop_off("Propagation", 1).await?;
        let mut ines = self.sign_in("ines").await?;
        let propagation = self.system("Propagation").await?;
        let fields = [
            ("act", "quarantine"),
            ("quarantine_why", "root rot in two trays"),
        ];
        ines.send(&format!("/systems/{propagation}/standing"), &fields)
            .await?;
        for system in ["North 3", "South 2"] {
            self.proposed(&mut ines, system).await?;
        }
        Ok(())
    }

    async fn system(&self, name: &str) -> anyhow::Result<SystemId> {
        let mut conn = self.app.db.read().await?;
        let all = register::store::systems::all(&mut conn).await?;
        let found = all
            .into_iter()
            .find(|system| system.figures.name.as_str() == name);
        Ok(found.with_context(|| format!("no system {name}"))?.id)
    }

    async fn crop_off(&self, system: &str, days_ago: u64) -> anyhow::Result<()> {
        let id = self.system(system).await?;
        let mut conn = self.app.db.read().await?;
        let growing = crops::store::growing_in(&mut conn, id)
            .await?
            .with_context(|| format!("nothing grows in {system}"))?;
        drop(conn);
        let off_on = self.day(days_ago)?.to_string();
        let mut tobit = self.sign_in("tobit").await?;
        tobit
            .send(
                &format!("/turnovers/{}/off", growing.id),
                &[("off_on", &off_on)],
            )
            .await?;
        Ok(())
    }

    async fn proposed(&self, by: &mut Person, system: &str) -> anyhow::Result<CleanoutId> {
        let id = self.system(system).await?;
        let mut conn = self.app.db.read().await?;
        let planting = crops::store::of_system(&mut conn, id)
            .await?
            .into_iter()
            .find(|planting| planting.turnover_on.is_some());
        drop(conn);
        let planting = planting
            .map(|planting| planting.id.to_string())
            .unwrap_or_default();
        let page = by
            .send(
                "/clean-outs",
                &[("system_id", &id.to_string()), ("planting_id", &planting)],
            )
            .await?;
        let id = page.rsplit('/').next().and_then(|id| id.parse().ok());
        id.with_context(|| format!("{page} names no clean-out"))
    }

    /// A clean-out of a system whose card is out, starting so many days before today.
    async fn issued(&self, system: &str, days_ago: u64) -> anyhow::Result<CleanoutId> {
        let mut oda = self.sign_in("oda").await?;
        let id = self.proposed(&mut oda, system).await?;
        let path = cleanouts::path(id);
        let tobit = self.person("Tobit A.").await?;
        let starts_on = self.day(days_ago)?.to_string();
        let version = self.cleanout(id).await?.version.to_string();
        let booking = [
            ("starts_on", starts_on.as_str()),
            // Dosed from 10:30 on, when the lesson in the classroom is over.
            ("starts_at", "09:00"),
            ("person", &tobit),
            ("pours", ""),
            ("version", &version),
        ];
        oda.send(&format!("{path}/booking"), &booking).await?;
        let version = self.cleanout(id).await?.version.to_string();
        let choices = [
            ("lot", "1"),
            ("jug", "2"),
            ("target", "3"),
            ("target_basis", "% w/v"),
            ("target_source", "label"),
            ("target_reference", "label of the demo, 2026"),
            ("temperature", "18"),
            ("water", "reverse osmosis"),
            ("water_on_hand", "600"),
            ("media_was", "wet"),
            ("version", &version),
        ];
        oda.send(&format!("{path}/choices"), &choices).await?;
        oda.send(&format!("{path}/issue"), &[]).await?;
        Ok(id)
    }

    async fn cleanout(&self, id: CleanoutId) -> anyhow::Result<Cleanout> {
        let mut conn = self.app.db.read().await?;
        cleanouts::store::by_id(&mut conn, id)
            .await?
            .context("the clean-out is gone")
    }

    async fn card(&self, id: CleanoutId) -> anyhow::Result<FrozenCard> {
        let mut conn = self.app.db.read().await?;
        cleanouts::store::card_of(&mut conn, id)
            .await?
            .context("no card is out")
    }

    async fn person(&self, name: &str) -> anyhow::Result<String> {
        let mut conn = self.app.db.read().await?;
        let all = crew::store::all(&mut conn).await?;
        let found = all.into_iter().find(|person| person.name.as_str() == name);
        Ok(found
            .with_context(|| format!("nobody is called {name}"))?
            .id
            .to_string())
    }

    /// Tobit works through the steps of a card.
    async fn run(&self, id: CleanoutId, until: Until) -> anyhow::Result<()> {
        let card = self.card(id).await?;
        let second = self.person("Oda R.").await?;
        let mut tobit = self.sign_in("tobit").await?;
        for step in &card.method.steps {
            if matches!(until, Until::Dose) && step.phase >= crate::methods::Phase::Dose {
                break;
            }
            let path = format!("{}/run/{}", cleanouts::path(id), step.no);
            match step.kind {
                StepKind::Tick => {
                    tobit
                        .send(&format!("{path}/done"), &[("second", &second)])
                        .await?;
                    self.later(4);
                }
                StepKind::Reading => {
                    let value = reading(step.reading, &until);
                    let fields = [
                        ("value", value),
                        ("gauge", strips::gauge(step.reading)),
                        ("tool", "S-40"),
                        ("tool_expires_on", "2099-12-31"),
                        ("second", &second),
                    ];
                    tobit.send(&format!("{path}/reading"), &fields).await?;
                    self.later(2);
                }
                StepKind::Pours => {
                    let ready = [
                        ("protection", "yes"),
                        ("eyewash", "yes"),
                        ("air", "yes"),
                        ("alone", "yes"),
                        ("second", second.as_str()),
                    ];
                    tobit.send(&format!("{path}/begin"), &ready).await?;
                    for pour in card.dose.pours() {
                        let no = pour.no.to_string();
                        tobit
                            .send(
                                &format!("{path}/pour"),
                                &[("no", &no), ("amount", "asked"), ("second", &second)],
                            )
                            .await?;
                        self.later(1);
                    }
                }
                StepKind::Timed => {
                    tobit
                        .send(
                            &format!("{path}/begin"),
                            &[("times", "0"), ("second", &second)],
                        )
                        .await?;
                    self.later(step.minutes.map_or(0, Minutes::get) + 1);
                    tobit.send(&format!("{path}/end"), &[]).await?;
                }
            }
        }
        Ok(())
    }
}

/// How far a run goes.
enum Until {
    /// Stripped and washed; the dose waits.
    Dose,
    /// All steps, with what the last strips show in mg/L.
    Release { strip: &'static str },
}

fn reading(kind: Option<ReadingKind>, until: &Until) -> &'static str {
    match (kind, until) {
        (Some(ReadingKind::Peroxide), Until::Release { strip }) => strip,
        (Some(ReadingKind::Ph), _) => "6.4",
        (Some(ReadingKind::Ec), _) => "0.2",
        (Some(ReadingKind::Temperature), _) => "18.5",
        (Some(ReadingKind::FloodSeconds), _) => "285",
        (Some(ReadingKind::DrainSeconds), _) => "480",
        (Some(ReadingKind::Litres), _) => "180",
        (Some(ReadingKind::Peroxide) | None, _) => "0",
    }
}
