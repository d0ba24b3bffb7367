//! How a product is ordered: how long a delivery takes, in which containers it is sold, how long it keeps,
//! and how much of it is never to be undercut.

use super::Lot;
use super::containers::MOST_SIZES;
use crate::clock::Moment;
use crate::ids::ProductId;
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::science::units::Units;
use crate::text::{Name, Note};

/// What a container holds, the sizes in which a product is sold, the smallest first.
#[derive(Clone, Debug, Default, PartialEq, Eq, sqlx::Type)]
#[sqlx(transparent)]
pub struct Sizes(String);

/// Between two sizes, as they are stored.
const BETWEEN: &str = "; ";

impl Sizes {
    /// # Errors
    /// More sizes than are looked through.
    pub fn of(mut sizes: Vec<Millilitres>) -> Result<Self, String> {
        sizes.sort_unstable();
        sizes.dedup();
        if sizes.len() > MOST_SIZES {
            return Err(format!("Write at most {MOST_SIZES} sizes."));
        }
        let stored: Vec<String> = sizes.iter().map(|size| size.get().to_string()).collect();
        Ok(Self(stored.join(BETWEEN)))
    }

    pub fn get(&self) -> Vec<Millilitres> {
        let sizes = self.0.split(BETWEEN);
        let sizes = sizes.filter_map(|size| Millilitres::new(size.parse().ok()?).ok());
        sizes.filter(|size| size.get() > 0).collect()
    }

    /// '5 L, 25 L', or nothing.
    pub fn words(&self, units: Units) -> String {
        let words = self.get().into_iter();
        let words: Vec<String> = words
            .map(|size| show::volume(size.volume(), units))
            .collect();
        words.join(", ")
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderTerms {
    /// From the order to the delivery, in days of the calendar.
    pub lead_days: i64,
    /// For how long what came is relied on before its strength is measured again.
    pub keeping_days: Option<i64>,
    pub sizes: Sizes,
    /// The site's own figure of what is kept beyond the plan.
    pub least: Option<Millilitres>,
}

impl OrderTerms {
    /// Until the site enters its own: two weeks, common practice, no source.
    pub const USUAL_LEAD_DAYS: i64 = 14;

    /// Where nothing is entered: the container of the newest lot of the product.
    pub fn usual(product: ProductId, lots: &[Lot]) -> Self {
        let of_product = lots.iter().filter(|lot| lot.product_id == product);
        let newest = of_product
            .filter(|lot| lot.part_of.is_none())
            .max_by_key(|lot| (lot.received_on, lot.id));
        let size = newest.and_then(|lot| lot.container);
        Self {
            lead_days: Self::USUAL_LEAD_DAYS,
            keeping_days: None,
            sizes: Sizes::of(size.into_iter().collect()).unwrap_or_default(),
            least: None,
        }
    }
}

/// A row of them, with who entered it.
#[derive(Clone, Debug)]
pub struct Entered {
    pub product_id: ProductId,
    pub terms: OrderTerms,
    pub why: Note,
    pub person: Name,
    pub at: Moment,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stock::enough::tests::ml;

    #[test]
    fn sizes_come_back_in_their_order_and_each_once() {
        let sizes = Sizes::of(vec![ml(25_000), ml(5_000), ml(25_000)]).unwrap();
        assert_eq!(sizes.get(), [ml(5_000), ml(25_000)]);
        assert_eq!(sizes.words(Units::Metric), "5\u{a0}L, 25\u{a0}L");
        assert!(Sizes::default().get().is_empty());
        assert!(Sizes::of((1..=9).map(|litres| ml(litres * 1_000)).collect()).is_err());
    }
}
