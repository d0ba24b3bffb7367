//! The card as it is issued: method, volumes, lot and dose, frozen. Whoever changes the register
//! afterwards does not change what was signed.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use serde::{Deserialize, Serialize};

pub use crate::methods::{
    Least, Limit as FrozenLimit, Marks, Phase, ReadingKind, Step as FrozenStep, StepKind,
};

use super::{MediaWas, TargetSource, Water, at_minute};
use crate::clock::Moment;
use crate::ids::{JugId, LotId, MethodVersionId, PersonId, SystemId};
use crate::science::peroxide::PeroxideError;
use crate::science::quantity::{Known, MassFraction, OutOfRange, Volume, WaterTemperature, litres};
use crate::science::stored::{Grams, Millilitres, Millimetres, Minutes, TenthsCelsius};
use crate::science::strength::Strength;
use crate::science::units::Units;
use crate::science::{peroxide, water};
use crate::text::Name;

/// The form of the JSON in which cards are kept. A changed form gets the next number, and the old
/// ones stay readable.
pub const FORM: u32 = 1;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenCard {
    pub form: u32,
    /// '27-0042'.
    pub number: String,
    pub site: Name,
    pub units: Units,
    pub system: FrozenSystem,
    pub planting: Option<FrozenPlanting>,
    pub starts_on: NaiveDate,
    /// Minutes after midnight, on the site's wall clock.
    pub starts_min: i64,
    pub length: Minutes,
    pub booked: FrozenPerson,
    pub issued_by: FrozenPerson,
    pub issued_at: Moment,
    pub method: FrozenMethod,
    pub dose: FrozenDose,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenSystem {
    pub id: SystemId,
    pub name: Name,
    pub room: Name,
    pub benches: Vec<FrozenBench>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenBench {
    pub name: String,
    /// Where the overflow stands while a crop grows.
    pub overflow: Millimetres,
    /// The riser that the clean-out needs, where it needs one.
    pub riser: Option<Millimetres>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenPlanting {
    pub crop: String,
    pub comes_off: Option<NaiveDate>,
    pub next_on: Option<NaiveDate>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenPerson {
    pub id: PersonId,
    pub name: Name,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenMethod {
    pub version_id: MethodVersionId,
    pub code: String,
    pub name: String,
    pub version: i64,
    pub soak: Minutes,
    pub rinses_at_least: i64,
    pub rinse_from: Minutes,
    pub rinse_to: Minutes,
    pub steps: Vec<FrozenStep>,
    pub limits: Vec<FrozenLimit>,
}

/// The dose sheet as it was signed: the figures for the run, and every line as it stood.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenDose {
    pub lot: FrozenLot,
    pub jug: FrozenJug,
    /// The strength of the stock as it was reckoned with, and how it was known.
    pub stock: Strength,
    pub stock_known: Known,
    pub target: Strength,
    pub target_source: TargetSource,
    pub target_reference: String,
    pub temperature: TenthsCelsius,
    pub water_kind: Water,
    pub media_was: MediaWas,
    pub volume_known: Known,
    pub heel: Millilitres,
    pub retained: Millilitres,
    pub concentrate: Millilitres,
    pub concentrate_mass: Grams,
    pub water: Millilitres,
    pub water_mass: Grams,
    pub finished: Millilitres,
    /// One, unless the reservoir is too small for the whole dose.
    pub batches: Vec<FrozenBatch>,
    /// What the rounded pours give.
    pub gives: Strength,
    /// How far over the level of the heel the reservoir stands with the water, and with the whole mix.
    pub levels: Option<FrozenLevels>,
    /// The least and the most the solution may be, where the volume is known as a range only.
    pub range: Option<(Strength, Strength)>,
    pub sentence: String,
    pub lines: Vec<FrozenLine>,
    pub label_rule: FrozenRule,
    pub hazards: FrozenHazards,
    pub warnings: Vec<String>,
    pub density_model: String,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenLot {
    pub id: LotId,
    pub code: String,
    pub product: String,
    pub label: Strength,
    pub label_reference: String,
    pub label_says: String,
    pub kept_in: String,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenJug {
    pub id: JugId,
    pub name: String,
    pub capacity: Millilitres,
    pub mark: Millilitres,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenBatch {
    pub pours: Vec<Millilitres>,
    pub water: Millilitres,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenLevels {
    pub water: Millimetres,
    pub mix: Millimetres,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenLine {
    pub part: String,
    pub key: String,
    pub label: String,
    pub working: String,
    pub result: String,
    pub known: Known,
}

/// The rule of percent against percent, as it stood beside the balance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenRule {
    pub working: String,
    pub concentrate: Option<Millilitres>,
    pub verdict: String,
}

/// What the concentrate and the working solution are classed as by their strength.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenHazards {
    pub rule_set: String,
    pub concentrate: FrozenHazard,
    pub solution: FrozenHazard,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenHazard {
    pub signal_word: String,
    pub classes: String,
    pub statements: String,
    pub pictograms: String,
    pub source: String,
    pub in_force_from: NaiveDate,
}

/// A pour with its place in the whole dose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pour {
    /// From 1, through all batches.
    pub no: i64,
    pub batch: usize,
    pub planned: Millilitres,
    /// All pours up to this one.
    pub sum: Millilitres,
}

impl FrozenCard {
    pub fn starts(&self) -> NaiveDateTime {
        at_minute(self.starts_on, self.starts_min)
    }

    pub fn ends(&self) -> NaiveDateTime {
        self.starts() + TimeDelta::minutes(self.length.get())
    }

    pub fn step(&self, no: i64) -> Option<&FrozenStep> {
        self.method.steps.iter().find(|step| step.no == no)
    }
}

impl FrozenDose {
    /// Every pour in its order, with what is in by then.
    pub fn pours(&self) -> Vec<Pour> {
        let mut sum = 0;
        let mut pours = Vec::new();
        for (batch, contents) in self.batches.iter().enumerate() {
            for planned in contents.pours.iter().copied() {
                sum += planned.get();
                // A frozen sum lies within the range of its type, because its volume did.
                let Ok(sum) = Millilitres::new(sum) else {
                    continue;
                };
                let no = pours.len() as i64 + 1;
                pours.push(Pour {
                    no,
                    batch,
                    planned,
                    sum,
                });
            }
        }
        pours
    }

    /// All pours together.
    pub fn poured_when_done(&self) -> Millilitres {
        self.pours()
            .last()
            .map_or(self.concentrate, |last| last.sum)
    }

    /// The strength the system comes to with so much concentrate really poured, by the balance of
    /// masses, on the basis of the target.
    ///
    /// w = (m₁ w₁) / (m₀ + m_water + m₁), with the water as on the sheet; water already there counts
    /// as free of peroxide.
    pub fn gives(&self, poured: Millilitres) -> Result<Strength, PeroxideError> {
        let temperature = WaterTemperature::try_from(self.temperature.celsius()?)?;
        let stock = self.stock.mass_fraction(temperature)?;
        let concentrate = poured.volume() * peroxide::density(stock, temperature)?;
        let already: Volume = self.heel.volume() + self.retained.volume();
        let water = (already + self.water.volume()) * water::density(temperature);
        let all = concentrate + water;
        let fraction = if all.value > 0.0 {
            MassFraction::new((concentrate / all).value * stock.get())?
        } else {
            MassFraction::ZERO
        };
        Strength::of_fraction(fraction, self.target.basis(), temperature)
    }
}

/// Millilitres to the whole one.
pub fn whole(volume: Volume) -> Result<Millilitres, OutOfRange> {
    Millilitres::nearest(volume.max(litres(0.0)))
}
