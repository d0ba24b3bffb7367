//! The SQL of hours and days.

use anyhow::Context;
use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::{
    DayRange, DaySpan, NewDays, Owner, Source, Stretch, UnusualDays, UsualWeek, Week, What,
};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{KitId, PersonId, RoomId, SiteId, UnusualDaysId, UsualWeekId};
use crate::text::Name;

/// The four columns that say whose something is.
#[derive(Clone, Copy, Debug, Default)]
struct Columns {
    person: Option<PersonId>,
    room: Option<RoomId>,
    kit: Option<KitId>,
    site: Option<SiteId>,
}

impl From<Owner> for Columns {
    fn from(owner: Owner) -> Self {
        let mut columns = Self::default();
        match owner {
            Owner::Person(id) => columns.person = Some(id),
            Owner::Room(id) => columns.room = Some(id),
            Owner::Kit(id) => columns.kit = Some(id),
            Owner::Site(id) => columns.site = Some(id),
        }
        columns
    }
}

impl Columns {
    fn owner(self) -> Option<Owner> {
        (self.person.map(Owner::Person))
            .or(self.room.map(Owner::Room))
            .or(self.kit.map(Owner::Kit))
            .or(self.site.map(Owner::Site))
    }
}

struct WeekRow {
    id: UsualWeekId,
    person_id: Option<PersonId>,
    room_id: Option<RoomId>,
    in_force_from: NaiveDate,
    overtime_allowed: bool,
    author: Name,
    at: Moment,
    weekday: Option<i64>,
    from_min: Option<i64>,
    to_min: Option<i64>,
    overtime: Option<bool>,
}

/// Every week of this owner, or of everybody and every room; the one that counts from the latest day first.
pub async fn weeks(
    conn: &mut SqliteConnection,
    of: Option<Owner>,
) -> anyhow::Result<Vec<UsualWeek>> {
    let all = of.is_none();
    let Columns { person, room, .. } = of.map(Columns::from).unwrap_or_default();
    let rows = sqlx::query_as!(
        WeekRow,
        r#"select w.id as "id!: UsualWeekId", w.person_id as "person_id: PersonId", w.room_id as "room_id: RoomId",
                  w.in_force_from as "in_force_from: NaiveDate", w.overtime_allowed as "overtime_allowed: bool",
                  p.name as "author: Name", w.at as "at: Moment",
                  h.weekday as "weekday?", h.from_min as "from_min?", h.to_min as "to_min?", h.overtime as "overtime?: bool"
             from usual_week w join person p on p.id = w.author_id left join usual_hours h on h.week_id = w.id
            where ?1 or (w.person_id is ?2 and w.room_id is ?3)
            order by w.in_force_from desc, w.id desc, h.weekday, h.from_min"#,
        all, person, room,
    )
    .fetch_all(conn)
    .await?;
    rows.chunk_by(|one, next| one.id == next.id)
        .map(week_of)
        .collect()
}

/// A week from its rows, one for each of its stretches.
fn week_of(rows: &[WeekRow]) -> anyhow::Result<UsualWeek> {
    let first = rows.first().context("a week without a row")?;
    let broken = || format!("usual_week {}", first.id);
    let mut days: [Vec<Stretch>; 7] = Default::default();
    for row in rows {
        let (Some(weekday), Some(from), Some(to)) = (row.weekday, row.from_min, row.to_min) else {
            continue;
        };
        let hours = DaySpan::new(from, to).map_err(anyhow::Error::msg)?;
        let day = usize::try_from(weekday)
            .ok()
            .and_then(|day| days.get_mut(day));
        day.with_context(broken)?.push(Stretch {
            hours,
            overtime: row.overtime.unwrap_or(false),
        });
    }
    let owner = Columns {
        person: first.person_id,
        room: first.room_id,
        ..Columns::default()
    };
    Ok(UsualWeek {
        id: first.id,
        owner: owner.owner().with_context(broken)?,
        in_force_from: first.in_force_from,
        week: Week::new(days, first.overtime_allowed)
            .map_err(|(_, why)| anyhow::anyhow!("{}: {why}", broken()))?,
        author: first.author.clone(),
        at: first.at,
    })
}

pub async fn insert_week(
    tx: &mut WriteTx,
    owner: Owner,
    week: &Week,
    from: NaiveDate,
    author: PersonId,
    at: Moment,
) -> sqlx::Result<UsualWeekId> {
    let (Columns { person, room, .. }, allowed) = (owner.into(), week.overtime_allowed());
    let id = sqlx::query_scalar!(
        r#"insert into usual_week (person_id, room_id, in_force_from, overtime_allowed, author_id, at)
           values (?1, ?2, ?3, ?4, ?5, ?6) returning id as "id!: UsualWeekId""#,
        person, room, from, allowed, author, at,
    )
    .fetch_one(tx.conn())
    .await?;
    for weekday in 0..7u8 {
        for stretch in week.written(usize::from(weekday)) {
            let (from, to) = (stretch.hours.from_min(), stretch.hours.to_min());
            sqlx::query!(
                "insert into usual_hours (week_id, weekday, from_min, to_min, overtime) values (?1, ?2, ?3, ?4, ?5)",
                id, weekday, from, to, stretch.overtime,
            )
            .execute(tx.conn())
            .await?;
        }
    }
    Ok(id)
}

struct DaysRow {
    id: UnusualDaysId,
    person_id: Option<PersonId>,
    room_id: Option<RoomId>,
    kit_id: Option<KitId>,
    site_id: Option<SiteId>,
    what: What,
    name: String,
    from_on: NaiveDate,
    to_on: Option<NaiveDate>,
    from_min: Option<i64>,
    to_min: Option<i64>,
    count: Option<i64>,
    source: Source,
    author_id: PersonId,
    author: Name,
    at: Moment,
    corrects: Option<UnusualDaysId>,
    replaced: bool,
    taken_back: bool,
}

impl TryFrom<DaysRow> for UnusualDays {
    type Error = anyhow::Error;

    fn try_from(row: DaysRow) -> anyhow::Result<Self> {
        let broken = || format!("unusual_days {}", row.id);
        let owner = Columns {
            person: row.person_id,
            room: row.room_id,
            kit: row.kit_id,
            site: row.site_id,
        };
        let part = match (row.from_min, row.to_min) {
            (Some(from), Some(to)) => Some(DaySpan::new(from, to).map_err(anyhow::Error::msg)?),
            _ => None,
        };
        let days = DayRange::new(row.from_on, row.to_on).map_err(anyhow::Error::msg)?;
        Ok(Self {
            owner: owner.owner().with_context(broken)?,
            id: row.id,
            new: NewDays {
                what: row.what,
                name: row.name,
                days,
                part,
                count: row.count,
                source: row.source,
            },
            author_id: row.author_id,
            author: row.author,
            at: row.at,
            corrects: row.corrects,
            replaced: row.replaced,
            taken_back: row.taken_back,
        })
    }
}

/// Which days are asked for.
#[derive(Clone, Copy, Debug)]
enum Wanted {
    /// Every row that stands.
    Standing,
    /// Every row of one owner, replaced ones too.
    Of(Owner),
    One(UnusualDaysId),
}

async fn select(conn: &mut SqliteConnection, wanted: Wanted) -> anyhow::Result<Vec<UnusualDays>> {
    let standing = matches!(wanted, Wanted::Standing);
    let (owner, one) = match wanted {
        Wanted::Standing => (Columns::default(), None),
        Wanted::Of(owner) => (owner.into(), None),
        Wanted::One(id) => (Columns::default(), Some(id)),
    };
    let rows = sqlx::query_as!(
        DaysRow,
        r#"select d.id as "id!: UnusualDaysId", d.person_id as "person_id: PersonId", d.room_id as "room_id: RoomId",
                  d.kit_id as "kit_id: KitId", d.site_id as "site_id: SiteId", d.what as "what: What", d.name,
                  d.from_on as "from_on: NaiveDate", d.to_on as "to_on: NaiveDate", d.from_min, d.to_min, d.count,
                  d.source as "source: Source", d.author_id as "author_id: PersonId", p.name as "author: Name",
                  d.at as "at: Moment", d.corrects as "corrects: UnusualDaysId",
                  exists (select 1 from unusual_days later where later.corrects = d.id) as "replaced!: bool",
                  d.taken_back as "taken_back: bool"
             from unusual_days d join person p on p.id = d.author_id
            where (?1 and d.taken_back = 0 and not exists (select 1 from unusual_days later where later.corrects = d.id))
               or d.id = ?2 or d.person_id = ?3 or d.room_id = ?4 or d.kit_id = ?5 or d.site_id = ?6
            order by d.from_on, d.id"#,
        standing, one, owner.person, owner.room, owner.kit, owner.site,
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(UnusualDays::try_from).collect()
}

/// All days that stand, of everybody and everything, the earliest first.
pub async fn standing(conn: &mut SqliteConnection) -> anyhow::Result<Vec<UnusualDays>> {
    select(conn, Wanted::Standing).await
}

/// Every row about one owner, the replaced ones too, the earliest day first.
pub async fn days_of(
    conn: &mut SqliteConnection,
    owner: Owner,
) -> anyhow::Result<Vec<UnusualDays>> {
    select(conn, Wanted::Of(owner)).await
}

pub async fn days(
    conn: &mut SqliteConnection,
    id: UnusualDaysId,
) -> anyhow::Result<Option<UnusualDays>> {
    Ok(select(conn, Wanted::One(id)).await?.pop())
}

/// Adds days, in the place of an earlier row where one is named.
pub async fn insert_days(
    tx: &mut WriteTx,
    owner: Owner,
    new: &NewDays,
    corrects: Option<UnusualDaysId>,
    author: PersonId,
    at: Moment,
) -> sqlx::Result<UnusualDaysId> {
    insert(tx, owner, new, corrects, false, author, at).await
}

/// Takes days back: they never were, or are no longer so.
pub async fn take_back(
    tx: &mut WriteTx,
    old: &UnusualDays,
    author: PersonId,
    at: Moment,
) -> sqlx::Result<UnusualDaysId> {
    insert(tx, old.owner, &old.new, Some(old.id), true, author, at).await
}

async fn insert(
    tx: &mut WriteTx,
    owner: Owner,
    new: &NewDays,
    corrects: Option<UnusualDaysId>,
    taken_back: bool,
    author: PersonId,
    at: Moment,
) -> sqlx::Result<UnusualDaysId> {
    let Columns {
        person,
        room,
        kit,
        site,
    } = owner.into();
    let (from, to) = (new.days.from(), new.days.to());
    let part = new.part.map(|part| (part.from_min(), part.to_min()));
    let (from_min, to_min) = (part.map(|part| part.0), part.map(|part| part.1));
    sqlx::query_scalar!(
        r#"insert into unusual_days (person_id, room_id, kit_id, site_id, what, name, from_on, to_on, from_min, to_min,
                                     count, source, author_id, at, corrects, taken_back)
           values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)
           returning id as "id!: UnusualDaysId""#,
        person, room, kit, site, new.what, new.name, from, to, from_min, to_min, new.count, new.source, author, at,
        corrects, taken_back,
    )
    .fetch_one(tx.conn())
    .await
}
