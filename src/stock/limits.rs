//! Limits of stores: how much may stand in one, how much of a class in one part of a building, and what
//! must not stand together. Whoever puts something somewhere is told before the limit is crossed.

use chrono::NaiveDate;

use super::Lot;
use super::stores::Store;
use crate::ids::StoreId;
use crate::science::agents::{self, AgentKind};
use crate::science::classes::Use;
use crate::science::peroxide;
use crate::science::quantity::{Mass, MassFraction, WaterTemperature, in_grams, litres};
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::science::units::Units;
use crate::site::storage::{self, ASK_FIRST, StorageBand};

/// From this part of a limit on it is said that the limit is near. A choice of this house.
const NEAR: f64 = 0.8;

/// What stands where, and what the rule set says of it.
#[derive(Clone, Copy, Debug)]
pub struct Standing<'a> {
    pub lots: &'a [Lot],
    pub stores: &'a [Store],
    pub bands: &'a [StorageBand],
    pub day: NaiveDate,
    pub units: Units,
}

/// Something that is to be put somewhere.
#[derive(Clone, Debug)]
pub struct Arrival {
    pub agent: AgentKind,
    /// As strong as its label or its assay says; none where that is not known.
    pub strength: Option<MassFraction>,
    pub amount: Millilitres,
    pub store: Option<StoreId>,
    /// Whether it comes to the site, or only from another store of it.
    pub comes: bool,
}

/// Something to say before it is put there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    pub words: String,
    /// Over the limit, or incompatible; else the limit is only near.
    pub crossed: bool,
}

impl Warning {
    fn crossed(words: String) -> Self {
        Self {
            words,
            crossed: true,
        }
    }

    fn near(words: String) -> Self {
        Self {
            words,
            crossed: false,
        }
    }
}

/// What is wrong, or nearly, with what stands there and with what comes on top of it. With an arrival,
/// only what it touches.
pub fn warnings(standing: &Standing<'_>, arrival: Option<&Arrival>) -> Vec<Warning> {
    let mut found = Vec::new();
    for store in standing.stores.iter().filter(|store| !store.retired) {
        if arrival.is_some_and(|arrival| arrival.store != Some(store.id)) {
            continue;
        }
        found.extend(over_most(standing, store, arrival));
        found.extend(apart(standing, store, arrival));
    }
    if arrival.is_none_or(|arrival| arrival.comes) {
        found.extend(by_class(standing, arrival));
    }
    found
}

impl Standing<'_> {
    fn inside(&self, store: StoreId) -> impl Iterator<Item = &Lot> {
        self.lots.iter().filter(move |lot| {
            let there = lot.store.as_ref().is_some_and(|stands| stands.id == store);
            there && lot.on_hand.get() > 0
        })
    }
}

/// More in a store than may stand in it, or nearly.
fn over_most(standing: &Standing<'_>, store: &Store, arrival: Option<&Arrival>) -> Option<Warning> {
    let most = store.figures.most?;
    let there: i64 = standing.inside(store.id).map(|lot| lot.on_hand.get()).sum();
    let sum = there + arrival.map_or(0, |arrival| arrival.amount.get());
    let volume = |ml: i64| show::volume(litres(ml as f64 / 1000.0), standing.units);
    let words = |with: &str| {
        format!(
            "{} {with} {} in all, and at most {} may stand in it",
            store.figures.name,
            volume(sum),
            volume(most.get())
        )
    };
    let holds = if arrival.is_some() {
        "would hold"
    } else {
        "holds"
    };
    match sum as f64 / most.get() as f64 {
        part if part > 1.0 => Some(Warning::crossed(format!("{}.", words(holds)))),
        part if part >= NEAR => Some(Warning::near(format!("{}: that is near.", words(holds)))),
        _ => None,
    }
}

/// What must not stand beside it: in the same store, or in another store of the same room.
fn apart(standing: &Standing<'_>, store: &Store, arrival: Option<&Arrival>) -> Vec<Warning> {
    let in_store = |of: &Store| -> Vec<(AgentKind, String)> {
        let mut kinds: Vec<(AgentKind, String)> = standing
            .inside(of.id)
            .map(|lot| (lot.agent, lot.words()))
            .collect();
        kinds.sort_by_key(|(kind, _)| *kind);
        kinds.dedup_by_key(|(kind, _)| *kind);
        kinds
    };
    let mut own = in_store(store);
    if let Some(arrival) = arrival {
        own.retain(|(kind, _)| *kind != arrival.agent);
        own.insert(0, (arrival.agent, format!("this {}", arrival.agent)));
    }
    let mut found = Vec::new();
    let mut pair = |(a, first): &(AgentKind, String),
                    (b, second): &(AgentKind, String),
                    how: &str| {
        if let Some(pair) = agents::incompatible(*a, *b) {
            found.push(Warning::crossed(format!(
                "{first} and {second} {how}: {}. Keep them apart, so that no leak of one reaches the other. Source: {}.",
                pair.what.trim_end_matches('.'),
                pair.source.trim_end_matches('.')
            )));
        }
    };
    for (place, one) in own.iter().enumerate() {
        if arrival.is_some() && place > 0 {
            break;
        }
        for other in own.iter().skip(place + 1) {
            let how = format!("stand in {}", store.figures.name);
            pair(one, other, &how);
        }
    }
    let beside = standing.stores.iter().filter(|other| {
        let same_room = other.figures.room.is_some() && other.figures.room == store.figures.room;
        // Of two stores, only the one with the lower number tells of both.
        same_room && other.id != store.id && (arrival.is_some() || store.id < other.id)
    });
    for other in beside {
        let how = format!(
            "stand in one room, in {} and {}",
            store.figures.name, other.figures.name
        );
        let those = in_store(other);
        for one in own
            .iter()
            .take(if arrival.is_some() { 1 } else { own.len() })
        {
            for that in &those {
                pair(one, that, &how);
            }
        }
    }
    found
}

/// The mass of an amount of peroxide at 20 °C; none where its strength is beyond the density formula.
pub fn mass_of(amount: Millilitres, strength: MassFraction) -> Option<Mass> {
    let density = peroxide::density(strength, WaterTemperature::TWENTY).ok()?;
    Some(amount.volume() * density)
}

fn fraction_of(lot: &Lot, day: NaiveDate) -> Option<MassFraction> {
    let (strength, _) = lot.strength(day).ok()?;
    strength.mass_fraction(WaterTemperature::TWENTY).ok()
}

/// More of a class at the site than one part of a building may hold, or nearly. The whole site counts
/// as one part, which is the safe side.
fn by_class(standing: &Standing<'_>, arrival: Option<&Arrival>) -> Vec<Warning> {
    let coming = arrival
        .filter(|arrival| arrival.agent == AgentKind::HydrogenPeroxide)
        .and_then(|arrival| {
            let band = storage::at(standing.bands, standing.day, arrival.strength?).ok()?;
            Some((band.id, mass_of(arrival.amount, arrival.strength?)?))
        });
    let mut found = Vec::new();
    for band in standing.bands.iter() {
        let Some(most) = band.row.most.of(Use::Kept) else {
            continue;
        };
        let added = coming
            .filter(|(id, _)| *id == band.id)
            .map(|(_, mass)| mass);
        if arrival.is_some() && added.is_none() {
            continue;
        }
        let masses = standing.lots.iter().filter_map(|lot| {
            let peroxide = lot.agent == AgentKind::HydrogenPeroxide && lot.on_hand.get() > 0;
            let fraction = peroxide.then(|| fraction_of(lot, standing.day)).flatten()?;
            let own = storage::at(standing.bands, standing.day, fraction).ok()?;
            (own.id == band.id).then(|| mass_of(lot.on_hand, fraction))?
        });
        let sum: f64 = masses.chain(added).map(in_grams).sum();
        let mass = |grams: f64| show::mass(crate::science::quantity::grams(grams), standing.units);
        let verb = if arrival.is_some() { "would be" } else { "is" };
        let words = format!(
            "{} of class '{}' {verb} kept here, and the table of the site names {} as the most for one part of a building",
            mass(sum),
            band.row.class.words,
            mass(in_grams(most))
        );
        match sum / in_grams(most) {
            part if part > 1.0 => found.push(Warning::crossed(format!("{words}. {ASK_FIRST}"))),
            part if part >= NEAR => {
                found.push(Warning::near(format!("{words}: that is near. {ASK_FIRST}")));
            }
            _ => {}
        }
    }
    found
}

#[cfg(test)]
#[path = "limits_tests.rs"]
mod tests;
