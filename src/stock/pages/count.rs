//! Counting a lot: what is really there counts, and a difference says why.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::{MOST, lot_in_stock, volume};
use crate::clock::Moment;
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::{LotId, TroubleId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::agents::AgentKind;
use crate::science::quantity::WaterTemperature;
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::state::App;
use crate::stock::Lot;
use crate::stock::ledger::{self, EntryKind, NotEntered};
use crate::stock::store::{self, NewEntry};
use crate::text::Note;
use crate::trouble::{self, NewTrouble, TroubleKind};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    found: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "stock/count.html")]
struct CountForm {
    frame: Frame,
    on_hand: String,
    unit: &'static str,
    /// How far it may differ before it is a trouble.
    differs: String,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

impl CountForm {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        lot: Lot,
        input: Input,
        errors: FormErrors,
    ) -> anyhow::Result<Self> {
        let figures = store::figures(conn).await?;
        Ok(Self {
            differs: figures.differs.words(who.site.units),
            frame: who.frame(Section::Stock),
            on_hand: volume(&lot, who.site.units),
            unit: entry::large(who.site.units).symbol(),
            lot,
            input,
            errors,
        })
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let lot = lot_in_stock(&mut conn, id).await?;
    let (input, errors) = (Input::default(), FormErrors::default());
    Ok(Page(
        CountForm::load(&mut conn, &who, lot, input, errors).await?,
    ))
}

pub async fn count(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let lot = lot_in_stock(tx.conn(), id).await?;
    let input = form.input;
    let mut errors = FormErrors::default();
    let found = errors.take("found", entry::volume(&input.found, units, 0..=MOST));
    let reason = errors.take("reason", Note::parse(&input.reason));
    let (Some(found), Some(reason)) = (found, reason) else {
        let page = CountForm::load(tx.conn(), &who, lot, input, errors).await?;
        return Ok(Refused(page).into_response());
    };
    let change = match ledger::counted(lot.on_hand, found, &reason) {
        Ok(change) => change,
        Err(refusal) => {
            let field = match refusal {
                NotEntered::CountNeedsReason { .. } => "reason",
                _ => "found",
            };
            errors.add(field, format!("{}.", refusal.words(units)));
            let page = CountForm::load(tx.conn(), &who, lot, input, errors).await?;
            return Ok(Refused(page).into_response());
        }
    };
    let new = NewEntry {
        lot: id,
        kind: EntryKind::Counted,
        change,
        counted: Some(found),
        cleanout: None,
        reason: reason.clone(),
        person: who.id,
        corrects: None,
        at: now,
    };
    store::enter(&mut tx, &new).await?;
    let figures = store::figures(tx.conn()).await?;
    let onward = if figures.differs.is_trouble(lot.on_hand, found) {
        let trouble = open_trouble(&mut tx, &who, &lot, found, reason.clone(), now).await?;
        trouble::path(trouble)
    } else {
        lot.path()
    };
    let entry = Entry::about("lot", id.get(), lot.words(), "counted").with(json!({
        "found": show::volume(found.volume(), units),
        "balance before": show::volume(lot.on_hand.volume(), units),
        "why": reason,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(onward, now).await?.into_response())
}

/// Opens the trouble of a count that lies too far off, with what the rule set says about stock that is gone.
async fn open_trouble(
    tx: &mut WriteTx,
    who: &Who,
    lot: &Lot,
    found: Millilitres,
    reason: Note,
    now: Moment,
) -> anyhow::Result<TroubleId> {
    let (units, today) = (who.site.units, who.site.today(now));
    let missing = found < lot.on_hand;
    let off = Millilitres::new((found.get() - lot.on_hand.get()).abs())?;
    let to_tell = if missing && lot.agent == AgentKind::HydrogenPeroxide {
        let rules = trouble::store::loss_rules(tx.conn(), &who.site.rule_set).await?;
        let twenty = WaterTemperature::TWENTY;
        let strength = lot.strength(today).ok();
        let strength = strength.and_then(|(strength, _)| strength.mass_fraction(twenty).ok());
        trouble::to_tell(&rules, today, strength)
    } else {
        String::new()
    };
    let new = NewTrouble {
        kind: match missing {
            true => TroubleKind::StockMissing,
            false => TroubleKind::StockTooMuch,
        },
        lot: Some(lot.id),
        subject: lot.words(),
        seen: format!(
            "{} was found where the balance said {}: {} {}.",
            show::volume(found.volume(), units),
            volume(lot, units),
            show::volume(off.volume(), units),
            if missing { "are missing" } else { "too much" }
        ),
        reason,
        to_tell,
    };
    let id = trouble::store::insert(tx, &new, who.id, now).await?;
    let entry = Entry::about("trouble", id.get(), lot.words(), "trouble opened")
        .with(json!({ "seen": new.seen, "to tell": new.to_tell }));
    logbook::write(tx, &who.author(), entry, now).await?;
    Ok(id)
}
