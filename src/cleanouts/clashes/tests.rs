//! Bookings on a Tuesday of March 2027 in London, where clocks show UTC.

use super::*;
use crate::cleanouts::airing::Closed;
use crate::cleanouts::{MediaWas, State, TargetSource, Water};
use crate::clock::Moment;
use crate::crew::Kind;
use crate::hours::{
    DayRange, DaySpan, NewDays, Owner, Source, Stretch, UnusualDays, UsualWeek, Week,
};
use crate::ids::{
    CleanoutId, MethodVersionId, RoomId, SiteId, SystemId, UnusualDaysId, UsualWeekId,
};
use crate::methods::builtin;
use crate::science::stored::{Minutes, TenthsCelsius};
use crate::science::strength::{Basis, Strength};
use crate::science::units::Units;
use crate::site::Hours;
use crate::site::sources::Chosen;

const INES: i64 = 1;
const ODA: i64 = 2;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn tuesday() -> NaiveDate {
    day("2027-03-09")
}

fn name(text: &str) -> Name {
    Name::parse(text).unwrap()
}

fn site() -> Site {
    Site {
        id: SiteId::from_row(1),
        name: name("Orrelby"),
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

fn site_days(unusual: Vec<UnusualDays>) -> SiteDays {
    SiteDays::new(&site(), unusual)
}

/// Booked to one person at this time of the Tuesday: strip and wash takes 90 minutes, the dose 40.
fn cleanout(id: i64, person: i64, starts_min: i64) -> Cleanout {
    Cleanout {
        id: CleanoutId::from_row(id),
        number: format!("27-{id:04}"),
        system_id: SystemId::from_row(id),
        system_name: name(&format!("North {id}")),
        room_name: name("North bay"),
        planting_id: None,
        method_version_id: MethodVersionId::from_row(1),
        state: State::Booked,
        starts_on: tuesday(),
        starts_min,
        length: Minutes::new(480).unwrap(),
        person_id: Some(PersonId::from_row(person)),
        person_name: None,
        pours_id: Some(PersonId::from_row(person)),
        pours_name: None,
        others: String::new(),
        lot_id: None,
        jug_id: None,
        target: Strength::new(3.0, Basis::PercentWv).unwrap(),
        target_source: TargetSource::None,
        target_reference: String::new(),
        temperature: TenthsCelsius::new(200).unwrap(),
        water: Water::ReverseOsmosis,
        water_on_hand: None,
        media_was: MediaWas::Wet,
        called_off_reason: None,
        version: 1,
    }
}

fn lying(cleanout: &Cleanout) -> Lying<'_> {
    Lying {
        cleanout,
        room: RoomId::from_row(1),
        lines: parts::booked(cleanout, &builtin::contents().unwrap(), 2, &site()),
        closed: Closed::USUAL.from_the_last_pour(),
    }
}

fn unusual(owner: Owner, what: What, part: Option<(i64, i64)>, called: &str) -> UnusualDays {
    UnusualDays {
        id: UnusualDaysId::from_row(1),
        owner,
        new: NewDays {
            what,
            name: called.to_owned(),
            days: DayRange::new(tuesday(), Some(tuesday())).unwrap(),
            part: part.map(|(from, to)| DaySpan::new(from, to).unwrap()),
            count: None,
            source: Source::Typed,
        },
        author_id: PersonId::from_row(INES),
        author: name("Ines V."),
        at: at("08:00"),
        corrects: None,
        replaced: false,
        taken_back: false,
    }
}

fn at(clock: &str) -> Moment {
    format!("2027-03-09T{clock}:00Z").parse().unwrap()
}

/// Hours of every day; the second list is overtime.
fn week(usual: &[(i64, i64)], overtime: &[(i64, i64)]) -> UsualWeek {
    let stretch = |(from, to): &(i64, i64), overtime: bool| Stretch {
        hours: DaySpan::new(*from, *to).unwrap(),
        overtime,
    };
    let of_day: Vec<Stretch> = usual
        .iter()
        .map(|hours| stretch(hours, false))
        .chain(overtime.iter().map(|hours| stretch(hours, true)))
        .collect();
    UsualWeek {
        id: UsualWeekId::from_row(1),
        owner: Owner::Person(PersonId::from_row(INES)),
        in_force_from: day("2027-01-01"),
        week: Week::new(std::array::from_fn(|_| of_day.clone()), true).unwrap(),
        author: name("Ines V."),
        at: at("08:00"),
    }
}

fn person(weeks: Vec<UsualWeek>, absences: Vec<UnusualDays>) -> PersonTimes {
    PersonTimes {
        kind: Kind::Person,
        weeks,
        absences,
    }
}

/// What is against Ines, and what is only said.
fn outside(
    starts_min: i64,
    hours: &PersonTimes,
    closed: Vec<UnusualDays>,
) -> (Vec<String>, Vec<String>) {
    let booked = cleanout(1, INES, starts_min);
    let this = lying(&booked);
    let ines = name("Ines V.");
    let needed = Needed {
        id: PersonId::from_row(INES),
        name: &ines,
        lines: &this.lines,
    };
    let mut said = Vec::new();
    let against = needed.outside(hours, &site_days(closed), &site(), &mut said);
    (against, said)
}

fn in_room(this: &Lying, others: &[Lying], room: &RoomTimes) -> Clashes {
    let mut clashes = Clashes::default();
    of_room(
        this,
        others,
        (room, &site_days(Vec::new())),
        &site(),
        &mut clashes,
    );
    clashes
}

#[test]
fn the_site_s_own_hours_hold_a_booking_that_stops_for_the_night() {
    let none = person(Vec::new(), Vec::new());
    assert_eq!(outside(510, &none, Vec::new()), (Vec::new(), Vec::new()));
    // Begun at 16:00: an hour of strip and wash today, the rest tomorrow.
    let late = cleanout(1, INES, 960);
    let strip = &lying(&late).lines[0];
    let days = strip.by_day(&site());
    assert_eq!(days.len(), 2);
    assert_eq!(days[0].1, Span::new(at("16:00"), at("17:00")).unwrap());
    assert_eq!(days[1].0, day("2027-03-10"));
    assert_eq!(days[1].1.minutes(), 30);
    assert_eq!(outside(960, &none, Vec::new()), (Vec::new(), Vec::new()));
}

#[test]
fn a_part_that_runs_through_the_night_is_not_worked_in_the_site_s_hours_only() {
    // Begun after hours, so that it does not stop: strip and wash is from 23:30 to 01:00.
    let night = cleanout(1, INES, 23 * 60 + 30);
    let days = lying(&night).lines[0].by_day(&site());
    let minutes: Vec<i64> = days.iter().map(|(_, span)| span.minutes()).collect();
    assert_eq!(minutes, [30, 60]);
    let (against, _) = outside(23 * 60 + 30, &person(Vec::new(), Vec::new()), Vec::new());
    assert_eq!(
        against[0],
        "Ines V. is needed on Tuesday 9 March, 23:30 to 00:00, and works 08:00-17:00 that day."
    );
}

#[test]
fn whoever_works_other_hours_is_not_booked_outside_them_and_a_meal_is_moved() {
    let mornings = person(vec![week(&[(480, 720)], &[])], Vec::new());
    let (against, _) = outside(510, &mornings, Vec::new());
    // The soak needs nobody; rinse, teardown and refit are after noon. Two rinses share 85 minutes, in whole ones.
    assert_eq!(
        against,
        ["Ines V. is needed on Tuesday 9 March, 13:50 to 16:29, and works 08:00-12:00 that day."]
    );
    let with_a_meal = person(vec![week(&[(480, 600), (660, 1020)], &[])], Vec::new());
    assert_eq!(outside(510, &with_a_meal, Vec::new()).0, [""; 0]);
    let split = person(vec![week(&[(480, 600), (700, 1020)], &[])], Vec::new());
    assert_eq!(outside(510, &split, Vec::new()).0.len(), 1);
}

#[test]
fn overtime_is_said_and_an_absence_is_against_it() {
    let overtime = person(vec![week(&[(480, 900)], &[(900, 1020)])], Vec::new());
    assert_eq!(
        outside(510, &overtime, Vec::new()),
        (
            Vec::new(),
            vec!["Ines V. works overtime on Tuesday 9 March, 15:00-17:00.".to_owned()]
        )
    );
    let owner = Owner::Person(PersonId::from_row(INES));
    let away = |part| person(Vec::new(), vec![unusual(owner, What::Leave, part, "")]);
    assert_eq!(
        outside(510, &away(None), Vec::new()).0,
        ["Ines V. is away on Tuesday 9 March."]
    );
    assert_eq!(
        outside(510, &away(Some((900, 1020))), Vec::new()).0,
        ["Ines V. is away on Tuesday 9 March, 15:00-17:00."]
    );
    // Away while it soaks, and back before the rinse.
    assert_eq!(outside(510, &away(Some((660, 780))), Vec::new()).0, [""; 0]);
    let closed = unusual(
        Owner::Site(SiteId::from_row(1)),
        What::Closed,
        None,
        "Stocktaking",
    );
    let none = person(Vec::new(), Vec::new());
    assert!(outside(510, &none, vec![closed]).0[0].ends_with("and the site is closed that day."));
}

#[test]
fn nobody_is_at_two_clean_outs_but_while_one_of_them_soaks() {
    let (one, soon, later) = (
        cleanout(1, INES, 510),
        cleanout(2, INES, 540),
        cleanout(3, INES, 640),
    );
    let ines = name("Ines V.");
    let first = lying(&one);
    let needed = Needed {
        id: PersonId::from_row(INES),
        name: &ines,
        lines: &first.lines,
    };
    assert_eq!(
        needed.elsewhere(&lying(&soon), &site()).unwrap(),
        "Ines V. is booked for 27-0002, North 2 on Tuesday 9 March, 09:00 to 10:30."
    );
    // Strip, wash and dose of the second, from 10:40 to 12:50, are within the soak of the first, from
    // 10:40 to 13:50; its rinse at 16:00 meets the refit of the first.
    let met = needed.elsewhere(&lying(&later), &site()).unwrap();
    assert!(met.contains("16:00 to"), "{met}");
    let somebody_else = cleanout(4, ODA, 510);
    assert_eq!(needed.elsewhere(&lying(&somebody_else), &site()), None);
}

#[test]
fn others_in_the_room_are_against_a_dosing_and_said_of_the_rest_of_the_day() {
    let booked = cleanout(1, INES, 510);
    let this = lying(&booked);
    let taken = |from, to| RoomTimes {
        weeks: Vec::new(),
        exceptions: vec![unusual(
            Owner::Room(RoomId::from_row(1)),
            What::Taken,
            Some((from, to)),
            "Open morning",
        )],
    };
    // Dosed from 10:00 to 10:40, closed until 11:10.
    let met = in_room(&this, &[], &taken(670 - 1, 720));
    assert_eq!(met.against[0].field, "starts_at");
    assert_eq!(
        met.against[0].what,
        "Others are in North bay on Tuesday 9 March, 11:09-12:00 (Open morning): no concentrate is poured while they are there, and they come in again only when it is aired out. Dosed and closed it is 10:00 to 11:10 on Tuesday 9 March."
    );
    for (from, to) in [(540, 600), (670, 720)] {
        let beside = in_room(&this, &[], &taken(from, to));
        assert_eq!(beside.against, []);
        assert_eq!(beside.said.len(), 1, "{from} to {to}");
    }
}

#[test]
fn a_room_has_one_dosing_at_a_time_and_nobody_else_at_work_in_it() {
    let (one, beside, after) = (
        cleanout(1, INES, 510),
        cleanout(2, ODA, 540),
        cleanout(3, ODA, 660),
    );
    let this = lying(&one);
    let room = RoomTimes::default();
    let both = in_room(&this, &[lying(&beside)], &room);
    assert_eq!(
        both.words(),
        [
            "27-0002, North 2 is dosed in North bay on Tuesday 9 March and keeps it closed, 10:30 to 11:40: one dosing at a time in a room."
        ]
    );
    // Stripped from 11:00, ten minutes before the first one's room is open again; and dosed at 12:30,
    // while the first one soaks.
    let at_work = in_room(&this, &[lying(&after)], &room);
    assert_eq!(
        at_work.words(),
        [
            "27-0003, North 3 is worked at in North bay on Tuesday 9 March, 11:00 to 12:30, while this one is dosed and the room is closed, 10:00 to 11:10."
        ]
    );
    // Seen from the other one it is the same.
    let seen = in_room(&lying(&after), &[lying(&one)], &room);
    assert_eq!(seen.against.len(), 1);
    assert!(seen.words()[0].ends_with("while this one is worked at."));
    // In another room it is nobody's business.
    let elsewhere = Lying {
        room: RoomId::from_row(2),
        ..lying(&after)
    };
    assert_eq!(in_room(&this, &[elsewhere], &room), Clashes::default());
}

#[test]
fn a_room_that_solution_stands_open_in_stays_closed_through_the_soak_and_the_first_rinse() {
    let (one, after) = (cleanout(1, INES, 510), cleanout(3, ODA, 670));
    let through = |cleanout| Lying {
        closed: Closed::USUAL,
        ..lying(cleanout)
    };
    // Stripped from 11:10, when the pours have aired, while the first one soaks until 13:50.
    let room = RoomTimes::default();
    assert_eq!(
        in_room(&lying(&one), &[lying(&after)], &room).words(),
        Vec::<String>::new()
    );
    let meets = in_room(&through(&one), &[lying(&after)], &room);
    assert_eq!(
        meets.words(),
        [
            "27-0003, North 3 is dosed in North bay on Tuesday 9 March and keeps it closed, 12:40 to 13:50: one dosing at a time in a room."
        ]
    );
    // Closed until half an hour after its first rinse.
    let lines = through(&one).lines;
    let rinse = lines.iter().find(|line| line.work == Work::Rinse).unwrap();
    let closed = parts::closed(&lines, Closed::USUAL).unwrap();
    assert_eq!(closed.to.since(rinse.to), TimeDelta::minutes(30));
}

#[test]
fn what_was_decided_is_no_obstacle_and_stands_on_the_dose_sheet() {
    let booked = cleanout(1, INES, 510);
    let clash = |what: &str| Clash {
        field: "person",
        what: what.to_owned(),
    };
    let clashes = Clashes {
        against: vec![clash("Ines V. is away."), clash("Others are in it.")],
        said: Vec::new(),
    };
    assert_eq!(clashes.obstacles(&booked, None).len(), 2);
    let decided = Decided {
        despite: Despite {
            against: vec!["Ines V. is away.".to_owned(), "Long mended.".to_owned()],
            why: Note::parse("She comes in for it.").unwrap(),
        },
        by: name("Oda R."),
    };
    let open = clashes.obstacles(&booked, Some(&decided));
    assert_eq!(open.len(), 1);
    assert_eq!(open[0].what, "Others are in it.");
    assert_eq!(
        clashes.warnings(Some(&decided)),
        ["Ines V. is away. Oda R. booked it all the same: She comes in for it."]
    );
}
