//! The page of a system's water: what may still be in it, and the forms for what goes in or is rinsed
//! out.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::store::{self, NewEntry};
use super::{Entered, History, InWater, What, meeting, path};
use crate::crew::{Role, Who};
use crate::ids::{SystemId, WaterEntryId};
use crate::logbook::{self, Entry};
use crate::register;
use crate::register::systems::System;
use crate::science::agents::{AgentKind, Harm, Treatment};
use crate::site::Site;
use crate::state::App;
use crate::stock::{self, Product};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    /// 'put in', 'rinsed out' or 'taken back'.
    what: String,
    agent: String,
    product: String,
    rinses: String,
    note: String,
    /// The entry that is taken back.
    takes_back: String,
    /// Ticked when it is in already, so that it must not be refused.
    already: String,
}

/// An entry, as a line of the page.
struct Line {
    id: WaterEntryId,
    when: String,
    by: String,
    words: String,
    note: String,
    may_be_taken_back: bool,
    taken_back: bool,
}

#[derive(Template)]
#[template(path = "cleanouts/water.html")]
struct WaterPage {
    frame: Frame,
    system: System,
    still_in: Vec<InWater>,
    open: Option<String>,
    lines: Vec<Line>,
    agents: Vec<(String, String)>,
    /// What the product is called, and which of the stock there are.
    product_hint: String,
    may_enter: bool,
    /// It was refused for what it would meet.
    must_not_meet: bool,
    input: Input,
    errors: FormErrors,
}

impl Input {
    /// Whether a form's own part of the page was sent.
    fn is(&self, what: &str) -> bool {
        self.what == what
    }
}

impl WaterPage {
    fn new(
        who: &Who,
        system: System,
        (history, products): (&History, &[Product]),
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let counting: Vec<WaterEntryId> = history.counting().map(|entry| entry.id).collect();
        let line = |entry: &Entered| {
            let counts = counting.contains(&entry.id);
            Line {
                id: entry.id,
                when: who.site.moment_words(entry.at),
                by: entry.by.to_string(),
                words: words(entry),
                note: entry.note.to_string(),
                may_be_taken_back: counts,
                taken_back: !counts && entry.what != What::TakenBack,
            }
        };
        let mut agents = vec![(String::new(), "Choose".to_owned())];
        let kinds = AgentKind::ALL.iter();
        agents.extend(kinds.map(|kind| (kind.code().to_owned(), kind.words().to_owned())));
        Self {
            frame: who.frame(Section::Systems),
            still_in: history.still_in(&who.site),
            open: history.open.as_ref().map(|job| job.number.clone()),
            lines: history.entries.iter().rev().map(line).collect(),
            agents,
            product_hint: product_hint(products),
            may_enter: who.is_at_least(Role::Hand) && !system.retired,
            must_not_meet: false,
            system,
            input,
            errors,
        }
    }
}

/// What is asked for, with the products of the stock that it may be.
fn product_hint(products: &[Product]) -> String {
    let others = products
        .iter()
        .filter(|product| !product.is_peroxide() && !product.retired)
        .map(|product| format!("{} ({})", product.name, product.agent));
    let others: Vec<String> = others.collect();
    match others.is_empty() {
        true => "As its label names it.".to_owned(),
        false => format!(
            "As its label names it. In the stock: {}.",
            others.join(", ")
        ),
    }
}

fn words(entry: &Entered) -> String {
    match (entry.what, entry.agent, entry.rinses) {
        (What::PutIn, Some(kind), _) => format!("{kind} put in: {}", entry.product),
        (What::RinsedOut, _, Some(1)) => "rinsed out, one full fill".to_owned(),
        (What::RinsedOut, _, Some(rinses)) => format!("rinsed out, {rinses} full fills"),
        _ => "an entry taken back".to_owned(),
    }
}

async fn system_of(conn: &mut SqliteConnection, id: SystemId) -> Result<System, AppError> {
    register::store::systems::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("system"))
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let system = system_of(&mut conn, id).await?;
    let history = store::history(&mut conn, id).await?;
    let products = stock::store::products(&mut conn).await?;
    Ok(Page(WaterPage::new(
        &who,
        system,
        (&history, &products),
        Input::default(),
        FormErrors::default(),
    )))
}

pub async fn enter(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (input, now) = (form.input, app.clock.now());
    let mut tx = app.db.write_once(&form.once).await?;
    let system = system_of(tx.conn(), id).await?;
    if system.retired {
        return Err(AppError::Conflict("This system is retired.".to_owned()));
    }
    let history = store::history(tx.conn(), id).await?;
    let products = stock::store::products(tx.conn()).await?;
    let known = (&history, products.as_slice());
    let new = match input.check(&history) {
        Ok(new) => new,
        Err(errors) => {
            let page = WaterPage::new(&who, system, known, input, errors);
            return Ok(Refused(page).into_response());
        }
    };
    let meets = meets(&new, &history, &who.site);
    if let Some(words) = meets.as_ref().filter(|_| input.already.is_empty()) {
        let errors = FormErrors::only("agent", words.clone());
        let mut page = WaterPage::new(&who, system, known, input, errors);
        page.must_not_meet = true;
        return Ok(Refused(page).into_response());
    }
    store::insert(&mut tx, id, &new, who.id, now).await?;
    let said = match new.what {
        What::PutIn => "agent put into the water",
        What::RinsedOut => "rinsed out",
        What::TakenBack => "entry on the water taken back",
    };
    let entry = Entry::about("system", id.get(), system.figures.name.as_str(), said).with(json!({
        "agent": new.agent,
        "product": new.product,
        "rinses": new.rinses,
        "note": new.note,
        "takes back": new.takes_back.map(WaterEntryId::get),
        "met": meets,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(path(id), now).await?.into_response())
}

/// What happens when this goes in, if it must not.
fn meets(new: &NewEntry, history: &History, site: &Site) -> Option<String> {
    let comes = Treatment::Puts(new.agent?);
    let meeting = meeting(&history.still_in(site), [&comes])?;
    let then = match meeting.pair.harm {
        Harm::PoisonousGas => {
            "If they have met: everybody out, air the room, nobody goes back in, and call for help."
        }
        Harm::HeatAndPressure => {
            "If they have met: stand back, keep it open to the air, nobody near it until it is quiet and cool; call for help if it foams or heats."
        }
        Harm::Undone => "If they have met: drain it, rinse it in full, and begin again.",
    };
    Some(format!(
        "{} Do not put it in. Rinse the system out in full first, and enter the rinse. {then}",
        meeting.words()
    ))
}

impl Input {
    fn check(&self, history: &History) -> Result<NewEntry, FormErrors> {
        let mut errors = FormErrors::default();
        let what = match What::from_code(&self.what) {
            Some(what) => what,
            None => {
                errors.add("what", "Choose what happened.");
                return Err(errors);
            }
        };
        let mut new = NewEntry {
            what,
            agent: None,
            product: String::new(),
            rinses: None,
            note: Note::default(),
            takes_back: None,
        };
        match what {
            What::PutIn => {
                let agent = AgentKind::from_code(&self.agent);
                new.agent = errors.take(
                    "agent",
                    agent.ok_or("Choose what acts in it, as its label says."),
                );
                new.product = errors
                    .take("product", product(&self.product))
                    .unwrap_or_default();
                new.note = errors
                    .take("note", Note::parse(&self.note))
                    .unwrap_or_default();
            }
            What::RinsedOut => {
                let rinses = self.rinses.trim().parse::<i64>().ok();
                let rinses = rinses.filter(|count| (1..=20).contains(count));
                new.rinses = errors.take(
                    "rinses",
                    rinses.ok_or("Write how many full fills were run round and drained, 1 to 20."),
                );
                let checked = Note::parse(&self.note).and_then(|note| match note.is_empty() {
                    true => Err("Write how it was checked and what it showed.".to_owned()),
                    false => Ok(note),
                });
                new.note = errors.take("checked", checked).unwrap_or_default();
            }
            What::TakenBack => {
                let id = self.takes_back.parse::<WaterEntryId>().ok();
                let entry = history.counting().find(|entry| Some(entry.id) == id);
                new.takes_back = errors.take(
                    "takes_back",
                    entry
                        .map(|entry| entry.id)
                        .ok_or("Choose an entry that still counts."),
                );
                match Note::parse_reason(&self.note) {
                    Ok(why) => new.note = why,
                    Err(message) => errors.add(format!("why-{}", self.takes_back), message),
                }
            }
        }
        if errors.any() { Err(errors) } else { Ok(new) }
    }
}

/// The product as its label names it: one line.
fn product(typed: &str) -> Result<String, String> {
    let product = typed.trim();
    match product.chars().count() {
        0 => Err("Write the product's name from its label.".to_owned()),
        1..=80 if !product.chars().any(char::is_control) => Ok(product.to_owned()),
        _ => Err("Write it on one line of at most 80 characters.".to_owned()),
    }
}
