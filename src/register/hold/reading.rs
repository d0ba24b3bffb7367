//! Reads what is on record of systems: one query for each kind of part, however many systems are asked for.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::{Hold, NotKnown, Parts};
use crate::ids::{BenchId, SystemId};
use crate::register::part::Part;
use crate::register::store;
use crate::register::systems::System;
use crate::site;

/// Reads all that is on record of a system.
pub async fn parts_of(
    conn: &mut SqliteConnection,
    system: SystemId,
) -> sqlx::Result<Option<Parts>> {
    let found = store::systems::by_id(conn, system).await?;
    let mut parts = read(conn, found.into_iter().collect(), Some(system)).await?;
    Ok(parts.pop())
}

/// The same of many systems, in their order.
pub async fn parts_of_all(
    conn: &mut SqliteConnection,
    systems: Vec<System>,
) -> sqlx::Result<Vec<Parts>> {
    read(conn, systems, None).await
}

/// What a system holds, or why that cannot be said.
pub async fn hold_of(
    conn: &mut SqliteConnection,
    system: SystemId,
) -> sqlx::Result<Result<Hold, NotKnown>> {
    Ok(match parts_of(conn, system).await? {
        Some(parts) => parts.hold(),
        None => Err(NotKnown::Missing(vec![
            "There is no such system.".to_owned(),
        ])),
    })
}

/// The parts of these systems, asked for by name where it is one.
async fn read(
    conn: &mut SqliteConnection,
    systems: Vec<System>,
    only: Option<SystemId>,
) -> sqlx::Result<Vec<Parts>> {
    let benches = store::benches::of(conn, only).await?;
    let stand_in: HashMap<BenchId, SystemId> = benches
        .iter()
        .map(|bench| (bench.id, bench.system_id))
        .collect();
    let tests = store::benches::bucket_tests(conn, only).await?.into_iter();
    let tests = tests.filter_map(|test| Some((*stand_in.get(&test.bench_id)?, test)));
    let mut bucket_tests = by_system(tests);
    let mut benches = by_system(benches.into_iter().map(of_part));
    let mut reservoirs = by_system(
        store::reservoirs::of(conn, only)
            .await?
            .into_iter()
            .map(of_part),
    );
    let mut pumps = by_system(store::pumps::of(conn, only).await?.into_iter().map(of_part));
    let mut tubing = by_system(
        store::tubing::of(conn, only)
            .await?
            .into_iter()
            .map(of_part),
    );
    let fills = store::fills::of(conn, only).await?.into_iter();
    let mut fills = by_system(fills.map(|fill| (fill.system_id, fill)));
    let choices = site::store::sources::in_use(conn).await?;
    let each = systems.into_iter().map(|system| Parts {
        reservoirs: reservoirs.remove(&system.id).unwrap_or_default(),
        benches: benches.remove(&system.id).unwrap_or_default(),
        bucket_tests: bucket_tests.remove(&system.id).unwrap_or_default(),
        pumps: pumps.remove(&system.id).unwrap_or_default(),
        tubing: tubing.remove(&system.id).unwrap_or_default(),
        fills: fills.remove(&system.id).unwrap_or_default(),
        choices: choices.clone(),
        system,
    });
    Ok(each.collect())
}

fn of_part<Id, Figures>(part: Part<Id, Figures>) -> (SystemId, Part<Id, Figures>) {
    (part.system_id, part)
}

/// Sorted by their systems, in the order in which they came.
fn by_system<T>(all: impl Iterator<Item = (SystemId, T)>) -> HashMap<SystemId, Vec<T>> {
    let mut sorted: HashMap<SystemId, Vec<T>> = HashMap::new();
    for (system, one) in all {
        sorted.entry(system).or_default().push(one);
    }
    sorted
}
