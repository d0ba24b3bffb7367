//! Moving a lot to another store, and parting it: closed containers that go elsewhere, or some of it
//! decanted into another container, which then is a lot of its own.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::at_hand::{AtHand, look, said};
use super::receive::{parse_container, parse_kept_in};
use super::{MOST, Options, free_code, lot_in_use, stores, volume};
use crate::clock::Moment;
use crate::crew::Who;
use crate::db;
use crate::ids::{LotId, StoreId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::quantity::WaterTemperature;
use crate::science::show;
use crate::science::sources::Question;
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::science::units::Units;
use crate::state::App;
use crate::stock::limits::{Arrival, Warning};
use crate::stock::parting::{self, Going};
use crate::stock::store::{self, NewMove, NewPart};
use crate::stock::{Lot, path};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    going: String,
    amount: String,
    store: String,
    kept_in: String,
    code: String,
    container: String,
    reason: String,
    /// Ticked by whoever puts it there all the same.
    known: String,
}

#[derive(Template)]
#[template(path = "stock/move.html")]
struct MoveForm {
    frame: Frame,
    on_hand: String,
    place: String,
    unit: &'static str,
    stores: Options,
    warnings: Vec<Warning>,
    /// How long eyes are rinsed.
    eyes: String,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

impl MoveForm {
    fn goings(&self) -> Vec<(&'static str, &'static str, bool)> {
        let all = Going::ALL.iter();
        all.map(|going| {
            let chosen = going.code() == self.input.going;
            (going.code(), going.words(), chosen)
        })
        .collect()
    }
}

/// A lot with what its form offers.
struct Found {
    lot: Lot,
    at_hand: AtHand,
    codes: Vec<String>,
}

impl Found {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        id: LotId,
        now: Moment,
    ) -> Result<Self, AppError> {
        let lot = lot_in_use(conn, id).await?;
        if lot.on_hand.get() == 0 {
            return Err(AppError::Conflict(format!(
                "Lot {} is empty: there is nothing of it to move.",
                lot.code
            )));
        }
        Ok(Self {
            at_hand: AtHand::load(conn, &who.site, who.site.today(now)).await?,
            codes: store::codes(conn, lot.product_id).await?,
            lot,
        })
    }

    fn page(self, who: &Who, input: Input, errors: FormErrors) -> MoveForm {
        MoveForm {
            frame: who.frame(Section::Stock),
            on_hand: volume(&self.lot, who.site.units),
            place: self.lot.place(),
            unit: entry::large(who.site.units).symbol(),
            stores: stores::offered(&self.at_hand.stores),
            warnings: Vec::new(),
            eyes: who.site.source(Question::EyeRinse).short(),
            lot: self.lot,
            input,
            errors,
        }
    }
}

impl Found {
    /// What the limits of the store say that it goes to.
    fn warnings(&self, checked: &Checked, today: NaiveDate) -> Vec<Warning> {
        let there = self.lot.store.as_ref().map(|store| store.id);
        if checked.store.is_none() || checked.store == there {
            return Vec::new();
        }
        let strength = self.lot.strength(today).ok();
        let twenty = WaterTemperature::TWENTY;
        let part = checked.part.as_ref();
        self.at_hand.warnings(Some(&Arrival {
            agent: self.lot.agent,
            strength: strength.and_then(|(strength, _)| strength.mass_fraction(twenty).ok()),
            amount: part.map_or(self.lot.on_hand, |part| part.amount),
            store: checked.store,
            comes: false,
        }))
    }
}

struct Checked {
    going: Going,
    store: Option<StoreId>,
    kept_in: String,
    /// The part, where the lot is parted.
    part: Option<Part>,
    reason: Note,
}

struct Part {
    amount: Millilitres,
    lost: MillilitreChange,
    gained: MillilitreChange,
    code: String,
    container: Option<Millilitres>,
}

impl Input {
    fn check(&self, found: &Found, units: Units) -> Result<Checked, FormErrors> {
        let mut errors = FormErrors::default();
        let lot = &found.lot;
        let going = Going::from_code(&self.going).ok_or("Choose what you do with it.");
        let going = errors.take("going", going);
        let store = stores::chosen(&found.at_hand.stores, &self.store, Some(lot.agent));
        let store = errors.take("store", store);
        let there = lot.store.as_ref().map(|store| store.id);
        if let (Some(Going::Whole | Going::Part), Some(store)) = (going, store) {
            match store {
                None => errors.add(
                    "store",
                    "Choose the store that it goes to. One that is missing is added first.",
                ),
                Some(_) if store == there => errors.add("store", "It stands there already."),
                Some(_) => {}
            }
        }
        let kept_in = errors.take("kept_in", parse_kept_in(&self.kept_in));
        let part = match going {
            Some(going) if going.parts() => Some(self.part(found, units, &mut errors)),
            _ => None,
        };
        let reason = errors.take("reason", Note::parse(&self.reason));
        match (going, store, kept_in, part, reason) {
            (Some(going), Some(store), Some(kept_in), None, Some(reason)) if !errors.any() => {
                Ok(Checked {
                    going,
                    store,
                    kept_in,
                    part: None,
                    reason,
                })
            }
            (Some(going), Some(store), Some(kept_in), Some(Some(part)), Some(reason))
                if !errors.any() =>
            {
                Ok(Checked {
                    going,
                    store,
                    kept_in,
                    part: Some(part),
                    reason,
                })
            }
            _ => Err(errors),
        }
    }

    fn part(&self, found: &Found, units: Units, errors: &mut FormErrors) -> Option<Part> {
        let amount = errors.take("amount", entry::volume(&self.amount, units, 1..=MOST));
        let code = errors.take("code", free_code(&self.code, &found.codes, "the part"));
        let container = errors.take("container", parse_container(&self.container, units));
        let amount = amount?;
        let changes = parting::parted(found.lot.on_hand, amount)
            .map_err(|refusal| format!("{}.", refusal.words(units)));
        let (lost, gained) = errors.take("amount", changes)?;
        Some(Part {
            amount,
            lost,
            gained,
            code: code?,
            container: container?,
        })
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let found = Found::load(&mut conn, &who, id, app.clock.now()).await?;
    let input = Input {
        going: Going::Whole.code().to_owned(),
        code: parting::next_code(&found.lot, &found.codes),
        ..Input::default()
    };
    Ok(Page(found.page(&who, input, FormErrors::default())))
}

pub async fn enter(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let found = Found::load(tx.conn(), &who, id, now).await?;
    let checked = match form.input.check(&found, units) {
        Ok(checked) => checked,
        Err(errors) => return Ok(Refused(found.page(&who, form.input, errors)).into_response()),
    };
    let warnings = found.warnings(&checked, who.site.today(now));
    if let Err(errors) = look(&warnings, &form.input.known) {
        let page = found.page(&who, form.input, errors);
        return Ok(Refused(MoveForm { warnings, ..page }).into_response());
    }
    let lot = &found.lot;
    let from = lot.store.as_ref().map(|store| store.id);
    // What is decanted and put nowhere else stays where the lot stands.
    let to = checked.store.or(from);
    let moved = |lot, change, from, to, other| NewMove {
        lot,
        kind: checked.going.entry(),
        change,
        from,
        to,
        other,
        reason: checked.reason.clone(),
        person: who.id,
        at: now,
    };
    let store_name = |id: Option<StoreId>| {
        let store = found
            .at_hand
            .stores
            .iter()
            .find(|store| Some(store.id) == id);
        store.map(|store| store.figures.name.to_string())
    };
    let mut detail = json!({
        "from": store_name(from),
        "to": store_name(to),
        "where": checked.kept_in,
        "why": checked.reason,
        "limits": said(&warnings, &who),
    });
    let onward = match &checked.part {
        None => {
            let none = MillilitreChange::new(0).map_err(anyhow::Error::from)?;
            store::enter_move(&mut tx, &moved(id, none, from, to, None)).await?;
            if let Some(to) = to {
                store::put_into(&mut tx, id, to, &checked.kept_in).await?;
            }
            id
        }
        Some(part) => {
            let decanted = checked.going == Going::Decanted;
            let today = who.site.today(now);
            if decanted {
                store::open(&mut tx, id, today).await?;
            }
            let new = NewPart {
                code: part.code.clone(),
                store: to,
                kept_in: checked.kept_in.clone(),
                container: part.container.or(lot.container.filter(|_| !decanted)),
                opened_on: if decanted { Some(today) } else { lot.opened_on },
            };
            let part_id = match store::insert_part(&mut tx, lot, &new, now).await {
                Ok(part_id) => part_id,
                Err(error) if db::taken(&error, "lot.code") => {
                    let errors = FormErrors::only("code", "This code was given meanwhile.");
                    return Ok(Refused(found.page(&who, form.input, errors)).into_response());
                }
                Err(error) => return Err(error.into()),
            };
            let losing = moved(id, part.lost, from, to, Some(part_id));
            store::enter_move(&mut tx, &losing).await?;
            let gaining = moved(part_id, part.gained, from, to, Some(id));
            store::enter_move(&mut tx, &gaining).await?;
            detail["amount"] = show::volume(part.amount.volume(), units).into();
            detail["as"] = format!("lot {}", part.code).into();
            part_id
        }
    };
    let entry =
        Entry::about("lot", id.get(), lot.words(), checked.going.entry().code()).with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(onward), now).await?.into_response())
}
