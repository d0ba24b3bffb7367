//! The stores of the site: what stands in each, and a form for each.

use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::{MOST, Options, volume};
use crate::crew::{Role, Who};
use crate::db::WriteTx;
use crate::ids::{RoomId, SiteId, StoreId};
use crate::logbook::{self, Entry};
use crate::register::facts::Facts;
use crate::register::pages::named::{NamedForm, NamedInput};
use crate::register::{self, entry};
use crate::science::agents::AgentKind;
use crate::science::stored::TenthsCelsius;
use crate::science::units::Units;
use crate::science::{parse, show};
use crate::state::App;
use crate::stock::store;
use crate::stock::stores::{MayHold, Store, StoreFigures, StoreKind, temperature};
use crate::text::{Name, Note};
use crate::web::{AppError, Form, FormErrors, Frame, Nothing, Page, Section};

/// A lot as it stands in a store.
struct Inside {
    path: String,
    words: String,
    on_hand: String,
}

struct Line {
    store: Store,
    may_hold: String,
    most: String,
    usual: String,
    inside: Vec<Inside>,
}

#[derive(Template)]
#[template(path = "stock/stores.html")]
struct StoresPage {
    frame: Frame,
    lines: Vec<Line>,
    /// Lots that stand in no store that is entered.
    nowhere: Vec<Inside>,
    retired: Vec<Store>,
    may_change: bool,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let units = who.site.units;
    let mut conn = app.db.read().await?;
    let lots = store::with_balance(&mut conn).await?;
    let (retired, in_use): (Vec<_>, Vec<_>) = store::stores(&mut conn)
        .await?
        .into_iter()
        .partition(|store| store.retired);
    drop(conn);
    let inside = |id: Option<StoreId>| {
        let there = lots
            .iter()
            .filter(|lot| lot.on_hand.get() > 0 && lot.store.as_ref().map(|store| store.id) == id);
        let lines = there.map(|lot| Inside {
            path: lot.path(),
            words: lot.words(),
            on_hand: volume(lot, units),
        });
        lines.collect()
    };
    Ok(Page(StoresPage {
        frame: who.frame(Section::Stock),
        lines: in_use
            .into_iter()
            .map(|store| Line {
                may_hold: store.figures.may_hold.words(),
                most: store
                    .figures
                    .most
                    .map(|most| show::volume(most.volume(), units))
                    .unwrap_or_default(),
                usual: temperature(store.figures.usual, units),
                inside: inside(Some(store.id)),
                store,
            })
            .collect(),
        nowhere: inside(None),
        retired,
        may_change: who.is_at_least(Role::Coordinator),
    }))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    kind: String,
    room: String,
    may_hold: Vec<String>,
    most: String,
    usual: String,
    note: String,
    version: String,
}

#[derive(Debug, Template)]
#[template(path = "stock/store.html")]
pub struct StoreForm {
    frame: Frame,
    id: Option<StoreId>,
    kinds: Options,
    rooms: Options,
    units: Units,
    input: Input,
    errors: FormErrors,
}

impl StoreForm {
    fn litres(&self) -> &'static str {
        entry::large(self.units).symbol()
    }

    fn degrees(&self) -> &'static str {
        show::temperature_unit(self.units).symbol()
    }

    /// The kinds of agents, and whether each is ticked.
    fn agents(&self) -> Vec<(&'static str, &'static str, bool)> {
        let ticked = |kind: &AgentKind| self.input.may_hold.iter().any(|code| code == kind.code());
        let all = AgentKind::ALL.into_iter();
        all.map(|kind| (kind.code(), kind.words(), ticked(&kind)))
            .collect()
    }
}

impl NamedForm for StoreForm {
    const KIND: &'static str = "store";
    const NAMES: &'static str = "store.name";
    const MEANWHILE: StatusCode = StatusCode::CONFLICT;

    type Id = StoreId;
    type Row = Store;
    type Figures = StoreFigures;
    type Input = Input;

    fn new(who: &Who, id: Option<StoreId>, input: Input, errors: FormErrors) -> Self {
        let kinds = StoreKind::ALL.iter();
        Self {
            frame: who.frame(Section::Stock),
            id,
            kinds: kinds
                .map(|kind| (kind.code().to_owned(), kind.words().to_owned()))
                .collect(),
            rooms: Vec::new(),
            units: who.site.units,
            input,
            errors,
        }
    }

    fn name_taken(name: &Name) -> String {
        format!("There is or was a store called {name}. Give this one another name.")
    }

    fn onward(_id: StoreId) -> String {
        "/stock/stores".to_owned()
    }

    fn name(figures: &StoreFigures) -> &Name {
        &figures.name
    }

    fn facts(figures: &StoreFigures, units: Units) -> Facts {
        figures.facts(units)
    }

    fn recorded(store: &Store) -> (&StoreFigures, i64) {
        (&store.figures, store.version)
    }

    async fn offer(&mut self, conn: &mut SqliteConnection) -> Result<(), AppError> {
        let rooms = register::store::rooms::all(conn).await?;
        let none = (String::new(), "out of doors, or not said".to_owned());
        let in_use = rooms.iter().filter(|room| !room.retired);
        let words = in_use.map(|room| (room.id.to_string(), room.figures.name.to_string()));
        self.rooms = std::iter::once(none).chain(words).collect();
        Ok(())
    }

    async fn faults(
        conn: &mut SqliteConnection,
        new: &StoreFigures,
    ) -> Result<FormErrors, AppError> {
        let Some(room) = new.room else {
            return Ok(FormErrors::default());
        };
        let found = register::store::rooms::by_id(conn, room).await?;
        Ok(match found.filter(|room| !room.retired) {
            Some(_) => FormErrors::default(),
            None => FormErrors::only("room", "Choose a room that is in use."),
        })
    }

    async fn in_use(conn: &mut SqliteConnection, id: StoreId) -> Result<Store, AppError> {
        in_use(conn, id).await
    }

    async fn insert(tx: &mut WriteTx, site: SiteId, new: &StoreFigures) -> sqlx::Result<StoreId> {
        store::insert_store(tx, site, new).await
    }

    async fn update(
        tx: &mut WriteTx,
        id: StoreId,
        version: i64,
        new: &StoreFigures,
    ) -> sqlx::Result<bool> {
        store::update_store(tx, id, version, new).await
    }
}

impl NamedInput<StoreForm> for Input {
    fn of(store: &Store, units: Units) -> Self {
        let figures = &store.figures;
        let kinds = figures.may_hold.kinds();
        Self {
            name: figures.name.to_string(),
            kind: figures.kind.to_string(),
            room: figures
                .room
                .map(|room| room.to_string())
                .unwrap_or_default(),
            may_hold: kinds.iter().map(|kind| kind.code().to_owned()).collect(),
            most: figures
                .most
                .map(|most| entry::typed_volume(most.volume(), units))
                .unwrap_or_default(),
            usual: temperature(figures.usual, units),
            note: figures.note.to_string(),
            version: store.version.to_string(),
        }
    }

    fn check(&self, units: Units) -> Result<StoreFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let kind = StoreKind::from_code(&self.kind).ok_or("Choose what it is.");
        let kind = errors.take("kind", kind);
        let room = entry::optional(&self.room, |typed| {
            let id: Result<RoomId, _> = typed.parse();
            id.map_err(|_| "Choose the room again.".to_owned())
        });
        let room = errors.take("room", room);
        let kinds: Option<Vec<AgentKind>> = self
            .may_hold
            .iter()
            .map(|code| AgentKind::from_code(code))
            .collect();
        let kinds = errors.take("may_hold", kinds.ok_or("Tick what it may hold again."));
        let most = entry::optional(&self.most, |typed| entry::volume(typed, units, 1..=MOST));
        let most = errors.take("most", entry::named("The most in it", most));
        let usual = entry::optional(&self.usual, |typed| parse_usual(typed, units));
        let usual = errors.take("usual", usual);
        let note = errors.take("note", Note::parse(&self.note));
        match (name, kind, room, kinds, most, usual, note) {
            (
                Some(name),
                Some(kind),
                Some(room),
                Some(kinds),
                Some(most),
                Some(usual),
                Some(note),
            ) => Ok(StoreFigures {
                name,
                kind,
                room,
                may_hold: MayHold::of(&kinds),
                most,
                usual,
                note,
            }),
            _ => Err(errors),
        }
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }
}

/// The temperature of a store, from -20 to 50 °C, as in the table.
fn parse_usual(typed: &str, units: Units) -> Result<TenthsCelsius, String> {
    let read = parse::temperature(typed, Some(show::temperature_unit(units)))
        .map_err(|error| format!("{error}."))?;
    TenthsCelsius::nearest(read)
        .ok()
        .filter(|tenths| (-200..=500).contains(&tenths.get()))
        .ok_or_else(|| {
            let words = |tenths| temperature(TenthsCelsius::new(tenths).ok(), units);
            format!(
                "This reads as {}. A store lies between {} and {}.",
                show::temperature(read, units),
                words(-200),
                words(500)
            )
        })
}

/// A store that something can still be put into.
pub(super) async fn in_use(conn: &mut SqliteConnection, id: StoreId) -> Result<Store, AppError> {
    let found = store::store(conn, id)
        .await?
        .ok_or(AppError::NotFound("store"))?;
    if found.retired {
        return Err(AppError::Conflict(
            "This store is retired: it stays readable, and nothing about it is changed any more."
                .to_owned(),
        ));
    }
    Ok(found)
}

/// The stores to choose from, and that none is said.
pub(super) fn offered(stores: &[Store]) -> Options {
    let none = (String::new(), "none that is entered".to_owned());
    let in_use = stores.iter().filter(|store| !store.retired);
    let words = in_use.map(|store| {
        let room = store.room_name.as_ref();
        let room = room.map_or_else(String::new, |room| format!(", {room}"));
        (
            store.id.to_string(),
            format!("{}{room}", store.figures.name),
        )
    });
    std::iter::once(none).chain(words).collect()
}

/// The store that was chosen, where it may hold this agent.
pub(super) fn chosen(
    stores: &[Store],
    typed: &str,
    agent: Option<AgentKind>,
) -> Result<Option<StoreId>, String> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let id = typed.parse().ok();
    let store = stores
        .iter()
        .find(|store| Some(store.id) == id && !store.retired)
        .ok_or("Choose a store that is in use.")?;
    let figures = &store.figures;
    match agent {
        Some(agent) if !figures.may_hold.allows(agent) => Err(format!(
            "{} is meant for {}, not for {agent}. Choose another store, or have a coordinator change what this one may hold.",
            figures.name,
            figures.may_hold.words()
        )),
        _ => Ok(Some(store.id)),
    }
}

/// Takes an empty store out of use.
pub async fn retire(
    State(app): State<App>,
    who: Who,
    Path(id): Path<StoreId>,
    form: Form<Nothing>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let found = in_use(tx.conn(), id).await?;
    let lots = store::with_balance(tx.conn()).await?;
    let stands = lots
        .iter()
        .any(|lot| lot.on_hand.get() > 0 && lot.store.as_ref().is_some_and(|store| store.id == id));
    if stands {
        return Err(AppError::Conflict(format!(
            "Stock stands in {}. Move it to another store first.",
            found.figures.name
        )));
    }
    store::retire_store(&mut tx, id, now).await?;
    let entry = Entry::about("store", id.get(), found.figures.name.as_str(), "retired");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/stock/stores".to_owned(), now)
        .await?
        .into_response())
}
