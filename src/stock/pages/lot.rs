//! One lot: what it is today, every entry and assay, and what can be changed about it.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::receive::{
    parse_container, parse_kept_in, parse_litre_cost, parse_loss, parse_off, parse_past_day,
    parse_retest, price_unit, typed_litre_cost, usual_off,
};
use super::{StrengthToday, lot_in_stock, lot_in_use, shown, state_note, volume};
use crate::crew::{Role, Who};
use crate::ids::{LotId, StockEntryId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::register::facts::{self, Facts};
use crate::science::quantity::{WaterTemperature, in_kilograms_per_litre};
use crate::science::stored::{Hundredths, Millilitres, Permille};
use crate::science::units::Units;
use crate::science::{peroxide, show};
use crate::site::{Site, full_day};
use crate::state::App;
use crate::stock::ledger::{EntryKind, StockEntry};
use crate::stock::store::{self, LotChange};
use crate::stock::stores::temperature;
use crate::stock::{Assay, Lot, LotState, path};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// An entry as a line of the ledger.
struct Line {
    id: StockEntryId,
    at: String,
    what: String,
    change: String,
    balance: String,
    person: String,
    reason: String,
    /// The lot at the other end of a parting.
    other: Option<(String, String)>,
    may_correct: bool,
}

#[derive(Template)]
#[template(path = "stock/lot.html")]
struct LotPage {
    frame: Frame,
    lot: Lot,
    on_hand: String,
    strength: StrengthToday,
    density: String,
    label: String,
    state: LotState,
    state_note: String,
    lines: Vec<Line>,
    assays: Vec<Assay>,
    units: Units,
    may_enter: bool,
}

impl LotPage {
    fn day(&self, day: &chrono::NaiveDate) -> String {
        full_day(*day)
    }

    fn found(&self, assay: &Assay) -> String {
        shown(assay.found)
    }

    fn loss(&self) -> String {
        format!("{}\u{a0}%", show::figures(self.lot.loss.get() * 100.0, 3))
    }

    /// What it loses where it stands, where that differs by the warmth of the store.
    fn loss_there(&self) -> Option<String> {
        let store = self.lot.store.as_ref()?;
        let there = self.lot.loss_in_store();
        (there != self.lot.loss).then(|| {
            format!(
                "{}\u{a0}% at {}",
                show::figures(there.get() * 100.0, 3),
                temperature(store.warmest, self.units)
            )
        })
    }

    fn container(&self) -> String {
        let holds = self.lot.container;
        holds.map_or_else(String::new, |holds| {
            show::volume(holds.volume(), self.units)
        })
    }

    fn cost(&self) -> String {
        let unit = entry::large(self.units).symbol();
        let cost = self.lot.litre_cost;
        cost.map_or_else(String::new, |cost| {
            format!("{} for a {unit}", typed_litre_cost(cost, self.units))
        })
    }

    /// What it was mixed of.
    fn mixed(&self) -> Option<String> {
        let made = self.lot.made.as_ref()?;
        let volume = |amount: Millilitres| show::volume(amount.volume(), self.units);
        Some(format!(
            "{} of concentrate in {} of water; to be used by {}",
            volume(made.concentrate),
            volume(made.water),
            full_day(made.use_by)
        ))
    }

    fn in_use(&self) -> bool {
        self.lot.withdrawn.is_none()
    }

    fn due(&self) -> bool {
        self.state == LotState::RetestDue
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let lot = lot_in_stock(&mut conn, id).await?;
    let entries = store::of_lot(&mut conn, id).await?;
    let assays = store::assays(&mut conn, id).await?;
    drop(conn);
    let may_enter = who.is_at_least(Role::Lead);
    let state = lot.state(today);
    Ok(Page(LotPage {
        frame: who.frame(Section::Stock),
        on_hand: volume(&lot, who.site.units),
        strength: StrengthToday::of(&lot, today),
        density: density(&lot, today),
        label: lot.label.words(),
        state,
        state_note: state_note(&lot, state),
        lines: lines(&entries, &who.site, may_enter && lot.withdrawn.is_none()),
        assays,
        units: who.site.units,
        may_enter,
        lot,
    }))
}

/// The density at 20 °C of stock as strong as it is today, where that is known.
fn density(lot: &Lot, today: chrono::NaiveDate) -> String {
    let twenty = WaterTemperature::TWENTY;
    let density = lot
        .strength(today)
        .ok()
        .and_then(|(strength, _)| strength.mass_fraction(twenty).ok())
        .and_then(|fraction| peroxide::density(fraction, twenty).ok());
    density.map_or_else(String::new, |density| {
        let kilograms = show::fixed(in_kilograms_per_litre(density), 3);
        format!("{kilograms}\u{a0}kg/L at 20\u{a0}°C")
    })
}

/// The entries with the balance after each, newest first as they come.
fn lines(entries: &[StockEntry], site: &Site, may_correct: bool) -> Vec<Line> {
    let mut balance: i64 = entries.iter().map(|entry| entry.change.get()).sum();
    let mut lines = Vec::new();
    for entry in entries {
        let after = Millilitres::new(balance);
        balance -= entry.change.get();
        lines.push(Line {
            id: entry.id,
            at: site.moment_words(entry.at),
            what: what(entry, site.units),
            change: signed(entry, site.units),
            balance: after.map_or_else(
                |_| String::new(),
                |after| show::volume(after.volume(), site.units),
            ),
            person: entry.person.to_string(),
            reason: entry.reason.to_string(),
            other: entry
                .other_lot_id
                .map(path)
                .zip(entry.other_lot_code.clone()),
            may_correct: may_correct
                && entry.corrects.is_none()
                && entry.cleanout_id.is_none()
                && !matches!(
                    entry.kind,
                    EntryKind::Counted | EntryKind::Moved | EntryKind::Decanted
                ),
        });
    }
    lines
}

fn what(entry: &StockEntry, units: Units) -> String {
    match (
        entry.corrects,
        entry.counted,
        entry.cleanout_number.as_ref(),
    ) {
        (Some(corrects), ..) => format!("{}, correction of entry {corrects}", entry.kind),
        (None, Some(found), _) => format!("counted: {}", show::volume(found.volume(), units)),
        (None, None, Some(number)) => format!("drawn for {number}"),
        _ => match (entry.kind, &entry.from_store, &entry.to_store) {
            (EntryKind::Moved, Some(from), Some(to)) => format!("moved from {from} to {to}"),
            (EntryKind::Moved, None, Some(to)) => format!("moved to {to}"),
            (kind, ..) => kind.to_string(),
        },
    }
}

/// '+ 25 L', '− 2.5 L', and a word where nothing changed.
fn signed(entry: &StockEntry, units: Units) -> String {
    let change = entry.change.get();
    let Ok(amount) = Millilitres::new(change.abs()) else {
        return String::new();
    };
    let amount = show::volume(amount.volume(), units);
    match change.signum() {
        1 => format!("+\u{a0}{amount}"),
        -1 => format!("−\u{a0}{amount}"),
        _ if entry.kind == EntryKind::Moved => "none".to_owned(),
        _ => "agreed".to_owned(),
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    opened_on: String,
    retest_on: String,
    kept_in: String,
    container: String,
    litre_cost: String,
    loss: String,
    strength_off: String,
    version: String,
}

#[derive(Template)]
#[template(path = "stock/lot_change.html")]
struct ChangeForm {
    frame: Frame,
    unit: &'static str,
    price_unit: String,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

impl ChangeForm {
    fn usual_off(&self) -> String {
        usual_off()
    }
}

impl Input {
    fn of(lot: &Lot, units: Units) -> Self {
        let day =
            |day: Option<chrono::NaiveDate>| day.map_or_else(String::new, |day| day.to_string());
        Self {
            opened_on: day(lot.opened_on),
            retest_on: day(lot.retest_on),
            kept_in: lot.kept_in.clone(),
            container: lot
                .container
                .map(|holds| entry::typed_volume(holds.volume(), units))
                .unwrap_or_default(),
            litre_cost: lot
                .litre_cost
                .map(|cost| typed_litre_cost(cost, units))
                .unwrap_or_default(),
            loss: Permille::nearest(lot.loss.get())
                .map_or_else(|_| String::new(), entry::typed_percent),
            strength_off: entry::typed_off(lot.strength_off),
            version: lot.version.to_string(),
        }
    }

    fn check(
        &self,
        lot: &Lot,
        site: &Site,
        today: chrono::NaiveDate,
    ) -> Result<LotChange, FormErrors> {
        let mut errors = FormErrors::default();
        let opened_on = errors.take(
            "opened_on",
            entry::optional(&self.opened_on, |typed| parse_past_day(typed, today)),
        );
        if opened_on
            .flatten()
            .is_some_and(|opened| opened < lot.received_on)
        {
            errors.add(
                "opened_on",
                format!(
                    "It came on {}; it was not opened before.",
                    full_day(lot.received_on)
                ),
            );
        }
        let retest_on = errors.take(
            "retest_on",
            parse_retest(&self.retest_on, Some(lot.strong_since())),
        );
        let kept_in = errors.take("kept_in", parse_kept_in(&self.kept_in));
        let container = parse_container(&self.container, site.units);
        let container = errors.take("container", container);
        let litre_cost = parse_litre_cost(&self.litre_cost, site.units);
        let litre_cost = errors.take("litre_cost", litre_cost);
        let loss = errors.take("loss", parse_loss(&self.loss, site));
        let off = errors.take("strength_off", parse_off(&self.strength_off));
        let strength = loss.zip(off);
        match (
            opened_on, retest_on, kept_in, container, litre_cost, strength,
        ) {
            (
                Some(opened_on),
                Some(retest_on),
                Some(kept_in),
                Some(container),
                Some(litre_cost),
                Some((loss, strength_off)),
            ) if !errors.any() => Ok(LotChange {
                opened_on,
                retest_on,
                kept_in,
                container,
                litre_cost,
                loss,
                strength_off,
            }),
            _ => Err(errors),
        }
    }
}

fn facts_of(change: &LotChange) -> Facts {
    let day = |day: Option<chrono::NaiveDate>| day.map_or_else(String::new, full_day);
    vec![
        ("opened on", day(change.opened_on)),
        ("retest on", day(change.retest_on)),
        ("kept in", change.kept_in.clone()),
        (
            "container",
            change
                .container
                .map(|holds| show::volume(holds.volume(), Units::Metric))
                .unwrap_or_default(),
        ),
        (
            "a litre cost",
            change.litre_cost.map(Hundredths::words).unwrap_or_default(),
        ),
        (
            "loss in a year",
            format!("{}\u{a0}%", show::figures(change.loss.get() * 100.0, 3)),
        ),
        ("label off by", entry::off_fact(change.strength_off)),
    ]
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let lot = lot_in_use(&mut conn, id).await?;
    Ok(Page(ChangeForm {
        frame: who.frame(Section::Stock),
        unit: entry::large(who.site.units).symbol(),
        price_unit: price_unit(who.site.units),
        input: Input::of(&lot, who.site.units),
        lot,
        errors: FormErrors::default(),
    }))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let lot = lot_in_use(tx.conn(), id).await?;
    let refused = |lot, input, errors| {
        let frame = who.frame(Section::Stock);
        Ok(Refused(ChangeForm {
            frame,
            unit: entry::large(who.site.units).symbol(),
            price_unit: price_unit(who.site.units),
            lot,
            input,
            errors,
        })
        .into_response())
    };
    let new = match input.check(&lot, &who.site, who.site.today(now)) {
        Ok(new) => new,
        Err(errors) => return refused(lot, input, errors),
    };
    let was = LotChange {
        opened_on: lot.opened_on,
        retest_on: lot.retest_on,
        kept_in: lot.kept_in.clone(),
        container: lot.container,
        litre_cost: lot.litre_cost,
        loss: lot.loss,
        strength_off: lot.strength_off,
    };
    let (before, after) = (facts_of(&was), facts_of(&new));
    let version = input.version.parse().unwrap_or(0);
    if !store::change_lot(&mut tx, id, version, &new).await? {
        let errors = FormErrors::only("opened_on", facts::differences(&before, &after));
        input.version = lot.version.to_string();
        return refused(lot, input, errors);
    }
    let entry =
        Entry::about("lot", id.get(), lot.words(), "changed").with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(lot.path(), now).await?.into_response())
}
