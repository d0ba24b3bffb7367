//! The SQL of clean-outs and their cards.

use anyhow::Context;
use chrono::{Datelike, NaiveDate};
use sqlx::SqliteConnection;

use super::booking::Booking;
use super::card::FrozenCard;
use super::choices::Choices;
use super::clashes::{Decided, Despite};
use super::parts::{Line, Work};
use super::{Cleanout, MediaWas, State, TargetSource, Water, number_after};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, JugId, LotId, MethodVersionId, PersonId, PlantingId, SystemId};
use crate::science::stored::{Millilitres, Minutes, TenthsCelsius};
use crate::science::strength::{Basis, Strength};
use crate::text::{Name, Note};

struct Row {
    id: CleanoutId,
    number: String,
    system_id: SystemId,
    system_name: Name,
    room_name: Name,
    planting_id: Option<PlantingId>,
    method_version_id: MethodVersionId,
    state: State,
    starts_on: NaiveDate,
    starts_min: i64,
    length_min: Minutes,
    person_id: Option<PersonId>,
    person_name: Option<Name>,
    pours_person_id: Option<PersonId>,
    pours_name: Option<Name>,
    others: String,
    lot_id: Option<LotId>,
    jug_id: Option<JugId>,
    target_value: f64,
    target_basis: Basis,
    target_source: TargetSource,
    target_reference: String,
    solution_tenths_celsius: TenthsCelsius,
    water: Water,
    water_on_hand_ml: Option<Millilitres>,
    media_was: MediaWas,
    called_off_reason: Option<Note>,
    version: i64,
}

impl TryFrom<Row> for Cleanout {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        Ok(Self {
            target: Strength::new(row.target_value, row.target_basis)
                .with_context(|| format!("the target of clean-out {}", row.number))?,
            id: row.id,
            number: row.number,
            system_id: row.system_id,
            system_name: row.system_name,
            room_name: row.room_name,
            planting_id: row.planting_id,
            method_version_id: row.method_version_id,
            state: row.state,
            starts_on: row.starts_on,
            starts_min: row.starts_min,
            length: row.length_min,
            person_id: row.person_id,
            person_name: row.person_name,
            pours_id: row.pours_person_id,
            pours_name: row.pours_name,
            others: row.others,
            lot_id: row.lot_id,
            jug_id: row.jug_id,
            target_source: row.target_source,
            target_reference: row.target_reference,
            temperature: row.solution_tenths_celsius,
            water: row.water,
            water_on_hand: row.water_on_hand_ml,
            media_was: row.media_was,
            called_off_reason: row.called_off_reason,
            version: row.version,
        })
    }
}

/// The clean-outs that are wanted; what is not given is not asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wanted {
    pub id: Option<CleanoutId>,
    pub system: Option<SystemId>,
    pub planting: Option<PlantingId>,
    /// Not released and not called off.
    pub open: bool,
}

/// In the order in which they start, the latest last.
pub async fn wanted(conn: &mut SqliteConnection, wanted: Wanted) -> anyhow::Result<Vec<Cleanout>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select c.id as "id!: CleanoutId", c.number, c.system_id as "system_id: SystemId",
                  s.name as "system_name: Name", r.name as "room_name: Name",
                  c.planting_id as "planting_id: PlantingId", c.method_version_id as "method_version_id: MethodVersionId",
                  c.state as "state: State", c.starts_on as "starts_on: NaiveDate", c.starts_min,
                  c.length_min as "length_min: Minutes", c.person_id as "person_id: PersonId",
                  p.name as "person_name?: Name", c.pours_person_id as "pours_person_id: PersonId",
                  q.name as "pours_name?: Name", c.others, c.lot_id as "lot_id: LotId", c.jug_id as "jug_id: JugId",
                  c.target_value, c.target_basis as "target_basis: Basis", c.target_source as "target_source: TargetSource",
                  c.target_reference, c.solution_tenths_celsius as "solution_tenths_celsius: TenthsCelsius",
                  c.water as "water: Water", c.water_on_hand_ml as "water_on_hand_ml: Millilitres",
                  c.media_was as "media_was: MediaWas", c.called_off_reason as "called_off_reason: Note", c.version
             from cleanout c
             join system s on s.id = c.system_id
             join room r on r.id = s.room_id
             left join person p on p.id = c.person_id
             left join person q on q.id = c.pours_person_id
            where (?1 is null or c.id = ?1)
              and (?2 is null or c.system_id = ?2)
              and (?3 is null or c.planting_id = ?3)
              and (not ?4 or c.state not in ('released', 'called off'))
            order by c.starts_on, c.starts_min, c.id"#,
        wanted.id, wanted.system, wanted.planting, wanted.open,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Cleanout::try_from).collect()
}

/// Whether a dose was ever worked: a clean-out has its lot and its jug.
pub async fn any_dosed(conn: &mut SqliteConnection) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar!(
        "select exists(select 1 from cleanout where lot_id is not null and jug_id is not null)"
    )
    .fetch_one(conn)
    .await?;
    Ok(found == 1)
}

pub async fn all(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Cleanout>> {
    wanted(conn, Wanted::default()).await
}

pub async fn open(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Cleanout>> {
    let only = Wanted {
        open: true,
        ..Wanted::default()
    };
    wanted(conn, only).await
}

/// The id and the number of the open one that starts first.
pub async fn first_open(conn: &mut SqliteConnection) -> sqlx::Result<Option<(CleanoutId, String)>> {
    let row = sqlx::query!(
        r#"select id as "id!: CleanoutId", number from cleanout where state not in ('released', 'called off')
            order by starts_on, starts_min, id limit 1"#
    )
    .fetch_optional(conn)
    .await?;
    Ok(row.map(|row| (row.id, row.number)))
}

pub async fn of_system(
    conn: &mut SqliteConnection,
    system: SystemId,
) -> anyhow::Result<Vec<Cleanout>> {
    let only = Wanted {
        system: Some(system),
        ..Wanted::default()
    };
    wanted(conn, only).await
}

pub async fn by_id(
    conn: &mut SqliteConnection,
    id: CleanoutId,
) -> anyhow::Result<Option<Cleanout>> {
    let only = Wanted {
        id: Some(id),
        ..Wanted::default()
    };
    Ok(wanted(conn, only).await?.pop())
}

/// What a new clean-out is made from.
#[derive(Clone, Debug)]
pub struct NewCleanout {
    pub system_id: SystemId,
    pub planting_id: Option<PlantingId>,
    pub method_version_id: MethodVersionId,
    pub starts_on: NaiveDate,
    pub starts_min: i64,
    pub length: Minutes,
    pub target: Strength,
    pub target_source: TargetSource,
    pub target_reference: String,
}

/// Adds it under the next number of this year.
pub async fn insert(
    tx: &mut WriteTx,
    new: &NewCleanout,
    today: NaiveDate,
    at: Moment,
) -> sqlx::Result<(CleanoutId, String)> {
    let year = format!("{:02}-*", today.year().rem_euclid(100));
    let last = sqlx::query_scalar!(
        "select max(number) from cleanout where number glob ?1",
        year
    )
    .fetch_one(tx.conn())
    .await?;
    let number = number_after(last.as_deref(), today.year());
    let (value, basis) = (new.target.value(), new.target.basis());
    let id = sqlx::query_scalar!(
        r#"insert into cleanout (number, system_id, planting_id, method_version_id, state, starts_on, starts_min,
                                 length_min, target_value, target_basis, target_source, target_reference, created_at)
           values (?1, ?2, ?3, ?4, 'proposed', ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)
           returning id as "id!: CleanoutId""#,
        number, new.system_id, new.planting_id, new.method_version_id, new.starts_on, new.starts_min,
        new.length, value, basis, new.target_source, new.target_reference, at,
    )
    .fetch_one(tx.conn())
    .await?;
    Ok((id, number))
}

/// Moves it from the state it was read in to the next; false when somebody else was first.
pub async fn set_state(tx: &mut WriteTx, cleanout: &Cleanout, to: State) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update cleanout set state = ?1, version = version + 1 where id = ?2 and state = ?3",
        to,
        cleanout.id,
        cleanout.state,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Writes who does it and when. False when somebody else changed it meanwhile.
pub async fn book(
    tx: &mut WriteTx,
    cleanout: &Cleanout,
    to: State,
    booking: &Booking,
) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update cleanout set state = ?1, starts_on = ?2, starts_min = ?3, person_id = ?4, pours_person_id = ?5,
                             others = ?6, version = version + 1
          where id = ?7 and version = ?8",
        to, booking.starts_on, booking.starts_min, booking.person, booking.pours, booking.others,
        cleanout.id, booking.version,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Writes what the dose is worked from. False when somebody else changed it meanwhile.
pub async fn choose(tx: &mut WriteTx, id: CleanoutId, choices: &Choices) -> sqlx::Result<bool> {
    let (value, basis) = (choices.target.value(), choices.target.basis());
    let done = sqlx::query!(
        "update cleanout set lot_id = ?1, jug_id = ?2, target_value = ?3, target_basis = ?4, target_source = ?5,
                             target_reference = ?6, solution_tenths_celsius = ?7, water = ?8, water_on_hand_ml = ?9,
                             media_was = ?10, version = version + 1
          where id = ?11 and version = ?12",
        choices.lot, choices.jug, value, basis, choices.target_source, choices.target_reference,
        choices.temperature, choices.water, choices.water_on_hand, choices.media_was, id, choices.version,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Chooses what there is only one of, when it is proposed.
pub async fn preset(
    tx: &mut WriteTx,
    id: CleanoutId,
    lot: Option<LotId>,
    jug: Option<JugId>,
) -> sqlx::Result<()> {
    sqlx::query!(
        "update cleanout set lot_id = ?2, jug_id = ?3 where id = ?1",
        id,
        lot,
        jug
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// Puts a proposal elsewhere before anybody was told of it.
pub async fn propose_for(
    tx: &mut WriteTx,
    id: CleanoutId,
    starts_on: NaiveDate,
    starts_min: i64,
) -> sqlx::Result<()> {
    sqlx::query!(
        "update cleanout set starts_on = ?2, starts_min = ?3 where id = ?1 and state = 'proposed'",
        id,
        starts_on,
        starts_min
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// What was poured for it so far, in millilitres.
pub async fn poured(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        r#"select coalesce(sum(poured_ml), 0) as "sum!: i64" from pour where cleanout_id = ?1"#,
        id,
    )
    .fetch_one(conn)
    .await
}

/// When concentrate was poured last.
pub async fn last_pour(
    conn: &mut SqliteConnection,
    id: CleanoutId,
) -> sqlx::Result<Option<Moment>> {
    sqlx::query_scalar!(
        r#"select at as "at: Moment" from pour where cleanout_id = ?1 order by id desc limit 1"#,
        id,
    )
    .fetch_optional(conn)
    .await
}

/// When a step was over that is over still.
pub async fn step_over(
    conn: &mut SqliteConnection,
    id: CleanoutId,
    step_no: i64,
) -> sqlx::Result<Option<Moment>> {
    sqlx::query_scalar!(
        r#"select at as "at: Moment" from step_entry
            where id = (select max(id) from step_entry where cleanout_id = ?1 and step_no = ?2)
              and what in ('done', 'ended')"#,
        id,
        step_no,
    )
    .fetch_optional(conn)
    .await
}

/// Calls it off, with why.
pub async fn call_off(tx: &mut WriteTx, cleanout: &Cleanout, reason: &Note) -> sqlx::Result<bool> {
    let done =
        sqlx::query!(
        "update cleanout set state = 'called off', called_off_reason = ?1, version = version + 1
          where id = ?2 and state = ?3",
        reason, cleanout.id, cleanout.state,
    )
        .execute(tx.conn())
        .await?;
    Ok(done.rows_affected() == 1)
}

/// Freezes the card. A second one for the same clean-out is refused by the table.
pub async fn insert_card(
    tx: &mut WriteTx,
    id: CleanoutId,
    card: &FrozenCard,
) -> anyhow::Result<()> {
    let json = serde_json::to_string(card)?;
    sqlx::query!(
        "insert into cleanout_card (cleanout_id, card, person_id, at) values (?1, ?2, ?3, ?4)",
        id,
        json,
        card.issued_by.id,
        card.issued_at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// The card as it was issued, once it was.
pub async fn card_of(
    conn: &mut SqliteConnection,
    id: CleanoutId,
) -> anyhow::Result<Option<FrozenCard>> {
    let json = sqlx::query_scalar!("select card from cleanout_card where cleanout_id = ?1", id)
        .fetch_optional(conn)
        .await?;
    json.map(|json| {
        serde_json::from_str(&json).with_context(|| format!("the card of clean-out {id}"))
    })
    .transpose()
}

/// The parts of a clean-out as the newest posting that names it has them.
pub async fn posted_lines(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Vec<Line>> {
    let rows = sqlx::query!(
        r#"select work as "work: Work", from_at as "from: Moment", to_at as "to: Moment", person_id as "person: PersonId"
             from plan_line
            where cleanout_id = ?1
              and plan_id = (select max(l.plan_id) from plan_line l join plan p on p.id = l.plan_id
                              where l.cleanout_id = ?1 and p.standing = 'posted' and l.stood = 0)
            order by no"#,
        id,
    )
    .fetch_all(conn)
    .await?;
    let mut lines: Vec<Line> = Vec::new();
    for row in rows {
        match lines.last_mut() {
            Some(last) if last.work == row.work && last.from == row.from => {
                last.people.extend(row.person);
            }
            _ => lines.push(Line {
                work: row.work,
                from: row.from,
                to: row.to,
                people: row.person.into_iter().collect(),
            }),
        }
    }
    Ok(lines)
}

/// Writes down that it is booked although something stands against it.
pub async fn insert_despite(
    tx: &mut WriteTx,
    id: CleanoutId,
    booking: &Booking,
    despite: &Despite,
    by: PersonId,
    at: Moment,
) -> anyhow::Result<()> {
    let against = serde_json::to_string(&despite.against)?;
    sqlx::query!(
        "insert into booked_all_the_same (cleanout_id, starts_on, starts_min, person_id, pours_person_id, against, why, decided_by, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        id, booking.starts_on, booking.starts_min, booking.person, booking.pours, against, despite.why, by, at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}

/// What was decided of the booking as it stands now.
pub async fn despite(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
) -> anyhow::Result<Option<Decided>> {
    let row = sqlx::query!(
        r#"select d.against, d.why as "why: Note", p.name as "by: Name"
             from booked_all_the_same d join person p on p.id = d.decided_by
            where d.cleanout_id = ?1 and d.starts_on = ?2 and d.starts_min = ?3 and d.person_id = ?4
              and d.pours_person_id is ?5
            order by d.id desc limit 1"#,
        cleanout.id,
        cleanout.starts_on,
        cleanout.starts_min,
        cleanout.person_id,
        cleanout.pours_id,
    )
    .fetch_optional(conn)
    .await?;
    row.map(|row| {
        Ok(Decided {
            despite: Despite {
                against: serde_json::from_str(&row.against)
                    .with_context(|| format!("what stood against clean-out {}", cleanout.number))?,
                why: row.why,
            },
            by: row.by,
        })
    })
    .transpose()
}
