//! Deliveries that are expected: entered, moved to another day, called off. They end as a lot.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::at_hand::{AtHand, look, said};
use super::{MOST, Options, printed_fraction};
use crate::clock::Moment;
use crate::crew::{Role, Who};
use crate::ids::{DeliveryId, ProductId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::science::units::Units;
use crate::site::full_day;
use crate::state::App;
use crate::stock::Product;
use crate::stock::delivery::{Delivery, DeliveryFate, NewDelivery};
use crate::stock::limits::{Arrival, Warning};
use crate::stock::store::{self, Happens};
use crate::text::{Name, Note, parse_day};
use crate::web::{
    AppError, Effect, Form, FormErrors, Frame, Meanwhile, Page, Refused, Section, TakesEffects,
};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    product: String,
    amount: String,
    expected_on: String,
    note: String,
    /// Ticked by whoever orders it all the same.
    known: String,
}

#[derive(Debug, Template)]
#[template(path = "stock/delivery_new.html")]
pub struct NewForm {
    frame: Frame,
    /// What it would do to the plan; empty until that was asked for.
    effects: Vec<Effect>,
    warnings: Vec<Warning>,
    products: Options,
    unit: &'static str,
    input: Input,
    errors: FormErrors,
}

impl TakesEffects for NewForm {
    fn with(self, effects: Vec<Effect>) -> Self {
        Self { effects, ..self }
    }
}

impl NewForm {
    fn new(who: &Who, products: &[Product], input: Input, errors: FormErrors) -> Self {
        let in_use = products.iter().filter(|product| !product.retired);
        Self {
            frame: who.frame(Section::Stock),
            effects: Vec::new(),
            warnings: Vec::new(),
            products: in_use
                .map(|product| {
                    let words = format!("{}, {}", product.name, product.label.words());
                    (product.id.to_string(), words)
                })
                .collect(),
            unit: entry::large(who.site.units).symbol(),
            input,
            errors,
        }
    }
}

impl Input {
    fn check(
        &self,
        products: &[Product],
        units: Units,
        today: NaiveDate,
    ) -> Result<NewDelivery, FormErrors> {
        let mut errors = FormErrors::default();
        let product = self.product.parse::<ProductId>().ok();
        let product = products
            .iter()
            .find(|one| Some(one.id) == product && !one.retired);
        let product = errors.take("product", product.ok_or("Choose the product."));
        let amount = entry::volume(&self.amount, units, 1..=MOST);
        let amount = errors.take("amount", entry::named("Amount", amount));
        let expected_on = errors.take("expected_on", parse_coming_day(&self.expected_on, today));
        let note = errors.take("note", Note::parse(&self.note));
        match (product, amount, expected_on, note) {
            (Some(product), Some(amount), Some(expected_on), Some(note)) => Ok(NewDelivery {
                product_id: product.id,
                amount,
                expected_on,
                note,
            }),
            _ => Err(errors),
        }
    }
}

fn parse_coming_day(typed: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    let day = parse_day(typed)?;
    if day < today {
        return Err("This day is over. What has come already is received as a lot.".to_owned());
    }
    Ok(day)
}

pub async fn new(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let products = store::products(&mut conn).await?;
    Ok(Page(NewForm::new(
        &who,
        &products,
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let products = store::products(tx.conn()).await?;
    let new = match form.input.check(&products, units, who.site.today(now)) {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(NewForm::new(&who, &products, form.input, errors)).into_response());
        }
    };
    let warnings = warnings(tx.conn(), &who, &products, &new, who.site.today(now)).await?;
    if let Err(errors) = look(&warnings, &form.input.known) {
        let page = NewForm::new(&who, &products, form.input, errors);
        return Ok(Refused(NewForm { warnings, ..page }).into_response());
    }
    let id = store::insert_delivery(&mut tx, &new, who.id, now).await?;
    let delivery = found(tx.conn(), id).await?;
    let detail = json!({
        "amount": show::volume(new.amount.volume(), units),
        "expected on": new.expected_on,
        "note": new.note,
        "limits": said(&warnings, &who),
    });
    let entry = Entry::about("delivery", id.get(), delivery.words(), "expected").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(delivery.path(), now).await?.into_response())
}

/// The form as it was sent with the delivery that it says, and the name of its product, to see what it would do;
/// or what it is answered with instead.
pub async fn looked_new(
    conn: &mut SqliteConnection,
    who: &Who,
    input: Input,
    now: Moment,
) -> Result<Result<(NewForm, (NewDelivery, Name)), Response>, AppError> {
    let today = who.site.today(now);
    let products = store::products(conn).await?;
    let checked = input.check(&products, who.site.units, today);
    let page = NewForm::new(who, &products, input, FormErrors::default());
    let new = match checked {
        Ok(new) => new,
        Err(errors) => return Ok(Err(Refused(NewForm { errors, ..page }).into_response())),
    };
    let warnings = warnings(conn, who, &products, &new, today).await?;
    let product = products.iter().find(|one| one.id == new.product_id);
    let name = product.ok_or(AppError::NotFound("product"))?.name.clone();
    Ok(Ok((NewForm { warnings, ..page }, (new, name))))
}

/// What the limits say when it comes on top of what is here and of what is expected of the product;
/// what is poured until then is not taken off.
async fn warnings(
    conn: &mut SqliteConnection,
    who: &Who,
    products: &[Product],
    new: &NewDelivery,
    today: NaiveDate,
) -> anyhow::Result<Vec<Warning>> {
    let Some(product) = products.iter().find(|one| one.id == new.product_id) else {
        return Ok(Vec::new());
    };
    let expected = store::deliveries(conn).await?;
    let open = expected
        .iter()
        .filter(|one| one.is_open() && one.product_id == product.id);
    let coming: i64 = open.map(|one| one.amount.get()).sum();
    let arrival = Arrival {
        agent: product.agent,
        strength: printed_fraction(product),
        amount: Millilitres::new(new.amount.get() + coming)?,
        store: None,
        comes: true,
    };
    let at_hand = AtHand::load(conn, &who.site, today).await?;
    Ok(at_hand.warnings(Some(&arrival)))
}

async fn found(conn: &mut SqliteConnection, id: DeliveryId) -> Result<Delivery, AppError> {
    store::delivery(conn, id)
        .await?
        .ok_or(AppError::NotFound("delivery"))
}

/// What became of a delivery, in words.
#[derive(Debug)]
struct EventLine {
    when: String,
    what: String,
    by: String,
}

/// The day it is moved to, or why it is called off.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct MoveInput {
    expected_on: String,
    reason: String,
    /// How many events there were when the page was opened.
    events: String,
}

#[derive(Debug, Template)]
#[template(path = "stock/delivery.html")]
pub struct DeliveryPage {
    frame: Frame,
    /// What another day, or calling it off, would do to the plan; empty until that was asked for.
    effects: Vec<Effect>,
    /// What is looked at: 'If it comes on 20 March 2027'.
    supposed: String,
    delivery: Delivery,
    amount: String,
    standing: String,
    overdue: bool,
    lot: Option<(String, String)>,
    events: Vec<EventLine>,
    may_enter: bool,
    input: MoveInput,
    meanwhile: bool,
    errors: FormErrors,
}

impl TakesEffects for DeliveryPage {
    fn with(self, effects: Vec<Effect>) -> Self {
        Self { effects, ..self }
    }
}

impl DeliveryPage {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        delivery: Delivery,
        today: NaiveDate,
    ) -> Result<Self, AppError> {
        let events = store::delivery_events(conn, delivery.id).await?;
        let overdue = delivery.is_overdue(today);
        let day = full_day(delivery.expected_on);
        let standing = match delivery.fate {
            DeliveryFate::Expected if overdue => format!("overdue since {day}"),
            DeliveryFate::Expected => format!("expected on {day}"),
            DeliveryFate::Received => "received".to_owned(),
            DeliveryFate::CalledOff => "called off".to_owned(),
        };
        Ok(Self {
            frame: who.frame(Section::Stock),
            effects: Vec::new(),
            supposed: String::new(),
            amount: show::volume(delivery.amount.volume(), who.site.units),
            standing,
            overdue,
            lot: delivery
                .lot
                .as_ref()
                .map(|(id, code)| (crate::stock::path(*id), code.clone())),
            input: MoveInput {
                expected_on: delivery.expected_on.max(today).to_string(),
                events: events.len().to_string(),
                ..MoveInput::default()
            },
            events: events
                .into_iter()
                .map(|event| EventLine {
                    when: who.site.moment_words(event.at),
                    what: match (event.expected_on, event.reason.as_str()) {
                        (Some(day), "") => format!("expected on {}", full_day(day)),
                        (Some(day), why) => format!("expected on {}: {why}", full_day(day)),
                        (None, "") => event.what.to_string(),
                        (None, why) => format!("{}: {why}", event.what),
                    },
                    by: event.person.to_string(),
                })
                .collect(),
            may_enter: who.is_at_least(Role::Lead),
            meanwhile: false,
            errors: FormErrors::default(),
            delivery,
        })
    }

    /// The same page with what was typed.
    fn typed(self, typed: MoveInput, errors: FormErrors) -> Self {
        let input = MoveInput {
            events: self.input.events.clone(),
            ..typed
        };
        Self {
            input,
            errors,
            ..self
        }
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<DeliveryId>,
) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let delivery = found(&mut conn, id).await?;
    Ok(Page(
        DeliveryPage::load(&mut conn, &who, delivery, today).await?,
    ))
}

pub async fn moved(
    State(app): State<App>,
    who: Who,
    Path(id): Path<DeliveryId>,
    form: Form<MoveInput>,
) -> Result<Response, AppError> {
    let today = who.site.today(app.clock.now());
    happens(app, who, id, form, "moved", |input, errors| {
        let (day, why) = input.moved(errors, today)?;
        Some(Happens::Expected(day, why))
    })
    .await
}

impl MoveInput {
    fn moved(&self, errors: &mut FormErrors, today: NaiveDate) -> Option<(NaiveDate, Note)> {
        let day = errors.take("expected_on", parse_coming_day(&self.expected_on, today));
        let why = errors.take("reason", Note::parse(&self.reason));
        Some((day?, why?))
    }
}

/// The page of a delivery as its form was sent with the other day, to see what that would do; or what it is
/// answered with instead.
pub async fn looked_moved(
    conn: &mut SqliteConnection,
    who: &Who,
    id: DeliveryId,
    input: MoveInput,
    now: Moment,
) -> Result<Result<(DeliveryPage, NaiveDate), Response>, AppError> {
    let today = who.site.today(now);
    let delivery = found(conn, id).await?;
    open(&delivery)?;
    let page = DeliveryPage::load(conn, who, delivery, today).await?;
    let mut errors = FormErrors::default();
    let moved = input.moved(&mut errors, today);
    let page = page.typed(input, errors);
    Ok(match moved {
        Some((day, _)) => {
            let supposed = format!("If it comes on {}:", full_day(day));
            Ok((DeliveryPage { supposed, ..page }, day))
        }
        None => Err(Refused(page).into_response()),
    })
}

/// The page of a delivery to see what it would do if it were called off; why may be written later.
pub async fn looked_called_off(
    conn: &mut SqliteConnection,
    who: &Who,
    id: DeliveryId,
    input: MoveInput,
    now: Moment,
) -> Result<DeliveryPage, AppError> {
    let delivery = found(conn, id).await?;
    open(&delivery)?;
    let page = DeliveryPage::load(conn, who, delivery, who.site.today(now)).await?;
    Ok(DeliveryPage {
        supposed: "If it is called off:".to_owned(),
        ..page.typed(input, FormErrors::default())
    })
}

/// Nothing is changed about a delivery that came or was called off.
fn open(delivery: &Delivery) -> Result<(), AppError> {
    match delivery.is_open() {
        true => Ok(()),
        false => Err(AppError::Conflict(format!(
            "This delivery is {} already; nothing about it is changed any more.",
            delivery.fate
        ))),
    }
}

pub async fn called_off(
    State(app): State<App>,
    who: Who,
    Path(id): Path<DeliveryId>,
    form: Form<MoveInput>,
) -> Result<Response, AppError> {
    happens(app, who, id, form, "called off", |input, errors| {
        errors
            .take("reason", Note::parse_reason(&input.reason))
            .map(Happens::CalledOff)
    })
    .await
}

/// Writes what happened to a delivery, as the form says.
async fn happens(
    app: App,
    who: Who,
    id: DeliveryId,
    form: Form<MoveInput>,
    what: &str,
    read: impl FnOnce(&MoveInput, &mut FormErrors) -> Option<Happens>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let delivery = found(tx.conn(), id).await?;
    open(&delivery)?;
    let page = DeliveryPage::load(tx.conn(), &who, delivery.clone(), who.site.today(now)).await?;
    let mut errors = FormErrors::default();
    let Some(happens) = read(&form.input, &mut errors) else {
        return Ok(Refused(page.typed(form.input, errors)).into_response());
    };
    if form.input.events != page.input.events {
        let page = page.typed(form.input, errors);
        return Ok(Meanwhile(DeliveryPage {
            meanwhile: true,
            ..page
        })
        .into_response());
    }
    store::add_event(&mut tx, id, &happens, who.id, now).await?;
    let mut detail = json!({ "expected before": delivery.expected_on });
    match &happens {
        Happens::Expected(day, why) => {
            detail["expected on"] = json!(day);
            detail["why"] = json!(why);
        }
        Happens::CalledOff(why) => detail["why"] = json!(why),
        Happens::Received(_) => {}
    }
    let entry = Entry::about("delivery", id.get(), delivery.words(), what).with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(delivery.path(), now).await?.into_response())
}

/// A delivery in the list of the stock.
pub(super) struct DeliveryLine {
    pub path: String,
    pub id: DeliveryId,
    pub product: String,
    pub amount: String,
    pub day: String,
    pub overdue: bool,
    pub note: String,
}

impl DeliveryLine {
    pub fn open(deliveries: Vec<Delivery>, units: Units, today: NaiveDate) -> Vec<Self> {
        let open = deliveries.into_iter().filter(Delivery::is_open);
        open.map(|delivery| Self {
            path: delivery.path(),
            id: delivery.id,
            amount: show::volume(delivery.amount.volume(), units),
            day: full_day(delivery.expected_on),
            overdue: delivery.is_overdue(today),
            note: delivery.note.to_string(),
            product: delivery.product.to_string(),
        })
        .collect()
    }
}
