//! The benches with their water, media, standpipe and riser.

use super::super::pebbles::{Bed, Pebbles};
use super::layout::{Column, Layout};
use super::sheet::{Face, Sheet};
use super::{WaterLoop, n};

pub(super) fn draw(system: &WaterLoop, layout: &Layout<'_>, sheet: &mut Sheet) {
    for column in &layout.columns {
        let y = |over_floor: u32| layout.y(column.bench.floor_mm.saturating_add(over_floor));
        let (level, other) = column.bench.levels(system.shown);
        let (water, other) = (y(level), other.map(|mm| (mm, y(mm))));
        let overflow = y(column.bench.overflow_mm.min(column.bench.wall_mm));
        let Column {
            left, right, floor, ..
        } = *column;

        sheet.rect("dr-water", left, water, right, floor);
        if let Some(media) = column.bench.media_mm {
            let bed = Bed {
                left: left + 2.0,
                right: right - 2.0,
                top: y(media).max(column.rim),
                floor: floor - 2.0,
                pipe: (column.overflow - 7.0, column.overflow + 7.0),
            };
            let seed = format!("{}, {}", system.name, column.bench.name);
            sheet.mark(format_args!("{}", Pebbles::pack(&seed, bed)));
        }
        standpipe(column, overflow, water, sheet);
        let (pipe, line) = (column.overflow, n(water));
        sheet.path(
            "dr-level",
            format_args!(
                "M{} {line}H{}M{} {line}H{}",
                n(left),
                n(pipe - 7.0),
                n(pipe + 7.0),
                n(right)
            ),
        );
        if let Some((_, y)) = other {
            let line = format_args!("M{} {}H{}", n(left + 2.0), n(y), n(right - 2.0));
            sheet.dashed("dr-level", "1.5 4", line);
        }
        wall(column, sheet);
        figures(column, (level, water), other, sheet);
        names(column, water, sheet);
    }
}

/// The overflow pipe over the floor, and the riser on it.
fn standpipe(column: &Column<'_>, overflow: f64, water: f64, sheet: &mut Sheet) {
    let (x, floor) = (column.overflow, column.floor);
    let top = overflow.min(water);
    sheet.rect("dr-paper", x - 6.0, top, x + 6.0, floor);
    let (left, right, top) = (n(x - 5.0), n(x + 5.0), n(overflow));
    sheet.path(
        "dr",
        format_args!("M{left} {f}V{top}M{right} {f}V{top}", f = n(floor)),
    );
    if water < overflow - 0.5 {
        let rim = n(water - 0.5);
        sheet.path(
            "dr-temp",
            format_args!("M{left} {top}V{rim}M{right} {top}V{rim}"),
        );
    }
}

/// The walls, with a hole in the floor for the standpipe and one for the fill port.
fn wall(column: &Column<'_>, sheet: &mut Sheet) {
    let Column {
        left,
        right,
        floor,
        rim,
        overflow,
        fill,
        ..
    } = *column;
    let (left, right, floor, rim) = (n(left), n(right), n(floor), n(rim));
    sheet.path(
        "dr-wall",
        format_args!("M{left} {rim}V{floor}H{right}V{rim}"),
    );
    sheet.path(
        "dr-bore dry",
        format_args!(
            "M{x} {}V{}",
            n(floor + 3.0),
            n(floor - 3.0),
            x = n(overflow)
        ),
    );
    sheet.path(
        "dr-bore",
        format_args!("M{x} {}V{}", n(floor + 4.0), n(floor - 3.0), x = n(fill)),
    );
}

/// The levels in millimetres over the floor, right of the wall.
fn figures(column: &Column<'_>, water: (u32, f64), other: Option<(u32, f64)>, sheet: &mut Sheet) {
    let x = column.right;
    let tick = |sheet: &mut Sheet, y: f64| {
        sheet.path(
            "dr-dim",
            format_args!("M{} {y}H{}", n(x + 3.0), n(x + 7.0), y = n(y)),
        );
    };
    tick(sheet, water.1);
    let base = water.1 + 2.0;
    sheet.text(Face::Water, x + 9.0, base, water.0.to_string());
    if let Some((mm, y)) = other.filter(|(mm, _)| *mm != water.0) {
        tick(sheet, y);
        sheet.text(
            Face::Soft,
            x + 10.0,
            (y + 8.0).max(base + 15.0),
            mm.to_string(),
        );
    }
}

fn names(column: &Column<'_>, water: f64, sheet: &mut Sheet) {
    let Column {
        left,
        right,
        rim,
        overflow,
        ..
    } = *column;
    sheet.text(
        Face::Name,
        left,
        rim - 29.0,
        Face::Name.fit(&column.bench.name, column.room()),
    );
    let size = column.bench.size();
    if column.has_room(Face::Plain, &size) {
        sheet.text(Face::Plain, left, rim - 12.0, size);
    }
    let over = "flood level";
    if water - rim >= 20.0 && overflow + 12.0 + Face::Water.width(over) <= right - 4.0 {
        sheet.text(Face::Water, overflow + 12.0, water - 6.0, over);
    }
}
