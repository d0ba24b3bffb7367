//! The SQL of a run: entries, pours, readings and troubles, added and read.

use chrono::NaiveDate;
use chrono_tz::Tz;
use sqlx::SqliteConnection;

use super::{Bound, By, Measured, Poured, Reading, Record, Span, StepEntry, Trouble, What};
use crate::cleanouts::card::ReadingKind;
use crate::cleanouts::path;
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, GaugeId, LotId, PersonId, StockEntryId, SystemId};
use crate::register::flow_tests::{TestFigures, Timed, Timing};
use crate::science::stored::{Millilitres, Milliseconds, TenthsCelsius};
use crate::text::{Name, Note};

/// All that was entered for a clean-out.
pub async fn record_of(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Record> {
    Ok(Record {
        entries: entries_of(conn, id).await?,
        pours: pours_of(conn, id).await?,
        readings: readings_of(conn, id).await?,
        troubles: troubles_of(conn, id).await?,
    })
}

fn second(id: Option<PersonId>, name: Option<Name>) -> Option<By> {
    id.zip(name).map(|(id, name)| By { id, name })
}

async fn entries_of(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Vec<StepEntry>> {
    let rows = sqlx::query!(
        r#"select e.id as "id!", e.step_no, e.what as "what: What", e.person_id as "person_id: PersonId", p.name as "name: Name",
                  e.second_person_id as "second_id: PersonId", s.name as "second_name?: Name", e.note as "note: Note",
                  e.at as "at: Moment", g.name as "helped?: Name", h.head_count as "head_count?"
             from step_entry e
             join person p on p.id = e.person_id
             left join person s on s.id = e.second_person_id
             left join step_helper h on h.step_entry_id = e.id
             left join person g on g.id = h.group_id
            where e.cleanout_id = ?1 order by e.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| StepEntry {
            id: row.id,
            step_no: row.step_no,
            what: row.what,
            by: By {
                id: row.person_id,
                name: row.name,
            },
            second: second(row.second_id, row.second_name),
            helped: row.helped.zip(row.head_count),
            note: row.note,
            at: row.at,
        })
        .collect())
}

async fn pours_of(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Vec<Poured>> {
    let rows = sqlx::query!(
        r#"select r.pour_no, r.planned_ml as "planned: Millilitres", r.poured_ml as "poured: Millilitres",
                  r.lot_id as "lot_id: LotId", r.person_id as "person_id: PersonId", p.name as "name: Name",
                  r.second_person_id as "second_id: PersonId", s.name as "second_name?: Name", r.at as "at: Moment"
             from pour r
             join person p on p.id = r.person_id
             left join person s on s.id = r.second_person_id
            where r.cleanout_id = ?1 order by r.pour_no"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Poured {
            no: row.pour_no,
            planned: row.planned,
            poured: row.poured,
            lot_id: row.lot_id,
            by: By {
                id: row.person_id,
                name: row.name,
            },
            second: second(row.second_id, row.second_name),
            at: row.at,
        })
        .collect())
}

async fn readings_of(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Vec<Reading>> {
    let rows = sqlx::query!(
        r#"select r.id as "id!", r.step_no, r.reading as "kind: ReadingKind", r.value_milli, r.bound as "bound: Bound", r.tool,
                  r.tool_expires_on as "tool_expires_on: NaiveDate", r.from_milli, r.to_milli, r.range_how, r.person_id as "person_id: PersonId",
                  p.name as "name: Name", r.at as "at: Moment", r.corrects
             from reading r join person p on p.id = r.person_id
            where r.cleanout_id = ?1 order by r.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Reading {
            id: row.id,
            step_no: row.step_no,
            value: Measured::stored(
                row.kind,
                row.value_milli,
                row.bound,
                row.from_milli.map(|from| Span {
                    from,
                    to: row.to_milli,
                }),
            ),
            how: row.range_how,
            tool: row.tool,
            tool_expires_on: row.tool_expires_on,
            by: By {
                id: row.person_id,
                name: row.name,
            },
            at: row.at,
            corrects: row.corrects,
        })
        .collect())
}

async fn troubles_of(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Vec<Trouble>> {
    let rows = sqlx::query!(
        r#"select t.step_no, t.text as "text: Note", t.person_id as "person_id: PersonId", p.name as "name: Name",
                  t.at as "at: Moment"
             from trouble_note t join person p on p.id = t.person_id
            where t.cleanout_id = ?1 order by t.id"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Trouble {
            step_no: row.step_no,
            text: row.text,
            by: By {
                id: row.person_id,
                name: row.name,
            },
            at: row.at,
        })
        .collect())
}

/// What the clean-outs of a system timed, as far as it was not put right later; days in the site's zone.
pub async fn timings_of_system(
    conn: &mut SqliteConnection,
    system: SystemId,
    zone: Tz,
) -> sqlx::Result<Vec<Timing>> {
    let rows = sqlx::query!(
        r#"select r.reading as "kind: ReadingKind", r.value_milli as "took: Milliseconds", p.name as "by: Name",
                  coalesce(o.at, r.at) as "at!: Moment", c.number, c.id as "cleanout!: CleanoutId", r.flow_version,
                  -- The water was measured beside it: the newest reading within an hour either way.
                  (select t.value_milli / 100 from reading t
                    where t.cleanout_id = r.cleanout_id and t.reading = 'temperature'
                      and not exists (select 1 from reading u where u.corrects = t.id)
                      and abs(julianday(t.at) - julianday(r.at)) <= 1.0 / 24
                    order by t.id desc limit 1) as "water: TenthsCelsius"
             from reading r
             join cleanout c on c.id = r.cleanout_id
             join person p on p.id = r.person_id
             left join reading o on o.id = r.corrects
            where c.system_id = ?1 and r.reading in ('flood seconds', 'drain seconds')
              and not exists (select 1 from reading n where n.corrects = r.id)
            order by r.id"#,
        system,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Timing {
            figures: TestFigures {
                kind: if row.kind == ReadingKind::DrainSeconds {
                    Timed::Drain
                } else {
                    Timed::Flood
                },
                caught: None,
                took: row.took,
                water: row.water,
                lift: None,
            },
            flow_version: row.flow_version,
            on: row.at.day(zone),
            by: row.by,
            cleanout: Some((row.number, path(row.cleanout))),
        })
        .collect())
}

/// Who enters something, for what, and when.
#[derive(Clone, Copy, Debug)]
pub struct Entering {
    pub cleanout: CleanoutId,
    pub step_no: i64,
    pub person: PersonId,
    pub second: Option<PersonId>,
    pub at: Moment,
}

pub async fn insert_entry(
    tx: &mut WriteTx,
    by: Entering,
    what: What,
    note: &Note,
) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        r#"insert into step_entry (cleanout_id, step_no, what, person_id, second_person_id, note, at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7) returning id as "id!: i64""#,
        by.cleanout,
        by.step_no,
        what,
        by.person,
        by.second,
        note,
        by.at,
    )
    .fetch_one(tx.conn())
    .await
}

/// The group that helped at what was entered.
pub async fn insert_helper(
    tx: &mut WriteTx,
    entry: i64,
    group: PersonId,
    head_count: i64,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into step_helper (step_entry_id, group_id, head_count) values (?1, ?2, ?3)",
        entry,
        group,
        head_count,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// A pour to be written beside the stock entry that it was drawn by.
#[derive(Clone, Copy, Debug)]
pub struct NewPour {
    pub no: i64,
    pub planned: Millilitres,
    pub poured: Millilitres,
    pub lot: LotId,
    pub drawn: StockEntryId,
}

pub async fn insert_pour(tx: &mut WriteTx, by: Entering, new: &NewPour) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into pour (cleanout_id, step_no, pour_no, planned_ml, poured_ml, lot_id, stock_entry_id, person_id,
                           second_person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        by.cleanout,
        by.step_no,
        new.no,
        new.planned,
        new.poured,
        new.lot,
        new.drawn,
        by.person,
        by.second,
        by.at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// A reading to be written.
#[derive(Clone, Debug)]
pub struct NewReading {
    pub value: Measured,
    /// How its range is known.
    pub how: String,
    pub gauge: Option<GaugeId>,
    /// The water that was read was diluted one part in so many.
    pub diluted: i64,
    pub tool: String,
    pub tool_expires_on: Option<NaiveDate>,
    pub corrects: Option<i64>,
}

pub async fn insert_reading(tx: &mut WriteTx, by: Entering, new: &NewReading) -> sqlx::Result<()> {
    let (kind, milli, bound) = (new.value.kind(), new.value.milli(), new.value.bound());
    let Span { from, to } = new.value.span();
    sqlx::query!(
        "insert into reading (cleanout_id, step_no, reading, value_milli, bound, tool, tool_expires_on, person_id, at, corrects,
                              from_milli, to_milli, range_how, gauge_id, diluted, flow_version)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15,
                 (select s.flow_version from cleanout c join system s on s.id = c.system_id where c.id = ?1))",
        by.cleanout,
        by.step_no,
        kind,
        milli,
        bound,
        new.tool,
        new.tool_expires_on,
        by.person,
        by.at,
        new.corrects,
        from,
        to,
        new.how,
        new.gauge,
        new.diluted,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

pub async fn insert_trouble(tx: &mut WriteTx, by: Entering, text: &Note) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into trouble_note (cleanout_id, step_no, text, person_id, at) values (?1, ?2, ?3, ?4, ?5)",
        by.cleanout,
        by.step_no,
        text,
        by.person,
        by.at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
