//! Every calculator, found by its name.

use super::calculator::Calculator;
use super::{
    air, benches, charts, contacts, conversions, drains, flows, holes, laboratory, pipework,
    readings, soaks, solutions,
};

/// Groups in the order of the list: a title, and its calculators.
pub const GROUPS: [(&str, &[Calculator]); 13] = [
    ("Strength and dose", solutions::ALL),
    ("Titration and weighing", laboratory::ALL),
    ("What a system holds", benches::ALL),
    ("Tubing and pumps", flows::ALL),
    ("Behind the tubing", pipework::ALL),
    ("Drains, overflows, mixing", drains::ALL),
    ("Holes and standpipes", holes::ALL),
    ("Soak and rinse", soaks::ALL),
    ("Contact and warmth", contacts::ALL),
    ("Air", air::ALL),
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
