//! The dose: how much concentrate and how much purified water bring a system to its working
//! strength, by mass balance, with the water that is already there.
//!
//! A percent without its basis cannot reach this module: the type [`Strength`] carries the basis.

mod ask;
mod label_rule;
mod lines;
mod parts;
mod pours;
mod range;
mod refusal;
mod warning;

pub use ask::{AlreadyThere, DoseAsk, DoseLimits, Stock, StockAge, SystemVolume};
pub use label_rule::{LabelRule, LabelRuleReason, NoLabelRule};
pub use lines::{Line, Part};
pub use parts::{RatioMeaning, concentrate_by_ratio, parts_of_water};
pub use pours::{Batch, Jug, JugError, Poured};
pub use range::{DoseTolerances, OwnTolerance, StrengthRange};
pub use refusal::DoseRefusal;
pub use warning::DoseWarning;

use super::peroxide::{self, PEROXIDE_DENSITY_MODEL, PeroxideError};
use super::quantity::{
    Known, Length, Mass, MassConcentration, MassDensity, MassFraction, Volume, WaterTemperature,
    grams, in_grams, in_grams_per_litre, in_litres, solute_in, within,
};
use super::strength::{Basis, Strength};
use super::water;

/// The smallest system that is dosed, in litres.
pub const LEAST_SYSTEM_LITRES: f64 = 0.1;
/// The largest system that is dosed, in litres: 100 m³.
pub const MOST_SYSTEM_LITRES: f64 = 100_000.0;
/// More batches than this is no way to fill a system.
pub const MOST_BATCHES: usize = 20;

/// A part of the mix by volume and by mass, both at the temperature of the liquid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Portion {
    /// Its volume.
    pub volume: Volume,
    /// Its mass.
    pub mass: Mass,
}

/// A solution with all that is needed to reckon with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solution {
    /// Its strength on the basis it was given on.
    pub strength: Strength,
    /// Its mass fraction, by which its class is looked up.
    pub fraction: MassFraction,
    /// Its density at the temperature of the liquid.
    pub density: MassDensity,
    /// Its peroxide by volume.
    pub concentration: MassConcentration,
}

impl Solution {
    /// The solution of a strength at a temperature.
    ///
    /// ```
    /// use slackwater::science::dilution::Solution;
    /// use slackwater::science::quantity::{WaterTemperature, in_kilograms_per_litre};
    /// use slackwater::science::strength::{Basis, Strength};
    /// let stock = Strength::new(35.0, Basis::PercentWw).unwrap();
    /// let solution = Solution::of(stock, WaterTemperature::TWENTY).unwrap();
    /// assert!((in_kilograms_per_litre(solution.density) - 1.1312).abs() < 1e-4);
    /// ```
    ///
    /// # Errors
    /// Above 50 % w/w.
    pub fn of(strength: Strength, temperature: WaterTemperature) -> Result<Self, PeroxideError> {
        let fraction = strength.mass_fraction(temperature)?;
        Ok(Self {
            strength,
            fraction,
            density: peroxide::density(fraction, temperature)?,
            concentration: strength.concentration(temperature)?,
        })
    }

    fn portion(&self, volume: Volume) -> Portion {
        Portion {
            volume,
            mass: volume * self.density,
        }
    }
}

/// How far the level of a straight-walled reservoir rises, over the level of the heel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// With all the purified water in.
    pub water: Length,
    /// With the concentrate in too, before the pump lifts any of it.
    pub mix: Length,
}

/// Every quantity of one dose. A pure value: what the card was issued with can be kept as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct DoseSheet {
    /// What was asked.
    pub ask: DoseAsk,
    /// The stock as it is reckoned with.
    pub stock: Solution,
    /// How the strength of the stock is known.
    pub stock_known: Known,
    /// The solution that is asked for.
    pub target: Solution,
    /// The water in the system before the dose, with its residual.
    pub already: Portion,
    /// Peroxide in the finished solution.
    pub peroxide_total: Mass,
    /// Peroxide that is in the water already there.
    pub peroxide_already: Mass,
    /// Peroxide that the concentrate has to bring.
    pub peroxide_needed: Mass,
    /// The concentrate, before any rounding to marks.
    pub concentrate: Portion,
    /// The purified water to add.
    pub water: Portion,
    /// The finished solution.
    pub finished: Portion,
    /// The mixes one after the other; one when the reservoir holds it all.
    pub batches: Vec<Batch>,
    /// What the rounded pours come to; none without a jug that serves.
    pub poured: Option<Poured>,
    /// The rule of percent against percent, beside the balance.
    pub label_rule: Result<LabelRule, NoLabelRule>,
    /// Between what the strength lies, when it was asked with tolerances.
    pub range: Option<StrengthRange>,
    /// Levels in a reservoir with straight walls, when one batch does.
    pub levels: Option<Levels>,
    /// What somebody has to look at before pouring.
    pub warnings: Vec<DoseWarning>,
    /// The density model, to be stored with the record.
    pub density_model: &'static str,
}

/// Works out a dose by mass balance.
///
/// With C the mass concentration and ρ the density at the temperature of the liquid, w the mass
/// fraction, indices 0 for the water already there, 1 for the concentrate, 2 for the solution:
///
/// - peroxide needed: p = V₂ C₂ − V₀ C₀
/// - concentrate: m₁ = p / w₁, V₁ = m₁ / ρ₁ (which is p / C₁)
/// - purified water: m = V₂ ρ₂ − m₁ − V₀ ρ₀, V = m / ρ_water
///
/// Volumes shrink a little on mixing (0.1 % at 35 → 6 %); only masses add up.
/// Source: conservation of mass; densities as in [`peroxide::density`].
///
/// # Errors
/// See [`DoseRefusal`]: each names what to change.
///
/// ```
/// use slackwater::science::dilution::{DoseAsk, Stock, SystemVolume, dose};
/// use slackwater::science::parse;
/// use slackwater::science::quantity::{WaterTemperature, in_litres, litres};
///
/// // 35 % w/w to 6 % w/v in 100 L at 20 °C: 15.15 L of concentrate, not the 17.14 L of percent
/// // against percent.
/// let ask = DoseAsk::new(
///     Stock::labelled(parse::strength("35 % w/w", None).unwrap()),
///     parse::strength("6 % w/v", None).unwrap(),
///     SystemVolume::measured(litres(100.0)),
///     WaterTemperature::TWENTY,
/// );
/// let sheet = dose(&ask).unwrap();
/// assert!((in_litres(sheet.concentrate.volume) - 15.154).abs() < 0.03);
/// assert!((in_litres(sheet.label_rule.unwrap().concentrate) - 17.143).abs() < 0.001);
/// ```
pub fn dose(ask: &DoseAsk) -> Result<DoseSheet, DoseRefusal> {
    let t = ask.temperature;
    check_volumes(ask)?;
    let (stock_strength, stock_known) = ask.stock.reckoned(t)?;
    let stock = checked_stock(stock_strength, ask)?;
    let target = checked_target(ask, &stock)?;

    let there = Solution::of(ask.already.residual, t)?;
    let already = there.portion(ask.already.volume());
    if already.volume.value > 0.0 && there.fraction >= target.fraction {
        return Err(DoseRefusal::ResidualNotBelowTarget {
            residual: ask.already.residual,
            target: ask.target,
        });
    }

    let finished = target.portion(ask.volume.volume);
    let peroxide_total = solute_in(ask.volume.volume, target.concentration);
    let peroxide_already = solute_in(already.volume, there.concentration);
    let peroxide_needed = peroxide_total - peroxide_already;
    let concentrate_mass = peroxide_needed / stock.fraction.get();
    let concentrate = Portion {
        mass: concentrate_mass,
        volume: concentrate_mass / stock.density,
    };
    let water_mass = finished.mass - concentrate.mass - already.mass;
    let free = ask.volume.volume - already.volume;
    // Grams of nothing are an artefact of rounding when the system is filled with concentrate only.
    if in_grams(water_mass) < -1e-6 * in_grams(finished.mass) {
        return Err(DoseRefusal::NoRoom {
            free,
            needs: concentrate.volume,
            reachable: reachable(&stock, &already, peroxide_already, free, ask)?,
            target: ask.target,
        });
    }
    let water_mass = if in_grams(water_mass) < 0.0 {
        grams(0.0)
    } else {
        water_mass
    };
    let water = Portion {
        mass: water_mass,
        volume: water_mass / water::density(t),
    };

    let mix = Mix {
        stock,
        target,
        already,
        peroxide_already,
        concentrate,
        water,
        ask,
    };
    let count = mix.batch_count()?;
    let (batches, poured, jug_warning) = mix.batches(count)?;
    let label_rule = label_rule::beside(&mix);
    let levels = match (ask.reservoir_plan, count) {
        (Some(plan), 1) => Some(Levels {
            water: water.volume / plan,
            mix: (water.volume + concentrate.volume) / plan,
        }),
        _ => None,
    };
    let mut warnings = warning::about(&mix, stock_known);
    warnings.extend(jug_warning);
    let mut sheet = DoseSheet {
        ask: ask.clone(),
        stock,
        stock_known,
        target,
        already,
        peroxide_total,
        peroxide_already,
        peroxide_needed,
        concentrate,
        water,
        finished,
        batches,
        poured,
        label_rule,
        range: None,
        levels,
        warnings,
        density_model: PEROXIDE_DENSITY_MODEL,
    };
    if let Some(tolerances) = &ask.tolerances {
        let range = range::range_of(&sheet, tolerances)?;
        sheet.warnings.extend(warning::about_range(ask, &range)?);
        sheet.range = Some(range);
    }
    Ok(sheet)
}

/// A dose worked out, before it is portioned.
pub(super) struct Mix<'a> {
    pub stock: Solution,
    pub target: Solution,
    pub already: Portion,
    pub peroxide_already: Mass,
    pub concentrate: Portion,
    pub water: Portion,
    pub ask: &'a DoseAsk,
}

impl Mix<'_> {
    /// The mass fraction that the system comes to with so much concentrate and the water as worked
    /// out: the balance of masses once more, forwards.
    fn fraction_with(&self, concentrate: Volume) -> Result<MassFraction, DoseRefusal> {
        let mass = concentrate * self.stock.density;
        let peroxide = self.peroxide_already + mass * self.stock.fraction.get();
        let all = self.already.mass + self.water.mass + mass;
        Ok(MassFraction::new((peroxide / all).value).map_err(PeroxideError::from)?)
    }

    /// The same on the basis of the target.
    fn strength_with(&self, concentrate: Volume) -> Result<(MassFraction, Strength), DoseRefusal> {
        let fraction = self.fraction_with(concentrate)?;
        let basis = self.ask.target.basis();
        Ok((
            fraction,
            Strength::of_fraction(fraction, basis, self.ask.temperature)?,
        ))
    }
}

fn check_volumes(ask: &DoseAsk) -> Result<(), DoseRefusal> {
    let system = in_litres(ask.volume.volume);
    within(
        "The volume of the system",
        system,
        LEAST_SYSTEM_LITRES,
        MOST_SYSTEM_LITRES,
        "\u{a0}L",
    )?;
    for (what, volume) in [
        ("The heel", ask.already.heel),
        ("The water held in the media", ask.already.retained),
    ] {
        within(what, in_litres(volume), 0.0, MOST_SYSTEM_LITRES, "\u{a0}L")?;
    }
    if ask.already.volume() >= ask.volume.volume {
        return Err(DoseRefusal::AlreadyFull {
            already: ask.already.volume(),
            system: ask.volume.volume,
        });
    }
    if let Some(plan) = ask.reservoir_plan {
        within(
            "The plan area of the reservoir",
            plan.value,
            0.001,
            1_000.0,
            "\u{a0}m²",
        )?;
    }
    Ok(())
}

fn checked_stock(strength: Strength, ask: &DoseAsk) -> Result<Solution, DoseRefusal> {
    let too_strong = DoseRefusal::StockTooStrong {
        stock: strength,
        most: Strength::new(ask.limits.stock.percent(), Basis::PercentWw)
            .map_err(PeroxideError::from)?,
    };
    let stock = match Solution::of(strength, ask.temperature) {
        Ok(stock) => stock,
        Err(PeroxideError::TooStrong { .. }) => return Err(too_strong),
        Err(other) => return Err(other.into()),
    };
    if stock.fraction.get() > ask.limits.stock.get() + FRACTION_NOISE {
        return Err(too_strong);
    }
    Ok(stock)
}

/// Mass fractions come through a bisection; a limit met exactly must not be missed by its last bits.
const FRACTION_NOISE: f64 = 1e-12;

fn checked_target(ask: &DoseAsk, stock: &Solution) -> Result<Solution, DoseRefusal> {
    if ask.target.value() == 0.0 {
        return Err(DoseRefusal::NoTarget);
    }
    let not_below = DoseRefusal::TargetNotBelowStock {
        target: ask.target,
        stock: stock.strength,
    };
    let target = match Solution::of(ask.target, ask.temperature) {
        Ok(target) => target,
        Err(PeroxideError::TooStrong { .. }) => return Err(not_below),
        Err(other) => return Err(other.into()),
    };
    if target.fraction.get() >= stock.fraction.get() - FRACTION_NOISE {
        return Err(not_below);
    }
    if let Some(most) = ask.limits.target
        && target.fraction.get() > most.mass_fraction(ask.temperature)?.get() + FRACTION_NOISE
    {
        return Err(DoseRefusal::TargetAboveLimit {
            target: ask.target,
            most,
        });
    }
    Ok(target)
}

/// The strongest the system can be made when the free volume takes concentrate only.
fn reachable(
    stock: &Solution,
    already: &Portion,
    peroxide_already: Mass,
    free: Volume,
    ask: &DoseAsk,
) -> Result<Strength, DoseRefusal> {
    let concentrate = free * stock.density;
    let peroxide = peroxide_already + concentrate * stock.fraction.get();
    let fraction = MassFraction::new((peroxide / (already.mass + concentrate)).value)
        .map_err(PeroxideError::from)?;
    Ok(Strength::of_fraction(
        fraction,
        ask.target.basis(),
        ask.temperature,
    )?)
}

impl DoseSheet {
    /// The one sentence that says what to pour.
    pub fn sentence(&self, units: super::units::Units) -> String {
        lines::sentence(self, units)
    }

    /// Every line of the sheet, in the order in which it is read.
    pub fn lines(&self, units: super::units::Units) -> Vec<Line> {
        lines::lines(self, units)
    }

    /// The sum of what is measured by volume, which shrinks a little on mixing.
    pub fn sum_of_volumes(&self) -> Volume {
        self.already.volume + self.concentrate.volume + self.water.volume
    }

    /// How much stock a store has to give out: the rounded pours, or the exact dose without a jug.
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
    /// // Without a jug the store gives out the exact dose.
    /// assert_eq!(sheet.stock_drawn(), sheet.concentrate.volume);
    /// ```
    pub fn stock_drawn(&self) -> Volume {
        self.poured
            .map_or(self.concentrate.volume, |poured| poured.sum)
    }

    /// Grams of peroxide in a litre of the solution that is asked for.
    pub fn target_grams_per_litre(&self) -> f64 {
        in_grams_per_litre(self.target.concentration)
    }

    /// Oxygen that would come off if all the peroxide in the solution broke down in air at the
    /// temperature of the liquid.
    pub fn oxygen(&self) -> Volume {
        peroxide::oxygen_of_decomposition(self.peroxide_total, self.ask.temperature.into())
    }
}

#[cfg(test)]
mod tests;
