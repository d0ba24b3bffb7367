//! The kit of the site: how many there are of each, how many are in order, and a form.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::named::{NamedForm, NamedInput};
use super::{Options, options, retired};
use crate::crew::{Role, Who};
use crate::db::WriteTx;
use crate::hours::about::About;
use crate::hours::days_pages::DaysList;
use crate::hours::owned_pages::HasDays;
use crate::hours::{Owner, in_order_on, store as hours_store};
use crate::ids::{KitId, SiteId};
use crate::register::facts::Facts;
use crate::register::kit::{Kit, KitFigures, KitKind};
use crate::register::{entry, store};
use crate::science::units::Units;
use crate::state::App;
use crate::text::{Name, Note};
use crate::web::{AppError, FormErrors, Frame, Page, Section};

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

#[derive(Debug, Template)]
#[template(path = "register/kit.html")]
pub struct KitForm {
    frame: Frame,
    id: Option<KitId>,
    kinds: Options,
    input: Input,
    errors: FormErrors,
}

impl NamedForm for KitForm {
    const KIND: &'static str = "kit";
    const NAMES: &'static str = "kit.name";
    const MEANWHILE: StatusCode = StatusCode::CONFLICT;

    type Id = KitId;
    type Row = Kit;
    type Figures = KitFigures;
    type Input = Input;

    fn new(who: &Who, id: Option<KitId>, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Systems),
            id,
            kinds: options(KitKind::ALL, KitKind::code, KitKind::words),
            input,
            errors,
        }
    }

    fn name_taken(name: &Name) -> String {
        format!("There is or was kit called {name}. Give this another name.")
    }

    fn onward(_id: KitId) -> String {
        "/kit".to_owned()
    }

    fn name(figures: &KitFigures) -> &Name {
        &figures.name
    }

    fn facts(figures: &KitFigures, _units: Units) -> Facts {
        figures.facts()
    }

    fn recorded(kit: &Kit) -> (&KitFigures, i64) {
        (&kit.figures, kit.version)
    }

    async fn in_use(conn: &mut SqliteConnection, id: KitId) -> Result<Kit, AppError> {
        in_use(conn, id).await
    }

    async fn insert(tx: &mut WriteTx, site: SiteId, new: &KitFigures) -> sqlx::Result<KitId> {
        store::kit::insert(tx, site, new).await
    }

    async fn update(
        tx: &mut WriteTx,
        id: KitId,
        version: i64,
        new: &KitFigures,
    ) -> sqlx::Result<bool> {
        store::kit::update(tx, id, version, new).await
    }
}

impl NamedInput<KitForm> for Input {
    fn of(kit: &Kit, _units: Units) -> Self {
        Self {
            name: kit.figures.name.to_string(),
            kind: kit.figures.kind.to_string(),
            count: kit.figures.count.to_string(),
            note: kit.figures.note.to_string(),
            version: kit.version.to_string(),
        }
    }

    fn check(&self, _units: Units) -> Result<KitFigures, FormErrors> {
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

    fn version(&mut self) -> &mut String {
        &mut self.version
    }
}

impl HasDays for Kit {
    type Id = KitId;

    async fn with_days(
        conn: &mut SqliteConnection,
        id: KitId,
    ) -> Result<(About, Option<i64>), AppError> {
        let kit = in_use(conn, id).await?;
        Ok((about(&kit), Some(kit.figures.count)))
    }
}
