//! Uncertainty: how far a result may be off, from how far each figure behind it may be off.
//!
//! The way of JCGM 100:2008, the Guide to the expression of uncertainty in measurement (GUM): each
//! figure has a standard uncertainty u(x), from the shape of what is known of it; each acts on the
//! result by c u(x); the squares add up; twice the root is the range, which holds the true value in
//! about 95 of 100 cases (coverage factor k = 2, GUM 6.2 and G.6.6).

mod propagate;

pub use propagate::{propagate, propagate_all};

use super::statistics::{mean_and_sd, t95};

/// The coverage factor k: twice the combined standard uncertainty, about 95 in 100.
pub const COVERAGE: f64 = 2.0;

/// How the range is reckoned, for a page that shows one.
pub const HOW_RECKONED: &str = "By the law of propagation of uncertainty (JCGM 100:2008, GUM): what each figure may be off by is turned into a standard uncertainty (a tolerance or half a mark divided by √3, for a reading between two marks √6), carried through the sum, the squares added, and the root taken twice (k = 2). The true value lies in the range in about 95 of 100 cases.";

/// What is known of how a figure may be off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Anywhere within the half-width alike: a tolerance, half a mark. u = a / √3 (GUM 4.3.7).
    Rectangular,
    /// Within the half-width, most often near its middle: a level read between marks. u = a / √6
    /// (GUM 4.3.9).
    Triangular,
    /// The half-width is twice the standard uncertainty, as a certificate states it with k = 2.
    /// u = a / 2 (GUM 4.3.3).
    Expanded,
}

/// A figure that a result is reckoned from, and how far it may be off.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What it is, in the words of the page.
    pub what: &'static str,
    /// How far it may be off and how that is known: '±15 %, usual figure'.
    pub how: String,
    /// The figure, in any unit.
    pub value: f64,
    /// What is known of how it may be off.
    pub shape: Shape,
    /// Half the width of that, in the unit of the figure; not below nothing.
    pub half_width: f64,
}

impl Input {
    /// A figure within a tolerance, anywhere alike.
    ///
    /// ```
    /// use slackwater::science::uncertainty::Input;
    /// let jug = Input::within("Marks of the jug", "half a mark", 2.5, 0.025);
    /// assert!((jug.standard() - 0.014434).abs() < 1e-6);
    /// ```
    pub fn within(what: &'static str, how: impl Into<String>, value: f64, half_width: f64) -> Self {
        Self {
            what,
            how: how.into(),
            value,
            shape: Shape::Rectangular,
            half_width: half_width.abs(),
        }
    }

    /// A figure read between two marks, most often near the middle of what it may be.
    ///
    /// ```
    /// use slackwater::science::uncertainty::Input;
    /// let level = Input::read("Flood level", "±3 mm", 120.0, 3.0);
    /// assert!((level.standard() - 1.224745).abs() < 1e-6);
    /// ```
    pub fn read(what: &'static str, how: impl Into<String>, value: f64, half_width: f64) -> Self {
        Self {
            shape: Shape::Triangular,
            ..Self::within(what, how, value, half_width)
        }
    }

    /// A figure with a range already expanded by k = 2.
    ///
    /// ```
    /// use slackwater::science::uncertainty::Input;
    /// assert_eq!(Input::expanded("Volume", "", 186.0, 8.0).standard(), 4.0);
    /// ```
    pub fn expanded(
        what: &'static str,
        how: impl Into<String>,
        value: f64,
        half_width: f64,
    ) -> Self {
        Self {
            shape: Shape::Expanded,
            ..Self::within(what, how, value, half_width)
        }
    }

    /// Standard uncertainty u(x), in the unit of the figure.
    ///
    /// ```
    /// use slackwater::science::uncertainty::Input;
    /// assert_eq!(Input::within("Heel", "", 18.0, 0.0).standard(), 0.0);
    /// ```
    pub fn standard(&self) -> f64 {
        self.half_width
            / match self.shape {
                Shape::Rectangular => 3f64.sqrt(),
                Shape::Triangular => 6f64.sqrt(),
                Shape::Expanded => COVERAGE,
            }
    }
}

/// What one figure brings to the uncertainty of the result.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// Which figure.
    pub what: &'static str,
    /// How far it may be off and how that is known.
    pub how: String,
    /// c u(x): how much the result moves with one standard uncertainty of the figure, in the unit of
    /// the result; below nothing where the result falls as the figure rises.
    pub effect: f64,
}

/// A result with all that its range is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    /// The result, in its unit.
    pub value: f64,
    /// What each figure brings; they are independent of each other.
    pub contributions: Vec<Contribution>,
}

impl Budget {
    /// A result that is not off at all.
    ///
    /// ```
    /// use slackwater::science::uncertainty::Budget;
    /// assert_eq!(Budget::exact(186.0).range(), (186.0, 186.0));
    /// ```
    pub fn exact(value: f64) -> Self {
        Self {
            value,
            contributions: Vec::new(),
        }
    }

    /// One figure as a result by itself.
    ///
    /// ```
    /// use slackwater::science::uncertainty::{Budget, Input};
    /// let heel = Budget::of(Input::expanded("Heel", "by a jug", 18.0, 2.0));
    /// assert_eq!(heel.range(), (16.0, 20.0));
    /// ```
    pub fn of(input: Input) -> Self {
        let (value, effect) = (input.value, input.standard());
        let contribution = Contribution {
            what: input.what,
            how: input.how,
            effect,
        };
        Self {
            value,
            contributions: Some(contribution)
                .filter(|part| part.effect > 0.0)
                .into_iter()
                .collect(),
        }
    }

    /// Combined standard uncertainty: u = √(Σ (c u(x))²), for independent figures (GUM 5.1.2).
    ///
    /// ```
    /// use slackwater::science::uncertainty::{Input, propagate};
    /// let inputs = [Input::expanded("a", "", 3.0, 6.0), Input::expanded("b", "", 4.0, 8.0)];
    /// let sum = propagate(&inputs, |x| Ok::<_, ()>(x[0] + x[1])).unwrap();
    /// assert!((sum.combined() - 5.0).abs() < 1e-12);
    /// ```
    pub fn combined(&self) -> f64 {
        let squares = self.contributions.iter().map(|part| part.effect.powi(2));
        squares.sum::<f64>().sqrt()
    }

    /// Expanded uncertainty U = k u with k = 2: half the width of the range.
    ///
    /// ```
    /// use slackwater::science::uncertainty::{Input, propagate};
    /// let inputs = [Input::expanded("a", "", 3.0, 6.0)];
    /// let same = propagate(&inputs, |x| Ok::<_, ()>(x[0])).unwrap();
    /// assert!((same.expanded() - 6.0).abs() < 1e-12);
    /// ```
    pub fn expanded(&self) -> f64 {
        COVERAGE * self.combined()
    }

    /// Least and most: the result less and plus its expanded uncertainty; never below nothing,
    /// because no volume and no strength is.
    ///
    /// ```
    /// use slackwater::science::uncertainty::{Input, propagate};
    /// let inputs = [Input::expanded("a", "", 10.0, 12.0)];
    /// let same = propagate(&inputs, |x| Ok::<_, ()>(x[0])).unwrap();
    /// assert!(same.range().0 == 0.0 && (same.range().1 - 22.0).abs() < 1e-9);
    /// ```
    pub fn range(&self) -> (f64, f64) {
        let wide = self.expanded();
        ((self.value - wide).max(0.0), self.value + wide)
    }

    /// Figures of one name and one way of being known taken together, the largest first. Their
    /// squares add up, so the range stays the same.
    ///
    /// ```
    /// use slackwater::science::uncertainty::{Input, propagate};
    /// let pour = |v| Input::within("Marks of the jug", "half a mark", v, 0.025);
    /// let sum = propagate(&[pour(2.5), pour(2.25)], |x| Ok::<_, ()>(x[0] + x[1])).unwrap();
    /// let merged = sum.merged();
    /// assert_eq!(merged.contributions.len(), 1);
    /// assert!((merged.combined() - sum.combined()).abs() < 1e-15);
    /// ```
    pub fn merged(&self) -> Self {
        let mut merged: Vec<Contribution> = Vec::new();
        for part in &self.contributions {
            let same = merged
                .iter_mut()
                .find(|other| other.what == part.what && other.how == part.how);
            match same {
                Some(other) => other.effect = other.effect.hypot(part.effect),
                None => merged.push(Contribution {
                    effect: part.effect.abs(),
                    ..part.clone()
                }),
            }
        }
        merged.sort_by(|a, b| b.effect.total_cmp(&a.effect));
        Self {
            value: self.value,
            contributions: merged,
        }
    }

    /// The share of a contribution in the square of the combined uncertainty, 0 to 1. The shares of
    /// all contributions make 1, unless nothing is uncertain.
    ///
    /// ```
    /// use slackwater::science::uncertainty::{Input, propagate};
    /// let inputs = [Input::expanded("a", "", 3.0, 6.0), Input::expanded("b", "", 4.0, 8.0)];
    /// let sum = propagate(&inputs, |x| Ok::<_, ()>(x[0] + x[1])).unwrap();
    /// assert!((sum.share(&sum.contributions[1]) - 0.64).abs() < 1e-9);
    /// ```
    pub fn share(&self, of: &Contribution) -> f64 {
        let all = self.combined().powi(2);
        if all > 0.0 {
            of.effect.powi(2) / all
        } else {
            0.0
        }
    }

    /// The sum of two results of the same kind whose contributions are independent.
    ///
    /// ```
    /// use slackwater::science::uncertainty::{Budget, Input, propagate};
    /// let inputs = [Input::expanded("a", "", 3.0, 6.0)];
    /// let one = propagate(&inputs, |x| Ok::<_, ()>(x[0])).unwrap();
    /// assert_eq!(one.and(Budget::exact(2.0)).value, 5.0);
    /// ```
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.value += other.value;
        self.contributions.extend(other.contributions);
        self
    }

    /// What a result that was reckoned from this one makes of its contributions: each moves the
    /// result by so much for one unit of this.
    pub(crate) fn carried(&self, sensitivity: f64) -> impl Iterator<Item = Contribution> + '_ {
        self.contributions.iter().map(move |part| Contribution {
            effect: part.effect * sensitivity,
            ..part.clone()
        })
    }
}

/// What a usual standard deviation is trusted like: 8 repeats, because a judgement that may be off by
/// a quarter counts as 8 degrees of freedom (ν = ½ (Δu/u)⁻², GUM G.4.2).
pub const JUDGED_LIKE: usize = 8;

/// Half the width in which a single repeat of a measurement lies, about 95 in 100: t s, where s pools
/// the spread of the repeats with the usual standard deviation, by their degrees of freedom (GUM
/// 4.2.4 and G.3.3), and t is Student's for both together.
///
/// Without repeats it is t times the usual deviation; many repeats outweigh it. Two repeats that
/// happen to agree do not make a measurement exact, and two that differ do not make it worthless.
///
/// ```
/// use slackwater::science::uncertainty::repeat_half_width;
/// // Nothing repeated: 2.306 times the usual deviation.
/// assert!((repeat_half_width(&[186.0], 2.0) - 4.612).abs() < 0.001);
/// // Two fills 3 L apart: s = 2.121, pooled with 2.0 to 2.014, t of 9 degrees is 2.262.
/// assert!((repeat_half_width(&[184.5, 187.5], 2.0) - 4.556).abs() < 0.001);
/// ```
pub fn repeat_half_width(repeats: &[f64], usual_deviation: f64) -> f64 {
    let (own, spread) = match mean_and_sd(repeats) {
        Some((_, sd)) => (repeats.len() - 1, sd),
        None => (0, 0.0),
    };
    let degrees = JUDGED_LIKE + own;
    let squares = JUDGED_LIKE as f64 * usual_deviation.powi(2) + own as f64 * spread.powi(2);
    let pooled = (squares / degrees as f64).sqrt();
    t95(degrees).unwrap_or(COVERAGE) * pooled
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Numbers that are always the same: a multiplicative congruential generator, enough for a
    /// second way (L'Ecuyer 1999, 64 bits; multiplier from memory).
    pub(crate) struct Draws(u64);

    impl Draws {
        pub(crate) fn new() -> Self {
            Self(0x5eed_5eed_5eed_5eed)
        }

        fn unit(&mut self) -> f64 {
            self.0 = self
                .0
                .wrapping_mul(3_935_559_000_370_003_845)
                .wrapping_add(2_691_343_689_449_507_681);
            (self.0 >> 11) as f64 / (1u64 << 53) as f64
        }

        /// One value of an input, by its shape.
        fn of(&mut self, input: &Input) -> f64 {
            let a = input.half_width;
            input.value
                + match input.shape {
                    Shape::Rectangular => a * (2.0 * self.unit() - 1.0),
                    Shape::Triangular => a * (self.unit() - self.unit()),
                    // The sum of twelve is normal enough within two deviations.
                    Shape::Expanded => a / 2.0 * ((0..12).map(|_| self.unit()).sum::<f64>() - 6.0),
                }
        }
    }

    /// An independent second way (JCGM 101:2008): the function at many draws of its inputs; mean,
    /// standard deviation, and the least and most of the middle 95 in 100.
    pub(crate) fn monte_carlo(
        inputs: &[Input],
        f: impl Fn(&[f64]) -> f64,
    ) -> (f64, f64, (f64, f64)) {
        let mut draws = Draws::new();
        let mut results: Vec<f64> = (0..40_000)
            .map(|_| {
                let at: Vec<f64> = inputs.iter().map(|input| draws.of(input)).collect();
                f(&at)
            })
            .collect();
        let (mean, sd) = mean_and_sd(&results).unwrap();
        results.sort_by(f64::total_cmp);
        (mean, sd, (results[1_000], results[38_999]))
    }

    #[test]
    fn many_draws_give_the_same_range() {
        let inputs = [
            Input::within("Poured", "", 14.75, 0.3),
            Input::read("Level", "", 120.0, 6.0),
            Input::expanded("Density", "", 1.13, 0.02),
            Input::within("Stock", "", 0.35, 0.01),
        ];
        let f = |x: &[f64]| x[0] * x[2] * x[3] * 1000.0 / x[1];
        let budget = propagate(&inputs, |x| Ok::<_, ()>(f(x))).unwrap();
        let (mean, sd, (least, most)) = monte_carlo(&inputs, f);
        assert!((mean / budget.value - 1.0).abs() < 0.002);
        assert!((sd / budget.combined() - 1.0).abs() < 0.02, "{sd}");
        let width = (most - least) / 2.0;
        assert!((width / budget.expanded() - 1.0).abs() < 0.05, "{width}");
    }

    #[test]
    fn a_figure_at_the_edge_of_the_function_counts_one_sided() {
        let inputs = [Input::expanded("x", "", 0.0, 2.0)];
        let root = |x: &[f64]| if x[0] < 0.0 { Err(()) } else { Ok(3.0 * x[0]) };
        let budget = propagate(&inputs, root).unwrap();
        assert!((budget.combined() - 3.0).abs() < 1e-12);
        assert!(propagate(&[Input::within("x", "", -1.0, 1.0)], root).is_err());
    }

    proptest! {
        #[test]
        fn the_range_holds_the_value_and_grows_with_its_inputs(
            values in proptest::collection::vec(1.0..100.0f64, 1..6), part in 0.0..0.2f64,
        ) {
            let at = |part: f64| {
                let inputs: Vec<Input> = values.iter()
                    .map(|value| Input::within("x", "", *value, value * part)).collect();
                propagate(&inputs, |x| Ok::<_, ()>(x.iter().product::<f64>())).unwrap()
            };
            let (narrow, wide) = (at(part), at(part + 0.01));
            let (least, most) = narrow.range();
            prop_assert!(least <= narrow.value && narrow.value <= most);
            prop_assert!(wide.range().0 <= least && wide.range().1 >= most);
            prop_assert_eq!(at(0.0).range(), (narrow.value, narrow.value));
            let shares: f64 = wide.contributions.iter().map(|one| wide.share(one)).sum();
            prop_assert!((shares - 1.0).abs() < 1e-9);
        }

        #[test]
        fn repeats_that_spread_more_are_trusted_less(
            middle in 50.0..500.0f64, apart in 0.0..20.0f64, n in 2usize..12,
        ) {
            let fills = |apart: f64| -> Vec<f64> {
                (0..n).map(|i| middle + apart * (i as f64 / (n - 1) as f64 - 0.5)).collect()
            };
            let narrow = repeat_half_width(&fills(apart), middle * 0.01);
            let wide = repeat_half_width(&fills(apart + 1.0), middle * 0.01);
            prop_assert!(narrow > 0.0 && wide > narrow);
        }
    }
}
