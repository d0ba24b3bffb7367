//! Tables from the command line: taken whole or not at all, and never a stumble.

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use slackwater::cli::import::{Tables, take};
use slackwater::crew::Role;

use crate::garden::Garden;

const REGISTER: &str = include_str!("../../src/cli/demo/register.csv");
const TURNOVERS: &str = include_str!("../../src/cli/demo/turnovers.csv");

async fn import(
    garden: &Garden,
    register: Option<&str>,
    turnovers: Option<&str>,
) -> (bool, String) {
    let mut said = Vec::new();
    let tables = Tables {
        register,
        turnovers,
    };
    let now = garden.app.clock.now();
    let taken = take(&garden.app.db, tables, now, &mut said).await.unwrap();
    (taken, String::from_utf8(said).unwrap())
}

#[tokio::test]
async fn the_example_tables_make_a_site_of_nine_systems() {
    let garden = Garden::site().await;
    let (taken, said) = import(&garden, Some(REGISTER), Some(TURNOVERS)).await;
    assert!(taken, "{said}");
    assert_eq!(
        said,
        "register   9 systems from 61 rows\nturnovers  9 added, 0 moved, 0 unchanged\n"
    );
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.get("/turnovers").await.shows(&[
        "Nine systems growing.",
        "Parsley, chervil",
        "no end date",
        "Fri 26 Feb, still on",
    ]);
    for system in 1..=9 {
        // No part is missing, and every bench can be flooded for a clean-out.
        ines.get(&format!("/systems/{system}"))
            .await
            .shows(&["is used for doses"]);
    }
    garden.logbook_is_whole().await;

    // The same turnovers again change nothing; the same register again is refused whole.
    let (taken, said) = import(&garden, None, Some(TURNOVERS)).await;
    assert!(
        taken && said.contains("0 added, 0 moved, 9 unchanged"),
        "{said}"
    );
    let (taken, said) = import(&garden, Some(REGISTER), None).await;
    assert!(!taken);
    assert!(
        said.contains("name: A system of this name is in the register already."),
        "{said}"
    );
    assert!(said.ends_with("Nothing was taken.\n"), "{said}");
}

#[tokio::test]
async fn one_bad_row_keeps_both_tables_out() {
    let garden = Garden::site().await;
    let bad = format!("{TURNOVERS}North 4,Kale,2027-02-01,,,\n");
    let (taken, said) = import(&garden, Some(REGISTER), Some(&bad)).await;
    assert!(!taken);
    assert_eq!(
        said,
        "turnovers: Line 11, system: There is no system in use called 'North 4'.\nNothing was taken.\n"
    );
    let bad = REGISTER.replace("bench,North 2,Bench 2", "bench,North 7,Bench 2");
    let (taken, said) = import(&garden, Some(&bad), None).await;
    assert!(!taken);
    assert!(
        said.contains("system: This table adds no system called 'North 7'."),
        "{said}"
    );
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    ines.get("/turnovers")
        .await
        .shows(&["No system is in the register yet."]);
    assert_eq!(garden.logbook_says("added").await, 0);
}

#[tokio::test]
async fn no_text_makes_an_import_stumble() {
    let garden = Garden::site().await;
    let (taken, _) = import(&garden, Some(REGISTER), Some(TURNOVERS)).await;
    assert!(taken);
    let text = |pattern: &str| proptest::string::string_regex(pattern).unwrap();
    let texts = prop_oneof![
        any::<String>(),
        text("system,crop,planted_on,turnover_on,next_on,next_crop\n.{0,60}\n.{0,60}"),
        text(
            "system,crop,planted_on,turnover_on\nNorth [1-4],[A-Z]{0,3},20[0-9]{2}-[0-9]{2}-[0-9]{2},[0-9-]{0,11}\n"
        ),
        text(
            "what,system,name,room,length_mm,kind\n(system|bench|pump|room),(North 1|),.{0,9},(Attic|),[0-9.,]{0,9},[a-z]{0,3}\n"
        ),
    ];
    let mut runner = TestRunner::deterministic();
    for _ in 0..200 {
        let text = texts.new_tree(&mut runner).unwrap().current();
        let (register, said) = import(&garden, Some(&text), None).await;
        assert!(
            register || said.contains("Nothing was taken."),
            "{text:?}: {said}"
        );
        let (turnovers, said) = import(&garden, None, Some(&text)).await;
        assert!(
            turnovers || said.contains("Nothing was taken."),
            "{text:?}: {said}"
        );
    }
    garden.logbook_is_whole().await;
}
