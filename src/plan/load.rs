//! Reads the sources from the stores of the other rooms.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use sqlx::SqliteConnection;

use super::gaps::Reckoned;
use super::sources::{Issued, Sources};
use super::{WEEKS, store};
use crate::cleanouts::card::FrozenDose;
use crate::cleanouts::{self, State, given};
use crate::clock::Moment;
use crate::ids::MethodVersionId;
use crate::site::Site;
use crate::turnovers::board::Board;
use crate::{hours, methods, register, stock};

/// So many released clean-outs are looked through for how long phases take.
const LEARN_FROM: i64 = 200;

/// Everything that a plan depends on, as it is now.
pub async fn sources(
    conn: &mut SqliteConnection,
    site: &Site,
    now: Moment,
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
            versions.insert(id, version);
        }
    }
    let lots = stock::store::with_balance(conn).await?;
    let mut holds = HashMap::new();
    let mut cards = HashMap::new();
    for stand in &board.stands {
        // A turnover that is looked at may ask for a clean-out where none is asked for now.
        let planned = stand.open().is_some() || stand.wants_cleanout();
        let may_be = planned || stand.growing().is_some();
        if !may_be || stand.system.laid_up_since.is_some() {
            continue;
        }
        if let Ok(hold) = register::hold::hold_of(conn, stand.system.id).await? {
            holds.insert(stand.system.id, hold);
        }
        let with_card = stand
            .open()
            .filter(|open| matches!(open.state, State::Issued | State::UnderWay));
        if let Some(open) = with_card
            && let Some(lot) = lots.iter().find(|lot| Some(lot.id) == open.lot_id)
        {
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
    }
    Ok(Sources {
        // Nothing is planned for a quarter of an hour that has begun.
        now: now.next_quarter(),
        site: site.clone(),
        crew: given::crew_of(conn).await?,
        weeks: hours::store::weeks(conn, None).await?,
        unusual: hours::store::standing(conn).await?,
        rooms: register::store::rooms::all(conn).await?,
        supplies: register::store::water::all(conn).await?,
        kits: register::store::kit::all(conn).await?,
        jugs: register::store::jugs::all(conn).await?,
        kit_needs,
        deliveries: stock::store::deliveries(conn).await?,
        holds: Arc::new(holds),
        methods: versions,
        current: current.iter().map(|method| method.version_id).collect(),
        entered: store::entered(conn, LEARN_FROM).await?,
        cards,
        pins: store::pins(conn).await?,
        posted: store::postings(conn, 1).await?.pop(),
        draft: store::draft(conn).await?,
        reckoned: Reckoned::default(),
        lots,
        board,
    })
}

/// The last day that is planned.
pub fn last_day(today: chrono::NaiveDate) -> chrono::NaiveDate {
    super::timetable::monday(today) + chrono::Days::new(u64::from(WEEKS) * 7 - 1)
}
