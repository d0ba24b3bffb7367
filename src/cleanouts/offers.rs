//! What can be chosen for a clean-out: systems, methods, lots and jugs, as forms offer them.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::card::FrozenMethod;
use super::{TargetSource, store};
use crate::db::WriteTx;
use crate::ids::{CleanoutId, MethodVersionId, SystemId};
use crate::methods::{self, MethodSummary};
use crate::register::jugs::Jug;
use crate::science::show;
use crate::science::stored::{Millilitres, Minutes};
use crate::science::strength::Strength;
use crate::site::Site;
use crate::stock::Lot;
use crate::{register, stock};

/// The jugs in use, as a form offers them.
pub async fn jugs_offered(
    conn: &mut SqliteConnection,
    site: &Site,
) -> anyhow::Result<Vec<(String, String)>> {
    let jugs = register::store::jugs::all(conn).await?;
    let words = |jug: &Jug| {
        let v = |ml: Millilitres| show::volume(ml.volume(), site.units);
        format!(
            "{}, {} with marks of {}",
            jug.figures.name,
            v(jug.figures.capacity),
            v(jug.figures.mark)
        )
    };
    Ok(jugs
        .iter()
        .filter(|jug| !jug.retired)
        .map(|jug| (jug.id.to_string(), words(jug)))
        .collect())
}

/// The systems that can be cleaned out, as a form offers them.
pub async fn systems_offered(conn: &mut SqliteConnection) -> anyhow::Result<Vec<(String, String)>> {
    let systems = register::store::systems::all(conn).await?;
    let mut offered = vec![(String::new(), "Choose".to_owned())];
    offered.extend(
        systems
            .iter()
            .filter(|system| !system.retired)
            .map(|system| {
                (
                    system.id.to_string(),
                    format!("{}, {}", system.figures.name, system.room_name),
                )
            }),
    );
    Ok(offered)
}

/// Why a system cannot have a clean-out; none when it can.
pub async fn not_usable(
    conn: &mut SqliteConnection,
    system: SystemId,
) -> anyhow::Result<Option<&'static str>> {
    Ok(match register::store::systems::by_id(conn, system).await? {
        None => Some("Choose a system of the register."),
        Some(system) if system.retired => Some("This system is retired."),
        Some(system) if system.laid_up_since.is_some() => {
            Some("This system is laid up. Take it back into use first.")
        }
        Some(_) => None,
    })
}

/// The lots that can be dosed from, as a form offers them.
pub async fn lots_offered(
    conn: &mut SqliteConnection,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<Vec<(String, String)>> {
    let lots = stock::store::with_balance(conn).await?;
    let words = |lot: &Lot| {
        let strength = lot.strength(today).map_or_else(
            |error| error.to_string(),
            |(strength, known)| format!("{} by {}", show::strength(strength), known.words()),
        );
        let due = lot.retest_on.map_or_else(String::new, |due| {
            format!(", retest {}", crate::site::full_day(due))
        });
        format!(
            "{}, {}: {strength}, {} on hand{due}",
            lot.code,
            lot.product,
            show::volume(lot.on_hand.volume(), site.units)
        )
    };
    // The first out stands first, whatever its product; the dose decides which product it is.
    let usable = stock::first_out::usable(&lots, today);
    Ok(usable
        .into_iter()
        .filter(|lot| lot.is_for_doses(today))
        .map(|lot| (lot.id.to_string(), words(lot)))
        .collect())
}

/// A method version, as far as a clean-out is made from it.
#[derive(Clone, Debug)]
pub struct Method {
    pub version_id: MethodVersionId,
    pub length: Minutes,
    pub target: Strength,
    pub target_source: TargetSource,
    pub target_reference: String,
    pub card: FrozenMethod,
}

/// A version; none when there is no such one.
pub async fn method_of(
    conn: &mut SqliteConnection,
    id: MethodVersionId,
) -> anyhow::Result<Option<Method>> {
    let Some(version) = methods::store::version(conn, id).await? else {
        return Ok(None);
    };
    let contents = version.contents;
    Ok(Some(Method {
        version_id: version.id,
        length: contents.length()?,
        target: contents.target,
        target_source: contents.target_source,
        target_reference: contents.target_reference,
        card: FrozenMethod {
            version_id: version.id,
            code: version.code,
            name: version.name.to_string(),
            version: version.version,
            soak: contents.soak,
            rinses_at_least: contents.rinses_at_least,
            rinse_from: contents.rinse_from,
            rinse_to: contents.rinse_to,
            steps: contents.steps,
            limits: contents.limits,
        },
    }))
}

/// The newest version of every method in use, as a form offers them.
pub async fn methods_offered(conn: &mut SqliteConnection) -> anyhow::Result<Vec<(String, String)>> {
    let methods = methods::store::current(conn).await?;
    let words = |method: &MethodSummary| {
        format!(
            "{} version {}, {}",
            method.code, method.version, method.name
        )
    };
    Ok(methods
        .iter()
        .map(|method| (method.version_id.to_string(), words(method)))
        .collect())
}

/// The method that there is, when there is only one.
pub async fn only_method(conn: &mut SqliteConnection) -> anyhow::Result<Option<MethodVersionId>> {
    let methods = methods::store::current(conn).await?;
    Ok(match methods.as_slice() {
        [only] => Some(only.version_id),
        _ => None,
    })
}

/// Chooses the lot and the jug where there is only one.
pub async fn choose_where_there_is_no_choice(
    tx: &mut WriteTx,
    id: CleanoutId,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<()> {
    let only = |options: Vec<(String, String)>| match options.as_slice() {
        [(id, _)] => Some(id.clone()),
        _ => None,
    };
    let lot = only(lots_offered(tx.conn(), site, today).await?).and_then(|id| id.parse().ok());
    let jug = only(jugs_offered(tx.conn(), site).await?).and_then(|id| id.parse().ok());
    store::preset(tx, id, lot, jug).await?;
    Ok(())
}
