//! Receiving a lot: a delivery with its first entry.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::at_hand::{AtHand, look, said};
use super::{MOST, Options, printed_fraction, stores};
use crate::crew::Who;
use crate::db;
use crate::ids::{DeliveryId, ProductId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::peroxide::YearlyLoss;
use crate::science::quantity::in_litres;
use crate::science::sources::Question;
use crate::science::stored::{Hundredths, MillilitreChange, Millilitres, Permille};
use crate::science::units::Units;
use crate::science::{parse, show};
use crate::site::{Site, full_day};
use crate::state::App;
use crate::stock::delivery::Delivery;
use crate::stock::limits::{Arrival, Warning};
use crate::stock::store::{self, Happens, NewLot};
use crate::stock::stores::Store;
use crate::stock::{Product, parse_code, path};
use crate::text::{parse_day, parse_optional_day};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    product: String,
    code: String,
    amount: String,
    received_on: String,
    retest_on: String,
    store: String,
    kept_in: String,
    container: String,
    litre_cost: String,
    loss: String,
    strength_off: String,
    /// The delivery that came, where one was expected.
    delivery: String,
    /// Ticked by whoever puts it there all the same.
    known: String,
}

#[derive(Template)]
#[template(path = "stock/receive.html")]
struct ReceiveForm {
    frame: Frame,
    input: Input,
    products: Options,
    /// What is expected, and may be this.
    deliveries: Options,
    stores: Options,
    warnings: Vec<Warning>,
    unit: &'static str,
    price_unit: String,
    /// Where the usual loss is from.
    loss_words: String,
    errors: FormErrors,
}

impl ReceiveForm {
    fn usual_off(&self) -> String {
        usual_off()
    }

    fn new(
        who: &Who,
        products: &[Product],
        deliveries: &[Delivery],
        stores: &[Store],
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let in_use = products.iter().filter(|product| !product.retired);
        let words = |product: &Product| format!("{}, {}", product.name, product.label.words());
        Self {
            frame: who.frame(Section::Stock),
            products: in_use
                .map(|product| (product.id.to_string(), words(product)))
                .collect(),
            deliveries: delivery_options(deliveries, who.site.units),
            stores: stores::offered(stores),
            warnings: Vec::new(),
            input,
            unit: entry::large(who.site.units).symbol(),
            price_unit: price_unit(who.site.units),
            loss_words: who.site.source(Question::StockLoss).words(),
            errors,
        }
    }
}

/// What is still expected, to be chosen from, and that it may be none of it.
fn delivery_options(deliveries: &[Delivery], units: Units) -> Options {
    let none = (String::new(), "none of those expected".to_owned());
    let open = deliveries.iter().filter(|delivery| delivery.is_open());
    let words = open.map(|delivery| {
        let amount = show::volume(delivery.amount.volume(), units);
        let day = full_day(delivery.expected_on);
        (
            delivery.id.to_string(),
            format!("{}, {amount}, expected on {day}", delivery.product),
        )
    });
    std::iter::once(none).chain(words).collect()
}

struct Checked {
    lot: NewLot,
    amount: Millilitres,
    delivery: Option<DeliveryId>,
}

impl Input {
    fn check(
        &self,
        products: &[Product],
        deliveries: &[Delivery],
        stores: &[Store],
        site: &Site,
        today: NaiveDate,
    ) -> Result<Checked, FormErrors> {
        let mut errors = FormErrors::default();
        let product = self.product.parse::<ProductId>().ok();
        let product = errors.take(
            "product",
            products
                .iter()
                .find(|one| Some(one.id) == product && !one.retired)
                .ok_or("Choose the product. One that is missing is added first."),
        );
        let code = errors.take("code", parse_code(&self.code));
        let amount = errors.take("amount", entry::volume(&self.amount, site.units, 1..=MOST));
        let received_on = errors.take("received_on", parse_past_day(&self.received_on, today));
        let retest_on = errors.take("retest_on", parse_retest(&self.retest_on, received_on));
        let agent = product.map(|product| product.agent);
        let store = errors.take("store", stores::chosen(stores, &self.store, agent));
        let kept_in = errors.take("kept_in", parse_kept_in(&self.kept_in));
        let container = parse_container(&self.container, site.units);
        let container = errors.take("container", container);
        let litre_cost = parse_litre_cost(&self.litre_cost, site.units);
        let litre_cost = errors.take("litre_cost", litre_cost);
        let off = errors.take("strength_off", parse_off(&self.strength_off));
        let kept = store.zip(container).zip(litre_cost).zip(off);
        let loss = errors.take("loss", parse_loss(&self.loss, site));
        let delivery = self.delivery(deliveries, product.map(|product| product.id));
        let delivery = errors.take("delivery", delivery);
        match (
            product,
            code,
            amount,
            received_on,
            retest_on,
            kept_in,
            kept,
            loss,
            delivery,
        ) {
            (
                Some(product),
                Some(code),
                Some(amount),
                Some(received_on),
                Some(retest_on),
                Some(kept_in),
                Some((((store, container), litre_cost), strength_off)),
                Some(loss),
                Some(delivery),
            ) => Ok(Checked {
                lot: NewLot {
                    product_id: product.id,
                    code,
                    received_on,
                    opened_on: None,
                    retest_on,
                    kept_in,
                    store,
                    container,
                    litre_cost,
                    loss,
                    strength_off,
                },
                amount,
                delivery,
            }),
            _ => Err(errors),
        }
    }

    /// The delivery that this is, if it is one that was expected.
    fn delivery(
        &self,
        deliveries: &[Delivery],
        product: Option<ProductId>,
    ) -> Result<Option<DeliveryId>, String> {
        if self.delivery.is_empty() {
            return Ok(None);
        }
        let chosen = self.delivery.parse().ok();
        let found = deliveries.iter().find(|one| Some(one.id) == chosen);
        match found {
            Some(one) if !one.is_open() => Err(format!("This delivery is {} already.", one.fate)),
            Some(one) if product.is_some_and(|product| product != one.product_id) => {
                Err(format!("This is a delivery of {}.", one.product))
            }
            Some(one) => Ok(Some(one.id)),
            None => Err("Choose the delivery again.".to_owned()),
        }
    }
}

/// A day that is not yet to come.
pub(super) fn parse_past_day(typed: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    let day = parse_day(typed)?;
    if day > today {
        return Err("This day is still to come.".to_owned());
    }
    Ok(day)
}

pub(super) fn parse_retest(
    typed: &str,
    after: Option<NaiveDate>,
) -> Result<Option<NaiveDate>, String> {
    let retest = parse_optional_day(typed)?;
    match (retest, after) {
        (Some(retest), Some(after)) if retest <= after => {
            Err("The next test comes after that day.".to_owned())
        }
        _ => Ok(retest),
    }
}

/// Where a lot is kept: one short line, may be empty.
pub(super) fn parse_kept_in(typed: &str) -> Result<String, String> {
    let place = typed.trim();
    if place.chars().count() > 60 || place.chars().any(char::is_control) {
        return Err("Write it on one line of at most 60 characters.".to_owned());
    }
    Ok(place.to_owned())
}

/// What one container holds; may stay empty.
pub(super) fn parse_container(typed: &str, units: Units) -> Result<Option<Millilitres>, String> {
    // Up to 10 m³, as in the table.
    let holds = entry::optional(typed, |typed| entry::volume(typed, units, 1..=10_000_000));
    entry::named("One container", holds)
}

/// 'a litre', 'a US gal'.
pub(super) fn price_unit(units: Units) -> String {
    format!("a {}", entry::large(units).symbol())
}

/// What a litre cost, typed for the unit of volumes at the site; may stay empty.
pub(super) fn parse_litre_cost(typed: &str, units: Units) -> Result<Option<Hundredths>, String> {
    entry::optional(typed, |typed| {
        let figure = parse::decimal(typed).map_err(|error| format!("{error}."))?;
        let a_litre = figure / in_litres(entry::large(units).of(1.0));
        Hundredths::nearest(a_litre)
            .ok()
            .filter(|cost| cost.get() <= 100_000_000)
            .ok_or_else(|| "Write a price from 0 to 1 000 000, as in 4.20.".to_owned())
    })
}

/// As it is typed: the price of the unit of volumes at the site.
pub(super) fn typed_litre_cost(cost: Hundredths, units: Units) -> String {
    let figure = cost.get() as f64 / 100.0 * in_litres(entry::large(units).of(1.0));
    format!("{figure:.2}")
}

/// How far the label of a lot may be off; empty for what its product says, or the usual figure.
pub(super) fn parse_off(typed: &str) -> Result<Option<Permille>, String> {
    entry::own_off(typed, 1..=500)
}

/// What stands in where nothing is entered for a lot.
pub(super) fn usual_off() -> String {
    "Of this lot, by its certificate; an assay goes before it. Empty: the figure of its product, or the usual one.".to_owned()
}

/// What a lot loses in a year, typed in per cent; the usual figure where nothing is written.
pub(super) fn parse_loss(typed: &str, site: &Site) -> Result<YearlyLoss, String> {
    if typed.trim().is_empty() {
        let usual = site.source(Question::StockLoss).answer.yearly_loss();
        return Ok(usual.unwrap_or(YearlyLoss::USUAL));
    }
    let share = entry::percent(typed, 0..=500)?;
    YearlyLoss::new(share.share()).map_err(|error| error.to_string())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    product: String,
    delivery: String,
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let products = store::products(&mut conn).await?;
    let deliveries = store::deliveries(&mut conn).await?;
    let stores = store::stores(&mut conn).await?;
    let wanted = asked.delivery.parse().ok();
    let came = deliveries
        .iter()
        .find(|one| Some(one.id) == wanted && one.is_open());
    let input = Input {
        product: came.map_or(asked.product, |came| came.product_id.to_string()),
        amount: came
            .map(|came| entry::typed_volume(came.amount.volume(), who.site.units))
            .unwrap_or_default(),
        delivery: came.map(|came| came.id.to_string()).unwrap_or_default(),
        received_on: who.site.today(app.clock.now()).to_string(),
        loss: who
            .site
            .source(Question::StockLoss)
            .answer
            .published
            .code
            .to_owned(),
        ..Input::default()
    };
    Ok(Page(ReceiveForm::new(
        &who,
        &products,
        &deliveries,
        &stores,
        input,
        FormErrors::default(),
    )))
}

pub async fn receive(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (now, units) = (app.clock.now(), who.site.units);
    let mut tx = app.db.write_once(&form.once).await?;
    let products = store::products(tx.conn()).await?;
    let deliveries = store::deliveries(tx.conn()).await?;
    let today = who.site.today(now);
    let at_hand = AtHand::load(tx.conn(), &who.site, today).await?;
    let stores = &at_hand.stores;
    let refused = |errors| {
        let input = form.input.clone();
        let page = ReceiveForm::new(&who, &products, &deliveries, stores, input, errors);
        Ok(Refused(page).into_response())
    };
    let checked = form
        .input
        .check(&products, &deliveries, stores, &who.site, today);
    let Checked {
        lot: new,
        amount,
        delivery,
    } = match checked {
        Ok(checked) => checked,
        Err(errors) => return refused(errors),
    };
    let product = products.iter().find(|one| one.id == new.product_id);
    let arrival = product.map(|product| Arrival {
        agent: product.agent,
        strength: printed_fraction(product),
        amount,
        store: new.store,
        comes: true,
    });
    let warnings = arrival.map_or_else(Vec::new, |arrival| at_hand.warnings(Some(&arrival)));
    if let Err(errors) = look(&warnings, &form.input.known) {
        let input = form.input.clone();
        let page = ReceiveForm::new(&who, &products, &deliveries, stores, input, errors);
        return Ok(Refused(ReceiveForm { warnings, ..page }).into_response());
    }
    let id = match store::insert_lot(&mut tx, &new, now).await {
        Ok(id) => id,
        Err(error)
            if error
                .downcast_ref()
                .is_some_and(|error| db::taken(error, "lot.code")) =>
        {
            let errors = FormErrors::only(
                "code",
                format!(
                    "Lot {} of this product was received before. Is it another delivery of the same lot? Then add a letter to its code.",
                    new.code
                ),
            );
            return refused(errors);
        }
        Err(error) => return Err(error.into()),
    };
    let change = MillilitreChange::new(amount.get()).map_err(anyhow::Error::from)?;
    store::received(&mut tx, id, change, who.id, now).await?;
    let came = deliveries.iter().find(|one| Some(one.id) == delivery);
    if let Some(came) = came {
        store::add_event(&mut tx, came.id, &Happens::Received(id), who.id, now).await?;
        let entry = Entry::about("delivery", came.id.get(), came.words(), "received")
            .with(json!({ "as": format!("lot {}", new.code) }));
        logbook::write(&mut tx, &who.author(), entry, now).await?;
    }
    let entry =
        Entry::about("lot", id.get(), format!("lot {}", new.code), "received").with(json!({
            "amount": show::volume(amount.volume(), units),
            "received on": new.received_on,
            "retest on": new.retest_on,
            "store": new.store,
            "kept in": new.kept_in,
            "container": new.container.map(|holds| show::volume(holds.volume(), units)),
            "a litre cost": new.litre_cost.map(Hundredths::words),
            "label off by": entry::off_fact(new.strength_off),
            "limits": said(&warnings, &who),
        }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
