use std::collections::HashSet;

use chrono::TimeDelta;
use proptest::prelude::*;

use super::*;
use crate::plan::timetable::{Line, duties};
use crate::science::units::Units;
use crate::site::Hours;
use crate::site::sources::Chosen;
use crate::text::Name;

fn site() -> Site {
    Site {
        id: crate::ids::SiteId::from_row(1),
        name: Name::parse("Orrelby Glasshouses").unwrap(),
        zone: chrono_tz::Europe::London,
        units: Units::Metric,
        rule_set: "eu".to_owned(),
        address: None,
        hours: Hours {
            starts_min: 480,
            ends_min: 1020,
            days: [true, true, true, true, true, false, false],
        },
        second_signature: false,
        calculators_open: false,
        version: 1,
        sources: Chosen::default(),
    }
}

fn at(minute: i64) -> Moment {
    "2027-03-08T00:00:00Z"
        .parse::<Moment>()
        .unwrap()
        .plus(TimeDelta::minutes(minute))
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

const INES: i64 = 1;

fn entry(system: i64, standing: Standing, lines: &[(Work, i64, i64)]) -> Entry {
    Entry {
        system: SystemId::from_row(system),
        planting: None,
        cleanout: None,
        lines: lines
            .iter()
            .map(|(work, from, to)| Line {
                work: *work,
                from: at(*from),
                to: at(*to),
                people: match work {
                    Work::Soak => Vec::new(),
                    _ => vec![PersonId::from_row(INES)],
                },
            })
            .collect(),
        standing,
        pinned: false,
    }
}

fn of_ines(entries: &[Entry], since: i64) -> Vec<Piece> {
    pieces(entries, PersonId::from_row(INES), &site(), at(since))
}

fn monday_of(pieces: &[Piece], now: i64) -> DayLoad {
    let times = PersonTimes {
        kind: crate::crew::Kind::Person,
        weeks: Vec::new(),
        absences: Vec::new(),
    };
    let days = SiteDays::new(&site(), Vec::new());
    day_of(day("2027-03-08"), Some(&times), &days, pieces, at(now))
}

#[test]
fn a_day_tells_stands_posted_and_proposed_apart_and_what_is_left_of_nine_hours() {
    let entries = [
        entry(
            1,
            Standing::Fixed,
            &[
                (Work::Strip, 480, 540),
                (Work::Dose, 540, 585),
                (Work::Soak, 585, 765),
            ],
        ),
        entry(2, Standing::Posted, &[(Work::Teardown, 600, 660)]),
        entry(3, Standing::Proposed, &[(Work::Refit, 700, 730)]),
    ];
    let monday = monday_of(&of_ines(&entries, 0), 0);
    assert_eq!((monday.usual, monday.overtime), (540, 0));
    assert_eq!(
        monday.given,
        Given {
            stands: 105,
            posted: 60,
            proposed: 30,
            concentrate: 45
        }
    );
    assert_eq!(
        (monday.left(), monday.over(), monday.pieces.len()),
        (345, 0, 4)
    );
    assert!(monday.clashes().is_empty());
}

#[test]
fn two_clean_outs_at_once_are_one_time_and_a_clash() {
    let entries = [
        entry(1, Standing::Fixed, &[(Work::Strip, 480, 600)]),
        entry(2, Standing::Proposed, &[(Work::Strip, 540, 660)]),
    ];
    let monday = monday_of(&of_ines(&entries, 0), 0);
    // What stands counts whole, what is proposed only where it adds to it.
    assert_eq!((monday.given.stands, monday.given.proposed), (120, 60));
    let clashes = monday.clashes();
    assert_eq!(clashes.len(), 1);
    assert_eq!(
        (clashes[0].0.system.get(), clashes[0].1.system.get()),
        (1, 2)
    );
}

#[test]
fn more_work_than_hours_is_too_much_and_what_is_past_counts_no_more() {
    let entries = [entry(1, Standing::Fixed, &[(Work::Strip, 420, 1100)])];
    let monday = monday_of(&of_ines(&entries, 0), 0);
    // Ten to twelve hours of work on a day of nine.
    assert_eq!(
        (monday.given.all(), monday.left(), monday.over()),
        (680, 0, 140)
    );
    // At noon five of the nine hours are left, and so is the work of the afternoon.
    let noon = monday_of(&of_ines(&entries, 720), 720);
    assert_eq!((noon.usual, noon.given.all(), noon.over()), (300, 380, 80));
}

#[test]
fn who_is_not_there_has_no_hours_and_all_of_it_is_too_much() {
    let entries = [entry(1, Standing::Posted, &[(Work::Strip, 480, 540)])];
    let pieces = of_ines(&entries, 0);
    let days = SiteDays::new(&site(), Vec::new());
    let gone = day_of(day("2027-03-08"), None, &days, &pieces, at(0));
    assert_eq!((gone.usual, gone.over()), (0, 60));
}

fn drawn() -> impl Strategy<Value = Vec<Entry>> {
    let works = prop::sample::select(vec![Work::Strip, Work::Dose, Work::Rinse, Work::Refit]);
    // Within days, so that no line runs over a night.
    let line = (works, 0i64..5, 0i64..1300, 5i64..139);
    let standing =
        prop::sample::select(vec![Standing::Fixed, Standing::Posted, Standing::Proposed]);
    let one = (standing, prop::collection::vec(line, 1..4));
    prop::collection::vec(one, 0..7).prop_map(|entries| {
        (1..)
            .zip(entries)
            .map(|(system, (standing, lines))| {
                let lines: Vec<(Work, i64, i64)> = lines
                    .into_iter()
                    .map(|(work, day, from, long)| {
                        let from = day * 1440 + from;
                        (work, from, from + long)
                    })
                    .collect();
                entry(system, standing, &lines)
            })
            .collect()
    })
}

proptest! {
    #[test]
    fn the_sums_agree_with_the_lines_of_the_timetable(entries in drawn()) {
        let pieces = of_ines(&entries, 0);
        let lines = duties(&entries, PersonId::from_row(INES));
        let length = |from: Moment, to: Moment| to.since(from).num_minutes();
        let of_lines: i64 = lines.iter().map(|duty| length(duty.from, duty.to)).sum();
        let of_pieces: i64 = pieces.iter().map(|piece| piece.span.minutes()).sum();
        prop_assert_eq!(of_lines, of_pieces);
        // Minute by minute, each once.
        let minutes = |counts: &dyn Fn(&Piece) -> bool| -> i64 {
            let mut seen = HashSet::new();
            for piece in pieces.iter().filter(|piece| counts(piece)) {
                let from = piece.span.from.since(at(0)).num_minutes();
                seen.extend(from..from + piece.span.minutes());
            }
            seen.len() as i64
        };
        let given = Given::of(&pieces);
        prop_assert_eq!(given.all(), minutes(&|_| true));
        prop_assert_eq!(given.stands, minutes(&|piece| piece.standing == Standing::Fixed));
        prop_assert_eq!(given.concentrate, minutes(&|piece| piece.work == Work::Dose));
        prop_assert!(given.all() <= of_lines && given.posted >= 0 && given.proposed >= 0);
    }

    #[test]
    fn every_minute_of_work_is_in_the_hours_or_said_to_be_too_much(entries in drawn(), now in 0i64..3000) {
        let pieces = of_ines(&entries, now);
        let times = PersonTimes {
            kind: crate::crew::Kind::Person,
            weeks: Vec::new(),
            absences: Vec::new(),
        };
        let site_days = SiteDays::new(&site(), Vec::new());
        let days: Vec<DayLoad> = day("2027-03-08")
            .iter_days()
            .take(7)
            .map(|day| day_of(day, Some(&times), &site_days, &pieces, at(now)))
            .collect();
        for day in &days {
            prop_assert_eq!(day.left() + day.given.all(), day.usual + day.in_overtime() + day.over());
            let lies_over = day.pieces.iter().any(|one| {
                day.pieces.iter().any(|other| one.system != other.system && one.span.overlaps(other.span))
            });
            prop_assert_eq!(!day.clashes().is_empty(), lies_over);
        }
        let sum = Sum::of(&days);
        prop_assert_eq!(sum.given.all(), Given::of(&pieces).all());
        prop_assert_eq!(sum.left + sum.given.all(), sum.usual + sum.in_overtime + sum.over);
        let whole: i64 = pieces.iter().map(|piece| piece.span.minutes()).sum();
        prop_assert!(sum.given.all() <= whole);
    }
}
