//! A product, as its label names it.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::product_label::{counts, kinds, rates};
use super::{Options, bases};
use crate::crew::Who;
use crate::db;
use crate::ids::ProductId;
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::register::facts::{self, Facts};
use crate::science::agents::AgentKind;
use crate::science::quantity::{WaterTemperature, in_kilograms_per_litre};
use crate::science::stored::{Grams, Minutes};
use crate::science::strength::Strength;
use crate::science::tolerances::{LABEL_STRONG, LABEL_WEAK, Tolerance};
use crate::science::{parse, peroxide, show};
use crate::site::length_words;
use crate::state::App;
use crate::stock::Product;
use crate::stock::printed::{ChlorineAs, Printed, Rate};
use crate::stock::store::{self, NewProduct};
use crate::text::{Name, Note};
use crate::web::{AppError, Form, FormErrors, Frame, Nothing, Page, Refused, Section};

/// The longest registration or article number.
const LONGEST_REFERENCE: usize = 120;

/// The longest line of other names, as in the table.
const LONGEST_SYNONYMS: usize = 200;

/// How far the density of the papers may lie from the one that follows from the strength, as a part of
/// it. Stabilisers and rounding stay under a hundredth; 35 % w/v copied as w/w is off by 1.4 hundredths.
const FAR_OFF: f64 = 0.012;

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    pub(super) agent: String,
    pub(super) strength: String,
    pub(super) basis: String,
    pub(super) chlorine_as: String,
    pub(super) rate: String,
    pub(super) rate_of: String,
    label_reference: String,
    label_says: String,
    synonyms: String,
    density: String,
    reentry: String,
    strength_off: String,
    version: String,
}

#[derive(Template)]
#[template(path = "stock/product.html")]
struct ProductForm {
    frame: Frame,
    /// The product that is changed, and whether it is retired.
    of: Option<(ProductId, bool)>,
    input: Input,
    kinds: Options,
    bases: Options,
    counts: Options,
    rates: Options,
    errors: FormErrors,
}

impl ProductForm {
    fn usual_off(&self) -> String {
        usual_off()
    }

    fn new(who: &Who, of: Option<&Product>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Stock),
            of: of.map(|product| (product.id, product.retired)),
            input,
            kinds: kinds(),
            bases: bases(),
            counts: counts(),
            rates: rates(),
            errors,
        }
    }
}

/// What stands in where nobody knows how far a label may be off.
pub(super) fn usual_off() -> String {
    let percent = |tolerance: Tolerance| show::figures(tolerance.half_width * 100.0, 3);
    format!(
        "By the supplier's band: 34.3 to 35.7 for a label of 35 is 2\u{a0}%. Empty, the usual figure: {}\u{a0}% of it from 10\u{a0}%\u{a0}w/w on, {}\u{a0}% below.",
        percent(LABEL_STRONG),
        percent(LABEL_WEAK)
    )
}

impl Input {
    fn of(product: &Product) -> Self {
        let Printed {
            strength,
            chlorine,
            rate,
        } = product.label;
        Self {
            name: product.name.to_string(),
            agent: product.agent.code().to_owned(),
            strength: strength.map_or_else(String::new, |printed| printed.value().to_string()),
            basis: strength
                .map_or("", |printed| printed.basis().code())
                .to_owned(),
            chlorine_as: chlorine.map_or("", ChlorineAs::code).to_owned(),
            rate: rate.map_or_else(String::new, Rate::typed),
            rate_of: rate.map_or("", |rate| rate.of().code()).to_owned(),
            label_reference: product.label_reference.clone(),
            label_says: product.label_says.to_string(),
            synonyms: product.synonyms.clone(),
            density: product
                .density
                .map(|grams| show::fixed(grams.get() as f64 / 1000.0, 3))
                .unwrap_or_default(),
            reentry: product
                .reentry
                .map(|reentry| reentry.get().to_string())
                .unwrap_or_default(),
            strength_off: entry::typed_off(product.strength_off),
            version: product.version.to_string(),
        }
    }

    fn check(&self) -> Result<NewProduct, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let agent = errors.take("agent", self.agent());
        let label = agent.and_then(|agent| self.label(agent, &mut errors));
        let reference = self.label_reference.trim();
        if reference.chars().count() > LONGEST_REFERENCE || reference.chars().any(char::is_control)
        {
            errors.add(
                "label_reference",
                format!("Write it on one line of at most {LONGEST_REFERENCE} characters."),
            );
        }
        let label_says = errors.take("label_says", Note::parse(&self.label_says));
        let synonyms = self.synonyms.trim();
        if synonyms.chars().count() > LONGEST_SYNONYMS || synonyms.chars().any(char::is_control) {
            errors.add(
                "synonyms",
                format!("Write them on one line of at most {LONGEST_SYNONYMS} characters."),
            );
        }
        let density = entry::optional(&self.density, |typed| {
            parse_density(typed, peroxide_label(agent, label))
        });
        let density = errors.take("density", density);
        let off = errors.take("strength_off", entry::own_off(&self.strength_off, 1..=500));
        let reentry = errors.take("reentry", entry::optional(&self.reentry, parse_reentry));
        let known = name.zip(agent);
        let papers = density.zip(reentry);
        match (known, label, label_says, papers, off) {
            (
                Some((name, agent)),
                Some(label),
                Some(label_says),
                Some((density, reentry)),
                Some(strength_off),
            ) if !errors.any() => Ok(NewProduct {
                synonyms: synonyms.to_owned(),
                density,
                strength_off,
                reentry,
                name,
                agent,
                label,
                label_reference: reference.to_owned(),
                label_says,
            }),
            _ => Err(errors),
        }
    }
}

/// The strength of peroxide, which its density follows from.
fn peroxide_label(agent: Option<AgentKind>, label: Option<Printed>) -> Option<Strength> {
    let peroxide = agent == Some(AgentKind::HydrogenPeroxide);
    label.filter(|_| peroxide)?.strength
}

/// What a litre weighs by the papers, in kg/L. Far from what follows from the strength, one of the two
/// was copied wrong.
fn parse_density(typed: &str, label: Option<Strength>) -> Result<Grams, String> {
    let figure = parse::decimal(typed).map_err(|error| format!("{error}."))?;
    let grams = Grams::nearest(crate::science::quantity::grams(figure * 1000.0))
        .ok()
        .filter(|grams| (500..=2500).contains(&grams.get()))
        .ok_or("Write what a litre weighs in kilograms, as in 1.131.")?;
    let twenty = WaterTemperature::TWENTY;
    let reckoned = label.and_then(|label| {
        let fraction = label.mass_fraction(twenty).ok()?;
        let density = peroxide::density(fraction, twenty).ok()?;
        Some(in_kilograms_per_litre(density))
    });
    match reckoned {
        Some(reckoned) if (figure / reckoned - 1.0).abs() > FAR_OFF => Err(format!(
            "Peroxide as strong as the label says weighs {}\u{a0}kg/L. Look at both figures again: one of them was copied wrong, or the strength has another basis.",
            show::fixed(reckoned, 3)
        )),
        _ => Ok(grams),
    }
}

/// The longest time that is taken for a re-entry time: a week.
const LONGEST_REENTRY_MIN: i64 = 7 * 24 * 60;

fn parse_reentry(typed: &str) -> Result<Minutes, String> {
    let minutes = entry::count(typed, 1..=LONGEST_REENTRY_MIN).map_err(|_| {
        format!("Write whole minutes from 1 to {LONGEST_REENTRY_MIN}, as in 240 for four hours.")
    })?;
    Minutes::new(minutes).map_err(|error| format!("{error}."))
}

fn facts_of(product: &NewProduct) -> Facts {
    vec![
        ("name", product.name.to_string()),
        ("agent", product.agent.to_string()),
        ("label strength", product.label.words()),
        ("strength off by", entry::off_fact(product.strength_off)),
        ("label reference", product.label_reference.clone()),
        ("the label says", product.label_says.to_string()),
        ("also called", product.synonyms.clone()),
        (
            "density",
            product
                .density
                .map(|grams| format!("{}\u{a0}g/L", grams.get()))
                .unwrap_or_default(),
        ),
        (
            "re-entry time",
            product
                .reentry
                .map(|reentry| length_words(reentry.get()))
                .unwrap_or_default(),
        ),
    ]
}

fn as_entered(product: &Product) -> NewProduct {
    NewProduct {
        name: product.name.clone(),
        agent: product.agent,
        label: product.label,
        label_reference: product.label_reference.clone(),
        label_says: product.label_says.clone(),
        synonyms: product.synonyms.clone(),
        density: product.density,
        reentry: product.reentry,
        strength_off: product.strength_off,
    }
}

fn name_taken(name: &Name) -> FormErrors {
    FormErrors::only(
        "name",
        format!(
            "There is or was a product called {name}. Give this one another name, such as one with its strength."
        ),
    )
}

pub async fn new(who: Who) -> Page<impl Template> {
    Page(ProductForm::new(
        &who,
        None,
        Input::default(),
        FormErrors::default(),
    ))
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let refused = |errors| {
        Ok(Refused(ProductForm::new(&who, None, form.input.clone(), errors)).into_response())
    };
    let new = match form.input.check() {
        Ok(new) => new,
        Err(errors) => return refused(errors),
    };
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let id = match store::insert_product(&mut tx, &new).await {
        Ok(id) => id,
        Err(error) if db::taken(&error, "product.name") => return refused(name_taken(&new.name)),
        Err(error) => return Err(error.into()),
    };
    let entry = Entry::about("product", id.get(), new.name.as_str(), "added")
        .with(facts::all(&facts_of(&new)));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = format!("/stock/products/{id}");
    Ok(tx.finish(onward, now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let product = store::product(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    let input = Input::of(&product);
    Ok(Page(ProductForm::new(
        &who,
        Some(&product),
        input,
        FormErrors::default(),
    )))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let was = store::product(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    let refused = |input, errors| {
        Ok(Refused(ProductForm::new(&who, Some(&was), input, errors)).into_response())
    };
    let new = match input.check() {
        Ok(new) => new,
        Err(errors) => return refused(input, errors),
    };
    if was.agent != new.agent && !store::codes(tx.conn(), id).await?.is_empty() {
        let errors = FormErrors::only(
            "agent",
            format!(
                "Lots of it are on record as {}. Add another product for {}.",
                was.agent, new.agent
            ),
        );
        return refused(input, errors);
    }
    let (before, after) = (facts_of(&as_entered(&was)), facts_of(&new));
    let version = input.version.parse().unwrap_or(0);
    match store::change_product(&mut tx, id, version, &new).await {
        Ok(true) => {}
        Ok(false) => {
            let errors = FormErrors::only("name", facts::differences(&before, &after));
            input.version = was.version.to_string();
            return refused(input, errors);
        }
        Err(error) if db::taken(&error, "product.name") => {
            return refused(input, name_taken(&new.name));
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about("product", id.get(), new.name.as_str(), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = format!("/stock/products/{id}");
    Ok(tx.finish(onward, now).await?.into_response())
}

/// No more of it is received. What is on hand can be used up.
pub async fn retire(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
    form: Form<Nothing>,
) -> Result<Response, AppError> {
    set_retired(&app, &who, id, form, true).await
}

pub async fn take_back(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
    form: Form<Nothing>,
) -> Result<Response, AppError> {
    set_retired(&app, &who, id, form, false).await
}

async fn set_retired(
    app: &App,
    who: &Who,
    id: ProductId,
    form: Form<Nothing>,
    retired: bool,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let product = store::product(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    if product.retired != retired {
        store::retire_product(&mut tx, id, retired.then_some(now)).await?;
        let what = if retired {
            "retired"
        } else {
            "taken back into use"
        };
        let entry = Entry::about("product", id.get(), product.name.as_str(), what);
        logbook::write(&mut tx, &who.author(), entry, now).await?;
    }
    Ok(tx.finish("/stock".to_owned(), now).await?.into_response())
}
