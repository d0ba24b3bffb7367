//! The first page.

use askama::Template;
use axum::extract::State;
use chrono::{Datelike, NaiveDate};
use sqlx::SqliteConnection;

use super::{
    AHEAD_DAYS, Act, Lacking, Obstacle, Task, act, closed_room, is_near, obstacles, tasks,
};
use crate::cleanouts::rules::Rules;
use crate::cleanouts::{Cleanout, aired, given};
use crate::clock::Moment;
use crate::crew::Who;
use crate::drawings::tide::{Days, Form, Line, Row};
use crate::drawings::topmarks::Topmarks;
use crate::plan::enough;
use crate::plan::for_you::{self, ForYou};
use crate::site::{Site, day_words};
use crate::state::App;
use crate::trouble::{self, Trouble};
use crate::turnovers::board::Board;
use crate::turnovers::supply;
use crate::web::{AppError, Frame, Page, Section};

/// What to do first where there is nothing to show yet.
struct Begin {
    lead: &'static str,
    act: Act,
}

#[derive(Template)]
#[template(path = "today/today.html")]
struct TodayPage {
    frame: Frame,
    eyeline: String,
    day: String,
    lead: String,
    act: Option<Act>,
    begin: Option<Begin>,
    tasks: Vec<Task>,
    obstacles: Vec<Obstacle>,
    /// What the last posting changed for whoever reads it.
    changed: Option<ForYou>,
    days: Days,
    rows: Vec<Row>,
}

impl TodayPage {
    fn line(&self) -> Line<'_> {
        Line {
            days: self.days,
            form: Form::Compact,
            rows: &self.rows,
            stock: &[],
        }
    }
}

pub async fn today(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let local = now.in_zone(who.site.zone).naive_local();
    let today = local.date();
    let days = Days::from_week_of(today, 2, Some(local));
    let mut conn = app.db.read().await?;
    let board = Board::load(&mut conn, &who.site, now, days.first()).await?;
    let lacking = lacking(&mut conn, &board, &who.site, today).await?;
    let supplies = supply::of_board(&mut conn, &board, &who.site, now).await?;
    let open_troubles = trouble::store::open_ones(&mut conn).await?;
    let open: Vec<&Cleanout> = board
        .stands
        .iter()
        .filter_map(|stand| stand.open())
        .collect();
    let closed = aired::closed_now(&mut conn, &open, now).await?;
    let mut in_the_way: Vec<Obstacle> = closed
        .iter()
        .map(|(cleanout, aired)| closed_room(cleanout, aired, &who.site, now))
        .collect();
    in_the_way.extend(troubles(&open_troubles, &who.site));
    in_the_way.extend(obstacles(&board, &lacking, &supplies, &who.site, local));
    in_the_way.extend(runs_low(&app, &mut conn, &who.site, now).await);
    let changed = for_you::of(&mut conn, &board, &who.site, who.id, now).await?;
    let tasks = tasks(&board, today);
    let begin = begin(&board, !who.guide.is_empty(), supplies.is_empty());
    Ok(Page(TodayPage {
        frame: who.frame(Section::Today),
        eyeline: eyeline(today),
        day: day_words(today),
        lead: match &begin {
            Some(begin) => begin.lead.to_owned(),
            None => board.in_words(),
        },
        act: act(&tasks),
        begin,
        obstacles: in_the_way,
        changed,
        tasks,
        rows: board.rows(),
        days,
    }))
}

/// What is to be ordered or missing in the days ahead. Without it the day is still the day, so what cannot
/// be reckoned is no reason to show nothing.
async fn runs_low(
    app: &App,
    conn: &mut SqliteConnection,
    site: &Site,
    now: Moment,
) -> Vec<Obstacle> {
    match enough::load::ahead(app, conn, site, now).await {
        Ok((ahead, _)) => {
            let found = ahead.low(AHEAD_DAYS, site.units).into_iter();
            found.map(low).collect()
        }
        Err(error) => {
            tracing::error!(?error, "how far the stock goes was not reckoned");
            Vec::new()
        }
    }
}

/// What runs low, and by when to order it.
fn low(low: enough::Low) -> Obstacle {
    Obstacle {
        about: low.about,
        href: "/stock/enough".to_owned(),
        words: low.words,
        late: low.late,
    }
}

/// What went wrong and stays open until somebody says what was found.
fn troubles(open: &[Trouble], site: &Site) -> impl Iterator<Item = Obstacle> {
    open.iter().map(|trouble| Obstacle {
        about: trouble.subject.clone(),
        href: trouble.path(),
        words: format!(
            "{} since {}, and",
            trouble.kind.words(),
            site.moment_words(trouble.at)
        ),
        late: "nobody has said what was found".to_owned(),
    })
}

/// 'Day 63 of 2027, week 9'.
fn eyeline(today: NaiveDate) -> String {
    let week = today.iso_week().week();
    format!("Day {} of {}, week {week}", today.ordinal(), today.year())
}

async fn lacking(
    conn: &mut SqliteConnection,
    board: &Board,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<Lacking> {
    let mut lacking = Lacking::new();
    let open = board.stands.iter().filter_map(|stand| stand.open());
    for open in open.filter(|open| is_near(open, today)) {
        let missing = match open.state.can_change() {
            true => given::readiness(conn, open, site, today).await?.missing,
            false => given::booking_missing(open, &Rules::of(conn, open).await?, today),
        };
        lacking.insert(open.id, missing.into_iter().map(|lack| lack.what).collect());
    }
    Ok(lacking)
}

/// `guided` is whoever is led through the set-up.
fn begin(board: &Board, guided: bool, no_stock: bool) -> Option<Begin> {
    let begin = |lead, words: &str, href: &str| {
        Some(Begin {
            lead,
            act: Act {
                words: words.to_owned(),
                href: href.to_owned(),
            },
        })
    };
    if board.stands.is_empty() {
        return begin(
            "The register is empty. Enter the first system: what it is made of, what it holds, what grows in it.",
            "Enter the first system",
            if guided { "/set-up" } else { "/systems" },
        );
    }
    if board.stands.iter().all(|stand| stand.plantings.is_empty()) {
        return begin(
            "Nothing is planted yet. Enter what grows and when it comes off: the clean-outs follow from that.",
            "Add a planting",
            "/turnovers/new",
        );
    }
    if no_stock && board.stands.iter().all(|stand| stand.open().is_none()) {
        return begin(
            "No peroxide is in stock. Enter what the label says and how much you have: a dose is worked out from it.",
            "Enter the stock",
            if guided { "/set-up" } else { "/stock" },
        );
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_day_is_numbered_in_its_year_and_its_week() {
        let words = |day: &str| eyeline(day.parse().unwrap());
        assert_eq!(words("2027-03-04"), "Day 63 of 2027, week 9");
        assert_eq!(words("2027-01-01"), "Day 1 of 2027, week 53");
    }
}
