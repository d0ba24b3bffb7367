//! A table as text: rows under named columns, as a spreadsheet saves or copies it. Faults are named
//! by line and column, all of them at once.

use std::fmt;

/// Something wrong with a table, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// As an editor counts them: the head is line 1.
    pub line: u64,
    /// Empty where the whole line is meant.
    pub column: String,
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            line,
            column,
            message,
        } = self;
        match column.as_str() {
            "" => write!(f, "Line {line}: {message}"),
            column => write!(f, "Line {line}, {column}: {message}"),
        }
    }
}

/// The columns that a table may have. The order is the writer's own.
#[derive(Clone, Copy, Debug)]
pub struct Columns {
    /// These must be there.
    pub needed: &'static [&'static str],
    /// These may be left out.
    pub others: &'static [&'static str],
}

impl Columns {
    fn known(&self) -> impl Iterator<Item = &'static str> {
        self.needed.iter().chain(self.others).copied()
    }
}

/// A row with its cells by column; a column that was left out reads as empty.
#[derive(Clone, Debug)]
pub struct Row {
    pub line: u64,
    cells: Vec<(&'static str, String)>,
}

impl Row {
    pub fn cell(&self, column: &str) -> &str {
        self.cells
            .iter()
            .find(|(name, _)| *name == column)
            .map_or("", |(_, cell)| cell)
    }

    pub fn cells(&self) -> impl Iterator<Item = (&'static str, &str)> {
        self.cells.iter().map(|(name, cell)| (*name, cell.as_str()))
    }

    pub fn fault(&self, column: impl Into<String>, message: impl Into<String>) -> Fault {
        Fault {
            line: self.line,
            column: column.into(),
            message: message.into(),
        }
    }
}

/// Reads a table: cells divided by commas, semicolons or tabs, whichever its head has most of.
/// Empty lines are passed over. What can be read is read, so that every row's own faults can be
/// told together with those found here.
pub fn read(text: &str, columns: &Columns) -> (Vec<Row>, Vec<Fault>) {
    let text = text.trim_start_matches('\u{feff}');
    let mut faults = Vec::new();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(delimiter(text))
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    let mut head: Option<Vec<Option<&'static str>>> = None;
    let mut lines = Lines::of(text);
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                faults.push(Fault {
                    line: lines.line_at(error.position()),
                    column: String::new(),
                    message: "This line cannot be read as a row of a table.".to_owned(),
                });
                continue;
            }
        };
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = lines.line_at(record.position());
        match &head {
            None => head = Some(read_head(&record, line, columns, &mut faults)),
            Some(head) => rows.push(read_row(&record, line, head, &mut faults)),
        }
    }
    if head.is_none() {
        faults.push(Fault {
            line: 1,
            column: String::new(),
            message: format!(
                "There is no head. Its columns are {}.",
                columns.needed.join(", ")
            ),
        });
    }
    (rows, faults)
}

/// Counts lines as an editor does. The reader's own count leaves empty lines before a row out.
struct Lines<'a> {
    bytes: &'a [u8],
    counted: usize,
    line: u64,
}

impl<'a> Lines<'a> {
    fn of(text: &'a str) -> Self {
        Self {
            bytes: text.as_bytes(),
            counted: 0,
            line: 1,
        }
    }

    /// The line on which the row at this place begins. Rows are asked for in their order.
    fn line_at(&mut self, position: Option<&csv::Position>) -> u64 {
        let from = position.map_or(0, |at| usize::try_from(at.byte()).unwrap_or(usize::MAX));
        while let Some(byte) = self.bytes.get(self.counted) {
            let ends = matches!(byte, b'\n' | b'\r');
            if self.counted >= from && !ends {
                break;
            }
            self.counted += 1;
            let pair = *byte == b'\r' && self.bytes.get(self.counted) == Some(&b'\n');
            if ends && !pair {
                self.line += 1;
            }
        }
        self.line
    }
}

fn delimiter(text: &str) -> u8 {
    let head = text.lines().find(|line| !line.trim().is_empty());
    let count = |mark: char| head.map_or(0, |head| head.matches(mark).count());
    [(',', b','), (';', b';'), ('\t', b'\t')]
        .into_iter()
        .rev()
        .max_by_key(|(mark, _)| count(*mark))
        .map_or(b',', |(_, byte)| byte)
}

fn read_head(
    record: &csv::StringRecord,
    line: u64,
    columns: &Columns,
    faults: &mut Vec<Fault>,
) -> Vec<Option<&'static str>> {
    let mut fault = |column: &str, message: String| {
        faults.push(Fault {
            line,
            column: column.to_owned(),
            message,
        });
    };
    let mut head: Vec<Option<&'static str>> = Vec::new();
    for name in record.iter() {
        let known = columns
            .known()
            .find(|known| name.eq_ignore_ascii_case(known));
        match known {
            _ if name.is_empty() => {}
            Some(known) if head.contains(&Some(known)) => {
                fault(name, "This column stands here twice.".to_owned());
            }
            Some(_) => {}
            None => {
                let all: Vec<&str> = columns.known().collect();
                fault(
                    &shortened(name),
                    format!("There is no such column. There are {}.", all.join(", ")),
                );
            }
        }
        head.push(known);
    }
    for needed in columns.needed {
        if !head.contains(&Some(needed)) {
            fault(needed, "This column is missing.".to_owned());
        }
    }
    head
}

fn read_row(
    record: &csv::StringRecord,
    line: u64,
    head: &[Option<&'static str>],
    faults: &mut Vec<Fault>,
) -> Row {
    let mut cells = Vec::new();
    for (at, cell) in record.iter().enumerate() {
        match head.get(at) {
            Some(Some(column)) => cells.push((*column, cell.to_owned())),
            // The head says already that it does not know this column.
            Some(None) => {}
            None if cell.is_empty() => {}
            None => faults.push(Fault {
                line,
                column: String::new(),
                message: format!(
                    "'{}' stands beyond the last column. A cell that holds a comma is written in double quotes.",
                    shortened(cell)
                ),
            }),
        }
    }
    Row { line, cells }
}

fn shortened(text: &str) -> String {
    if text.chars().count() > 40 {
        let start: String = text.chars().take(40).collect();
        format!("{start}…")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const COLUMNS: Columns = Columns {
        needed: &["system", "crop"],
        others: &["planted_on"],
    };

    fn told(text: &str) -> Vec<String> {
        read(text, &COLUMNS)
            .1
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn a_table_is_read_from_a_file_or_from_a_spreadsheet() {
        for text in [
            "system,crop,planted_on\nNorth 1,Basil,2027-03-01\n",
            "\u{feff}System; Crop; planted_on\r\n\r\nNorth 1; Basil; 2027-03-01\r\n",
            "crop\tsystem\tplanted_on\nBasil\tNorth 1\t2027-03-01",
        ] {
            let (rows, faults) = read(text, &COLUMNS);
            assert!(faults.is_empty(), "{faults:?}");
            assert_eq!(rows.len(), 1);
            assert_eq!(rows[0].cell("system"), "North 1");
            assert_eq!(rows[0].cell("planted_on"), "2027-03-01");
        }
    }

    #[test]
    fn a_fault_is_named_by_line_and_column() {
        assert_eq!(
            told("system,colour\nNorth 1,green\n"),
            [
                "Line 1, colour: There is no such column. There are system, crop, planted_on.",
                "Line 1, crop: This column is missing.",
            ]
        );
        assert_eq!(
            told("system,crop,crop\n"),
            ["Line 1, crop: This column stands here twice."]
        );
        assert!(
            told("system,crop\n\nNorth 1,Basil,mint\n")[0]
                .starts_with("Line 3: 'mint' stands beyond")
        );
        assert_eq!(
            told(" \n"),
            ["Line 1: There is no head. Its columns are system, crop."]
        );
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_told_what_is_wrong_with_it(text in any::<String>()) {
            let (rows, faults) = read(&text, &COLUMNS);
            prop_assert!(!rows.is_empty() || !faults.is_empty() || !text.trim().is_empty());
        }

        #[test]
        fn any_row_under_a_good_head_is_read(text in "(?s)system,crop\n.{0,200}") {
            let (_, faults) = read(&text, &COLUMNS);
            prop_assert!(faults.iter().all(|fault| fault.line >= 2), "{:?}", faults);
        }
    }
}
