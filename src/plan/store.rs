//! The SQL of plans, pins, and what runs tell of their lengths.

use std::sync::Arc;

use sqlx::SqliteConnection;

use super::learn::Entered;
use super::sources::{Kept, Pin};
use super::timetable::{Entry, Line, Standing, Work};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, MethodId, PersonId, PlanId, PlantingId, SiteId, SystemId};
use crate::methods::Phase;
use crate::text::Name;

/// Keeps a plan as it stands.
pub async fn insert(
    tx: &mut WriteTx,
    site: SiteId,
    posted: bool,
    entries: &[Entry],
    person: PersonId,
    at: Moment,
) -> sqlx::Result<PlanId> {
    let standing = if posted { "posted" } else { "draft" };
    let id = sqlx::query_scalar!(
        r#"insert into plan (site_id, standing, person_id, at) values (?1, ?2, ?3, ?4) returning id as "id!: PlanId""#,
        site,
        standing,
        person,
        at,
    )
    .fetch_one(tx.conn())
    .await?;
    let mut no = 0_i64;
    for entry in entries {
        let stood = entry.standing == Standing::Fixed;
        for line in &entry.lines {
            let nobody = line.people.is_empty().then_some(None);
            let people = line.people.iter().map(|person| Some(*person)).chain(nobody);
            for person in people {
                no += 1;
                sqlx::query!(
                    "insert into plan_line (plan_id, no, system_id, planting_id, cleanout_id, work, from_at, to_at, person_id, stood)
                     values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
                    id, no, entry.system, entry.planting, entry.cleanout, line.work, line.from, line.to, person, stood,
                )
                .execute(tx.conn())
                .await?;
            }
        }
    }
    Ok(id)
}

struct PlanRow {
    id: PlanId,
    posted: bool,
    by: Name,
    at: Moment,
}

/// The last postings, the newest first. What is `known` of one of them already is not read again.
pub async fn postings(
    conn: &mut SqliteConnection,
    most: i64,
    known: Option<&Kept>,
) -> sqlx::Result<Vec<Kept>> {
    let rows = sqlx::query_as!(
        PlanRow,
        r#"select p.id as "id!: PlanId", true as "posted!: bool", q.name as "by: Name", p.at as "at: Moment"
             from plan p join person q on q.id = p.person_id
            where p.standing = 'posted' order by p.id desc limit ?1"#,
        most,
    )
    .fetch_all(&mut *conn)
    .await?;
    let mut kept = Vec::new();
    for row in rows {
        kept.push(with_lines(conn, row, known).await?);
    }
    Ok(kept)
}

/// Whether a plan was posted then or later.
pub async fn posted_since(conn: &mut SqliteConnection, at: Moment) -> sqlx::Result<bool> {
    sqlx::query_scalar!(
        r#"select exists(select 1 from plan where standing = 'posted' and at >= ?1) as "posted!: bool""#,
        at,
    )
    .fetch_one(conn)
    .await
}

/// The newest draft after the last posting, what is `known` of it not read again.
pub async fn draft(
    conn: &mut SqliteConnection,
    known: Option<&Kept>,
) -> sqlx::Result<Option<Kept>> {
    let row = sqlx::query_as!(
        PlanRow,
        r#"select p.id as "id!: PlanId", false as "posted!: bool", q.name as "by: Name", p.at as "at: Moment"
             from plan p join person q on q.id = p.person_id
            where p.standing = 'draft' and p.id > (select coalesce(max(id), 0) from plan where standing = 'posted')
            order by p.id desc limit 1"#
    )
    .fetch_optional(&mut *conn)
    .await?;
    Ok(match row {
        Some(row) => Some(with_lines(conn, row, known).await?),
        None => None,
    })
}

/// A plan, posted or not.
pub async fn by_id(conn: &mut SqliteConnection, id: PlanId) -> sqlx::Result<Option<Kept>> {
    let row = sqlx::query_as!(
        PlanRow,
        r#"select p.id as "id!: PlanId", p.standing = 'posted' as "posted!: bool", q.name as "by: Name", p.at as "at: Moment"
             from plan p join person q on q.id = p.person_id where p.id = ?1"#,
        id,
    )
    .fetch_optional(&mut *conn)
    .await?;
    Ok(match row {
        Some(row) => Some(with_lines(conn, row, None).await?),
        None => None,
    })
}

async fn with_lines(
    conn: &mut SqliteConnection,
    row: PlanRow,
    known: Option<&Kept>,
) -> sqlx::Result<Kept> {
    let entries = match known.filter(|known| (known.id, known.at) == (row.id, row.at)) {
        Some(known) => Arc::clone(&known.entries),
        None => Arc::new(entries(conn, &row).await?.into()),
    };
    Ok(Kept {
        id: row.id,
        posted: row.posted,
        by: row.by,
        at: row.at,
        entries,
    })
}

async fn entries(conn: &mut SqliteConnection, row: &PlanRow) -> sqlx::Result<Vec<Entry>> {
    let lines = sqlx::query!(
        r#"select system_id as "system: SystemId", planting_id as "planting: PlantingId",
                  cleanout_id as "cleanout: CleanoutId", work as "work: Work", from_at as "from: Moment",
                  to_at as "to: Moment", person_id as "person: PersonId", stood as "stood: bool"
             from plan_line where plan_id = ?1 order by no"#,
        row.id,
    )
    .fetch_all(conn)
    .await?;
    let mut entries: Vec<Entry> = Vec::new();
    for line in lines {
        if entries
            .last()
            .is_none_or(|entry| entry.system != line.system)
        {
            entries.push(Entry {
                system: line.system,
                planting: line.planting,
                cleanout: line.cleanout,
                lines: Vec::new(),
                standing: match (line.stood, row.posted) {
                    (true, _) => Standing::Fixed,
                    (false, true) => Standing::Posted,
                    (false, false) => Standing::Proposed,
                },
                pinned: false,
            });
        }
        let Some(entry) = entries.last_mut() else {
            continue;
        };
        match entry.lines.last_mut() {
            Some(last) if last.work == line.work && last.from == line.from => {
                last.people.extend(line.person);
            }
            _ => entry.lines.push(Line {
                work: line.work,
                from: line.from,
                to: line.to,
                people: line.person.into_iter().collect(),
            }),
        }
    }
    Ok(entries)
}

/// The pins that count.
pub async fn pins(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Pin>> {
    let rows = sqlx::query!(
        r#"select system_id as "system: SystemId", planting_id as "planting: PlantingId", strip_at as "strip!: Moment",
                  dose_at as "dose!: Moment", rinse_at as "rinse!: Moment", teardown_at as "teardown!: Moment",
                  refit_at as "refit!: Moment"
             from plan_pin
            where id in (select max(id) from plan_pin group by system_id) and strip_at is not null
            order by system_id"#
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Pin {
            system: row.system,
            planting: row.planting,
            starts: [row.strip, row.dose, row.rinse, row.teardown, row.refit],
        })
        .collect())
}

/// Holds a clean-out to these beginnings, or, without any, lets it go.
pub async fn pin(
    tx: &mut WriteTx,
    system: SystemId,
    planting: Option<PlantingId>,
    starts: Option<[Moment; 5]>,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    let [strip, dose, rinse, teardown, refit] = match starts {
        Some(starts) => starts.map(Some),
        None => [None; 5],
    };
    sqlx::query!(
        "insert into plan_pin (system_id, planting_id, strip_at, dose_at, rinse_at, teardown_at, refit_at, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        system, planting, strip, dose, rinse, teardown, refit, person, at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// What was entered while the last released clean-outs were carried out.
pub async fn entered(conn: &mut SqliteConnection, jobs: i64) -> sqlx::Result<Vec<Entered>> {
    sqlx::query_as!(
        Entered,
        r#"select c.id as "cleanout!: CleanoutId", c.system_id as "system!: SystemId", v.method_id as "method!: MethodId",
                  s.phase as "phase!: Phase", e.at as "at!: Moment"
             from (select cleanout_id, step_no, at from step_entry where what <> 'undone'
                   union all select cleanout_id, step_no, at from pour
                   union all select cleanout_id, step_no, at from reading where step_no is not null) e
             join cleanout c on c.id = e.cleanout_id
             join method_version v on v.id = c.method_version_id
             join method_step s on s.method_version_id = v.id and s.no = e.step_no
            where c.id in (select id from cleanout where state = 'released' order by id desc limit ?1)
            order by c.id, e.at"#,
        jobs,
    )
    .fetch_all(conn)
    .await
}
