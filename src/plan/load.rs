//! Reads the sources from the stores of the other rooms.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::effects::Known;
use super::learn::Done;
use super::sources::{Held, Issued, Sources};
use super::{WEEKS, store};
use crate::cleanouts::card::FrozenDose;
use crate::cleanouts::{self, State, given};
use crate::clock::Moment;
use crate::ids::{CleanoutId, MethodVersionId, SystemId};
use crate::site::Site;
use crate::state::App;
use crate::stock::Lot;
use crate::turnovers::board::{Board, Stand};
use crate::{hours, methods, register, stock};

/// So many released clean-outs are looked through for how long phases take.
const LEARN_FROM: i64 = 200;

/// Everything that a plan depends on, as it is now. What was worked out for the last plan, or can never be
/// written again, is taken over from it where the records are still the same.
pub async fn sources(
    app: &App,
    conn: &mut SqliteConnection,
    site: &Site,
    now: Moment,
) -> anyhow::Result<Sources> {
    let before = app.plan.last::<Known>();
    read(conn, site, now, before.as_ref().map(|known| &known.sources)).await
}

async fn read(
    conn: &mut SqliteConnection,
    site: &Site,
    now: Moment,
    before: Option<&Sources>,
) -> anyhow::Result<Sources> {
    let today = site.today(now);
    let board = Board::load(conn, site, now, super::timetable::monday(today)).await?;
    let current: Vec<_> = methods::store::current(conn).await?;
    let mut wanted: HashSet<MethodVersionId> =
        current.iter().map(|method| method.version_id).collect();
    for stand in &board.stands {
        wanted.extend(stand.open().map(|open| open.method_version_id));
        wanted.extend(stand.cleanouts.last().map(|last| last.method_version_id));
    }
    let mut versions = HashMap::new();
    let mut kit_needs = HashMap::new();
    for id in wanted {
        if let Some(version) = methods::store::version(conn, id).await? {
            let needs = methods::kit_store::needs_of(conn, version.method_id).await?;
            kit_needs.insert(version.method_id, needs);
            versions.insert(id, Arc::new(version));
        }
    }
    let lots = stock::store::with_balance(conn).await?;
    let crew = given::crew_of(conn).await?;
    Ok(Sources {
        // Nothing is planned for a quarter of an hour that has begun.
        now: now.next_quarter(),
        site: site.clone(),
        times: Arc::new(hours::Times::of_crew(conn, site, &crew.people).await?),
        crew,
        rooms: register::store::rooms::all(conn).await?,
        supplies: register::store::water::all(conn).await?,
        kits: register::store::kit::all(conn).await?,
        jugs: register::store::jugs::all(conn).await?,
        kit_needs,
        deliveries: stock::store::deliveries(conn).await?,
        held: Arc::new(held(conn, &board, before).await?),
        methods: versions,
        current: current.iter().map(|method| method.version_id).collect(),
        done: Arc::new(Done::of(store::entered(conn, LEARN_FROM).await?)),
        cards: cards(conn, &board, &lots, site, today).await?,
        pins: store::pins(conn).await?,
        posted: store::postings(conn, 1, before.and_then(|before| before.posted.as_ref()))
            .await?
            .pop(),
        draft: store::draft(conn, before.and_then(|before| before.draft.as_ref())).await?,
        reckoned: before
            .map(|before| before.reckoned.clone())
            .unwrap_or_default(),
        lots,
        board,
    })
}

/// The systems that are cleaned out, or would be after a turnover that is looked at.
fn may_be_planned(stand: &Stand) -> bool {
    let planned = stand.open().is_some() || stand.wants_cleanout() || stand.growing().is_some();
    planned && stand.system.laid_up_since.is_none()
}

async fn held(
    conn: &mut SqliteConnection,
    board: &Board,
    before: Option<&Sources>,
) -> sqlx::Result<HashMap<SystemId, Arc<Held>>> {
    let stands = board.stands.iter().filter(|stand| may_be_planned(stand));
    let systems = stands.map(|stand| stand.system.clone()).collect();
    let parts = register::hold::parts_of_all(conn, systems)
        .await?
        .into_iter();
    let held = parts.map(|parts| {
        let id = parts.system.id;
        let before = before.and_then(|before| before.held.get(&id));
        (id, Held::of(parts, before))
    });
    Ok(held.collect())
}

/// What the cards that are out say of the hours and stock to come.
async fn cards(
    conn: &mut SqliteConnection,
    board: &Board,
    lots: &[Lot],
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<HashMap<CleanoutId, Issued>> {
    let mut cards = HashMap::new();
    for stand in board.stands.iter().filter(|stand| may_be_planned(stand)) {
        let with_card = stand
            .open()
            .filter(|open| matches!(open.state, State::Issued | State::UnderWay));
        let Some(open) = with_card else { continue };
        let Some(lot) = lots.iter().find(|lot| Some(lot.id) == open.lot_id) else {
            continue;
        };
        let left = given::still_takes(conn, open, lot, site, today).await?;
        let card = cleanouts::store::card_of(conn, open.id).await?;
        let rinsed = match &card {
            Some(card) => cleanouts::aired::rinsed(conn, open.id, card).await?,
            None => None,
        };
        let dose = card.as_ref().map(|card| &card.dose);
        let issued = Issued {
            still_takes: left,
            rinses: dose.and_then(|dose| Some(dose.rinse.as_ref()?.to_plan())),
            last_pour: cleanouts::store::last_pour(conn, open.id).await?,
            rinsed,
            closed: dose.map(FrozenDose::closed),
        };
        cards.insert(open.id, issued);
    }
    Ok(cards)
}

/// The last day that is planned.
pub fn last_day(today: NaiveDate) -> NaiveDate {
    super::timetable::monday(today) + chrono::Days::new(u64::from(WEEKS) * 7 - 1)
}
