//! What somebody has to look at before pouring.

use super::{DoseAsk, DoseRefusal, Mix, StrengthRange};
use crate::science::quantity::Known;
use crate::science::show;
use crate::science::strength::Strength;

/// A range that reaches this far from the strength asked for is worth a warning: 10 %.
pub const UNCERTAIN_FROM: f64 = 0.10;
/// Pours this far from the dose are worth a warning: 2 %.
pub const COARSE_FROM: f64 = 0.02;

/// A warning that does not stop the dose. What a strength does to eyes and skin is looked up by its
/// class, see [`crate::science::classes`].
#[derive(Clone, Debug, PartialEq)]
pub enum DoseWarning {
    /// The stock is taken at its label.
    LabelNotAssayed,
    /// The strength of the stock is an estimate from its age.
    StrengthEstimated,
    /// Nobody has measured what the system holds.
    VolumeNotMeasured,
    /// The figures may be so far off that the strength is.
    StrengthUncertain {
        /// The weakest to be expected.
        weakest: Strength,
        /// The strongest to be expected.
        strongest: Strength,
        /// What brings the most to it.
        most_by: &'static str,
    },
    /// The strongest to be expected is above what is permitted.
    MayPassPermitted {
        /// The strongest to be expected.
        strongest: Strength,
        /// The strongest permitted.
        most: Strength,
    },
    /// A residual is counted in, as a strip or a titration read it.
    ResidualCounted(Strength),
    /// The marks of the jug are too far apart for this dose.
    JugTooCoarse {
        /// What the pours give.
        gives: Strength,
        /// What was asked for.
        asked: Strength,
    },
    /// The jug is far too small for this dose, so no pours are set out.
    JugTooSmall {
        /// How many pours it would take.
        pours: i64,
    },
}

impl DoseWarning {
    /// A stable text for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Self::LabelNotAssayed => "label_not_assayed",
            Self::StrengthEstimated => "strength_estimated",
            Self::VolumeNotMeasured => "volume_not_measured",
            Self::StrengthUncertain { .. } => "strength_uncertain",
            Self::MayPassPermitted { .. } => "may_pass_permitted",
            Self::ResidualCounted(_) => "residual_counted",
            Self::JugTooCoarse { .. } => "jug_too_coarse",
            Self::JugTooSmall { .. } => "jug_too_small",
        }
    }

    /// The warning as a page prints it.
    pub fn words(&self) -> String {
        match self {
            Self::LabelNotAssayed => {
                "The stock is taken at its label. A label is not an assay: titrate or retest an old or opened can.".into()
            }
            Self::StrengthEstimated => {
                "The strength of the stock is an estimate from its age. Titrate it or test it before the dose.".into()
            }
            Self::VolumeNotMeasured => {
                "The volume of the system is not measured. Meter one fill, and read a strip in the working solution.".into()
            }
            Self::StrengthUncertain { weakest, strongest, most_by } => format!(
                "The solution lies {}, most of it by this: {}. Measure that better, and read a strip before the soak.",
                show::between_strengths(*weakest, *strongest),
                lower(most_by)
            ),
            Self::MayPassPermitted { strongest, most } => format!(
                "The solution may come to {strongest}, and {most} is the most that is permitted. Dose for less, or measure volume and stock better."
            ),
            Self::ResidualCounted(residual) => format!(
                "The peroxide in the water already there is counted at {residual}. Read it again if it has stood."
            ),
            Self::JugTooCoarse { gives, asked } => format!(
                "The marks of the jug are too far apart: the pours give {gives} where {asked} is asked for. Take a finer measure."
            ),
            Self::JugTooSmall { pours } => format!(
                "It would take {} pours with this jug. Take a larger one, or a pump made for peroxide.",
                show::fixed(*pours as f64, 0)
            ),
        }
    }
}

pub(super) fn about(mix: &Mix<'_>, stock_known: Known) -> Vec<DoseWarning> {
    let mut warnings = Vec::new();
    match stock_known {
        Known::Assay => {}
        Known::Estimated => warnings.push(DoseWarning::StrengthEstimated),
        _ => warnings.push(DoseWarning::LabelNotAssayed),
    }
    if mix.ask.volume.known != Known::Measured {
        warnings.push(DoseWarning::VolumeNotMeasured);
    }
    if mix.peroxide_already.value > 0.0 {
        warnings.push(DoseWarning::ResidualCounted(mix.ask.already.residual));
    }
    warnings
}

/// A name of a figure within a sentence.
fn lower(words: &str) -> String {
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => first.to_lowercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// What a range is warned about for: that it is wide, or that it reaches beyond what is permitted.
pub(super) fn about_range(
    ask: &DoseAsk,
    range: &StrengthRange,
) -> Result<Vec<DoseWarning>, DoseRefusal> {
    let mut warnings = Vec::new();
    let asked = ask.target.value();
    let off = |strength: Strength| (strength.value() / asked - 1.0).abs() > UNCERTAIN_FROM;
    if off(range.weakest) || off(range.strongest) {
        let largest = range.budget.contributions.first();
        warnings.push(DoseWarning::StrengthUncertain {
            weakest: range.weakest,
            strongest: range.strongest,
            most_by: largest.map_or("", |part| part.what),
        });
    }
    if let Some(most) = ask.limits.target
        && range.strongest_fraction > most.mass_fraction(ask.temperature)?
    {
        warnings.push(DoseWarning::MayPassPermitted {
            strongest: range.strongest,
            most,
        });
    }
    Ok(warnings)
}
