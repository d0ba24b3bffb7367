//! How much of a product may stand at the site: by its stores, and by the class of its strength.

use super::limits::{Standing, mass_of};
use crate::ids::ProductId;
use crate::science::agents::AgentKind;
use crate::science::classes::Use;
use crate::science::peroxide;
use crate::science::quantity::{MassFraction, WaterTemperature, grams, in_grams, in_litres};
use crate::science::stored::Millilitres;
use crate::site::storage;

/// What sets the limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The stores that it may stand in, less what else stands in them.
    Stores,
    /// The class of its strength, for one part of a building, less what else of the class stands there.
    Class,
}

/// The most of a product that may stand at the site, and what says so; none where no limit is entered.
///
/// By stores: the sum of what those may hold that it may stand in, less other products in them; no limit
/// where one of them has none. By class: what the table of the site lets one part of a building hold, less
/// the mass of other products in the class, as a volume at 20 °C of its own strength. The lesser counts.
pub fn most_of(
    standing: &Standing<'_>,
    product: ProductId,
    agent: AgentKind,
    strength: Option<MassFraction>,
) -> Option<(Millilitres, By)> {
    let by_stores = by_stores(standing, product, agent).map(|most| (most, By::Stores));
    let by_class = by_class(standing, product, agent, strength).map(|most| (most, By::Class));
    by_stores
        .into_iter()
        .chain(by_class)
        .min_by_key(|(most, _)| *most)
}

fn by_stores(standing: &Standing<'_>, product: ProductId, agent: AgentKind) -> Option<Millilitres> {
    let stores = || {
        let in_use = standing.stores.iter().filter(|store| !store.retired);
        in_use.filter(|store| store.figures.may_hold.allows(agent))
    };
    stores().next()?;
    let mut sum = 0;
    for store in stores() {
        let inside = standing.lots.iter().filter(|lot| {
            let there = lot
                .store
                .as_ref()
                .is_some_and(|stands| stands.id == store.id);
            there && lot.product_id != product
        });
        let others: i64 = inside.map(|lot| lot.on_hand.get()).sum();
        sum += (store.figures.most?.get() - others).max(0);
    }
    Millilitres::new(sum).ok()
}

fn by_class(
    standing: &Standing<'_>,
    product: ProductId,
    agent: AgentKind,
    strength: Option<MassFraction>,
) -> Option<Millilitres> {
    if agent != AgentKind::HydrogenPeroxide {
        return None;
    }
    let strength = strength?;
    let band = storage::at(standing.bands, standing.day, strength).ok()?;
    let most = band.row.most.of(Use::Kept)?;
    let others = standing.lots.iter().filter_map(|lot| {
        if lot.product_id == product || lot.agent != AgentKind::HydrogenPeroxide {
            return None;
        }
        let (found, _) = lot.strength(standing.day).ok()?;
        let fraction = found.mass_fraction(WaterTemperature::TWENTY).ok()?;
        let own = storage::at(standing.bands, standing.day, fraction).ok()?;
        (own.id == band.id).then(|| mass_of(lot.on_hand, fraction))?
    });
    let others: f64 = others.map(in_grams).sum();
    let left = (in_grams(most) - others).max(0.0);
    let density = peroxide::density(strength, WaterTemperature::TWENTY).ok()?;
    let volume = grams(left) / density;
    // Down to the whole millilitre: a limit is not rounded up.
    Millilitres::new((in_litres(volume) * 1000.0).floor() as i64).ok()
}
