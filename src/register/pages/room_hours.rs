//! When others are in a room: their usual week, and the days that are not as usual.

use askama::Template;
use axum::extract::{Path, State};
use sqlx::SqliteConnection;

use super::rooms::{found, in_use};
use crate::crew::{Role, Who};
use crate::hours::about::About;
use crate::hours::days_pages::DaysList;
use crate::hours::owned_pages::{HasDays, HasWeek};
use crate::hours::week_pages::{Told, in_words};
use crate::hours::{Owner, Week, in_force, store as hours_store};
use crate::ids::RoomId;
use crate::register::rooms::Room;
use crate::site::full_day;
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

fn about(room: &Room) -> About {
    let page = format!("/rooms/{}/hours", room.id);
    About {
        owner: Owner::Room(room.id),
        section: Section::Systems,
        kind: "room",
        id: room.id.get(),
        subject: room.figures.name.to_string(),
        crumbs: vec![
            ("/systems".to_owned(), "Systems".to_owned()),
            (page.clone(), format!("Hours of {}", room.figures.name)),
        ],
        days: format!("/rooms/{}/days", room.id),
        back: page,
    }
}

fn told(room: &Room) -> Told {
    Told {
        about: about(room),
        action: format!("/rooms/{}/hours/write", room.id),
        lead: "When others are in the room: a class, a market, visitors. Neither a dose nor the time in which the air clears belongs into these hours.".to_owned(),
        usual: Week::default(),
    }
}

impl HasDays for Room {
    type Id = RoomId;

    async fn with_days(
        conn: &mut SqliteConnection,
        id: RoomId,
    ) -> Result<(About, Option<i64>), AppError> {
        Ok((about(&in_use(conn, id).await?), None))
    }
}

impl HasWeek for Room {
    async fn with_week(
        conn: &mut SqliteConnection,
        id: RoomId,
        _who: &Who,
    ) -> Result<Told, AppError> {
        Ok(told(&in_use(conn, id).await?))
    }
}

#[derive(Template)]
#[template(path = "register/room_hours.html")]
struct RoomHoursPage {
    frame: Frame,
    room: Room,
    /// 'From 8 March 2027: Monday 09:00-12:00.'
    weeks: Vec<String>,
    list: DaysList,
    may_write: bool,
    may_add: bool,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<RoomId>,
) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let room = found(&mut conn, id).await?;
    let about = about(&room);
    let weeks = hours_store::weeks(&mut conn, Some(about.owner)).await?;
    let counts = in_force(&weeks, today).map(|week| week.id);
    let wanted = weeks
        .iter()
        .rev()
        .filter(|week| Some(week.id) == counts || week.in_force_from > today);
    let weeks = wanted
        .map(|week| {
            format!(
                "From {}: {}.",
                full_day(week.in_force_from),
                in_words(&week.week)
            )
        })
        .collect();
    let days = hours_store::days_of(&mut conn, about.owner).await?;
    let may_add = who.is_at_least(Role::Lead) && !room.retired;
    Ok(Page(RoomHoursPage {
        frame: who.frame(Section::Systems),
        list: DaysList::of(&days, &who, today, &about, may_add, true),
        weeks,
        may_write: who.is_at_least(Role::Coordinator) && !room.retired,
        may_add,
        room,
    }))
}
