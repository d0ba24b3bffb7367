//! Mixing a solution from a lot: the amounts are worked out and read first, then what was mixed is entered,
//! and it goes on as a lot of its own with its own label.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::at_hand::{AtHand, look, said};
use super::receive::{parse_container, parse_kept_in};
use super::{MOST, Options, bases, free_code, peroxide_in_use, stores, volume};
use crate::clock::Moment;
use crate::crew::{self, AgeBand, Kind, Person, SkillKind, Who};
use crate::db;
use crate::ids::{LotId, PersonId, StoreId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::parse;
use crate::science::show;
use crate::science::sources::Question;
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::science::strength::Basis;
use crate::site;
use crate::site::bands::{self, Band};
use crate::state::App;
use crate::stock::Lot;
use crate::stock::ledger::EntryKind;
use crate::stock::limits::{Arrival, Warning};
use crate::stock::made::{self, Mix, MixWater};
use crate::stock::parting;
use crate::stock::store::{self, NewMade, NewMove};
use crate::text::{Note, parse_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    strength: String,
    basis: String,
    amount: String,
    water: String,
    code: String,
    container: String,
    store: String,
    kept_in: String,
    use_by: String,
    second: String,
    reason: String,
    known: String,
    /// 'work' for the amounts, 'enter' for what was mixed.
    act: String,
    /// The amounts that were shown, so that nobody enters others.
    shown: String,
}

#[derive(Template)]
#[template(path = "stock/mix.html")]
struct MixForm {
    frame: Frame,
    on_hand: String,
    strength: String,
    unit: &'static str,
    bases: Options,
    waters: Options,
    stores: Options,
    adults: Options,
    warnings: Vec<Warning>,
    /// How long eyes are rinsed.
    eyes: String,
    keeps: u64,
    keeps_at_most: u64,
    /// The amounts, once they were asked for.
    worked: Option<Worked>,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

struct Worked {
    words: String,
    lines: Vec<(String, String, String)>,
    hazard: String,
    mark: String,
}

/// A lot with what its form offers.
struct Found {
    lot: Lot,
    at_hand: AtHand,
    codes: Vec<String>,
    table: Vec<Band>,
    adults: Vec<Person>,
    signed: bool,
    today: NaiveDate,
}

impl Found {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        id: LotId,
        now: Moment,
    ) -> Result<Self, AppError> {
        let today = who.site.today(now);
        let lot = peroxide_in_use(conn, id).await?;
        if lot.on_hand.get() == 0 {
            return Err(AppError::Conflict(format!(
                "Lot {} is empty: there is nothing of it to mix.",
                lot.code
            )));
        }
        let mut adults = crew::store::all(conn).await?;
        adults.retain(|person| {
            let adult = person.kind == Kind::Person && person.age_band == AgeBand::Adult;
            adult && !person.ended && person.id != who.id
        });
        let skilled = crew::store::holds(conn, who.id, SkillKind::Concentrate, today).await?;
        Ok(Self {
            at_hand: AtHand::load(conn, &who.site, today).await?,
            codes: store::codes(conn, lot.product_id).await?,
            table: site::store::bands(conn, &who.site.rule_set).await?,
            signed: skilled && who.age_band == AgeBand::Adult,
            adults,
            lot,
            today,
        })
    }

    fn page(self, who: &Who, mix: Option<&Mix>, input: Input, errors: FormErrors) -> MixForm {
        let units = who.site.units;
        let strength = self.lot.strength(self.today);
        let worked = mix.map(|mix| Worked {
            words: mix.words(&self.lot, units),
            lines: mix.lines.clone(),
            hazard: hazard_words(&self.table, self.today, mix),
            mark: mark(mix),
        });
        let nobody = (String::new(), "Choose".to_owned());
        let adults = self.adults.iter();
        let adults = adults.map(|person| (person.id.to_string(), person.name.to_string()));
        MixForm {
            frame: who.frame(Section::Stock),
            on_hand: volume(&self.lot, units),
            strength: strength.map_or_else(
                |error| error.to_string(),
                |(strength, _)| show::strength(strength),
            ),
            unit: entry::large(units).symbol(),
            bases: bases(),
            waters: MixWater::ALL
                .iter()
                .map(|water| (water.code().to_owned(), water.to_string()))
                .collect(),
            stores: stores::offered(&self.at_hand.stores),
            adults: std::iter::once(nobody).chain(adults).collect(),
            warnings: Vec::new(),
            eyes: who.site.source(Question::EyeRinse).short(),
            keeps: made::KEEPS_DAYS,
            keeps_at_most: made::KEEPS_AT_MOST_DAYS,
            worked,
            lot: self.lot,
            input,
            errors,
        }
    }
}

/// What was shown, to tell it from anything else.
fn mark(mix: &Mix) -> String {
    format!("{}+{}", mix.concentrate.get(), mix.water.get())
}

/// 'Danger: H318, can blind …', or that there is none at this strength.
fn hazard_words(table: &[Band], today: NaiveDate, mix: &Mix) -> String {
    let percent = show::figures(mix.fraction.percent(), 3);
    match bands::at(table, today, mix.fraction) {
        Ok(band) => {
            let class = &band.class;
            let signal = class.signal.words().unwrap_or_default();
            let statements = class.statements.iter();
            let words: Vec<String> = statements
                .map(|code| format!("{code}, {}", bands::statement_words(code)))
                .collect();
            match words.is_empty() {
                true => format!(
                    "At {percent}\u{a0}% w/w it has no class by strength in the table of the site. It still bleaches and stings: gloves and goggles stay on."
                ),
                false => format!(
                    "At {percent}\u{a0}% w/w its label says {signal}: {}.",
                    words.join("; ")
                ),
            }
        }
        Err(_) => format!(
            "The table of the site has no class for {percent}\u{a0}% w/w: copy the label from the supplier's by hand."
        ),
    }
}

struct Checked {
    mix: Mix,
    water: MixWater,
}

/// What is entered beside the amounts.
struct Kept {
    code: String,
    container: Option<Millilitres>,
    store: Option<StoreId>,
    kept_in: String,
    use_by: NaiveDate,
    second: Person,
    reason: Note,
    lost: MillilitreChange,
    gained: MillilitreChange,
}

impl Input {
    fn mix(&self, found: &Found, who: &Who) -> Result<Checked, FormErrors> {
        let units = who.site.units;
        let mut errors = FormErrors::default();
        let basis = Basis::from_code(&self.basis).ok_or(
            "Choose what the figure counts: by weight and by volume differ, and without it no amount can be worked.",
        );
        let basis = errors.take("basis", basis);
        let strength = basis.and_then(|basis| {
            let typed = parse::strength(&self.strength, Some(basis));
            let typed = typed.map_err(|error| format!("{error}."));
            errors.take("strength", typed)
        });
        let amount = errors.take("amount", entry::volume(&self.amount, units, 100..=MOST));
        let water = MixWater::from_code(&self.water).ok_or("Choose the water.");
        let water = errors.take("water", water);
        let stock = found
            .lot
            .stock(found.today)
            .map_err(|error| format!("{error}."));
        let stock = errors.take("strength", stock);
        let mix = match (strength, amount, stock) {
            (Some(strength), Some(amount), Some(stock)) => {
                errors.take("strength", made::mix(stock, strength, amount, units))
            }
            _ => None,
        };
        if let Some(mix) = &mix {
            let parted = parting::parted(found.lot.on_hand, mix.concentrate);
            errors.take(
                "amount",
                parted.map_err(|refusal| format!("{}.", refusal.words(units))),
            );
        }
        match (mix, water) {
            (Some(mix), Some(water)) if !errors.any() => Ok(Checked { mix, water }),
            _ => Err(errors),
        }
    }

    fn kept(&self, found: &Found, who: &Who, mix: &Mix) -> Result<Kept, FormErrors> {
        let units = who.site.units;
        let mut errors = FormErrors::default();
        if !found.signed {
            errors.add(
                "act",
                "Mixing pours concentrate. It is entered by the adult who pours and is signed for concentrate today.",
            );
        }
        if self.shown != mark(mix) {
            errors.add(
                "act",
                "The amounts are others now. Read them again before you enter them.",
            );
        }
        let code = errors.take("code", free_code(&self.code, &found.codes, "it"));
        let container = errors.take("container", parse_container(&self.container, units));
        let agent = Some(found.lot.agent);
        let store = stores::chosen(&found.at_hand.stores, &self.store, agent);
        let store = errors.take("store", store);
        let kept_in = errors.take("kept_in", parse_kept_in(&self.kept_in));
        let use_by = parse_day(&self.use_by).and_then(|day| made::check_use_by(day, found.today));
        let use_by = errors.take("use_by", use_by);
        let second = self.second.trim().parse::<PersonId>().ok();
        let second = found.adults.iter().find(|person| Some(person.id) == second);
        let second =
            second.ok_or("Nobody is alone with concentrate. Choose the adult who was with you.");
        let second = errors.take("second", second);
        let reason = errors.take("reason", Note::parse(&self.reason));
        let changes = parting::parted(found.lot.on_hand, mix.concentrate);
        let changes = changes.map_err(|refusal| format!("{}.", refusal.words(units)));
        let lost = errors.take("amount", changes);
        let gained = MillilitreChange::new(mix.finished.get()).map_err(|error| error.to_string());
        let gained = errors.take("amount", gained);
        match (
            code, container, store, kept_in, use_by, second, reason, lost, gained,
        ) {
            (
                Some(code),
                Some(container),
                Some(store),
                Some(kept_in),
                Some(use_by),
                Some(second),
                Some(reason),
                Some((lost, _)),
                Some(gained),
            ) if !errors.any() => Ok(Kept {
                code,
                container,
                store: store.or(found.lot.store.as_ref().map(|store| store.id)),
                kept_in,
                use_by,
                second: second.clone(),
                reason,
                lost,
                gained,
            }),
            _ => Err(errors),
        }
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
        water: MixWater::ReverseOsmosis.code().to_owned(),
        ..Input::default()
    };
    Ok(Page(found.page(&who, None, input, FormErrors::default())))
}

/// The amounts where they are asked for, and what was mixed where it is entered.
pub async fn enter(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let found = Found::load(tx.conn(), &who, id, now).await?;
    let mut input = form.input;
    let Checked { mix, water } = match input.mix(&found, &who) {
        Ok(checked) => checked,
        Err(errors) => return Ok(Refused(found.page(&who, None, input, errors)).into_response()),
    };
    if input.act != "enter" {
        // The rest of the form is shown from now on, with what is usual filled in.
        if input.code.trim().is_empty() {
            input.code = made::next_code(&found.lot, &found.codes);
        }
        if input.use_by.trim().is_empty() {
            input.use_by = made::usual_use_by(found.today).to_string();
        }
        let page = found.page(&who, Some(&mix), input, FormErrors::default());
        return Ok(Page(page).into_response());
    }
    let kept = match input.kept(&found, &who, &mix) {
        Ok(kept) => kept,
        Err(errors) => {
            return Ok(Refused(found.page(&who, Some(&mix), input, errors)).into_response());
        }
    };
    let warnings = found.at_hand.warnings(Some(&Arrival {
        agent: found.lot.agent,
        strength: Some(mix.fraction),
        amount: mix.finished,
        store: kept.store,
        comes: true,
    }));
    if let Err(errors) = look(&warnings, &input.known) {
        let page = found.page(&who, Some(&mix), input, errors);
        return Ok(Refused(MixForm { warnings, ..page }).into_response());
    }
    let new = NewMade {
        code: kept.code.clone(),
        store: kept.store,
        kept_in: kept.kept_in.clone(),
        container: kept.container,
        water,
        use_by: kept.use_by,
        today: found.today,
    };
    let made_id = match store::insert_made(&mut tx, &found.lot, &mix, &new, who.id, now).await {
        Ok(made_id) => made_id,
        Err(error) if db::taken(&error, "lot.code") => {
            let errors = FormErrors::only("code", "This code was given meanwhile.");
            return Ok(Refused(found.page(&who, Some(&mix), input, errors)).into_response());
        }
        Err(error) => return Err(error.into()),
    };
    store::open(&mut tx, id, found.today).await?;
    let from = found.lot.store.as_ref().map(|store| store.id);
    for (lot, change, other) in [(id, kept.lost, made_id), (made_id, kept.gained, id)] {
        let entry = NewMove {
            lot,
            kind: EntryKind::Decanted,
            change,
            from,
            to: kept.store,
            other: Some(other),
            reason: kept.reason.clone(),
            person: who.id,
            at: now,
        };
        store::enter_move(&mut tx, &entry).await?;
    }
    let units = who.site.units;
    let amount = |amount: Millilitres| show::volume(amount.volume(), units);
    let detail = json!({
        "as": format!("lot {}", kept.code), "strength": show::strength(mix.strength),
        "concentrate": amount(mix.concentrate), "water": amount(mix.water), "kind of water": water,
        "made": amount(mix.finished), "use by": kept.use_by, "with": kept.second.name, "why": kept.reason,
        "limits": said(&warnings, &who),
    });
    let entry = Entry::about("lot", id.get(), found.lot.words(), "solution mixed from it");
    logbook::write(&mut tx, &who.author(), entry.with(detail), now).await?;
    let onward = format!("{}/label", crate::stock::path(made_id));
    Ok(tx.finish(onward, now).await?.into_response())
}
