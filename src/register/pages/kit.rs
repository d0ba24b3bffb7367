//! The kit of the site: how many there are of each, how many are in order, and a form.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::{Options, options, retired, version};
use crate::crew::{Role, Who};
use crate::db;
use crate::hours::about::About;
use crate::hours::days_pages::{self, DaysList};
use crate::hours::{Owner, in_order_on, store as hours_store};
use crate::ids::{KitId, UnusualDaysId};
use crate::logbook::{self, Entry};
use crate::register::kit::{Kit, KitFigures, KitKind};
use crate::register::{entry, facts, store};
use crate::state::App;
use crate::text::{Name, Note};
use crate::web::{AppError, Form, FormErrors, Frame, Meanwhile, Page, Refused, Section};

struct Line {
    kit: Kit,
    /// How many are in order today.
    in_order: i64,
    out: DaysList,
}

#[derive(Template)]
#[template(path = "register/kit_list.html")]
struct KitPage {
    frame: Frame,
    lines: Vec<Line>,
    retired: Vec<Kit>,
    may_change: bool,
    may_note: bool,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let (retired, in_use): (Vec<Kit>, Vec<Kit>) = store::kit::all(&mut conn)
        .await?
        .into_iter()
        .partition(|kit| kit.retired);
    let may_correct = who.is_at_least(Role::Lead);
    let mut lines = Vec::new();
    for kit in in_use {
        let about = about(&kit);
        let out = hours_store::days_of(&mut conn, about.owner).await?;
        lines.push(Line {
            in_order: in_order_on(kit.figures.count, &out, today),
            out: DaysList::of(&out, &who, today, &about, may_correct, true),
            kit,
        });
    }
    Ok(Page(KitPage {
        frame: who.frame(Section::Systems),
        lines,
        retired,
        may_change: who.is_at_least(Role::Coordinator),
        may_note: who.is_at_least(Role::Hand),
    }))
}

fn about(kit: &Kit) -> About {
    About {
        owner: Owner::Kit(kit.id),
        section: Section::Systems,
        kind: "kit",
        id: kit.id.get(),
        subject: kit.figures.name.to_string(),
        crumbs: vec![
            ("/systems".to_owned(), "Systems".to_owned()),
            ("/kit".to_owned(), "Kit".to_owned()),
        ],
        back: "/kit".to_owned(),
        days: format!("/kit/{}/out", kit.id),
    }
}

async fn in_use(conn: &mut SqliteConnection, id: KitId) -> Result<Kit, AppError> {
    let kit = store::kit::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("kit"))?;
    if kit.retired {
        return Err(retired("kit"));
    }
    Ok(kit)
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    kind: String,
    count: String,
    note: String,
    version: String,
}

#[derive(Template)]
#[template(path = "register/kit.html")]
struct KitForm {
    frame: Frame,
    id: Option<KitId>,
    kinds: Options,
    input: Input,
    errors: FormErrors,
}

impl KitForm {
    fn new(who: &Who, id: Option<KitId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            kinds: options(KitKind::ALL, KitKind::code, KitKind::words),
            input,
            errors,
        }
    }
}

impl Input {
    fn of(kit: &Kit) -> Self {
        Self {
            name: kit.figures.name.to_string(),
            kind: kit.figures.kind.to_string(),
            count: kit.figures.count.to_string(),
            note: kit.figures.note.to_string(),
            version: kit.version.to_string(),
        }
    }

    fn check(&self) -> Result<KitFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let kind = errors.take(
            "kind",
            KitKind::from_code(&self.kind).ok_or("Choose the kind."),
        );
        let count = entry::count(&self.count, KitFigures::COUNT);
        let count = errors.take("count", entry::named("How many", count));
        let note = errors.take("note", Note::parse(&self.note));
        match (name, kind, count, note) {
            (Some(name), Some(kind), Some(count), Some(note)) => Ok(KitFigures {
                name,
                kind,
                count,
                note,
            }),
            _ => Err(errors),
        }
    }
}

fn name_taken(name: &Name) -> FormErrors {
    let mut errors = FormErrors::default();
    errors.add(
        "name",
        format!("There is or was kit called {name}. Give this another name."),
    );
    errors
}

pub async fn new(who: Who) -> Page<impl Template> {
    Page(KitForm::new(
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
    let refused =
        |errors| Ok(Refused(KitForm::new(&who, None, form.input.clone(), errors)).into_response());
    let new = match form.input.check() {
        Ok(new) => new,
        Err(errors) => return refused(errors),
    };
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let id = match store::kit::insert(&mut tx, who.site.id, &new).await {
        Ok(id) => id,
        Err(error) if db::taken(&error, "kit.name") => return refused(name_taken(&new.name)),
        Err(error) => return Err(error.into()),
    };
    let entry =
        Entry::about("kit", id.get(), new.name.as_str(), "added").with(facts::all(&new.facts()));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/kit".to_owned(), now).await?.into_response())
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(id): Path<KitId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let kit = in_use(&mut conn, id).await?;
    Ok(Page(KitForm::new(
        &who,
        Some(id),
        Input::of(&kit),
        FormErrors::default(),
    )))
}

pub async fn update(
    State(app): State<App>,
    who: Who,
    Path(id): Path<KitId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut input = form.input;
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let was = in_use(tx.conn(), id).await?;
    let new = match input.check() {
        Ok(new) => new,
        Err(errors) => {
            return Ok(Refused(KitForm::new(&who, Some(id), input, errors)).into_response());
        }
    };
    let (before, after) = (was.figures.facts(), new.facts());
    match store::kit::update(&mut tx, id, version(&input.version), &new).await {
        Ok(true) => {}
        Ok(false) => {
            let mut errors = FormErrors::default();
            errors.add("name", facts::differences(&before, &after));
            input.version = was.version.to_string();
            return Ok(Meanwhile(KitForm::new(&who, Some(id), input, errors)).into_response());
        }
        Err(error) if db::taken(&error, "kit.name") => {
            let errors = name_taken(&new.name);
            return Ok(Refused(KitForm::new(&who, Some(id), input, errors)).into_response());
        }
        Err(error) => return Err(error.into()),
    }
    let entry = Entry::about("kit", id.get(), new.name.as_str(), "changed")
        .with(facts::changes(&before, &after));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/kit".to_owned(), now).await?.into_response())
}

pub async fn out_form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<KitId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let kit = in_use(&mut conn, id).await?;
    let today = who.site.today(app.clock.now());
    Ok(days_pages::open_new(
        &who,
        about(&kit),
        Some(kit.figures.count),
        today,
    ))
}

pub async fn out_add(
    State(app): State<App>,
    who: Who,
    Path(id): Path<KitId>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&form.once).await?;
    let kit = in_use(tx.conn(), id).await?;
    let most = Some(kit.figures.count);
    days_pages::add(tx, &who, about(&kit), most, form.input, app.clock.now()).await
}

pub async fn out_change_form(
    State(app): State<App>,
    who: Who,
    Path((id, days)): Path<(KitId, UnusualDaysId)>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let kit = in_use(&mut conn, id).await?;
    days_pages::open_change(&mut conn, &who, about(&kit), Some(kit.figures.count), days).await
}

pub async fn out_change(
    State(app): State<App>,
    who: Who,
    Path((id, days)): Path<(KitId, UnusualDaysId)>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&form.once).await?;
    let kit = in_use(tx.conn(), id).await?;
    let (most, now) = (Some(kit.figures.count), app.clock.now());
    days_pages::correct(tx, &who, about(&kit), most, days, form.input, now).await
}
