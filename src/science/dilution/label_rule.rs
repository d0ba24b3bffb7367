//! The rule that many labels print: percent of the stock times its volume is percent of the mix
//! times its volume. It stands beside the balance so that everybody sees how far it misses.

use super::Mix;
use crate::science::quantity::{Ratio, Volume, in_kilograms_per_litre};
use crate::science::show;
use crate::science::strength::{Basis, Strength};

/// A stock this far from its label is a reason of its own for the rule to miss: 0.5 %.
const NOT_AS_LABELLED_FROM: f64 = 0.005;

/// What the rule of percent against percent says: V₁ = V₂ × target % ÷ label %.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelRule {
    /// The percent of the stock that goes into the rule.
    pub stock_percent: f64,
    /// The percent of the mix that goes into the rule.
    pub target_percent: f64,
    /// The concentrate by the rule.
    pub concentrate: Volume,
    /// What it is more than the balance; less than nothing when the rule says too little.
    pub misses: Volume,
    /// The same as a share of the dose.
    pub misses_by: Ratio,
    /// What it would make of the system; none above 50 % w/w.
    pub gives: Option<Strength>,
    /// Why it misses, the heaviest reason first.
    pub reasons: Vec<LabelRuleReason>,
}

/// Why there is no percent rule for a dose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoLabelRule {
    /// Volume strength prints no percent.
    NoPercent,
}

impl NoLabelRule {
    /// The reason as a page prints it.
    pub fn words(self) -> &'static str {
        match self {
            Self::NoPercent => "Volume strength is no percent, so no rule of percent applies.",
        }
    }
}

/// Why the rule misses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LabelRuleReason {
    /// The percent of the stock is by weight, and the jug measures volume.
    StockByWeight {
        /// The label.
        label: Strength,
        /// The kilograms that a litre of it weighs.
        kilograms_a_litre: f64,
    },
    /// The percent of the mix is by weight.
    TargetByWeight {
        /// The working strength.
        target: Strength,
        /// The kilograms that a litre of it weighs.
        kilograms_a_litre: f64,
    },
    /// The stock is not what its label says.
    StockNotAsLabelled {
        /// The label.
        label: Strength,
        /// The strength reckoned with.
        stock: Strength,
    },
    /// The water already there holds peroxide, which the rule does not count.
    PeroxideAlreadyThere {
        /// Its residual.
        residual: Strength,
    },
    /// Both percents are by volume and the stock is as labelled: the rule agrees.
    SameBasis,
}

impl LabelRuleReason {
    /// A stable text for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Self::StockByWeight { .. } => "stock_by_weight",
            Self::TargetByWeight { .. } => "target_by_weight",
            Self::StockNotAsLabelled { .. } => "stock_not_as_labelled",
            Self::PeroxideAlreadyThere { .. } => "peroxide_already_there",
            Self::SameBasis => "same_basis",
        }
    }

    /// The reason as a page prints it, to stand after a colon.
    pub fn words(&self) -> String {
        let percent =
            |strength: &Strength| format!("{}\u{a0}%", show::figures(strength.value(), 4));
        match self {
            Self::StockByWeight {
                label,
                kilograms_a_litre,
            } => format!(
                "{} is by weight, and a litre of this stock weighs {}\u{a0}kg",
                percent(label),
                show::fixed(*kilograms_a_litre, 2)
            ),
            Self::TargetByWeight {
                target,
                kilograms_a_litre,
            } => format!(
                "{} is by weight, and a litre of the solution weighs {}\u{a0}kg",
                percent(target),
                show::fixed(*kilograms_a_litre, 3)
            ),
            Self::StockNotAsLabelled { label, stock } => {
                format!("the label says {label}, and the stock is reckoned at {stock}")
            }
            Self::PeroxideAlreadyThere { residual } => {
                format!("the water already there reads {residual}")
            }
            Self::SameBasis => "both strengths are by volume".to_owned(),
        }
    }
}

pub(super) fn beside(mix: &Mix<'_>) -> Result<LabelRule, NoLabelRule> {
    let label = mix.ask.stock.label;
    let (Some(stock_percent), Some(target_percent)) =
        (label.label_percent(), mix.ask.target.label_percent())
    else {
        return Err(NoLabelRule::NoPercent);
    };
    let concentrate = mix.ask.volume.volume * (target_percent / stock_percent);
    let misses = concentrate - mix.concentrate.volume;
    Ok(LabelRule {
        stock_percent,
        target_percent,
        concentrate,
        misses,
        misses_by: misses / mix.concentrate.volume,
        gives: gives(mix, concentrate),
        reasons: reasons(mix, label),
    })
}

/// The strength of the full system with the concentrate of the rule and water to the line.
fn gives(mix: &Mix<'_>, concentrate: Volume) -> Option<Strength> {
    let peroxide =
        mix.peroxide_already + concentrate * mix.stock.density * mix.stock.fraction.get();
    let grams_per_litre = peroxide.value / mix.ask.volume.volume.value;
    Strength::new(grams_per_litre, Basis::GramsPerLitre)
        .ok()?
        .on(mix.ask.target.basis(), mix.ask.temperature)
        .ok()
}

fn reasons(mix: &Mix<'_>, label: Strength) -> Vec<LabelRuleReason> {
    let mut reasons = Vec::new();
    if label.basis() == Basis::PercentWw {
        reasons.push(LabelRuleReason::StockByWeight {
            label,
            kilograms_a_litre: in_kilograms_per_litre(mix.stock.density),
        });
    }
    let as_labelled = label
        .mass_fraction(mix.ask.temperature)
        .is_ok_and(|labelled| {
            (mix.stock.fraction.get() / labelled.get() - 1.0).abs() < NOT_AS_LABELLED_FROM
        });
    if !as_labelled {
        reasons.push(LabelRuleReason::StockNotAsLabelled {
            label,
            stock: mix.stock.strength,
        });
    }
    if mix.peroxide_already.value > 0.0 {
        reasons.push(LabelRuleReason::PeroxideAlreadyThere {
            residual: mix.ask.already.residual,
        });
    }
    if mix.ask.target.basis() == Basis::PercentWw {
        reasons.push(LabelRuleReason::TargetByWeight {
            target: mix.ask.target,
            kilograms_a_litre: in_kilograms_per_litre(mix.target.density),
        });
    }
    if reasons.is_empty() {
        reasons.push(LabelRuleReason::SameBasis);
    }
    reasons
}

impl LabelRule {
    /// What the rule does wrong, in one sentence.
    ///
    /// ```
    /// use slackwater::science::dilution::{DoseAsk, Stock, SystemVolume, dose};
    /// use slackwater::science::quantity::{WaterTemperature, litres};
    /// use slackwater::science::strength::{Basis, Strength};
    /// let sheet = dose(&DoseAsk::new(
    ///     Stock::labelled(Strength::new(35.0, Basis::PercentWw).unwrap()),
    ///     Strength::new(6.0, Basis::PercentWv).unwrap(),
    ///     SystemVolume::entered(litres(100.0)),
    ///     WaterTemperature::TWENTY,
    /// ))
    /// .unwrap();
    /// assert!(sheet.label_rule.unwrap().verdict().contains('%'));
    /// ```
    pub fn verdict(&self) -> String {
        let percent = self.misses_by.value * 100.0;
        if percent.abs() < 0.5 {
            return "The rule agrees with the balance to within half a percent.".to_owned();
        }
        let gives = self.gives.map_or_else(
            || "It would make a solution above 50\u{a0}%\u{a0}w/w".to_owned(),
            |gives| format!("It would make {gives}"),
        );
        let side = if percent > 0.0 {
            "too much"
        } else {
            "too little"
        };
        let reasons: Vec<String> = self.reasons.iter().map(LabelRuleReason::words).collect();
        format!(
            "{gives}, from {}\u{a0}% {side} concentrate: {}.",
            show::figures(percent.abs(), 3),
            reasons.join("; ")
        )
    }
}
