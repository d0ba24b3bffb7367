//! What a clean-out took, read from its card, its record and the ledger.

use sqlx::SqliteConnection;

use super::{Cost, Spent, bench_weeks, cost, store, worked_minutes};
use crate::cleanouts::card::{FrozenCard, ReadingKind};
use crate::cleanouts::run::{self, Progress};
use crate::cleanouts::{Cleanout, State};
use crate::crops::Planting;
use crate::register;
use crate::register::water::WaterSource;
use crate::science::stored::Millilitres;
use crate::site::prices::Prices;
use crate::site::{self, Site};

/// The cost of a released clean-out, with the prices it was reckoned with; nothing for any other.
pub async fn of_cleanout(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    card: Option<&FrozenCard>,
    site: &Site,
) -> anyhow::Result<Option<(Cost, Option<Prices>)>> {
    let Some(card) = card.filter(|_| cleanout.state == State::Released) else {
        return Ok(None);
    };
    let record = run::store::record_of(conn, cleanout.id).await?;
    let supplies = register::store::water::all(conn).await?;
    let other_water = supplies.iter().any(|supply| {
        let figures = &supply.figures;
        !supply.retired && (figures.rinses_only || figures.source != WaterSource::Purified)
    });
    let progress = Progress {
        method: &card.method,
        record: &record,
        more_to_pour: false,
    };
    let rinses = if other_water { 0 } else { progress.rinses() };
    let water = card.dose.rinse.as_ref().and_then(|rinse| {
        let fills = rinse.fill.get() * (rinses + 1);
        Millilitres::new(rinse.purified.get() + fills).ok()
    });
    let strips = record.readings.iter().filter(|reading| {
        reading.value.kind() == ReadingKind::Peroxide && reading.corrects.is_none()
    });
    let spent = Spent {
        drawn: store::drawn(conn, cleanout.id).await?,
        strips: strips.count() as i64,
        worked_min: worked_minutes(&record, &card.method),
        water,
    };
    let prices = site::store::prices::newest(conn).await?;
    Ok(Some((cost(&spent, prices.as_ref(), site.units)?, prices)))
}

/// What a clean-out that came after the planting day, or ends after it, costs in bench-weeks, in a sentence;
/// nothing where it is in time or the site gives no figure.
pub async fn lost(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    planting: Option<&Planting>,
    site: &Site,
) -> anyhow::Result<Option<String>> {
    let Some(next_on) = planting.and_then(|planting| planting.next_on) else {
        return Ok(None);
    };
    let ready = match cleanout.state {
        State::CalledOff => return Ok(None),
        State::Released => match store::released_at(conn, cleanout.id).await? {
            Some(at) => at.day(site.zone),
            None => return Ok(None),
        },
        _ => cleanout.ends(&site.hours).date(),
    };
    let days = (ready - next_on).num_days();
    let Some(prices) = site::store::prices::newest(conn).await? else {
        return Ok(None);
    };
    let benches = register::store::benches::of(conn, Some(cleanout.system_id)).await?;
    let benches = benches.iter().filter(|bench| !bench.retired).count();
    let cost = prices
        .bench_week
        .and_then(|week| Some((week, bench_weeks(benches, days, week)?)));
    Ok(cost.map(|(week, cost)| {
        let (came, stand) = match cleanout.state {
            State::Released => ("It was released", "stood"),
            _ => ("It ends", "stand"),
        };
        let days = match days {
            1 => "1\u{a0}day".to_owned(),
            days => format!("{days}\u{a0}days"),
        };
        let benches = match benches {
            1 => "one bench".to_owned(),
            count => format!("{count} benches"),
        };
        format!(
            "{came} {days} after the planting day: {benches} {stand} empty so long, and that costs {} at {} for a bench-week.",
            prices.currency.words(cost),
            week.words()
        )
    }))
}
