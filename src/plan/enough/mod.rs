//! Enough on the day: how far concentrate and purified water go with what is planned, what to order and by
//! when. Worked out from the same facts as the plan, so that both say the same.

mod draws;
mod lines;
pub mod load;
mod words;

use chrono::{Days, NaiveDate};

pub use draws::{How, Planned};
pub use lines::Line;
pub use words::Low;

use super::grid::SLOT_MIN;
use super::supplies::Water;
use super::{Facts, Sources};
use crate::clock::Moment;
use crate::ids::ProductId;
use crate::register::tank_days::{self, TankDay, TankNow};
use crate::science::quantity::{OutOfRange, WaterTemperature};
use crate::science::stored::{Hundredths, Millilitres, MillilitresPerMinute};
use crate::stock::enough::{Batch, Course, Draw, Outlook};
use crate::stock::limits::Standing;
use crate::stock::ordering::{self, NotOrdered, Order, Terms};
use crate::stock::room::{self, By};
use crate::stock::safety::{Safety, Use};
use crate::stock::terms::{self, OrderTerms};
use crate::stock::{Lot, Product};

/// What the stock says beside what the plan depends on.
#[derive(Clone, Copy, Debug)]
pub struct Shelf<'a> {
    pub products: &'a [Product],
    pub terms: &'a [terms::Entered],
    pub uses: &'a [(ProductId, Use)],
    pub standing: Standing<'a>,
}

/// A product over the weeks to come.
#[derive(Clone, Debug)]
pub struct ProductAhead {
    pub product: Product,
    pub terms: OrderTerms,
    /// Whether the site entered them.
    pub terms_entered: bool,
    pub safety: Safety,
    pub limit: Option<(Millilitres, By)>,
    pub course: Course,
    /// The same with the orders that are proposed.
    pub with_orders: Course,
    pub orders: Vec<Order>,
    pub not_ordered: Option<NotOrdered>,
    pub planned: Vec<Planned>,
    /// Lots that count, and those whose retest is due, which do not.
    pub counted: Vec<Lot>,
    pub due: Vec<Lot>,
    /// What a litre of the newest lot with a price cost, and its code.
    pub litre_cost: Option<(Hundredths, String)>,
}

/// The tank of purified water over the weeks to come.
#[derive(Clone, Debug)]
pub struct WaterAhead {
    pub tank: TankNow,
    pub days: Vec<TankDay>,
}

/// All of it.
#[derive(Clone, Debug)]
pub struct Ahead {
    pub today: NaiveDate,
    pub last: NaiveDate,
    pub products: Vec<ProductAhead>,
    pub water: Option<WaterAhead>,
    /// What had to be assumed, in sentences.
    pub assumed: Vec<String>,
}

impl Ahead {
    /// # Errors
    /// Amounts that together are beyond what can be stored.
    pub fn of(sources: &Sources, facts: &Facts, shelf: &Shelf<'_>) -> Result<Self, OutOfRange> {
        let today = sources.site.today(sources.now);
        let last = super::load::last_day(today);
        let planned = draws::planned(sources, facts);
        let mut products = Vec::new();
        for product in shelf.products {
            products.extend(ahead(sources, shelf, &planned, product, (today, last))?);
        }
        let water = facts.supplies.water;
        let water = match water {
            Some(water) => Some(water_ahead(sources, facts, water, &planned, (today, last))?),
            None => None,
        };
        Ok(Self {
            today,
            last,
            products,
            water,
            assumed: facts.assumed.clone(),
        })
    }
}

/// Nothing for a product that is neither there nor asked for.
fn ahead(
    sources: &Sources,
    shelf: &Shelf<'_>,
    planned: &[Planned],
    product: &Product,
    (today, last): (NaiveDate, NaiveDate),
) -> Result<Option<ProductAhead>, OutOfRange> {
    let of_product = |lot: &&Lot| lot.product_id == product.id && lot.is_for_doses(today);
    let there: Vec<&Lot> = sources.lots.iter().filter(of_product).collect();
    let mine: Vec<Planned> = planned
        .iter()
        .filter(|one| one.product == Some(product.id) && one.concentrate_ml > 0)
        .cloned()
        .collect();
    let to_come = sources
        .deliveries
        .iter()
        .filter(|delivery| delivery.product_id == product.id && delivery.is_open());
    let to_come: Vec<_> = to_come.collect();
    if there.is_empty() && mine.is_empty() && to_come.is_empty() {
        return Ok(None);
    }
    let entered = shelf.terms.iter().find(|one| one.product_id == product.id);
    let own = entered.map_or_else(
        || OrderTerms::usual(product.id, &sources.lots),
        |entered| entered.terms.clone(),
    );
    let mut batches: Vec<Batch> = there
        .iter()
        .map(|lot| Batch {
            from: lot.received_on.min(today),
            until: lot.retest_on,
            amount: lot.on_hand,
        })
        .collect();
    batches.extend(to_come.iter().filter_map(|delivery| {
        let comes = delivery.counts_from(today)?;
        Some(Batch {
            from: plus(comes, 1),
            until: own.keeping_days.map(|days| plus(comes, days)),
            amount: delivery.amount,
        })
    }));
    let mut draws = Vec::new();
    for one in &mine {
        draws.push(Draw {
            day: one.dose_on(sources.site.zone).unwrap_or(today),
            amount: Millilitres::new(one.concentrate_ml)?,
        });
    }
    let outlook = Outlook {
        today,
        last,
        batches,
        draws,
    };
    let uses = shelf.uses.iter();
    let uses: Vec<Use> = uses
        .filter(|(of, _)| *of == product.id)
        .map(|(_, one)| *one)
        .collect();
    let safety = Safety::of(&uses, &outlook.draws, today, own.lead_days, own.least)?;
    let label = product.label.strength.filter(|_| product.is_peroxide());
    let strength = label.and_then(|label| label.mass_fraction(WaterTemperature::TWENTY).ok());
    let limit = room::most_of(&shelf.standing, product.id, product.agent, strength);
    let asked = Terms {
        lead_days: own.lead_days,
        keeping_days: own.keeping_days,
        sizes: own.sizes.get(),
        limit: limit.map(|(most, _)| most),
    };
    let days = &sources.times.site;
    let worked = |day| sources.site.hours.worked(day) && !days.is_closed(day);
    // What is no longer bought is used up.
    let (orders, not_ordered) = match product.retired {
        true => (Vec::new(), None),
        false => ordering::orders(&outlook, &asked, safety.amount(), worked)?,
    };
    let mut with_orders = outlook.clone();
    for order in &orders {
        with_orders = with_orders.with(order.batch(&asked));
    }
    let (due, counted): (Vec<Lot>, Vec<Lot>) = there
        .into_iter()
        .cloned()
        .partition(|lot| lot.retest_on.is_some_and(|due| due <= today));
    let priced = sources
        .lots
        .iter()
        .filter(|lot| lot.product_id == product.id);
    let newest = priced
        .filter(|lot| lot.litre_cost.is_some())
        .max_by_key(|lot| (lot.received_on, lot.id));
    Ok(Some(ProductAhead {
        product: product.clone(),
        terms: own,
        terms_entered: entered.is_some(),
        safety,
        limit,
        course: outlook.course()?,
        with_orders: with_orders.course()?,
        orders,
        not_ordered,
        planned: mine,
        counted,
        due,
        litre_cost: newest.and_then(|lot| Some((lot.litre_cost?, lot.code.clone()))),
    }))
}

fn water_ahead(
    sources: &Sources,
    facts: &Facts,
    water: Water,
    planned: &[Planned],
    (today, last): (NaiveDate, NaiveDate),
) -> Result<WaterAhead, OutOfRange> {
    let zone = sources.site.zone;
    let tank = TankNow {
        usable: Millilitres::new(water.tank_ml)?,
        level: Millilitres::new(water.level_ml)?,
        makes: MillilitresPerMinute::new(water.per_slot_ml / i64::from(SLOT_MIN))?,
    };
    let ends: Vec<(NaiveDate, Moment)> = today
        .iter_days()
        .take_while(|day| *day <= last)
        .map(|day| (day, Moment::day_begins(plus(day, 1), zone)))
        .collect();
    let mut draws = Vec::new();
    for one in planned {
        draws.extend(one.water(facts.supplies.rinses_purified, sources.now)?);
    }
    Ok(WaterAhead {
        tank,
        days: tank_days::days(tank, sources.now, &ends, &draws)?,
    })
}

impl WaterAhead {
    /// The first day on which water is missing.
    pub fn short(&self) -> Option<&TankDay> {
        self.days.iter().find(|day| day.lowest.get() < 0)
    }
}

impl ProductAhead {
    pub fn id(&self) -> ProductId {
        self.product.id
    }

    /// The first order that is to be given.
    pub fn first(&self) -> Option<&Order> {
        self.orders.first()
    }
}

fn plus(day: NaiveDate, days: i64) -> NaiveDate {
    let days = Days::new(days.unsigned_abs());
    day.checked_add_days(days).unwrap_or(day)
}
