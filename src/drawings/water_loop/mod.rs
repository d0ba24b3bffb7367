//! The water loop of one system in elevation: benches at their heights, reservoir, pump and
//! tubing. Heights are to scale, widths are free.
//!
//! ```
//! use slackwater::drawings::water_loop::{Bench, Level, Pump, Reservoir, Shown, WaterLoop};
//!
//! let drawing = WaterLoop {
//!     name: "North 2".into(),
//!     benches: vec![Bench {
//!         name: "Bench 1".into(),
//!         length_mm: 1_200,
//!         width_mm: 600,
//!         floor_mm: 760,
//!         wall_mm: 200,
//!         media_mm: Some(110),
//!         overflow_mm: 90,
//!         clean_out_mm: Some(120),
//!     }],
//!     reservoir: Reservoir {
//!         height_mm: 520,
//!         says: "240\u{a0}L to the brim".into(),
//!         levels: vec![Level::now(0.33, "flooded 80\u{a0}L")],
//!     },
//!     pump: Pump { submersible: true, says: "submersible, lifts 1.36\u{a0}m".into() },
//!     tubing: vec!["fill, 25\u{a0}mm bore".into()],
//!     shown: Shown::CleanOut,
//! };
//! let svg = drawing.to_string();
//! assert!(svg.contains("floor at 760\u{a0}mm") && svg.contains("Bench 1"));
//! ```

mod benches;
mod layout;
mod notes;
mod reservoir;
mod sheet;

use std::fmt;

use layout::Layout;
use sheet::Sheet;

use super::{Text, n};

/// The system as the register knows it. Lengths are whole millimetres.
#[derive(Debug, Clone)]
pub struct WaterLoop {
    pub name: String,
    /// In the register's order; of more than four the first three are drawn.
    pub benches: Vec<Bench>,
    pub reservoir: Reservoir,
    pub pump: Pump,
    /// The tubing in words, such as "fill, 25 mm bore, 4.7 m".
    pub tubing: Vec<String>,
    pub shown: Shown,
}

/// To what the benches are flooded on the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// To the overflow, as while a crop grows.
    Growing,
    /// To the clean-out riser, where a bench has one.
    CleanOut,
}

#[derive(Debug, Clone)]
pub struct Bench {
    pub name: String,
    /// Inside, wall to wall.
    pub length_mm: u32,
    pub width_mm: u32,
    /// The floor of the bench over the ground.
    pub floor_mm: u32,
    /// The rest is over the floor of the bench.
    pub wall_mm: u32,
    /// The depth of the media; none where pots stand on the floor.
    pub media_mm: Option<u32>,
    pub overflow_mm: u32,
    /// The level with the clean-out riser on.
    pub clean_out_mm: Option<u32>,
}

#[derive(Debug, Clone)]
pub struct Reservoir {
    pub height_mm: u32,
    /// Such as "240 L to the brim".
    pub says: String,
    pub levels: Vec<Level>,
}

/// A level in the reservoir.
#[derive(Debug, Clone)]
pub struct Level {
    part: f64,
    line: LevelLine,
    says: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum LevelLine {
    Now,
    Drained,
    Heel,
}

impl Level {
    /// The water as drawn, at `part` of the height of the reservoir (brought into 0 to 1).
    pub fn now(part: f64, says: impl Into<String>) -> Self {
        Self::new(part, LevelLine::Now, says)
    }

    /// The level when every bench has drained.
    pub fn drained(part: f64, says: impl Into<String>) -> Self {
        Self::new(part, LevelLine::Drained, says)
    }

    /// What stays when the pump sucks air.
    pub fn heel(part: f64, says: impl Into<String>) -> Self {
        Self::new(part, LevelLine::Heel, says)
    }

    fn new(part: f64, line: LevelLine, says: impl Into<String>) -> Self {
        let part = if part.is_finite() {
            part.clamp(0.0, 1.0)
        } else {
            0.0
        };
        Self {
            part,
            line,
            says: says.into(),
        }
    }
}

#[derive(Debug, Clone)]
pub struct Pump {
    /// In the water, or beside the reservoir.
    pub submersible: bool,
    /// Such as "submersible, lifts 1.36 m".
    pub says: String,
}

impl Bench {
    /// The level shown over the floor, and the other one, dotted, where there are two. No level
    /// is drawn over the rim.
    fn levels(&self, shown: Shown) -> (u32, Option<u32>) {
        let overflow = self.overflow_mm.min(self.wall_mm);
        match (shown, self.clean_out_mm) {
            (Shown::CleanOut, Some(level)) => (level.min(self.wall_mm), Some(overflow)),
            _ => (overflow, None),
        }
    }

    /// The riser stands on the overflow; its length, where it is on.
    fn riser_mm(&self, shown: Shown) -> Option<u32> {
        let level = self.clean_out_mm.filter(|_| shown == Shown::CleanOut)?;
        level.checked_sub(self.overflow_mm).filter(|&mm| mm > 0)
    }

    /// "1.20 by 0.60 m".
    fn size(&self) -> String {
        let metres = |mm: u32| f64::from(mm) / 1_000.0;
        format!(
            "{:.2} by {:.2}\u{a0}m",
            metres(self.length_mm),
            metres(self.width_mm)
        )
    }
}

impl WaterLoop {
    /// Up to four benches are drawn, of more the first three.
    fn drawn(&self) -> &[Bench] {
        if self.benches.len() > 4 {
            &self.benches[..3]
        } else {
            &self.benches
        }
    }

    /// The drawing in words, for those who hear it.
    fn sentence(&self) -> String {
        let mut said = format!(
            "Water loop of {}. A reservoir, {}, with a pump, {}.",
            self.name, self.reservoir.says, self.pump.says
        );
        for bench in &self.benches {
            let Bench {
                name,
                floor_mm,
                overflow_mm,
                ..
            } = bench;
            said += &format!(
                " {name}, {}: floor at {floor_mm}\u{a0}mm, overflow at {overflow_mm}\u{a0}mm",
                bench.size()
            );
            if let Some(media) = bench.media_mm {
                said += &format!(", media {media}\u{a0}mm deep");
            }
            if let (Some(riser), (level, _)) =
                (bench.riser_mm(self.shown), bench.levels(self.shown))
            {
                said +=
                    &format!(", raised to {level}\u{a0}mm by a clean-out riser of {riser}\u{a0}mm");
            }
            said += ".";
        }
        for level in &self.reservoir.levels {
            said += &format!(" In the reservoir: {}.", level.says);
        }
        said
    }

    fn sheet(&self) -> Sheet {
        let layout = Layout::of(self);
        let mut sheet = Sheet::new(layout.ground + 14.0);
        layout.ruler(&mut sheet);
        reservoir::draw(self, &layout, &mut sheet);
        benches::draw(self, &layout, &mut sheet);
        notes::draw(self, &layout, &mut sheet);
        sheet
    }
}

impl askama::filters::HtmlSafe for WaterLoop {}

impl fmt::Display for WaterLoop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sheet = self.sheet();
        write!(
            f,
            "<svg class=\"loop\" viewBox=\"0 0 430 {}\" role=\"img\" aria-label=\"{}\">{sheet}</svg>",
            n(sheet.height),
            Text(&self.sentence())
        )
    }
}

#[cfg(test)]
pub(super) mod tests;
