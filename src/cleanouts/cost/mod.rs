//! What a released clean-out cost, and what a late one costs in bench-weeks: with the prices that the site
//! gave, and nothing else. What is not known is said and stays out of the sum.

mod load;
pub mod store;
mod worked;

use crate::crops::gap::length_words;
use crate::science::quantity::OutOfRange;
use crate::science::show;
use crate::science::stored::{Hundredths, Millilitres};
use crate::science::units::Units;
use crate::site::prices::Prices;

pub use load::{lost, of_cleanout};
pub use worked::worked_minutes;

/// What was drawn from one lot.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    pub code: String,
    pub amount: Millilitres,
    pub litre_cost: Option<Hundredths>,
}

/// What a clean-out took.
#[derive(Clone, Debug, PartialEq)]
pub struct Spent {
    pub drawn: Vec<Drawn>,
    /// Readings of peroxide, a strip each.
    pub strips: i64,
    /// Of everybody together, from entry to entry.
    pub worked_min: i64,
    /// Purified water for dose, rinses and the fresh fill; none where the card does not know.
    pub water: Option<Millilitres>,
}

/// One line of the cost; without an amount where it is not known, and then why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CostLine {
    pub what: String,
    pub working: String,
    pub amount: Option<Hundredths>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cost {
    pub lines: Vec<CostLine>,
    /// Of the lines that are known.
    pub sum: Hundredths,
    pub complete: bool,
}

/// So many hundredths for `count` of `of` units at a price each, half up to the whole hundredth.
fn times(price: Hundredths, count: i64, of: i64) -> Option<Hundredths> {
    let exact = i128::from(price.get()) * i128::from(count);
    let of = i128::from(of.max(1));
    let whole = (2 * exact + of).div_euclid(2 * of);
    Hundredths::new(i64::try_from(whole).ok()?).ok()
}

/// Each line is rounded to the whole hundredth, and the sum is the sum of the lines.
///
/// # Errors
/// A sum beyond what can be stored.
pub fn cost(spent: &Spent, prices: Option<&Prices>, units: Units) -> Result<Cost, OutOfRange> {
    let volume = |amount: Millilitres| show::volume(amount.volume(), units);
    let mut lines: Vec<CostLine> = spent
        .drawn
        .iter()
        .map(|drawn| {
            let amount = drawn
                .litre_cost
                .and_then(|cost| times(cost, drawn.amount.get(), 1000));
            let price = match drawn.litre_cost {
                Some(cost) => format!("{} × {} a litre", volume(drawn.amount), cost.words()),
                None => format!("{}; the lot has no price", volume(drawn.amount)),
            };
            CostLine {
                what: format!("Concentrate, lot {}", drawn.code),
                working: price,
                amount,
            }
        })
        .collect();
    let mut line = |what: &str, count: String, price: Option<Hundredths>, each: &str, amount| {
        let working = match price {
            Some(price) => format!("{count} × {}{each}", price.words()),
            None => format!("{count}; the site gives no price"),
        };
        lines.push(CostLine {
            what: what.to_owned(),
            working,
            amount,
        });
    };
    let (hour, strip) = (
        prices.and_then(|prices| prices.hour),
        prices.and_then(|prices| prices.strip),
    );
    let worked = length_words(spent.worked_min);
    let amount = hour.and_then(|hour| times(hour, spent.worked_min, 60));
    line("Work", worked, hour, " an hour", amount);
    let strips = match spent.strips {
        1 => "1 strip".to_owned(),
        count => format!("{count} strips"),
    };
    let amount = strip.and_then(|strip| times(strip, spent.strips, 1));
    line("Test strips", strips, strip, "", amount);
    let water = prices.and_then(|prices| prices.water);
    match spent.water {
        Some(used) => {
            let amount = water.and_then(|price| times(price, used.get(), 1_000_000));
            line(
                "Purified water",
                volume(used),
                water,
                " for 1000\u{a0}L",
                amount,
            );
        }
        None => lines.push(CostLine {
            what: "Purified water".to_owned(),
            working: "its card does not say how much the rinses take".to_owned(),
            amount: None,
        }),
    }
    let known = lines.iter().filter_map(|line| line.amount);
    let sum: i64 = known.map(Hundredths::get).sum();
    let sum = Hundredths::new(sum)?;
    Ok(Cost {
        complete: lines.iter().all(|line| line.amount.is_some()),
        lines,
        sum,
    })
}

/// What benches cost that stand empty: benches × days ÷ 7 × a bench-week; nothing where it is not late.
pub fn bench_weeks(benches: usize, days: i64, week: Hundredths) -> Option<Hundredths> {
    let benches = i64::try_from(benches).ok()?;
    (days > 0 && benches > 0).then(|| times(week, benches * days, 7))?
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::prices::Currency;
    use proptest::prelude::*;

    fn money(hundredths: i64) -> Hundredths {
        Hundredths::new(hundredths).unwrap()
    }

    fn ml(amount: i64) -> Millilitres {
        Millilitres::new(amount).unwrap()
    }

    fn spent() -> Spent {
        Spent {
            drawn: vec![Drawn {
                code: "P-118".to_owned(),
                amount: ml(14_100),
                litre_cost: Some(money(380)),
            }],
            strips: 3,
            worked_min: 150,
            water: Some(ml(1_200_000)),
        }
    }

    fn prices() -> Prices {
        Prices {
            currency: Currency::parse("EUR").unwrap(),
            hour: Some(money(2_850)),
            strip: Some(money(45)),
            water: Some(money(600)),
            bench_week: Some(money(7_000)),
        }
    }

    #[test]
    fn each_line_is_its_count_times_its_price() {
        let cost = cost(&spent(), Some(&prices()), Units::Metric).unwrap();
        let amounts: Vec<i64> = cost
            .lines
            .iter()
            .map(|line| line.amount.unwrap().get())
            .collect();
        // 14.1 × 3.80, 2.5 h × 28.50, 3 × 0.45, 1.2 m³ × 6.00.
        assert_eq!(amounts, [5_358, 7_125, 135, 720]);
        assert_eq!((cost.sum, cost.complete), (money(13_338), true));
    }

    #[test]
    fn what_is_not_known_is_said_and_is_not_in_the_sum() {
        let cost = cost(&spent(), None, Units::Metric).unwrap();
        assert_eq!((cost.sum, cost.complete), (money(5_358), false));
        assert!(cost.lines[1].working.contains("gives no price"));
        let none = Spent {
            water: None,
            drawn: Vec::new(),
            ..spent()
        };
        let cost = super::cost(&none, Some(&prices()), Units::Metric).unwrap();
        assert!(!cost.complete && cost.lines.last().unwrap().amount.is_none());
    }

    #[test]
    fn a_bench_week_is_seven_days_of_one_bench() {
        assert_eq!(bench_weeks(4, 7, money(7_000)), Some(money(28_000)));
        assert_eq!(bench_weeks(4, 1, money(7_000)), Some(money(4_000)));
        assert_eq!(bench_weeks(4, 0, money(7_000)), None);
        assert_eq!(bench_weeks(0, 3, money(7_000)), None);
    }

    proptest! {
        #[test]
        fn a_price_times_a_count_is_off_by_half_a_hundredth_at_most(price in 0i64..1_000_000, count in 0i64..1_000_000, of in 1_000i64..1_000_000) {
            let whole = times(money(price), count, of).unwrap().get();
            let off = i128::from(whole) * i128::from(of) - i128::from(price) * i128::from(count);
            prop_assert!(2 * off.abs() <= i128::from(of));
        }
    }
}
