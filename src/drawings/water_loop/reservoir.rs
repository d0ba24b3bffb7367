//! The reservoir, its levels and the pump.

use super::layout::{Column, LEFT, Layout, RESERVOIR_RIGHT};
use super::sheet::{Face, Sheet};
use super::{LevelLine, WaterLoop, n};

/// How far a returning tube reaches into the reservoir.
const REACH: f64 = 14.0;

pub(super) fn draw(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    levels(system, layout, sheet);
    returns(layout, sheet);
    fill(system, layout, sheet);
    let (brim, ground) = (n(layout.brim), n(layout.ground - 1.5));
    let wall = format_args!("M{LEFT} {brim}V{ground}H{RESERVOIR_RIGHT}V{brim}");
    sheet.path("dr-wall", wall);
    pump(system, layout, sheet);
}

fn levels(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    let deep = layout.ground - layout.brim;
    let mut levels: Vec<_> = system
        .reservoir
        .levels
        .iter()
        .map(|l| (l, layout.ground - deep * l.part))
        .collect();
    if let Some((_, y)) = levels.iter().find(|(l, _)| l.line == LevelLine::Now) {
        sheet.rect("dr-water", LEFT, *y, RESERVOIR_RIGHT, layout.ground);
        for part in [0.25, 0.51] {
            let line = n(y + (layout.ground - y) * part);
            sheet.path(
                "dr-lining",
                format_args!("M{LEFT} {line}H{RESERVOIR_RIGHT}"),
            );
        }
    }
    // From the lowest up: words over their line, pushed up where two lines are close.
    levels.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut base = layout.ground - 4.0 + 15.0;
    for (level, y) in levels {
        let line = format_args!("M{LEFT} {}H{RESERVOIR_RIGHT}", n(y));
        match level.line {
            LevelLine::Now => sheet.path("dr-level", line),
            LevelLine::Drained => sheet.dashed("dr-level", "7 5", line),
            LevelLine::Heel => sheet.dashed("dr-level", "1.5 4", line),
        }
        base = (y - 5.0).min(base - 15.0);
        let under_the_returns = base - 11.0 > layout.brim + REACH;
        let x = if under_the_returns {
            LEFT + 8.0
        } else {
            LEFT + 34.0
        };
        sheet.text(Face::Water, x, base, level.says.clone());
    }
}

/// Whether an overflow stands over the reservoir.
pub(super) fn falls_in(column: &Column<'_>) -> bool {
    column.overflow < RESERVOIR_RIGHT - 8.0
}

/// The overflows: straight down into the reservoir, or by the collector where they stand beside.
fn returns(layout: &Layout<'_>, sheet: &mut Sheet) {
    let (end, collector) = (n(layout.brim + REACH), n(layout.collector));
    // The collector joins an overflow that falls in close to its end, else it has its own.
    let last = layout
        .columns
        .iter()
        .filter(|c| falls_in(c))
        .map(|c| c.overflow);
    let last = last.fold(0.0, f64::max);
    let inside = if last > RESERVOIR_RIGHT - 40.0 {
        last
    } else {
        RESERVOIR_RIGHT - 12.0
    };
    let mut d = String::new();
    for column in &layout.columns {
        let (x, floor) = (n(column.overflow), n(column.floor));
        d += &if falls_in(column) {
            format!("M{x} {floor}V{end}")
        } else {
            format!("M{x} {floor}V{collector}H{}V{end}", n(inside))
        };
    }
    tube(sheet, &d, false);
    for column in layout
        .columns
        .iter()
        .filter(|c| layout.manifold - c.floor > 30.0)
    {
        arrow(sheet, column.overflow, column.floor + 12.0, 1.0);
    }
}

/// From the pump up to the manifold and on to each bench. The outermost ports on either side
/// turn a corner, those between hang on the straight tube.
fn fill(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    let (pump, manifold) = (n(layout.pump), n(layout.manifold));
    let rise = if system.pump.submersible {
        format!("M{pump} {}V{manifold}", n(layout.ground - 22.0))
    } else {
        format!(
            "M{} {}H{pump}V{manifold}",
            RESERVOIR_RIGHT - 4.0,
            n(layout.ground - 12.0)
        )
    };
    let outermost = |c: &Column<'_>| {
        let further = |other: &Column<'_>| {
            let same_side = (other.fill > layout.pump) == (c.fill > layout.pump);
            same_side && (other.fill - layout.pump).abs() > (c.fill - layout.pump).abs()
        };
        !layout.columns.iter().any(further)
    };
    let mut d = String::new();
    for column in &layout.columns {
        let (x, floor) = (n(column.fill), n(column.floor));
        d += &if outermost(column) {
            format!("{rise}H{x}V{floor}")
        } else {
            format!("M{x} {manifold}V{floor}")
        };
    }
    tube(sheet, &d, true);
    if layout.brim - layout.manifold > 24.0 {
        arrow(
            sheet,
            layout.pump,
            f64::midpoint(layout.brim, layout.manifold),
            -1.0,
        );
    }
}

fn pump(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    let (x, top) = (layout.pump, layout.ground - 26.0);
    sheet.rect("dr-ink", x - 18.0, top, x + 18.0, layout.ground - 4.0);
    // A light point upwards: the way the water goes.
    let (x, y) = (n(x), n(top + 5.5));
    sheet.path("dr-paper", format_args!("M{x} {y}l5 9h-10Z"));
    if !system.pump.submersible {
        let low = n(layout.ground - 12.0);
        sheet.path(
            "dr-bore",
            format_args!("M{} {low}H{}", RESERVOIR_RIGHT - 4.0, RESERVOIR_RIGHT + 4.0),
        );
    }
}

fn tube(sheet: &mut Sheet, d: &str, full: bool) {
    sheet.path("dr-tube", format_args!("{d}"));
    sheet.path(
        if full { "dr-bore" } else { "dr-bore dry" },
        format_args!("{d}"),
    );
}

/// A point on a tube: down for 1, up for -1.
fn arrow(sheet: &mut Sheet, x: f64, y: f64, way: f64) {
    let (x, y, point) = (n(x - 6.0), n(y), 11.0 * way);
    sheet.path("dr-ink", format_args!("M{x} {y}h12l-6 {point}Z"));
}
