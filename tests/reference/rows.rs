//! Reading a file of check values, and holding answers against it.

use std::collections::{BTreeMap, HashSet};

/// What the house answers to one row.
pub enum Answer {
    /// The numbers of the expected value, in the order in which they stand there.
    Values(Vec<f64>),
    /// Whether a row that states no plain number holds.
    Holds(bool),
    /// The row is not checked, and why.
    Left(&'static str),
}

/// One number.
pub fn value(number: f64) -> Option<Answer> {
    Some(Answer::Values(vec![number]))
}

/// A row of check values.
#[derive(Debug)]
pub struct Row {
    pub id: String,
    expected: String,
    tolerance: String,
}

impl Row {
    /// What its id begins with: PIPE of PIPE-021.
    pub fn family(&self) -> &str {
        self.id.split('-').next().unwrap_or_default()
    }

    /// All numbers in the expected value: '48 / 29.4' has two.
    pub fn numbers(&self) -> Vec<f64> {
        let mut numbers = Vec::new();
        let mut digits = String::new();
        let mut before = ' ';
        for c in self.expected.chars().chain([' ']) {
            let starts = digits.is_empty() && c == '-' && !before.is_ascii_digit();
            let exponent = digits.ends_with(|d: char| d.is_ascii_digit()) && c == 'e';
            if c.is_ascii_digit()
                || c == '.'
                || starts
                || exponent
                || (c == '-' && digits.ends_with('e'))
            {
                digits.push(c);
            } else if !digits.is_empty() {
                if let Ok(number) = digits.trim_end_matches(['e', '.']).parse() {
                    numbers.push(number);
                }
                digits.clear();
            }
            before = c;
        }
        numbers
    }

    /// How far an answer may be from an expected number. A tolerance in words, none, or 0 means
    /// that only rounding may differ.
    pub fn allowed(&self, expected: f64) -> f64 {
        let rounding = 1e-9 * expected.abs().max(1e-3);
        let text = self.tolerance.trim().trim_start_matches("+/-");
        let (number, relative) = match text.split_once(' ') {
            Some((number, "%")) => (number, 0.01 * expected.abs()),
            Some((number, "rel")) => (number, expected.abs()),
            Some(_) => return rounding,
            None => (text, 1.0),
        };
        // Tolerances are met to the last printed digit: 0.1 of 30.3 is 30.2 and 30.4, inclusive.
        number
            .parse::<f64>()
            .map_or(rounding, |number| number * relative + rounding)
    }
}

/// The rows of a file in this folder.
pub fn read(file: &str) -> Vec<Row> {
    let path = format!("{}/tests/reference/{file}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).unwrap();
    let heads = reader.headers().unwrap().clone();
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let (id, expected, tolerance) = (column("id"), column("expected_value"), column("tolerance"));
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let text = |column: usize| record[column].to_owned();
            Row {
                id: text(id),
                expected: text(expected),
                tolerance: text(tolerance),
            }
        })
        .collect()
}

/// Holds the answers against every row of a file and prints the counts.
pub fn hold(file: &str, answer: impl Fn(&Row) -> Option<Answer>) {
    let rows = read(file);
    assert!(!rows.is_empty(), "{file} has no rows");
    let ids: HashSet<&str> = rows.iter().map(|row| row.id.as_str()).collect();
    assert_eq!(ids.len(), rows.len(), "an id stands twice in {file}");
    let (mut faults, mut covered, mut left) = (Vec::new(), 0, Vec::new());
    // For each family of rows: how many, and how many are checked.
    let mut families: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for row in &rows {
        let found = answer(row);
        let counts = families.entry(row.family()).or_default();
        counts.0 += 1;
        counts.1 += usize::from(!matches!(found, None | Some(Answer::Left(_))));
        match found {
            None => faults.push(format!("{}: no check knows this row", row.id)),
            Some(Answer::Left(why)) => left.push(format!("{}: {why}", row.id)),
            Some(Answer::Holds(holds)) => {
                covered += 1;
                if !holds {
                    faults.push(format!("{}: does not hold ({})", row.id, row.expected));
                }
            }
            Some(Answer::Values(values)) => {
                covered += 1;
                let expected = row.numbers();
                let close = values
                    .iter()
                    .zip(&expected)
                    .all(|(value, expected)| (value - expected).abs() <= row.allowed(*expected));
                if values.is_empty() || values.len() != expected.len() || !close {
                    faults.push(format!(
                        "{}: {values:?} against {expected:?}, tolerance {:?}",
                        row.id, row.tolerance
                    ));
                }
            }
        }
    }
    println!(
        "{file}: {} rows, {covered} checked, {} left",
        rows.len(),
        left.len()
    );
    for (family, (rows, checked)) in families {
        println!("  {family}: {checked} of {rows}");
    }
    for line in &left {
        println!("  left {line}");
    }
    assert!(faults.is_empty(), "{file}:\n{}", faults.join("\n"));
}

/// The expected number of a row, for checks that compare in their own way.
pub fn expected(row: &Row) -> f64 {
    row.numbers()[0]
}

#[test]
fn numbers_and_tolerances_are_read_as_they_stand() {
    let row = |expected: &str, tolerance: &str| Row {
        id: "X".to_owned(),
        expected: expected.to_owned(),
        tolerance: tolerance.to_owned(),
    };
    assert_eq!(
        row("0.420 drainable; 0.096 retained", "exact").numbers(),
        [0.42, 0.096]
    );
    assert_eq!(row("5.0-7.0", "-").numbers(), [5.0, 7.0]);
    assert_eq!(row("-11.6", "0.2").numbers(), [-11.6]);
    assert_eq!(row("x 0.9525", "0").numbers(), [0.9525]);
    assert!((row("", "20 %").allowed(50.0) - 10.0).abs() < 1e-6);
    assert!((row("", "1e-6 rel").allowed(100.0) - 1e-4).abs() < 1e-6);
    assert!((row("", "+/-5").allowed(1.0) - 5.0).abs() < 1e-6);
    assert!(row("", "exact").allowed(1.0) < 1e-8 && row("", "0").allowed(1.0) < 1e-8);
}
