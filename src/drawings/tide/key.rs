//! How to read the tide line: each sign once, drawn by the same hand as the rows.

use std::fmt;

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::row::Picture;
use super::sea::Scale;
use super::stake::Label;
use super::{Bed, Days, Growing, Row, Stake, Standing};

/// The list "How to read the tide line", without its heading.
#[derive(Debug, Clone, Copy)]
pub struct Key;

impl askama::filters::HtmlSafe for Key {}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("<ul class=\"key\">\n")?;
        for (name, says, row) in signs() {
            // Where a line breaks up is told by the time it is.
            let now = row
                .growing
                .iter()
                .any(|g| g.off.is_none() && g.on < Some(at(0.0)));
            let days = Days::from_week_of(FIRST, 1, now.then(|| at(2.6)));
            // A sign is about a fifth of a row long.
            let scale = Scale {
                wide_day: 22.0,
                phone_day: 22.0,
                ..Scale::new(52.0, 150.0, days)
            };
            let picture = Picture {
                told: true,
                row: &row,
                days,
                scale,
                label: Label::Number,
            };
            writeln!(f, "<li>{picture}<strong>{name}</strong>: {says}</li>")?;
        }
        f.write_str("</ul>\n")
    }
}

/// Any Monday: the signs show no date.
const FIRST: NaiveDate = NaiveDate::from_ymd_opt(2027, 3, 1).expect("a day of the calendar");

fn at(day: f64) -> NaiveDateTime {
    FIRST.and_time(chrono::NaiveTime::MIN) + TimeDelta::minutes((day * 1440.0) as i64)
}

fn signs() -> Vec<(&'static str, &'static str, Row)> {
    let still = || Row {
        name: String::new(),
        href: String::new(),
        state: String::new(),
        volume: String::new(),
        growing: Vec::new(),
        bed: Bed::Clear,
        stakes: Vec::new(),
    };
    let grows = |crop| Row {
        growing: vec![crop],
        ..still()
    };
    let stake = |standing| Row {
        stakes: vec![Stake {
            number: "42".to_owned(),
            href: None,
            standing,
            start: at(3.4),
            end: at(4.8),
            planting: None,
        }],
        ..still()
    };
    let late = Row {
        growing: vec![Growing::new("").on(at(2.2)).off(at(99.0))],
        stakes: vec![Stake {
            number: "44".to_owned(),
            href: None,
            standing: Standing::Proposed,
            start: at(3.2),
            end: at(4.0),
            planting: Some(at(2.2)),
        }],
        ..still()
    };
    let foul = Bed::Foul {
        from: at(0.2),
        until: None,
        reason: String::new(),
    };
    vec![
        (
            "Growing",
            "high water, the crop in italic",
            grows(Growing::new("Basil").off(at(99.0))),
        ),
        (
            "Crop comes off",
            "the ebb; dotted where the date was moved",
            grows(Growing::new("").off(at(4.0)).moved_from(at(1.6))),
        ),
        (
            "No end date",
            "the line breaks up",
            grows(Growing::new("").on(at(-9.0))),
        ),
        (
            "Proposed",
            "broken stake, open ring",
            stake(Standing::Proposed),
        ),
        ("Booked", "solid stake, black ball", stake(Standing::Booked)),
        ("Issued", "a card on the stake", stake(Standing::Issued)),
        ("Under way", "half a ball", stake(Standing::UnderWay)),
        (
            "Held",
            "a closed gate, awaiting release",
            stake(Standing::Held),
        ),
        (
            "Released",
            "a cone, point up: let the water in",
            stake(Standing::Released),
        ),
        ("Called off", "a cross", stake(Standing::CalledOff)),
        (
            "Late",
            "the stake stands in the flood; hatched is what overlaps",
            late,
        ),
        (
            "Quarantined",
            "foul ground",
            Row {
                bed: foul,
                ..still()
            },
        ),
        (
            "Laid up",
            "dry",
            Row {
                bed: Bed::Dry {
                    from: at(0.0),
                    until: None,
                },
                ..still()
            },
        ),
    ]
}
