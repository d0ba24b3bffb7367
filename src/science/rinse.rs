//! Rinsing: how many rinses bring a residue down, by what stays in the media each time.
//!
//! What is reckoned here is an expectation for planning water and hours. A strip decides whether
//! a system is rinsed: media give back what they soaked up, and mixing is never complete.

use uom::si::f64::{MassConcentration, Ratio, Volume};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::ratio::ratio;
use uom::si::volume::liter;

use super::quantity::{OutOfRange, within};

/// What stands beside every number of rinses.
pub const READING_DECIDES: &str =
    "A strip reading decides. Rinse again while it reads above the limit, whatever was reckoned.";
/// The part of what stays behind that mixes with a fill, where nobody measured it: a cautious figure,
/// common practice, no source. See [`mixing_from_first_rinse`].
pub const CAUTIOUS_MIXING: f64 = 0.8;
/// More rinses than this are not a plan: the media are replaced instead.
pub const RINSES_WORTH_PLANNING: u32 = 12;

/// A residual that was reckoned, not read. It plans rinses; it releases nothing.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct ExpectedResidual(MassConcentration);

impl ExpectedResidual {
    /// The concentration that is expected.
    pub fn concentration(self) -> MassConcentration {
        self.0
    }

    /// The same in mg/L.
    pub fn milligrams_per_litre(self) -> f64 {
        self.0.get::<milligram_per_liter>()
    }
}

/// Rinsing by drain and fill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rinsing {
    start: MassConcentration,
    fresh: MassConcentration,
    retained: Volume,
    fill: Volume,
    mixing: f64,
}

/// Rinses that are expected to do, and what they take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RinseEstimate {
    /// Number of fills and drains.
    pub rinses: u32,
    /// What is expected to be left.
    pub residual: ExpectedResidual,
    /// Rinse water in all.
    pub water: Volume,
}

/// What is to be said about rinsing to a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RinseOutlook {
    /// So many rinses are expected to do; a strip decides.
    Expected(RinseEstimate),
    /// More than [`RINSES_WORTH_PLANNING`]: replace the media.
    TooMany(RinseEstimate),
    /// The fresh water itself holds as much as the limit allows, or more: no rinsing helps.
    FreshWaterTooStrong,
}

fn milligrams(what: &'static str, c: MassConcentration, most: f64) -> Result<f64, OutOfRange> {
    within(
        what,
        c.get::<milligram_per_liter>(),
        0.0,
        most,
        "\u{a0}mg/L",
    )
}

impl Rinsing {
    /// Rinsing from a starting strength with fresh water (of its own strength, usually 0), with
    /// what stays in the system after a drain, the volume of a fill, and the part of the retained
    /// water that mixes with a fill (1 when complete; 0.8 is cautious).
    ///
    /// Range: start 0 to 700 000 mg/L, fresh water 0 to 1000 mg/L, retained 0 to 1e6 L, fill
    /// 0.001 to 1e6 L, mixing 0.1 to 1.
    ///
    /// ```
    /// use slackwater::science::quantity::litres;
    /// use slackwater::science::rinse::Rinsing;
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// assert!(Rinsing::new(mg(300.0), mg(0.0), litres(9.6), litres(42.0), 0.8).is_ok());
    /// // Nothing that mixes rinses nothing.
    /// assert!(Rinsing::new(mg(300.0), mg(0.0), litres(9.6), litres(42.0), 0.0).is_err());
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn new(
        start: MassConcentration,
        fresh: MassConcentration,
        retained: Volume,
        fill: Volume,
        mixing: f64,
    ) -> Result<Self, OutOfRange> {
        milligrams("The strength at the start", start, 700_000.0)?;
        milligrams("The strength of the fresh water", fresh, 1000.0)?;
        within(
            "The water that stays",
            retained.get::<liter>(),
            0.0,
            1e6,
            "\u{a0}L",
        )?;
        within("The rinse fill", fill.get::<liter>(), 0.001, 1e6, "\u{a0}L")?;
        within("The part that mixes", mixing, 0.1, 1.0, "")?;
        Ok(Self {
            start,
            fresh,
            retained,
            fill,
            mixing,
        })
    }

    /// Part of the strength that one drain carries over: r = V_retained/(V_retained + V_fill).
    ///
    /// ```
    /// # use slackwater::science::rinse::Rinsing;
    /// # use uom::si::f64::{MassConcentration, Volume};
    /// # use uom::si::mass_concentration::milligram_per_liter;
    /// # use uom::si::ratio::ratio;
    /// # use uom::si::volume::liter;
    /// let (mg, l) = (MassConcentration::new::<milligram_per_liter>, Volume::new::<liter>);
    /// let clay = Rinsing::new(mg(300.0), mg(0.0), l(9.6), l(42.0), 1.0)?;
    /// assert!((clay.carried_over().get::<ratio>() - 0.186047).abs() < 1e-6);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn carried_over(&self) -> Ratio {
        self.retained / (self.retained + self.fill)
    }

    /// What one rinse leaves of the strength above fresh water: (1 - E) + E r.
    fn factor(&self) -> f64 {
        (1.0 - self.mixing) + self.mixing * self.carried_over().get::<ratio>()
    }

    /// What is expected after so many rinses: C_n = C_fresh + (C_0 - C_fresh) ((1 - E) + E r)ⁿ.
    ///
    /// No credit is given for decay. Source: serial dilution.
    ///
    /// ```
    /// # use slackwater::science::rinse::Rinsing;
    /// # use uom::si::f64::{MassConcentration, Volume};
    /// # use uom::si::mass_concentration::milligram_per_liter;
    /// # use uom::si::volume::liter;
    /// let (mg, l) = (MassConcentration::new::<milligram_per_liter>, Volume::new::<liter>);
    /// // 3 % w/v leaves 2 L behind, rinsed with 100 L: 30 000, 588, 11.5, 0.226 mg/L.
    /// let rinsing = Rinsing::new(mg(30_000.0), mg(0.0), l(2.0), l(100.0), 1.0)?;
    /// assert!((rinsing.after(3).milligrams_per_litre() - 0.22616).abs() < 1e-5);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn after(&self, rinses: u32) -> ExpectedResidual {
        let left = self
            .factor()
            .powi(i32::try_from(rinses).unwrap_or(i32::MAX));
        ExpectedResidual(self.fresh + (self.start - self.fresh) * left)
    }

    /// How many rinses are expected to bring the residue to a limit or below:
    /// n = ⌈ln((C_limit - C_fresh)/(C_0 - C_fresh)) / ln((1 - E) + E r)⌉.
    ///
    /// Range: limit 0.01 to 700 000 mg/L.
    ///
    /// ```
    /// # use slackwater::science::rinse::{RinseOutlook, Rinsing};
    /// # use uom::si::f64::{MassConcentration, Volume};
    /// # use uom::si::mass_concentration::milligram_per_liter;
    /// # use uom::si::volume::liter;
    /// let (mg, l) = (MassConcentration::new::<milligram_per_liter>, Volume::new::<liter>);
    /// let clay = Rinsing::new(mg(300.0), mg(0.0), l(9.6), l(42.0), 1.0)?;
    /// let RinseOutlook::Expected(estimate) = clay.needed(mg(1.0))? else { unreachable!() };
    /// assert_eq!(estimate.rinses, 4);
    /// // Water that brings in as much as the limit allows can never rinse down to it.
    /// let hard = Rinsing::new(mg(300.0), mg(1.0), l(9.6), l(42.0), 1.0)?;
    /// assert_eq!(hard.needed(mg(1.0))?, RinseOutlook::FreshWaterTooStrong);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A limit outside the range.
    pub fn needed(&self, limit: MassConcentration) -> Result<RinseOutlook, OutOfRange> {
        within(
            "The limit",
            limit.get::<milligram_per_liter>(),
            0.01,
            700_000.0,
            "\u{a0}mg/L",
        )?;
        if self.start <= limit {
            return Ok(RinseOutlook::Expected(self.estimate(0)));
        }
        if limit <= self.fresh {
            return Ok(RinseOutlook::FreshWaterTooStrong);
        }
        let exact = self.needed_exactly(limit).unwrap_or(1.0);
        let mut rinses = exact.ceil().clamp(1.0, 100_000.0) as u32;
        // Rounding may land one rinse off where the limit is met exactly.
        if rinses > 1 && self.after(rinses - 1).0 <= limit {
            rinses -= 1;
        } else if self.after(rinses).0 > limit {
            rinses += 1;
        }
        let estimate = self.estimate(rinses);
        Ok(if rinses > RINSES_WORTH_PLANNING {
            RinseOutlook::TooMany(estimate)
        } else {
            RinseOutlook::Expected(estimate)
        })
    }

    /// The same before it is rounded up: ln((C_limit - C_fresh)/(C_0 - C_fresh)) / ln((1 - E) + E r);
    /// none where no rinse is needed, where none helps, and where a drain carries nothing over. Range:
    /// as [`Self::needed`].
    ///
    /// ```
    /// # use slackwater::science::rinse::Rinsing;
    /// # use uom::si::f64::{MassConcentration, Volume};
    /// # use uom::si::mass_concentration::milligram_per_liter;
    /// # use uom::si::volume::liter;
    /// let (mg, l) = (MassConcentration::new::<milligram_per_liter>, Volume::new::<liter>);
    /// let clay = Rinsing::new(mg(300.0), mg(0.0), l(9.6), l(42.0), 1.0)?;
    /// // ln 300 ÷ ln(51.6 ÷ 9.6)
    /// assert!((clay.needed_exactly(mg(1.0)).unwrap() - 3.3913).abs() < 1e-3);
    /// assert_eq!(clay.needed_exactly(mg(300.0)), None);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn needed_exactly(&self, limit: MassConcentration) -> Option<f64> {
        if self.start <= limit || limit <= self.fresh {
            return None;
        }
        let aim = ((limit - self.fresh) / (self.start - self.fresh)).get::<ratio>();
        let exact = aim.ln() / self.factor().ln();
        (exact.is_finite() && self.factor() > 0.0).then_some(exact)
    }

    fn estimate(&self, rinses: u32) -> RinseEstimate {
        RinseEstimate {
            rinses,
            residual: self.after(rinses),
            water: self.fill * f64::from(rinses),
        }
    }

    /// Water that a steady flush of the full system takes to the same limit, for comparison:
    /// V = V_system ln((C_0 - C_fresh)/(C_limit - C_fresh)); none when the fresh water holds too
    /// much.
    ///
    /// ```
    /// # use slackwater::science::rinse::Rinsing;
    /// # use uom::si::f64::{MassConcentration, Volume};
    /// # use uom::si::mass_concentration::milligram_per_liter;
    /// # use uom::si::volume::liter;
    /// let (mg, l) = (MassConcentration::new::<milligram_per_liter>, Volume::new::<liter>);
    /// let bench = Rinsing::new(mg(300.0), mg(0.0), l(10.0), l(90.0), 1.0)?;
    /// // Three fills of 90 L do what 570 L flushed through the full bench do.
    /// assert!((bench.flush_water(mg(1.0)).unwrap().get::<liter>() - 570.378).abs() < 1e-3);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn flush_water(&self, limit: MassConcentration) -> Option<Volume> {
        if self.start <= limit {
            return Some(Volume::new::<liter>(0.0));
        }
        if limit <= self.fresh {
            return None;
        }
        let times = ((self.start - self.fresh) / (limit - self.fresh))
            .get::<ratio>()
            .ln();
        Some((self.retained + self.fill) * times)
    }
}

/// Part of the strength that is left when water is flushed through a system that stays full:
/// exp(-V/V_system).
///
/// Range: water 0 to 1e6 L, system 0.001 to 1e6 L.
///
/// ```
/// use slackwater::science::rinse::left_by_flush;
/// use uom::si::f64::Volume;
/// use uom::si::ratio::ratio;
/// use uom::si::volume::liter;
/// let l = Volume::new::<liter>;
/// assert!((left_by_flush(l(90.0), l(100.0))?.get::<ratio>() - 0.40657).abs() < 1e-5);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A volume outside the range.
pub fn left_by_flush(water: Volume, system: Volume) -> Result<Ratio, OutOfRange> {
    within("The flush water", water.get::<liter>(), 0.0, 1e6, "\u{a0}L")?;
    within("The system", system.get::<liter>(), 0.001, 1e6, "\u{a0}L")?;
    Ok(Ratio::new::<ratio>(
        (-(water / system).get::<ratio>()).exp(),
    ))
}

/// Part that mixes, from readings before and after the first rinse (strip or conductivity):
/// E = (1 - (C_1 - C_fresh)/(C_0 - C_fresh)) / (1 - r), 1 at most.
///
/// `left` is (C_1 - C_fresh)/(C_0 - C_fresh), `carried_over` is r. Range: left 0 to 1, r 0 to
/// 0.99.
///
/// ```
/// use slackwater::science::rinse::mixing_from_first_rinse;
/// use uom::si::f64::Ratio;
/// use uom::si::ratio::ratio;
/// let part = Ratio::new::<ratio>;
/// assert!((mixing_from_first_rinse(part(0.3488), part(0.186))? - 0.8).abs() < 1e-9);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A part outside the range.
pub fn mixing_from_first_rinse(left: Ratio, carried_over: Ratio) -> Result<f64, OutOfRange> {
    let left = within("The part left", left.get::<ratio>(), 0.0, 1.0, "")?;
    let r = within(
        "The part carried over",
        carried_over.get::<ratio>(),
        0.0,
        0.99,
        "",
    )?;
    Ok(((1.0 - left) / (1.0 - r)).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mg(v: f64) -> MassConcentration {
        MassConcentration::new::<milligram_per_liter>(v)
    }

    fn l(v: f64) -> Volume {
        Volume::new::<liter>(v)
    }

    proptest! {
        #[test]
        fn the_number_is_the_least_that_does(
            start in 10.0..60_000.0f64, fresh in 0.0..0.5f64, retained in 0.0..60.0f64,
            fill in 10.0..200.0f64, mixing in 0.3..1.0f64, limit in 0.6..9.0f64,
        ) {
            let rinsing = Rinsing::new(mg(start), mg(fresh), l(retained), l(fill), mixing).unwrap();
            let estimate = match rinsing.needed(mg(limit)).unwrap() {
                RinseOutlook::Expected(e) | RinseOutlook::TooMany(e) => e,
                RinseOutlook::FreshWaterTooStrong => {
                    return Err(TestCaseError::fail("fresh water is below the limit"));
                }
            };
            prop_assert!(estimate.residual.milligrams_per_litre() <= limit);
            prop_assert!(rinsing.after(estimate.rinses - 1).milligrams_per_litre() > limit);
        }

        /// An independent second way: carry the masses through each drain and fill.
        #[test]
        fn the_formula_agrees_with_carrying_masses(
            start in 10.0..60_000.0f64, fresh in 0.0..5.0f64, retained in 0.1..60.0f64,
            fill in 10.0..200.0f64, n in 0u32..9,
        ) {
            let rinsing = Rinsing::new(mg(start), mg(fresh), l(retained), l(fill), 1.0).unwrap();
            let mut strength = start;
            for _ in 0..n {
                strength = (strength * retained + fresh * fill) / (retained + fill);
            }
            let formula = rinsing.after(n).milligrams_per_litre();
            prop_assert!((formula - strength).abs() <= 1e-9 * start);
        }
    }

    #[test]
    fn a_system_that_is_clean_needs_no_rinse() {
        let clean = Rinsing::new(mg(0.5), mg(2.0), l(1.0), l(10.0), 1.0).unwrap();
        let RinseOutlook::Expected(estimate) = clean.needed(mg(1.0)).unwrap() else {
            panic!("below the limit already")
        };
        assert_eq!(estimate.rinses, 0);
    }

    #[test]
    fn a_bare_tray_that_keeps_nothing_takes_one() {
        let bare = Rinsing::new(mg(30_000.0), mg(0.0), l(0.0), l(86.4), 1.0).unwrap();
        let RinseOutlook::Expected(estimate) = bare.needed(mg(1.0)).unwrap() else {
            panic!()
        };
        assert_eq!(estimate.rinses, 1);
    }

    #[test]
    fn rock_wool_is_replaced() {
        let slab = Rinsing::new(mg(300.0), mg(0.0), l(80.0), l(15.0), 1.0).unwrap();
        let outlook = slab.needed(mg(1.0)).unwrap();
        assert!(matches!(outlook, RinseOutlook::TooMany(e) if e.rinses == 34));
    }
}
