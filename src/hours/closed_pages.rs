//! The site's closed days: holidays, and the breaks between terms.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::Response;
use sqlx::SqliteConnection;

use super::about::About;
use super::days_pages::{self, DaysList};
use super::{Owner, store};
use crate::crew::{Role, Who};
use crate::ids::UnusualDaysId;
use crate::state::App;
use crate::web::{AppError, Form, Frame, Page, Section};

pub(super) const PATH: &str = "/site/closed";

pub fn about(who: &Who) -> About {
    About {
        owner: Owner::Site(who.site.id),
        section: Section::Site,
        kind: "site",
        id: who.site.id.get(),
        subject: who.site.name.to_string(),
        crumbs: vec![
            ("/site".to_owned(), "Site".to_owned()),
            (PATH.to_owned(), "Closed days".to_owned()),
        ],
        back: PATH.to_owned(),
        days: PATH.to_owned(),
    }
}

#[derive(Template)]
#[template(path = "hours/closed.html")]
struct ClosedPage {
    frame: Frame,
    list: DaysList,
    coordinator: bool,
}

impl ClosedPage {
    async fn load(conn: &mut SqliteConnection, who: &Who, app: &App) -> Result<Self, AppError> {
        let about = about(who);
        let all = store::days_of(conn, about.owner).await?;
        let today = who.site.today(app.clock.now());
        let coordinator = who.is_at_least(Role::Coordinator);
        Ok(Self {
            frame: who.frame(Section::Site),
            list: DaysList::of(&all, who, today, &about, coordinator, true),
            coordinator,
        })
    }
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    Ok(Page(ClosedPage::load(&mut conn, &who, &app).await?))
}

pub async fn new(State(app): State<App>, who: Who) -> Page<impl Template> {
    days_pages::open_new(&who, about(&who), None, who.site.today(app.clock.now()))
}

pub async fn add(
    State(app): State<App>,
    who: Who,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let tx = app.db.write_once(&form.once).await?;
    days_pages::add(tx, &who, about(&who), None, form.input, app.clock.now()).await
}

pub async fn change_form(
    State(app): State<App>,
    who: Who,
    Path(days): Path<UnusualDaysId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    days_pages::open_change(&mut conn, &who, about(&who), None, days).await
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    Path(days): Path<UnusualDaysId>,
    form: Form<days_pages::Input>,
) -> Result<Response, AppError> {
    let tx = app.db.write_once(&form.once).await?;
    let now = app.clock.now();
    days_pages::correct(tx, &who, about(&who), None, days, form.input, now).await
}
