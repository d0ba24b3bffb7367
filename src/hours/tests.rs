//! Hours and days, over the days on which clocks change.

use chrono::{Datelike, Days, NaiveDate, Timelike};
use chrono_tz::Tz;
use proptest::prelude::*;

use super::*;
use crate::clock::Moment;
use crate::crew::Kind;
use crate::ids::{UnusualDaysId, UsualWeekId};
use crate::site::Hours;
use crate::text::Name;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Zones that change their clocks in different ways: by an hour at night, by half an hour, at midnight,
/// by two hours, against the season, not at all, and one that left out a day.
const ZONES: &[Tz] = &[
    chrono_tz::Europe::London,
    chrono_tz::America::New_York,
    chrono_tz::Australia::Lord_Howe,
    chrono_tz::America::Havana,
    chrono_tz::Asia::Beirut,
    chrono_tz::Antarctica::Troll,
    chrono_tz::Africa::Casablanca,
    chrono_tz::America::Santiago,
    chrono_tz::Asia::Kolkata,
    chrono_tz::Pacific::Apia,
];

/// The real minutes of a day.
fn length(day: NaiveDate, zone: Tz) -> i64 {
    let next = day + Days::new(1);
    Moment::day_begins(next, zone)
        .since(Moment::day_begins(day, zone))
        .num_minutes()
}

/// The days of some years on which a zone's clocks change.
fn change_days(zone: Tz, years: std::ops::Range<i32>) -> Vec<NaiveDate> {
    let first = NaiveDate::from_ymd_opt(years.start, 1, 1).unwrap();
    first
        .iter_days()
        .take_while(|day| day.year() < years.end)
        .filter(|day| length(*day, zone) != 1440)
        .collect()
}

fn site(zone: Tz) -> SiteDays {
    SiteDays {
        zone,
        hours: Hours {
            starts_min: 480,
            ends_min: 1020,
            days: [true, true, true, true, true, false, false],
        },
        unusual: Vec::new(),
    }
}

fn unusual(owner: Owner, what: What, from: &str, to: Option<&str>) -> UnusualDays {
    UnusualDays {
        id: UnusualDaysId::from_row(1),
        owner,
        new: NewDays {
            what,
            name: String::new(),
            days: DayRange::new(day(from), to.map(day)).unwrap(),
            part: None,
            count: None,
            source: Source::Typed,
        },
        author_id: PersonId::from_row(1),
        author: Name::parse("Ines V.").unwrap(),
        at: "2027-03-01T08:00:00Z".parse().unwrap(),
        corrects: None,
        replaced: false,
        taken_back: false,
    }
}

fn week(id: i64, from: &str, hours: &str, overtime: &str, allowed: bool) -> UsualWeek {
    let stretches = |typed: &str, overtime| {
        let hours = parse_hours(typed).unwrap();
        hours
            .into_iter()
            .map(move |hours| Stretch { hours, overtime })
    };
    let one: Vec<Stretch> = stretches(hours, false)
        .chain(stretches(overtime, true))
        .collect();
    UsualWeek {
        id: UsualWeekId::from_row(id),
        owner: PERSON,
        in_force_from: day(from),
        week: Week::new(std::array::from_fn(|_| one.clone()), allowed).unwrap(),
        author: Name::parse("Ines V.").unwrap(),
        at: "2027-03-01T08:00:00Z".parse().unwrap(),
    }
}

const PERSON: Owner = Owner::Person(PersonId::from_row(7));
const ROOM: Owner = Owner::Room(RoomId::from_row(7));
const SITE: Owner = Owner::Site(SiteId::from_row(7));

fn somebody(kind: Kind, weeks: Vec<UsualWeek>) -> PersonTimes {
    PersonTimes {
        kind,
        weeks,
        absences: Vec::new(),
    }
}

fn clocks(shifts: &[Shift]) -> Vec<String> {
    shifts.iter().map(|shift| shift.hours.to_string()).collect()
}

#[test]
fn hours_over_a_change_of_the_clocks_are_the_real_time() {
    let zone = chrono_tz::Europe::London;
    let minutes = |on: &str, typed: &str| -> i64 {
        let hours = parse_hours(typed).unwrap();
        let real = hours.iter().filter_map(|span| span.on(day(on), zone));
        real.map(Span::minutes).sum()
    };
    // Put forward from one to two.
    assert_eq!(minutes("2027-03-28", "0:30-2:30"), 60);
    assert_eq!(minutes("2027-03-28", "1:15-1:45"), 0);
    assert_eq!(minutes("2027-03-28", "1:30-3:00"), 60);
    assert_eq!(minutes("2027-03-28", "0:00-24:00"), 23 * 60);
    // Put back from two to one: from one to two comes twice.
    assert_eq!(minutes("2027-10-31", "1:00-2:00"), 60);
    assert_eq!(minutes("2027-10-31", "1:00-3:00"), 180);
    assert_eq!(minutes("2027-10-31", "0:00-1:00"), 60);
    assert_eq!(minutes("2027-10-31", "0:00-24:00"), 25 * 60);
    // Others may be in a room in either of the two.
    let either = DaySpan::new(60, 120).unwrap();
    let room = either.at_most_on(day("2027-10-31"), zone).unwrap();
    assert_eq!(room.minutes(), 120);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn nothing_lies_in_an_hour_that_is_left_out_and_nothing_comes_twice(
        zone in prop::sample::select(ZONES), year in 2008i32..2060, pick in 0usize..8, shift in -1i64..=1,
        cuts in prop::collection::btree_set(0i64..=288, 2..12),
    ) {
        let changes = change_days(zone, year..year + 1);
        let on = changes.get(pick % changes.len().max(1)).copied()
            .unwrap_or_else(|| NaiveDate::from_ymd_opt(year, 6, 1).unwrap())
            + chrono::TimeDelta::days(shift);
        let cuts: Vec<i64> = cuts.into_iter().map(|cut| cut * 5).collect();
        let hours: Vec<DaySpan> = cuts.windows(2).step_by(2)
            .map(|pair| DaySpan::new(pair[0], pair[1]).unwrap()).collect();
        let real: Vec<Span> = hours.iter().filter_map(|span| span.on(on, zone)).collect();
        // In order, apart from each other, inside the day.
        prop_assert!(real.windows(2).all(|pair| pair[0].to <= pair[1].from));
        for span in &real {
            prop_assert!(span.from >= Moment::day_begins(on, zone));
            prop_assert!(span.to <= Moment::day_begins(on + Days::new(1), zone));
        }
        let total: i64 = real.iter().map(|span| span.minutes()).sum();
        prop_assert!(total <= length(on, zone));
        for span in &hours {
            let Some(works) = span.on(on, zone) else {
                // Not a minute of it is shown by the clocks of this day.
                for minute in span.from_min()..span.to_min() {
                    let at = Moment::on_the_wall(on, minute, zone).in_zone(zone);
                    prop_assert_ne!((at.date_naive(), i64::from(at.hour() * 60 + at.minute())), (on, minute));
                }
                continue;
            };
            // It begins and ends inside the hours by the clocks, or where the clocks were changed.
            let begins = works.from.in_zone(zone);
            let shown = i64::from(begins.hour() * 60 + begins.minute());
            prop_assert!(begins.date_naive() == on && shown >= span.from_min() && shown < span.to_min());
            // Others in a room are never there less than somebody who works the same hours.
            let most = span.at_most_on(on, zone).unwrap();
            prop_assert!(most.from == works.from && most.to >= works.to);
            // On a day without a change it is what the clocks say.
            if length(on, zone) == 1440 {
                prop_assert_eq!(works.minutes(), span.minutes());
            }
        }
    }

    #[test]
    fn whole_days_follow_each_other_without_a_hole(zone in prop::sample::select(ZONES), year in 2008i32..2060) {
        for on in change_days(zone, year..year + 1) {
            for on in [on - Days::new(1), on] {
                let (one, next) = (DaySpan::WHOLE_DAY.on(on, zone), DaySpan::WHOLE_DAY.on(on + Days::new(1), zone));
                let (Some(one), Some(next)) = (one, next) else {
                    // A day that was left out as a whole.
                    prop_assert!(length(on, zone) == 0 || length(on + Days::new(1), zone) == 0);
                    continue;
                };
                prop_assert_eq!(one.to, next.from);
                prop_assert_eq!(one.minutes(), length(on, zone));
            }
        }
    }

    #[test]
    fn hours_read_back_as_they_are_written(cuts in prop::collection::btree_set(0i64..=1440, 2..14)) {
        let cuts: Vec<i64> = cuts.into_iter().collect();
        let hours: Vec<DaySpan> = cuts.windows(2).step_by(2).map(|pair| DaySpan::new(pair[0], pair[1]).unwrap()).collect();
        let typed = week::hours_words(hours.iter().copied());
        prop_assert_eq!(parse_hours(&typed), Ok(hours));
    }

    #[test]
    fn what_is_taken_out_is_out_and_the_rest_stays(
        from in 0i64..1440, length in 1i64..600, gone in prop::collection::vec((0i64..1440, 1i64..400), 0..5),
    ) {
        let span = |from: i64, length: i64| DaySpan::new(from, (from + length).min(1440)).unwrap();
        let whole = span(from, length);
        let gone: Vec<DaySpan> = gone.into_iter().map(|(from, length)| span(from, length)).collect();
        let left = span::without(vec![whole], &gone);
        for minute in 0..1440 {
            let in_any = |spans: &[DaySpan]| spans.iter().any(|span| (span.from_min()..span.to_min()).contains(&minute));
            prop_assert_eq!(in_any(&left), in_any(&[whole]) && !in_any(&gone));
        }
    }
}

#[test]
fn the_change_days_of_the_zones_are_there_to_be_tried() {
    let found: usize = ZONES
        .iter()
        .map(|zone| change_days(*zone, 2026..2030).len())
        .sum();
    assert!(found > 50, "only {found} days with a change");
    // Samoa left out 30 December 2011.
    let left_out = day("2011-12-30");
    assert_eq!(
        DaySpan::WHOLE_DAY.on(left_out, chrono_tz::Pacific::Apia),
        None
    );
}

#[test]
fn hours_that_cannot_be_are_told_why() {
    for (typed, why) in [
        ("8", "not read as hours"),
        ("8-x", "not read as hours"),
        ("8:5-9", "not read as hours"),
        ("25-26", "not read as hours"),
        ("8-8", "not after"),
        ("22:00-06:00", "over midnight"),
        ("8-12, 11:30-13", "overlap"),
    ] {
        let said = parse_hours(typed).unwrap_err();
        assert!(said.contains(why), "{typed}: {said}");
    }
    // Times that touch are one.
    assert_eq!(
        parse_hours("8-12, 12-13").unwrap(),
        [DaySpan::new(480, 780).unwrap()]
    );
}

#[test]
fn the_newest_week_in_force_counts_and_overtime_only_where_it_is_allowed() {
    let site = site(chrono_tz::Europe::London);
    let mut tobit = somebody(
        Kind::Person,
        vec![
            week(1, "2027-01-01", "8-12, 13-17", "17-19", false),
            week(2, "2027-03-08", "7-11", "11-12", true),
            week(3, "2027-03-08", "9-11", "11-12", true),
        ],
    );
    // Before their own week the hours of the site.
    assert_eq!(clocks(&tobit.on(&site, day("2026-12-31"))), ["08:00-17:00"]);
    assert_eq!(
        clocks(&tobit.on(&site, day("2027-03-07"))),
        ["08:00-12:00", "13:00-17:00"]
    );
    let now = tobit.on(&site, day("2027-03-08"));
    assert_eq!(clocks(&now), ["09:00-11:00", "11:00-12:00"]);
    assert_eq!((now[0].overtime, now[1].overtime), (false, true));
    // Half a day away.
    let mut away = unusual(PERSON, What::Course, "2027-03-09", Some("2027-03-09"));
    away.new.part = Some(DaySpan::new(600, 780).unwrap());
    tobit.absences.push(away);
    assert_eq!(clocks(&tobit.on(&site, day("2027-03-09"))), ["09:00-10:00"]);
    // Away until further notice, and then that is taken back.
    tobit
        .absences
        .push(unusual(PERSON, What::Ill, "2027-03-10", None));
    assert!(tobit.on(&site, day("2027-06-10")).is_empty());
    tobit.absences[1].replaced = true;
    assert!(!tobit.on(&site, day("2027-06-10")).is_empty());
}

#[test]
fn nobody_works_on_a_closed_day_and_groups_and_others_are_away_out_of_term() {
    let mut site = site(chrono_tz::Europe::London);
    site.unusual = vec![
        unusual(SITE, What::OutOfTerm, "2027-04-01", Some("2027-04-14")),
        unusual(SITE, What::Closed, "2027-04-05", Some("2027-04-05")),
    ];
    let tobit = somebody(Kind::Person, Vec::new());
    let pupils = somebody(Kind::Group, vec![week(1, "2027-01-01", "10-11", "", false)]);
    let mut room = RoomTimes {
        weeks: vec![UsualWeek {
            owner: ROOM,
            ..week(2, "2027-01-01", "9-12", "", false)
        }],
        exceptions: Vec::new(),
    };
    let count = |on: &str| {
        let on = day(on);
        (
            tobit.on(&site, on).len(),
            pupils.on(&site, on).len(),
            room.on(&site, on).len(),
        )
    };
    assert_eq!(count("2027-03-31"), (1, 1, 1));
    assert_eq!(count("2027-04-02"), (1, 0, 0));
    assert_eq!(count("2027-04-05"), (0, 0, 0));
    assert_eq!(site.on(day("2027-04-05")).unwrap().new.what, What::Closed);
    // A group without hours is not there, and a weekend is free.
    assert!(
        somebody(Kind::Group, Vec::new())
            .on(&site, day("2027-03-31"))
            .is_empty()
    );
    assert!(tobit.on(&site, day("2027-03-27")).is_empty());
    // An open day in the holidays, and a lesson that does not take place.
    let mut open_day = unusual(ROOM, What::Taken, "2027-04-03", Some("2027-04-03"));
    open_day.new.part = Some(DaySpan::new(600, 900).unwrap());
    room.exceptions.push(open_day);
    let mut no_lesson = unusual(ROOM, What::Empty, "2027-03-31", Some("2027-03-31"));
    no_lesson.new.part = Some(DaySpan::new(600, 660).unwrap());
    room.exceptions.push(no_lesson);
    let words = |on: &str| week::hours_words(room.hours_on(&site, day(on)).into_iter());
    assert_eq!(words("2027-04-03"), "10:00-15:00");
    assert_eq!(words("2027-03-31"), "09:00-10:00, 11:00-12:00");
    assert_eq!(words("2027-03-30"), "09:00-12:00");
}

#[test]
fn kit_that_is_out_of_order_is_missing_and_never_more_than_there_is() {
    let mut out = unusual(
        Owner::Kit(KitId::from_row(7)),
        What::OutOfOrder,
        "2027-03-04",
        None,
    );
    out.new.count = Some(1);
    let two = [out.clone(), out];
    let on = |on: &str, count| in_order_on(count, &two, day(on));
    assert_eq!(
        (
            on("2027-03-03", 3),
            on("2027-03-04", 3),
            on("2027-03-04", 1)
        ),
        (3, 1, 0)
    );
}

#[test]
fn days_are_said_in_words() {
    let words =
        |from: &str, to: Option<&str>| DayRange::new(day(from), to.map(day)).unwrap().words();
    assert_eq!(words("2027-03-04", Some("2027-03-04")), "Thu 4 Mar 2027");
    assert_eq!(
        words("2027-03-04", Some("2027-03-05")),
        "Thu 4 Mar to Fri 5 Mar 2027"
    );
    assert_eq!(
        words("2026-12-24", Some("2027-01-02")),
        "Thu 24 Dec 2026 to Sat 2 Jan 2027"
    );
    assert_eq!(words("2027-03-04", None), "from Thu 4 Mar 2027 on");
    assert!(DayRange::new(day("2027-03-04"), Some(day("2027-03-03"))).is_err());
}
