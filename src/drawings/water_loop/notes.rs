//! The words beside the reservoir, or under the ground where they do not fit there.

use super::layout::{Layout, RESERVOIR_RIGHT, RIGHT};
use super::sheet::{Face, Sheet};
use super::{WaterLoop, n};

const LINE: f64 = 17.0;

/// One line, and the air above it.
type Line = (Face, String, f64);

pub(super) fn draw(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    // A pump beside the reservoir stands where the words would.
    let beside_x = RESERVOIR_RIGHT + if system.pump.submersible { 14.0 } else { 56.0 };
    let beside = lines(system, layout, RIGHT + 6.0 - beside_x);
    let returned = layout
        .columns
        .iter()
        .any(|c| c.overflow > RESERVOIR_RIGHT - 8.0);
    let tubes = if returned {
        layout.collector
    } else {
        layout.manifold
    };
    let top = tubes.max(layout.brim - 24.0) + 8.0;
    let tall = |lines: &[Line]| lines.iter().map(|(_, _, air)| LINE + air).sum::<f64>();
    let (x, mut y, lines) = if top + tall(&beside) < layout.ground - 2.0 {
        (beside_x, top, beside)
    } else {
        let below = lines(system, layout, RIGHT - 20.0);
        sheet.height = layout.ground + 20.0 + tall(&below) + 6.0;
        (20.0, layout.ground + 20.0, below)
    };
    for (face, says, air) in lines {
        y += LINE + air;
        sheet.text(face, n(x), n(y), says);
    }
}

fn lines(system: &WaterLoop, layout: &Layout<'_>, room: f64) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    let mut say = |face: Face, says: &str, air: f64| {
        for (i, line) in face.wrap(says, room).into_iter().enumerate() {
            lines.push((face, line, if i == 0 { air } else { 0.0 }));
        }
    };
    say(Face::Name, "Reservoir", 0.0);
    say(Face::Plain, &system.reservoir.says, 0.0);
    say(Face::Name, "Pump", 6.0);
    say(Face::Plain, &system.pump.says, 0.0);
    if !system.tubing.is_empty() {
        say(Face::Name, "Tubing", 6.0);
    }
    system
        .tubing
        .iter()
        .for_each(|run| say(Face::Plain, run, 0.0));
    if let Some(risers) = risers(system) {
        say(Face::Temporary, &risers, 6.0);
    }
    // Sizes that found no room over their benches.
    for column in &layout.columns {
        let size = column.bench.size();
        if Face::Plain.width(&size) > column.right - column.left + 30.0 {
            say(Face::Soft, &format!("{}: {size}", column.bench.name), 2.0);
        }
    }
    let more = system.benches.len() - layout.columns.len();
    if more > 0 {
        say(
            Face::Plain,
            &format!("and {more} more benches, not drawn"),
            6.0,
        );
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
    let kind = if many { "risers" } else { "riser" };
    (!said.is_empty()).then(|| {
        format!(
            "{kind}, {}, for clean-outs only: take off",
            said.join(" and ")
        )
    })
}
