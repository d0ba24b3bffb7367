//! What a clean-out takes of water, concentrate, rinses and air, as its dose sheet would say.
//!
//! A dose with its range is the longest sum of a plan, so its answer is kept beside all that was asked, from
//! one look to the next and from one reading of the records to the next. It is given again to the same
//! question only, compared whole and by value: what was reckoned from older records is never shown as new.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::facts::{Amounts, millilitres};
use super::gaps::Coming;
use super::sources::Sources;
use crate::cleanouts::airing::{self, Closed};
use crate::cleanouts::card::FrozenJug;
use crate::cleanouts::rinse_plan::{self, Wetted};
use crate::cleanouts::{self, Cleanout};
use crate::ids::{LotId, SystemId};
use crate::methods::MethodVersion;
use crate::register::MediaWas;
use crate::register::rooms::Room;
use crate::science::dilution::{DoseAsk, DoseTolerances, dose};
use crate::science::quantity::WaterTemperature;
use crate::science::stored::Minutes;
use crate::science::strength::Strength;
use crate::site::sources::Chosen;
use crate::stock::Lot;

/// What a clean-out takes.
#[derive(Clone, Copy, Debug)]
pub struct Takes {
    pub amounts: Amounts,
    pub rinses: i64,
    pub closed: Closed,
}

/// Everything that the sums of a dose, of its rinses and of its airing go by.
#[derive(Clone, Debug, PartialEq)]
struct Question {
    ask: DoseAsk,
    wetted: Wetted,
    method: Arc<MethodVersion>,
    room: Option<Room>,
    chosen: Chosen,
    /// How long the label or the law keeps everybody out.
    named: Option<Minutes>,
}

/// What the sums say.
#[derive(Clone, Copy, Debug)]
struct Answer {
    concentrate_ml: i64,
    dose_ml: i64,
    /// Nothing where it cannot be reckoned: the method's own number stands.
    rinses: Option<i64>,
    closed: Option<Closed>,
}

/// The last question of each system and each lot with its answer; nothing where there is no dose.
type Known = HashMap<(SystemId, LotId), (Question, Option<Answer>)>;

/// What was reckoned so far. Every copy of the same sources shares it.
#[derive(Clone, Debug, Default)]
pub struct Reckoned(Arc<Mutex<Known>>);

impl Reckoned {
    fn answer(&self, of: (SystemId, LotId), question: Question) -> Option<Answer> {
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((asked, answer)) = known().get(&of)
            && *asked == question
        {
            return *answer;
        }
        let answer = question.answer();
        known().insert(of, (question, answer));
        answer
    }
}

/// What a clean-out takes that is dosed from a lot.
pub fn takes(sources: &Sources, coming: &Coming<'_>, lot: Option<&Lot>) -> Takes {
    let Coming {
        stand,
        open,
        version,
        day,
    } = *coming;
    let named = lot.and_then(|lot| lot.reentry);
    let mut takes = Takes {
        amounts: Amounts::default(),
        rinses: version.contents.rinses_at_least,
        closed: Closed::of(named, None),
    };
    let Some(hold) = sources.hold(stand.system.id) else {
        return takes;
    };
    let flooded = millilitres(hold.volume().volume);
    takes.amounts = Amounts {
        concentrate_ml: 0,
        dose_ml: flooded,
        rinse_ml: flooded,
        fill_ml: flooded,
    };
    let target = open.map_or(version.contents.target, |open| open.target);
    let media_was = open.map_or(MediaWas::Wet, |open| open.media_was);
    let ask = lot.and_then(|lot| {
        let mut ask = DoseAsk::new(
            lot.stock(day).ok()?,
            target,
            hold.volume(),
            WaterTemperature::TWENTY,
        );
        ask.already = hold.already_there(media_was, Strength::NONE);
        // With its range, because rinses and airing go by the strongest that it may be.
        ask.tolerances = Some(DoseTolerances {
            volume: hold.range.clone(),
            stock: lot.tolerance(),
            jug: None,
        });
        ask.batch_room = Some(hold.batch_room());
        // What its sheet refuses is left as it is without a jug.
        if let Some(jug) = jug(sources, open) {
            let _ = cleanouts::dose::with_jug(&mut ask, &jug);
        }
        Some((lot.id, ask))
    });
    let question = |ask| Question {
        ask,
        wetted: Wetted {
            whole: hold.volume().volume,
            heel: hold.parts.heel,
            retained: hold.parts.retained(),
        },
        method: Arc::clone(version),
        room: sources.room(stand.system.figures.room_id).cloned(),
        chosen: sources.site.sources.clone(),
        named,
    };
    let answer = ask.and_then(|(lot, ask)| {
        let of = (stand.system.id, lot);
        sources.reckoned.answer(of, question(ask))
    });
    if let Some(answer) = answer {
        takes.amounts.concentrate_ml = answer.concentrate_ml;
        takes.amounts.dose_ml = answer.dose_ml;
        takes.rinses = answer.rinses.unwrap_or(takes.rinses);
        takes.closed = answer.closed.unwrap_or(takes.closed);
    }
    if open.is_some_and(|open| !open.water.is_purified()) {
        takes.amounts.dose_ml = 0;
    }
    takes
}

/// The jug that is chosen, else the only one there is, as a proposal takes it.
fn jug(sources: &Sources, open: Option<&Cleanout>) -> Option<FrozenJug> {
    let in_use = || sources.jugs.iter().filter(|jug| !jug.retired);
    let chosen = open.and_then(|open| open.jug_id);
    let only = || in_use().next().filter(|_| in_use().count() == 1);
    let jug = match chosen {
        Some(id) => in_use().find(|jug| jug.id == id),
        None => only(),
    };
    jug.map(FrozenJug::of)
}

impl Question {
    fn answer(&self) -> Option<Answer> {
        let sheet = dose(&self.ask).ok()?;
        let rinse = rinse_plan::plan(self.wetted, &self.method.contents, &sheet);
        let strongest = cleanouts::dose::strongest(&sheet);
        let airing = self
            .room
            .as_ref()
            .and_then(|room| airing::of(room, &sheet, strongest, &self.chosen).ok());
        Some(Answer {
            concentrate_ml: millilitres(sheet.stock_drawn()),
            dose_ml: millilitres(sheet.water.volume),
            rinses: rinse.ok().flatten().map(|rinse| rinse.to_plan()),
            closed: airing.map(|airing| Closed::of(self.named, Some(&airing))),
        })
    }
}
