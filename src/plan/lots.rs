//! From which lot each clean-out is dosed: the one that is chosen for it, else the first out that still has
//! enough when those before it have theirs, as the choices of a dose offer it. The one rule for the plan and for
//! how far the stock goes.

use std::collections::{HashMap, HashSet};

use super::gaps::{Coming, coming};
use super::sources::Sources;
use super::takes::takes;
use crate::ids::{LotId, ProductId, SystemId};
use crate::stock::{Lot, first_out};

/// The lot of each clean-out to come, by its system; none where there is none to choose.
#[derive(Clone, Debug, Default)]
pub struct Lots<'s> {
    of: HashMap<SystemId, &'s Lot>,
    /// Systems whose lot nobody has chosen.
    open: HashSet<SystemId>,
}

impl<'s> Lots<'s> {
    pub fn of(&self, system: SystemId) -> Option<&'s Lot> {
        self.of.get(&system).copied()
    }

    /// Whether the lot was taken here because nobody has chosen one.
    pub fn is_open(&self, system: SystemId) -> bool {
        self.open.contains(&system)
    }

    /// Those that chose a lot have theirs first, then one after the other by the day on which it can begin.
    pub fn shared_out(sources: &'s Sources) -> Self {
        let each = sources.board.stands.iter();
        let mut each: Vec<Coming<'_>> = each.filter_map(|stand| coming(sources, stand)).collect();
        each.sort_by_key(|one| (one.day, one.stand.system.id));
        let mut shelf = Shelf::of(sources);
        let mut lots = Self::default();
        for one in &each {
            if let Some(lot) = chosen(sources, one) {
                shelf.draw(lot, drawn(sources, one, lot));
                lots.of.insert(one.stand.system.id, lot);
            }
        }
        for one in &each {
            let system = one.stand.system.id;
            if lots.of.contains_key(&system) {
                continue;
            }
            let found = shelf.offered.iter().copied();
            let found: Vec<(&Lot, i64)> =
                found.map(|lot| (lot, drawn(sources, one, lot))).collect();
            let has = |enough: &dyn Fn(&Lot, i64) -> bool| {
                found.iter().copied().find(|(lot, ml)| enough(lot, *ml))
            };
            let lot = has(&|lot, ml| shelf.left_in(lot) >= ml)
                .or_else(|| has(&|lot, ml| shelf.left_of(lot.product_id) >= ml))
                .or(found.first().copied());
            if let Some((lot, ml)) = lot {
                shelf.draw(lot, ml);
                lots.of.insert(system, lot);
                lots.open.insert(system);
            }
        }
        lots
    }
}

fn chosen<'s>(sources: &'s Sources, one: &Coming<'_>) -> Option<&'s Lot> {
    let id = one.open?.lot_id?;
    sources.lots.iter().find(|lot| lot.id == id)
}

fn drawn(sources: &Sources, one: &Coming<'_>, lot: &Lot) -> i64 {
    let card = one.open.and_then(|open| sources.cards.get(&open.id));
    card.map_or_else(
        || takes(sources, one, Some(lot)).amounts.concentrate_ml,
        |card| card.still_takes.get(),
    )
}

/// What is left when some have theirs.
struct Shelf<'s> {
    /// The first out first; of a product that is only to come, the last lot that was had of it.
    offered: Vec<&'s Lot>,
    in_lots: HashMap<LotId, i64>,
    /// With what is to come.
    of_products: HashMap<ProductId, i64>,
}

impl<'s> Shelf<'s> {
    fn of(sources: &'s Sources) -> Self {
        let today = sources.site.today(sources.now);
        let usable = first_out::usable(&sources.lots, today).into_iter();
        let mut shelf = Self {
            offered: usable.filter(|lot| lot.is_for_doses(today)).collect(),
            in_lots: HashMap::new(),
            of_products: HashMap::new(),
        };
        for lot in &shelf.offered {
            shelf.in_lots.insert(lot.id, lot.on_hand.get());
            *shelf.of_products.entry(lot.product_id).or_default() += lot.on_hand.get();
        }
        for delivery in sources.deliveries.iter().filter(|one| one.is_open()) {
            let product = delivery.product_id;
            let of_product = |lot: &&Lot| lot.product_id == product;
            if !shelf.offered.iter().copied().any(|lot| of_product(&lot)) {
                let had = sources.lots.iter().filter(of_product);
                let bought = had.filter(|lot| lot.is_peroxide() && lot.made.is_none());
                let Some(last) = bought.max_by_key(|lot| (lot.received_on, lot.id)) else {
                    continue;
                };
                shelf.offered.push(last);
            }
            *shelf.of_products.entry(product).or_default() += delivery.amount.get();
        }
        shelf
    }

    fn left_in(&self, lot: &Lot) -> i64 {
        self.in_lots.get(&lot.id).copied().unwrap_or(0)
    }

    fn left_of(&self, product: ProductId) -> i64 {
        self.of_products.get(&product).copied().unwrap_or(0)
    }

    fn draw(&mut self, lot: &Lot, ml: i64) {
        *self.of_products.entry(lot.product_id).or_default() -= ml;
        *self.in_lots.entry(lot.id).or_default() -= ml;
    }
}
