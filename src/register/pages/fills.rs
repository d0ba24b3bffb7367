//! Measured fills: the form, all of them, and setting one aside.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::{Options, options, system_in_use};
use crate::crew::{Role, Who};
use crate::ids::{MeasuredFillId, SystemId};
use crate::logbook::{self, Entry};
use crate::register::fills::{MeasuredFill, NewFill, already_there, counting, stored_already};
use crate::register::hold::{Hold, NotKnown, Parts, parts_of};
use crate::register::systems::{System, path};
use crate::register::{FillHow, HeelWas, MediaWas, entry, store};
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::science::units::Units;
use crate::site::full_day;
use crate::state::App;
use crate::text::{Note, parse_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    metered: String,
    media_was: String,
    heel_was: String,
    how: String,
    off: String,
    measured_on: String,
    note: String,
}

/// A fill in words.
#[derive(Debug)]
pub(super) struct Shown {
    pub id: MeasuredFillId,
    pub whole: String,
    pub working: String,
    pub by: String,
    pub standing: String,
    pub counts: bool,
    pub may_be_set_aside: bool,
}

impl Shown {
    /// Newest first.
    pub fn all(parts: &Parts, units: Units) -> Vec<Self> {
        let loop_version = parts.system.loop_version;
        let used = counting(&parts.fills, loop_version).map(|fill| fill.id);
        parts
            .fills
            .iter()
            .rev()
            .map(|fill| Self::new(fill, loop_version, used, units))
            .collect()
    }

    fn new(
        fill: &MeasuredFill,
        loop_version: i64,
        used: Option<MeasuredFillId>,
        units: Units,
    ) -> Self {
        let counts = used == Some(fill.id);
        let standing = match &fill.set_aside {
            Some(aside) => format!("set aside by {}: {}", aside.by, aside.reason),
            None if counts => "counts".to_owned(),
            None if fill.loop_version == loop_version => "an earlier one".to_owned(),
            None => "no longer counts: the loop was changed since".to_owned(),
        };
        let metered = show::volume(fill.metered.volume(), units);
        let there = match (fill.heel_was, fill.media_was) {
            (HeelWas::In, MediaWas::Wet) => "the heel and what the wet media held",
            (HeelWas::In, MediaWas::Dry) => "the heel",
            (HeelWas::Emptied, MediaWas::Wet) => "what the wet media held",
            (HeelWas::Emptied, MediaWas::Dry) => "",
        };
        let working = if there.is_empty() {
            format!("{metered} {}, into an empty, dry system", fill.how.words())
        } else {
            let already = show::volume(fill.already.volume(), units);
            format!(
                "{metered} {}, and {already} there before: {there}",
                fill.how.words()
            )
        };
        Self {
            id: fill.id,
            whole: show::volume(fill.whole(), units),
            working,
            by: format!("{}, {}", fill.by, full_day(fill.measured_on)),
            standing,
            counts,
            may_be_set_aside: fill.set_aside.is_none(),
        }
    }
}

#[derive(Template)]
#[template(path = "register/fills.html")]
struct FillsPage {
    frame: Frame,
    system: System,
    units: Units,
    hold: Result<Hold, NotKnown>,
    fills: Vec<Shown>,
    may_add: bool,
    may_set_aside: bool,
    media_words: Options,
    heel_words: Options,
    how_words: Options,
    input: Input,
    errors: FormErrors,
}

impl FillsPage {
    fn new(who: &Who, parts: Parts, input: Input, errors: FormErrors) -> Self {
        let units = who.site.units;
        let hold = parts.hold();
        Self {
            frame: who.frame(Section::Systems),
            units,
            fills: Shown::all(&parts, units),
            may_add: who.is_at_least(Role::Hand) && hold.is_ok() && !parts.system.retired,
            may_set_aside: who.is_at_least(Role::Lead) && !parts.system.retired,
            media_words: options(MediaWas::ALL, MediaWas::code, |media| match media {
                MediaWas::Wet => "wet: flooded not long ago, and drained",
                MediaWas::Dry => "dry: left until no water was in them",
            }),
            heel_words: options(HeelWas::ALL, HeelWas::code, |heel| match heel {
                HeelWas::In => "only the heel was in it",
                HeelWas::Emptied => "it was emptied, heel and all",
            }),
            how_words: options(FillHow::ALL, FillHow::code, FillHow::words),
            hold,
            system: parts.system,
            input,
            errors,
        }
    }

    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }

    /// What stands in where nobody knows better, by each way.
    fn usual_off(&self) -> String {
        let usual = FillHow::ALL.iter().map(|how| {
            let percent = show::figures(how.usual().half_width * 100.0, 3);
            format!("{percent}\u{a0}% {}", how.words())
        });
        let usual: Vec<String> = usual.collect();
        format!(
            "Of the meter, by its certificate or a test. Empty, the usual figure: {}.",
            usual.join(", ")
        )
    }
}

impl Input {
    fn check(&self, units: Units, today: NaiveDate) -> Result<NewFill, FormErrors> {
        let mut errors = FormErrors::default();
        let metered = errors.take(
            "metered",
            entry::named(
                "Water that went in",
                entry::volume(&self.metered, units, 1_000..=200_000_000),
            ),
        );
        let media = MediaWas::from_code(&self.media_was).ok_or("Choose how the media were.");
        let media_was = errors.take("media_was", media);
        let heel = HeelWas::from_code(&self.heel_was).ok_or("Choose what was in the reservoir.");
        let heel_was = errors.take("heel_was", heel);
        let how = errors.take(
            "how",
            FillHow::from_code(&self.how).ok_or("Choose how it was measured."),
        );
        let day = parse_day(&self.measured_on).and_then(|day| {
            if day > today {
                Err("This day is still to come.".to_owned())
            } else {
                Ok(day)
            }
        });
        let measured_on = errors.take("measured_on", day);
        let note = errors.take("note", Note::parse(&self.note));
        let off = errors.take("off", entry::own_off(&self.off, 1..=300));
        match (metered, media_was, heel_was, how, off, measured_on, note) {
            (
                Some(metered),
                Some(media_was),
                Some(heel_was),
                Some(how),
                Some(off),
                Some(measured_on),
                Some(note),
            ) => Ok(NewFill {
                metered,
                media_was,
                heel_was,
                how,
                off,
                measured_on,
                note,
            }),
            _ => Err(errors),
        }
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let parts = parts_of(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("system"))?;
    let input = Input {
        media_was: MediaWas::Wet.to_string(),
        heel_was: HeelWas::In.to_string(),
        how: FillHow::Metered.to_string(),
        measured_on: who.site.today(app.clock.now()).to_string(),
        ..Input::default()
    };
    Ok(Page(FillsPage::new(
        &who,
        parts,
        input,
        FormErrors::default(),
    )))
}

pub async fn add(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let units = who.site.units;
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_in_use(tx.conn(), id).await?;
    let parts = parts_of(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("system"))?;
    let hold = parts.hold().map_err(|why| {
        AppError::Conflict(format!("{why} Put that right first: what was in the system before the fill is reckoned from it."))
    })?;
    let new = match form.input.check(units, who.site.today(now)) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(FillsPage::new(&who, parts, form.input, errors)).into_response());
        }
    };
    let out_of_range =
        |error: crate::science::quantity::OutOfRange| AppError::Conflict(format!("{error}."));
    let already = stored_already(&already_there(&hold.parts, new.media_was, new.heel_was))
        .map_err(out_of_range)?;
    let computed = Millilitres::nearest(hold.parts.total()).map_err(out_of_range)?;
    store::fills::insert(&mut tx, &system, &new, already, computed, who.id, now).await?;
    let entry = Entry::about(
        "system",
        id.get(),
        system.figures.name.as_str(),
        "fill measured",
    )
    .with(json!({
        "metered": show::volume(new.metered.volume(), units),
        "there before": show::volume(already.volume(), units),
        "computed": show::volume(computed.volume(), units),
        "media": new.media_was,
        "heel": new.heel_was,
        "how": new.how,
        "off by": entry::off_fact(new.off),
        "measured on": new.measured_on,
        "note": new.note,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("{}/fills", path(id)), now)
        .await?
        .into_response())
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct AsideInput {
    reason: String,
}

#[derive(Template)]
#[template(path = "register/fill_aside.html")]
struct AsidePage {
    frame: Frame,
    system: System,
    fill: Shown,
    input: AsideInput,
    errors: FormErrors,
}

async fn to_set_aside(
    conn: &mut sqlx::SqliteConnection,
    id: MeasuredFillId,
) -> Result<(System, MeasuredFill), AppError> {
    let fill = store::fills::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("measured fill"))?;
    if fill.set_aside.is_some() {
        return Err(AppError::Conflict(
            "This fill was set aside before.".to_owned(),
        ));
    }
    Ok((system_in_use(conn, fill.system_id).await?, fill))
}

impl AsidePage {
    fn new(who: &Who, at: (System, MeasuredFill), input: AsideInput, errors: FormErrors) -> Self {
        let (system, fill) = at;
        let fill = Shown::new(&fill, system.loop_version, None, who.site.units);
        Self {
            frame: who.frame(Section::Systems),
            system,
            fill,
            input,
            errors,
        }
    }
}

pub async fn ask_aside(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MeasuredFillId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let at = to_set_aside(&mut conn, id).await?;
    Ok(Page(AsidePage::new(
        &who,
        at,
        AsideInput::default(),
        FormErrors::default(),
    )))
}

pub async fn set_aside(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MeasuredFillId>,
    form: Form<AsideInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (system, fill) = to_set_aside(tx.conn(), id).await?;
    let mut errors = FormErrors::default();
    let Some(reason) = errors.take("reason", Note::parse_reason(&form.input.reason)) else {
        return Ok(
            Refused(AsidePage::new(&who, (system, fill), form.input, errors)).into_response(),
        );
    };
    store::fills::set_aside(&mut tx, id, &reason, who.id, now).await?;
    let entry = Entry::about(
        "system",
        system.id.get(),
        system.figures.name.as_str(),
        "fill set aside",
    )
    .with(json!({
        "fill": show::volume(fill.whole(), who.site.units),
        "measured on": fill.measured_on,
        "why": reason,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("{}/fills", system.path()), now)
        .await?
        .into_response())
}
