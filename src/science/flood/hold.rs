//! The sum of a system, line by line, and whether the reservoir takes back what drains.

use std::f64::consts::PI;

use super::{Bench, BenchWater, FREEBOARD_MM, FloodRefusal, MARGIN_OVER_MEDIA_MM};
use crate::science::dilution::{AlreadyThere, SystemVolume};
use crate::science::quantity::{
    Known, Length, Ratio, Volume, in_litres, in_millimetres, litres, millimetres, within,
};
use crate::science::show;
use crate::science::strength::Strength;
use crate::science::units::Units;

/// A measured fill this far from the computed volume means that a measure is wrong: 15 %.
pub const FILL_APART_WARN: f64 = 0.15;

/// A length of tube that is full when the system runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tube {
    /// Inside diameter.
    pub bore: Length,
    /// Length.
    pub length: Length,
}

impl Tube {
    /// What it holds: V = π d² L / 4.
    ///
    /// ```
    /// use slackwater::science::flood::Tube;
    /// use slackwater::science::quantity::{in_litres, metres, millimetres};
    /// let fill = Tube { bore: millimetres(25.0), length: metres(4.7) };
    /// assert!((in_litres(fill.volume()) - 2.307).abs() < 0.001);
    /// ```
    pub fn volume(&self) -> Volume {
        self.bore * self.bore * self.length * (PI / 4.0)
    }
}

/// The tank that the pump draws from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reservoir {
    /// What it takes to its safe full mark.
    pub capacity: Volume,
    /// What the pump leaves when it sucks air.
    pub heel: Volume,
    /// What has to stand over the heel while the benches are flooded, so that the pump stays
    /// covered.
    pub over_heel: Volume,
}

/// One water loop: what the water of one reservoir touches.
#[derive(Clone, Debug, PartialEq)]
pub struct WaterLoop {
    /// The benches, in the order in which they are numbered.
    pub benches: Vec<Bench>,
    /// The tubing.
    pub tubing: Vec<Tube>,
    /// The reservoir.
    pub reservoir: Reservoir,
}

/// How high the benches are flooded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FloodTo {
    /// As while a crop grows.
    Overflow,
    /// Over all media, with the riser on.
    CleanOut {
        /// How far over the highest media.
        margin: Length,
        /// How much wall has to be left.
        freeboard: Length,
    },
}

impl FloodTo {
    /// A clean-out with 10 mm over the media and 15 mm of wall left.
    pub fn clean_out() -> Self {
        Self::CleanOut {
            margin: millimetres(MARGIN_OVER_MEDIA_MM),
            freeboard: millimetres(FREEBOARD_MM),
        }
    }
}

/// One bench of a sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BenchHold {
    /// Its number, from 1.
    pub number: usize,
    /// How much the clean-out riser adds to the overflow; nothing without a riser.
    pub riser: Length,
    /// The water in it.
    pub water: BenchWater,
    /// How the fractions of its media are known.
    pub media_known: Option<Known>,
}

/// What a system holds at one flood level.
#[derive(Clone, Debug, PartialEq)]
pub struct SystemHold {
    /// Each bench.
    pub benches: Vec<BenchHold>,
    /// The tubing, full.
    pub tubing: Volume,
    /// What has to stand over the heel.
    pub over_heel: Volume,
    /// The heel.
    pub heel: Volume,
    /// What the reservoir takes.
    pub capacity: Volume,
}

/// Whether the reservoir takes back what drains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReturnFit {
    /// What stands in the reservoir when all has drained.
    pub drained: Volume,
    /// What is left to the full mark; less than nothing when it runs over.
    pub spare: Volume,
    /// Whether it fits.
    pub fits: bool,
}

/// One line of the sum, for a page.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldLine {
    /// A stable name: `bench`, `tubing`, `retained`, `over_heel`, `heel`, `sum`.
    pub key: &'static str,
    /// Which bench, for a bench.
    pub bench: Option<usize>,
    /// What the quantity is.
    pub label: String,
    /// How it comes about; empty for a figure that was given.
    pub working: String,
    /// The volume.
    pub volume: Volume,
    /// How it is known.
    pub known: Known,
}

/// Sums up a system.
///
/// # Errors
/// A bench that cannot be flooded so high, a reservoir that does not hold its heel and cover, a
/// measure outside its range, or no bench at all.
pub fn hold(system: &WaterLoop, to: FloodTo) -> Result<SystemHold, FloodRefusal> {
    if system.benches.is_empty() {
        return Err(FloodRefusal::NoBench);
    }
    let reservoir = &system.reservoir;
    for (what, volume) in [
        ("What the reservoir takes", reservoir.capacity),
        ("The heel", reservoir.heel),
        ("The water over the heel", reservoir.over_heel),
    ] {
        within(what, in_litres(volume), 0.0, 100_000.0, "\u{a0}L")?;
    }
    let needed = reservoir.heel + reservoir.over_heel;
    if needed > reservoir.capacity {
        return Err(FloodRefusal::ReservoirTooSmall {
            needed,
            capacity: reservoir.capacity,
        });
    }
    for tube in &system.tubing {
        within(
            "The bore of a tube",
            in_millimetres(tube.bore),
            1.0,
            500.0,
            "\u{a0}mm",
        )?;
        within(
            "The length of a tube",
            in_millimetres(tube.length),
            0.0,
            1e6,
            "\u{a0}mm",
        )?;
    }
    let benches = system
        .benches
        .iter()
        .enumerate()
        .map(|(place, bench)| bench_hold(place + 1, bench, to))
        .collect::<Result<_, _>>()?;
    Ok(SystemHold {
        benches,
        tubing: system
            .tubing
            .iter()
            .fold(litres(0.0), |sum, tube| sum + tube.volume()),
        over_heel: reservoir.over_heel,
        heel: reservoir.heel,
        capacity: reservoir.capacity,
    })
}

fn bench_hold(number: usize, bench: &Bench, to: FloodTo) -> Result<BenchHold, FloodRefusal> {
    let (level, riser) = match to {
        FloodTo::Overflow => (bench.measures().overflow, millimetres(0.0)),
        FloodTo::CleanOut { margin, freeboard } => {
            let needed = bench.clean_out_level(margin, freeboard);
            if !needed.fits {
                return Err(FloodRefusal::WallTooLow {
                    bench: number,
                    level: needed.level,
                    wall: bench.measures().wall,
                    left: needed.freeboard,
                    freeboard,
                    lower: freeboard - needed.freeboard,
                });
            }
            (needed.level, needed.riser)
        }
    };
    Ok(BenchHold {
        number,
        riser,
        water: bench.water_at(level)?,
        media_known: bench.measures().bed.map(|bed| bed.known),
    })
}

impl SystemHold {
    fn over_benches(&self, part: impl Fn(&BenchWater) -> Volume) -> Volume {
        self.benches
            .iter()
            .fold(litres(0.0), |sum, bench| sum + part(&bench.water))
    }

    /// Water in the media that stays when they drain.
    pub fn retained(&self) -> Volume {
        self.over_benches(|water| water.retained)
    }

    /// Everything: what the dose is reckoned for. What the media retain belongs to it, because it
    /// mixes with the solution.
    pub fn total(&self) -> Volume {
        self.drained() + self.retained()
    }

    /// What stands in the reservoir when benches and tubing have drained.
    pub fn drained(&self) -> Volume {
        self.over_benches(|water| water.void + water.free)
            + self.tubing
            + self.over_heel
            + self.heel
    }

    /// What a first fill takes, with dry media and the heel in place.
    pub fn fill_when_dry(&self) -> Volume {
        self.total() - self.heel
    }

    /// What a later fill takes, with media that have drained and the heel in place.
    pub fn fill_when_wet(&self) -> Volume {
        self.fill_when_dry() - self.retained()
    }

    /// The water that is in the system before a dose, with media that have drained or are dry.
    pub fn already_there(&self, media_are_dry: bool, residual: Strength) -> AlreadyThere {
        let retained = if media_are_dry {
            litres(0.0)
        } else {
            self.retained()
        };
        AlreadyThere {
            heel: self.heel,
            retained,
            residual,
        }
    }

    /// Whether the reservoir takes back what drains.
    pub fn return_fit(&self) -> ReturnFit {
        let drained = self.drained();
        let spare = self.capacity - drained;
        ReturnFit {
            drained,
            spare,
            fits: spare.value >= -1e-9,
        }
    }

    /// The lines of the sum, in the order of the page.
    pub fn lines(&self) -> Vec<HoldLine> {
        let l = |volume| format!("{}\u{a0}L", show::fixed(in_litres(volume), 1));
        let mut lines: Vec<HoldLine> = Vec::with_capacity(self.benches.len() + 5);
        for bench in &self.benches {
            let water = &bench.water;
            let working = match bench.media_known {
                Some(_) => format!("{} in the media + {} over it", l(water.void), l(water.free)),
                None => String::new(),
            };
            lines.push(HoldLine {
                key: "bench",
                bench: Some(bench.number),
                label: format!(
                    "Bench {}, flooded to {}",
                    bench.number,
                    show::length(water.level, Units::Metric)
                ),
                working,
                volume: water.void + water.free,
                known: Known::Computed,
            });
        }
        let mut plain = |key, label: &str, working, volume, known| {
            lines.push(HoldLine {
                key,
                bench: None,
                label: label.to_owned(),
                working,
                volume,
                known,
            });
        };
        plain(
            "tubing",
            "Tubing, full",
            String::new(),
            self.tubing,
            Known::Computed,
        );
        let retained: Vec<String> = self
            .benches
            .iter()
            .filter(|bench| bench.water.retained.value > 0.0)
            .map(|bench| l(bench.water.retained))
            .collect();
        let measured = self
            .benches
            .iter()
            .filter_map(|bench| bench.media_known)
            .all(|known| known == Known::Measured);
        let known = if measured {
            Known::Measured
        } else {
            Known::Usual
        };
        plain(
            "retained",
            "Held in the media",
            retained.join(" + "),
            self.retained(),
            known,
        );
        plain(
            "over_heel",
            "Reservoir, over the heel",
            String::new(),
            self.over_heel,
            Known::Entered,
        );
        plain("heel", "Heel", String::new(), self.heel, Known::Entered);
        let parts: Vec<String> = lines.iter().map(|line| l(line.volume)).collect();
        lines.push(HoldLine {
            key: "sum",
            bench: None,
            label: "Sum of the parts".to_owned(),
            working: parts.join(" + "),
            volume: self.total(),
            known: Known::Computed,
        });
        lines
    }
}

/// The volume that doses are reckoned for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoldUsed {
    /// From dimensions and fractions.
    pub computed: Volume,
    /// The mean of the metered fills, if there are any. It overrides the computed volume.
    pub measured: Option<Volume>,
    /// The least and the most metered, if there are two fills or more.
    pub spread: Option<(Volume, Volume)>,
    /// How far the measured volume is above the computed one, as a share of the computed one.
    pub apart: Option<Ratio>,
    /// Whether they are so far apart that a measure must be wrong.
    pub too_far_apart: bool,
}

impl HoldUsed {
    /// The volume to use.
    pub fn volume(&self) -> Volume {
        self.measured.unwrap_or(self.computed)
    }

    /// How it is known.
    pub fn known(&self) -> Known {
        if self.measured.is_some() {
            Known::Measured
        } else {
            Known::Computed
        }
    }

    /// The same, ready for a dose.
    pub fn system_volume(&self) -> SystemVolume {
        SystemVolume {
            volume: self.volume(),
            known: self.known(),
        }
    }

    /// What a page says about the two, or nothing without a metered fill.
    pub fn verdict(&self, units: Units) -> Option<String> {
        let (measured, apart) = (self.measured?, self.apart?);
        let percent = show::fixed(apart.value.abs() * 100.0, 1);
        let side = if apart.value < 0.0 {
            "less than"
        } else {
            "more than"
        };
        let advice = if self.too_far_apart {
            " Something was measured wrongly: check depths, media and the meter before a dose."
        } else {
            ""
        };
        Some(format!(
            "Measured {}, {percent}\u{a0}% {side} the computed {}.{advice}",
            show::volume(measured, units),
            show::volume(self.computed, units)
        ))
    }
}

/// Settles which volume is used: the mean of metered fills of the whole system overrides the
/// computed one, and more than 15 % between them is flagged.
///
/// # Errors
/// A metered fill of nothing, or not a number.
///
/// ```
/// use slackwater::science::flood::settle;
/// use slackwater::science::quantity::{in_litres, litres};
/// let used = settle(litres(186.0), &[litres(185.4), litres(186.9)]).unwrap();
/// assert!((in_litres(used.volume()) - 186.15).abs() < 1e-9);
/// assert!(!used.too_far_apart);
/// assert!(settle(litres(186.0), &[litres(220.0)]).unwrap().too_far_apart);
/// ```
pub fn settle(computed: Volume, fills: &[Volume]) -> Result<HoldUsed, FloodRefusal> {
    if fills
        .iter()
        .any(|fill| !fill.value.is_finite() || fill.value <= 0.0)
    {
        return Err(FloodRefusal::NoFill);
    }
    let measured = (!fills.is_empty())
        .then(|| fills.iter().fold(litres(0.0), |sum, fill| sum + *fill) / fills.len() as f64);
    let least = fills
        .iter()
        .copied()
        .reduce(|a, b| if b < a { b } else { a });
    let most = fills
        .iter()
        .copied()
        .reduce(|a, b| if b > a { b } else { a });
    let spread = least.zip(most).filter(|_| fills.len() > 1);
    let apart = measured.map(|measured| (measured - computed) / computed);
    let too_far_apart = apart.is_some_and(|apart| apart.value.abs() > FILL_APART_WARN);
    Ok(HoldUsed {
        computed,
        measured,
        spread,
        apart,
        too_far_apart,
    })
}

/// The whole system from a metered fill: what the meter counted, and what was there before.
pub fn whole_from_fill(metered: Volume, already: &AlreadyThere) -> Volume {
    metered + already.volume()
}
