//! The form of a usual week: a line a day, for one of the crew or for the others in a room.

use askama::Template;
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::{Map, Value};
use sqlx::SqliteConnection;

use super::about::About;
use super::{Owner, Stretch, UsualWeek, Week, in_force, parse_hours, store};
use crate::clock::Moment;
use crate::crew::Who;
use crate::db::WriteTx;
use crate::logbook::{self, Entry};
use crate::site::{Hours, full_day, length_words};
use crate::text::parse_day;
use crate::web::{AppError, Effect, FormErrors, Frame, Meanwhile, Page, Refused, TakesEffects};

/// A week as typed: a line a day, Monday first.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    in_force_from: String,
    hours: Vec<String>,
    overtime: Vec<String>,
    overtime_allowed: String,
    /// The newest week that stood when the form was opened.
    newest: String,
}

/// Says that a day is as the one above it.
const AS_ABOVE: &str = "=";

impl Input {
    fn of(week: &Week, from: NaiveDate, weeks: &[UsualWeek]) -> Self {
        let lines = |overtime| (0..7).map(|day| week.words(day, overtime)).collect();
        Self {
            in_force_from: from.to_string(),
            hours: lines(false),
            overtime: lines(true),
            overtime_allowed: if week.overtime_allowed() { "yes" } else { "" }.to_owned(),
            newest: newest(weeks),
        }
    }

    fn line(&self, day: &usize, overtime: bool) -> &str {
        let lines = if overtime {
            &self.overtime
        } else {
            &self.hours
        };
        lines.get(*day).map_or("", String::as_str)
    }

    fn check(&self, owner: Owner) -> Result<(Week, NaiveDate), FormErrors> {
        let mut errors = FormErrors::default();
        let from = errors.take("in_force_from", parse_day(&self.in_force_from));
        let mut days: [Vec<Stretch>; 7] = Default::default();
        let allowed = self.overtime_allowed == "yes";
        for overtime in [false, true] {
            let mut above = Vec::new();
            for (no, day) in days.iter_mut().enumerate() {
                let typed = self.line(&no, overtime).trim();
                let read = if typed == AS_ABOVE && no > 0 {
                    Ok(above.clone())
                } else {
                    parse_hours(typed)
                };
                let field = if overtime { "overtime" } else { "hours" };
                let named = read.map_err(|why| format!("{}: {why}", Hours::day_name(no)));
                let Some(hours) = errors.take(format!("{field}-{no}"), named) else {
                    continue;
                };
                above.clone_from(&hours);
                day.extend(hours.into_iter().map(|hours| Stretch { hours, overtime }));
            }
        }
        match (Week::new(days, allowed), from) {
            (Ok(week), Some(from)) if !errors.any() => Ok((week, from)),
            (Err((no, why)), _) => {
                if matches!(owner, Owner::Person(_)) {
                    errors.add(
                        format!("overtime-{no}"),
                        format!("{}: {why}", Hours::day_name(no)),
                    );
                } else {
                    errors.add(
                        format!("hours-{no}"),
                        format!("{}: {why}", Hours::day_name(no)),
                    );
                }
                Err(errors)
            }
            _ => Err(errors),
        }
    }
}

fn newest(weeks: &[UsualWeek]) -> String {
    let newest = weeks.iter().map(|week| week.id).max();
    newest.map(|id| id.to_string()).unwrap_or_default()
}

/// An earlier week, for the list under the form.
#[derive(Debug)]
struct Line {
    from: String,
    week: String,
    by: String,
    counts: bool,
}

#[derive(Debug, Template)]
#[template(path = "hours/week.html")]
pub struct WeekPage {
    frame: Frame,
    about: About,
    /// Where the form goes.
    action: String,
    lead: String,
    with_overtime: bool,
    input: Input,
    errors: FormErrors,
    /// What somebody else wrote meanwhile.
    meanwhile: String,
    lines: Vec<Line>,
    /// What the hours would do to the plan; empty until that was asked for.
    effects: Vec<Effect>,
}

/// What a week is told about on its page.
#[derive(Debug)]
pub struct Told {
    pub about: About,
    pub action: String,
    pub lead: String,
    /// What stands in the form while nothing is written.
    pub usual: Week,
}

impl TakesEffects for WeekPage {
    fn with(self, effects: Vec<Effect>) -> Self {
        Self { effects, ..self }
    }
}

impl WeekPage {
    fn new(who: &Who, told: Told, today: NaiveDate, weeks: &[UsualWeek], input: Input) -> Self {
        let counts = in_force(weeks, today).map(|week| week.id);
        Self {
            frame: who.frame(told.about.section),
            with_overtime: matches!(told.about.owner, Owner::Person(_)),
            action: told.action,
            lead: told.lead,
            input,
            errors: FormErrors::default(),
            meanwhile: String::new(),
            lines: weeks
                .iter()
                .map(|week| Line {
                    from: full_day(week.in_force_from),
                    week: in_words(&week.week),
                    by: format!("{}, {}", week.author, who.site.moment_words(week.at)),
                    counts: counts == Some(week.id),
                })
                .collect(),
            effects: Vec::new(),
            about: told.about,
        }
    }

    fn complaint(&self, field: &str, day: &usize) -> &str {
        self.errors.on(&format!("{field}-{day}"))
    }
}

/// 'Monday to Thursday 08:00-12:00; Friday 08:00-12:00': days that are alike are told together.
pub fn in_words(week: &Week) -> String {
    let mut runs: Vec<(usize, usize, String)> = Vec::new();
    for day in 0..7 {
        let mut words = week.words(day, false);
        let overtime = week.words(day, true);
        if !overtime.is_empty() {
            words = format!("{words} and overtime {overtime}")
                .trim_start()
                .to_owned();
        }
        match runs.last_mut() {
            Some((_, last, said)) if *said == words => *last = day,
            _ => runs.push((day, day, words)),
        }
    }
    let told: Vec<String> = runs
        .into_iter()
        .filter(|(_, _, words)| !words.is_empty())
        .map(
            |(first, last, words)| match (Hours::day_name(first), last) {
                (name, last) if last == first => format!("{name} {words}"),
                (name, last) => format!("{name} to {} {words}", Hours::day_name(last)),
            },
        )
        .collect();
    if told.is_empty() {
        "no hours".to_owned()
    } else {
        told.join("; ")
    }
}

/// The form with the week that counts today.
pub async fn open(
    conn: &mut SqliteConnection,
    who: &Who,
    told: Told,
    today: NaiveDate,
) -> Result<Page<WeekPage>, AppError> {
    let weeks = store::weeks(conn, Some(told.about.owner)).await?;
    let stands = in_force(&weeks, today).or_else(|| weeks.last());
    let input = Input::of(stands.map_or(&told.usual, |week| &week.week), today, &weeks);
    Ok(Page(WeekPage::new(who, told, today, &weeks, input)))
}

/// The form as it was sent with the week that it says and the day it counts from, to see what they would do; or
/// what it is answered with instead.
pub async fn looked(
    conn: &mut SqliteConnection,
    who: &Who,
    told: Told,
    mut input: Input,
    now: Moment,
) -> Result<Result<(WeekPage, (Week, NaiveDate)), Response>, AppError> {
    let today = who.site.today(now);
    let weeks = store::weeks(conn, Some(told.about.owner)).await?;
    let checked = input.check(told.about.owner);
    let stale = input.newest != newest(&weeks);
    if checked.is_ok() && stale {
        input.newest = newest(&weeks);
    }
    let page = WeekPage::new(who, told, today, &weeks, input);
    Ok(match checked {
        Err(errors) => Err(Refused(WeekPage { errors, ..page }).into_response()),
        Ok(_) if stale => {
            let newest = weeks.iter().max_by_key(|week| week.id);
            let words = newest.map(|week| {
                format!(
                    "from {}: {}",
                    full_day(week.in_force_from),
                    in_words(&week.week)
                )
            });
            let meanwhile = words.unwrap_or_default();
            Err(Meanwhile(WeekPage { meanwhile, ..page }).into_response())
        }
        Ok(checked) => Ok((page, checked)),
    })
}

/// Writes the week that was typed.
pub async fn save(
    mut tx: WriteTx,
    who: &Who,
    told: Told,
    input: Input,
    now: Moment,
) -> Result<Response, AppError> {
    let about = told.about.clone();
    let (week, from) = match looked(tx.conn(), who, told, input, now).await? {
        Ok((_, checked)) => checked,
        Err(answer) => return Ok(answer),
    };
    store::insert_week(&mut tx, about.owner, &week, from, who.id, now).await?;
    let mut detail = Map::new();
    detail.insert("from".to_owned(), Value::from(full_day(from)));
    detail.insert("hours".to_owned(), Value::from(in_words(&week)));
    detail.insert(
        "a week".to_owned(),
        Value::from(length_words(week.usual_minutes())),
    );
    if matches!(about.owner, Owner::Person(_)) {
        let allowed = if week.overtime_allowed() { "yes" } else { "no" };
        detail.insert("overtime allowed".to_owned(), Value::from(allowed));
    }
    let entry = Entry::about(about.kind, about.id, about.subject, "hours written")
        .with(Value::Object(detail));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(about.back, now).await?.into_response())
}
