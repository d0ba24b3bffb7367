//! Every calculator, found by its name.

use super::calculator::Calculator;
use super::{air, benches, drains, flows, readings, soaks, solutions};

/// Groups in the order of the list: a title, and its calculators.
pub const GROUPS: [(&str, &[Calculator]); 7] = [
    ("Strength and dose", solutions::ALL),
    ("What a system holds", benches::ALL),
    ("Tubing and pumps", flows::ALL),
    ("Drains, overflows, mixing", drains::ALL),
    ("Soak and rinse", soaks::ALL),
    ("Air", air::ALL),
    ("Flows over time, purified water", readings::ALL),
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
