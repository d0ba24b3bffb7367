//! A week by person, to read on a phone and to print.

use askama::Template;
use axum::extract::{Query, State};
use chrono::{Days, NaiveDate};
use serde::Deserialize;

use crate::crew::Who;
use crate::plan::sources::Sources;
use crate::plan::timetable::{Timetable, duties, monday, wall, work_words};
use crate::site::{day_words, short_day};
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    from: String,
}

struct DayView {
    day: String,
    /// Time, system with its address, part.
    lines: Vec<(String, String, String, String)>,
}

struct PersonView {
    name: String,
    days: Vec<DayView>,
}

#[derive(Template)]
#[template(path = "plan/week.html")]
struct WeekPage {
    frame: Frame,
    title: String,
    lead: String,
    people: Vec<PersonView>,
    idle: String,
    earlier: String,
    later: String,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let known = super::known(&app, &who, now).await?;
    let (sources, proposal) = (&known.sources, &known.proposal);
    // An address with another day in it shows this week.
    let day = crate::text::parse_day(&asked.from).unwrap_or_else(|_| who.site.today(now));
    let first = monday(day);
    let last = first.checked_add_days(Days::new(6)).unwrap_or(first);
    let (people, idle) = people(sources, &proposal.timetable, first, last);
    let posted = proposal
        .planned()
        .all(|entry| entry.standing == crate::plan::timetable::Standing::Posted);
    let week = |by: i64| (first + chrono::TimeDelta::days(by)).to_string();
    Ok(Page(WeekPage {
        frame: who.frame(Section::Plan),
        title: format!("{} to {}", short_day(first), short_day(last)),
        lead: if posted {
            "As it is posted.".to_owned()
        } else {
            "Some of it is proposed and not posted yet: it can still change.".to_owned()
        },
        people,
        idle,
        earlier: week(-7),
        later: week(7),
    }))
}

fn people(
    sources: &Sources,
    timetable: &Timetable,
    first: NaiveDate,
    last: NaiveDate,
) -> (Vec<PersonView>, String) {
    let zone = sources.site.zone;
    let (mut people, mut idle) = (Vec::new(), Vec::new());
    for person in sources
        .crew
        .people
        .iter()
        .filter(|person| sources.crew.not_bookable(person.id).is_none())
    {
        let mut days: Vec<(NaiveDate, DayView)> = Vec::new();
        for duty in duties(&timetable.entries, person.id) {
            let (from, to) = (wall(duty.from, zone), wall(duty.to, zone));
            let day = from.date();
            if !(first..=last).contains(&day) {
                continue;
            }
            let Some(entry) = timetable.entry(duty.system) else {
                continue;
            };
            let line = entry
                .lines
                .iter()
                .find(|line| line.work == duty.work && line.from == duty.from);
            let work = line.map_or_else(|| duty.work.to_string(), |line| work_words(entry, line));
            let ends = if to.date() == day {
                "%H:%M"
            } else {
                "%a %H:%M"
            };
            let said = (
                format!("{} to {}", from.format("%H:%M"), to.format(ends)),
                sources.system_name(duty.system),
                super::system_path(entry),
                work,
            );
            match days.last_mut().filter(|(last, _)| *last == day) {
                Some((_, view)) => view.lines.push(said),
                None => days.push((
                    day,
                    DayView {
                        day: day_words(day),
                        lines: vec![said],
                    },
                )),
            }
        }
        if days.is_empty() {
            idle.push(person.name.to_string());
        } else {
            people.push(PersonView {
                name: person.name.to_string(),
                days: days.into_iter().map(|(_, view)| view).collect(),
            });
        }
    }
    (people, crate::plan::facts::timetable_list(&idle))
}
