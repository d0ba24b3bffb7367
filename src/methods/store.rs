//! The only SQL of the methods.

use anyhow::Context;
use sqlx::SqliteConnection;

use super::{
    Contents, Least, Limit, Marks, MethodSummary, MethodVersion, Phase, ReadingKind, Step,
    StepKind, TargetSource,
};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{MethodId, MethodVersionId, PersonId};
use crate::science::agents::AgentKind;
use crate::science::stored::{Millimetres, Minutes};
use crate::science::strength::{Basis, Strength};
use crate::text::{Name, Note};

/// The agent that every method here doses with.
const AGENT: &str = "hydrogen peroxide";

pub async fn insert_method(tx: &mut WriteTx, code: &str, name: &Name) -> sqlx::Result<MethodId> {
    sqlx::query_scalar!(
        r#"insert into method (code, name) values (?1, ?2) returning id as "id!: MethodId""#,
        code,
        name,
    )
    .fetch_one(tx.conn())
    .await
}

/// Writes a version with its phases, steps and limits. The steps are numbered in their order.
pub async fn insert_version(
    tx: &mut WriteTx,
    method: MethodId,
    version: i64,
    contents: &Contents,
    why: &Note,
    written_by: Option<PersonId>,
    at: Moment,
) -> sqlx::Result<MethodVersionId> {
    let (value, basis) = (contents.target.value(), contents.target.basis());
    let id = sqlx::query_scalar!(
        r#"insert into method_version (method_id, version, agent, target_value, target_basis, target_source, target_reference,
                                       soak_min, rinses_at_least, rinse_from_min, rinse_to_min, cover_mm, why, person_id, at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15) returning id as "id!: MethodVersionId""#,
        method, version, AGENT, value, basis, contents.target_source, contents.target_reference, contents.soak,
        contents.rinses_at_least, contents.rinse_from, contents.rinse_to, contents.cover, why, written_by, at,
    )
    .fetch_one(tx.conn())
    .await?;
    for (phase, minutes) in &contents.phases {
        sqlx::query!(
            "insert into method_phase (method_version_id, phase, minutes) values (?1, ?2, ?3)",
            id,
            phase,
            minutes,
        )
        .execute(tx.conn())
        .await?;
    }
    for (no, step) in (1i64..).zip(&contents.steps) {
        sqlx::query!(
            "insert into method_step (method_version_id, no, phase, kind, text, caution, least, two_people, reading, minutes, marks, agent)
             values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
            id, no, step.phase, step.kind, step.text, step.caution, step.least, step.two_people, step.reading,
            step.minutes, step.marks, step.agent,
        )
        .execute(tx.conn())
        .await?;
    }
    for limit in &contents.limits {
        sqlx::query!(
            "insert into method_limit (method_version_id, reading, at_least_milli, at_most_milli, why) values (?1, ?2, ?3, ?4, ?5)",
            id, limit.reading, limit.at_least_milli, limit.at_most_milli, limit.why,
        )
        .execute(tx.conn())
        .await?;
    }
    Ok(id)
}

/// Takes a method out of the list to choose from, or puts it back. Its versions stay readable.
pub async fn retire(
    tx: &mut WriteTx,
    id: MethodId,
    retired_at: Option<Moment>,
) -> sqlx::Result<()> {
    sqlx::query!(
        "update method set retired_at = ?2 where id = ?1",
        id,
        retired_at
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

struct SummaryRow {
    id: MethodId,
    code: String,
    name: Name,
    retired: bool,
    version_id: MethodVersionId,
    version: i64,
    target_value: f64,
    target_basis: Basis,
    target_source: TargetSource,
    target_reference: String,
    soak: Minutes,
    length: Minutes,
}

/// The newest version of every method in use.
pub async fn current(conn: &mut SqliteConnection) -> anyhow::Result<Vec<MethodSummary>> {
    let mut methods = all(conn).await?;
    methods.retain(|method| !method.retired);
    Ok(methods)
}

/// The newest version of every method, retired ones last.
pub async fn all(conn: &mut SqliteConnection) -> anyhow::Result<Vec<MethodSummary>> {
    let rows = sqlx::query_as!(
        SummaryRow,
        r#"select m.id as "id!: MethodId", m.code, m.name as "name: Name", m.retired_at is not null as "retired!: bool",
                  v.id as "version_id!: MethodVersionId", v.version, v.target_value, v.target_basis as "target_basis: Basis",
                  v.target_source as "target_source: TargetSource", v.target_reference, v.soak_min as "soak: Minutes",
                  (select coalesce(sum(p.minutes), 0) from method_phase p where p.method_version_id = v.id) as "length!: Minutes"
             from method m
             join method_version v on v.method_id = m.id
            where v.version = (select max(n.version) from method_version n where n.method_id = m.id)
            order by m.retired_at is not null, m.code"#
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter()
        .map(|row| {
            Ok(MethodSummary {
                id: row.id,
                code: row.code,
                name: row.name,
                retired: row.retired,
                version_id: row.version_id,
                version: row.version,
                target: Strength::new(row.target_value, row.target_basis)?,
                target_source: row.target_source,
                target_reference: row.target_reference,
                soak: row.soak,
                length: row.length,
            })
        })
        .collect()
}

/// One version of a method, as in the choice of what to compare.
#[derive(Clone, Debug)]
pub struct Written {
    pub id: MethodVersionId,
    pub version: i64,
    pub why: Note,
    pub written_by: Option<Name>,
    pub at: Moment,
}

/// Every version of a method, newest first.
pub async fn versions(conn: &mut SqliteConnection, id: MethodId) -> sqlx::Result<Vec<Written>> {
    sqlx::query_as!(
        Written,
        r#"select v.id as "id!: MethodVersionId", v.version, v.why as "why: Note", p.name as "written_by?: Name",
                  v.at as "at: Moment"
             from method_version v left join person p on p.id = v.person_id
            where v.method_id = ?1 order by v.version desc"#,
        id,
    )
    .fetch_all(conn)
    .await
}

struct VersionRow {
    id: MethodVersionId,
    method_id: MethodId,
    code: String,
    name: Name,
    retired: bool,
    version: i64,
    target_value: f64,
    target_basis: Basis,
    target_source: TargetSource,
    target_reference: String,
    soak: Minutes,
    rinses_at_least: i64,
    rinse_from: Minutes,
    rinse_to: Minutes,
    cover: Millimetres,
    why: Note,
    written_by: Option<Name>,
    at: Moment,
}

/// A version with its steps, limits and phases.
pub async fn version(
    conn: &mut SqliteConnection,
    id: MethodVersionId,
) -> anyhow::Result<Option<MethodVersion>> {
    let row = sqlx::query_as!(
        VersionRow,
        r#"select v.id as "id!: MethodVersionId", m.id as "method_id!: MethodId", m.code, m.name as "name: Name",
                  m.retired_at is not null as "retired!: bool", v.version, v.target_value,
                  v.target_basis as "target_basis: Basis", v.target_source as "target_source: TargetSource",
                  v.target_reference, v.soak_min as "soak: Minutes", v.rinses_at_least, v.rinse_from_min as "rinse_from: Minutes",
                  v.rinse_to_min as "rinse_to: Minutes", v.cover_mm as "cover: Millimetres", v.why as "why: Note",
                  p.name as "written_by?: Name", v.at as "at: Moment"
             from method_version v
             join method m on m.id = v.method_id
             left join person p on p.id = v.person_id
            where v.id = ?1"#,
        id,
    )
    .fetch_optional(&mut *conn)
    .await?;
    let Some(row) = row else { return Ok(None) };
    let contents = Contents {
        target: Strength::new(row.target_value, row.target_basis)?,
        target_source: row.target_source,
        target_reference: row.target_reference,
        soak: row.soak,
        rinses_at_least: row.rinses_at_least,
        rinse_from: row.rinse_from,
        rinse_to: row.rinse_to,
        cover: row.cover,
        phases: phases(conn, id).await?,
        steps: steps(conn, id).await?,
        limits: limits(conn, id).await?,
    };
    Ok(Some(MethodVersion {
        id: row.id,
        method_id: row.method_id,
        code: row.code,
        name: row.name,
        retired: row.retired,
        version: row.version,
        contents,
        why: row.why,
        written_by: row.written_by,
        at: row.at,
    }))
}

/// The newest version of a method.
pub async fn newest(
    conn: &mut SqliteConnection,
    id: MethodId,
) -> anyhow::Result<Option<MethodVersion>> {
    let found = sqlx::query_scalar!(
        r#"select id as "id!: MethodVersionId" from method_version where method_id = ?1 order by version desc limit 1"#,
        id,
    )
    .fetch_optional(&mut *conn)
    .await?;
    match found {
        Some(found) => version(conn, found).await,
        None => Ok(None),
    }
}

async fn phases(
    conn: &mut SqliteConnection,
    id: MethodVersionId,
) -> anyhow::Result<Vec<(Phase, Minutes)>> {
    let rows = sqlx::query!(
        r#"select phase as "phase: Phase", minutes as "minutes: Minutes" from method_phase where method_version_id = ?1"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    // The order of the phases is that of the work, not that of the alphabet.
    Phase::ALL
        .iter()
        .map(|phase| {
            let row = rows.iter().find(|row| row.phase == *phase);
            let row =
                row.with_context(|| format!("method version {id} has no minutes for {phase}"))?;
            Ok((*phase, row.minutes))
        })
        .collect()
}

async fn steps(conn: &mut SqliteConnection, id: MethodVersionId) -> sqlx::Result<Vec<Step>> {
    sqlx::query_as!(
        Step,
        r#"select no, phase as "phase: Phase", kind as "kind: StepKind", text, caution, least as "least: Least",
                  two_people as "two_people: bool", reading as "reading: ReadingKind", minutes as "minutes: Minutes",
                  marks as "marks: Marks", agent as "agent: AgentKind"
             from method_step where method_version_id = ?1 order by no"#,
        id,
    )
    .fetch_all(conn)
    .await
}

async fn limits(conn: &mut SqliteConnection, id: MethodVersionId) -> sqlx::Result<Vec<Limit>> {
    let mut limits = sqlx::query_as!(
        Limit,
        r#"select reading as "reading: ReadingKind", at_least_milli, at_most_milli, why
             from method_limit where method_version_id = ?1"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    limits.sort_by_key(|limit| limit.reading);
    Ok(limits)
}
