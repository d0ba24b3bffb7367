//! The range of the working strength: how far it may be off, from how far the volume, the stock and
//! the pours may be off.

use super::{DoseRefusal, DoseSheet, Poured, Solution, SystemVolume};
use crate::science::peroxide::{self, PeroxideError};
use crate::science::quantity::{
    Known, MassFraction, WaterTemperature, grams_per_litre, in_grams, in_grams_per_litre, in_litres,
};
use crate::science::show;
use crate::science::stored::Permille;
use crate::science::strength::{Basis, Strength};
use crate::science::tolerances::{
    self, AGEING, ENTERED_VOLUME, JUG_SCALE, METER, RESIDUAL, TEMPERATURE_C, TITRATION,
};
use crate::science::uncertainty::{Budget, Input, propagate};

/// How far a stock or a jug may be off, where that is known better than usual.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnTolerance {
    /// Half the width, as a part of the figure: 0.02 for 34.3 to 35.7 % w/w.
    pub half_width: f64,
    /// How that is known: 'the supplier's band', 'two titrations 1 % apart'.
    pub how: String,
}

impl OwnTolerance {
    /// A figure that somebody entered, and of what it is said.
    ///
    /// ```
    /// use slackwater::science::dilution::OwnTolerance;
    /// use slackwater::science::stored::Permille;
    /// let own = OwnTolerance::entered(Permille::new(15).unwrap(), "the jug 'White jug'");
    /// assert_eq!(own.said(), "1.5\u{a0}% either way; entered for the jug 'White jug'");
    /// ```
    pub fn entered(share: Permille, of: &str) -> Self {
        Self {
            half_width: share.share(),
            how: format!("entered for {of}"),
        }
    }

    /// '2 % either way; the supplier's band'.
    pub fn said(&self) -> String {
        let percent = show::figures(self.half_width * 100.0, 3);
        format!("{percent}\u{a0}% either way; {}", self.how)
    }
}

/// What the range of a dose is reckoned from.
#[derive(Clone, Debug, PartialEq)]
pub struct DoseTolerances {
    /// The volume of the system in litres, with what its range is made of. Its value is the volume
    /// that the dose is reckoned for.
    pub volume: Budget,
    /// The label's or the assay's, where somebody knows; else the usual figure.
    pub stock: Option<OwnTolerance>,
    /// That of the jug's scale, where somebody knows; else the usual figure.
    pub jug: Option<OwnTolerance>,
}

impl DoseTolerances {
    /// For a volume of which no more is known than how it came about: a metered fill 2 %, another
    /// figure 10 %.
    ///
    /// ```
    /// use slackwater::science::dilution::{DoseTolerances, SystemVolume};
    /// use slackwater::science::quantity::litres;
    /// let entered = DoseTolerances::usual(&SystemVolume::entered(litres(100.0)));
    /// assert!((entered.volume.expanded() - 11.547).abs() < 0.001);
    /// ```
    pub fn usual(volume: &SystemVolume) -> Self {
        let tolerance = match volume.known {
            Known::Measured => METER,
            _ => ENTERED_VOLUME,
        };
        Self::of_volume(volume, tolerance.half_width, tolerance.source)
    }

    /// For a volume that is known to a part of itself either way, and a stock as usual.
    ///
    /// ```
    /// use slackwater::science::dilution::{DoseTolerances, SystemVolume};
    /// use slackwater::science::quantity::litres;
    /// let known = SystemVolume::measured(litres(186.0));
    /// let range = DoseTolerances::of_volume(&known, 0.03, "as entered").volume;
    /// assert!((range.combined() - 186.0 * 0.03 / 3f64.sqrt()).abs() < 1e-9);
    /// ```
    pub fn of_volume(volume: &SystemVolume, part: f64, how: &str) -> Self {
        let litres = in_litres(volume.volume);
        let what = match volume.known {
            Known::Measured => "Volume, metered",
            _ => "Volume, as entered",
        };
        let how = format!(
            "{}\u{a0}% either way; {how}",
            show::figures(part * 100.0, 3)
        );
        let input = Input::within(what, how, litres, litres * part);
        Self {
            volume: Budget::of(input),
            stock: None,
            jug: None,
        }
    }
}

/// Between what the working strength lies, and what that is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct StrengthRange {
    /// What the pours give, or what is asked for without a jug.
    pub value: Strength,
    /// The weakest that is to be expected, about 95 in 100.
    pub weakest: Strength,
    /// The strongest.
    pub strongest: Strength,
    /// The strongest by mass, by which its class is looked up.
    pub strongest_fraction: MassFraction,
    /// The weakest by mass.
    pub weakest_fraction: MassFraction,
    /// What each figure brings, the largest first, in the number of the target's basis.
    pub budget: Budget,
}

impl StrengthRange {
    /// 'between 5.6 and 6.3 % w/v', rounded outwards.
    ///
    /// ```
    /// use slackwater::science::show;
    /// use slackwater::science::strength::{Basis, Strength};
    /// let wv = |value| Strength::new(value, Basis::PercentWv).unwrap();
    /// assert_eq!(show::between_strengths(wv(5.61), wv(6.28)), "between 5.6 and 6.3\u{a0}%\u{a0}w/v");
    /// ```
    pub fn words(&self) -> String {
        show::between_strengths(self.weakest, self.strongest)
    }

    /// How much stronger than expected it may be, as a factor of at least 1.
    ///
    /// ```
    /// use slackwater::science::dilution::{DoseAsk, DoseTolerances, Stock, SystemVolume, dose};
    /// use slackwater::science::parse;
    /// use slackwater::science::quantity::{WaterTemperature, litres};
    /// let system = SystemVolume::measured(litres(100.0));
    /// let stock = Stock::labelled(parse::strength("35 % w/w", None).unwrap());
    /// let target = parse::strength("3 % w/v", None).unwrap();
    /// let mut ask = DoseAsk::new(stock, target, system, WaterTemperature::TWENTY);
    /// ask.tolerances = Some(DoseTolerances::usual(&system));
    /// let upwards = dose(&ask).unwrap().range.unwrap().upwards();
    /// assert!(upwards > 1.06 && upwards < 1.08);
    /// ```
    pub fn upwards(&self) -> f64 {
        let value = self.value.value();
        if value > 0.0 {
            (self.strongest.value() / value).max(1.0)
        } else {
            1.0
        }
    }
}

/// How far the stock may be off, from what is known of it.
fn stock_input(sheet: &DoseSheet, known: &DoseTolerances) -> Input {
    let percent = sheet.stock.fraction.percent();
    let (what, usual) = match sheet.ask.stock.assay {
        Some(_) => ("Stock, as titrated", TITRATION),
        None => ("Stock, at its label", tolerances::label(percent)),
    };
    let (half_width, how) = match &known.stock {
        Some(known) => (known.half_width, known.said()),
        None => (usual.half_width, usual.of_it()),
    };
    Input::within(what, how, percent, percent * half_width)
}

/// The strength by mass that the age took, in percent.
fn aged_by(sheet: &DoseSheet, t: WaterTemperature) -> Result<f64, PeroxideError> {
    let stock = &sheet.ask.stock;
    if stock.age.is_none() {
        return Ok(0.0);
    }
    let fresh = stock.assay.unwrap_or(stock.label).mass_fraction(t)?;
    Ok((fresh.percent() - sheet.stock.fraction.percent()).max(0.0))
}

/// Between what the strength of a dose lies: C = (p₀ + V₁ ρ₁ w₁) / V, on the basis of the target, with
/// p₀ the peroxide in the water already there, V₁ what is poured, w₁ and ρ₁ the stock's strength and
/// density, V the volume of the system. Each may be off by its own; see [`DoseTolerances`].
///
/// Half a mark of the jug counts for every pour by itself, its scale for all of them alike. The water
/// follows the level, so the volume counts and the water added does not. Source: JCGM 100:2008.
///
/// # Errors
/// As [`super::dose`].
pub(super) fn range_of(
    sheet: &DoseSheet,
    tolerances: &DoseTolerances,
) -> Result<StrengthRange, DoseRefusal> {
    let t = sheet.ask.temperature;
    let basis = sheet.ask.target.basis();
    let (poured, value) = match &sheet.poured {
        Some(Poured { sum, gives, .. }) => (in_litres(*sum), *gives),
        None => (in_litres(sheet.concentrate.volume), sheet.target.strength),
    };
    let volume = &tolerances.volume;
    let ages = aged_by(sheet, t)?;
    let residual = in_grams(sheet.peroxide_already);
    let mut inputs = vec![
        Input::expanded("Volume", "", volume.value, volume.expanded()),
        stock_input(sheet, tolerances),
        Input::read(
            "Temperature",
            TEMPERATURE_C.in_unit("°C"),
            t.degrees(),
            TEMPERATURE_C.half_width,
        ),
        Input::within("Ageing of the stock", AGEING.of_it(), 0.0, ages),
        Input::within(
            "Residual, by a strip",
            RESIDUAL.of_it(),
            residual,
            residual * RESIDUAL.half_width,
        ),
        scale(sheet, tolerances, poured),
    ];
    inputs.push(marks(sheet));
    // A degree of the scale more or less does not leave the range of the densities.
    let warm = |degrees: f64| WaterTemperature::new(degrees.clamp(0.0, WaterTemperature::MOST));
    let strength = |x: &[f64]| -> Result<f64, DoseRefusal> {
        let at = |place: usize| x.get(place).copied().unwrap_or_default();
        let t = warm(at(2))?;
        // The stock is what it is at the temperature of the sheet; a stronger one than the densities
        // cover is taken as the strongest.
        let percent = (at(1) + at(3)).clamp(0.0, peroxide::STRONGEST.percent());
        let stock = Solution::of(
            Strength::new(percent, Basis::PercentWw).map_err(PeroxideError::from)?,
            t,
        )?;
        let litres = poured + at(5) + at(6);
        let grams = at(4) + litres * in_grams_per_litre(stock.concentration);
        on_basis(grams / at(0), basis, t)
    };
    let mut budget = propagate(&inputs, strength)?;
    spread_volume(&mut budget, volume);
    // The balance of volumes is off the balance of masses by what mixing shrinks, a few parts in a
    // thousand; the range stands around what the pours give.
    budget.value = value.value();
    let budget = budget.merged();
    let (weakest, strongest) = budget.range();
    let of =
        |value: f64| Strength::new(value.min(basis.most()), basis).map_err(PeroxideError::from);
    let (weakest, strongest) = (of(weakest)?, of(strongest)?);
    Ok(StrengthRange {
        value,
        weakest,
        strongest,
        strongest_fraction: capped_fraction(strongest, t)?,
        weakest_fraction: weakest.mass_fraction(t)?,
        budget,
    })
}

/// The scale of the jug, for all pours alike.
fn scale(sheet: &DoseSheet, tolerances: &DoseTolerances, poured: f64) -> Input {
    let (half_width, how) = match &tolerances.jug {
        Some(known) => (known.half_width, known.said()),
        None => (JUG_SCALE.half_width, JUG_SCALE.of_it()),
    };
    let off = match sheet.poured {
        Some(_) => poured * half_width,
        None => 0.0,
    };
    Input::within("Scale of the jug", how, 0.0, off)
}

/// Half a mark either way at every pour, each by itself: √n of them.
fn marks(sheet: &DoseSheet) -> Input {
    let (Some(jug), Some(poured)) = (sheet.ask.jug, sheet.poured) else {
        return Input::within("Marks of the jug", "", 0.0, 0.0);
    };
    let pours = poured.count as f64;
    let half = in_litres(jug.mark()) / 2.0;
    let how = format!(
        "half a mark, {}, at each of {} pours",
        show::volume(
            crate::science::quantity::litres(half),
            crate::science::units::Units::Metric
        ),
        poured.count
    );
    Input::within("Marks of the jug", how, 0.0, half * pours.sqrt())
}

fn on_basis(grams_each_litre: f64, basis: Basis, t: WaterTemperature) -> Result<f64, DoseRefusal> {
    Ok(match basis.grams_per_litre_each() {
        Some(each) => grams_each_litre / each,
        None => peroxide::fraction(grams_per_litre(grams_each_litre), t)?.percent(),
    })
}

/// A range may end above what the densities cover; its class is that of the strongest they do.
fn capped_fraction(strength: Strength, t: WaterTemperature) -> Result<MassFraction, PeroxideError> {
    match strength.mass_fraction(t) {
        Err(PeroxideError::TooStrong { .. }) => Ok(peroxide::STRONGEST),
        other => other,
    }
}

/// Puts what the volume's own range is made of in the place of the volume.
fn spread_volume(budget: &mut Budget, volume: &Budget) {
    let combined = volume.combined();
    let place = budget
        .contributions
        .iter()
        .position(|part| part.what == "Volume");
    let Some(place) = place.filter(|_| combined > 0.0) else {
        return;
    };
    let whole = budget.contributions.remove(place);
    budget
        .contributions
        .extend(volume.carried(whole.effect / combined));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::dilution::{DoseAsk, DoseWarning, Jug, Stock, dose};
    use crate::science::parse;
    use crate::science::quantity::litres;
    use crate::science::uncertainty::tests::monte_carlo;
    use proptest::prelude::*;

    fn ask(stock: &str, target: &str, volume: f64) -> DoseAsk {
        let s = |text| parse::strength(text, None).unwrap();
        let mut ask = DoseAsk::new(
            Stock::labelled(s(stock)),
            s(target),
            SystemVolume::measured(litres(volume)),
            WaterTemperature::TWENTY,
        );
        ask.jug = Some(Jug::new(litres(2.5), litres(0.05)).unwrap());
        ask
    }

    fn volume(litres: f64, half: f64) -> Budget {
        Budget::of(Input::within("Water meter", "as entered", litres, half))
    }

    fn ranged(mut ask: DoseAsk, half: f64, stock: f64) -> StrengthRange {
        ask.tolerances = Some(DoseTolerances {
            volume: volume(in_litres(ask.volume.volume), half),
            stock: Some(OwnTolerance {
                half_width: stock,
                how: "a band".to_owned(),
            }),
            jug: None,
        });
        dose(&ask).unwrap().range.unwrap()
    }

    /// Worked by hand: 186 L ±3 %, 35 % w/w ±2 % with its density, 14.1 L by 6 pours with marks of
    /// 50 mL and a scale of ±2 %. Relative: 0.03/√3 = 1.732 %, 0.02/√3 × 1.13 (density rises with
    /// strength) = 1.30 %, 0.02/√3 = 1.155 %, 0.025 × √6/√3/14.1 = 0.25 %; together 2.47 %.
    #[test]
    fn the_range_is_the_one_worked_by_hand() {
        let range = ranged(ask("35 % w/w", "3 % w/v", 186.0), 5.58, 0.02);
        let relative = range.budget.combined() / range.value.value();
        assert!((relative - 0.0247).abs() < 0.0003, "{relative}");
        assert_eq!(range.words(), "between 2.85 and 3.15\u{a0}%\u{a0}w/v");
        let first = &range.budget.contributions[0];
        assert_eq!(first.what, "Water meter");
        assert!((range.budget.share(first) - 0.49).abs() < 0.02);
    }

    /// A second way: the whole balance at many draws of its figures.
    #[test]
    fn many_draws_give_the_same_range() {
        let question = ask("35 % w/w", "3 % w/v", 186.0);
        let sheet = dose(&question).unwrap();
        let range = ranged(question, 5.58, 0.02);
        let poured = in_litres(sheet.poured.unwrap().sum);
        let inputs = [
            Input::within("", "", 186.0, 5.58),
            Input::within("", "", 35.0, 0.7),
            Input::read("", "", 20.0, TEMPERATURE_C.half_width),
            Input::within("", "", 0.0, poured * JUG_SCALE.half_width),
            Input::within("", "", 0.0, 0.025 * 6f64.sqrt()),
        ];
        let (_, sd, (least, most)) = monte_carlo(&inputs, |x| {
            let t = WaterTemperature::new(x[2]).unwrap();
            let w = MassFraction::from_percent(x[1]).unwrap();
            let each = in_grams_per_litre(peroxide::concentration(w, t).unwrap());
            (poured + x[3] + x[4]) * each / x[0] / 10.0
        });
        assert!((sd / range.budget.combined() - 1.0).abs() < 0.03);
        assert!((least / range.weakest.value() - 1.0).abs() < 0.01);
        assert!((most / range.strongest.value() - 1.0).abs() < 0.01);
    }

    #[test]
    fn a_range_beyond_what_is_permitted_is_warned_about() {
        let mut question = ask("35 % w/w", "3 % w/v", 186.0);
        question.limits.target = Some(parse::strength("3.1 % w/v", None).unwrap());
        question.tolerances = Some(DoseTolerances::usual(&SystemVolume::entered(litres(186.0))));
        let codes = |ask: &DoseAsk| -> Vec<&str> {
            dose(ask)
                .unwrap()
                .warnings
                .iter()
                .map(DoseWarning::code)
                .collect()
        };
        let said = codes(&question);
        assert!(said.contains(&"may_pass_permitted") && said.contains(&"strength_uncertain"));
        question.limits.target = Some(parse::strength("5 % w/v", None).unwrap());
        assert!(!codes(&question).contains(&"may_pass_permitted"));
    }

    #[test]
    fn an_aged_stock_is_less_sure_than_a_fresh_one() {
        let fresh = ranged(ask("35 % w/w", "3 % w/v", 186.0), 5.0, 0.02);
        let mut old = ask("35 % w/w", "3 % w/v", 186.0);
        old.stock.age = Some(crate::science::dilution::StockAge {
            days: 900.0,
            loss: peroxide::YearlyLoss::USUAL,
        });
        assert!(ranged(old, 5.0, 0.02).budget.combined() > fresh.budget.combined());
    }

    proptest! {
        #[test]
        fn the_range_holds_the_strength_and_widens_with_what_is_less_sure(
            litres in 30.0..2000.0f64, target in 0.5..6.0f64, off in 0.0..0.1f64, stock in 0.0..0.1f64,
        ) {
            let question = ask("35 % w/w", &format!("{target} % w/w"), litres);
            let narrow = ranged(question.clone(), off * litres, stock);
            let wide = ranged(question, (off + 0.02) * litres, stock + 0.01);
            prop_assert!(narrow.weakest.value() <= narrow.value.value());
            prop_assert!(narrow.strongest.value() >= narrow.value.value());
            prop_assert!(wide.weakest.value() < narrow.weakest.value());
            prop_assert!(wide.strongest.value() > narrow.strongest.value());
            prop_assert!(narrow.upwards() >= 1.0);
        }

        #[test]
        fn figures_that_are_sure_collapse_the_range(litres in 30.0..2000.0f64, target in 0.5..6.0f64) {
            let mut question = ask("35 % w/w", &format!("{target} % w/v"), litres);
            question.jug = None;
            let range = ranged(question, 0.0, 0.0);
            // The temperature alone is left: a part in a thousand.
            let width = range.strongest.value() - range.weakest.value();
            prop_assert!(width < 0.003 * range.value.value());
        }
    }
}
