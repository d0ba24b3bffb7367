//! A new planting: planted now into a ready system, intended for later, or standing already.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::path;
use crate::crew::Who;
use crate::crops::form::{PlantingInput, ReadPlanting};
use crate::crops::standing::may_plant;
use crate::crops::{self, Begins, NewPlanting};
use crate::db::WriteTx;
use crate::ids::PlantingId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::turnovers::board::{Board, Stand};
use crate::web::{AppError, FieldName, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Template)]
#[template(path = "turnovers/new.html")]
struct NewPage {
    frame: Frame,
    input: PlantingInput,
    errors: FormErrors,
    /// Systems in use: id and name with state.
    systems: Vec<(String, String)>,
    /// The clean-out that stands in the way, and where it is.
    in_the_way: Option<(String, String)>,
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Query(mut input): Query<PlantingInput>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let board = Board::load(&mut conn, &who.site, now, who.site.today(now)).await?;
    let chosen = input.system.parse().ok().and_then(|id| board.of(id));
    if let Some((day, crop)) = chosen.and_then(Stand::next) {
        if input.crop.is_empty() {
            input.crop = crop.map(|crop| crop.to_string()).unwrap_or_default();
        }
        if input.planted_on.is_empty() {
            input.planted_on = day.to_string();
        }
    }
    Ok(Page(NewPage {
        frame: who.frame(Section::Turnovers),
        systems: choices(&board),
        input,
        errors: FormErrors::default(),
        in_the_way: None,
    }))
}

fn choices(board: &Board) -> Vec<(String, String)> {
    let choose = (String::new(), "Choose".to_owned());
    let systems = board.stands.iter().map(|stand| {
        let words = format!("{} ({})", stand.name(), stand.state);
        (stand.system.id.to_string(), words)
    });
    std::iter::once(choose).chain(systems).collect()
}

/// Why a planting was not taken.
#[derive(Debug)]
pub struct NotTaken {
    pub field: FieldName,
    pub message: String,
    /// The clean-out that stands in the way: its number and its address.
    pub cleanout: Option<(String, String)>,
}

/// How this planting begins, or why it cannot.
pub fn begins(
    stand: &Stand,
    read: &ReadPlanting,
    has_grown: bool,
    today: chrono::NaiveDate,
) -> Result<Begins, NotTaken> {
    let cleanout = stand.open().map(|open| (open.number.clone(), open.path()));
    let refuse = |field, message: String| {
        Err(NotTaken {
            field,
            message,
            cleanout: cleanout.clone(),
        })
    };
    if read.stands {
        let cleaned = stand.cleanouts.iter().any(|cleanout| {
            use crate::cleanouts::State::{Held, Released, UnderWay};
            matches!(cleanout.state, UnderWay | Held | Released)
        });
        return if has_grown || cleaned {
            refuse(
                "stands",
                format!(
                    "{} has a history here, so its next crop is planted after a release.",
                    stand.name()
                ),
            )
        } else {
            Ok(Begins::StoodAlready)
        };
    }
    if read.planted_on > today {
        return Ok(Begins::Intended);
    }
    match may_plant(&stand.facts()) {
        Ok(release) => Ok(Begins::ClearedBy(release)),
        Err(missing) => refuse(
            "planted_on",
            format!("{} cannot be planted. {missing}", stand.name()),
        ),
    }
}

/// Writes a planting and its logbook line.
pub async fn write(
    tx: &mut WriteTx,
    author: &logbook::Author,
    stand: &Stand,
    new: &NewPlanting,
    now: crate::clock::Moment,
) -> sqlx::Result<PlantingId> {
    let id = crops::store::insert(tx, new, now).await?;
    let what = match new.begins {
        Begins::Intended => "intended",
        Begins::ClearedBy(_) => "planted",
        Begins::StoodAlready => "stood already",
    };
    let subject = format!(
        "{}, {} of {}",
        stand.name(),
        new.crop,
        new.planted_on.format("%-d %b %Y")
    );
    let mut detail = json!({
        "planted": new.planted_on,
        "turnover": new.turnover.off_on,
        "next planting": new.turnover.next_on,
        "next crop": new.turnover.next_crop,
    });
    if let Begins::ClearedBy(release) = new.begins {
        detail["after clean-out"] = json!(release);
    }
    let entry = Entry::about("planting", id.get(), subject, what).with(detail);
    logbook::write(tx, author, entry, now).await?;
    Ok(id)
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    form: Form<PlantingInput>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let today = who.site.today(now);
    let mut tx = app.db.write_once(&form.once).await?;
    let board = Board::load(tx.conn(), &who.site, now, today).await?;
    let refused = |errors, in_the_way| {
        Ok(Refused(NewPage {
            frame: who.frame(Section::Turnovers),
            systems: choices(&board),
            input: form.input.clone(),
            errors,
            in_the_way,
        })
        .into_response())
    };
    let read = match form.input.check(today) {
        Ok(read) => read,
        Err(errors) => return refused(errors, None),
    };
    let mut errors = FormErrors::default();
    let Some(stand) = board.of(read.system_id) else {
        errors.add("system", "Choose a system that is in use.");
        return refused(errors, None);
    };
    let has_grown = crops::store::has_grown(tx.conn(), read.system_id).await?;
    let begins = match begins(stand, &read, has_grown, today) {
        Ok(begins) => begins,
        Err(not) => {
            errors.add(not.field, not.message);
            return refused(errors, not.cleanout);
        }
    };
    let new = NewPlanting {
        system_id: read.system_id,
        crop: read.crop,
        planted_on: read.planted_on,
        turnover: read.turnover,
        begins,
    };
    let id = write(&mut tx, &who.author(), stand, &new, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
