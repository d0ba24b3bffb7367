use proptest::prelude::*;

use super::*;

fn told(text: &str) -> Vec<String> {
    let (rows, mut faults) = table::read(text, &COLUMNS);
    faults.extend(rows.iter().filter_map(|row| read(row).err()).flatten());
    faults.iter().map(ToString::to_string).collect()
}

#[test]
fn a_faulty_cell_is_named_by_its_column() {
    let bench = "what,system,name,length_mm,width_mm,floor_fall_mm,wall_mm,overflow_mm,media,media_depth_mm\n";
    let told = |row: &str| told(&format!("{bench}{row}\n"));
    assert!(told("bench,North 1,Bench 1,2400,1000,12,140,70,clay,90").is_empty());
    assert!(
        told("bench,North 1,Bench 1,2400,1000,12,140,150,clay,90")[0]
            .starts_with("Line 2, overflow_mm: 150\u{a0}mm is not below the wall")
    );
    assert!(
        told("bench,North 1,Bench 1,2.4 m,1000,12,140,70,clay,90")[0]
            .starts_with("Line 2, length_mm: ")
    );
    assert!(
        told("bench,North 1,Bench 1,24000000000,1000,12,140,70,clay,90")[0]
            .starts_with("Line 2, length_mm: ")
    );
    assert!(
        told("trough,North 1,,,,,,,,")[0].starts_with("Line 2, what: Write one of room, system,")
    );
    assert_eq!(
        told("system,,North 1,,,,,,clay,"),
        ["Line 2, media: A system has no media. Empty this cell."]
    );
}

#[test]
fn every_column_of_every_kind_is_a_column_of_the_table() {
    for what in What::ALL {
        for fills in what.fills() {
            assert!(COLUMNS.others.contains(&fills.column), "{}", fills.column);
        }
    }
    for column in COLUMNS.others {
        assert!(
            What::ALL
                .iter()
                .any(|what| what.fills().iter().any(|fills| fills.column == *column)),
            "{column} fills nothing"
        );
    }
}

proptest! {
    #[test]
    fn no_cell_makes_it_stumble(
        what in prop::sample::select(What::ALL),
        column in prop::sample::select(COLUMNS.others),
        cell in ".{0,30}",
    ) {
        let quoted = cell.replace('"', "\"\"");
        let text = format!("what,name,{column}\n{what},Bench 1,\"{quoted}\"\n");
        let (rows, _) = table::read(&text, &COLUMNS);
        for row in &rows {
            if let Err(faults) = read(row) {
                prop_assert!(faults.iter().all(|fault| !fault.message.is_empty()));
            }
        }
    }
}
