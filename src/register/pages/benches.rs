//! The form of a bench, with the picture of what to measure.

mod input;

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use sqlx::SqliteConnection;

pub use input::Input;

use super::checking::{self, Checks};
use super::{Options, options, retired, system_in_use, version};
use crate::crew::Who;
use crate::drawings::bench_measures::{BenchMeasures, Measure};
use crate::ids::{BenchId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::benches::{Bench, BenchFigures};
use crate::register::checks::Draft;
use crate::register::systems::{System, path};
use crate::register::{Media, MediaLie, entry, facts, store};
use crate::science::flood::MediaKind;
use crate::science::show;
use crate::science::units::Units;
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// A kind of media to choose, with its usual figures in words.
struct Choice {
    code: &'static str,
    words: &'static str,
    usual: String,
}

#[derive(Template)]
#[template(path = "register/bench.html")]
struct BenchForm {
    frame: Frame,
    system: System,
    id: Option<BenchId>,
    units: Units,
    media: Vec<Choice>,
    lies: Options,
    wrong: Vec<Measure>,
    input: Input,
    errors: FormErrors,
    checks: Checks,
}

impl BenchForm {
    fn new(
        who: &Who,
        system: System,
        id: Option<BenchId>,
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let media = Media::ALL.iter().map(|media| Choice {
            code: media.code(),
            words: media.words(),
            usual: media
                .usual()
                .map(MediaKind::usual)
                .map_or_else(String::new, |usual| {
                    let percent = |share: f64| show::figures(share * 100.0, 2);
                    format!(
                        "{}\u{a0}% drains, {}\u{a0}% stays wet",
                        percent(usual.drainable),
                        percent(usual.retained)
                    )
                }),
        });
        let lies = options(MediaLie::ALL, MediaLie::code, |lie| match lie {
            MediaLie::Level => "raked level: deepest at the drain",
            MediaLie::FollowsFloor => "as deep everywhere: it falls with the floor",
        });
        let drawn = [
            ("length", Measure::Length),
            ("width", Measure::Width),
            ("media_depth", Measure::Media),
            ("overflow", Measure::Overflow),
            ("wall", Measure::Wall),
            ("floor_fall", Measure::Fall),
        ];
        let wrong = drawn
            .into_iter()
            .filter(|(field, _)| !errors.on(field).is_empty())
            .map(|(_, measure)| measure);
        Self {
            frame: who.frame(Section::Systems),
            system,
            id,
            units: who.site.units,
            media: media.collect(),
            lies,
            wrong: wrong.collect(),
            checks: Checks::waiting(&errors),
            input,
            errors,
        }
    }

    fn picture(&self) -> BenchMeasures<'_> {
        BenchMeasures {
            has_media: self.input.media != Media::None.code(),
            has_fall: true,
            wrong: &self.wrong,
        }
    }

    fn long(&self) -> &'static str {
        entry::long(self.units).symbol()
    }

    fn short(&self) -> &'static str {
        entry::short(self.units).symbol()
    }

    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }
}

async fn in_use(conn: &mut SqliteConnection, id: BenchId) -> Result<(System, Bench), AppError> {
    let bench = store::benches::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("bench"))?;
    if bench.retired {
        return Err(retired("bench"));
    }
    Ok((system_in_use(conn, bench.system_id).await?, bench))
}

fn subject(system: &System, bench: &BenchFigures) -> String {
    format!("{}, {}", system.figures.name, bench.name)
}

pub async fn new(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_in_use(&mut conn, system).await?;
    let count = store::benches::of_system(&mut conn, system.id).await?.len();
    let input = Input {
        name: format!("Bench {}", count + 1),
        media: Media::Clay.to_string(),
        media_lie: MediaLie::Level.to_string(),
        ..Input::default()
    };
    Ok(Page(BenchForm::new(
        &who,
        system,
        None,
        input,
        FormErrors::default(),
    )))
}

/// The form again with its checks; nothing is written.
async fn checked(
    conn: &mut SqliteConnection,
    who: &Who,
    system: System,
    id: Option<BenchId>,
    input: Input,
) -> Result<Response, AppError> {
    let units = who.site.units;
    let figures = match input.check(units) {
        Ok(figures) => figures,
        Err(errors) => {
            return Ok(Refused(BenchForm::new(who, system, id, input, errors)).into_response());
        }
    };
    let checks = checking::with(conn, system.id, Draft::Bench(id, figures), units).await?;
    let mut form = BenchForm::new(who, system, id, input, FormErrors::default());
    form.checks = checks;
    Ok(Page(form).into_response())
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    if !form.input.check.is_empty() {
        let mut conn = app.db.read().await?;
        let system = system_in_use(&mut conn, system).await?;
        return checked(&mut conn, &who, system, None, form.input).await;
    }
    let units = who.site.units;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_in_use(tx.conn(), system).await?;
    let new = match form.input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(
                Refused(BenchForm::new(&who, system, None, form.input, errors)).into_response(),
            );
        }
    };
    let id = store::benches::insert(&mut tx, system.id, &new).await?;
    let entry = Entry::about("bench", id.get(), subject(&system, &new), "added")
        .with(facts::all(&new.facts(units)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<BenchId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (system, bench) = in_use(&mut conn, id).await?;
    let input = Input::of(&bench, who.site.units);
    let draft = Draft::Bench(Some(id), bench.figures);
    let checks = checking::with(&mut conn, system.id, draft, who.site.units).await?;
    let mut form = BenchForm::new(&who, system, Some(id), input, FormErrors::default());
    form.checks = checks;
    Ok(Page(form))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<BenchId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    if !form.input.check.is_empty() {
        let mut conn = app.db.read().await?;
        let (system, _) = in_use(&mut conn, id).await?;
        return checked(&mut conn, &who, system, Some(id), form.input).await;
    }
    let units = who.site.units;
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (system, was) = in_use(tx.conn(), id).await?;
    let new = match input.check(units) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(
                Refused(BenchForm::new(&who, system, Some(id), input, errors)).into_response(),
            );
        }
    };
    let (before, after) = (was.figures.facts(units), new.facts(units));
    if !store::benches::update(&mut tx, &was, version(&input.version), &new).await? {
        let mut errors = FormErrors::default();
        errors.add("name", facts::differences(&before, &after));
        input.version = was.version.to_string();
        return Ok(Refused(BenchForm::new(&who, system, Some(id), input, errors)).into_response());
    }
    let entry = Entry::about("bench", id.get(), subject(&system, &new), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(system.id), now).await?.into_response())
}
