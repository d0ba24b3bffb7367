//! The tide line of three weeks, and the same as a list.

use askama::Template;
use axum::extract::{Query, State};
use chrono::{NaiveDate, TimeDelta};
use serde::Deserialize;

use super::{May, local, path};
use crate::crew::Who;
use crate::crops::standing::SystemState;
use crate::drawings::tide::{Days, Form, Key, Line, Row, StockRow};
use crate::drawings::topmarks::Topmarks;
use crate::site::short_day;
use crate::state::App;
use crate::turnovers::board::{Board, Stand};
use crate::turnovers::supply;
use crate::web::{AppError, Frame, Page, Section};

const WEEKS: u8 = 3;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    from: String,
}

/// One system in the list.
struct Entry {
    name: String,
    href: String,
    state: String,
    /// What grows, or grew last.
    crop: Option<CropWords>,
    next: String,
    gap: String,
    cleanout: Option<CleanoutWords>,
    /// What can be done next.
    propose: Option<Propose>,
    plant: String,
}

struct CropWords {
    name: String,
    href: String,
    off: String,
    growing: bool,
    overdue: bool,
}

struct CleanoutWords {
    number: String,
    href: String,
    when: String,
    /// How it lies outside its gap.
    misfit: String,
}

/// The form that asks for a clean-out.
struct Propose {
    system: String,
    planting: String,
}

#[derive(Template)]
#[template(path = "turnovers/list.html")]
struct ListPage {
    frame: Frame,
    span: String,
    lead: String,
    days: Days,
    rows: Vec<Row>,
    stock: Vec<StockRow>,
    entries: Vec<Entry>,
    earlier: String,
    later: String,
    now_shown: bool,
    may: May,
}

impl ListPage {
    fn line(&self) -> Line<'_> {
        Line {
            days: self.days,
            form: Form::Full,
            rows: &self.rows,
            stock: &self.stock,
        }
    }
}

pub async fn list(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let local = local(&who.site, now);
    // An address with another day in it shows this week.
    let from = crate::text::parse_day(&asked.from).unwrap_or(local.date());
    let days = Days::from_week_of(from, WEEKS, Some(local));
    let mut conn = app.db.read().await?;
    let board = Board::load(&mut conn, &who.site, now, days.first())
        .await?
        .with_volumes(&mut conn, who.site.units)
        .await?;
    let supplies = supply::of_board(&mut conn, &board, &who.site, now).await?;
    let week = |by: i64| (days.first() + TimeDelta::days(by)).to_string();
    Ok(Page(ListPage {
        frame: who.frame(Section::Turnovers),
        span: span_words(days.first(), days.last()),
        lead: board.in_words(),
        rows: board.rows(),
        stock: supplies
            .iter()
            .map(|supply| supply.row(&who.site))
            .collect(),
        entries: board
            .stands
            .iter()
            .map(|stand| Entry::new(stand, local.date()))
            .collect(),
        earlier: week(-7),
        later: week(7),
        now_shown: days.shows(local.date()),
        may: May::of(&who),
        days,
    }))
}

/// '1 to 21 March', '22 February to 14 March'.
fn span_words(first: NaiveDate, last: NaiveDate) -> String {
    let from = if first.format("%Y%m").to_string() == last.format("%Y%m").to_string() {
        "%-d"
    } else {
        "%-d %B"
    };
    format!("{} to {}", first.format(from), last.format("%-d %B"))
}

impl Entry {
    fn new(stand: &Stand, today: NaiveDate) -> Self {
        let current = stand.current();
        let crop = current.map(|planting| CropWords {
            name: planting.crop.to_string(),
            href: path(planting.id),
            off: match (planting.off_on, planting.turnover_on) {
                (Some(day), _) => format!("off since {}", short_day(day)),
                (None, Some(day)) => short_day(day),
                (None, None) => "no end date".to_owned(),
            },
            growing: planting.is_growing(),
            overdue: planting.is_growing() && planting.turnover_on.is_some_and(|day| day < today),
        });
        let next = stand.next().map_or_else(
            || "none".to_owned(),
            |(day, crop)| match crop {
                Some(crop) => format!("{crop}, {}", short_day(day)),
                None => short_day(day),
            },
        );
        let gap = current
            .and_then(|planting| stand.gap_after(planting))
            .map_or_else(String::new, |gap| gap.words());
        let misfit = stand.misfit();
        let cleanout = stand.open().map(|open| CleanoutWords {
            number: open.number.clone(),
            href: open.path(),
            when: format!("{}, {}", open.state, short_day(open.starts_on)),
            misfit: misfit
                .map(|(_, misfit)| misfit.to_string())
                .unwrap_or_default(),
        });
        let propose = stand.wants_cleanout().then(|| Propose {
            system: stand.system.id.to_string(),
            planting: current
                .map(|planting| planting.id.to_string())
                .unwrap_or_default(),
        });
        Self {
            name: stand.name().to_string(),
            href: stand.system.path(),
            state: stand.state.to_string(),
            crop,
            next,
            gap,
            cleanout,
            propose,
            plant: plant_path(stand),
        }
    }
}

/// Where the next crop of a ready system is planted; empty while nothing may be.
pub(super) fn plant_path(stand: &Stand) -> String {
    match (stand.state, stand.intended()) {
        (SystemState::Ready, Some(intended)) => format!("{}/plant", path(intended.id)),
        (SystemState::Ready, None) => format!("/turnovers/new?system={}", stand.system.id),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_names_a_month_once() {
        let day = |text: &str| text.parse().unwrap();
        assert_eq!(
            span_words(day("2027-03-01"), day("2027-03-21")),
            "1 to 21 March"
        );
        assert_eq!(
            span_words(day("2027-02-22"), day("2027-03-14")),
            "22 February to 14 March"
        );
    }
}
