//! What is said of the weeks to come in a sentence, on the page and on the first page.

use chrono::NaiveDate;

use super::lines::{containers, signed, volume};
use super::{Ahead, ProductAhead, WaterAhead};
use crate::science::stored::{Hundredths, MillilitreChange};
use crate::science::units::Units;
use crate::site::day_words;
use crate::site::prices::Prices;
use crate::stock::ordering::{Held, Order};

/// Something that runs low: what, in which words, and what must not be overlooked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Low {
    pub about: String,
    pub words: String,
    pub late: String,
}

impl ProductAhead {
    /// 'Order 2 × 25 L by Monday 8 March.'
    pub fn order_words(&self, order: &Order, today: NaiveDate, units: Units) -> String {
        let what = match order.containers.is_empty() {
            true => volume(order.amount, units),
            false => containers(&order.containers, units),
        };
        match order.by == today {
            true => format!(
                "Order {what} today; it comes on {}.",
                day_words(order.comes)
            ),
            false => format!("Order {what} by {}.", day_words(order.by)),
        }
    }

    /// The answer first.
    pub fn verdict(&self, last: NaiveDate, units: Units) -> String {
        match self.course.runs_out() {
            Some(on) => {
                let missing = self.course.left_on(on).map_or(0, MillilitreChange::get);
                format!(
                    "It runs out on {}: {} then.",
                    day_words(on),
                    signed(missing, units)
                )
            }
            None => {
                let left = self.course.days.last().map_or(0, |day| day.left.get());
                format!(
                    "It does not run out: {} left on {}.",
                    signed(left, units),
                    day_words(last)
                )
            }
        }
    }

    /// Why more is needed and none can be ordered.
    pub fn not_ordered_words(&self, units: Units) -> Option<String> {
        let not = self.not_ordered.as_ref()?;
        let wanted = volume(not.wanted, units);
        let why = match not.held {
            Held::ByLimit { there } => format!(
                "no container fits beside the {} that stand here then. Order smaller ones, use up or dispose of what is too old, or ask the fire authority and the insurer for more room",
                volume(there, units)
            ),
            Held::ByKeeping { .. } => {
                "nothing is planned that would use it before it is too old".to_owned()
            }
        };
        Some(format!(
            "{wanted} more would be wanted by {}, and {why}.",
            day_words(not.needed)
        ))
    }

    /// What an order costs at the price of the newest lot, where that is known.
    pub fn cost_words(&self, order: &Order, prices: Option<&Prices>) -> Option<String> {
        let (cost, code) = self.litre_cost.as_ref()?;
        let sum = i128::from(cost.get()) * i128::from(order.amount.get());
        let sum = i64::try_from((sum + 500) / 1000).ok()?;
        let sum = Hundredths::new(sum).ok()?;
        let sum = prices.map_or_else(|| sum.words(), |prices| prices.currency.words(sum));
        Some(format!("About {sum} at the price of lot {code}."))
    }

    fn low(&self, today: NaiveDate, ahead: i64, units: Units) -> Option<Low> {
        let near = |day: NaiveDate| (day - today).num_days() <= ahead;
        let order = self.first().filter(|order| near(order.by));
        let stuck = self
            .not_ordered
            .as_ref()
            .filter(|not| self.orders.is_empty() && near(not.needed));
        let words = match (order, stuck) {
            (Some(order), _) => self.order_words(order, today, units),
            (None, Some(_)) => self.not_ordered_words(units)?,
            (None, None) => return None,
        };
        let late = order
            .and_then(|order| order.missing)
            .map(|(since, missing)| {
                format!(
                    "{} are missing from {} until it comes",
                    volume(missing, units),
                    day_words(since)
                )
            });
        Some(Low {
            about: self.product.name.to_string(),
            words,
            late: late.unwrap_or_default(),
        })
    }
}

impl WaterAhead {
    pub fn verdict(&self, last: NaiveDate, units: Units) -> String {
        match self.short() {
            Some(day) => format!(
                "On {} {}. Begin earlier, spread the rinses, or bring water.",
                day_words(day.day),
                signed(day.lowest.get(), units)
            ),
            None => {
                let lowest = self.days.iter().min_by_key(|day| day.lowest);
                match lowest {
                    Some(day) => format!(
                        "It suffices until {}: the least is {}, on {}.",
                        day_words(last),
                        signed(day.lowest.get(), units),
                        day_words(day.day)
                    ),
                    None => "It suffices.".to_owned(),
                }
            }
        }
    }
}

impl Ahead {
    /// What is to be ordered within so many days, and water that is missing within them.
    pub fn low(&self, within: i64, units: Units) -> Vec<Low> {
        let products = self.products.iter();
        let mut low: Vec<Low> = products
            .filter_map(|product| product.low(self.today, within, units))
            .collect();
        let short = self.water.as_ref().and_then(WaterAhead::short);
        let near = short.filter(|day| (day.day - self.today).num_days() <= within);
        low.extend(near.map(|day| Low {
            about: "Purified water".to_owned(),
            words: format!("the tank runs empty on {}, and", day_words(day.day)),
            late: signed(day.lowest.get(), units),
        }));
        low
    }
}
