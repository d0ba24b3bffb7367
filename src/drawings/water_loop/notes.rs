//! The words beside the reservoir, or under the ground where they do not fit there.

use super::WaterLoop;
use super::layout::{Layout, RESERVOIR_RIGHT, RIGHT};
use super::reservoir::falls_in;
use super::sheet::{Face, Sheet};

const LINE: f64 = 17.0;

/// One line, and the air above it.
type Line = (Face, String, f64);

pub(super) fn draw(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    // A pump beside the reservoir stands where the words would.
    let beside_x = RESERVOIR_RIGHT + if system.pump.submersible { 14.0 } else { 56.0 };
    let beside = fittings(system, RIGHT + 6.0 - beside_x);
    let returned = layout.columns.iter().any(|c| !falls_in(c));
    let top = 8.0
        + if returned {
            layout.collector
        } else {
            layout.manifold
        };
    let remarks = remarks(system, layout);
    let foot = layout.ground - 4.0;
    let below = if top + tall(&beside) < foot {
        let top = top.max((layout.brim - 24.0).min(foot - tall(&beside)));
        set(sheet, beside_x, top, beside);
        remarks
    } else {
        [fittings(system, RIGHT - 20.0), remarks].concat()
    };
    if !below.is_empty() {
        let top = layout.ground + 14.0;
        sheet.height = top + tall(&below) + 6.0;
        set(sheet, 20.0, top, below);
    }
}

fn tall(lines: &[Line]) -> f64 {
    lines.iter().map(|(_, _, air)| LINE + air).sum()
}

fn set(sheet: &mut Sheet, x: f64, top: f64, lines: Vec<Line>) {
    let mut y = top;
    for (face, says, air) in lines {
        y += LINE + air;
        sheet.text(face, x, y, says);
    }
}

fn say(lines: &mut Vec<Line>, face: Face, says: &str, room: f64, air: f64) {
    for (i, line) in face.wrap(says, room).into_iter().enumerate() {
        lines.push((face, line, if i == 0 { air } else { 0.0 }));
    }
}

fn fittings(system: &WaterLoop, room: f64) -> Vec<Line> {
    let mut lines = Vec::new();
    say(&mut lines, Face::Name, "Reservoir", room, 0.0);
    say(&mut lines, Face::Plain, &system.reservoir.says, room, 0.0);
    say(&mut lines, Face::Name, "Pump", room, 6.0);
    say(&mut lines, Face::Plain, &system.pump.says, room, 0.0);
    if !system.tubing.is_empty() {
        say(&mut lines, Face::Name, "Tubing", room, 6.0);
    }
    for run in &system.tubing {
        say(&mut lines, Face::Plain, run, room, 0.0);
    }
    lines
}

/// What is to be taken off again, what found no room over its bench, what is not drawn.
fn remarks(system: &WaterLoop, layout: &Layout<'_>) -> Vec<Line> {
    let (mut lines, room) = (Vec::new(), RIGHT - 20.0);
    if let Some(risers) = risers(system) {
        say(&mut lines, Face::Temporary, &risers, room, 6.0);
    }
    for column in &layout.columns {
        let (name, size) = (&column.bench.name, column.bench.size());
        if !column.has_room(Face::Name, name) || !column.has_room(Face::Plain, &size) {
            say(
                &mut lines,
                Face::Soft,
                &format!("{name}: {size}"),
                room,
                2.0,
            );
        }
    }
    match system.benches.len() - layout.columns.len() {
        0 => {}
        more => {
            let says = format!("and {more} more benches, not drawn");
            say(&mut lines, Face::Plain, &says, room, 6.0);
        }
    }
    lines
}

/// Temporary fittings are told wherever they are drawn, with the note to take them off.
fn risers(system: &WaterLoop) -> Option<String> {
    let mut lengths: Vec<u32> = system
        .benches
        .iter()
        .filter_map(|b| b.riser_mm(system.shown))
        .collect();
    let many = lengths.len() > 1;
    lengths.sort_unstable();
    lengths.dedup();
    let said: Vec<String> = lengths.iter().map(|mm| format!("{mm}\u{a0}mm")).collect();
    let kind = if many { "Risers" } else { "Riser" };
    (!said.is_empty()).then(|| {
        format!(
            "{kind}, {}, for clean-outs only: take off",
            said.join(" and ")
        )
    })
}
