//! One planting: its days, its gap, its clean-out, how it was moved, and what can be done.

use std::sync::Arc;

use askama::Template;
use axum::extract::{Path, State};

use super::{May, day_or, find, local};
use crate::cleanouts::offers;
use crate::crew::Who;
use crate::crops::gap::{NoRoom, Slot, earliest, length_words};
use crate::crops::{self, Planting, TurnoverMove};
use crate::ids::PlantingId;
use crate::site::{clock_words, day_words, full_day, short_day};
use crate::state::App;
use crate::turnovers::board::Stand;
use crate::web::{AppError, Frame, Page, Section};

struct MoveWords {
    when: String,
    who: String,
    what: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "turnovers/one.html")]
struct OnePage {
    frame: Frame,
    stand: Arc<Stand>,
    planting: Planting,
    began: String,
    off: String,
    next: String,
    gap: String,
    cleanout: Vec<String>,
    misfit: String,
    moves: Vec<MoveWords>,
    propose: bool,
    current: bool,
    may: May,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PlantingId>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let found = find(&mut conn, &who.site, now, id).await?;
    let moves = crops::store::moves(&mut conn, id).await?;
    let (planting, stand) = (&found.planting, &found.stand);
    let gap = stand.gap_after(planting);
    let current = stand.current().is_some_and(|current| current.id == id);
    let open = stand
        .open()
        .filter(|open| open.planting_id.is_none_or(|of| of == id));
    let mut cleanout = Vec::new();
    if let Some(open) = open {
        cleanout.push(format!(
            "{} for {}, {} to {}",
            open.state,
            day_words(open.starts_on),
            clock_words(open.starts_min),
            stand.ends(open).format("%H:%M")
        ));
    } else if let (true, Some(gap)) = (current && stand.wants_cleanout(), gap) {
        cleanout.push("none yet".to_owned());
        if let Some(method) = offers::only_method(&mut conn).await?
            && let Some(method) = offers::method_of(&mut conn, method).await?
        {
            let length = method.length.get();
            let found = earliest(&gap, &who.site.hours, length, local(&who.site, now));
            cleanout.push(room_words(found, &length_words(length)));
        }
    }
    let misfit = open
        .and(stand.misfit())
        .map(|(_, misfit)| misfit.to_string())
        .unwrap_or_default();
    let next_crop = planting
        .next_crop
        .as_ref()
        .map(|crop| format!("{crop}, "))
        .unwrap_or_default();
    Ok(Page(OnePage {
        frame: who.frame(Section::Turnovers),
        began: began_words(planting),
        off: match planting.off_on {
            Some(day) => format!("came off on {}", day_words(day)),
            None => day_or(planting.turnover_on, "no end date: cut and come again"),
        },
        next: format!("{next_crop}{}", day_or(planting.next_on, "no day yet")),
        gap: gap.map(|gap| gap.words()).unwrap_or_default(),
        cleanout,
        misfit,
        moves: moves
            .iter()
            .map(|moved| MoveWords::new(moved, &who))
            .collect(),
        propose: current && stand.wants_cleanout(),
        current,
        may: May::of(&who),
        stand: found.stand.clone(),
        planting: found.planting.clone(),
    }))
}

/// Where a clean-out finds room, or why it finds none.
fn room_words(found: Result<Slot, NoRoom>, length: &str) -> String {
    match found {
        Ok(slot) => format!(
            "; one of {length} fits on {} from {}",
            day_words(slot.day()),
            clock_words(slot.start_min())
        ),
        Err(NoRoom::Late { why, .. }) => format!(", and one of {length} does not fit: {why}"),
        Err(NoRoom::Never) => ", and the site works on no day".to_owned(),
    }
}

fn began_words(planting: &Planting) -> String {
    let day = full_day(planting.planted_on);
    if planting.is_intended() {
        format!("intended for {day}")
    } else if planting.already_growing {
        format!("{day}; it stood there when the system was entered")
    } else {
        day
    }
}

impl MoveWords {
    fn new(moved: &TurnoverMove, who: &Who) -> Self {
        let day = |day: Option<chrono::NaiveDate>| day.map_or_else(|| "none".to_owned(), short_day);
        let mut what = Vec::new();
        if moved.old_turnover_on != moved.new_turnover_on {
            let (old, new) = (day(moved.old_turnover_on), day(moved.new_turnover_on));
            what.push(format!("comes off {new}, was {old}"));
        }
        if moved.old_next_on != moved.new_next_on {
            let (old, new) = (day(moved.old_next_on), day(moved.new_next_on));
            what.push(format!("next goes on {new}, was {old}"));
        }
        if what.is_empty() {
            what.push("another crop next".to_owned());
        }
        Self {
            when: who.site.moment_words(moved.at),
            who: moved
                .person
                .as_ref()
                .map_or_else(|| "imported".to_owned(), ToString::to_string),
            what: what.join("; "),
            reason: moved.reason.to_string(),
        }
    }
}
