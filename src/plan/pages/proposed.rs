//! The plan: what is proposed beside what was posted, what is late and why, what had to be assumed.

use askama::Template;
use axum::extract::State;
use chrono::TimeDelta;

use super::{crew_words, system_path};
use crate::clock::Moment;
use crate::crew::{Role, Who};
use crate::drawings::tide::{self, Days, Form, Key, Line, StockFall, StockRow, Tank};
use crate::drawings::topmarks::Topmarks;
use crate::ids::SystemId;
use crate::plan::proposal::Proposal;
use crate::plan::reasons::{self, Told, WhyLate};
use crate::plan::sources::{Kept, Sources};
use crate::plan::supplies::Concentrate;
use crate::plan::timetable::{Entry, Standing, Work, at_words, moved, span_words, wall};
use crate::plan::{level, load};
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::state::App;
use crate::turnovers::board::count_words;
use crate::web::{AppError, Frame, Page, Section};

const WEEKS: u8 = 3;

/// One clean-out in the timetable.
struct RowView {
    number: String,
    href: String,
    system: String,
    id: SystemId,
    when: String,
    late: bool,
    who: String,
    room: String,
    solution: String,
    concentrate: String,
    standing: String,
    movable: bool,
    pinned: bool,
}

/// A late one with its reasons.
struct LateView {
    id: SystemId,
    title: String,
    done: String,
    late: String,
    /// None until it is worked out.
    why: Option<WhyLate>,
}

#[derive(Template)]
#[template(path = "plan/plan.html")]
struct PlanPage {
    frame: Frame,
    eyeline: String,
    span: String,
    lead: String,
    days: Days,
    rows: Vec<tide::Row>,
    stock: Vec<StockRow>,
    /// The tank of purified water, where it is on record.
    tank: Option<Tank>,
    late: Vec<LateView>,
    /// Reasons are still being worked out.
    looks: bool,
    table: Vec<RowView>,
    product: String,
    assumed: Vec<String>,
    /// What is proposed otherwise than it was posted.
    moves: Vec<String>,
    mark: String,
    may_plan: bool,
    anything_to_post: bool,
    posted_before: bool,
}

impl PlanPage {
    fn line(&self) -> Line<'_> {
        Line {
            days: self.days,
            form: Form::Full,
            rows: &self.rows,
            stock: &self.stock,
        }
    }
}

pub async fn show(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let now = app.clock.now();
    let known = super::known(&app, &who, now).await?;
    let (sources, proposal) = (&known.sources, &known.proposal);
    // The plan is shown at once; why some are late comes when it is worked out.
    let asked = proposal.why().map(|question| app.asking.ask(question));
    let seen = match asked {
        Some(Ok(no)) => app.asking.look(no),
        _ => None,
    };
    let looks = seen.as_ref().is_some_and(|seen| seen.stands.goes_on());
    let found = seen.map(|seen| seen.found).unwrap_or_default();
    let told = reasons::told(sources, proposal, &found);
    let page = page(&who, sources, proposal, &told, now);
    Ok(Page(PlanPage { looks, ..page }))
}

fn page(who: &Who, sources: &Sources, proposal: &Proposal, told: &[Told], now: Moment) -> PlanPage {
    let site = &who.site;
    let local = wall(now, site.zone);
    let days = Days::from_week_of(local.date(), WEEKS, Some(local));
    let posted = sources.posted.as_ref();
    let planned = proposal.planned().count();
    let moves = posted
        .map(|posted| moves(sources, posted, proposal))
        .unwrap_or_default();
    PlanPage {
        frame: who.frame(Section::Plan),
        eyeline: eyeline(sources),
        span: format!(
            "{} to {}",
            crate::site::short_day(days.first()),
            crate::site::short_day(load::last_day(local.date()))
        ),
        lead: lead(proposal, told, planned),
        rows: rows(sources, proposal),
        stock: stock(sources, proposal),
        tank: tank(sources, proposal, days),
        late: told
            .iter()
            .map(|told| late_view(sources, proposal, told))
            .collect(),
        looks: false,
        table: table(sources, proposal),
        product: only(&proposal.facts.supplies.concentrates).map_or_else(
            || "Concentrate".to_owned(),
            |known| known.product.to_string(),
        ),
        assumed: proposal.facts.assumed.clone(),
        mark: proposal.mark().to_owned(),
        may_plan: who.is_at_least(Role::Lead),
        anything_to_post: proposal
            .planned()
            .any(|entry| entry.standing == Standing::Proposed)
            || !moves.is_empty(),
        moves,
        posted_before: posted.is_some(),
        days,
    }
}

fn eyeline(sources: &Sources) -> String {
    let at = |kept: &Kept| format!("{}, {}", sources.site.moment_words(kept.at), kept.by);
    let posted = match &sources.posted {
        Some(kept) => format!("posted plan: {}", at(kept)),
        None => "nothing is posted yet".to_owned(),
    };
    match &sources.draft {
        Some(kept) => format!("Draft of {}; {posted}", at(kept)),
        None => format!("Worked out just now; {posted}"),
    }
}

fn lead(proposal: &Proposal, told: &[Told], planned: usize) -> String {
    if planned == 0 && proposal.unplaced.is_empty() {
        return "No gap asks for a clean-out in these weeks.".to_owned();
    }
    let count = reasons::capital(&count_words(planned));
    let noun = if planned == 1 {
        "clean-out is"
    } else {
        "clean-outs are"
    };
    let placed = format!("{count} {noun} planned.");
    match told.len() {
        0 => format!("{placed} Every one is done before its next planting."),
        1 => format!("{placed} One cannot be done in its gap."),
        late => format!(
            "{placed} {} cannot be done in their gaps.",
            reasons::capital(&count_words(late))
        ),
    }
}

/// The board's rows, with the stakes where they are proposed to be.
fn rows(sources: &Sources, proposal: &Proposal) -> Vec<tide::Row> {
    let zone = sources.site.zone;
    let stands = &sources.board.stands;
    stands
        .iter()
        .map(|stand| {
            let mut row = stand.row();
            let entry = proposal.timetable.entry(stand.system.id);
            let Some(entry) = entry.filter(|entry| entry.standing != Standing::Fixed) else {
                return row;
            };
            let (Some(starts), Some(ends)) = (entry.starts(), entry.ends()) else {
                return row;
            };
            let (number, due, _) = proposal.facts.about(entry.system).unwrap_or((
                "new",
                None,
                stand.system.figures.room_id,
            ));
            let (start, end) = (wall(starts, zone), wall(ends, zone));
            let same = row.stakes.iter().position(|stake| stake.number == number);
            let stays = entry.standing == Standing::Posted
                && same.is_some_and(|at| row.stakes[at].start == start);
            if stays && let Some(stake) = same.and_then(|at| row.stakes.get_mut(at)) {
                stake.end = end;
                return row;
            }
            if entry.standing == Standing::Proposed
                && let Some(at) = same
            {
                row.stakes.remove(at);
            }
            row.stakes.push(tide::Stake {
                number: number.to_owned(),
                href: Some(system_path(entry)),
                standing: tide::Standing::Proposed,
                start,
                end,
                planting: due.map(|due| wall(due, zone)),
            });
            row
        })
        .collect()
}

/// Its own name stands over a column where there is only one product.
fn only(known: &[Concentrate]) -> Option<&Concentrate> {
    match known {
        [one] => Some(one),
        _ => None,
    }
}

/// Each product that the plan draws; where it draws none, what there is.
fn stock(sources: &Sources, proposal: &Proposal) -> Vec<StockRow> {
    let facts = &proposal.facts;
    let known = &facts.supplies.concentrates;
    let drawn = |known: &&Concentrate| {
        let mut asked = facts.asked.iter();
        asked.any(|asked| asked.product == Some(known.id))
    };
    let drawn: Vec<&Concentrate> = match known.iter().any(|known| drawn(&known)) {
        true => known.iter().filter(drawn).collect(),
        false => known.iter().collect(),
    };
    let each = drawn.into_iter();
    each.map(|known| stock_of(sources, proposal, known))
        .collect()
}

/// The concentrate that is free, falling with each dose and rising with each delivery.
fn stock_of(sources: &Sources, proposal: &Proposal, known: &Concentrate) -> StockRow {
    let (zone, units) = (sources.site.zone, sources.site.units);
    let doses = proposal.planned().filter_map(|entry| {
        let asked = proposal.facts.asked_of(entry.system)?;
        (asked.product == Some(known.id)).then_some(())?;
        Some((entry.first(Work::Dose)?.from, -asked.amounts.concentrate_ml))
    });
    let mut changes: Vec<_> = known
        .deliveries
        .iter()
        .copied()
        .chain(doses)
        .filter(|(_, ml)| *ml != 0)
        .collect();
    changes.sort();
    let mut left = known.free_ml;
    let falls: Vec<StockFall> = changes
        .iter()
        .map(|(at, ml)| {
            left += ml;
            StockFall {
                at: wall(*at, zone),
                left_l: left as f64 / 1000.0,
            }
        })
        .collect();
    let volume = |ml: i64| {
        Millilitres::new(ml).map_or_else(|_| String::new(), |ml| show::volume(ml.volume(), units))
    };
    let wants: i64 = (proposal.unplaced.iter())
        .filter_map(|system| proposal.facts.asked_of(*system))
        .filter(|asked| asked.product == Some(known.id))
        .map(|asked| asked.amounts.concentrate_ml)
        .sum();
    let note = if wants > left {
        format!(
            "{} more would be needed for the clean-outs without a place.",
            volume(wants - left)
        )
    } else {
        String::new()
    };
    StockRow {
        name: known.product.to_string(),
        href: format!("/stock/products/{}", known.id),
        state: format!("{} left after the plan", volume(left.max(0))),
        on_hand: format!("{} free now", volume(known.free_ml)),
        start_l: known.free_ml as f64 / 1000.0,
        falls,
        note,
    }
}

/// The tank of purified water through the weeks shown.
fn tank(sources: &Sources, proposal: &Proposal, days: Days) -> Option<Tank> {
    let level = level::of(proposal)?;
    let (zone, units) = (sources.site.zone, sources.site.units);
    let volume = |ml: i64| {
        Millilitres::new(ml).map_or_else(|_| String::new(), |ml| show::volume(ml.volume(), units))
    };
    let shown = level
        .points
        .iter()
        .filter(|(at, _)| days.shows(at.day(zone)));
    let lowest = shown.min_by_key(|(at, ml)| (*ml, *at))?;
    Some(Tank {
        days,
        name: "Purified water".to_owned(),
        href: "/water".to_owned(),
        state: format!(
            "at its lowest {}, {}",
            volume(lowest.1),
            at_words(lowest.0, zone)
        ),
        on_hand: format!("{} usable now", volume(level.points.first()?.1)),
        full_l: level.full_ml as f64 / 1000.0,
        full: volume(level.full_ml),
        levels: level
            .points
            .iter()
            .map(|(at, ml)| (wall(*at, zone), *ml as f64 / 1000.0))
            .collect(),
    })
}

fn late_view(sources: &Sources, proposal: &Proposal, told: &Told) -> LateView {
    let zone = sources.site.zone;
    let (done, late) = reasons::late_words(told, zone);
    let number = proposal
        .facts
        .about(told.system)
        .map(|(number, _, _)| number)
        .unwrap_or_default();
    let name = sources.system_name(told.system);
    let what = match (number, told.late.is_some()) {
        ("new", true) => format!("{name} would be late"),
        ("new", false) => format!("{name} has no place"),
        (number, true) => format!("{number}, {name}, would be late"),
        (number, false) => format!("{number}, {name}, has no place"),
    };
    LateView {
        id: told.system,
        title: what,
        done,
        late,
        why: told.why.clone(),
    }
}

fn table(sources: &Sources, proposal: &Proposal) -> Vec<RowView> {
    let (zone, units) = (sources.site.zone, sources.site.units);
    let volume = |ml: i64| match Millilitres::new(ml) {
        Ok(ml) if ml.get() > 0 => show::volume(ml.volume(), units),
        _ => String::new(),
    };
    let view = |entry: &Entry| {
        let facts = &proposal.facts;
        let (number, _, room) = facts.about(entry.system)?;
        let (starts, ends) = (entry.starts()?, entry.ends()?);
        let late = proposal.late(entry);
        let (amounts, product) = facts.takes(entry.system);
        let concentrate = volume(amounts.concentrate_ml);
        let supplies = &facts.supplies;
        let of = supplies
            .concentrate(product)
            .filter(|_| !concentrate.is_empty() && only(&supplies.concentrates).is_none());
        Some(RowView {
            number: number.to_owned(),
            href: system_path(entry),
            system: sources.system_name(entry.system),
            id: entry.system,
            when: match late {
                Some(late) if late > TimeDelta::zero() => {
                    format!(
                        "{}, {} late",
                        span_words(starts, ends, zone),
                        reasons::length(late)
                    )
                }
                _ => span_words(starts, ends, zone),
            },
            late: late.is_some(),
            who: crew_words(sources, entry),
            room: facts
                .rooms
                .iter()
                .find(|known| known.id == room)
                .map(|known| known.name.to_string())
                .unwrap_or_default(),
            solution: volume(amounts.fill_ml),
            concentrate: match of {
                Some(known) => format!("{concentrate} of {}", known.product),
                None => concentrate,
            },
            standing: standing_words(sources, entry),
            movable: entry.standing != Standing::Fixed,
            pinned: entry.pinned,
        })
    };
    proposal.timetable.entries.iter().filter_map(view).collect()
}

fn standing_words(sources: &Sources, entry: &Entry) -> String {
    let state = sources
        .board
        .of(entry.system)
        .and_then(|stand| stand.open())
        .map(|open| open.state.to_string());
    let words = match (entry.standing, state) {
        (Standing::Proposed, Some(state)) => state,
        (Standing::Proposed, None) => "new".to_owned(),
        (Standing::Posted, _) => "posted".to_owned(),
        (Standing::Fixed, state) => state.unwrap_or_default(),
    };
    if entry.pinned {
        format!("{words}, pinned")
    } else {
        words
    }
}

/// How the proposal differs from what was posted.
fn moves(sources: &Sources, posted: &Kept, proposal: &Proposal) -> Vec<String> {
    let zone = sources.site.zone;
    let planned = proposal
        .planned()
        .filter(|entry| entry.standing == Standing::Posted);
    moved(&posted.entries, planned, zone)
        .into_iter()
        .map(|moved| {
            format!(
                "{} moves from {} to {}.",
                sources.system_name(moved.system),
                at_words(moved.from, zone),
                at_words(moved.to, zone)
            )
        })
        .collect()
}
