//! Who has how much work, and how much room: a week at a time, with the weeks that are planned beside it.

use askama::Template;
use axum::extract::{Query, State};
use chrono::NaiveDate;
use serde::Deserialize;

use crate::crew::{Kind, Person, Who};
use crate::drawings::hours_bar::HoursBar;
use crate::plan::sources::Sources;
use crate::plan::timetable::{Standing, monday, wall};
use crate::plan::workload::{self, DayLoad, PersonLoad, Piece, Sum};
use crate::site::{day_words, length_words, short_day};
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    from: String,
}

/// One of the crew in the week.
struct LoadView {
    href: String,
    name: String,
    /// '12 people', 'is not booked: helps under somebody who signs'.
    note: String,
    bar: HoursBar,
    there: String,
    stands: String,
    posted: String,
    proposed: String,
    concentrate: String,
    left: String,
    overtime: String,
    over: String,
}

/// One of the crew over all weeks: a cell for each, and whether it holds a day that is too full.
struct RowView {
    href: String,
    name: String,
    weeks: Vec<(String, String, bool)>,
}

/// A part that fills a day.
struct PartView {
    time: String,
    href: String,
    what: String,
    standing: &'static str,
}

struct FullView {
    title: String,
    words: String,
    parts: Vec<PartView>,
}

#[derive(Template)]
#[template(path = "plan/workload.html")]
struct WorkloadPage {
    frame: Frame,
    title: String,
    lead: String,
    room: String,
    people: Vec<LoadView>,
    full: Vec<FullView>,
    clashes: Vec<FullView>,
    heads: Vec<(String, String, bool)>,
    rows: Vec<RowView>,
    /// Whether the week is the one that has begun, so that only the rest of it counts.
    begun: bool,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let known = super::known(&app, &who, now).await?;
    let (sources, timetable) = (&known.sources, &known.proposal.timetable);
    let today = who.site.today(sources.now);
    let mondays = workload::mondays(today);
    // An address with a day beyond the plan shows the week that has begun.
    let day = crate::text::parse_day(&asked.from).unwrap_or(today);
    let first = mondays
        .iter()
        .copied()
        .find(|first| *first == monday(day))
        .unwrap_or(monday(today));
    let loads = workload::of(sources, timetable);
    let sums: Vec<Sum> = loads.iter().map(|load| Sum::of(load.week(first))).collect();
    let longest = sums
        .iter()
        .map(|sum| sum.usual.max(sum.given.all()))
        .max()
        .unwrap_or(0);
    let (full, clashes) = (full(sources, &loads), clashes(sources, &loads));
    Ok(Page(WorkloadPage {
        frame: who.frame(Section::Crew),
        title: format!(
            "{} to {}",
            short_day(first),
            short_day(
                first
                    .checked_add_days(chrono::Days::new(6))
                    .unwrap_or(first)
            )
        ),
        lead: too_much_words(&loads, &sums),
        room: room_words(&loads, &sums),
        people: loads
            .iter()
            .zip(&sums)
            .map(|(load, sum)| of_person(load, sum, longest))
            .collect(),
        full,
        clashes,
        heads: mondays
            .iter()
            .map(|first_of| {
                (
                    first_of.to_string(),
                    first_of.format("%-d %b").to_string(),
                    *first_of == first,
                )
            })
            .collect(),
        rows: loads.iter().map(|load| row(load, &mondays)).collect(),
        begun: first <= today,
    }))
}

/// 'none' reads better than nothing in a column.
fn minutes(minutes: i64) -> String {
    match minutes {
        0 => "none".to_owned(),
        some => length_words(some),
    }
}

fn of_person(load: &PersonLoad, sum: &Sum, longest: i64) -> LoadView {
    let name = load.person.name.to_string();
    let given = sum.given;
    let over = match sum.over {
        0 => String::new(),
        over => format!("{} too much", length_words(over)),
    };
    let mut says = format!(
        "{name}: {} of work in {}",
        length_words(given.all()),
        length_words(sum.usual)
    );
    for (minutes, how) in [
        (given.stands, "stands"),
        (given.posted, "posted"),
        (given.proposed, "proposed"),
    ] {
        if minutes > 0 {
            says.push_str(&format!(", {} {how}", length_words(minutes)));
        }
    }
    if sum.over > 0 {
        says.push_str(&format!(", {over}"));
    }
    LoadView {
        href: format!("/crew/{}", load.person.id),
        note: note(load),
        bar: HoursBar {
            says,
            there: sum.usual,
            stands: given.stands,
            posted: given.posted,
            proposed: given.proposed,
            over: sum.over,
            longest,
        },
        there: there_words(&load.person, sum.usual),
        stands: minutes(given.stands),
        posted: minutes(given.posted),
        proposed: minutes(given.proposed),
        concentrate: minutes(given.concentrate),
        left: minutes(sum.left),
        overtime: match sum.in_overtime {
            0 => String::new(),
            minutes => format!("{} of it in overtime", length_words(minutes)),
        },
        over,
        name,
    }
}

/// A group's hours, and what they are for all its people together.
fn there_words(person: &Person, usual: i64) -> String {
    match person.kind {
        Kind::Group if usual > 0 => format!(
            "{}; for {} people {}",
            length_words(usual),
            person.head_count,
            length_words(usual * person.head_count)
        ),
        _ => minutes(usual),
    }
}

fn note(load: &PersonLoad) -> String {
    match (load.person.kind, load.person.ended, load.bookable) {
        (_, true, _) => "has left the crew".to_owned(),
        (Kind::Group, ..) => format!(
            "{} people; a group helps, and the plan gives it nothing",
            load.person.head_count
        ),
        (Kind::Person, false, false) => "is not planned with: helps".to_owned(),
        (Kind::Person, false, true) => String::new(),
    }
}

fn row(load: &PersonLoad, mondays: &[NaiveDate]) -> RowView {
    let weeks = mondays.iter().map(|first| {
        let sum = Sum::of(load.week(*first));
        let words = format!("{} of {}", minutes(sum.given.all()), minutes(sum.usual));
        let words = match (sum.given.all(), sum.usual) {
            (0, 0) => "not there".to_owned(),
            (0, usual) => format!("none of {}", length_words(usual)),
            (given, 0) => format!("{}, and not there", length_words(given)),
            _ => words,
        };
        (first.format("%-d %b").to_string(), words, sum.over > 0)
    });
    RowView {
        href: format!("/crew/{}", load.person.id),
        name: load.person.name.to_string(),
        weeks: weeks.collect(),
    }
}

/// The answer first: who has too much this week.
fn too_much_words(loads: &[PersonLoad], sums: &[Sum]) -> String {
    let over: Vec<String> = loads
        .iter()
        .zip(sums)
        .filter(|(_, sum)| sum.over > 0)
        .map(|(load, sum)| format!("{} ({})", load.person.name, length_words(sum.over)))
        .collect();
    match over.is_empty() {
        true => "Nobody has more work than hours in this week.".to_owned(),
        false => format!("More work than hours: {}.", over.join(", ")),
    }
}

/// Who has room, the most first.
fn room_words(loads: &[PersonLoad], sums: &[Sum]) -> String {
    let mut room: Vec<(&PersonLoad, i64)> = loads
        .iter()
        .zip(sums)
        .filter(|(load, sum)| load.bookable && sum.left > 0)
        .map(|(load, sum)| (load, sum.left))
        .collect();
    room.sort_by_key(|(load, left)| (-left, load.person.name.to_string()));
    let words: Vec<String> = room
        .iter()
        .map(|(load, left)| format!("{} ({})", load.person.name, length_words(*left)))
        .collect();
    match words.is_empty() {
        true => "Nobody has hours left.".to_owned(),
        false => format!("Hours left: {}.", words.join(", ")),
    }
}

/// Every day with more work than hours, in order.
fn full(sources: &Sources, loads: &[PersonLoad]) -> Vec<FullView> {
    in_order(loads, |load, day| {
        (day.over() > 0).then(|| FullView {
            title: format!("{}, {}", day_words(day.day), load.person.name),
            words: format!(
                "{} of work, {}: {} too much.",
                length_words(day.given.all()),
                match day.usual + day.overtime {
                    0 => "and no hours".to_owned(),
                    there => format!("in {}", length_words(there)),
                },
                length_words(day.over())
            ),
            parts: day
                .pieces
                .iter()
                .map(|piece| part(sources, piece))
                .collect(),
        })
    })
}

/// Every day on which somebody is to be at two clean-outs at once.
fn clashes(sources: &Sources, loads: &[PersonLoad]) -> Vec<FullView> {
    in_order(loads, |load, day| {
        let clashes = day.clashes();
        let mut parts: Vec<Piece> = Vec::new();
        for piece in clashes.iter().flat_map(|(one, other)| [one, other]) {
            if !parts.contains(piece) {
                parts.push(*piece);
            }
        }
        parts.sort_by_key(|piece| (piece.span, piece.system));
        (!clashes.is_empty()).then(|| FullView {
            title: format!("{}, {}", day_words(day.day), load.person.name),
            words: "These lie over each other; the time counts once.".to_owned(),
            parts: parts.iter().map(|piece| part(sources, piece)).collect(),
        })
    })
}

fn in_order(
    loads: &[PersonLoad],
    view: impl Fn(&PersonLoad, &DayLoad) -> Option<FullView>,
) -> Vec<FullView> {
    let mut found: Vec<(NaiveDate, FullView)> = loads
        .iter()
        .flat_map(|load| load.days.iter().map(move |day| (load, day)))
        .filter_map(|(load, day)| Some((day.day, view(load, day)?)))
        .collect();
    found.sort_by_key(|(day, _)| *day);
    found.into_iter().map(|(_, view)| view).collect()
}

fn part(sources: &Sources, piece: &Piece) -> PartView {
    let zone = sources.site.zone;
    let (from, to) = (wall(piece.span.from, zone), wall(piece.span.to, zone));
    PartView {
        time: format!("{} to {}", from.format("%H:%M"), to.format("%H:%M")),
        href: match piece.cleanout {
            Some(id) => crate::cleanouts::path(id),
            None => crate::register::systems::path(piece.system),
        },
        what: format!("{}, {}", sources.system_name(piece.system), piece.work),
        standing: match piece.standing {
            Standing::Fixed => "stands",
            Standing::Posted => "posted",
            Standing::Proposed => "proposed",
        },
    }
}
