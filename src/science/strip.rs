//! A test strip: its colours, and between what the strength lies that shows one of them.

use uom::si::f64::MassConcentration;
use uom::si::mass_concentration::milligram_per_liter;

use super::quantity::{OutOfRange, within};
use super::tolerances::{RESIDUAL, Tolerance};

/// The colour steps of a test strip, lowest first.
#[derive(Clone, Debug, PartialEq)]
pub struct StripScale {
    steps_mg_per_l: Vec<f64>,
}

/// Between what a strength lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrengthBetween {
    /// The weakest that it may be.
    pub from: MassConcentration,
    /// The strongest that it may be; none above the highest colour, which only says 'at least'.
    pub to: Option<MassConcentration>,
}

/// Why a figure cannot have been read off a strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotOnStrip {
    /// It lies below the lowest colour, which is this.
    Below(MassConcentration),
    /// It lies above the highest colour, which is this.
    Above(MassConcentration),
}

impl StrengthBetween {
    /// The range of a reading that is known to a part of itself either way.
    ///
    /// Range: parts 0 to 1.
    ///
    /// ```
    /// use slackwater::science::strip::StrengthBetween;
    /// use slackwater::science::tolerances::TITRATION;
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// let read = StrengthBetween::within(mg(100.0), &TITRATION);
    /// assert!((read.from.get::<milligram_per_liter>() - 98.0).abs() < 1e-9);
    /// ```
    pub fn within(read: MassConcentration, off: &Tolerance) -> Self {
        Self {
            from: read * (1.0 - off.half_width).max(0.0),
            to: Some(read * (1.0 + off.half_width)),
        }
    }

    /// A strip whose other colours nobody entered: half a step either way, taken as 50 % of the
    /// reading. A lowest colour says 'not more than half a step over it'; over a lowest colour of
    /// nothing that step is not known, and there is no upper end.
    ///
    /// ```
    /// use slackwater::science::strip::StrengthBetween;
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// assert_eq!(StrengthBetween::usual(mg(4.0), false).from, mg(2.0));
    /// assert_eq!(StrengthBetween::usual(mg(4.0), true).from, mg(0.0));
    /// assert_eq!(StrengthBetween::usual(mg(4.0), true).to, Some(mg(6.0)));
    /// assert_eq!(StrengthBetween::usual(mg(0.0), true).to, None);
    /// ```
    pub fn usual(read: MassConcentration, lowest: bool) -> Self {
        let nothing = MassConcentration::new::<milligram_per_liter>(0.0);
        if read <= nothing {
            return Self {
                from: nothing,
                to: None,
            };
        }
        let range = Self::within(read, &RESIDUAL);
        Self {
            from: if lowest { nothing } else { range.from },
            ..range
        }
    }

    /// The same before it was diluted, one part in so many. Range: 1 to 1000.
    ///
    /// ```
    /// use slackwater::science::strip::StrengthBetween;
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// let tube = StrengthBetween { from: mg(75.0), to: Some(mg(150.0)) };
    /// assert_eq!(tube.undiluted(100.0).to, Some(mg(15_000.0)));
    /// ```
    pub fn undiluted(self, one_in: f64) -> Self {
        Self {
            from: self.from * one_in,
            to: self.to.map(|to| to * one_in),
        }
    }
}

impl StripScale {
    /// A scale of 3 to 20 steps, rising, 0 to 100 000 mg/L.
    ///
    /// ```
    /// use slackwater::science::strip::StripScale;
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// assert!(StripScale::new(&[mg(0.0), mg(50.0), mg(100.0), mg(200.0)]).is_ok());
    /// assert!(StripScale::new(&[mg(0.0), mg(50.0), mg(50.0)]).is_err());
    /// ```
    ///
    /// # Errors
    /// Too few or too many steps, or a step that does not rise.
    pub fn new(steps: &[MassConcentration]) -> Result<Self, OutOfRange> {
        within(
            "The number of colour steps",
            steps.len() as f64,
            3.0,
            20.0,
            "",
        )?;
        let mut least = 0.0;
        let mut steps_mg_per_l = Vec::with_capacity(steps.len());
        for step in steps {
            let step = step.get::<milligram_per_liter>();
            let step = within("A colour step", step, least, 100_000.0, "\u{a0}mg/L")?;
            steps_mg_per_l.push(step);
            least = step * (1.0 + 1e-9) + 1e-9;
        }
        Ok(Self { steps_mg_per_l })
    }

    /// The step that a reading names, the nearest within 2 %; none when the scale has no such step.
    ///
    /// ```
    /// use slackwater::science::strip::StripScale;
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// let scale = StripScale::new(&[mg(0.0), mg(50.0), mg(100.0)])?;
    /// assert_eq!((scale.step_of(mg(100.0)), scale.step_of(mg(75.0))), (Some(2), None));
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn step_of(&self, shown: MassConcentration) -> Option<usize> {
        let shown = shown.get::<milligram_per_liter>();
        let off = |step: f64| (step - shown).abs();
        let steps = self.steps_mg_per_l.iter().copied().enumerate();
        steps
            .filter(|(_, step)| off(*step) <= 0.02 * step)
            .min_by(|(_, a), (_, b)| off(*a).total_cmp(&off(*b)))
            .map(|(place, _)| place)
    }

    /// Every colour, the lowest first.
    ///
    /// ```
    /// use slackwater::science::strip::StripScale;
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let steps = [0.0, 50.0, 100.0].map(MassConcentration::new::<milligram_per_liter>);
    /// assert_eq!(StripScale::new(&steps)?.steps().collect::<Vec<_>>(), steps);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn steps(&self) -> impl Iterator<Item = MassConcentration> {
        let steps = self.steps_mg_per_l.iter().copied();
        steps.map(MassConcentration::new::<milligram_per_liter>)
    }

    /// Between what the strength lies that shows a figure: half a step to the colour below and half a
    /// step to the one above, for a figure between two colours those two. The lowest colour says 'at
    /// most', the highest 'at least'.
    ///
    /// Range: figures on the scale; a colour is met to 2 % of it. The halves are those of the figures
    /// and not of their logarithms, which would end lower: what is left may be as much as this says.
    ///
    /// ```
    /// use slackwater::science::strip::{NotOnStrip, StrengthBetween, StripScale};
    /// use uom::si::f64::MassConcentration;
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// let scale = StripScale::new(&[0.0, 0.5, 2.0, 5.0, 10.0, 25.0].map(mg))?;
    /// let range = |from, to| Ok(StrengthBetween { from: mg(from), to });
    /// assert_eq!(scale.range_of(mg(5.0)), range(3.5, Some(mg(7.5))));
    /// assert_eq!(scale.range_of(mg(7.0)), range(5.0, Some(mg(10.0))));
    /// assert_eq!(scale.range_of(mg(0.0)), range(0.0, Some(mg(0.25))));
    /// assert_eq!(scale.range_of(mg(25.0)), range(17.5, None));
    /// assert_eq!(scale.range_of(mg(30.0)), Err(NotOnStrip::Above(mg(25.0))));
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A figure below the lowest colour or above the highest.
    pub fn range_of(&self, shown: MassConcentration) -> Result<StrengthBetween, NotOnStrip> {
        let mg = MassConcentration::new::<milligram_per_liter>;
        let steps = &self.steps_mg_per_l;
        let at = |step: usize| steps.get(step).copied();
        if let Some(step) = self.step_of(shown) {
            let value = at(step).unwrap_or_default();
            let half = |other: f64| mg(f64::midpoint(value, other));
            return Ok(StrengthBetween {
                from: step
                    .checked_sub(1)
                    .and_then(at)
                    .map_or_else(|| mg(0.0), half),
                to: at(step + 1).map(half),
            });
        }
        let figure = shown.get::<milligram_per_liter>();
        let above = steps.iter().position(|step| *step > figure);
        match above {
            None => Err(NotOnStrip::Above(mg(steps
                .last()
                .copied()
                .unwrap_or_default()))),
            Some(0) => Err(NotOnStrip::Below(mg(at(0).unwrap_or_default()))),
            Some(above) => Ok(StrengthBetween {
                from: mg(at(above - 1).unwrap_or_default()),
                to: at(above).map(mg),
            }),
        }
    }

    /// The middle of the two lowest colours, mg/L: what shows the lowest lies below it.
    pub(super) fn at_lowest_below(&self) -> f64 {
        match self.steps_mg_per_l.as_slice() {
            [lowest, next, ..] => f64::midpoint(*lowest, *next),
            _ => f64::INFINITY,
        }
    }

    /// Value and relative error of a reading that can be fitted.
    ///
    /// The lowest step says "at most", the highest "at least": both are left out. The error is
    /// half of the wider gap to a neighbour.
    pub(super) fn value(&self, step: usize) -> Option<(f64, f64)> {
        let below = self.steps_mg_per_l.get(step.checked_sub(1)?)?;
        let above = self.steps_mg_per_l.get(step + 1)?;
        let value = *self.steps_mg_per_l.get(step)?;
        Some((value, (value - below).max(above - value) / 2.0 / value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mg(value: f64) -> MassConcentration {
        MassConcentration::new::<milligram_per_liter>(value)
    }

    proptest! {
        /// Whatever the strength is, the colour it is nearest to has it in its range, and ranges of
        /// neighbours touch: no strength lies between two of them.
        #[test]
        fn the_colour_that_is_nearest_holds_the_strength(
            gaps in prop::collection::vec(0.5..200.0f64, 3..12), part in 0.0..1.0f64,
        ) {
            let mut steps = vec![0.0];
            for gap in gaps {
                steps.push(steps.last().unwrap() + gap);
            }
            let scale = StripScale::new(&steps.iter().copied().map(mg).collect::<Vec<_>>()).unwrap();
            let real = part * steps.last().unwrap();
            let nearest = steps
                .iter()
                .copied()
                .min_by(|a, b| (a - real).abs().total_cmp(&(b - real).abs()))
                .unwrap();
            let range = scale.range_of(mg(nearest)).unwrap();
            prop_assert!(range.from <= mg(real + 1e-9));
            prop_assert!(range.to.is_none_or(|to| to >= mg(real - 1e-9)));
            for pair in steps.windows(2) {
                let (low, high) = (scale.range_of(mg(pair[0])).unwrap(), scale.range_of(mg(pair[1])).unwrap());
                prop_assert_eq!(low.to, Some(high.from));
            }
        }
    }
}
