//! Every calculator, found by its name.

use super::calculator::Calculator;
use super::{
    agents, air, benches, bores, charts, chlorine, contacts, conversions, decays, drains,
    evaporating, flows, heat, holes, laboratory, media, mixing, pipework, pumps, readings, salts,
    slabs, soaks, solutions, vapours,
};

/// Groups in the order of the list: a title, and its calculators.
pub const GROUPS: [(&str, &[Calculator]); 25] = [
    ("Strength and dose", solutions::ALL),
    ("Titration and weighing", laboratory::ALL),
    ("Peroxide that falls apart, a second density", heat::ALL),
    ("Other agents", agents::ALL),
    ("Hypochlorite", chlorine::ALL),
    ("What a system holds", benches::ALL),
    ("Media", media::ALL),
    ("Slabs", slabs::ALL),
    ("Tubing", flows::ALL),
    ("Pumps", pumps::ALL),
    ("Behind the tubing", pipework::ALL),
    ("Fine bores", bores::ALL),
    ("Drains and overflows", drains::ALL),
    ("Holes and standpipes", holes::ALL),
    ("Mixing", mixing::ALL),
    ("Soak and rinse", soaks::ALL),
    ("Decay", decays::ALL),
    ("Contact and warmth", contacts::ALL),
    ("Air", air::ALL),
    ("Vapour and oxygen", vapours::ALL),
    ("Evaporation", evaporating::ALL),
    ("Salts", salts::ALL),
    ("Flows over time, purified water", readings::ALL),
    ("Series of readings", charts::ALL),
    ("Conversions", conversions::ALL),
];

/// Every calculator, in the order of the list.
pub fn all() -> impl Iterator<Item = &'static Calculator> {
    GROUPS
        .iter()
        .flat_map(|(_, calculators)| calculators.iter())
}

/// The calculator of a name.
///
/// # Errors
/// No such name, with those there are.
pub fn find(name: &str) -> Result<&'static Calculator, String> {
    all()
        .find(|calculator| calculator.name == name)
        .ok_or_else(|| {
            let names: Vec<&str> = all().map(|calculator| calculator.name).collect();
            format!(
                "There is no calculator '{name}'. There are {}",
                names.join(", ")
            )
        })
}
