//! The only SQL of the crops.

use std::collections::HashSet;

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::{Begins, NewPlanting, Planting, Stage, Turnover, TurnoverMove};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, PersonId, PlantingId, SystemId};
use crate::text::{Name, Note};

pub async fn insert(tx: &mut WriteTx, new: &NewPlanting, at: Moment) -> sqlx::Result<PlantingId> {
    let (stage, already_growing, cleared_by) = match new.begins {
        Begins::Intended => (Stage::Intended, false, None),
        Begins::ClearedBy(release) => (Stage::Growing, false, Some(release)),
        Begins::StoodAlready => (Stage::Growing, true, None),
    };
    let Turnover {
        off_on,
        next_on,
        next_crop,
    } = &new.turnover;
    sqlx::query_scalar!(
        r#"insert into planting (system_id, crop, planted_on, turnover_on, next_on, next_crop, stage,
                                 already_growing, cleared_by, created_at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) returning id as "id!: PlantingId""#,
        new.system_id, new.crop, new.planted_on, off_on, next_on, next_crop, stage, already_growing, cleared_by, at,
    )
    .fetch_one(tx.conn())
    .await
}

pub async fn by_id(conn: &mut SqliteConnection, id: PlantingId) -> sqlx::Result<Option<Planting>> {
    sqlx::query_as!(
        Planting,
        r#"select id as "id!: PlantingId", system_id as "system_id: SystemId", crop as "crop: Name",
                  planted_on as "planted_on: NaiveDate", turnover_on as "turnover_on: NaiveDate",
                  next_on as "next_on: NaiveDate", next_crop as "next_crop: Name", stage as "stage: Stage",
                  off_on as "off_on: NaiveDate", already_growing as "already_growing: bool",
                  cleared_by as "cleared_by: CleanoutId", version
             from planting where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await
}

/// Every planting of a system, newest first, dropped ones left out.
pub async fn of_system(
    conn: &mut SqliteConnection,
    system: SystemId,
) -> sqlx::Result<Vec<Planting>> {
    sqlx::query_as!(
        Planting,
        r#"select id as "id!: PlantingId", system_id as "system_id: SystemId", crop as "crop: Name",
                  planted_on as "planted_on: NaiveDate", turnover_on as "turnover_on: NaiveDate",
                  next_on as "next_on: NaiveDate", next_crop as "next_crop: Name", stage as "stage: Stage",
                  off_on as "off_on: NaiveDate", already_growing as "already_growing: bool",
                  cleared_by as "cleared_by: CleanoutId", version
             from planting where system_id = ?1 and stage <> 'dropped' order by planted_on desc, id desc"#,
        system,
    )
    .fetch_all(conn)
    .await
}

/// What grows, what is intended, what came off on or after this day, and the last crop, of a system or of every
/// one where none is named, in order of planting.
pub async fn around(
    conn: &mut SqliteConnection,
    from: NaiveDate,
    system: Option<SystemId>,
) -> sqlx::Result<Vec<Planting>> {
    sqlx::query_as!(
        Planting,
        r#"select p.id as "id!: PlantingId", p.system_id as "system_id: SystemId", p.crop as "crop: Name",
                  p.planted_on as "planted_on: NaiveDate", p.turnover_on as "turnover_on: NaiveDate",
                  p.next_on as "next_on: NaiveDate", p.next_crop as "next_crop: Name", p.stage as "stage: Stage",
                  p.off_on as "off_on: NaiveDate", p.already_growing as "already_growing: bool",
                  p.cleared_by as "cleared_by: CleanoutId", p.version
             from planting p
            where (?2 is null or p.system_id = ?2)
              and (p.stage in ('intended', 'growing')
               or (p.stage = 'off' and (p.off_on >= ?1 or p.off_on =
                     (select max(q.off_on) from planting q where q.system_id = p.system_id and q.stage = 'off'))))
            order by p.planted_on, p.id"#,
        from,
        system,
    )
    .fetch_all(conn)
    .await
}

/// What grows in a system now.
pub async fn growing_in(
    conn: &mut SqliteConnection,
    system: SystemId,
) -> sqlx::Result<Option<Planting>> {
    let all = of_system(conn, system).await?;
    Ok(all.into_iter().find(Planting::is_growing))
}

/// Whether anything was ever planted in a system.
pub async fn has_grown(conn: &mut SqliteConnection, system: SystemId) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar!(
        "select count(*) from planting where system_id = ?1 and stage in ('growing', 'off')",
        system,
    )
    .fetch_one(conn)
    .await?;
    Ok(found > 0)
}

/// The releases that a planting went on after.
pub async fn spent(conn: &mut SqliteConnection) -> sqlx::Result<HashSet<CleanoutId>> {
    let ids = sqlx::query_scalar!(
        r#"select cleared_by as "id!: CleanoutId" from planting where cleared_by is not null"#
    )
    .fetch_all(conn)
    .await?;
    Ok(ids.into_iter().collect())
}

/// Moves a turnover and keeps the old days. False when somebody changed the planting since.
pub async fn move_turnover(
    tx: &mut WriteTx,
    planting: &Planting,
    new: &Turnover,
    reason: &Note,
    person: Option<PersonId>,
    at: Moment,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update planting set turnover_on = ?3, next_on = ?4, next_crop = ?5, version = version + 1
          where id = ?1 and version = ?2 and stage in ('intended', 'growing', 'off')",
        planting.id,
        planting.version,
        new.off_on,
        new.next_on,
        new.next_crop,
    )
    .execute(tx.conn())
    .await?;
    if done.rows_affected() == 0 {
        return Ok(false);
    }
    sqlx::query!(
        "insert into turnover_move (planting_id, old_turnover_on, old_next_on, new_turnover_on, new_next_on,
                                    reason, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        planting.id, planting.turnover_on, planting.next_on, new.off_on, new.next_on, reason, person, at,
    )
    .execute(tx.conn())
    .await?;
    Ok(true)
}

/// The crop came off on this day. False when somebody changed the planting since, or it does not grow.
pub async fn take_off(tx: &mut WriteTx, planting: &Planting, day: NaiveDate) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update planting set stage = 'off', off_on = ?3, version = version + 1
          where id = ?1 and version = ?2 and stage = 'growing'",
        planting.id,
        planting.version,
        day,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

/// An intended planting was planted on this day, after this release.
pub async fn plant(
    tx: &mut WriteTx,
    planting: &Planting,
    day: NaiveDate,
    release: CleanoutId,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update planting set stage = 'growing', planted_on = ?3, cleared_by = ?4, version = version + 1
          where id = ?1 and version = ?2 and stage = 'intended'",
        planting.id,
        planting.version,
        day,
        release,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

/// An intended planting will not be.
pub async fn drop_intended(tx: &mut WriteTx, planting: &Planting) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update planting set stage = 'dropped', version = version + 1
          where id = ?1 and version = ?2 and stage = 'intended'",
        planting.id,
        planting.version,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

/// How a turnover was moved, newest first.
pub async fn moves(
    conn: &mut SqliteConnection,
    planting: PlantingId,
) -> sqlx::Result<Vec<TurnoverMove>> {
    sqlx::query_as!(
        TurnoverMove,
        r#"select m.planting_id as "planting_id: PlantingId", m.old_turnover_on as "old_turnover_on: NaiveDate",
                  m.old_next_on as "old_next_on: NaiveDate", m.new_turnover_on as "new_turnover_on: NaiveDate",
                  m.new_next_on as "new_next_on: NaiveDate", m.reason as "reason: Note",
                  p.name as "person?: Name", m.at as "at: Moment"
             from turnover_move m left join person p on p.id = m.person_id
            where m.planting_id = ?1 order by m.id desc"#,
        planting,
    )
    .fetch_all(conn)
    .await
}

/// The turnover day before the last move of each planting that was moved.
pub async fn moved_from(conn: &mut SqliteConnection) -> sqlx::Result<Vec<(PlantingId, NaiveDate)>> {
    let rows = sqlx::query!(
        r#"select m.planting_id as "planting_id: PlantingId", m.old_turnover_on as "was!: NaiveDate"
             from turnover_move m join planting p on p.id = m.planting_id
            where m.old_turnover_on is not null and m.old_turnover_on is not m.new_turnover_on
              and p.stage in ('intended', 'growing')
              and m.id = (select max(n.id) from turnover_move n where n.planting_id = m.planting_id)"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.planting_id, row.was))
        .collect())
}
