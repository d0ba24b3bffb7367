//! The card as it is issued: method, volumes, lot and dose, frozen. Whoever changes the register
//! afterwards does not change what was signed.

use chrono::{NaiveDate, NaiveDateTime};
use serde::{Deserialize, Serialize};

pub use crate::methods::{
    Least, Limit as FrozenLimit, Marks, Phase, ReadingKind, Step as FrozenStep, StepKind,
};

use super::airing::Closed;
use super::other_agents::FrozenOther;
use super::{MediaWas, TargetSource, Water, at_minute};
use crate::clock::Moment;
use crate::ids::{JugId, LotId, MethodVersionId, PersonId, SystemId};
use crate::register::jugs::Jug;
use crate::science::peroxide::PeroxideError;
use crate::science::quantity::{Known, MassFraction, OutOfRange, Volume, WaterTemperature, litres};
use crate::science::stored::{
    CubicMetres, Grams, Millilitres, Millimetres, Minutes, Permille, TenthsCelsius,
};
use crate::science::strength::Strength;
use crate::science::units::Units;
use crate::science::{peroxide, show, water};
use crate::site::bands;
use crate::text::{Name, Note};

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
    /// On the wall clock, as the hours of the site were.
    pub ends: NaiveDateTime,
    pub booked: FrozenPerson,
    /// Who pours the concentrate.
    pub pours: FrozenPerson,
    pub others: String,
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
    pub crop: Name,
    pub planted_on: NaiveDate,
    pub comes_off: Option<NaiveDate>,
    pub next_on: Option<NaiveDate>,
    pub next_crop: Option<Name>,
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
    /// Heights over the reservoir's floor with the water in, and with the concentrate too, pump off.
    pub levels: Option<FrozenLevels>,
    /// The weakest and the strongest that the solution may be; cards of before had none.
    pub range: Option<(Strength, Strength)>,
    /// What that range is made of, the largest first.
    #[serde(default)]
    pub range_parts: Vec<FrozenShare>,
    pub sentence: String,
    pub lines: Vec<FrozenLine>,
    pub label_rule: FrozenRule,
    pub hazards: FrozenHazards,
    /// The rinses that the sum expects; cards of before had none.
    #[serde(default)]
    pub rinse: Option<FrozenRinse>,
    /// The airing of the room; cards of before had none.
    #[serde(default)]
    pub airing: Option<FrozenAiring>,
    /// Whether the room is closed through the soak where the air over the solution asks for it; cards of before
    /// count from the last pour.
    #[serde(default)]
    pub looks_at_soak: bool,
    /// What else the method puts in; cards of before had none.
    #[serde(default)]
    pub others: Vec<FrozenOther>,
    /// What would come off if all of it broke down.
    pub oxygen: String,
    pub warnings: Vec<String>,
    pub density_model: String,
}

/// What one figure brings to the range of the strength.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenShare {
    pub what: String,
    /// How far the figure may be off, and how that is known.
    pub how: String,
    /// Its share in the square of the range, in thousandths.
    pub permille: Permille,
}

/// The rinses that the method asks for beside those that the sum expects. A strip decides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenRinse {
    /// The method's, at least.
    pub planned: i64,
    /// Expected with cautious mixing; none where more than a plan is worth.
    pub expected: Option<i64>,
    /// Expected where each fill mixes completely.
    pub if_mixed: Option<i64>,
    /// Expected with the heel let out before each.
    pub heel_out: Option<i64>,
    pub limit_milli: i64,
    /// What stays behind when all has drained: the heel, and what the media keep.
    pub stays: Millilitres,
    pub heel: Millilitres,
    /// Water of one rinse.
    pub fill: Millilitres,
    pub planned_water: Millilitres,
    pub expected_water: Option<Millilitres>,
    /// Purified water of the dose.
    pub purified: Millilitres,
    /// From before the first rinse on.
    pub after: Vec<FrozenAfterRinse>,
}

/// What is expected to be left after so many rinses.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenAfterRinse {
    pub rinses: i64,
    pub cautious: Strength,
    /// Where each fill mixes completely.
    pub complete: Strength,
}

/// What vapour can stand in the room at most, and how long its air takes to clear.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenAiring {
    pub room: Name,
    pub air: Option<CubicMetres>,
    /// Air changes an hour.
    pub per_hour: Option<f64>,
    /// Upper bounds in still air, ppm.
    pub over_solution: f64,
    pub over_concentrate: f64,
    /// The workplace limit that the times lead to, ppm.
    pub limit: f64,
    /// Whose limit that is and which other source differs, in words; cards issued before a site could
    /// choose have none.
    #[serde(default)]
    pub limit_by: String,
    /// The same of the vapour.
    #[serde(default)]
    pub vapour_by: String,
    pub after_solution: Option<Minutes>,
    pub after_concentrate: Option<Minutes>,
    /// After the solution, with vents open and a fan on.
    pub well_aired: Option<Minutes>,
    /// In the closed room, if all the concentrate of the dose broke down.
    pub oxygen_percent: Option<f64>,
    /// Who says, or what shows, that the air stays below the limit while solution stands open.
    #[serde(default)]
    pub soak_air: Note,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenLot {
    pub id: LotId,
    pub code: String,
    pub product: String,
    pub label: Strength,
    pub label_reference: String,
    pub label_says: String,
    #[serde(default)]
    pub reentry: Option<Minutes>,
    pub kept_in: String,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenJug {
    pub id: JugId,
    pub name: String,
    pub capacity: Millilitres,
    pub mark: Millilitres,
    /// How far its scale may be off; none for the usual figure, and on cards of before.
    #[serde(default)]
    pub scale_off: Option<Permille>,
}

impl FrozenJug {
    pub fn of(jug: &Jug) -> Self {
        Self {
            id: jug.id,
            name: jug.figures.name.to_string(),
            capacity: jug.figures.capacity,
            mark: jug.figures.mark,
            scale_off: jug.figures.scale_off,
        }
    }
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
    /// None where the table of the site has no band for the strength.
    pub concentrate: Option<FrozenHazard>,
    pub solution: Option<FrozenHazard>,
}

/// One dated band of a rule set, as it was looked up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenHazard {
    /// The strength that was looked up, worked out and never typed.
    pub percent_ww: f64,
    /// 'Danger', 'Warning', or nothing.
    pub signal_word: String,
    pub classes: String,
    pub statements: Vec<String>,
    pub pictograms: Vec<String>,
    pub source: String,
    pub in_force_from: NaiveDate,
}

impl FrozenHazard {
    /// 'H318, can blind: damages eyes for good', one a statement.
    pub fn statements_in_words(&self) -> Vec<String> {
        let codes = self.statements.iter();
        codes
            .map(|code| format!("{code}, {}", bands::statement_words(code)))
            .collect()
    }
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

    /// The step with which the solution is out: the first rinse, or what follows the soak where none is marked.
    pub fn first_rinse(&self) -> Option<&FrozenStep> {
        let steps = &self.method.steps;
        let of = |phase| steps.iter().find(|step| step.phase == phase);
        let marked = steps.iter().find(|step| step.marks == Marks::Rinse);
        marked
            .or_else(|| of(Phase::Rinse))
            .or_else(|| of(Phase::Teardown))
    }

    pub fn step(&self, no: i64) -> Option<&FrozenStep> {
        self.method.steps.iter().find(|step| step.no == no)
    }
}

impl FrozenDose {
    /// For how long the room stays closed to others.
    pub fn closed(&self) -> Closed {
        let closed = Closed::of(self.lot.reentry, self.airing.as_ref());
        match self.looks_at_soak {
            true => closed,
            false => closed.from_the_last_pour(),
        }
    }

    /// 'between 5.6 and 6.3 % w/v'.
    pub fn range_words(&self) -> Option<String> {
        self.range
            .map(|(weakest, strongest)| show::between_strengths(weakest, strongest))
    }

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
