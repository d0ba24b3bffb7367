//! The sheet for programs: one object, each number with its unit at the end of its key.

use std::io::{self, Write};

use serde::Serialize;

use super::Complaint;
use crate::science::dilution::{
    Batch, DoseSheet, LabelRule, LabelRuleReason, Poured, Solution, StrengthRange,
};
use crate::science::quantity::{
    in_grams, in_grams_per_litre, in_kilograms, in_kilograms_per_litre, in_litres,
};
use crate::science::strength::Strength;
use crate::science::units::Units;

/// The whole answer.
#[derive(Serialize)]
struct Sheet {
    /// What to pour, in one sentence, metric.
    sentence: String,
    celsius: f64,
    /// The concentrate as it is reckoned with: the assay, or the label, or either less its ageing.
    stock: SolutionJson,
    /// `label`, `assay` or `estimated`.
    stock_known: &'static str,
    target: SolutionJson,
    heel_l: f64,
    retained_l: f64,
    residual: StrengthJson,
    /// Heel and retained water.
    already_l: f64,
    already_kg: f64,
    peroxide_total_g: f64,
    peroxide_already_g: f64,
    peroxide_needed_g: f64,
    /// The exact dose, before rounding to marks.
    concentrate_l: f64,
    concentrate_kg: f64,
    water_l: f64,
    water_kg: f64,
    /// The finished solution: what the system holds.
    finished_l: f64,
    finished_kg: f64,
    batches: Vec<BatchJson>,
    /// What the rounded pours give; null without a jug.
    poured: Option<PouredJson>,
    /// Percent against percent; null where the stock or the target has no percent.
    label_rule: Option<LabelRuleJson>,
    /// Between what the strength lies in about 95 of 100 cases, and what that is made of.
    range: Option<RangeJson>,
    warnings: Vec<WarningJson>,
    density_model: &'static str,
}

#[derive(Serialize)]
struct RangeJson {
    weakest: StrengthJson,
    strongest: StrengthJson,
    strongest_percent_ww: f64,
    made_of: Vec<ShareJson>,
}

#[derive(Serialize)]
struct ShareJson {
    what: &'static str,
    how: String,
    /// Part of the square of the combined uncertainty.
    share_percent: f64,
}

#[derive(Serialize)]
struct StrengthJson {
    value: f64,
    /// `% w/w`, `% w/v`, `vol`, `g/L` or `mg/L`.
    basis: &'static str,
}

#[derive(Serialize)]
struct SolutionJson {
    #[serde(flatten)]
    strength: StrengthJson,
    percent_ww: f64,
    density_kg_per_l: f64,
    peroxide_g_per_l: f64,
}

#[derive(Serialize)]
struct BatchJson {
    concentrate_l: f64,
    water_l: f64,
    /// The batch by itself, before it meets the water already there.
    percent_ww: f64,
    pours_ml: Vec<i64>,
}

#[derive(Serialize)]
struct PouredJson {
    sum_l: f64,
    pours: usize,
    gives: StrengthJson,
    percent_ww: f64,
}

#[derive(Serialize)]
struct LabelRuleJson {
    stock_percent: f64,
    target_percent: f64,
    concentrate_l: f64,
    misses_l: f64,
    misses_percent: f64,
    gives: Option<StrengthJson>,
    reasons: Vec<&'static str>,
    verdict: String,
}

#[derive(Serialize)]
struct WarningJson {
    code: &'static str,
    words: String,
}

#[derive(Serialize)]
struct RefusalJson<'a> {
    refused: Vec<ComplaintJson<'a>>,
}

#[derive(Serialize)]
struct ComplaintJson<'a> {
    /// The option that has to change; null when it is the dose itself.
    option: Option<&'static str>,
    code: &'static str,
    words: &'a str,
}

impl From<Strength> for StrengthJson {
    fn from(strength: Strength) -> Self {
        Self {
            value: strength.value(),
            basis: strength.basis().code(),
        }
    }
}

impl From<&Solution> for SolutionJson {
    fn from(solution: &Solution) -> Self {
        Self {
            strength: solution.strength.into(),
            percent_ww: solution.fraction.percent(),
            density_kg_per_l: in_kilograms_per_litre(solution.density),
            peroxide_g_per_l: in_grams_per_litre(solution.concentration),
        }
    }
}

impl From<&Batch> for BatchJson {
    fn from(batch: &Batch) -> Self {
        Self {
            concentrate_l: in_litres(batch.concentrate),
            water_l: in_litres(batch.water),
            percent_ww: batch.fraction.percent(),
            pours_ml: batch.pours.iter().map(|pour| pour.get()).collect(),
        }
    }
}

impl From<Poured> for PouredJson {
    fn from(poured: Poured) -> Self {
        Self {
            sum_l: in_litres(poured.sum),
            pours: poured.count,
            gives: poured.gives.into(),
            percent_ww: poured.fraction.percent(),
        }
    }
}

impl From<&StrengthRange> for RangeJson {
    fn from(range: &StrengthRange) -> Self {
        let budget = &range.budget;
        Self {
            weakest: range.weakest.into(),
            strongest: range.strongest.into(),
            strongest_percent_ww: range.strongest_fraction.percent(),
            made_of: budget
                .contributions
                .iter()
                .map(|part| ShareJson {
                    what: part.what,
                    how: part.how.clone(),
                    share_percent: budget.share(part) * 100.0,
                })
                .collect(),
        }
    }
}

impl From<&LabelRule> for LabelRuleJson {
    fn from(rule: &LabelRule) -> Self {
        Self {
            stock_percent: rule.stock_percent,
            target_percent: rule.target_percent,
            concentrate_l: in_litres(rule.concentrate),
            misses_l: in_litres(rule.misses),
            misses_percent: rule.misses_by.value * 100.0,
            gives: rule.gives.map(Into::into),
            reasons: rule.reasons.iter().map(LabelRuleReason::code).collect(),
            verdict: rule.verdict(),
        }
    }
}

impl From<&DoseSheet> for Sheet {
    fn from(sheet: &DoseSheet) -> Self {
        Self {
            sentence: sheet.sentence(Units::Metric),
            celsius: sheet.ask.temperature.degrees(),
            stock: (&sheet.stock).into(),
            stock_known: sheet.stock_known.code(),
            target: (&sheet.target).into(),
            heel_l: in_litres(sheet.ask.already.heel),
            retained_l: in_litres(sheet.ask.already.retained),
            residual: sheet.ask.already.residual.into(),
            already_l: in_litres(sheet.already.volume),
            already_kg: in_kilograms(sheet.already.mass),
            peroxide_total_g: in_grams(sheet.peroxide_total),
            peroxide_already_g: in_grams(sheet.peroxide_already),
            peroxide_needed_g: in_grams(sheet.peroxide_needed),
            concentrate_l: in_litres(sheet.concentrate.volume),
            concentrate_kg: in_kilograms(sheet.concentrate.mass),
            water_l: in_litres(sheet.water.volume),
            water_kg: in_kilograms(sheet.water.mass),
            finished_l: in_litres(sheet.finished.volume),
            finished_kg: in_kilograms(sheet.finished.mass),
            batches: sheet.batches.iter().map(Into::into).collect(),
            poured: sheet.poured.map(Into::into),
            label_rule: sheet.label_rule.as_ref().ok().map(Into::into),
            range: sheet.range.as_ref().map(Into::into),
            warnings: sheet
                .warnings
                .iter()
                .map(|warning| WarningJson {
                    code: warning.code(),
                    words: warning.words(),
                })
                .collect(),
            density_model: sheet.density_model,
        }
    }
}

pub(super) fn write(sheet: &DoseSheet, out: &mut impl Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &Sheet::from(sheet))?;
    writeln!(out)
}

pub(super) fn write_refusal(complaints: &[Complaint], err: &mut impl Write) -> io::Result<()> {
    let refused = complaints
        .iter()
        .map(|complaint| ComplaintJson {
            option: complaint.option,
            code: complaint.code,
            words: &complaint.words,
        })
        .collect();
    serde_json::to_writer_pretty(&mut *err, &RefusalJson { refused })?;
    writeln!(err)
}
