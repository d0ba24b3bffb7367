//! The only SQL of the crew.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::{AgeBand, Kind, Person, Role, Skill, SkillKind, session_store};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, SkillId};
use crate::text::Name;

/// What a sign-in is checked against.
pub async fn password_hash_of(
    conn: &mut SqliteConnection,
    sign_in: &str,
) -> sqlx::Result<Option<(PersonId, String)>> {
    let row = sqlx::query!(
        r#"select id as "id!: PersonId", password_hash as "password_hash!" from person
            where sign_in = ?1 and password_hash is not null and ended_at is null"#,
        sign_in,
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| (row.id, row.password_hash)))
}

/// Whether anybody can sign in; before that the first-run page is open.
pub async fn anybody(conn: &mut SqliteConnection) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar!("select count(*) from person where password_hash is not null")
        .fetch_one(conn)
        .await?;
    Ok(found > 0)
}

/// A new person or group.
#[derive(Clone, Debug)]
pub struct NewPerson {
    pub name: Name,
    pub kind: Kind,
    pub head_count: i64,
    pub role: Role,
    pub age_band: AgeBand,
    pub sign_in: Option<String>,
    pub password_hash: Option<String>,
}

pub async fn insert(tx: &mut WriteTx, new: &NewPerson, at: Moment) -> sqlx::Result<PersonId> {
    sqlx::query_scalar!(
        r#"insert into person (name, kind, head_count, role, age_band, sign_in, password_hash, created_at)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) returning id as "id!: PersonId""#,
        new.name, new.kind, new.head_count, new.role, new.age_band, new.sign_in, new.password_hash, at,
    )
    .fetch_one(tx.conn())
    .await
}

/// Everybody, those who left last.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Person>> {
    sqlx::query_as!(
        Person,
        r#"select id as "id!: PersonId", name as "name: Name", kind as "kind: Kind", head_count, role as "role: Role",
                  age_band as "age_band: AgeBand", sign_in, ended_at is not null as "ended!: bool", version
             from person order by ended_at is not null, kind desc, name"#
    )
    .fetch_all(conn)
    .await
}

pub async fn by_id(conn: &mut SqliteConnection, id: PersonId) -> sqlx::Result<Option<Person>> {
    sqlx::query_as!(
        Person,
        r#"select id as "id!: PersonId", name as "name: Name", kind as "kind: Kind", head_count, role as "role: Role",
                  age_band as "age_band: AgeBand", sign_in, ended_at is not null as "ended!: bool", version
             from person where id = ?1"#,
        id,
    )
    .fetch_optional(conn)
    .await
}

/// What may be changed about a person or group.
#[derive(Clone, Debug)]
pub struct Changed {
    pub name: Name,
    pub head_count: i64,
    pub role: Role,
    pub age_band: AgeBand,
}

/// Whether the row was still the version that was read.
pub async fn update(
    tx: &mut WriteTx,
    id: PersonId,
    version: i64,
    changed: &Changed,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update person set name = ?3, head_count = ?4, role = ?5, age_band = ?6, version = version + 1
          where id = ?1 and version = ?2 and ended_at is null",
        id,
        version,
        changed.name,
        changed.head_count,
        changed.role,
        changed.age_band,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Gives a sign-in name, or a new one. The password is for its owner to set.
pub async fn set_sign_in(tx: &mut WriteTx, id: PersonId, sign_in: &str) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update person set sign_in = ?2, version = version + 1
          where id = ?1 and kind = 'person' and ended_at is null",
        id,
        sign_in,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Sets a password, ends the person's sessions, and with them the links that would set another.
pub async fn set_password(
    tx: &mut WriteTx,
    id: PersonId,
    password_hash: &str,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update person set password_hash = ?2, version = version + 1
          where id = ?1 and kind = 'person' and ended_at is null",
        id,
        password_hash,
    )
    .execute(tx.conn())
    .await?;
    session_store::delete_of(tx, id).await?;
    Ok(done.rows_affected() == 1)
}

/// Whether somebody has set a password.
pub async fn has_password(conn: &mut SqliteConnection, id: PersonId) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar!(
        "select count(*) from person where id = ?1 and password_hash is not null",
        id
    )
    .fetch_one(conn)
    .await?;
    Ok(found > 0)
}

/// Ends somebody's time in the crew: the sign-in and its sessions go, the name stays with the records.
pub async fn end(tx: &mut WriteTx, id: PersonId, version: i64, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update person set ended_at = ?3, sign_in = null, password_hash = null, version = version + 1
          where id = ?1 and version = ?2 and ended_at is null",
        id,
        version,
        at,
    )
    .execute(tx.conn())
    .await?;
    session_store::delete_of(tx, id).await?;
    Ok(done.rows_affected() == 1)
}

/// Takes somebody back who had left.
pub async fn take_back(tx: &mut WriteTx, id: PersonId) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update person set ended_at = null, version = version + 1 where id = ?1 and ended_at is not null",
        id,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Whether a coordinator who can sign in is left without this person.
pub async fn another_coordinator(
    conn: &mut SqliteConnection,
    than: PersonId,
) -> sqlx::Result<bool> {
    let others = sqlx::query_scalar!(
        "select count(*) from person
          where role = 'coordinator' and password_hash is not null and ended_at is null and id <> ?1",
        than,
    )
    .fetch_one(conn)
    .await?;
    Ok(others > 0)
}

/// A skill to be granted.
#[derive(Clone, Debug)]
pub struct NewSkill {
    pub person_id: PersonId,
    pub kind: SkillKind,
    pub granted_on: NaiveDate,
    pub expires_on: Option<NaiveDate>,
    pub evidence: String,
    pub granted_by: Option<PersonId>,
}

pub async fn insert_skill(tx: &mut WriteTx, new: &NewSkill) -> sqlx::Result<SkillId> {
    sqlx::query_scalar!(
        r#"insert into skill (person_id, kind, granted_on, expires_on, evidence, granted_by)
           values (?1, ?2, ?3, ?4, ?5, ?6) returning id as "id!: SkillId""#,
        new.person_id,
        new.kind,
        new.granted_on,
        new.expires_on,
        new.evidence,
        new.granted_by,
    )
    .fetch_one(tx.conn())
    .await
}

/// Every skill ever granted, newest first.
pub async fn skills(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Skill>> {
    sqlx::query_as!(
        Skill,
        r#"select id as "id!: SkillId", person_id as "person_id: PersonId", kind as "kind: SkillKind",
                  granted_on as "granted_on: NaiveDate", expires_on as "expires_on: NaiveDate", evidence,
                  granted_by as "granted_by: PersonId", withdrawn_at as "withdrawn_at: Moment"
             from skill order by id desc"#
    )
    .fetch_all(conn)
    .await
}

/// The skills ever granted to one person, newest first.
pub async fn skills_of(conn: &mut SqliteConnection, person: PersonId) -> sqlx::Result<Vec<Skill>> {
    sqlx::query_as!(
        Skill,
        r#"select id as "id!: SkillId", person_id as "person_id: PersonId", kind as "kind: SkillKind",
                  granted_on as "granted_on: NaiveDate", expires_on as "expires_on: NaiveDate", evidence,
                  granted_by as "granted_by: PersonId", withdrawn_at as "withdrawn_at: Moment"
             from skill where person_id = ?1 order by id desc"#,
        person,
    )
    .fetch_all(conn)
    .await
}

/// Whether it was there to be withdrawn.
pub async fn withdraw_skill(
    tx: &mut WriteTx,
    person: PersonId,
    skill: SkillId,
    at: Moment,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update skill set withdrawn_at = ?3 where id = ?2 and person_id = ?1 and withdrawn_at is null",
        person,
        skill,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Whether a person holds a skill on a day.
pub async fn holds(
    conn: &mut SqliteConnection,
    person: PersonId,
    kind: SkillKind,
    day: NaiveDate,
) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar!(
        "select count(*) from skill where person_id = ?1 and kind = ?2 and withdrawn_at is null
            and granted_on <= ?3 and (expires_on is null or expires_on >= ?3)",
        person,
        kind,
        day,
    )
    .fetch_one(conn)
    .await?;
    Ok(found > 0)
}
