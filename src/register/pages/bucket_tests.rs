//! The bucket tests of a bench: how to do one, and what those before gave.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::{retired, system_in_use};
use crate::crew::{Role, Who};
use crate::ids::BenchId;
use crate::logbook::{self, Entry};
use crate::register::benches::{Bench, BucketFigures, BucketTest};
use crate::register::systems::System;
use crate::register::{Media, entry, store};
use crate::science::flood::MediaFractions;
use crate::science::show;
use crate::science::units::Units;
use crate::site::full_day;
use crate::state::App;
use crate::text::parse_day;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    bulk: String,
    filled: String,
    drained: String,
    tested_on: String,
}

/// One test with what it gave.
struct Shown {
    by: String,
    amounts: String,
    result: String,
}

#[derive(Template)]
#[template(path = "register/bucket_tests.html")]
struct BucketPage {
    frame: Frame,
    system: System,
    bench: Bench,
    units: Units,
    /// Newest first.
    tests: Vec<Shown>,
    on_record: String,
    may_add: bool,
    input: Input,
    errors: FormErrors,
}

impl BucketPage {
    fn new(
        who: &Who,
        at: (System, Bench),
        tests: Vec<BucketTest>,
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let (system, bench) = at;
        let units = who.site.units;
        let on_record = bench.figures.bed.as_ref().map_or_else(String::new, |bed| {
            let words = result(bed.drainable.share(), bed.retained.share());
            format!("{words} ({})", bed.fractions_known)
        });
        Self {
            frame: who.frame(Section::Systems),
            may_add: who.is_at_least(Role::Hand) && bench.figures.media() != Media::None,
            system,
            bench,
            units,
            tests: tests
                .iter()
                .rev()
                .map(|test| Shown::new(test, units))
                .collect(),
            on_record,
            input,
            errors,
        }
    }

    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }
}

impl Shown {
    fn new(test: &BucketTest, units: Units) -> Self {
        let volume =
            |whole: crate::science::stored::Millilitres| show::volume(whole.volume(), units);
        let figures = &test.figures;
        Self {
            by: format!("{}, {}", test.by, full_day(test.tested_on)),
            amounts: format!(
                "{} of media took {} and gave {} back",
                volume(figures.bulk),
                volume(figures.filled),
                volume(figures.drained)
            ),
            result: figures.fractions().map_or_else(
                |error| error.to_string(),
                |fractions| result(fractions.drainable(), fractions.retained()),
            ),
        }
    }
}

/// '42.0 % drains, 9.6 % stays wet'.
fn result(drainable: f64, retained: f64) -> String {
    let percent = |share: f64| show::fixed(share * 100.0, 1);
    format!(
        "{}\u{a0}% drains, {}\u{a0}% stays wet",
        percent(drainable),
        percent(retained)
    )
}

impl Input {
    fn check(
        &self,
        units: Units,
        today: NaiveDate,
    ) -> Result<(BucketFigures, MediaFractions, NaiveDate), FormErrors> {
        let mut errors = FormErrors::default();
        let bulk = errors.take(
            "bulk",
            entry::named(
                "Media in the bucket",
                entry::volume(&self.bulk, units, 500..=500_000),
            ),
        );
        let filled = errors.take(
            "filled",
            entry::named(
                "Water that went in",
                entry::volume(&self.filled, units, 1..=500_000),
            ),
        );
        let drained = errors.take(
            "drained",
            entry::named(
                "Water that came out",
                entry::volume(&self.drained, units, 1..=500_000),
            ),
        );
        let day = parse_day(&self.tested_on).and_then(|day| {
            if day > today {
                Err("This day is still to come.".to_owned())
            } else {
                Ok(day)
            }
        });
        let day = errors.take("tested_on", day);
        let (Some(bulk), Some(filled), Some(drained), Some(day)) = (bulk, filled, drained, day)
        else {
            return Err(errors);
        };
        if filled >= bulk {
            errors.add("filled", "More water went in than there are media. Fill only to the top of the media, and measure again.");
        } else if drained > filled {
            errors.add(
                "drained",
                "More ran out than went in: the media were wet before. Use dry media.",
            );
        }
        let figures = BucketFigures {
            bulk,
            filled,
            drained,
        };
        match figures.fractions() {
            Ok(fractions) if !errors.any() => Ok((figures, fractions, day)),
            Ok(_) => Err(errors),
            Err(error) => {
                if !errors.any() {
                    errors.add("filled", format!("{error}."));
                }
                Err(errors)
            }
        }
    }
}

async fn load(
    conn: &mut SqliteConnection,
    id: BenchId,
) -> Result<((System, Bench), Vec<BucketTest>), AppError> {
    let bench = store::benches::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("bench"))?;
    let system = store::systems::by_id(conn, bench.system_id)
        .await?
        .ok_or(AppError::NotFound("system"))?;
    let mut tests = store::benches::bucket_tests(conn, Some(system.id)).await?;
    tests.retain(|test| test.bench_id == id);
    Ok(((system, bench), tests))
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<BenchId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (at, tests) = load(&mut conn, id).await?;
    let input = Input {
        tested_on: who.site.today(app.clock.now()).to_string(),
        ..Input::default()
    };
    Ok(Page(BucketPage::new(
        &who,
        at,
        tests,
        input,
        FormErrors::default(),
    )))
}

pub async fn add(
    State(app): State<App>,
    who: Who,
    Path(id): Path<BenchId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let units = who.site.units;
    let mut tx = app.db.write_once(&form.once).await?;
    let ((system, bench), tests) = load(tx.conn(), id).await?;
    if bench.retired {
        return Err(retired("bench"));
    }
    system_in_use(tx.conn(), system.id).await?;
    if bench.figures.media() == Media::None {
        return Err(AppError::Conflict(format!(
            "{} has no media to test.",
            bench.figures.name
        )));
    }
    let (figures, fractions, day) = match form.input.check(units, who.site.today(now)) {
        Ok(checked) => checked,
        Err(errors) => {
            return Ok(Refused(BucketPage::new(
                &who,
                (system, bench),
                tests,
                form.input,
                errors,
            ))
            .into_response());
        }
    };
    store::benches::insert_bucket_test(&mut tx, id, &figures, day, who.id, now).await?;
    let subject = format!("{}, {}", system.figures.name, bench.figures.name);
    let entry = Entry::about("bench", id.get(), subject, "bucket test").with(json!({
        "media": show::volume(figures.bulk.volume(), units),
        "took": show::volume(figures.filled.volume(), units),
        "gave back": show::volume(figures.drained.volume(), units),
        "so": result(fractions.drainable(), fractions.retained()),
        "tested on": day,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("/benches/{id}/bucket-tests"), now)
        .await?
        .into_response())
}
