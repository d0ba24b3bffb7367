//! The house keeps its own order: what may know what, where SQL stands, that every room says what it is.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a check that cannot read the sources fails"
)]

use std::fs;
use std::path::{Path, PathBuf};

/// From the ground floor up. A module may use those that stand before it, never those after it;
/// modules on one line do not use each other.
const ORDER: &[&[&str]] = &[
    &["science", "planner"],
    &["drawings"],
    &["words", "text", "ids", "table"],
    &["clock", "config", "columns"],
    &["web", "db"],
    &["state"],
    &["logbook", "site", "crew"],
    &["register"],
    &["stock"],
    &["methods"],
    &["crops"],
    &["cleanouts"],
    &["turnovers"],
    &["today", "first_run"],
    &["routes"],
    &["cli"],
];

/// These pairs stand on one floor and hold each other up: the database answers with the web's errors
/// and a form's mark; every page carries who is signed in and at which site.
const TOGETHER: &[(&str, &str)] = &[
    ("db", "web"),
    ("web", "db"),
    ("logbook", "crew"),
    ("crew", "logbook"),
    ("crew", "site"),
    ("site", "crew"),
    ("site", "logbook"),
    ("logbook", "site"),
];

fn sources() -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, found: &mut Vec<(PathBuf, String)>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                found.push((path, text));
            }
        }
    }
    let mut found = Vec::new();
    walk(Path::new("src"), &mut found);
    assert!(found.len() > 20, "the sources were not found");
    found
}

/// The module of a file, as in `register` for `src/register/store.rs`.
fn module(path: &Path) -> String {
    let first = path
        .strip_prefix("src")
        .unwrap()
        .components()
        .next()
        .unwrap();
    first
        .as_os_str()
        .to_str()
        .unwrap()
        .trim_end_matches(".rs")
        .to_owned()
}

fn floor(module: &str) -> Option<usize> {
    ORDER.iter().position(|floor| floor.contains(&module))
}

/// The modules that a file names as `crate::module`.
fn uses(text: &str) -> Vec<String> {
    let mut used = Vec::new();
    for line in text
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
    {
        let mut rest = line;
        while let Some(at) = rest.find("crate::") {
            rest = &rest[at + "crate::".len()..];
            // `use crate::{first_run, logbook};` names several.
            let names: Vec<&str> = match rest.strip_prefix('{') {
                Some(list) => list.split('}').next().unwrap_or("").split(',').collect(),
                None => vec![rest],
            };
            for name in names {
                let name = name.trim();
                used.push(
                    name.chars()
                        .take_while(|c| c.is_alphanumeric() || *c == '_')
                        .collect(),
                );
            }
        }
    }
    used
}

#[test]
fn a_module_uses_only_what_stands_before_it() {
    let mut wrong = Vec::new();
    let mut checked = 0;
    for (path, text) in sources() {
        let own = module(&path);
        if ["lib", "main"].contains(&own.as_str()) {
            continue;
        }
        let Some(own_floor) = floor(&own) else {
            wrong.push(format!(
                "{}: '{own}' has no place in the order of tests/tidy.rs",
                path.display()
            ));
            continue;
        };
        for used in uses(&text) {
            let Some(used_floor) = floor(&used) else {
                continue;
            };
            checked += 1;
            let allowed =
                used == own || used_floor < own_floor || TOGETHER.contains(&(&own, &used));
            if !allowed {
                wrong.push(format!("{}: {own} may not use {used}", path.display()));
            }
        }
    }
    assert!(checked > 50, "only {checked} uses were seen");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn sql_stands_only_in_stores_and_in_the_database() {
    let wrong: Vec<String> = sources()
        .into_iter()
        .filter(|(path, text)| {
            let name = path.to_string_lossy();
            text.contains("sqlx::query") && !name.contains("store") && !name.ends_with("src/db.rs")
        })
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert!(
        wrong.is_empty(),
        "SQL outside a store: {}",
        wrong.join(", ")
    );
}

#[test]
fn every_room_says_what_it_is_and_no_file_grows_past_five_hundred_lines() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let name = path.to_string_lossy();
        if !text.starts_with("//!") && !name.ends_with("main.rs") && !name.ends_with("tests.rs") {
            wrong.push(format!("{name} does not begin by saying what it is"));
        }
        // A file of tests has one reason to change, however many it holds.
        if text.lines().count() > 500 && !name.ends_with("tests.rs") {
            wrong.push(format!("{name} has {} lines", text.lines().count()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_ground_floor_knows_no_world() {
    for (path, text) in sources() {
        if ["science", "planner"].contains(&module(&path).as_str()) {
            for world in [
                "std::fs",
                "std::net",
                "std::time::",
                "tokio",
                "sqlx",
                "Utc::now",
                "tracing",
            ] {
                let code: Vec<&str> = text
                    .lines()
                    .filter(|line| !line.trim_start().starts_with("//"))
                    .collect();
                assert!(
                    !code.join("\n").contains(world),
                    "{} uses {world}",
                    path.display()
                );
            }
        }
    }
}
