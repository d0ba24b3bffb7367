//! How much of a product is kept beyond what is planned: from how far clean-outs really drew off what
//! their dose sheets expected.

use chrono::{Days, NaiveDate};

use super::enough::Draw;
use crate::science::quantity::OutOfRange;
use crate::science::statistics::{mean_and_sd, t95};
use crate::science::stored::Millilitres;

/// What a dose sheet expected, and what was drawn for it in the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Use {
    pub expected: Millilitres,
    pub drawn: Millilitres,
}

/// Fewer clean-outs do not tell how far they scatter. A choice of this house.
pub const ENOUGH: usize = 5;

/// What is kept beyond the plan, and why so much.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Safety {
    /// The site's own figure.
    Own(Millilitres),
    /// From so many clean-outs that drew so much more than expected on average, in parts of it, with
    /// this scatter around it.
    Spread {
        amount: Millilitres,
        uses: usize,
        mean: f64,
        sd: f64,
        t: f64,
        /// All that is drawn in the lead time that asks for most.
        planned: Millilitres,
    },
    /// Too few clean-outs: the largest dose that is planned, once more.
    Usual { amount: Millilitres, uses: usize },
}

impl Safety {
    pub fn amount(self) -> Millilitres {
        match self {
            Self::Own(amount) | Self::Spread { amount, .. } | Self::Usual { amount, .. } => amount,
        }
    }

    /// What to keep beyond the plan for one lead time.
    ///
    /// r = drawn ÷ expected - 1 of each clean-out, with mean m and standard deviation s of n of them. For
    /// the doses q of one lead time, taken to scatter independently, the upper end of the prediction
    /// interval of their sum is m Σq + t s √(Σq² + (Σq)² ÷ n) above the plan, with Student's t of n - 1
    /// degrees of freedom, two-sided 95 %: it suffices in 39 lead times of 40. The lead time that asks for
    /// most counts, and a mean below nothing counts as nothing.
    /// Source: the prediction interval for a future observation of a normal sample, as in ISO 16269-8
    /// (from memory); that stock is kept by it is common practice. With fewer than five clean-outs it is
    /// the largest planned dose once more: common practice, no source.
    ///
    /// ```
    /// use slackwater::science::stored::Millilitres;
    /// use slackwater::stock::enough::Draw;
    /// use slackwater::stock::safety::{Safety, Use};
    /// let ml = |amount| Millilitres::new(amount).unwrap();
    /// let planned = [Draw { day: "2027-03-05".parse()?, amount: ml(10_000) }];
    /// let uses = [10_000, 10_200, 10_400, 10_600, 10_800].map(|drawn| Use { expected: ml(10_000), drawn: ml(drawn) });
    /// let today = "2027-03-04".parse()?;
    /// // m = 0.04, s = 0.03162, t = 2.7764: 400 + 2.7764 × 316.2 × √1.2 = 1361.8.
    /// assert_eq!(Safety::of(&uses, &planned, today, 7, None)?.amount(), ml(1_362));
    /// assert_eq!(Safety::of(&uses[..2], &planned, today, 7, None)?.amount(), ml(10_000));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// An amount beyond what can be stored.
    pub fn of(
        uses: &[Use],
        planned: &[Draw],
        today: NaiveDate,
        lead_days: i64,
        own: Option<Millilitres>,
    ) -> Result<Self, OutOfRange> {
        if let Some(own) = own {
            return Ok(Self::Own(own));
        }
        let off: Vec<f64> = uses
            .iter()
            .filter(|one| one.expected.get() > 0)
            .map(|one| one.drawn.get() as f64 / one.expected.get() as f64 - 1.0)
            .collect();
        let known = mean_and_sd(&off).filter(|_| off.len() >= ENOUGH);
        let (Some((mean, sd)), Some(t)) = (known, t95(off.len().saturating_sub(1))) else {
            let largest = planned.iter().map(|draw| draw.amount.get()).max();
            return Ok(Self::Usual {
                amount: Millilitres::new(largest.unwrap_or(0))?,
                uses: off.len(),
            });
        };
        let n = off.len() as f64;
        let for_window = |(sum, squares): (f64, f64)| {
            let amount = mean.max(0.0) * sum + t * sd * (squares + sum * sum / n).sqrt();
            (amount, sum)
        };
        let windows = lead_times(planned, today, lead_days).map(for_window);
        let (amount, sum) = windows.fold(
            (0.0, 0.0),
            |most: (f64, f64), window| {
                if window.0 > most.0 { window } else { most }
            },
        );
        Ok(Self::Spread {
            amount: Millilitres::new(amount.ceil() as i64)?,
            uses: off.len(),
            mean,
            sd,
            t,
            planned: Millilitres::new(sum as i64)?,
        })
    }
}

/// The sum of the draws, and of their squares, in the lead time that begins with each, in mL and mL².
fn lead_times(
    planned: &[Draw],
    today: NaiveDate,
    lead_days: i64,
) -> impl Iterator<Item = (f64, f64)> {
    let lead = Days::new(lead_days.unsigned_abs());
    let starts = planned.iter().map(move |draw| draw.day.max(today));
    starts.map(move |from| {
        let to = from.checked_add_days(lead).unwrap_or(from);
        let inside = planned
            .iter()
            .filter(|draw| (from..=to).contains(&draw.day.max(today)));
        inside.fold((0.0, 0.0), |(sum, squares), draw| {
            let amount = draw.amount.get() as f64;
            (sum + amount, squares + amount * amount)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stock::enough::tests::{day, ml};
    use proptest::prelude::*;

    fn uses(drawn: &[i64]) -> Vec<Use> {
        let one = |drawn: &i64| Use {
            expected: ml(10_000),
            drawn: ml(*drawn),
        };
        drawn.iter().map(one).collect()
    }

    fn planned(amounts: &[(u64, i64)]) -> Vec<Draw> {
        let draw = |(on, amount): &(u64, i64)| Draw {
            day: day(*on),
            amount: ml(*amount),
        };
        amounts.iter().map(draw).collect()
    }

    #[test]
    fn the_sites_own_figure_wins_and_few_uses_say_so() {
        let planned = planned(&[(1, 6_000), (3, 9_000)]);
        let of = |uses: &[Use], own| Safety::of(uses, &planned, day(0), 7, own).unwrap();
        assert_eq!(of(&uses(&[1; 9]), Some(ml(2_000))), Safety::Own(ml(2_000)));
        let few = of(&uses(&[10_000, 12_000]), None);
        assert_eq!(
            (few.amount(), matches!(few, Safety::Usual { uses: 2, .. })),
            (ml(9_000), true)
        );
    }

    #[test]
    fn doses_that_came_out_as_expected_ask_for_nothing_more() {
        let exact = uses(&[10_000; 6]);
        let planned = planned(&[(1, 6_000)]);
        let safety = Safety::of(&exact, &planned, day(0), 7, None).unwrap();
        assert_eq!(safety.amount(), ml(0));
    }

    #[test]
    fn only_the_busiest_lead_time_counts() {
        let drawn = uses(&[10_000, 10_500, 11_000, 10_200, 10_700]);
        let one = Safety::of(&drawn, &planned(&[(1, 6_000), (2, 6_000)]), day(0), 5, None);
        let spread = planned(&[(1, 6_000), (2, 6_000), (20, 4_000), (30, 5_000)]);
        assert_eq!(one, Safety::of(&drawn, &spread, day(0), 5, None));
    }

    proptest! {
        #[test]
        fn more_scatter_or_a_longer_lead_time_never_asks_for_less(
            off in prop::collection::vec(-2_000i64..2_000, 5..12),
            doses in prop::collection::vec((0u64..42, 1i64..20_000), 1..12), lead in 0i64..30,
        ) {
            let with = |times: i64, lead| {
                let mean = off.iter().sum::<i64>() / off.len() as i64;
                let drawn: Vec<i64> = off.iter().map(|off| 10_000 + 500 + (off - mean) * times / 2).collect();
                Safety::of(&uses(&drawn), &planned(&doses), day(0), lead, None).unwrap().amount().get()
            };
            // The means differ by the rounding of whole millilitres.
            prop_assert!(with(2, lead) + 60 >= with(1, lead));
            prop_assert!(with(2, lead + 10) >= with(2, lead));
        }
    }
}
