//! The flow tests of a system: how to time it, what was timed, and setting a wrong one aside.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::{Options, options, system_in_use};
use crate::crew::{Role, Who};
use crate::ids::{FlowTestId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::flow_tests::{FlowTest, TestFigures, Timed};
use crate::register::store::flow_tests::NewTest;
use crate::register::systems::{System, path};
use crate::register::{entry, store};
use crate::science::quantity::WaterTemperature;
use crate::science::show;
use crate::science::stored::{Milliseconds, TenthsCelsius};
use crate::science::units::{TemperatureUnit, Units};
use crate::science::{parse, quantity};
use crate::site::full_day;
use crate::state::App;
use crate::text::{Note, parse_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    kind: String,
    caught: String,
    took: String,
    water: String,
    lift: String,
    tested_on: String,
    note: String,
}

/// One test as its page shows it.
struct Shown {
    id: FlowTestId,
    what: &'static str,
    measured: String,
    by: String,
    standing: String,
    counts: bool,
}

#[derive(Template)]
#[template(path = "register/flow_tests.html")]
struct TestsPage {
    frame: Frame,
    system: System,
    units: Units,
    /// Newest first.
    tests: Vec<Shown>,
    kinds: Options,
    may_add: bool,
    may_set_aside: bool,
    input: Input,
    errors: FormErrors,
}

impl TestsPage {
    fn new(
        who: &Who,
        system: System,
        tests: &[FlowTest],
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let units = who.site.units;
        Self {
            frame: who.frame(Section::Systems),
            units,
            tests: tests
                .iter()
                .rev()
                .map(|test| Shown::new(test, units))
                .collect(),
            kinds: options(Timed::ALL, Timed::code, |kind| match kind {
                Timed::Flow => "the flow: a bucket at the end of the fill",
                Timed::Flood => "the flooding: pump on until the overflow runs",
                Timed::Drain => "the draining: drain open until it only drips",
            }),
            may_add: who.is_at_least(Role::Hand) && !system.retired,
            may_set_aside: who.is_at_least(Role::Lead) && !system.retired,
            system,
            input,
            errors,
        }
    }

    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }

    fn long(&self) -> &'static str {
        entry::long(self.units).symbol()
    }

    fn degrees(&self) -> &'static str {
        degrees(self.units).symbol()
    }
}

fn degrees(units: Units) -> TemperatureUnit {
    match units {
        Units::Metric | Units::Imperial => TemperatureUnit::Celsius,
        Units::Us => TemperatureUnit::Fahrenheit,
    }
}

/// '10 L in 48 s', 'flooded in 5 min 40 s'.
fn words(figures: &TestFigures, units: Units) -> String {
    let took = show::time(figures.took.time());
    let mut words = match (figures.kind, figures.caught) {
        (Timed::Flow, Some(caught)) => format!(
            "{} in {took}: {}",
            show::volume(caught.volume(), units),
            entry::show_flow_per_minute(caught.volume() / figures.took.time(), units)
        ),
        _ => took,
    };
    if let Some(Ok(water)) = figures.water.map(TenthsCelsius::celsius) {
        words += &format!(", water at {}", show::temperature(water, units));
    }
    if let Some(lift) = figures.lift {
        words += &format!(", lift {}", entry::show_long(lift.length(), units));
    }
    words
}

impl Shown {
    fn new(test: &FlowTest, units: Units) -> Self {
        let mut by = format!("{}, {}", test.by, full_day(test.tested_on));
        if !test.note.is_empty() {
            by += &format!(". {}", test.note);
        }
        Self {
            id: test.id,
            what: test.figures.kind.title(),
            measured: words(&test.figures, units),
            by,
            standing: match &test.set_aside {
                Some(aside) => format!("set aside by {}: {}", aside.by, aside.reason),
                None => "counts".to_owned(),
            },
            counts: test.set_aside.is_none(),
        }
    }
}

/// What a clock shows: '340', or '5:40' for five minutes and forty seconds.
fn clock_time(typed: &str) -> Result<Milliseconds, String> {
    let read = |text: &str| parse::decimal(text).map_err(|error| format!("{error}."));
    let seconds = match typed.trim().split_once(':') {
        Some((minutes, seconds)) => {
            let (minutes, seconds) = (read(minutes)?, read(seconds)?);
            if !(0.0..60.0).contains(&seconds) || minutes < 0.0 || minutes.fract() != 0.0 {
                return Err("Write minutes and seconds as 5:40, or seconds alone.".to_owned());
            }
            minutes * 60.0 + seconds
        }
        None => read(typed)?,
    };
    Milliseconds::nearest(quantity::Time::new::<uom::si::time::second>(seconds))
        .ok()
        .filter(|time| time.get() >= 1_000)
        .ok_or_else(|| "Write a time from 1\u{a0}s to 10\u{a0}h.".to_owned())
}

impl Input {
    fn check(&self, units: Units, today: NaiveDate) -> Result<NewTest, FormErrors> {
        let mut errors = FormErrors::default();
        let kind = errors.take(
            "kind",
            Timed::from_code(&self.kind).ok_or("Choose what was timed."),
        );
        let caught = entry::optional(&self.caught, |typed| {
            entry::volume(typed, units, 100..=1_000_000)
        });
        let caught = errors.take("caught", entry::named("Water in the bucket", caught));
        let took = errors.take("took", entry::named("Time it took", clock_time(&self.took)));
        let water = entry::optional(&self.water, |typed| {
            let celsius = parse::temperature(typed, Some(degrees(units)))
                .map_err(|error| format!("{error}."))?;
            WaterTemperature::try_from(celsius)
                .and_then(|_| TenthsCelsius::nearest(celsius))
                .map_err(|error| format!("{error}."))
        });
        let water = errors.take("water", water);
        let lift = entry::optional(&self.lift, |typed| {
            entry::length(typed, entry::long(units), units, 0..=100_000)
        });
        let lift = errors.take("lift", entry::named("Lift", lift));
        let day = parse_day(&self.tested_on).and_then(|day| {
            if day > today {
                Err("This day is still to come.".to_owned())
            } else {
                Ok(day)
            }
        });
        let tested_on = errors.take("tested_on", day);
        let note = errors.take("note", Note::parse(&self.note));
        match (kind, caught) {
            (Some(Timed::Flow), Some(None)) => {
                errors.add("caught", "Write how much ran into the bucket.");
            }
            (Some(Timed::Flood | Timed::Drain), Some(Some(_))) => errors.add(
                "caught",
                "A bucket belongs to a flow. Empty this field, or choose the flow.",
            ),
            _ => {}
        }
        if let (Some(Timed::Flood | Timed::Drain), Some(Some(_))) = (kind, lift) {
            errors.add(
                "lift",
                "A lift belongs to a flow: a flooding goes through all of them. Empty this field.",
            );
        }
        match (kind, (caught, took, water, lift), tested_on, note) {
            (
                Some(kind),
                (Some(caught), Some(took), Some(water), Some(lift)),
                Some(tested_on),
                Some(note),
            ) if !errors.any() => Ok(NewTest {
                figures: TestFigures {
                    kind,
                    caught,
                    took,
                    water,
                    lift,
                },
                tested_on,
                note,
            }),
            _ => Err(errors),
        }
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = store::systems::by_id(&mut conn, system)
        .await?
        .ok_or(AppError::NotFound("system"))?;
    let tests = store::flow_tests::of_system(&mut conn, system.id).await?;
    let input = Input {
        kind: Timed::Flood.to_string(),
        tested_on: who.site.today(app.clock.now()).to_string(),
        ..Input::default()
    };
    Ok(Page(TestsPage::new(
        &who,
        system,
        &tests,
        input,
        FormErrors::default(),
    )))
}

pub async fn add(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let units = who.site.units;
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_in_use(tx.conn(), system).await?;
    let new = match form.input.check(units, who.site.today(now)) {
        Ok(new) => new,
        Err(errors) => {
            let tests = store::flow_tests::of_system(tx.conn(), system.id).await?;
            let page = TestsPage::new(&who, system, &tests, form.input, errors);
            return Ok(Refused(page).into_response());
        }
    };
    store::flow_tests::insert(&mut tx, system.id, &new, who.id, now).await?;
    let entry = Entry::about(
        "system",
        system.id.get(),
        system.figures.name.to_string(),
        "timed",
    )
    .with(json!({
        "what": new.figures.kind.title(),
        "measured": words(&new.figures, units),
        "tested on": new.tested_on,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let there = format!("{}/flow-tests", path(system.id));
    Ok(tx.finish(there, now).await?.into_response())
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct AsideInput {
    reason: String,
}

#[derive(Template)]
#[template(path = "register/flow_test_aside.html")]
struct AsidePage {
    frame: Frame,
    system: System,
    test: Shown,
    input: AsideInput,
    errors: FormErrors,
}

impl AsidePage {
    fn new(
        who: &Who,
        (system, test): (System, &FlowTest),
        input: AsideInput,
        errors: FormErrors,
    ) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            test: Shown::new(test, who.site.units),
            system,
            input,
            errors,
        }
    }
}

/// A test that still counts, with its system.
async fn that_counts(
    conn: &mut SqliteConnection,
    id: FlowTestId,
) -> Result<(System, FlowTest), AppError> {
    let test = store::flow_tests::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("flow test"))?;
    if test.set_aside.is_some() {
        return Err(AppError::Conflict(
            "This test was set aside already.".to_owned(),
        ));
    }
    Ok((system_in_use(conn, test.system_id).await?, test))
}

pub async fn ask_aside(
    State(app): State<App>,
    who: Who,
    Path(id): Path<FlowTestId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (system, test) = that_counts(&mut conn, id).await?;
    Ok(Page(AsidePage::new(
        &who,
        (system, &test),
        AsideInput::default(),
        FormErrors::default(),
    )))
}

pub async fn set_aside(
    State(app): State<App>,
    who: Who,
    Path(id): Path<FlowTestId>,
    form: Form<AsideInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (system, test) = that_counts(tx.conn(), id).await?;
    let mut errors = FormErrors::default();
    let reason = errors.take("reason", Note::parse_reason(&form.input.reason));
    let Some(reason) = reason else {
        let page = AsidePage::new(&who, (system, &test), form.input, errors);
        return Ok(Refused(page).into_response());
    };
    store::flow_tests::set_aside(&mut tx, id, &reason, who.id, now).await?;
    let entry = Entry::about(
        "system",
        system.id.get(),
        system.figures.name.to_string(),
        "flow test set aside",
    )
    .with(json!({
        "measured": words(&test.figures, who.site.units),
        "tested on": test.tested_on,
        "why": reason,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let there = format!("{}/flow-tests", path(system.id));
    Ok(tx.finish(there, now).await?.into_response())
}

#[cfg(test)]
mod tests {
    use super::{Milliseconds, clock_time};

    #[test]
    fn a_time_is_read_as_a_clock_shows_it() {
        let ms = |typed| clock_time(typed).map(Milliseconds::get);
        assert_eq!(ms("5:40"), Ok(340_000));
        assert_eq!(ms(" 47.6 "), Ok(47_600));
        assert_eq!(ms("0:07.5"), Ok(7_500));
        assert!(ms("5:72").unwrap_err().contains("5:40"));
        assert!(ms("-1:10").is_err() && ms("0.4").is_err() && ms("5:4:0").is_err());
        assert!(ms("700:00").unwrap_err().contains("10\u{a0}h"));
    }
}
