//! The reservoir, its levels and the pump.

use super::layout::{LEFT, Layout, RESERVOIR_RIGHT};
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

/// The overflows: straight down into the reservoir, or by the collector where they stand beside.
fn returns(layout: &Layout<'_>, sheet: &mut Sheet) {
    let end = n(layout.brim + REACH);
    for column in &layout.columns {
        let (x, floor) = (n(column.overflow), n(column.floor));
        if column.overflow < RESERVOIR_RIGHT - 8.0 {
            tube(sheet, &format!("M{x} {floor}V{end}"), false);
        } else {
            let (y, inside) = (n(layout.collector), n(RESERVOIR_RIGHT - 10.0));
            tube(sheet, &format!("M{x} {floor}V{y}H{inside}V{end}"), false);
        }
        if layout.manifold - column.floor > 30.0 {
            arrow(sheet, column.overflow, column.floor + 12.0, 1.0);
        }
    }
}

/// From the pump up to the manifold and on to each bench.
fn fill(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    let (pump, manifold) = (n(layout.pump), n(layout.manifold));
    let foot = n(layout.ground - 22.0);
    // One path, so that the bore runs through the branches.
    let mut d = if system.pump.submersible {
        format!("M{pump} {foot}V{manifold}")
    } else {
        format!(
            "M{} {low}H{pump}V{manifold}",
            RESERVOIR_RIGHT - 4.0,
            low = n(layout.ground - 12.0)
        )
    };
    for column in &layout.columns {
        let (x, floor) = (n(column.fill), n(column.floor));
        d += &format!("M{pump} {manifold}H{x}V{floor}");
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
