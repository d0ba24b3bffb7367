//! Tokens for programs: listed, made, ended.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::TimeDelta;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::token::{self, LONGEST, Room, Token};
use super::{Role, Who, password, store, token_store};
use crate::clock::Moment;
use crate::ids::ApiTokenId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Nothing, Page, Redirect, Refused, Section};

struct Line {
    token: Token,
    own: bool,
    may: String,
    until: String,
    seen: String,
}

#[derive(Template)]
#[template(path = "crew/tokens.html")]
struct TokensPage {
    frame: Frame,
    lines: Vec<Line>,
    sign_in: String,
    role: Role,
    input: Input,
    errors: FormErrors,
}

/// The token, shown once.
#[derive(Template)]
#[template(path = "crew/token.html")]
struct TokenPage {
    frame: Frame,
    name: Name,
    token: String,
    may: String,
    until: String,
}

#[derive(Clone, Default, Deserialize)]
#[serde(default)]
#[expect(
    missing_debug_implementations,
    reason = "the password must not reach a log"
)]
pub struct Input {
    name: String,
    days: String,
    writes_in: Vec<String>,
    password: String,
}

impl Input {
    fn writes(&self, room: &Room) -> bool {
        self.writes_in.iter().any(|word| word == room.code())
    }
}

fn may_words(rooms: &[Room]) -> String {
    let rooms: Vec<&str> = rooms.iter().map(|room| room.code()).collect();
    match rooms.as_slice() {
        [] => "reads".to_owned(),
        rooms => format!("reads, and writes in {}", rooms.join(", ")),
    }
}

impl TokensPage {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        now: Moment,
        input: Input,
        errors: FormErrors,
    ) -> Result<Self, AppError> {
        let person = store::by_id(conn, who.id).await?;
        let seen_by =
            |token: &Token| token.person_id == who.id || who.is_at_least(Role::Coordinator);
        let lines = token_store::all(conn)
            .await?
            .into_iter()
            .filter(|token| token.lives(now) && seen_by(token))
            .map(|token| Line {
                own: token.person_id == who.id,
                may: may_words(&token.writes_in),
                until: who.site.moment_words(token.expires_at),
                seen: token
                    .seen_at
                    .map_or_else(|| "never".to_owned(), |at| who.site.moment_words(at)),
                token,
            });
        Ok(Self {
            frame: who.frame(Section::Crew),
            lines: lines.collect(),
            sign_in: person.and_then(|person| person.sign_in).unwrap_or_default(),
            role: who.role,
            input,
            errors,
        })
    }
}

pub async fn list(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let input = Input {
        days: "90".to_owned(),
        ..Input::default()
    };
    let now = app.clock.now();
    let page = TokensPage::load(&mut conn, &who, now, input, FormErrors::default());
    Ok(Page(page.await?))
}

fn parse_days(typed: &str) -> Result<i64, String> {
    match typed.trim().parse() {
        Ok(days) if (1..=LONGEST.num_days()).contains(&days) => Ok(days),
        _ => Err(format!(
            "Write how many days it works, 1 to {}.",
            LONGEST.num_days()
        )),
    }
}

pub async fn make(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let input = form.input;
    let mut errors = FormErrors::default();
    let name = Name::parse(&input.name)
        .map_err(|_| "Write what it is for, in at most 60 characters: Weather station.");
    let name = errors.take("name", name);
    let days = errors.take("days", parse_days(&input.days));
    let rooms: Option<Vec<Room>> = input
        .writes_in
        .iter()
        .map(|word| Room::from_code(word))
        .collect();
    let rooms = errors.take("writes_in", rooms.ok_or("Choose from the list."));
    let mut conn = app.db.read().await?;
    let person = store::by_id(&mut conn, who.id).await?;
    drop(conn);
    let sign_in = person.and_then(|person| person.sign_in).unwrap_or_default();
    if !password::is_own(&app, &sign_in, input.password.clone()).await? {
        errors.add("password", "That is not the password you have now.");
    }
    let (Some(name), Some(days), Some(rooms), false) = (name, days, rooms, errors.any()) else {
        let mut conn = app.db.read().await?;
        let page = TokensPage::load(&mut conn, &who, now, input, errors).await?;
        return Ok(Refused(page).into_response());
    };
    let mut tx = app.db.write_once(&form.once).await?;
    let lasts = TimeDelta::days(days);
    let (id, token) = token::make(&mut tx, who.id, &name, &rooms, lasts, now).await?;
    let until = who.site.moment_words(now.plus(lasts));
    let entry = Entry::about("token", id.get(), name.as_str(), "token made");
    let entry = entry.with(json!({ "writes in": rooms, "works until": until }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    // The token is on this page and nowhere else: sent again, the form leads to the list.
    tx.finish("/tokens".to_owned(), now).await?;
    Ok(Page(TokenPage {
        frame: who.frame(Section::Crew),
        name,
        token,
        may: may_words(&rooms),
        until,
    })
    .into_response())
}

/// One's own ended; by a coordinator anybody's.
pub async fn end(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ApiTokenId>,
    form: Form<Nothing>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let found = token_store::open(tx.conn(), id)
        .await?
        .filter(|(of, _)| *of == who.id || who.is_at_least(Role::Coordinator));
    let (_, name) = found.ok_or(AppError::NotFound("token"))?;
    token_store::end(&mut tx, id, now).await?;
    let entry = Entry::about("token", id.get(), name.as_str(), "token ended");
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish("/tokens".to_owned(), now).await
}
