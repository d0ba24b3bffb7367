//! Which kit a method needs: read by everybody, written by a coordinator.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Map, Value};
use sqlx::SqliteConnection;

use super::kit_needs::{KitNeed, NewKitNeed};
use super::{MethodSummary, Phase, kit_store, store};
use crate::crew::{Role, Who};
use crate::ids::MethodId;
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::register::kit::Kit;
use crate::register::store::kit as kit_register;
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Meanwhile, Page, Refused, Section};

/// A line of the form: one kind of kit.
struct Line {
    no: usize,
    kit: Kit,
    count: String,
    from: String,
    to: String,
}

/// The lines as typed, one for each kind of kit in the order of the register.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    kit: Vec<String>,
    count: Vec<String>,
    from: Vec<String>,
    to: Vec<String>,
    /// What stood when the form was opened.
    stood: String,
}

/// What a method usually holds its kit for.
const USUAL: (Phase, Phase) = (Phase::Dose, Phase::Rinse);

impl Input {
    fn of(kit: &[Kit], needs: &[KitNeed]) -> Self {
        let mut input = Self {
            stood: stood(needs),
            ..Self::default()
        };
        for kit in kit {
            let need = needs
                .iter()
                .map(|need| need.need)
                .find(|need| need.kit_id == kit.id);
            let (from, to) = need.map_or(USUAL, |need| (need.from(), need.to()));
            input.kit.push(kit.id.to_string());
            input
                .count
                .push(need.map_or(0, |need| need.count).to_string());
            input.from.push(from.to_string());
            input.to.push(to.to_string());
        }
        input
    }

    /// The needs that were typed, for kit that is still in use.
    fn check(&self, kit: &[Kit]) -> Result<Vec<(NewKitNeed, String)>, FormErrors> {
        let mut errors = FormErrors::default();
        let mut needs = Vec::new();
        let at = |fields: &[String], no: usize| fields.get(no).cloned().unwrap_or_default();
        for (no, id) in self.kit.iter().enumerate() {
            let Some(kit) = kit.iter().find(|kit| kit.id.to_string() == *id) else {
                continue;
            };
            let name = kit.figures.name.as_str();
            let count = entry::count(&at(&self.count, no), NewKitNeed::COUNT).and_then(|count| {
                if count > kit.figures.count {
                    Err(format!("There are only {} of it.", kit.figures.count))
                } else {
                    Ok(count)
                }
            });
            let count = errors.take(format!("count-{no}"), entry::named(name, count));
            let phase = |fields| Phase::from_code(&at(fields, no)).ok_or("Choose a phase.");
            let from = errors.take(format!("from-{no}"), phase(&self.from));
            let to = errors.take(format!("to-{no}"), phase(&self.to));
            if let (Some(count), Some(from), Some(to)) = (count, from, to) {
                let need = entry::named(name, NewKitNeed::new(kit.id, count, from, to));
                needs.extend(
                    errors
                        .take(format!("to-{no}"), need)
                        .map(|need| (need, name.to_owned())),
                );
            }
        }
        if errors.any() { Err(errors) } else { Ok(needs) }
    }
}

/// The needs as one word, to see whether somebody changed them meanwhile.
fn stood(needs: &[KitNeed]) -> String {
    let words: Vec<String> = needs
        .iter()
        .map(|need| format!("{}:{}", need.need.kit_id, need.need.words()))
        .collect();
    words.join(";")
}

#[derive(Template)]
#[template(path = "methods/kit.html")]
struct KitNeedsPage {
    frame: Frame,
    method: MethodSummary,
    needs: Vec<KitNeed>,
    lines: Vec<Line>,
    phases: Vec<(String, String)>,
    stood: String,
    may_write: bool,
    meanwhile: bool,
    errors: FormErrors,
}

impl KitNeedsPage {
    fn new(
        who: &Who,
        method: MethodSummary,
        kit: &[Kit],
        needs: Vec<KitNeed>,
        input: Input,
    ) -> Self {
        let at = |fields: &[String], no: usize| fields.get(no).cloned().unwrap_or_default();
        let lines = input.kit.iter().enumerate().filter_map(|(no, id)| {
            let kit = kit.iter().find(|kit| kit.id.to_string() == *id)?;
            Some(Line {
                no,
                kit: kit.clone(),
                count: at(&input.count, no),
                from: at(&input.from, no),
                to: at(&input.to, no),
            })
        });
        Self {
            frame: who.frame(Section::Methods),
            lines: lines.collect(),
            phases: Phase::ALL
                .iter()
                .map(|phase| (phase.code().to_owned(), phase.title().to_owned()))
                .collect(),
            stood: input.stood,
            may_write: who.is_at_least(Role::Coordinator) && !method.retired,
            meanwhile: false,
            errors: FormErrors::default(),
            method,
            needs,
        }
    }

    fn complaint(&self, field: &str, no: &usize) -> &str {
        self.errors.on(&format!("{field}-{no}"))
    }
}

async fn found(
    conn: &mut SqliteConnection,
    id: MethodId,
) -> Result<(MethodSummary, Vec<Kit>, Vec<KitNeed>), AppError> {
    let method = store::all(conn)
        .await?
        .into_iter()
        .find(|method| method.id == id);
    let method = method.ok_or(AppError::NotFound("method"))?;
    let mut kit = kit_register::all(conn).await?;
    kit.retain(|kit| !kit.retired);
    Ok((method, kit, kit_store::needs_of(conn, id).await?))
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let (method, kit, needs) = found(&mut conn, id).await?;
    let input = Input::of(&kit, &needs);
    Ok(Page(KitNeedsPage::new(&who, method, &kit, needs, input)))
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let (method, kit, needs) = found(tx.conn(), id).await?;
    let mut input = form.input;
    if method.retired {
        return Err(AppError::Conflict(format!(
            "{} is out of use.",
            method.code
        )));
    }
    let checked = match input.check(&kit) {
        Ok(checked) => checked,
        Err(errors) => {
            let page = KitNeedsPage::new(&who, method, &kit, needs, input);
            return Ok(Refused(KitNeedsPage { errors, ..page }).into_response());
        }
    };
    if input.stood != stood(&needs) {
        input.stood = stood(&needs);
        let page = KitNeedsPage::new(&who, method, &kit, needs, input);
        return Ok(Meanwhile(KitNeedsPage {
            meanwhile: true,
            ..page
        })
        .into_response());
    }
    let mut detail = Map::new();
    for (new, name) in checked {
        let old = needs
            .iter()
            .map(|need| need.need)
            .find(|need| need.kit_id == new.kit_id);
        if old == Some(new) || (old.is_none() && new.count == 0) {
            continue;
        }
        kit_store::insert_need(&mut tx, id, &new, who.id, now).await?;
        let before = old.map_or("none".to_owned(), NewKitNeed::words);
        detail.insert(name, Value::from(format!("{}, was {before}", new.words())));
    }
    if !detail.is_empty() {
        let entry = Entry::about(
            "method",
            id.get(),
            method.code.as_str(),
            "kit needs written",
        )
        .with(Value::Object(detail));
        logbook::write(&mut tx, &who.author(), entry, now).await?;
    }
    Ok(tx
        .finish(format!("/methods/{id}/kit"), now)
        .await?
        .into_response())
}
