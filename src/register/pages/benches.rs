//! The form of a bench, with the picture of what to measure.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::{Options, options, retired, system_in_use, version};
use crate::crew::Who;
use crate::drawings::bench_measures::{BenchMeasures, Measure};
use crate::ids::{BenchId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::benches::{BedFigures, Bench, BenchFigures, Heights};
use crate::register::systems::{System, path};
use crate::register::{FractionsKnown, Media, MediaLie, entry, facts, store};
use crate::science::flood::MediaKind;
use crate::science::show;
use crate::science::stored::{Millilitres, Millimetres, Permille};
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    length: String,
    width: String,
    media_depth: String,
    overflow: String,
    wall: String,
    floor_fall: String,
    media: String,
    media_lie: String,
    drainable: String,
    retained: String,
    floor_height: String,
    riser: String,
    recess: String,
    solids: String,
    version: String,
}

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

impl Input {
    fn of(bench: &Bench, units: Units) -> Self {
        let (figures, long, short) = (&bench.figures, entry::long(units), entry::short(units));
        let length = |whole: Millimetres, unit| entry::typed_length(whole.length(), unit);
        let volume = |whole: Millilitres| {
            if whole.get() == 0 {
                String::new()
            } else {
                entry::typed_volume(whole.volume(), units)
            }
        };
        let bed = figures.bed.as_ref();
        // Usual figures are shown beside the media; only a grower's own stand in the fields.
        let given = bed.filter(|bed| bed.fractions_known == FractionsKnown::Given);
        Self {
            name: figures.name.to_string(),
            length: length(figures.length, long),
            width: length(figures.width, long),
            media_depth: bed.map(|bed| length(bed.depth, short)).unwrap_or_default(),
            overflow: length(figures.overflow, short),
            wall: length(figures.wall, short),
            floor_fall: length(figures.floor_fall, short),
            media: figures.media().to_string(),
            media_lie: bed.map_or(MediaLie::Level, |bed| bed.lie).to_string(),
            drainable: given
                .map(|bed| entry::typed_percent(bed.drainable))
                .unwrap_or_default(),
            retained: given
                .map(|bed| entry::typed_percent(bed.retained))
                .unwrap_or_default(),
            floor_height: figures
                .floor_height
                .map(|height| length(height, short))
                .unwrap_or_default(),
            riser: figures
                .riser
                .map(|riser| length(riser, short))
                .unwrap_or_default(),
            recess: volume(figures.recess),
            solids: volume(figures.solids),
            version: bench.version.to_string(),
        }
    }

    pub(in crate::register) fn check(&self, units: Units) -> Result<BenchFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let (long, short) = (entry::long(units), entry::short(units));
        let name = errors.take("name", Name::parse(&self.name));
        let length = errors.take(
            "length",
            entry::named(
                "Length",
                entry::length(&self.length, long, units, 100..=50_000),
            ),
        );
        let width = errors.take(
            "width",
            entry::named(
                "Width",
                entry::length(&self.width, long, units, 100..=10_000),
            ),
        );
        let bed = self.bed(units, &mut errors);
        let overflow = errors.take(
            "overflow",
            entry::named(
                "Height of the overflow",
                entry::length(&self.overflow, short, units, 5..=1_500),
            ),
        );
        let wall = errors.take(
            "wall",
            entry::named(
                "Height of the wall",
                entry::length(&self.wall, short, units, 10..=1_500),
            ),
        );
        let floor_fall = errors.take(
            "floor_fall",
            entry::named(
                "Fall of the floor",
                entry::length(&self.floor_fall, short, units, 0..=500),
            ),
        );
        let floor_height = entry::optional(&self.floor_height, |typed| {
            entry::length(typed, short, units, 0..=5_000)
        });
        let floor_height = errors.take(
            "floor_height",
            entry::named("Floor over the ground", floor_height),
        );
        let riser = entry::optional(&self.riser, |typed| {
            entry::length(typed, short, units, 1..=1_500)
        });
        let riser = errors.take("riser", entry::named("Riser kept for it", riser));
        let volume = |typed: &str| {
            if typed.trim().is_empty() {
                return Millilitres::new(0).map_err(|error| error.to_string());
            }
            entry::volume(typed, units, 0..=1_000_000)
        };
        let recess = errors.take(
            "recess",
            entry::named("Grooves and sump", volume(&self.recess)),
        );
        let solids = errors.take(
            "solids",
            entry::named("Solids that stay in", volume(&self.solids)),
        );
        let measures = (length, width, floor_fall, wall, overflow);
        let heights = Heights {
            wall,
            overflow,
            floor_fall,
            media_depth: bed.iter().flatten().map(|bed| bed.depth).next(),
        };
        match (name, measures, bed, (recess, solids, riser, floor_height)) {
            (
                Some(name),
                (Some(length), Some(width), Some(floor_fall), Some(wall), Some(overflow)),
                Some(bed),
                (Some(recess), Some(solids), Some(riser), Some(floor_height)),
            ) => {
                let figures = BenchFigures {
                    name,
                    length,
                    width,
                    floor_fall,
                    wall,
                    overflow,
                    bed,
                    recess,
                    solids,
                    riser,
                    floor_height,
                };
                for (field, fault) in figures.faults(units) {
                    errors.add(field, fault);
                }
                if errors.any() {
                    Err(errors)
                } else {
                    Ok(figures)
                }
            }
            _ => {
                for (field, fault) in heights.faults(units) {
                    errors.add(field, fault);
                }
                Err(errors)
            }
        }
    }

    /// The bed, or nothing in a bench without media. None outside when something is wrong.
    fn bed(&self, units: Units, errors: &mut FormErrors) -> Option<Option<BedFigures>> {
        let media = errors.take(
            "media",
            Media::from_code(&self.media).ok_or("Choose what fills the bench."),
        );
        if media == Some(Media::None) {
            if !self.media_depth.trim().is_empty() {
                errors.add(
                    "media_depth",
                    "A depth is given, but no media. Choose the media, or empty this field.",
                );
                return None;
            }
            return Some(None);
        }
        let depth = entry::length(&self.media_depth, entry::short(units), units, 1..=1_500);
        let depth = errors.take("media_depth", entry::named("Depth of the media", depth));
        let lie = MediaLie::from_code(&self.media_lie).ok_or("Choose how the top of the bed lies.");
        let lie = errors.take("media_lie", lie);
        let (drainable, retained, fractions_known) = self.fractions(media?, errors)?;
        Some(Some(BedFigures {
            media: media?,
            depth: depth?,
            lie: lie?,
            drainable,
            retained,
            fractions_known,
        }))
    }

    /// What drains and what stays: the grower's own figures, or the usual ones when both fields are empty.
    fn fractions(
        &self,
        media: Media,
        errors: &mut FormErrors,
    ) -> Option<(Permille, Permille, FractionsKnown)> {
        let empty = self.drainable.trim().is_empty() && self.retained.trim().is_empty();
        if let Some(usual) = media.usual().filter(|_| empty).map(MediaKind::usual) {
            let drainable = errors.take("drainable", Permille::nearest(usual.drainable));
            let retained = errors.take("retained", Permille::nearest(usual.retained));
            return Some((drainable?, retained?, FractionsKnown::Usual));
        }
        let own = |typed: &str, limits| {
            if typed.trim().is_empty() {
                let both = "Give both figures. There are no usual ones for other media: do a bucket test in a bucket of it.";
                let one = "Give both figures, or neither.";
                return Err(if media == Media::Other { both } else { one }.to_owned());
            }
            entry::percent(typed, limits)
        };
        let drainable = errors.take(
            "drainable",
            entry::named("Drains again", own(&self.drainable, 1..=950)),
        );
        let retained = errors.take(
            "retained",
            entry::named("Stays wet", own(&self.retained, 0..=900)),
        );
        Some((drainable?, retained?, FractionsKnown::Given))
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

pub async fn create(
    State(app): State<App>,
    who: Who,
    Path(system): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
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
    Ok(Page(BenchForm::new(
        &who,
        system,
        Some(id),
        input,
        FormErrors::default(),
    )))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<BenchId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
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
