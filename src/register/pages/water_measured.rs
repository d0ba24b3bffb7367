//! One water supply: what it gives by bucket and clock, and how much stands in its tank.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::water::in_use;
use crate::crew::{Role, Who};
use crate::ids::WaterSupplyId;
use crate::logbook::{self, Entry};
use crate::register::water::{NewWaterTest, WaterSupply, WaterTest};
use crate::register::{entry, store};
use crate::science::parse;
use crate::science::quantity::Celsius;
use crate::science::show;
use crate::science::stored::{Millilitres, TenthsCelsius};
use crate::science::units::Units;
use crate::site::full_day;
use crate::state::App;
use crate::text::{Note, parse_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// What a supply gives, and how that is known: '12.0 L/h, 288 L a day, measured on 4 March 2027'.
pub(super) fn gives(supply: &WaterSupply, units: Units) -> String {
    match &supply.test {
        Some(test) => rate_words(&test.new, units),
        None => "not measured yet".to_owned(),
    }
}

fn rate_words(test: &NewWaterTest, units: Units) -> String {
    let volume = test.caught.volume();
    let over = test.seconds as f64;
    let per = |seconds: f64| show::volume(volume * (seconds / over), units);
    format!("{} an hour, {} a day", per(3_600.0), per(86_400.0))
}

struct TestLine {
    on: String,
    gives: String,
    how: String,
    by: String,
    counts: bool,
}

impl TestLine {
    fn new(test: &WaterTest, counts: bool, units: Units) -> Self {
        let new = &test.new;
        let caught = show::volume(new.caught.volume(), units);
        let water = new.water.and_then(|tenths| tenths.celsius().ok());
        let water = water.map(|water| format!(", water of {}", show::temperature(water, units)));
        Self {
            on: full_day(new.measured_on),
            gives: rate_words(new, units),
            how: format!(
                "{caught} in {}{}",
                span_words(new.seconds),
                water.unwrap_or_default()
            ),
            by: match new.note.as_str() {
                "" => test.person.to_string(),
                note => format!("{}: {note}", test.person),
            },
            counts,
        }
    }
}

/// '30 min', '1 min 40 s'.
fn span_words(seconds: i64) -> String {
    match (seconds / 60, seconds % 60) {
        (0, s) => format!("{s}\u{a0}s"),
        (min, 0) => crate::site::length_words(min),
        (min, s) => format!("{} {s}\u{a0}s", crate::site::length_words(min)),
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct TestInput {
    measured_on: String,
    caught: String,
    minutes: String,
    seconds: String,
    water: String,
    note: String,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct LevelInput {
    level: String,
}

#[derive(Template)]
#[template(path = "register/water.html")]
struct SupplyPage {
    frame: Frame,
    supply: WaterSupply,
    units: Units,
    gives: String,
    /// How long an empty tank takes to fill.
    fills_in: String,
    tests: Vec<TestLine>,
    levels: Vec<(String, String, String)>,
    unit: &'static str,
    degrees: &'static str,
    may_measure: bool,
    may_change: bool,
    test: TestInput,
    level: LevelInput,
    errors: FormErrors,
}

/// So many levels are shown.
const LEVELS: i64 = 10;

impl SupplyPage {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        supply: WaterSupply,
        today: NaiveDate,
    ) -> Result<Self, AppError> {
        let units = who.site.units;
        let tests = store::water::tests_of(conn, supply.id).await?;
        let levels = store::water::levels_of(conn, supply.id, LEVELS).await?;
        let fills_in = match (supply.figures.tank, &supply.test) {
            (Some(tank), Some(test)) if test.new.caught.get() > 0 => {
                let seconds = tank.holds.get() * test.new.seconds / test.new.caught.get();
                crate::site::length_words(seconds / 60)
            }
            _ => String::new(),
        };
        Ok(Self {
            frame: who.frame(Section::Systems),
            units,
            gives: gives(&supply, units),
            fills_in,
            tests: tests
                .iter()
                .enumerate()
                .map(|(no, test)| TestLine::new(test, no == 0, units))
                .collect(),
            levels: levels
                .iter()
                .map(|seen| {
                    (
                        who.site.moment_words(seen.at),
                        show::volume(seen.level.volume(), units),
                        seen.person.to_string(),
                    )
                })
                .collect(),
            unit: entry::large(units).symbol(),
            degrees: show::temperature_unit(units).symbol(),
            may_measure: who.is_at_least(Role::Hand) && !supply.retired,
            may_change: who.is_at_least(Role::Coordinator) && !supply.retired,
            test: TestInput {
                measured_on: today.to_string(),
                ..TestInput::default()
            },
            level: LevelInput::default(),
            errors: FormErrors::default(),
            supply,
        })
    }

    fn tank_words(&self) -> String {
        self.supply.figures.tank.map_or_else(String::new, |tank| {
            format!(
                "holds {}, never drawn below {}",
                show::volume(tank.holds.volume(), self.units),
                show::volume(tank.least.volume(), self.units)
            )
        })
    }
}

impl TestInput {
    fn check(&self, units: Units, today: NaiveDate) -> Result<NewWaterTest, FormErrors> {
        let mut errors = FormErrors::default();
        let measured_on = parse_day(&self.measured_on).and_then(|day| {
            if day > today {
                Err("This day is still to come.".to_owned())
            } else {
                Ok(day)
            }
        });
        let measured_on = errors.take("measured_on", measured_on);
        let caught = entry::volume(&self.caught, units, NewWaterTest::CAUGHT_ML);
        let caught = errors.take("caught", entry::named("Caught", caught));
        let whole = |typed: &str| entry::optional(typed, |typed| entry::count(typed, 0..=86_400));
        let minutes = errors.take("minutes", entry::named("Minutes", whole(&self.minutes)));
        let seconds = errors.take("seconds", entry::named("Seconds", whole(&self.seconds)));
        let seconds = match (minutes, seconds) {
            (Some(minutes), Some(seconds)) => {
                let all = minutes.unwrap_or(0) * 60 + seconds.unwrap_or(0);
                let fits = NewWaterTest::SECONDS.contains(&all).then_some(all);
                let why = "Write how long it ran into the bucket, up to a day.";
                errors.take("minutes", fits.ok_or(why))
            }
            _ => None,
        };
        let water = entry::optional(&self.water, |typed| parse_water(typed, units));
        let water = errors.take("water", entry::named("Its temperature", water));
        let note = errors.take("note", Note::parse(&self.note));
        match (measured_on, caught, seconds, water, note) {
            (Some(measured_on), Some(caught), Some(seconds), Some(water), Some(note)) => {
                Ok(NewWaterTest {
                    measured_on,
                    caught,
                    seconds,
                    water,
                    note,
                })
            }
            _ => Err(errors),
        }
    }
}

/// A temperature of water, in the reader's degrees.
fn parse_water(typed: &str, units: Units) -> Result<TenthsCelsius, String> {
    let unit = show::temperature_unit(units);
    let read: Celsius =
        parse::temperature(typed, Some(unit)).map_err(|error| format!("{error}."))?;
    let tenths = TenthsCelsius::nearest(read).map_err(|error| error.to_string())?;
    if (0..=400).contains(&tenths.get()) {
        Ok(tenths)
    } else {
        Err(format!(
            "This reads as {}. Water is from 0 to 40\u{a0}°C.",
            show::temperature(read, units)
        ))
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<WaterSupplyId>,
) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let supply = store::water::by_id(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("water supply"))?;
    Ok(Page(
        SupplyPage::load(&mut conn, &who, supply, today).await?,
    ))
}

pub async fn add_test(
    State(app): State<App>,
    who: Who,
    Path(id): Path<WaterSupplyId>,
    form: Form<TestInput>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let today = who.site.today(now);
    let mut tx = app.db.write_once(&form.once).await?;
    let supply = in_use(tx.conn(), id).await?;
    let new = match form.input.check(units, today) {
        Ok(new) => new,
        Err(errors) => {
            let page = SupplyPage::load(tx.conn(), &who, supply, today).await?;
            let test = form.input;
            return Ok(Refused(SupplyPage {
                test,
                errors,
                ..page
            })
            .into_response());
        }
    };
    store::water::insert_test(&mut tx, id, &new, who.id, now).await?;
    let subject = supply.figures.name.as_str();
    let entry =
        Entry::about("water", id.get(), subject, "measured by bucket and clock").with(json!({
            "gives": rate_words(&new, units),
            "caught": show::volume(new.caught.volume(), units),
            "in": span_words(new.seconds),
            "measured on": new.measured_on,
        }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("/water/{id}"), now)
        .await?
        .into_response())
}

pub async fn add_level(
    State(app): State<App>,
    who: Who,
    Path(id): Path<WaterSupplyId>,
    form: Form<LevelInput>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let supply = in_use(tx.conn(), id).await?;
    let Some(tank) = supply.figures.tank else {
        return Err(AppError::Conflict(format!(
            "{} has no tank.",
            supply.figures.name
        )));
    };
    let mut errors = FormErrors::default();
    let level = entry::volume(&form.input.level, units, 0..=tank.holds.get());
    let Some(level) = errors.take("level", entry::named("In the tank", level)) else {
        let page = SupplyPage::load(tx.conn(), &who, supply, who.site.today(now)).await?;
        let level = form.input;
        return Ok(Refused(SupplyPage {
            level,
            errors,
            ..page
        })
        .into_response());
    };
    let level: Millilitres = level;
    store::water::insert_level(&mut tx, id, level, who.id, now).await?;
    let entry = Entry::about(
        "water",
        id.get(),
        supply.figures.name.as_str(),
        "level seen",
    )
    .with(json!({ "in the tank": show::volume(level.volume(), units) }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("/water/{id}"), now)
        .await?
        .into_response())
}
