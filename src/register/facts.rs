//! What is on record of a thing, as words and values: for the logbook, and for showing two people
//! who changed the same thing what the other one wrote.

use serde_json::{Map, Value};

/// Labels and values, in the order of the form.
pub type Facts = Vec<(&'static str, String)>;

/// All of it, for a thing that is added.
pub fn all(facts: &Facts) -> Value {
    let given = facts.iter().filter(|(_, value)| !value.is_empty());
    Value::Object(
        given
            .map(|(label, value)| ((*label).to_owned(), Value::from(value.as_str())))
            .collect(),
    )
}

/// What differs, for a thing that is changed: 'wall: 200 mm, was 180 mm'.
pub fn changes(was: &Facts, now: &Facts) -> Value {
    let mut changed = Map::new();
    for (label, value) in now {
        let before = was
            .iter()
            .find(|(other, _)| other == label)
            .map_or("", |(_, value)| value);
        if before != value {
            changed.insert(
                (*label).to_owned(),
                Value::from(format!("{}, was {}", or_none(value), or_none(before))),
            );
        }
    }
    Value::Object(changed)
}

/// What somebody else wrote meanwhile: 'wall is now 200 mm'.
pub fn differences(stored: &Facts, typed: &Facts) -> String {
    let differing: Vec<String> = stored
        .iter()
        .filter(|(label, value)| {
            typed
                .iter()
                .any(|(other, mine)| other == label && mine != value)
        })
        .map(|(label, value)| format!("{label} is now {}", or_none(value)))
        .collect();
    let now = if differing.is_empty() {
        "it now stands as you wrote it".to_owned()
    } else {
        differing.join(", ")
    };
    format!(
        "Somebody changed this while you wrote: {now}. What you wrote stands below; save it again if it is right."
    )
}

fn or_none(value: &str) -> &str {
    if value.is_empty() { "not given" } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_a_change() {
        let was = vec![("wall", "180 mm".to_owned()), ("riser", String::new())];
        let now = vec![("wall", "200 mm".to_owned()), ("riser", String::new())];
        assert_eq!(
            changes(&was, &now),
            serde_json::json!({ "wall": "200 mm, was 180 mm" })
        );
        assert_eq!(all(&now), serde_json::json!({ "wall": "200 mm" }));
        assert!(differences(&now, &was).contains("wall is now 200 mm."));
    }
}
