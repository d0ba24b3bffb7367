//! The pages of the register's systems, with how each stands, its gap and its history.

use std::collections::HashMap;

use askama::Template;
use axum::extract::{Path, State};

use super::{May, path};
use crate::cleanouts::water::{self, InWater};
use crate::cleanouts::{self, Cleanout, run};
use crate::crew::Who;
use crate::crops::{self, Planting};
use crate::drawings::tide::{Days, Form, Line, Row};
use crate::drawings::topmarks::Topmarks;
use crate::ids::SystemId;
use crate::register::pages::list::SystemsPage;
use crate::register::pages::system::SystemView;
use crate::site::{clock_words, day_words, full_day, short_day};
use crate::state::App;
use crate::turnovers::board::{Board, Stand};
use crate::web::{AppError, Frame, Page, Section};

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let board = Board::load(&mut conn, &who.site, now, who.site.today(now)).await?;
    let states: HashMap<SystemId, String> = board
        .stands
        .iter()
        .map(|stand| (stand.system.id, state_words(stand)))
        .collect();
    Ok(Page(SystemsPage::load(&mut conn, &who, &states).await?))
}

/// 'growing, Lettuce until Wed 10 Mar'.
fn state_words(stand: &Stand) -> String {
    if let Some(quarantine) = &stand.system.quarantine {
        return format!(
            "quarantined since {}: {}",
            full_day(quarantine.since),
            quarantine.reason
        );
    }
    if let Some(since) = stand.system.laid_up_since {
        return format!("laid up since {}", full_day(since));
    }
    match (stand.growing(), stand.open()) {
        (Some(crop), _) => match crop.turnover_on {
            Some(off) => format!("{}, {} until {}", stand.state, crop.crop, short_day(off)),
            None => format!("{}, {}", stand.state, crop.crop),
        },
        (None, Some(open)) => format!("{}, {} {}", stand.state, open.number, open.state),
        (None, None) => stand.state.to_string(),
    }
}

/// A crop or a clean-out that was.
struct Event {
    when: String,
    what: String,
    href: String,
    how: String,
}

#[derive(Template)]
#[template(path = "turnovers/system.html")]
struct SystemPage {
    frame: Frame,
    view: SystemView,
    /// Nothing is said of the gap of a system that is retired.
    gap: Option<GapWords>,
    events: Vec<Event>,
    may: May,
}

struct GapWords {
    days: Days,
    rows: Vec<Row>,
    facts: Vec<(&'static str, String, String)>,
    misfit: String,
    propose: Option<String>,
    plant: String,
}

impl GapWords {
    fn line(&self) -> Line<'_> {
        Line {
            days: self.days,
            form: Form::Compact,
            rows: &self.rows,
            stock: &[],
        }
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<SystemId>,
) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let local = super::local(&who.site, now);
    let days = Days::from_week_of(local.date(), 3, Some(local));
    let mut conn = app.db.read().await?;
    let timed = run::store::timings_of_system(&mut conn, id, who.site.zone).await?;
    let view = SystemView::load(&mut conn, &who, id, timed).await?;
    let stand = Board::one(&mut conn, &who.site, now, days.first(), id).await?;
    let plantings = crops::store::of_system(&mut conn, id).await?;
    let cleanouts = cleanouts::store::of_system(&mut conn, id).await?;
    let water = water::store::history(&mut conn, id)
        .await?
        .still_in(&who.site);
    Ok(Page(SystemPage {
        frame: who.frame(Section::Systems),
        gap: stand.map(|stand| GapWords::new(&stand, days, &water)),
        events: events(&plantings, &cleanouts),
        may: May::of(&who),
        view,
    }))
}

impl GapWords {
    fn new(stand: &Stand, days: Days, water: &[InWater]) -> Self {
        let mut facts = vec![("State", stand.state.to_string(), String::new())];
        let current = stand.current();
        if let Some(crop) = current {
            let off = match (crop.off_on, crop.turnover_on) {
                (Some(off), _) => format!(", off since {}", day_words(off)),
                (None, Some(off)) => format!(", comes off on {}", day_words(off)),
                (None, None) => ", no end date".to_owned(),
            };
            facts.push(("Crop", format!("{}{off}", crop.crop), path(crop.id)));
        }
        if let Some((day, crop)) = stand.next() {
            let crop = crop.map(|crop| format!("{crop}, ")).unwrap_or_default();
            let href = stand.intended().map(|next| path(next.id));
            facts.push((
                "Next planting",
                format!("{crop}{}", day_words(day)),
                href.unwrap_or_default(),
            ));
        }
        if let Some(gap) = current.and_then(|crop| stand.gap_after(crop)) {
            facts.push(("Gap", gap.words(), String::new()));
        }
        if let Some(open) = stand.open() {
            let words = format!(
                "{}, {} for {}, {}",
                open.number,
                open.state,
                day_words(open.starts_on),
                clock_words(open.starts_min)
            );
            facts.push(("Clean-out", words, open.path()));
        }
        let said: Vec<&str> = water.iter().map(|one| one.said.as_str()).collect();
        let said = match said.as_slice() {
            [] => "nothing entered since the last full rinse".to_owned(),
            said => said.join("; "),
        };
        facts.push(("In the water", said, water::path(stand.system.id)));
        Self {
            days,
            rows: vec![stand.row()],
            facts,
            misfit: stand
                .misfit()
                .map(|(_, misfit)| misfit.to_string())
                .unwrap_or_default(),
            propose: stand
                .wants_cleanout()
                .then(|| current.map(|crop| crop.id.to_string()).unwrap_or_default()),
            plant: super::list::plant_path(stand),
        }
    }
}

/// What was done, newest first.
fn events(plantings: &[Planting], cleanouts: &[Cleanout]) -> Vec<Event> {
    let crops = plantings.iter().filter(|crop| crop.is_grown()).map(|crop| {
        let how = match crop.off_on {
            Some(off) => format!("off {}", full_day(off)),
            None => "growing".to_owned(),
        };
        let event = Event {
            when: full_day(crop.planted_on),
            what: crop.crop.to_string(),
            href: path(crop.id),
            how,
        };
        (crop.planted_on, event)
    });
    let jobs = cleanouts.iter().map(|job| {
        let event = Event {
            when: full_day(job.starts_on),
            what: format!("clean-out {}", job.number),
            href: job.path(),
            how: job.state.to_string(),
        };
        (job.starts_on, event)
    });
    let mut events: Vec<_> = crops.chain(jobs).collect();
    events.sort_by_key(|(day, _)| std::cmp::Reverse(*day));
    events.into_iter().map(|(_, event)| event).collect()
}
