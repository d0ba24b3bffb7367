//! The crew's hours: one person's page, their week, when they are away, and who is here when.

use askama::Template;
use axum::extract::{Path, Query, State};
use chrono::{Datelike, Days, NaiveDate};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::about::About;
use super::days_pages::DaysList;
use super::load::Times;
use super::owned_pages::{HasDays, HasWeek};
use super::week_pages::{Told, in_words};
use super::{Owner, PersonTimes, Shift, SiteDays, Week, in_force};
use crate::crew::people_pages::{PersonPage, found, here};
use crate::crew::{Kind, Person, Role, Who, store as crew_store};
use crate::ids::PersonId;
use crate::site::{Hours, full_day, length_words, short_day};
use crate::state::App;
use crate::text::parse_day;
use crate::web::{AppError, Frame, Page, Section};

fn about(person: &Person) -> About {
    let page = format!("/crew/{}", person.id);
    About {
        owner: Owner::Person(person.id),
        section: Section::Crew,
        kind: "person",
        id: person.id.get(),
        subject: person.name.to_string(),
        crumbs: vec![
            ("/crew".to_owned(), "Crew".to_owned()),
            (page.clone(), person.name.to_string()),
        ],
        days: format!("{page}/away"),
        back: page,
    }
}

/// The part of a person's page that tells their hours.
#[derive(Template)]
#[template(path = "hours/person.html")]
struct HoursPart {
    person: Person,
    /// 'from 8 March 2027: Monday to Friday 08:00-12:00', or whose hours they are.
    week: String,
    a_week: String,
    overtime: &'static str,
    coming: Vec<String>,
    away: DaysList,
    may_write: bool,
    may_add: bool,
}

pub async fn person(
    State(app): State<App>,
    who: Who,
    Path(id): Path<PersonId>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let today = who.site.today(now);
    let mut conn = app.db.read().await?;
    let person = found(crew_store::by_id(&mut conn, id).await?)?;
    let part = HoursPart::load(&mut conn, &who, person.clone(), today).await?;
    let part = part.render().map_err(anyhow::Error::from)?;
    Ok(Page(
        PersonPage::load(&mut conn, &who, person, now, part).await?,
    ))
}

impl HoursPart {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        person: Person,
        today: NaiveDate,
    ) -> Result<Self, AppError> {
        let times = PersonTimes::load(conn, &person).await?;
        let site = SiteDays::new(&who.site, Vec::new());
        let week = times.week_on(&site, today);
        let words = match (in_force(&times.weeks, today), person.kind) {
            (Some(own), _) => format!(
                "From {}: {}.",
                full_day(own.in_force_from),
                in_words(&own.week)
            ),
            (None, Kind::Person) => {
                format!("The site's hours, none of their own: {}.", in_words(&week))
            }
            (None, Kind::Group) => "None are written, so the group is not planned with.".to_owned(),
        };
        let coming = times
            .weeks
            .iter()
            .rev()
            .filter(|week| week.in_force_from > today);
        let coming = coming
            .map(|week| {
                format!(
                    "From {}: {}.",
                    full_day(week.in_force_from),
                    in_words(&week.week)
                )
            })
            .collect();
        let (may_write, may_add) = (
            who.is_at_least(Role::Coordinator),
            who.is_at_least(Role::Lead),
        );
        let openly = may_add || who.id == person.id;
        Ok(Self {
            week: words,
            a_week: length_words(week.usual_minutes()),
            overtime: match (week.overtime_allowed(), person.kind) {
                (_, Kind::Group) => "",
                (true, _) => "Overtime may be planned with.",
                (false, _) => "Overtime is not planned with.",
            },
            coming,
            away: DaysList::of(
                &times.absences,
                who,
                today,
                &about(&person),
                may_add && !person.ended,
                openly,
            ),
            may_write: may_write && !person.ended,
            may_add: may_add && !person.ended,
            person,
        })
    }
}

fn told(person: &Person, site: Hours) -> Told {
    let (lead, usual) = match person.kind {
        Kind::Person => (
            "When they can be planned with. Until hours are written here, those of the site count.",
            Week::of_site(site),
        ),
        Kind::Group => (
            "When the group is there. Without hours it is not planned with, and out of term it is away.",
            Week::default(),
        ),
    };
    Told {
        action: format!("/crew/{}/hours", person.id),
        about: about(person),
        lead: lead.to_owned(),
        usual,
    }
}

impl HasDays for Person {
    type Id = PersonId;

    async fn with_days(
        conn: &mut SqliteConnection,
        id: PersonId,
    ) -> Result<(About, Option<i64>), AppError> {
        let person = here(crew_store::by_id(conn, id).await?)?;
        Ok((about(&person), None))
    }
}

impl HasWeek for Person {
    async fn with_week(
        conn: &mut SqliteConnection,
        id: PersonId,
        who: &Who,
    ) -> Result<Told, AppError> {
        let person = here(crew_store::by_id(conn, id).await?)?;
        Ok(told(&person, who.site.hours))
    }
}

/// A day at the head of the week.
struct Head {
    name: &'static str,
    day: String,
    today: bool,
    /// What the site says of it: 'closed, Easter Monday'.
    site: String,
}

/// One of the crew in the week.
struct Line {
    person: Person,
    days: Vec<Cell>,
    /// All usual hours of this week together.
    total: String,
}

struct Cell {
    /// The name of its day, for a phone.
    day: String,
    hours: Vec<String>,
    overtime: Vec<String>,
    /// 'away', 'closed', where there are no hours or fewer.
    why: &'static str,
}

#[derive(Template)]
#[template(path = "hours/here.html")]
struct HerePage {
    frame: Frame,
    title: String,
    before: String,
    after: String,
    heads: Vec<Head>,
    lines: Vec<Line>,
    zone: &'static str,
    /// Where the clocks are changed in this week.
    clocks: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    from: String,
}

pub async fn here_when(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let day = parse_day(&asked.from).unwrap_or(today);
    let monday = day - Days::new(u64::from(day.weekday().num_days_from_monday()));
    let days: Vec<NaiveDate> = monday.iter_days().take(7).collect();
    let mut conn = app.db.read().await?;
    let times = Times::load(&mut conn, &who.site).await?;
    let crew = crew_store::all(&mut conn).await?;
    let lines = crew
        .into_iter()
        .filter_map(|person| {
            times
                .person(person.id)
                .map(|own| line(&person, own, &times.site, &days))
        })
        .collect();
    let heads = (0..7).zip(&days).map(|(no, day)| Head {
        name: Hours::day_name(no),
        day: day.format("%-d %b").to_string(),
        today: *day == today,
        site: times
            .site
            .on(*day)
            .map(|days| format!("{}, {}", days.new.what, days.new.name))
            .unwrap_or_default(),
    });
    Ok(Page(HerePage {
        frame: who.frame(Section::Crew),
        title: format!("Week of {}", full_day(monday)),
        before: (monday - Days::new(7)).to_string(),
        after: (monday + Days::new(7)).to_string(),
        heads: heads.collect(),
        lines,
        zone: who.site.zone.name(),
        clocks: clocks(&days, who.site.zone),
    }))
}

fn line(person: &Person, times: &PersonTimes, site: &SiteDays, days: &[NaiveDate]) -> Line {
    let mut usual = 0;
    let cells = days.iter().map(|day| {
        let shifts = times.on(site, *day);
        usual += shifts
            .iter()
            .filter(|shift| !shift.overtime)
            .map(|shift| shift.span.minutes())
            .sum::<i64>();
        let words = |overtime| {
            let of_kind = shifts
                .iter()
                .filter(|shift: &&Shift| shift.overtime == overtime);
            of_kind.map(|shift| shift.hours.to_string()).collect()
        };
        Cell {
            day: short_day(*day),
            hours: words(false),
            overtime: words(true),
            why: why(times, site, *day),
        }
    });
    let days = cells.collect();
    Line {
        person: person.clone(),
        days,
        total: length_words(usual),
    }
}

/// Why there are no hours, or fewer. Why somebody is away stands on their own page.
fn why(times: &PersonTimes, site: &SiteDays, day: NaiveDate) -> &'static str {
    if site.is_closed(day) {
        "closed"
    } else if times.kind == Kind::Group && site.is_out_of_term(day) {
        "out of term"
    } else if let Some(away) = times.away_on(day).next() {
        match away.new.part {
            Some(_) => "away for a part",
            None => "away",
        }
    } else {
        ""
    }
}

/// 'The clocks are put forward on Sun 28 Mar: that day has 23 h.'
fn clocks(days: &[NaiveDate], zone: chrono_tz::Tz) -> Option<String> {
    let length = |day: NaiveDate| {
        super::DaySpan::WHOLE_DAY
            .on(day, zone)
            .map_or(0, super::Span::minutes)
    };
    let day = days.iter().find(|day| length(**day) != 1440)?;
    let way = if length(*day) < 1440 {
        "forward"
    } else {
        "back"
    };
    Some(format!(
        "The clocks are put {way} on {}: that day has {}.",
        short_day(*day),
        length_words(length(*day))
    ))
}
