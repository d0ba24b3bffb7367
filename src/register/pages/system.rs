//! The page of one system: its water loop, what it holds and how that is known, whether it fits,
//! and every part of it.

use askama::Template;
use askama::filters::HtmlSafe;
use sqlx::SqliteConnection;

use super::checking::Checks;
use super::fills;
use super::flow_history::FlowHistory;
use crate::crew::{Role, Who};
use crate::drawings::water_loop;
use crate::ids::SystemId;
use crate::register::benches::Bench;
use crate::register::checks::overflow_warnings;
use crate::register::flow_tests::{self, Timing};
use crate::register::hold::{Hold, NotKnown, Parts, parts_of};
use crate::register::systems::System;
use crate::register::{Media, entry, store};
use crate::science::quantity::{Known, Volume, litres};
use crate::science::show;
use crate::science::stored::Millimetres;
use crate::science::uncertainty::Budget;
use crate::science::units::Units;
use crate::site::full_day;
use crate::web::AppError;

/// What the register knows of a system: a later room's page shows it beside what that room knows.
#[derive(Debug)]
pub struct SystemView {
    pub system: System,
    /// The volume that doses are reckoned for; empty while it is not known.
    pub volume: String,
    /// 'two benches of expanded clay on one reservoir'.
    pub lead: String,
    pub facts: SystemFacts,
}

/// The parts and the volumes, as one piece of a page.
#[derive(Debug, Template)]
#[template(path = "register/system_facts.html")]
pub struct SystemFacts {
    parts: Parts,
    hold: Result<Hold, NotKnown>,
    units: Units,
    drawing: Result<water_loop::WaterLoop, &'static str>,
    volumes: Vec<VolumeLine>,
    checks: Checks,
    overflows: Vec<String>,
    flow: FlowHistory,
    fills: Vec<fills::Shown>,
    may_change: bool,
    may_measure: bool,
}

impl HtmlSafe for SystemFacts {}

/// A line of the table of volumes.
#[derive(Debug)]
struct VolumeLine {
    label: String,
    working: String,
    figure: String,
    /// '± 7.3'.
    off: String,
    /// Volumes that were measured stand upright, reckoned ones slanted.
    upright: bool,
    mark: &'static str,
    known: &'static str,
    by: String,
}

impl SystemView {
    /// `timed` is what clean-outs of the system timed: they belong to a later room.
    pub async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        id: SystemId,
        timed: Vec<Timing>,
    ) -> Result<Self, AppError> {
        let parts = parts_of(conn, id)
            .await?
            .ok_or(AppError::NotFound("system"))?;
        let units = who.site.units;
        let tests = store::flow_tests::of_system(conn, id).await?;
        let mut timings = timed;
        timings.extend(flow_tests::counting(&tests));
        let hold = parts.hold();
        let lead = lead(&parts, hold.as_ref().ok());
        let in_use = !parts.system.retired;
        Ok(Self {
            system: parts.system.clone(),
            volume: hold
                .as_ref()
                .map(|hold| show::volume(hold.used.volume(), units))
                .unwrap_or_default(),
            lead,
            facts: SystemFacts {
                drawing: drawing(&parts, hold.as_ref().ok(), units),
                volumes: hold
                    .as_ref()
                    .map(|hold| volumes(hold, units))
                    .unwrap_or_default(),
                overflows: overflow_warnings(&parts, units),
                checks: Checks::of(&parts, units, in_use && who.is_at_least(Role::Coordinator))
                    .beside(&timings, parts.system.flow_version, units),
                flow: FlowHistory::of(
                    &parts,
                    &timings,
                    units,
                    in_use && who.is_at_least(Role::Hand),
                ),
                fills: fills::Shown::all(&parts, units),
                may_change: in_use && who.is_at_least(Role::Coordinator),
                may_measure: in_use && who.is_at_least(Role::Hand),
                units,
                hold,
                parts,
            },
        })
    }

    /// 'Quarantined since 4 March 2027: roots brown.', or nothing.
    pub fn standing(&self) -> Option<String> {
        if self.system.retired {
            return Some(
                "Retired. It stays readable, and nothing about it is changed any more.".to_owned(),
            );
        }
        match (&self.system.quarantine, self.system.laid_up_since) {
            (Some(quarantine), _) => Some(format!(
                "Quarantined since {}: {}",
                full_day(quarantine.since),
                quarantine.reason
            )),
            (None, Some(since)) => Some(format!("Laid up since {}.", full_day(since))),
            (None, None) => None,
        }
    }
}

impl SystemFacts {
    fn volume_head(&self) -> &'static str {
        match self.units {
            Units::Metric => "Litres",
            Units::Us | Units::Imperial => entry::large(self.units).symbol(),
        }
    }

    fn off(&self, budget: &Budget) -> String {
        show::give_or_take(litres(budget.expanded()), self.units)
    }

    /// What the range of the volume is made of, the largest first: what, how far off, its share.
    fn range_parts(&self, hold: &Hold) -> Vec<(&'static str, String, String)> {
        let merged = hold.range.merged();
        let shares = merged.contributions.iter().map(|part| {
            let percent = show::fixed(merged.share(part) * 100.0, 0);
            (part.what, part.how.clone(), format!("{percent}\u{a0}%"))
        });
        shares
            .filter(|(_, _, share)| !share.starts_with('0'))
            .collect()
    }

    fn figure(&self, volume: Volume) -> String {
        column(volume, self.units)
    }

    fn used(&self, hold: &Hold) -> String {
        show::volume(hold.used.volume(), self.units)
    }

    fn words(&self, volume: Volume) -> String {
        show::volume(volume, self.units)
    }

    fn verdict(&self, hold: &Hold) -> Option<String> {
        hold.used.verdict(self.units)
    }

    fn length(&self, length: &Millimetres) -> String {
        show::length(length.length(), self.units)
    }

    /// The calculator of a bench with these measures, flooded as for a clean-out.
    fn calculator(&self, bench: &Bench) -> String {
        let figures = &bench.figures;
        let mm = |length: Millimetres| format!("{} mm", length.get());
        let mut pairs = vec![
            ("length", mm(figures.length)),
            ("width", mm(figures.width)),
            ("fall", mm(figures.floor_fall)),
            ("overflow", mm(figures.overflow)),
            ("wall", mm(figures.wall)),
        ];
        if let Some(bed) = &figures.bed
            && let Some(media) = bed.media.usual()
        {
            let measured = self.parts.bucket_test(bench);
            let measured = measured.and_then(|test| test.figures.fractions().ok());
            let (drainable, retained) = measured
                .map_or((bed.drainable.share(), bed.retained.share()), |fractions| {
                    (fractions.drainable(), fractions.retained())
                });
            pairs.push(("media", media.code().to_owned()));
            pairs.push(("depth", mm(bed.depth)));
            pairs.push(("drainable", show::figures(drainable, 3)));
            pairs.push(("retained", show::figures(retained, 3)));
        }
        crate::web::address("/calculators/bench", &pairs)
    }

    /// Whether a fill is on record that no longer counts, while none does.
    fn fills_outlived(&self, hold: &Hold) -> bool {
        hold.fill.is_none() && self.parts.fills.iter().any(|fill| fill.set_aside.is_none())
    }

    /// 'expanded clay, 110 mm', with how its fractions are known.
    fn bed(&self, bench: &Bench) -> String {
        match &bench.figures.bed {
            Some(bed) => format!("{}, {}", bed.media.words(), self.length(&bed.depth)),
            None => Media::None.words().to_owned(),
        }
    }

    fn fractions(&self, bench: &Bench) -> String {
        match (&bench.figures.bed, self.parts.bucket_test(bench)) {
            (None, _) => String::new(),
            (Some(_), Some(test)) => {
                format!("bucket test, {}, {}", test.by, full_day(test.tested_on))
            }
            (Some(bed), None) => bed.fractions_known.known().words().to_owned(),
        }
    }

    /// '1.2 by 0.6 m'.
    fn size(&self, bench: &Bench) -> String {
        let unit = entry::long(self.units);
        let count = |length: Millimetres| entry::typed_length(length.length(), unit);
        let figures = &bench.figures;
        format!(
            "{} by {}\u{a0}{}",
            count(figures.length),
            count(figures.width),
            unit.symbol()
        )
    }

    /// What the riser must add, once the sum can be made.
    fn riser(&self, bench: &Bench) -> String {
        let place = self
            .parts
            .benches_in_use()
            .position(|other| other.id == bench.id);
        let level = self
            .hold
            .as_ref()
            .ok()
            .zip(place)
            .and_then(|(hold, place)| hold.benches.get(place));
        match level {
            Some(level) if level.riser_needed.value > 0.0 => {
                show::length(level.riser_needed, self.units)
            }
            Some(_) => "none".to_owned(),
            None => "not known yet".to_owned(),
        }
    }

    fn reservoir_words(&self) -> String {
        let Some(reservoir) = self.parts.reservoir() else {
            return String::new();
        };
        let figures = &reservoir.figures;
        let mut words = format!(
            "takes {}",
            show::volume(figures.capacity.volume(), self.units)
        );
        if let Some((length, width)) = &figures.plan {
            words += &format!(", {} by {} inside", self.length(length), self.length(width));
        }
        words
    }

    fn pump_words(&self, pump: &crate::register::pumps::Pump) -> String {
        let figures = &pump.figures;
        let mut words = figures.kind.to_string();
        if let Some(flow) = figures.max_flow {
            words += &format!(", at most {}", entry::show_flow(flow.flow(), self.units));
        }
        if let Some(head) = figures.max_head {
            words += &format!(
                ", lifts at most {}",
                entry::show_long(head.length(), self.units)
            );
        }
        if let Some(day) = figures.last_teardown {
            words += &format!(", taken apart {}", full_day(day));
        }
        words
    }

    /// The parts that were retired, by name.
    fn retired_parts(&self) -> Vec<String> {
        let parts = &self.parts;
        let benches = parts
            .benches
            .iter()
            .filter(|one| one.retired)
            .map(|one| one.figures.name.to_string());
        let reservoirs = parts
            .reservoirs
            .iter()
            .filter(|one| one.retired)
            .map(|one| {
                format!(
                    "a reservoir of {}",
                    show::volume(one.figures.capacity.volume(), self.units)
                )
            });
        let pumps = parts
            .pumps
            .iter()
            .filter(|one| one.retired)
            .map(|one| one.figures.name.to_string());
        let tubing = parts.tubing.iter().filter(|one| one.retired);
        let tubing =
            tubing.map(|one| format!("{} ({})", one.figures.name, one.figures.words(self.units)));
        benches
            .chain(reservoirs)
            .chain(pumps)
            .chain(tubing)
            .collect()
    }
}

fn column(volume: Volume, units: Units) -> String {
    show::fixed(entry::large(units).count(volume), 1)
}

fn volumes(hold: &Hold, units: Units) -> Vec<VolumeLine> {
    hold.lines(units)
        .into_iter()
        .map(|line| VolumeLine {
            figure: column(line.volume, units),
            off: show::give_or_take(line.off, units),
            upright: line.known == Known::Measured,
            mark: mark(line.known),
            known: line.known.words(),
            label: line.label,
            working: line.working,
            by: line.by,
        })
        .collect()
}

/// The sign that stands before the word.
fn mark(known: Known) -> &'static str {
    match known {
        Known::Measured | Known::Assay => "measured",
        Known::Computed | Known::Formula => "computed",
        Known::Label | Known::Entered => "labelled",
        Known::Usual | Known::Estimated => "given-figure",
    }
}

fn lead(parts: &Parts, hold: Option<&Hold>) -> String {
    let benches: Vec<&Bench> = parts.benches_in_use().collect();
    let count = benches.len();
    let number = match count {
        0 => return "No bench is entered yet.".to_owned(),
        1 => "one bench".to_owned(),
        2 => "two benches".to_owned(),
        3 => "three benches".to_owned(),
        4 => "four benches".to_owned(),
        n => format!("{n} benches"),
    };
    let media = benches
        .first()
        .map(|bench| bench.figures.media())
        .filter(|media| {
            *media != Media::None && benches.iter().all(|bench| bench.figures.media() == *media)
        });
    let of = media
        .map(|media| format!(" of {}", media.words()))
        .unwrap_or_default();
    match hold {
        Some(_) => format!("{number}{of} on one reservoir."),
        None => format!("What it holds is not known yet: {number}{of}."),
    }
}

fn drawing(
    parts: &Parts,
    hold: Option<&Hold>,
    units: Units,
) -> Result<water_loop::WaterLoop, &'static str> {
    let mm = |whole: Millimetres| u32::try_from(whole.get()).unwrap_or(0);
    let reservoir = parts
        .reservoir()
        .ok_or("The water loop is drawn once a reservoir and a bench are entered.")?;
    let height = reservoir
        .figures
        .height
        .ok_or("The water loop is drawn once the height of the reservoir is entered.")?;
    let mut benches = Vec::new();
    for (place, bench) in parts.benches_in_use().enumerate() {
        let figures = &bench.figures;
        let floor = figures
            .floor_height
            .ok_or("The water loop is drawn once the height of each bench's floor over the ground is entered.")?;
        let level = hold.and_then(|hold| hold.benches.get(place));
        let clean_out = level.and_then(|level| Millimetres::nearest(level.level).ok());
        benches.push(water_loop::Bench {
            name: figures.name.to_string(),
            length_mm: mm(figures.length),
            width_mm: mm(figures.width),
            floor_mm: mm(floor),
            wall_mm: mm(figures.wall),
            media_mm: figures.bed.as_ref().map(|bed| mm(bed.depth)),
            overflow_mm: mm(figures.overflow),
            clean_out_mm: clean_out.map(mm),
        });
    }
    if benches.is_empty() {
        return Err("The water loop is drawn once a bench is entered.");
    }
    let capacity = reservoir.figures.capacity.volume();
    let part = |volume: Volume| (volume / capacity).value;
    let says = |what: &str, volume: Volume| format!("{what} {}", show::volume(volume, units));
    let levels = hold.map_or_else(Vec::new, |hold| {
        let (flooded, drained) = (hold.in_reservoir_flooded(), hold.return_fit().drained);
        vec![
            water_loop::Level::now(part(flooded), says("flooded", flooded)),
            water_loop::Level::drained(part(drained), says("drained", drained)),
            water_loop::Level::heel(part(hold.parts.heel), says("heel", hold.parts.heel)),
        ]
    });
    let pump = parts.pump();
    Ok(water_loop::WaterLoop {
        name: parts.system.figures.name.to_string(),
        benches,
        reservoir: water_loop::Reservoir {
            height_mm: mm(height),
            says: format!("takes {}", show::volume(capacity, units)),
            levels,
        },
        pump: water_loop::Pump {
            submersible: pump
                .is_none_or(|pump| pump.figures.kind == crate::register::PumpKind::Submersible),
            says: pump.map_or_else(
                || "not entered yet".to_owned(),
                |pump| pump.figures.kind.to_string(),
            ),
        },
        tubing: parts
            .tubing_in_use()
            .map(|run| run.figures.words(units))
            .collect(),
        shown: if hold.is_some() {
            water_loop::Shown::CleanOut
        } else {
            water_loop::Shown::Growing
        },
    })
}
