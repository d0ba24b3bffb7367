//! What clean-outs draw on: purified water, kit, concentrate on hand and to come.

use std::collections::HashSet;

use chrono::TimeDelta;

use super::facts::{Asked, Standing, timetable_list};
use super::grid::{Grid, SLOT_MIN};
use super::sources::Sources;
use crate::clock::Moment;
use crate::hours::{Span, in_order_on};
use crate::ids::{MethodId, ProductId};
use crate::register::water::{WaterSource, WaterSupply};
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::site::full_day;
use crate::stock::first_out;
use crate::text::Name;

/// Purified water: a tank, what is in it now, and what is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Water {
    pub tank_ml: i64,
    pub level_ml: i64,
    pub per_slot_ml: i64,
}

/// Sets of kit that one clean-out holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kits {
    pub sets: usize,
    /// In each of these a set is not to be had.
    pub out: Vec<Span>,
}

/// A product that is planned with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Concentrate {
    pub id: ProductId,
    pub product: Name,
    /// On hand, less what the clean-outs that stand still take.
    pub free_ml: i64,
    pub deliveries: Vec<(Moment, i64)>,
}

/// Water and kits are nothing where they are not on record and taken to be enough.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Supplies {
    pub water: Option<Water>,
    /// Rinses are made with purified water: no other is entered for them.
    pub rinses_purified: bool,
    pub kits: Option<Kits>,
    /// By product: all that the clean-outs are dosed with.
    pub concentrates: Vec<Concentrate>,
}

impl Supplies {
    pub fn concentrate(&self, product: Option<ProductId>) -> Option<&Concentrate> {
        let mut known = self.concentrates.iter();
        known.find(|known| Some(known.id) == product)
    }
}

pub fn of(
    sources: &Sources,
    grid: &Grid,
    standing: &[Standing],
    asked: &[Asked],
    assumed: &mut Vec<String>,
) -> Supplies {
    let for_rinses = sources.supplies.iter().any(|supply| {
        !supply.retired
            && (supply.figures.rinses_only || supply.figures.source != WaterSource::Purified)
    });
    Supplies {
        water: water(sources, assumed),
        rinses_purified: !for_rinses,
        kits: kits(sources, grid, asked),
        concentrates: concentrates(sources, standing, asked, assumed),
    }
}

fn water(sources: &Sources, assumed: &mut Vec<String>) -> Option<Water> {
    let purified: Vec<&WaterSupply> = sources
        .supplies
        .iter()
        .filter(|supply| {
            let figures = &supply.figures;
            !supply.retired && figures.source == WaterSource::Purified && !figures.rinses_only
        })
        .collect();
    if purified.is_empty() {
        assumed.push(
            "No supply of purified water is entered, so water is taken to be enough.".to_owned(),
        );
        return None;
    }
    let mut sum = Water {
        tank_ml: 0,
        level_ml: 0,
        per_slot_ml: 0,
    };
    for supply in purified {
        let name = &supply.figures.name;
        let rate = supply.test.as_ref().and_then(|test| test.new.rate().ok());
        let (Some(rate), Some(tank)) = (rate, supply.figures.tank) else {
            assumed.push(format!(
                "How much {name} gives, or what its tank holds, is not entered, so water is taken to be enough."
            ));
            return None;
        };
        let usable = tank.usable().get();
        let per_slot = rate.get() * i64::from(SLOT_MIN);
        let level = match &supply.level {
            Some(seen) => {
                let since = sources.now.since(seen.at).num_minutes().max(0);
                let then = seen.level.get() - tank.least.get();
                (then + rate.get().saturating_mul(since)).clamp(0, usable)
            }
            None => {
                assumed.push(format!(
                    "Nobody has looked into the tank of {name}: it is taken to be full now."
                ));
                usable
            }
        };
        sum.tank_ml += usable;
        sum.level_ml += level;
        sum.per_slot_ml += per_slot;
    }
    Some(sum)
}

fn kits(sources: &Sources, grid: &Grid, asked: &[Asked]) -> Option<Kits> {
    let mut methods: Vec<MethodId> = asked
        .iter()
        .filter_map(|asked| Some(sources.methods.get(&asked.method)?.method_id))
        .collect();
    methods.sort_unstable();
    methods.dedup();
    let needs: Vec<_> = methods
        .iter()
        .filter_map(|method| sources.kit_needs.get(method))
        .flatten()
        .filter(|need| need.need.count > 0)
        .collect();
    if needs.is_empty() {
        return None;
    }
    let sets_on = |day| {
        let of_each = needs.iter().filter_map(|need| {
            let kit = sources
                .kits
                .iter()
                .find(|kit| kit.id == need.need.kit_id && !kit.retired)?;
            let out = sources.times.kit_out(kit.id);
            Some(in_order_on(kit.figures.count, out, day) / need.need.count)
        });
        of_each.min().unwrap_or(0).max(0)
    };
    let days: Vec<_> = grid.days().map(|day| (day, sets_on(day))).collect();
    let sets = days.iter().map(|(_, sets)| *sets).max().unwrap_or(0);
    let mut out = Vec::new();
    for (day, there) in days {
        let next = day.succ_opt().unwrap_or(day);
        let whole = Span::new(
            Moment::day_begins(day, grid.zone()),
            Moment::day_begins(next, grid.zone()),
        );
        out.extend((there..sets).filter_map(|_| whole));
    }
    Some(Kits {
        sets: usize::try_from(sets).unwrap_or(0),
        out,
    })
}

/// The products that clean-outs are dosed with, and the one that a dose would be worked from where none is.
fn products(sources: &Sources, standing: &[Standing], asked: &[Asked]) -> Vec<ProductId> {
    let drawn = asked.iter().filter_map(|asked| asked.product);
    let mut found: Vec<ProductId> = drawn
        .chain(standing.iter().filter_map(|one| one.product))
        .collect();
    if found.is_empty() {
        let today = sources.site.today(sources.now);
        let usable = sources.lots.iter().filter(|lot| lot.is_for_doses(today));
        let first = usable.min_by_key(|lot| first_out::order(lot));
        found.extend(first.map(|lot| lot.product_id));
    }
    found.sort_unstable();
    found.dedup();
    found
}

fn concentrates(
    sources: &Sources,
    standing: &[Standing],
    asked: &[Asked],
    assumed: &mut Vec<String>,
) -> Vec<Concentrate> {
    let products = products(sources, standing, asked);
    if products.is_empty() && !asked.is_empty() {
        assumed.push(
            "No concentrate is in stock, so none is reckoned with. Enter what you have.".to_owned(),
        );
    }
    let found: Vec<Concentrate> = products
        .into_iter()
        .filter_map(|product| concentrate(sources, standing, product, assumed))
        .collect();
    if offered(sources) > 1 {
        assumed.extend(not_chosen(&found, asked));
    }
    found
}

/// How many products a lot can be chosen of.
fn offered(sources: &Sources) -> usize {
    let today = sources.site.today(sources.now);
    let usable = sources.lots.iter().filter(|lot| lot.is_for_doses(today));
    let products: HashSet<ProductId> = usable.map(|lot| lot.product_id).collect();
    products.len()
}

/// With which product each dose is planned that nobody has chosen a lot for.
fn not_chosen(known: &[Concentrate], asked: &[Asked]) -> Option<String> {
    let open: Vec<&Asked> = asked.iter().filter(|asked| !asked.chosen).collect();
    let each: Vec<String> = known
        .iter()
        .filter_map(|known| {
            let count = open.iter().filter(|one| one.product == Some(known.id));
            match count.count() {
                0 => None,
                count => Some(format!("{} for {count}", known.product)),
            }
        })
        .collect();
    (!each.is_empty()).then(|| {
        format!(
            "Where no lot is chosen yet, the dose is planned with the first out that has enough when those before it have theirs: {}. A choice may change the amount, because strengths differ.",
            timetable_list(&each)
        )
    })
}

fn concentrate(
    sources: &Sources,
    standing: &[Standing],
    id: ProductId,
    assumed: &mut Vec<String>,
) -> Option<Concentrate> {
    let today = sources.site.today(sources.now);
    let of_product = || sources.lots.iter().filter(|lot| lot.product_id == id);
    let product = of_product().next()?.product.clone();
    let on_hand: i64 = of_product()
        .filter(|one| one.is_for_doses(today))
        .map(|one| one.on_hand.get())
        .sum();
    let stand = standing.iter().filter(|one| one.product == Some(id));
    let reserved: i64 = stand.map(|one| one.amounts.concentrate_ml).sum();
    if reserved > on_hand {
        let missing = Millilitres::new(reserved - on_hand).map_or_else(
            |_| String::new(),
            |missing| show::volume(missing.volume(), sources.site.units),
        );
        assumed.push(format!(
            "The clean-outs that stand take {missing} more of {product} than is on hand."
        ));
    }
    let zone = sources.site.zone;
    let to_come = sources
        .deliveries
        .iter()
        .filter(|delivery| delivery.product_id == id);
    let deliveries: Vec<(Moment, i64)> = to_come
        .filter_map(|delivery| {
            let day = delivery.counts_from(today)?;
            let evening = Moment::on_the_wall(day, sources.site.hours.ends_min, zone);
            Some((evening, delivery.amount.get()))
        })
        .collect();
    if let Some((first, _)) = deliveries.iter().min() {
        assumed.push(format!(
            "A delivery counts from the evening of its day; the next of {product} is expected on {}.",
            full_day(first.day(zone))
        ));
    }
    Some(Concentrate {
        id,
        product,
        free_ml: (on_hand - reserved).max(0),
        deliveries,
    })
}

/// A slot's length.
pub const SLOT: TimeDelta = TimeDelta::minutes(SLOT_MIN as i64);
