//! What one version of a method says otherwise than another, line by line.

use super::{Contents, Step};

/// A difference, as it was and as it is; nothing on one side means that the line is new or gone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    pub what: String,
    pub was: Option<String>,
    pub is: Option<String>,
}

/// All differences, the strength first, then times, limits, phases and steps.
pub fn differences(was: &Contents, is: &Contents) -> Vec<Difference> {
    let mut found = Vec::new();
    let mut line = |what: &str, was: String, is: String| {
        if was != is {
            found.push(Difference {
                what: what.to_owned(),
                was: Some(was),
                is: Some(is),
            });
        }
    };
    line(
        "Working strength",
        was.target.to_string(),
        is.target.to_string(),
    );
    let source = |c: &Contents| {
        format!("{} {}", c.target_source.words(), c.target_reference)
            .trim_end()
            .to_owned()
    };
    line("Strength named by", source(was), source(is));
    line(
        "Soak",
        format!("{} min", was.soak.get()),
        format!("{} min", is.soak.get()),
    );
    line(
        "Rinses, at least",
        was.rinses_at_least.to_string(),
        is.rinses_at_least.to_string(),
    );
    let rinse = |c: &Contents| format!("{} to {} min", c.rinse_from.get(), c.rinse_to.get());
    line("A rinse takes", rinse(was), rinse(is));
    line(
        "Water over the media",
        format!("{} mm", was.cover.get()),
        format!("{} mm", is.cover.get()),
    );
    let limits = |c: &Contents| {
        c.limits
            .iter()
            .map(|limit| (limit.reading.words().to_owned(), limit.words()))
            .collect::<Vec<_>>()
    };
    found.extend(paired("Limit: ", &limits(was), &limits(is)));
    let phases = |c: &Contents| {
        c.phases
            .iter()
            .map(|(phase, minutes)| (phase.to_string(), format!("{} min", minutes.get())))
            .collect::<Vec<_>>()
    };
    found.extend(paired("Phase: ", &phases(was), &phases(is)));
    found.extend(steps(&was.steps, &is.steps));
    found
}

/// Lines that have a name: new, gone or changed.
fn paired(what: &str, was: &[(String, String)], is: &[(String, String)]) -> Vec<Difference> {
    let of = |lines: &[(String, String)], name: &str| {
        lines
            .iter()
            .find(|(n, _)| n == name)
            .map(|(_, text)| text.clone())
    };
    let mut names: Vec<&String> = was.iter().chain(is).map(|(name, _)| name).collect();
    names.dedup();
    let mut seen = Vec::new();
    names.retain(|name| {
        let first = !seen.contains(name);
        seen.push(*name);
        first
    });
    names
        .into_iter()
        .map(|name| Difference {
            what: format!("{what}{name}"),
            was: of(was, name),
            is: of(is, name),
        })
        .filter(|difference| difference.was != difference.is)
        .collect()
}

/// Steps by the longest run of lines that stayed: what is left over was taken out or put in.
fn steps(was: &[Step], is: &[Step]) -> Vec<Difference> {
    let (old, new): (Vec<String>, Vec<String>) = (
        was.iter().map(words).collect(),
        is.iter().map(words).collect(),
    );
    // kept[i][j]: how many lines of old[i..] and new[j..] stay in order.
    let mut kept = vec![vec![0_usize; new.len() + 1]; old.len() + 1];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            kept[i][j] = if old[i] == new[j] {
                kept[i + 1][j + 1] + 1
            } else {
                kept[i + 1][j].max(kept[i][j + 1])
            };
        }
    }
    let (mut i, mut j, mut found) = (0, 0, Vec::new());
    while i < old.len() || j < new.len() {
        if i < old.len() && j < new.len() && old[i] == new[j] {
            (i, j) = (i + 1, j + 1);
        } else if j == new.len() || (i < old.len() && kept[i + 1][j] >= kept[i][j + 1]) {
            found.push(Difference {
                what: format!("Step, {}", was[i].phase),
                was: Some(old[i].clone()),
                is: None,
            });
            i += 1;
        } else {
            found.push(Difference {
                what: format!("Step, {}", is[j].phase),
                was: None,
                is: Some(new[j].clone()),
            });
            j += 1;
        }
    }
    found
}

fn words(step: &Step) -> String {
    let mut words = step.text.clone();
    if let Some(minutes) = step.minutes {
        words.push_str(&format!(", {} min", minutes.get()));
    }
    if step.asks_two() {
        words.push_str(", two people");
    }
    if let Some(agent) = step.agent {
        words.push_str(&format!(", puts {agent} into the water"));
    }
    words.push_str(&format!(" ({})", step.least.words()));
    if !step.caution.is_empty() {
        words.push_str(&format!(" Caution: {}", step.caution));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::methods::builtin;
    use crate::science::stored::Minutes;

    #[test]
    fn a_version_does_not_differ_from_itself() {
        let content = builtin::contents().unwrap();
        assert_eq!(differences(&content, &content), Vec::new());
    }

    #[test]
    fn a_changed_time_a_lost_step_and_a_new_limit_are_each_one_line() {
        let was = builtin::contents().unwrap();
        let mut is = was.clone();
        is.soak = Minutes::new(240).unwrap();
        is.steps.remove(1);
        is.limits[0].at_most_milli = Some(2_000);
        let found = differences(&was, &is);
        assert_eq!(found.len(), 3, "{found:?}");
        assert_eq!(
            found[0],
            Difference {
                what: "Soak".to_owned(),
                was: Some("180 min".to_owned()),
                is: Some("240 min".to_owned())
            }
        );
        assert_eq!(
            found[1].is.as_deref(),
            Some("residual peroxide at most 2\u{a0}mg/L")
        );
        assert!(found[2].was.as_deref().unwrap().contains("sieved") && found[2].is.is_none());
    }
}
