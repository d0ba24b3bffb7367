//! The SQL of measured fills.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{MeasuredFillId, PersonId, SystemId};
use crate::register::fills::{MeasuredFill, NewFill, SetAside};
use crate::register::systems::System;
use crate::register::{FillHow, HeelWas, MediaWas};
use crate::science::stored::{Millilitres, Permille};
use crate::text::{Name, Note};

struct Row {
    id: MeasuredFillId,
    system_id: SystemId,
    metered_ml: Millilitres,
    media_was: MediaWas,
    heel_was: HeelWas,
    already_ml: Millilitres,
    how: FillHow,
    off: Option<Permille>,
    computed_ml: Millilitres,
    loop_version: i64,
    measured_on: NaiveDate,
    by: Name,
    note: Note,
    aside_reason: Option<Note>,
    aside_by: Option<Name>,
}

impl From<Row> for MeasuredFill {
    fn from(row: Row) -> Self {
        let set_aside = row
            .aside_reason
            .zip(row.aside_by)
            .map(|(reason, by)| SetAside { reason, by });
        Self {
            id: row.id,
            system_id: row.system_id,
            metered: row.metered_ml,
            media_was: row.media_was,
            heel_was: row.heel_was,
            already: row.already_ml,
            how: row.how,
            off: row.off,
            computed: row.computed_ml,
            loop_version: row.loop_version,
            measured_on: row.measured_on,
            by: row.by,
            note: row.note,
            set_aside,
        }
    }
}

/// The fills of a system, or of every one where none is named, oldest first.
pub async fn of(
    conn: &mut SqliteConnection,
    system: Option<SystemId>,
) -> sqlx::Result<Vec<MeasuredFill>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select f.id as "id!: MeasuredFillId", f.system_id as "system_id: SystemId", f.metered_ml as "metered_ml: Millilitres",
                  f.media_was as "media_was: MediaWas", f.heel_was as "heel_was: HeelWas",
                  f.already_ml as "already_ml: Millilitres", f.how as "how: FillHow", f.off_permille as "off: Permille",
                  f.computed_ml as "computed_ml: Millilitres", f.loop_version, f.measured_on as "measured_on: NaiveDate",
                  p.name as "by: Name", f.note as "note: Note", a.reason as "aside_reason?: Note", q.name as "aside_by?: Name"
             from measured_fill f join person p on p.id = f.person_id
             left join measured_fill_set_aside a on a.fill_id = f.id
             left join person q on q.id = a.person_id
            where ?1 is null or f.system_id = ?1 order by f.measured_on, f.id"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(MeasuredFill::from).collect())
}

pub async fn by_id(
    conn: &mut SqliteConnection,
    id: MeasuredFillId,
) -> sqlx::Result<Option<MeasuredFill>> {
    let system = sqlx::query_scalar!(
        r#"select system_id as "id: SystemId" from measured_fill where id = ?1"#,
        id,
    )
    .fetch_optional(&mut *conn)
    .await?;
    match system {
        Some(system) => Ok(of(conn, Some(system))
            .await?
            .into_iter()
            .find(|fill| fill.id == id)),
        None => Ok(None),
    }
}

/// `already` and `computed` are what the register makes of the system at this moment.
pub async fn insert(
    tx: &mut WriteTx,
    system: &System,
    new: &NewFill,
    already: Millilitres,
    computed: Millilitres,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<MeasuredFillId> {
    sqlx::query_scalar!(
        r#"insert into measured_fill (system_id, metered_ml, media_was, heel_was, already_ml, how, computed_ml,
                                      loop_version, measured_on, person_id, at, note, off_permille)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13) returning id as "id!: MeasuredFillId""#,
        system.id, new.metered, new.media_was, new.heel_was, already, new.how, computed,
        system.loop_version, new.measured_on, person, at, new.note, new.off,
    )
    .fetch_one(tx.conn())
    .await
}

/// The fill stays readable and no longer counts.
pub async fn set_aside(
    tx: &mut WriteTx,
    id: MeasuredFillId,
    reason: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into measured_fill_set_aside (fill_id, reason, person_id, at) values (?1, ?2, ?3, ?4)",
        id,
        reason,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
