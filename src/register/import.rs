//! New systems from a table. All of it is taken, or nothing.
//!
//! One row is one thing; the column `what` says which. Its other columns are named with their
//! unit, and each kind of thing uses some of them:
//!
//! | what | columns, those in brackets may stay empty |
//! |---|---|
//! | room | name, (air_m3), (air_changes_per_day) |
//! | system | name, room, (note) |
//! | reservoir | system, capacity_l, (length_mm), (width_mm), (height_mm), heel_l, (heel_known), pump_need_l |
//! | bench | system, name, length_mm, width_mm, floor_fall_mm, wall_mm, overflow_mm, media, (media_depth_mm), (media_lie), (drainable_percent), (retained_percent), (riser_mm), (floor_height_mm), (recess_l), (solids_l), (overflow_bore_mm), (overflow_count), (overflow_keeps_percent), (drain_bore_mm) |
//! | pump | system, name, kind, (max_flow_l_per_h), (max_head_mm), (point_flow_l_per_h), (point_head_mm), (lift_mm), (last_teardown_on) |
//! | tubing | system, name, purpose, bore_mm, length_mm, (rise_mm), (fittings_k), (tube_wall) |
//! | jug | name, capacity_l, mark_ml |
//!
//! A room that has no row of its own is added by its name. Parts belong to systems of the same
//! table: a system that is in the register already is changed on its own page. Each row goes
//! through the form of its kind, so a table takes nothing that the pages would refuse.

mod columns;

use std::collections::HashMap;

use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use self::columns::{BENCH, Fills, JUG, PUMP, RESERVOIR, ROOM, TUBING};
use super::benches::BenchFigures;
use super::facts::{self, Facts};
use super::jugs::JugFigures;
use super::pages::named::NamedInput;
use super::pages::parts::PartInput;
use super::pages::{benches, jugs, pumps, reservoirs, rooms, tubing};
use super::pumps::PumpFigures;
use super::reservoirs::ReservoirFigures;
use super::rooms::RoomFigures;
use super::store;
use super::systems::SystemFigures;
use super::tubing::TubingFigures;
use crate::clock::Moment;
use crate::db::{self, WriteTx};
use crate::ids::{RoomId, SystemId};
use crate::logbook::{self, Author, Entry};
use crate::science::parse;
use crate::science::units::Units;
use crate::site::Site;
use crate::table::{self, Columns, Fault, Row};
use crate::text::{Name, Note};
use crate::web::FormErrors;

pub const COLUMNS: Columns = Columns {
    needed: &["what"],
    others: &[
        "system",
        "name",
        "room",
        "note",
        "air_m3",
        "air_changes_per_day",
        "capacity_l",
        "length_mm",
        "width_mm",
        "height_mm",
        "heel_l",
        "heel_known",
        "pump_need_l",
        "floor_fall_mm",
        "wall_mm",
        "overflow_mm",
        "media",
        "media_depth_mm",
        "media_lie",
        "drainable_percent",
        "retained_percent",
        "riser_mm",
        "floor_height_mm",
        "recess_l",
        "solids_l",
        "kind",
        "max_flow_l_per_h",
        "max_head_mm",
        "last_teardown_on",
        "purpose",
        "bore_mm",
        "rise_mm",
        "mark_ml",
        "overflow_bore_mm",
        "overflow_count",
        "overflow_keeps_percent",
        "drain_bore_mm",
        "point_flow_l_per_h",
        "point_head_mm",
        "lift_mm",
        "fittings_k",
        "tube_wall",
    ],
};

crate::words! {
    /// What a row describes.
    pub enum What {
        Room = "room",
        System = "system",
        Reservoir = "reservoir",
        Bench = "bench",
        Pump = "pump",
        Tubing = "tubing",
        Jug = "jug",
    }
}

/// A row as it was read.
enum Thing {
    Room(RoomFigures),
    System { name: Name, room: Name, note: Note },
    Reservoir(ReservoirFigures),
    Bench(BenchFigures),
    Pump(PumpFigures),
    Tubing(TubingFigures),
    Jug(JugFigures),
}

/// What an import did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Done {
    pub systems: usize,
    pub rows: usize,
}

impl std::fmt::Display for Done {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} systems from {} rows", self.systems, self.rows)
    }
}

/// Takes every row inside this transaction, or tells every fault; then the caller must not commit.
pub async fn take(
    tx: &mut WriteTx,
    author: &Author,
    site: &Site,
    text: &str,
    now: Moment,
) -> anyhow::Result<Result<Done, Vec<Fault>>> {
    let (rows, mut faults) = table::read(text, &COLUMNS);
    let mut things = Vec::new();
    for row in &rows {
        match read(row) {
            Ok(thing) => things.push((row, thing)),
            Err(found) => faults.extend(found),
        }
    }
    let mut taking = Taking {
        tx,
        author,
        site,
        now,
        rooms: HashMap::new(),
        systems: HashMap::new(),
        faults: Vec::new(),
    };
    taking.known_rooms().await?;
    for (row, thing) in &things {
        if let Thing::Room(figures) = thing {
            taking.room(row, figures).await?;
        }
    }
    for (row, thing) in &things {
        if let Thing::System { name, room, note } = thing {
            taking.system(row, name, room, note).await?;
        }
    }
    for (row, thing) in &things {
        taking.part(row, thing).await?;
    }
    let systems = taking.systems.len();
    faults.extend(taking.faults);
    if faults.is_empty() {
        let rows = rows.len();
        return Ok(Ok(Done { systems, rows }));
    }
    faults.sort_by_key(|fault| fault.line);
    Ok(Err(faults))
}

fn read(row: &Row) -> Result<Thing, Vec<Fault>> {
    let what = What::from_code(row.cell("what")).ok_or_else(|| {
        let known: Vec<&str> = What::ALL.iter().map(|what| what.code()).collect();
        vec![row.fault("what", format!("Write one of {}.", known.join(", ")))]
    })?;
    let strays = strays(row, what);
    if !strays.is_empty() {
        return Err(strays);
    }
    let taken = match what {
        What::Room => form::<rooms::Input>(row, ROOM)?
            .check(Units::Metric)
            .map(Thing::Room),
        What::System => read_system(row),
        What::Reservoir => form::<reservoirs::Input>(row, RESERVOIR)?
            .check(Units::Metric)
            .map(Thing::Reservoir),
        What::Bench => form::<benches::Input>(row, BENCH)?
            .check(Units::Metric)
            .map(Thing::Bench),
        What::Pump => form::<pumps::Input>(row, PUMP)?
            .check(Units::Metric)
            .map(Thing::Pump),
        What::Tubing => form::<tubing::Input>(row, TUBING)?
            .check(Units::Metric)
            .map(Thing::Tubing),
        What::Jug => form::<jugs::Input>(row, JUG)?
            .check(Units::Metric)
            .map(Thing::Jug),
    };
    taken.map_err(|errors| in_columns(row, what, &errors))
}

/// Cells that say something where this kind of thing has nothing to say.
fn strays(row: &Row, what: What) -> Vec<Fault> {
    row.cells()
        .filter(|(column, cell)| *column != "what" && !cell.is_empty())
        .filter(|(column, _)| !what.fills().iter().any(|fills| fills.column == *column))
        .map(|(column, _)| {
            row.fault(
                column,
                format!("A {what} has no {column}. Empty this cell."),
            )
        })
        .collect()
}

/// The row as the form of its kind would have sent it.
fn form<T: DeserializeOwned>(row: &Row, fills: &[Fills]) -> Result<T, Vec<Fault>> {
    let mut sent = Map::new();
    let mut faults = Vec::new();
    for Fills {
        column,
        field,
        unit,
        empty,
    } in fills
    {
        let cell = row.cell(column);
        let value = match (cell, *unit) {
            ("", _) => (*empty).to_owned(),
            (cell, "") => cell.to_owned(),
            (cell, unit) => {
                if let Err(error) = parse::decimal(cell) {
                    faults.push(row.fault(*column, error.to_string()));
                }
                format!("{cell} {unit}")
            }
        };
        sent.insert((*field).to_owned(), Value::String(value));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    serde_json::from_value(Value::Object(sent))
        .map_err(|error| vec![row.fault("", error.to_string())])
}

fn read_system(row: &Row) -> Result<Thing, FormErrors> {
    let mut errors = FormErrors::default();
    let name = errors.take("name", Name::parse(row.cell("name")));
    let room = errors.take("room", Name::parse(row.cell("room")));
    let note = errors.take("note", Note::parse(row.cell("note")));
    match (name, room, note) {
        (Some(name), Some(room), Some(note)) => Ok(Thing::System { name, room, note }),
        _ => Err(errors),
    }
}

/// The complaints of a form, at the columns that filled its fields.
fn in_columns(row: &Row, what: What, errors: &FormErrors) -> Vec<Fault> {
    let column = |field: &str| {
        let fills = what.fills().iter().find(|fills| fills.field == field);
        fills.map_or("", |fills| fills.column)
    };
    let complaints = errors.all().iter();
    complaints
        .map(|(field, message)| row.fault(column(field), message.as_str()))
        .collect()
}

/// An import in progress.
struct Taking<'a> {
    tx: &'a mut WriteTx,
    author: &'a Author,
    site: &'a Site,
    now: Moment,
    rooms: HashMap<Name, RoomId>,
    /// Those of this table.
    systems: HashMap<Name, SystemId>,
    faults: Vec<Fault>,
}

impl Taking<'_> {
    async fn known_rooms(&mut self) -> sqlx::Result<()> {
        let rooms = store::rooms::all(self.tx.conn()).await?.into_iter();
        self.rooms = rooms
            .filter(|room| !room.retired)
            .map(|room| (room.figures.name, room.id))
            .collect();
        Ok(())
    }

    async fn write(
        &mut self,
        kind: &str,
        id: i64,
        subject: String,
        facts: &Facts,
    ) -> sqlx::Result<()> {
        let entry = Entry::about(kind, id, subject, "added").with(facts::all(facts));
        logbook::write(self.tx, self.author, entry, self.now).await
    }

    async fn room(&mut self, row: &Row, figures: &RoomFigures) -> anyhow::Result<()> {
        match store::rooms::insert(self.tx, self.site.id, figures).await {
            Ok(id) => {
                self.rooms.insert(figures.name.clone(), id);
                self.write("room", id.get(), figures.name.to_string(), &figures.facts())
                    .await?;
            }
            Err(error) if db::taken(&error, "room.name") => {
                let message = "A room of this name is in the register already.";
                self.faults.push(row.fault("name", message));
            }
            Err(error) => return Err(error.into()),
        }
        Ok(())
    }

    async fn system(
        &mut self,
        row: &Row,
        name: &Name,
        room: &Name,
        note: &Note,
    ) -> anyhow::Result<()> {
        let room_id = match self.rooms.get(room) {
            Some(id) => *id,
            None => {
                let figures = RoomFigures {
                    name: room.clone(),
                    air: None,
                    air_changes: None,
                    soak_air: Note::default(),
                };
                self.room(row, &figures).await?;
                match self.rooms.get(room) {
                    Some(id) => *id,
                    None => return Ok(()),
                }
            }
        };
        let figures = SystemFigures {
            room_id,
            name: name.clone(),
            note: note.clone(),
        };
        match store::systems::insert(self.tx, &figures, self.now).await {
            Ok(id) => {
                self.systems.insert(name.clone(), id);
                let facts = figures.facts(room);
                self.write("system", id.get(), name.to_string(), &facts)
                    .await?;
            }
            Err(error) if db::taken(&error, "system.name") => {
                let message =
                    "A system of this name is in the register already. Change it on its own page.";
                self.faults.push(row.fault("name", message));
            }
            Err(error) => return Err(error.into()),
        }
        Ok(())
    }

    async fn part(&mut self, row: &Row, thing: &Thing) -> anyhow::Result<()> {
        let name = row.cell("system");
        let in_system = |part: &str| match part {
            "" => name.to_owned(),
            part => format!("{name}, {part}"),
        };
        let metric = Units::Metric;
        if let Thing::Jug(figures) = thing {
            return self.jug(row, figures).await;
        }
        if matches!(thing, Thing::Room(_) | Thing::System { .. }) {
            return Ok(());
        }
        let Some(system) = self.system_of(row) else {
            return Ok(());
        };
        match thing {
            Thing::Reservoir(figures) => {
                match store::reservoirs::insert(self.tx, system, figures).await {
                    Ok(id) => {
                        let facts = figures.facts(metric);
                        self.write("reservoir", id.get(), in_system("reservoir"), &facts)
                            .await?;
                    }
                    Err(error) if db::taken(&error, "reservoir.system_id") => {
                        let message = "A system has one reservoir, and this is its second.";
                        self.faults.push(row.fault("system", message));
                    }
                    Err(error) => return Err(error.into()),
                }
            }
            Thing::Bench(figures) => {
                let id = store::benches::insert(self.tx, system, figures).await?;
                let facts = figures.facts(metric);
                self.write("bench", id.get(), in_system(figures.name.as_str()), &facts)
                    .await?;
            }
            Thing::Pump(figures) => {
                let id = store::pumps::insert(self.tx, system, figures).await?;
                let facts = figures.facts(metric);
                self.write("pump", id.get(), in_system(figures.name.as_str()), &facts)
                    .await?;
            }
            Thing::Tubing(figures) => {
                let id = store::tubing::insert(self.tx, system, figures).await?;
                let facts = figures.facts(metric);
                self.write("tubing", id.get(), in_system(figures.name.as_str()), &facts)
                    .await?;
            }
            Thing::Room(_) | Thing::System { .. } | Thing::Jug(_) => {}
        }
        Ok(())
    }

    /// The system of this table that a part belongs to.
    fn system_of(&mut self, row: &Row) -> Option<SystemId> {
        let name = row.cell("system");
        let found = Name::parse(name)
            .ok()
            .and_then(|name| self.systems.get(&name).copied());
        if found.is_none() {
            let message = match name {
                "" => "Write the system it belongs to.".to_owned(),
                name => format!("This table adds no system called '{name}'."),
            };
            self.faults.push(row.fault("system", message));
        }
        found
    }

    async fn jug(&mut self, row: &Row, figures: &JugFigures) -> anyhow::Result<()> {
        match store::jugs::insert(self.tx, self.site.id, figures).await {
            Ok(id) => {
                let facts = figures.facts(Units::Metric);
                self.write("jug", id.get(), figures.name.to_string(), &facts)
                    .await?;
            }
            Err(error) if db::taken(&error, "jug.name") => {
                let message = "A jug of this name is in the register already.";
                self.faults.push(row.fault("name", message));
            }
            Err(error) => return Err(error.into()),
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
