//! The form of a bench, with the picture of what to measure.

mod input;

use askama::Template;
use sqlx::SqliteConnection;

pub use input::Input;

use super::checking::Checks;
use super::parts::PartForm;
use super::{Options, options};
use crate::crew::Who;
use crate::db::WriteTx;
use crate::drawings::bench_measures::{BenchMeasures, Measure};
use crate::ids::BenchId;
use crate::register::benches::{Bench, BenchFigures};
use crate::register::checks::Draft;
use crate::register::facts::Facts;
use crate::register::systems::System;
use crate::register::{Media, MediaLie, entry, store};
use crate::science::flood::MediaKind;
use crate::science::show;
use crate::science::units::Units;
use crate::web::{AppError, FormErrors, Frame, Section};

/// A kind of media to choose, with its usual figures in words.
#[derive(Debug)]
struct Choice {
    code: &'static str,
    words: &'static str,
    usual: String,
}

#[derive(Debug, Template)]
#[template(path = "register/bench.html")]
pub struct BenchForm {
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

impl PartForm for BenchForm {
    const KIND: &'static str = "bench";

    type Id = BenchId;
    type Figures = BenchFigures;
    type Input = Input;

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

    fn checks(&mut self) -> &mut Checks {
        &mut self.checks
    }

    async fn first(conn: &mut SqliteConnection, system: &System) -> Result<Input, AppError> {
        let count = store::benches::of(conn, Some(system.id)).await?.len();
        Ok(Input {
            name: format!("Bench {}", count + 1),
            media: Media::Clay.to_string(),
            media_lie: MediaLie::Level.to_string(),
            ..Input::default()
        })
    }

    fn name(figures: &BenchFigures) -> &str {
        figures.name.as_str()
    }

    fn facts(figures: &BenchFigures, units: Units) -> Facts {
        figures.facts(units)
    }

    fn draft(id: Option<BenchId>, figures: BenchFigures) -> Draft {
        Draft::Bench(id, figures)
    }

    async fn by_id(conn: &mut SqliteConnection, id: BenchId) -> sqlx::Result<Option<Bench>> {
        store::benches::by_id(conn, id).await
    }

    async fn insert(
        tx: &mut WriteTx,
        system: &System,
        new: &BenchFigures,
    ) -> Result<BenchId, AppError> {
        Ok(store::benches::insert(tx, system.id, new).await?)
    }

    async fn update(
        tx: &mut WriteTx,
        was: &Bench,
        version: i64,
        new: &BenchFigures,
    ) -> sqlx::Result<bool> {
        store::benches::update(tx, was, version, new).await
    }
}

impl BenchForm {
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
