//! Where everything stands on the sheet.

use super::sheet::{Face, Sheet};
use super::{Bench, WaterLoop, n};

/// Places across the sheet, in pixels.
pub(super) const RULER: f64 = 34.0;
pub(super) const LEFT: f64 = 72.0;
pub(super) const RIGHT: f64 = 424.0;
pub(super) const RESERVOIR_RIGHT: f64 = 282.0;
/// Right of each bench stand the figures of its levels.
pub(super) const FIGURES: f64 = 34.0;
/// Over the highest rim: room for a name and a size.
const HEAD: f64 = 70.0;
/// The tallest loop takes this much; a low one is not blown up past `CLOSEST` px to a millimetre.
const TALLEST: f64 = 510.0;
const CLOSEST: f64 = 0.42;

/// One bench on the sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column<'a> {
    pub bench: &'a Bench,
    pub left: f64,
    pub right: f64,
    pub floor: f64,
    pub rim: f64,
    /// The middles of the standpipe and of the fill port.
    pub overflow: f64,
    pub fill: f64,
}

impl Column<'_> {
    /// Over the bench and the figures of its levels.
    pub fn room(&self) -> f64 {
        self.right - self.left + FIGURES - 4.0
    }

    pub fn has_room(&self, face: Face, says: &str) -> bool {
        face.width(says) <= self.room()
    }
}

#[derive(Debug)]
pub(super) struct Layout<'a> {
    scale: f64,
    top_mm: u32,
    pub ground: f64,
    pub columns: Vec<Column<'a>>,
    pub brim: f64,
    pub pump: f64,
    /// The tube that all fill ports hang on.
    pub manifold: f64,
    /// The tube that brings back what falls beside the reservoir.
    pub collector: f64,
}

impl<'a> Layout<'a> {
    pub fn of(system: &'a WaterLoop) -> Self {
        let benches = system.drawn();
        let rims = benches.iter().map(|b| b.floor_mm.saturating_add(b.wall_mm));
        let top_mm = rims
            .chain([system.reservoir.height_mm, 300])
            .max()
            .unwrap_or(300);
        let scale = (TALLEST / f64::from(top_mm)).min(CLOSEST);
        let ground = HEAD + f64::from(top_mm) * scale;
        let mut layout = Self {
            scale,
            top_mm,
            ground,
            columns: Vec::new(),
            brim: ground - f64::from(system.reservoir.height_mm) * scale,
            pump: 0.0,
            manifold: 0.0,
            collector: 0.0,
        };
        layout.columns = layout.place(benches);
        let lowest = layout.columns.iter().map(|c| c.floor).fold(HEAD, f64::max);
        let between = (layout.brim - lowest).max(0.0);
        layout.manifold = lowest + (between * 0.35).clamp(14.0, 44.0);
        layout.collector = layout.manifold + (between * 0.25).clamp(12.0, 24.0);
        layout.pump = layout.pump_place(system.pump.submersible);
        layout
    }

    /// Benches side by side, the longer ones somewhat wider.
    fn place(&self, benches: &'a [Bench]) -> Vec<Column<'a>> {
        let count = benches.len().max(1) as f64;
        let room = RIGHT - LEFT - count * FIGURES;
        let middle = benches.iter().map(|b| f64::from(b.length_mm)).sum::<f64>() / count;
        let weight = |b: &Bench| (f64::from(b.length_mm) / middle.max(1.0)).clamp(0.8, 1.25);
        let weights: f64 = benches.iter().map(weight).sum();
        let mut left = LEFT;
        benches
            .iter()
            .map(|bench| {
                // One bench alone would be a long empty box.
                let wide = (room * weight(bench) / weights).min(200.0);
                let (right, edge) = (left + wide, (wide * 0.2).clamp(11.0, 26.0));
                let floor = self.y(bench.floor_mm);
                let rim = self.y(bench.floor_mm.saturating_add(bench.wall_mm));
                let column = Column {
                    bench,
                    left,
                    right,
                    floor,
                    rim,
                    overflow: left + edge.min(20.0),
                    fill: right - edge,
                };
                left = right + FIGURES;
                column
            })
            .collect()
    }

    /// In the reservoir clear of what falls into it, or beside it on the ground.
    fn pump_place(&self, submersible: bool) -> f64 {
        if !submersible {
            return RESERVOIR_RIGHT + 26.0;
        }
        let clear = |x: &f64| self.columns.iter().all(|c| (c.overflow - x).abs() >= 14.0);
        [252.0, 244.0, 236.0, 228.0, 220.0]
            .into_iter()
            .find(clear)
            .unwrap_or(236.0)
    }

    /// The height of a point over the ground.
    pub fn y(&self, mm: u32) -> f64 {
        self.ground - f64::from(mm) * self.scale
    }

    /// A ruler in millimetres at the left, the ground under everything, and the floors.
    pub fn ruler(&self, sheet: &mut Sheet) {
        let top = self.y(self.top_mm / 100 * 100);
        let (ground, top) = (n(self.ground), n(top));
        sheet.path("dr-hair", format_args!("M{RULER} {ground}V{top}"));
        // Ticks closer than 8 px would run together.
        let step = if self.scale * 100.0 < 8.0 { 500 } else { 100 };
        for mm in (0..=self.top_mm).step_by(step) {
            let (y, long) = (self.y(mm), if mm % 500 == 0 { 9.0 } else { 5.0 });
            sheet.path(
                "dr-hair",
                format_args!("M{} {}H{RULER}", RULER - long, n(y)),
            );
            let crowded = self.scale * 500.0 < 16.0 && mm % 2_000 != 0;
            if mm % 500 == 0 && mm > 0 && !crowded {
                sheet.text(Face::Soft, 4.0, y - 5.0, mm.to_string());
            }
        }
        sheet.text(
            Face::Soft,
            4.0,
            self.y(self.top_mm / 100 * 100) - 20.0,
            "mm",
        );
        sheet.path("dr", format_args!("M20 {ground}H{RIGHT}"));
        for i in 0..40 {
            sheet.path(
                "dr-dim",
                format_args!("M{} {}l7-8", 24 + i * 10, n(self.ground + 9.0)),
            );
        }
        self.floors(sheet);
    }

    /// Each floor is carried over to the ruler; floors too close for two figures share one.
    fn floors(&self, sheet: &mut Sheet) {
        let mut said: Vec<f64> = Vec::new();
        for column in &self.columns {
            let y = column.floor;
            sheet.dashed(
                "dr-dim",
                "2 4",
                format_args!("M{RULER} {}H{}", n(y), n(column.left - 3.0)),
            );
            // The ruler says its own round figures already.
            let mm = column.bench.floor_mm;
            if mm % 500 != 0 && said.iter().all(|other| (other - y).abs() > 14.0) {
                said.push(y);
                sheet.text(Face::Soft, RULER + 3.0, y - 5.0, mm.to_string());
            }
        }
    }
}
