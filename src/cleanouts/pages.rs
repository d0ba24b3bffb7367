//! The list of clean-outs, and one of them: how it stands and what to do next.

use askama::Template;
use axum::extract::{Path, Query, State};
use chrono::{NaiveDate, NaiveDateTime};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::card::FrozenCard;
use super::cost::{self, Cost};
use super::given::{self, Obstacle};
use super::rules::{self, Rules};
use super::{Cleanout, State as Stage, store, week};
use crate::crew::{Role, Who};
use crate::crops::gap::{Gap, length_words};
use crate::crops::{self, Planting};
use crate::drawings::tide::{Row, Week};
use crate::drawings::topmarks::Topmarks;
use crate::ids::CleanoutId;
use crate::logbook;
use crate::logbook::store::Wanted;
use crate::register::checks;
use crate::science::stored::Hundredths;
use crate::site::prices::Prices;
use crate::site::{Site, clock_words, day_words, short_day};
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

/// A clean-out, or the answer that there is none.
pub async fn found(conn: &mut SqliteConnection, id: CleanoutId) -> Result<Cleanout, AppError> {
    store::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("clean-out"))
}

/// The crop that comes off before it.
pub async fn planting_of(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
) -> Result<Option<Planting>, AppError> {
    match cleanout.planting_id {
        Some(planting) => Ok(crops::store::by_id(conn, planting).await?),
        None => Ok(None),
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// 'open' or 'all'.
    show: String,
}

struct Line {
    path: String,
    number: String,
    system: String,
    room: String,
    when: String,
    length: String,
    who: String,
    state: Stage,
    late: String,
}

#[derive(Template)]
#[template(path = "cleanouts/list.html")]
struct ListPage {
    frame: Frame,
    open: Vec<Line>,
    past: Vec<Line>,
    show_past: bool,
    past_count: usize,
    may_propose: bool,
}

pub async fn list(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let all = store::all(&mut conn).await?;
    let (open, mut past): (Vec<_>, Vec<_>) = all
        .into_iter()
        .partition(|cleanout| cleanout.state.is_open());
    past.reverse();
    let mut lines = Vec::new();
    for cleanout in &open {
        let planting = planting_of(&mut conn, cleanout).await?;
        lines.push(line(cleanout, planting.as_ref(), &who.site));
    }
    let show_past = asked.show == "all" || open.is_empty();
    Ok(Page(ListPage {
        frame: who.frame(Section::Cleanouts),
        open: lines,
        past_count: past.len(),
        past: match show_past {
            true => past
                .iter()
                .map(|cleanout| line(cleanout, None, &who.site))
                .collect(),
            false => Vec::new(),
        },
        show_past,
        may_propose: who.is_at_least(Role::Lead),
    }))
}

fn line(cleanout: &Cleanout, planting: Option<&Planting>, site: &Site) -> Line {
    Line {
        path: cleanout.path(),
        number: cleanout.number.clone(),
        system: cleanout.system_name.to_string(),
        room: cleanout.room_name.to_string(),
        when: format!(
            "{}, {}",
            short_day(cleanout.starts_on),
            clock_words(cleanout.starts_min)
        ),
        length: length_words(cleanout.length.get()),
        who: cleanout
            .person_name
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        state: cleanout.state,
        late: late_words(cleanout, planting, site).unwrap_or_default(),
    }
}

/// How late an open clean-out is for its planting; none when it is in time.
pub fn late_words(cleanout: &Cleanout, planting: Option<&Planting>, site: &Site) -> Option<String> {
    let next_on = planting?.next_on?;
    let ends = cleanout.ends(&site.hours);
    if !cleanout.state.is_open() || ends <= super::at_minute(next_on, 0) {
        return None;
    }
    Some(format!(
        "Late: it ends on {}, and the next planting is on {}. Move the planting, or start earlier.",
        day_words(ends.date()),
        day_words(next_on)
    ))
}

/// 'Thursday 4 March 2027, 08:30 to 14:30', or with the day it ends.
pub fn span_words(starts: NaiveDateTime, ends: NaiveDateTime) -> String {
    let from = starts.format("%A %-d %B %Y, %H:%M");
    if starts.date() == ends.date() {
        format!("{from} to {}", ends.format("%H:%M"))
    } else {
        format!("{from} to {}", ends.format("%A %-d %B, %H:%M"))
    }
}

/// The same words with a capital in front.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// The one thing to do next.
struct Next {
    words: String,
    button: &'static str,
    href: String,
    /// A form that is sent, not a link.
    sends: bool,
}

struct Event {
    when: String,
    who: String,
    what: String,
}

#[derive(Template)]
#[template(path = "cleanouts/one.html")]
struct OnePage {
    frame: Frame,
    cleanout: Cleanout,
    span: String,
    length: String,
    row: Row,
    week_of: NaiveDate,
    crop: Vec<(&'static str, String)>,
    late: Option<String>,
    outside_hours: bool,
    next: Option<Next>,
    missing: Vec<Obstacle>,
    /// Benches that can run over, while the card is not out.
    overflows: Vec<String>,
    sentence: Option<String>,
    frozen: Option<String>,
    stock: String,
    warnings: Vec<String>,
    choices: Vec<(&'static str, String)>,
    has_run: bool,
    may_change: bool,
    may_call_off: bool,
    history: Vec<Event>,
    /// What it cost, once it is released.
    costs: Vec<(String, String, String)>,
    cost_sum: String,
    /// What the bench-weeks cost that it is late.
    lost: String,
    /// What was let go of at its steps.
    let_go: Vec<rules::pages::Line>,
}

impl OnePage {
    fn state(&self) -> String {
        capital(self.cleanout.state.code())
    }

    fn week(&self) -> Week<'_> {
        Week {
            day: self.week_of,
            row: &self.row,
        }
    }
}

pub async fn one(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let cleanout = found(&mut conn, id).await?;
    let planting = planting_of(&mut conn, &cleanout).await?;
    let card = store::card_of(&mut conn, id).await?;
    let today = who.site.today(app.clock.now());
    let lead = who.is_at_least(Role::Lead);
    let readiness = match cleanout.state.can_change() {
        true => Some(given::readiness(&mut conn, &cleanout, &who.site, today).await?),
        false => None,
    };
    let dose = card
        .as_ref()
        .map(|card| &card.dose)
        .or(readiness.as_ref().and_then(|ready| ready.dose.as_ref()));
    let missing = readiness
        .as_ref()
        .map(|ready| ready.missing.clone())
        .unwrap_or_default();
    let overflows = match cleanout.state.can_change() {
        true => checks::overflow_warnings_of(&mut conn, cleanout.system_id, who.site.units).await?,
        false => Vec::new(),
    };
    let ends = cleanout.ends(&who.site.hours);
    let history = history(&mut conn, &cleanout, &who).await?;
    let rules = Rules::of(&mut conn, &cleanout).await?;
    let cost = cost::of_cleanout(&mut conn, &cleanout, card.as_ref(), &who.site).await?;
    let lost = cost::lost(&mut conn, &cleanout, planting.as_ref(), &who.site).await?;
    let (costs, cost_sum) = cost.map(cost_words).unwrap_or_default();
    Ok(Page(OnePage {
        frame: who.frame(Section::Cleanouts),
        span: span_words(cleanout.starts(), ends),
        length: length_words(cleanout.length.get()),
        row: week::row(&cleanout, planting.as_ref(), ends),
        week_of: cleanout.starts_on,
        crop: crop_words(planting.as_ref()),
        late: late_words(&cleanout, planting.as_ref(), &who.site),
        outside_hours: outside_hours(&cleanout, &who.site),
        next: next(&cleanout, &missing, who.role),
        sentence: dose.map(|dose| dose.sentence.clone()),
        frozen: card.as_ref().map(|card| frozen_words(card, &who.site)),
        stock: readiness
            .as_ref()
            .map(|ready| ready.stock.clone())
            .unwrap_or_default(),
        warnings: dose.map(|dose| dose.warnings.clone()).unwrap_or_default(),
        choices: choice_words(&cleanout, &who.site),
        has_run: !matches!(
            cleanout.state,
            Stage::Proposed | Stage::Booked | Stage::CalledOff
        ),
        may_change: lead && cleanout.state.can_change(),
        may_call_off: lead && cleanout.state.called_off().is_ok(),
        missing,
        overflows,
        history,
        costs,
        cost_sum,
        lost: lost.unwrap_or_default(),
        let_go: rules::pages::Line::all(&rules, &who.site, &cleanout, today),
        cleanout,
    }))
}

/// 'Frozen when Ines V. issued the card, on Wed 3 March 2027, 16:20.'
pub fn frozen_words(card: &FrozenCard, site: &Site) -> String {
    format!(
        "Frozen when {} issued the card, on {}.",
        card.issued_by.name,
        site.moment_words(card.issued_at)
    )
}

/// The lines of what it cost, and the sum with what is not in it.
fn cost_words((cost, prices): (Cost, Option<Prices>)) -> (Vec<(String, String, String)>, String) {
    let money = |amount: Hundredths| match &prices {
        Some(prices) => prices.currency.words(amount),
        None => amount.words(),
    };
    let sum = match cost.complete {
        true => format!("{} in all.", money(cost.sum)),
        false => format!(
            "{} for what is known; what has no price is not in it.",
            money(cost.sum)
        ),
    };
    let lines = cost.lines.into_iter().map(|line| {
        let amount = line.amount.map_or_else(|| "not known".to_owned(), money);
        (line.what, line.working, amount)
    });
    (lines.collect(), sum)
}

/// Whether it starts when nobody works here.
fn outside_hours(cleanout: &Cleanout, site: &Site) -> bool {
    let hours = site.hours;
    !hours.worked(cleanout.starts_on)
        || !(hours.starts_min..hours.ends_min).contains(&cleanout.starts_min)
}

fn crop_words(planting: Option<&Planting>) -> Vec<(&'static str, String)> {
    let Some(planting) = planting else {
        return vec![("Crop", "none: the system stands empty".to_owned())];
    };
    let mut words = vec![("Crop", planting.crop.to_string())];
    match (planting.off_on, planting.turnover_on) {
        (Some(day), _) => words.push(("Came off", day_words(day))),
        (None, Some(day)) => words.push(("Comes off", day_words(day))),
        (None, None) => words.push(("Comes off", "no day yet".to_owned())),
    }
    words.push((
        "Next planting",
        match (&planting.next_crop, planting.next_on) {
            (Some(crop), Some(day)) => format!("{crop}, {}", day_words(day)),
            (None, Some(day)) => day_words(day),
            _ => "no day yet".to_owned(),
        },
    ));
    words.extend(planting.gap().map(|gap: Gap| ("Gap", gap.words())));
    words
}

fn choice_words(cleanout: &Cleanout, site: &Site) -> Vec<(&'static str, String)> {
    let mut words = vec![
        (
            "Working strength",
            format!(
                "{}, {}",
                cleanout.target,
                super::dose::source_words(cleanout)
            ),
        ),
        ("Water", cleanout.water.to_string()),
        ("Media before the dose", cleanout.media_was.to_string()),
    ];
    if let Ok(celsius) = cleanout.temperature.celsius() {
        words.push((
            "Solution",
            crate::science::show::temperature(celsius, site.units),
        ));
    }
    words
}

fn next(cleanout: &Cleanout, missing: &[Obstacle], role: Role) -> Option<Next> {
    let path = cleanout.path();
    let go = |words: &str, button, href| {
        Some(Next {
            words: words.to_owned(),
            button,
            href,
            sends: false,
        })
    };
    match (cleanout.state, missing.first()) {
        (Stage::Proposed | Stage::Booked, _) if role < Role::Lead => None,
        (Stage::Proposed, _) => go(
            "Book somebody for it.",
            "Book somebody",
            format!("{path}/booking"),
        ),
        (Stage::Booked, Some(first)) => Some(Next {
            words: first.what.clone(),
            button: first.mend,
            href: first.href.clone(),
            sends: false,
        }),
        (Stage::Booked, None) => Some(Next {
            words: "Nothing is missing. Issuing freezes the dose and everything else on the card."
                .to_owned(),
            button: "Issue the card",
            href: format!("{path}/issue"),
            sends: true,
        }),
        (Stage::Issued, _) if role >= Role::Hand => {
            go("The card is out.", "Start the run", format!("{path}/run"))
        }
        (Stage::UnderWay, _) if role >= Role::Hand => go(
            "It is under way.",
            "Go on with the run",
            format!("{path}/run"),
        ),
        (Stage::Held, _) => go(
            "It waits for its release.",
            "See what the release needs",
            format!("{path}/release"),
        ),
        _ => None,
    }
}

async fn history(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    who: &Who,
) -> Result<Vec<Event>, AppError> {
    let about = format!("clean-out/{}", cleanout.id);
    let wanted = Wanted {
        about: Some(&about),
        ..Wanted::default()
    };
    let entries = logbook::store::page(conn, &wanted, 50).await?;
    let events = entries.into_iter().map(|entry| Event {
        when: who.site.moment_words(entry.at),
        who: entry.person_name,
        what: match entry.what == rules::pages::LET_GO {
            true => rules::pages::told(&entry.detail),
            false => entry.what,
        },
    });
    Ok(events.collect())
}
