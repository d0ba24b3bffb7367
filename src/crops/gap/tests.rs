use proptest::prelude::*;

use super::*;

const WEEKDAYS: Hours = Hours {
    starts_min: 480,
    ends_min: 1020,
    days: [true, true, true, true, true, false, false],
};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn time(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
}

fn gap(off: &str, next: &str) -> Gap {
    Gap {
        off_on: day(off),
        off_already: false,
        next_on: Some(day(next)),
    }
}

fn off(off: &str, next: &str) -> Gap {
    Gap {
        off_already: true,
        ..gap(off, next)
    }
}

/// 4 March 2027 is a Thursday.
const NOW: &str = "2027-03-04 08:30";

#[track_caller]
fn starts(gap: Gap, length_min: i64, now: &str, expect: &str) {
    let slot = earliest(&gap, &WEEKDAYS, length_min, time(now)).unwrap();
    assert_eq!(slot.starts, time(expect));
}

#[track_caller]
fn late(gap: Gap, length_min: i64, now: &str) -> Why {
    match earliest(&gap, &WEEKDAYS, length_min, time(now)).unwrap_err() {
        NoRoom::Late { why, .. } => why,
        NoRoom::Never => panic!("there are days worked"),
    }
}

#[test]
fn it_starts_on_the_first_day_worked_after_the_crop_is_off() {
    starts(
        gap("2027-03-08", "2027-03-10"),
        390,
        NOW,
        "2027-03-09 08:00",
    );
    // Friday to Tuesday: the weekend is not worked.
    starts(
        gap("2027-03-05", "2027-03-09"),
        390,
        NOW,
        "2027-03-08 08:00",
    );
}

#[test]
fn today_counts_only_when_the_crop_is_off_and_time_is_left() {
    starts(
        off("2027-03-04", "2027-03-09"),
        390,
        "2027-03-04 08:31",
        "2027-03-04 08:45",
    );
    starts(
        off("2027-03-04", "2027-03-09"),
        390,
        "2027-03-04 06:00",
        "2027-03-04 08:00",
    );
    starts(
        off("2027-03-04", "2027-03-09"),
        390,
        "2027-03-04 10:31",
        "2027-03-05 08:00",
    );
    // The crop still stands today.
    starts(
        gap("2027-03-04", "2027-03-09"),
        390,
        "2027-03-04 07:00",
        "2027-03-05 08:00",
    );
    // It should have come off on Monday and still stands.
    starts(
        gap("2027-03-01", "2027-03-09"),
        390,
        "2027-03-04 07:00",
        "2027-03-05 08:00",
    );
}

#[test]
fn a_long_one_runs_over_into_the_next_days_worked() {
    // 12 h: 9 h on Friday, 3 h on Monday.
    let slot = earliest(&gap("2027-03-04", "2027-03-09"), &WEEKDAYS, 720, time(NOW)).unwrap();
    assert_eq!(slot.starts, time("2027-03-05 08:00"));
    assert_eq!(slot.ends, time("2027-03-08 11:00"));
}

#[test]
fn a_late_one_says_why() {
    assert_eq!(
        late(gap("2027-03-08", "2027-03-08"), 390, NOW),
        Why::NoDayBetween
    );
    assert_eq!(
        late(gap("2027-03-05", "2027-03-08"), 390, NOW).to_string(),
        "nobody works on any day between Friday 5 March and Monday 8 March"
    );
    assert!(matches!(
        late(gap("2027-03-08", "2027-03-10"), 720, NOW),
        Why::TooLong { .. }
    ));
    assert!(matches!(
        late(off("2027-03-01", "2027-03-04"), 390, NOW),
        Why::NextIsHere { .. }
    ));
    let never = Hours {
        days: [false; 7],
        ..WEEKDAYS
    };
    let asked = earliest(&gap("2027-03-08", "2027-03-10"), &never, 390, time(NOW));
    assert_eq!(asked, Err(NoRoom::Never));
}

#[test]
fn a_clean_out_outside_its_gap_is_named() {
    let gap = gap("2027-03-08", "2027-03-10");
    let lies = |from, to| gap.misfit(time(from), time(to));
    assert_eq!(lies("2027-03-09 08:00", "2027-03-09 14:30"), None);
    assert_eq!(lies("2027-03-09 17:00", "2027-03-10 00:00"), None);
    assert!(matches!(
        lies("2027-03-08 08:00", "2027-03-08 14:30"),
        Some(Misfit::BeforeTheCropIsOff { .. })
    ));
    assert!(matches!(
        lies("2027-03-09 17:00", "2027-03-10 01:00"),
        Some(Misfit::AfterTheNextPlanting { .. })
    ));
}

fn any_hours() -> impl Strategy<Value = Hours> {
    (
        0i64..1380,
        30i64..600,
        proptest::array::uniform7(any::<bool>()),
    )
        .prop_map(|(starts_min, length, days)| Hours {
            starts_min,
            ends_min: (starts_min + length).min(1440),
            days,
        })
}

fn any_gap() -> impl Strategy<Value = Gap> {
    (0i64..30, any::<bool>(), proptest::option::of(0i64..20)).prop_map(
        |(off, off_already, next)| {
            let off_on = day("2027-02-20") + TimeDelta::days(off);
            // What is off came off no later than today.
            let off_on = if off_already {
                off_on.min(day("2027-03-04"))
            } else {
                off_on
            };
            let next_on = next.map(|days| off_on + TimeDelta::days(days));
            Gap {
                off_on,
                off_already,
                next_on,
            }
        },
    )
}

proptest! {
    #[test]
    fn a_slot_lies_in_its_gap_in_working_time_and_none_is_earlier(
        gap in any_gap(), hours in any_hours(), length in 1i64..2000, minute in 0i64..1440,
    ) {
        let now = at(day("2027-03-04"), minute).unwrap();
        match earliest(&gap, &hours, length, now) {
            Ok(slot) => {
                prop_assert_eq!(gap.misfit(slot.starts, slot.ends), None);
                prop_assert!(slot.starts >= now);
                prop_assert!(hours.worked(slot.day()));
                prop_assert!(slot.start_min() >= hours.starts_min);
                if length <= hours.ends_min - hours.starts_min {
                    prop_assert!(slot.start_min() + length <= hours.ends_min);
                }
                // Any worked day before it is too early: the crop stands, or too little of it is left.
                let off = if gap.off_already { gap.off_on } else { following(gap.off_on.max(now.date())) };
                for earlier in off.max(now.date()).iter_days().take_while(|d| *d < slot.day()) {
                    prop_assert!(!hours.worked(earlier) || earlier == now.date());
                }
            }
            Err(NoRoom::Never) => prop_assert!(hours.days == [false; 7]),
            Err(NoRoom::Late { slot, .. }) => {
                prop_assert!(slot.ends > midnight(gap.next_on.unwrap()));
                prop_assert!(hours.worked(slot.day()));
            }
        }
    }

    #[test]
    fn working_time_between_start_and_end_is_the_length(hours in any_hours(), length in 1i64..3000, ahead in 0i64..14) {
        let first = day("2027-03-04") + TimeDelta::days(ahead);
        prop_assume!(hours.worked(first));
        let starts = at(first, hours.starts_min).unwrap();
        let ends = ends(starts, &hours, length).unwrap();
        let worked: i64 = first
            .iter_days()
            .take_while(|d| midnight(*d) < ends)
            .filter(|d| hours.worked(*d))
            .map(|d| {
                let close = at(d, hours.ends_min).unwrap().min(ends);
                (close - at(d, hours.starts_min).unwrap()).num_minutes()
            })
            .sum();
        prop_assert_eq!(worked, length);
    }
}

#[test]
fn later_slots_follow_a_quarter_apart_and_never_break_over_a_night_what_fits_a_day() {
    let first = earliest(&gap("2027-03-04", "2027-03-09"), &WEEKDAYS, 480, time(NOW)).unwrap();
    let told: Vec<String> = later(first, &WEEKDAYS, 480)
        .take(7)
        .map(|slot| slot.starts.format("%a %H:%M").to_string())
        .collect();
    // Nine hours on Friday, then the weekend.
    let friday = [
        "Fri 08:00",
        "Fri 08:15",
        "Fri 08:30",
        "Fri 08:45",
        "Fri 09:00",
    ];
    assert_eq!(told[..5], friday);
    assert_eq!(told[5..], ["Mon 08:00", "Mon 08:15"]);
    // A long one begins with the day.
    let long = earliest(&gap("2027-03-04", "2027-03-09"), &WEEKDAYS, 720, time(NOW)).unwrap();
    let days: Vec<_> = later(long, &WEEKDAYS, 720).take(2).collect();
    assert_eq!(days[1].starts, time("2027-03-08 08:00"));
    assert_eq!(days[1].ends, time("2027-03-09 11:00"));
}
