//! What a moved turnover does, said before it is saved.

use chrono::NaiveDateTime;

use super::board::Stand;
use crate::crops::gap::{Gap, NoRoom, earliest};
use crate::crops::{Planting, Turnover};
use crate::site::{clock_words, day_words};
use crate::web::Effect;

/// What follows when this planting gets these days.
pub fn of_move(
    stand: &Stand,
    planting: &Planting,
    new: &Turnover,
    now: NaiveDateTime,
) -> Vec<Effect> {
    let moved = Planting {
        turnover_on: new.off_on,
        next_on: new.next_on,
        next_crop: new.next_crop.clone(),
        ..planting.clone()
    };
    let (before, after) = (stand.gap_after(planting), stand.gap_after(&moved));
    let mut effects = vec![Effect::holds(gap_words(before, after))];
    effects.extend(on_intended(stand, planting, after));
    effects.extend(on_cleanout(stand, planting, after, now));
    effects
}

fn gap_words(before: Option<Gap>, after: Option<Gap>) -> String {
    let words = |gap: Option<Gap>| gap.map_or_else(|| "none".to_owned(), |gap| gap.words());
    let (before, after) = (words(before), words(after));
    if before == after {
        format!("The gap stays as long as it was: {after}.")
    } else {
        format!("The gap: {after}. It was: {before}.")
    }
}

fn on_intended(stand: &Stand, planting: &Planting, after: Option<Gap>) -> Option<Effect> {
    let next = stand.intended().filter(|next| next.id != planting.id)?;
    let off_on = after?.off_on;
    (next.planted_on < off_on).then(|| {
        Effect::breaks(format!(
            "{} is intended for {}, before this crop would be off.",
            next.crop,
            day_words(next.planted_on)
        ))
    })
}

fn on_cleanout(
    stand: &Stand,
    planting: &Planting,
    after: Option<Gap>,
    now: NaiveDateTime,
) -> Option<Effect> {
    let open = stand
        .open()
        .filter(|open| open.planting_id.is_none_or(|id| id == planting.id))?;
    let (starts, ends) = (open.starts(), stand.ends(open));
    let named = format!(
        "Clean-out {}, {} for {}, {} to {},",
        open.number,
        open.state,
        day_words(open.starts_on),
        clock_words(open.starts_min),
        ends.format("%H:%M")
    );
    let Some(gap) = after else {
        return Some(Effect::breaks(format!(
            "{named} then follows no turnover. Call it off, or give the crop a day to come off."
        )));
    };
    let Some(misfit) = gap.misfit(starts, ends) else {
        return Some(Effect::holds(format!("{named} still fits.")));
    };
    let way_out = match earliest(&gap, &stand.hours(), open.length.get(), now) {
        Ok(slot) => format!(
            "The earliest that fits is {}, {}.",
            day_words(slot.day()),
            clock_words(slot.start_min())
        ),
        Err(NoRoom::Late { slot, why }) => format!(
            "No day fits: {why}. The earliest is {}, after the next planting.",
            day_words(slot.day())
        ),
        Err(never) => never.to_string(),
    };
    Some(Effect::breaks(format!(
        "{named} no longer fits: {misfit}. {way_out}"
    )))
}
