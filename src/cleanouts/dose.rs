//! The dose sheet: from what the register and the stock say to every figure of one dose, or to what
//! stands in its way. Pure; what it returns is what a card freezes.

use super::card::{
    FrozenBatch, FrozenDose, FrozenHazards, FrozenJug, FrozenLevels, FrozenLine, FrozenLot,
    FrozenRule, FrozenShare, whole,
};
use super::rinse_plan::Wetted;
use super::{Cleanout, TargetSource};
use crate::science::dilution::{
    AlreadyThere, DoseAsk, DoseRefusal, DoseSheet, DoseTolerances, DoseWarning, Jug, JugError,
    NoLabelRule, OwnTolerance, Stock, StrengthRange, SystemVolume, dose,
};
use crate::science::flood::ReturnFit;
use crate::science::quantity::{
    Area, Known, MassFraction, OutOfRange, Volume, WaterTemperature, litres,
};
use crate::science::show;
use crate::science::stored::{Grams, Millilitres, Millimetres, Permille};
use crate::science::uncertainty::Budget;
use crate::science::units::Units;

/// What the register says that the system holds.
#[derive(Clone, Debug)]
pub struct Held {
    pub used: SystemVolume,
    /// How far it may be off, in litres.
    pub range: Budget,
    /// How far measured and computed are apart, in words, when both are known.
    pub verdict: Option<String>,
    pub too_far_apart: bool,
    pub already: AlreadyThere,
    /// What stays behind when all has drained: the heel, and what the media keep.
    pub heel: Volume,
    pub retained: Volume,
    /// How the volume comes about, part by part.
    pub lines: Vec<FrozenLine>,
    /// Free in the reservoir over the heel.
    pub room: Volume,
    /// Plan area of a reservoir with straight walls.
    pub plan: Option<Area>,
    /// Whether the reservoir takes back all that drains from the clean-out level.
    pub drains_back: ReturnFit,
    /// What somebody has to look at before the system is flooded.
    pub remarks: Vec<String>,
}

impl Held {
    /// Its water, as rinsing needs it.
    pub fn wetted(&self) -> Wetted {
        Wetted {
            whole: self.used.volume,
            heel: self.heel,
            retained: self.retained,
        }
    }
}

/// What the stock says of the lot that was chosen.
#[derive(Clone, Debug)]
pub struct Given {
    pub lot: FrozenLot,
    pub stock: Stock,
    /// How far its strength may be off, where the stock knows better than usual.
    pub tolerance: Option<OwnTolerance>,
    pub on_hand: Millilitres,
    /// What other open clean-outs have chosen from the same lot.
    pub needed_elsewhere: Millilitres,
    /// Retest due, opened long ago: what somebody has to look at.
    pub remark: Option<String>,
}

/// Why there is no sheet.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoSheet {
    #[error(transparent)]
    Refused(#[from] DoseRefusal),
    #[error("The jug cannot measure this: {0}")]
    Jug(#[from] JugError),
    #[error("{0}")]
    JugTooSmall(String),
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// Works the dose of a clean-out from what the register and the stock say.
pub fn work_out(
    cleanout: &Cleanout,
    held: &Held,
    (stock, tolerance): (Stock, Option<OwnTolerance>),
    jug: &FrozenJug,
) -> Result<DoseSheet, NoSheet> {
    let mut ask = ask(cleanout, held, (stock, tolerance))?;
    with_jug(&mut ask, jug)?;
    let sheet = dose(&ask)?;
    if sheet.poured.is_none() {
        let words = sheet.warnings.iter().map(DoseWarning::words);
        return Err(NoSheet::JugTooSmall(words.collect::<Vec<_>>().join(" ")));
    }
    Ok(sheet)
}

/// Asks for pours with a jug, which go up to its next mark.
pub fn with_jug(ask: &mut DoseAsk, jug: &FrozenJug) -> Result<(), JugError> {
    ask.jug = Some(Jug::new(jug.capacity.volume(), jug.mark.volume())?);
    if let Some(tolerances) = &mut ask.tolerances {
        tolerances.jug = jug
            .scale_off
            .map(|off| OwnTolerance::entered(off, &format!("the jug '{}'", jug.name)));
    }
    Ok(())
}

/// What is asked of the dose, all but the jug.
fn ask(
    cleanout: &Cleanout,
    held: &Held,
    (stock, tolerance): (Stock, Option<OwnTolerance>),
) -> Result<DoseAsk, NoSheet> {
    let temperature = WaterTemperature::try_from(cleanout.temperature.celsius()?)?;
    let mut ask = DoseAsk::new(stock, cleanout.target, held.used, temperature);
    ask.already = held.already;
    ask.batch_room = Some(held.room);
    ask.reservoir_plan = held.plan;
    ask.tolerances = Some(DoseTolerances {
        volume: held.range.clone(),
        stock: tolerance,
        jug: None,
    });
    Ok(ask)
}

/// The dose before a jug is chosen: nothing is poured by it, but airing can be reckoned.
pub fn without_jug(
    cleanout: &Cleanout,
    held: &Held,
    stock: (Stock, Option<OwnTolerance>),
) -> Result<DoseSheet, NoSheet> {
    Ok(dose(&ask(cleanout, held, stock)?)?)
}

/// The strongest that the solution is while it is handled, by which its class is looked up: a batch
/// stands in the reservoir before it meets the water in the media. It is the upper end of its range.
pub fn strongest(sheet: &DoseSheet) -> MassFraction {
    let most = handled_at(sheet);
    let upwards = sheet.range.as_ref().map_or(1.0, StrengthRange::upwards);
    MassFraction::new(most.get() * upwards).unwrap_or(most)
}

/// The same as it is reckoned, without its range.
pub fn handled_at(sheet: &DoseSheet) -> MassFraction {
    let batches = sheet.batches.iter().map(|batch| batch.fraction);
    batches
        .chain(sheet.poured.map(|poured| poured.fraction))
        .fold(
            sheet.target.fraction,
            |most, one| if one > most { one } else { most },
        )
}

/// The sheet as it is shown and, once signed, kept.
pub fn freeze(
    cleanout: &Cleanout,
    held: &Held,
    given: &Given,
    jug: &FrozenJug,
    sheet: &DoseSheet,
    hazards: FrozenHazards,
    units: Units,
) -> Result<FrozenDose, NoSheet> {
    let batches = sheet
        .batches
        .iter()
        .map(|batch| {
            Ok(FrozenBatch {
                pours: batch.pours.clone(),
                water: whole(batch.water)?,
            })
        })
        .collect::<Result<Vec<_>, OutOfRange>>()?;
    let gives = sheet
        .poured
        .map_or(sheet.target.strength, |poured| poured.gives);
    Ok(FrozenDose {
        lot: given.lot.clone(),
        jug: jug.clone(),
        stock: sheet.stock.strength,
        stock_known: sheet.stock_known,
        target: cleanout.target,
        target_source: cleanout.target_source,
        target_reference: cleanout.target_reference.clone(),
        temperature: cleanout.temperature,
        water_kind: cleanout.water,
        media_was: cleanout.media_was,
        volume_known: held.used.known,
        heel: whole(held.already.heel)?,
        retained: whole(held.already.retained)?,
        concentrate: whole(sheet.concentrate.volume)?,
        concentrate_mass: Grams::nearest(sheet.concentrate.mass)?,
        water: whole(sheet.water.volume)?,
        water_mass: Grams::nearest(sheet.water.mass)?,
        finished: whole(sheet.finished.volume)?,
        batches,
        gives,
        levels: levels(held, sheet)?,
        range: sheet
            .range
            .as_ref()
            .map(|range| (range.weakest, range.strongest)),
        range_parts: range_parts(sheet)?,
        sentence: sheet.sentence(units),
        lines: lines(cleanout, held, sheet, units),
        label_rule: label_rule(sheet)?,
        hazards,
        rinse: None,
        airing: None,
        looks_at_soak: true,
        others: Vec::new(),
        oxygen: show::volume(sheet.oxygen(), Units::Metric),
        warnings: warnings(cleanout, held, given, sheet, units),
        density_model: sheet.density_model.to_owned(),
    })
}

/// Shares below this are left out: a thousandth changes nothing that is shown.
const LEAST_SHARE: f64 = 0.001;

/// What the range is made of.
fn range_parts(sheet: &DoseSheet) -> Result<Vec<FrozenShare>, OutOfRange> {
    let Some(range) = &sheet.range else {
        return Ok(Vec::new());
    };
    let budget = &range.budget;
    let shares = budget
        .contributions
        .iter()
        .map(|part| (part, budget.share(part)));
    shares
        .filter(|(_, share)| *share >= LEAST_SHARE)
        .map(|(part, share)| {
            Ok(FrozenShare {
                what: part.what.to_owned(),
                how: part.how.clone(),
                permille: Permille::nearest(share.min(1.0))?,
            })
        })
        .collect()
}

/// Heights of the water over the reservoir's floor, pump off.
fn levels(held: &Held, sheet: &DoseSheet) -> Result<Option<FrozenLevels>, OutOfRange> {
    let (Some(plan), Some(levels)) = (held.plan, sheet.levels) else {
        return Ok(None);
    };
    let heel = held.already.heel / plan;
    Ok(Some(FrozenLevels {
        water: Millimetres::nearest(heel + levels.water)?,
        mix: Millimetres::nearest(heel + levels.mix)?,
    }))
}

/// Every line: how the volume comes about, then the lines of the balance.
fn lines(cleanout: &Cleanout, held: &Held, sheet: &DoseSheet, units: Units) -> Vec<FrozenLine> {
    let mut lines = held.lines.clone();
    for line in sheet.lines(units) {
        // The parts of the volume stand above, with more words.
        if !held.lines.is_empty() && matches!(line.key, "heel" | "retained") {
            continue;
        }
        let mut frozen = FrozenLine {
            part: line.part.words().to_owned(),
            key: line.key.to_owned(),
            label: line.label,
            working: line.working,
            result: line.result,
            known: line.known,
        };
        match line.key {
            "system" => {
                frozen.label = "Reckoned with".to_owned();
                frozen.working = held.verdict.clone().unwrap_or_default();
            }
            "target" => {
                frozen.working = format!("{}, {}", cleanout.target, source_words(cleanout));
                frozen.known = match cleanout.target_source {
                    TargetSource::Label => Known::Label,
                    TargetSource::Adviser | TargetSource::None => Known::Entered,
                };
            }
            _ => {}
        }
        lines.push(frozen);
    }
    lines
}

/// 'by the label, section 4', 'by nobody: no source is named'.
pub fn source_words(cleanout: &Cleanout) -> String {
    let reference = match cleanout.target_reference.as_str() {
        "" => String::new(),
        reference => format!(", {reference}"),
    };
    match cleanout.target_source {
        TargetSource::Label => format!("by the label{reference}"),
        TargetSource::Adviser => format!("by an adviser{reference}"),
        TargetSource::None => "no source named".to_owned(),
    }
}

fn label_rule(sheet: &DoseSheet) -> Result<FrozenRule, OutOfRange> {
    match &sheet.label_rule {
        Ok(rule) => Ok(FrozenRule {
            working: format!(
                "{} × {} ÷ {}",
                show::volume(sheet.finished.volume, Units::Metric),
                show::figures(rule.target_percent, 4),
                show::figures(rule.stock_percent, 4)
            ),
            concentrate: Some(whole(rule.concentrate)?),
            verdict: rule.verdict(),
        }),
        Err(none @ NoLabelRule::NoPercent) => Ok(FrozenRule {
            working: String::new(),
            concentrate: None,
            verdict: none.words().to_owned(),
        }),
    }
}

/// What somebody has to look at before pouring.
fn warnings(
    cleanout: &Cleanout,
    held: &Held,
    given: &Given,
    sheet: &DoseSheet,
    units: Units,
) -> Vec<String> {
    let v = |volume: Volume| show::volume(volume, units);
    let mut warnings = Vec::new();
    if cleanout.target_source == TargetSource::None {
        warnings.push(format!(
            "Nobody is named who says that {} is right here. Enter the label or the adviser that it comes from; the product label wins.",
            cleanout.target
        ));
    }
    if let Some(remark) = &given.remark {
        warnings.push(remark.clone());
    }
    warnings.extend(sheet.warnings.iter().map(DoseWarning::words));
    if held.too_far_apart
        && let Some(verdict) = &held.verdict
    {
        warnings.push(verdict.clone());
    }
    warnings.extend(held.remarks.iter().cloned());
    if sheet.batches.len() > 1 {
        warnings.push(format!(
            "The reservoir has {} free over the heel, so the dose is mixed in {} batches, each pumped into the benches before the next.",
            v(held.room),
            sheet.batches.len()
        ));
    }
    if !held.drains_back.fits {
        warnings.push(format!(
            "When the benches drain, {} stand in the reservoir, {} more than it takes. Drain to the outlet in parts; never all back at once.",
            v(held.drains_back.drained),
            v(-held.drains_back.spare)
        ));
    }
    if !cleanout.water.is_purified() {
        warnings.push(format!(
            "The water is {}: metals and organic matter in it break peroxide down. Take distilled or reverse-osmosis water, or read a strip before the soak and again during it.",
            cleanout.water
        ));
    }
    if let Some(on_hand) = cleanout.water_on_hand
        && on_hand.volume() < sheet.water.volume
    {
        warnings.push(format!(
            "{} of purified water are on hand and {} are needed: {} short.",
            v(on_hand.volume()),
            v(sheet.water.volume),
            v(sheet.water.volume - on_hand.volume())
        ));
    }
    let needs = sheet.stock_drawn() + given.needed_elsewhere.volume();
    if given.needed_elsewhere.get() > 0 && given.on_hand.volume() < needs {
        warnings.push(format!(
            "Lot {} has {}; this dose takes {} and other open clean-outs take {}: {} short in all.",
            given.lot.code,
            v(given.on_hand.volume()),
            v(sheet.stock_drawn()),
            v(given.needed_elsewhere.volume()),
            v(needs - given.on_hand.volume())
        ));
    }
    warnings
}

/// What the lot is short of for this dose alone; such a card is not issued.
pub fn short_of(given: &Given, sheet: &DoseSheet) -> Option<Volume> {
    let short = sheet.stock_drawn() - given.on_hand.volume();
    (short > litres(0.0)).then_some(short)
}
