//! Receiving a lot: a delivery with its first entry.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::{MOST, Options, shown};
use crate::crew::Who;
use crate::db;
use crate::ids::ProductId;
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::peroxide::YearlyLoss;
use crate::science::show;
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::science::units::Units;
use crate::state::App;
use crate::stock::store::{self, NewLot};
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
    kept_in: String,
    loss: String,
}

#[derive(Template)]
#[template(path = "stock/receive.html")]
struct ReceiveForm {
    frame: Frame,
    input: Input,
    products: Options,
    unit: &'static str,
    errors: FormErrors,
}

impl ReceiveForm {
    fn new(who: &Who, products: &[Product], input: Input, errors: FormErrors) -> Self {
        let in_use = products.iter().filter(|product| !product.retired);
        let words = |product: &Product| format!("{}, {}", product.name, shown(product.label));
        Self {
            frame: who.frame(Section::Stock),
            products: in_use
                .map(|product| (product.id.to_string(), words(product)))
                .collect(),
            input,
            unit: entry::large(who.site.units).symbol(),
            errors,
        }
    }
}

struct Checked {
    lot: NewLot,
    amount: Millilitres,
}

impl Input {
    fn check(
        &self,
        products: &[Product],
        units: Units,
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
        let amount = errors.take("amount", entry::volume(&self.amount, units, 1..=MOST));
        let received_on = errors.take("received_on", parse_past_day(&self.received_on, today));
        let retest_on = errors.take("retest_on", parse_retest(&self.retest_on, received_on));
        let kept_in = errors.take("kept_in", parse_kept_in(&self.kept_in));
        let loss = errors.take("loss", parse_loss(&self.loss));
        match (product, code, amount, received_on, retest_on, kept_in, loss) {
            (
                Some(product),
                Some(code),
                Some(amount),
                Some(received_on),
                Some(retest_on),
                Some(kept_in),
                Some(loss),
            ) => Ok(Checked {
                lot: NewLot {
                    product_id: product.id,
                    code,
                    received_on,
                    opened_on: None,
                    retest_on,
                    kept_in,
                    loss,
                },
                amount,
            }),
            _ => Err(errors),
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

/// What a lot loses in a year, typed in per cent; the usual figure where nothing is written.
pub(super) fn parse_loss(typed: &str) -> Result<YearlyLoss, String> {
    if typed.trim().is_empty() {
        return Ok(YearlyLoss::USUAL);
    }
    let share = entry::percent(typed, 0..=500)?;
    YearlyLoss::new(share.share()).map_err(|error| error.to_string())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    product: String,
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let products = store::products(&mut conn).await?;
    let input = Input {
        product: asked.product,
        received_on: who.site.today(app.clock.now()).to_string(),
        loss: "2".to_owned(),
        ..Input::default()
    };
    Ok(Page(ReceiveForm::new(
        &who,
        &products,
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
    let refused = |errors| {
        let page = ReceiveForm::new(&who, &products, form.input.clone(), errors);
        Ok(Refused(page).into_response())
    };
    let Checked { lot: new, amount } = match form.input.check(&products, units, who.site.today(now))
    {
        Ok(checked) => checked,
        Err(errors) => return refused(errors),
    };
    let id = match store::insert_lot(&mut tx, &new, now).await {
        Ok(id) => id,
        Err(error)
            if error
                .downcast_ref()
                .is_some_and(|error| db::taken(error, "lot.code")) =>
        {
            let mut errors = FormErrors::default();
            errors.add(
                "code",
                format!("Lot {} of this product was received before. Is it another delivery of the same lot? Then add a letter to its code.", new.code),
            );
            return refused(errors);
        }
        Err(error) => return Err(error.into()),
    };
    let change = MillilitreChange::new(amount.get()).map_err(anyhow::Error::from)?;
    store::received(&mut tx, id, change, who.id, now).await?;
    let entry =
        Entry::about("lot", id.get(), format!("lot {}", new.code), "received").with(json!({
            "amount": show::volume(amount.volume(), units),
            "received on": new.received_on,
            "retest on": new.retest_on,
            "kept in": new.kept_in,
        }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}
