//! The SQL of flow tests.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{FlowTestId, PersonId, SystemId};
use crate::register::fills::SetAside;
use crate::register::flow_tests::{FlowTest, TestFigures, Timed};
use crate::science::stored::{Millilitres, Millimetres, Milliseconds, TenthsCelsius};
use crate::text::{Name, Note};

/// The tests of a system, oldest first.
pub async fn of_system(
    conn: &mut SqliteConnection,
    system: SystemId,
) -> sqlx::Result<Vec<FlowTest>> {
    let rows = sqlx::query!(
        r#"select t.id as "id!: FlowTestId", t.system_id as "system_id: SystemId", t.kind as "kind: Timed",
                  t.caught_ml as "caught: Millilitres", t.took_ms as "took: Milliseconds",
                  t.water_tenths_celsius as "water: TenthsCelsius", t.lift_mm as "lift: Millimetres",
                  t.tested_on as "tested_on: NaiveDate", t.flow_version, t.note as "note: Note", p.name as "by: Name",
                  a.reason as "aside_reason?: Note", q.name as "aside_by?: Name"
             from flow_test t join person p on p.id = t.person_id
             left join flow_test_set_aside a on a.test_id = t.id
             left join person q on q.id = a.person_id
            where t.system_id = ?1 order by t.tested_on, t.id"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| FlowTest {
            id: row.id,
            system_id: row.system_id,
            figures: TestFigures {
                kind: row.kind,
                caught: row.caught,
                took: row.took,
                water: row.water,
                lift: row.lift,
            },
            tested_on: row.tested_on,
            flow_version: row.flow_version,
            note: row.note,
            by: row.by,
            set_aside: row
                .aside_reason
                .zip(row.aside_by)
                .map(|(reason, by)| SetAside { reason, by }),
        })
        .collect())
}

pub async fn by_id(conn: &mut SqliteConnection, id: FlowTestId) -> sqlx::Result<Option<FlowTest>> {
    let system = sqlx::query_scalar!(
        r#"select system_id as "id: SystemId" from flow_test where id = ?1"#,
        id,
    )
    .fetch_optional(&mut *conn)
    .await?;
    Ok(match system {
        Some(system) => of_system(conn, system)
            .await?
            .into_iter()
            .find(|test| test.id == id),
        None => None,
    })
}

/// A test to be written.
#[derive(Clone, Debug)]
pub struct NewTest {
    pub figures: TestFigures,
    pub tested_on: NaiveDate,
    pub note: Note,
}

pub async fn insert(
    tx: &mut WriteTx,
    system: SystemId,
    new: &NewTest,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<FlowTestId> {
    let figures = &new.figures;
    sqlx::query_scalar!(
        r#"insert into flow_test (system_id, kind, caught_ml, took_ms, water_tenths_celsius, lift_mm, tested_on, note, person_id, at, flow_version)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, (select flow_version from system where id = ?1)) returning id as "id!: FlowTestId""#,
        system, figures.kind, figures.caught, figures.took, figures.water, figures.lift,
        new.tested_on, new.note, person, at,
    )
    .fetch_one(tx.conn())
    .await
}

/// The test stays readable and no longer counts.
pub async fn set_aside(
    tx: &mut WriteTx,
    id: FlowTestId,
    reason: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into flow_test_set_aside (test_id, reason, person_id, at) values (?1, ?2, ?3, ?4)",
        id,
        reason,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
