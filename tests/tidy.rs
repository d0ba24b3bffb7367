//! The house keeps its own order: what may know what, where SQL stands, that every room says what it is.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a check that cannot read the sources fails"
)]

use std::fs;
use std::path::{Path, PathBuf};

/// From the ground floor up. A module may use those that stand before it, never those after it;
/// modules on one line do not use each other.
const ORDER: &[&[&str]] = &[
    &["science", "planner"],
    &["calculators"],
    &["drawings"],
    &["words", "text", "ids", "table", "kept"],
    &["by_system"],
    &["clock", "config", "columns"],
    &["web", "db", "outside", "asking"],
    &["state"],
    &["logbook", "site", "crew"],
    &["hours"],
    &["trouble"],
    &["register"],
    &["stock"],
    &["methods"],
    &["crops"],
    &["cleanouts"],
    &["turnovers"],
    &["plan"],
    &["today", "first_run"],
    &["calculator_pages"],
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
fn only_one_place_opens_connections_to_the_outside() {
    let users: Vec<String> = sources()
        .into_iter()
        .filter(|(_, text)| text.contains("reqwest"))
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert_eq!(users, ["src/outside.rs"]);
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
        if ["science", "planner", "calculators"].contains(&module(&path).as_str()) {
            for world in [
                "std::fs",
                "std::net",
                "std::time::",
                "tokio",
                "sqlx",
                "Utc::now",
                "serde",
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

/// Names that only say what a value of a list is called; a list of names is its own document.
const NAMERS: &[&str] = &["code", "from_code", "word", "words", "symbol"];
/// Names that so many types have that an example elsewhere says nothing about this one.
const COMMON: &[&str] = &["new", "of"];

/// The lines of the worked examples in a text's documents.
fn examples(text: &str) -> String {
    let (mut inside, mut lines) = (false, String::new());
    for line in text.lines().map(str::trim_start) {
        let Some(words) = line.strip_prefix("///").or(line.strip_prefix("//!")) else {
            inside = false;
            continue;
        };
        if words.trim_start().starts_with("```") {
            inside = !inside;
        } else if inside {
            lines.push_str(words);
            lines.push('\n');
        }
    }
    lines
}

/// The public functions of a file of the science: name, whether its own document holds a worked
/// example, and how many lines its body has. Tests and macros are left out.
fn public_functions(text: &str) -> Vec<(String, bool, usize)> {
    let lines: Vec<&str> = text
        .split("#[cfg(test)]")
        .next()
        .unwrap_or("")
        .lines()
        .collect();
    let (mut found, mut worked, mut in_macro) = (Vec::new(), false, false);
    for (place, line) in lines.iter().enumerate() {
        let code = line.trim_start();
        if line.starts_with("macro_rules!") {
            in_macro = true;
        } else if *line == "}" {
            in_macro = false;
        }
        if code.starts_with("///") {
            worked |= code.contains("```");
            continue;
        }
        if code.starts_with("#[") {
            continue;
        }
        let name = code
            .strip_prefix("pub fn ")
            .or_else(|| code.strip_prefix("pub const fn "));
        if let Some(name) = name.filter(|_| !in_macro) {
            let end = format!("{}}}", " ".repeat(line.len() - code.len()));
            let opens = place
                + lines[place..]
                    .iter()
                    .position(|l| l.ends_with('{'))
                    .unwrap();
            let body = lines[opens + 1..].iter().position(|l| **l == end).unwrap();
            let name = name.split(['(', '<']).next().unwrap_or(name);
            found.push((name.to_owned(), worked, body));
        }
        worked = false;
    }
    found
}

/// A function of the science needs a worked example of its own, or one that calls it beside it (in
/// its file, or in its folder). Exempt is what stands in one line, and what only names the values of
/// a list.
#[test]
fn every_public_function_of_the_science_is_worked_through() {
    let science: Vec<(PathBuf, String)> = sources()
        .into_iter()
        .filter(|(path, _)| module(path) == "science" && !path.ends_with("tests.rs"))
        .collect();
    let (mut bare, mut worked) = (Vec::new(), 0);
    for (path, text) in &science {
        let own_folder = path.parent().filter(|folder| !folder.ends_with("science"));
        let beside: String = science
            .iter()
            .filter(|(other, _)| other == path || other.parent() == own_folder)
            .map(|(_, text)| examples(text))
            .collect();
        for (name, has_one, body) in public_functions(text) {
            let shown = !COMMON.contains(&name.as_str()) && beside.contains(&format!("{name}("));
            if has_one || shown {
                worked += 1;
            } else if body > 1 && !NAMERS.contains(&name.as_str()) {
                bare.push(format!("{}: {name}", path.display()));
            }
        }
    }
    println!("{worked} public functions of the science are worked through");
    assert!(worked > 150, "only {worked} worked examples were seen");
    assert!(bare.is_empty(), "not worked through: {}", bare.join(", "));
}

#[test]
fn a_function_that_is_not_worked_through_is_seen() {
    let text = "/// Says.\n///\n/// ```\n/// shown();\n/// ```\npub fn shown() {\n    a();\n    b();\n}\n\n/// Says.\npub fn bare(\n    a: u8,\n) -> u8 {\n    a();\n    b()\n}\n";
    let found = public_functions(text);
    assert_eq!(found[0], ("shown".to_owned(), true, 2));
    assert_eq!(found[1], ("bare".to_owned(), false, 2));
    assert_eq!(examples(text), " shown();\n");
}
