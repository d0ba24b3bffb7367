//! The parts of a system as the checks need them: benches with their levels, tubing joined by
//! purpose, and where a figure that lacks is entered.

use crate::register::benches::Bench;
use crate::register::hold::Parts;
use crate::register::pumps::Pump;
use crate::register::tubing::TubingRun;
use crate::register::{Purpose, TubeWall, entry};
use crate::science::fitting::{Fitting, K_SOURCE};
use crate::science::flood::{
    self, BenchWater, CleanOutLevel, FREEBOARD_MM, FloodRefusal, FloodTo, MARGIN_OVER_MEDIA_MM,
    SystemHold, WaterLoop,
};
use crate::science::pipe::{Run, Wall};
use crate::science::quantity::{Length, OutOfRange, Volume, millimetres};
use crate::science::show;
use crate::science::stored::{FittingLosses, Millimetres};
use crate::science::units::Units;

use super::Lack;

/// A ribbed hose takes so many times the head of a smooth one: the upper end of 2 to 4, from memory.
const RIBBED_TIMES_SMOOTH: f64 = 4.0;

/// How high the benches stand full.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Full {
    /// To the overflow, as while a crop grows.
    Growing,
    /// Over all media, with the riser on.
    CleanOut,
}

impl Full {
    pub(super) fn flood_to(self) -> FloodTo {
        match self {
            Self::Growing => FloodTo::Overflow,
            Self::CleanOut => FloodTo::clean_out(),
        }
    }
}

/// A bench with its levels.
#[derive(Debug)]
pub(super) struct BenchAt<'a> {
    pub(super) bench: &'a Bench,
    pub(super) science: flood::Bench,
    pub(super) needed: CleanOutLevel,
    pub(super) growing: BenchWater,
    /// Nothing where the level would stand over the wall.
    pub(super) clean_out: Option<BenchWater>,
}

impl BenchAt<'_> {
    pub(super) fn name(&self) -> &str {
        self.bench.figures.name.as_str()
    }

    pub(super) fn water(&self, full: Full) -> Option<&BenchWater> {
        match full {
            Full::Growing => Some(&self.growing),
            Full::CleanOut => self.clean_out.as_ref(),
        }
    }
}

/// What runs into a bench and out of it again.
pub(super) fn moving(water: &BenchWater) -> Volume {
    water.void + water.free
}

#[derive(Debug)]
pub(super) struct Found<'a> {
    pub(super) parts: &'a Parts,
    pub(super) units: Units,
    pub(super) benches: Vec<BenchAt<'a>>,
}

impl<'a> Found<'a> {
    pub(super) fn of(parts: &'a Parts, units: Units) -> Self {
        let benches = parts
            .benches_in_use()
            .filter_map(|bench| {
                let test = parts.bucket_test(bench).map(|test| &test.figures);
                let science = bench.figures.for_science(test).ok()?;
                let needed = science
                    .clean_out_level(millimetres(MARGIN_OVER_MEDIA_MM), millimetres(FREEBOARD_MM));
                Some(BenchAt {
                    bench,
                    growing: science.water_at(bench.figures.overflow.length()).ok()?,
                    clean_out: science.water_at(needed.level).ok(),
                    science,
                    needed,
                })
            })
            .collect();
        Self {
            parts,
            units,
            benches,
        }
    }

    /// The sum of the system at one level, with as much of the tubing as is on record.
    pub(super) fn hold(&self, full: Full) -> Option<Result<SystemHold, FloodRefusal>> {
        let reservoir = self.parts.reservoir()?;
        if self.benches.is_empty() {
            return None;
        }
        let water_loop = WaterLoop {
            benches: self.benches.iter().map(|bench| bench.science).collect(),
            tubing: self
                .parts
                .tubing_in_use()
                .map(|run| run.figures.tube())
                .collect(),
            reservoir: reservoir.figures.for_science(),
        };
        Some(flood::hold(&water_loop, full.flood_to()))
    }

    pub(super) fn pumps(&self) -> impl Iterator<Item = &Pump> {
        self.parts.pumps.iter().filter(|pump| !pump.retired)
    }

    /// The runs of one purpose, joined.
    pub(super) fn joined(&self, purpose: Purpose) -> Option<Joined<'_>> {
        let runs: Vec<&TubingRun> = self
            .parts
            .tubing_in_use()
            .filter(|run| run.figures.purpose == purpose)
            .collect();
        let narrowest = runs.iter().min_by_key(|run| run.figures.bore)?;
        Some(Joined {
            narrowest,
            length: runs.iter().fold(millimetres(0.0), |sum, run| {
                sum + run.figures.length.length()
            }),
            fittings: runs
                .iter()
                .filter_map(|run| run.figures.fittings)
                .map(FittingLosses::k)
                .reduce(|sum, k| sum + k),
            ribbed: runs
                .iter()
                .any(|run| run.figures.wall == Some(TubeWall::Ribbed)),
            runs,
        })
    }

    /// A part that is not on record at all.
    pub(super) fn lacks_part(&self, part: &str, what: &str) -> Lack {
        Lack {
            what: what.to_owned(),
            href: format!("{}/{part}/new", self.parts.system.path()),
        }
    }

    /// What stands in the way of a sum at one level.
    pub(super) fn lacks_of_hold(&self) -> Vec<Lack> {
        let mut lacks = Vec::new();
        if self.parts.reservoir().is_none() {
            lacks.push(self.lacks_part("reservoirs", "the reservoir"));
        }
        if self.benches.is_empty() {
            lacks.push(self.lacks_part("benches", "the bench"));
        }
        lacks
    }
}

/// A field of a part on record; of one that is only being typed, the field on the same page.
pub(super) fn lacks_field(part: &str, id: i64, field: &str, what: String) -> Lack {
    let page = if id == 0 {
        String::new()
    } else {
        format!("/{part}/{id}/change")
    };
    Lack {
        what,
        href: format!("{page}#{field}"),
    }
}

/// Runs of one purpose as one: as narrow as the narrowest, as long as all of them.
#[derive(Debug)]
pub(super) struct Joined<'a> {
    pub(super) narrowest: &'a TubingRun,
    pub(super) length: Length,
    fittings: Option<f64>,
    ribbed: bool,
    runs: Vec<&'a TubingRun>,
}

impl Joined<'_> {
    /// From the lower to the upper end, where it is on record.
    pub(super) fn rise(&self) -> Option<Length> {
        self.runs
            .iter()
            .filter_map(|run| run.figures.rise)
            .max()
            .map(Millimetres::length)
    }

    /// For science, with the usual fittings where none are given; `exit` where the loss at its end
    /// is not counted elsewhere.
    pub(super) fn run(&self, usual: &[Fitting], exit: bool) -> Result<Run, OutOfRange> {
        let exit = if exit { Fitting::Exit.k() } else { 0.0 };
        let run = Run::new(
            self.narrowest.figures.bore.length(),
            self.length,
            self.k(usual) + exit,
        )?;
        run.with_wall(if self.ribbed {
            Wall::Corrugated {
                times_smooth: RIBBED_TIMES_SMOOTH,
            }
        } else {
            Wall::Smooth
        })
    }

    fn k(&self, usual: &[Fitting]) -> f64 {
        self.fittings
            .unwrap_or_else(|| usual.iter().map(|fitting| fitting.k()).sum())
    }

    /// '19 mm bore, 4.2 m, fittings K 3.8'.
    pub(super) fn words(&self, usual: &[Fitting], units: Units) -> String {
        format!(
            "{} bore, {}, fittings K {}{}",
            entry::show_bore(self.narrowest.figures.bore.length(), units),
            entry::show_long(self.length, units),
            show::figures(self.k(usual), 3),
            if self.ribbed { ", ribbed" } else { "" }
        )
    }

    /// What was taken for granted of it.
    pub(super) fn assumed(&self, purpose: Purpose, usual: &[Fitting]) -> Vec<String> {
        let mut assumed = Vec::new();
        if self.fittings.is_none() {
            let fittings: Vec<&str> = usual.iter().map(|fitting| fitting.words()).collect();
            assumed.push(format!(
                "Fittings of the {purpose}: K {}, as of {} (usual figure, not measured; {K_SOURCE}).",
                show::figures(self.k(usual), 3),
                fittings.join(" and ")
            ));
        }
        if self.ribbed {
            assumed.push(format!(
                "The ribbed {purpose} takes {RIBBED_TIMES_SMOOTH} times the head of a smooth one (from memory, 2 to 4; time the flow where it matters)."
            ));
        } else if self.runs.iter().all(|run| run.figures.wall.is_none()) {
            assumed.push(format!("The {purpose} is smooth inside (not entered)."));
        }
        if self.runs.len() > 1 {
            assumed.push(format!(
                "The {} runs of the {purpose} are reckoned as one behind the other, all as narrow as the narrowest: the safe side.",
                self.runs.len()
            ));
        }
        assumed
    }
}
