//! Tokens for programs: one asks pages and sends forms for the person who made it, never further than
//! that person's role, and writes only in the rooms that it was made for.

use axum::http::{HeaderMap, header};
use chrono::TimeDelta;

use super::session::{drawn_token, hash};
use super::token_store::{self, NewToken};
use super::{Role, Who};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{ApiTokenId, PersonId};
use crate::state::App;
use crate::text::Name;

crate::words! {
    /// A part of the house that a token can be made to write in. People, the site, the methods and
    /// whatever somebody signs for by name are not among them.
    pub enum Room {
        Turnovers = "turnovers",
        Systems = "systems",
        Cleanouts = "clean-outs",
        Stock = "stock",
        Plan = "plan",
    }
}

impl Room {
    pub fn words(self) -> &'static str {
        match self {
            Self::Turnovers => "plantings, turnovers and their days",
            Self::Systems => "rooms, systems and their parts, jugs, kit, water, fills and tests",
            Self::Cleanouts => {
                "clean-outs proposed, booked and called off; no card, no step, no release"
            }
            Self::Stock => "products, lots, deliveries, counts",
            Self::Plan => "the plan posted, moved and let go",
        }
    }

    /// The room that a form belongs to, by the path of its route. None where a person signs by name.
    ///
    /// ```
    /// use slackwater::crew::token::Room;
    /// assert_eq!(Room::of("/stock/lots/{id}/count"), Some(Room::Stock));
    /// assert_eq!(Room::of("/clean-outs/{id}/issue"), None);
    /// // No program lets go of a rule.
    /// assert_eq!(Room::of("/clean-outs/{id}/rules"), None);
    /// assert_eq!(Room::of("/crew"), None);
    /// ```
    pub fn of(path: &str) -> Option<Self> {
        let mut parts = path.split('/').skip(1);
        let first = parts.next().unwrap_or_default();
        match first {
            "turnovers" => Some(Self::Turnovers),
            "systems" | "rooms" | "jugs" | "kit" | "water" | "reservoirs" | "benches" | "pumps"
            | "tubing" | "fills" | "flow-tests" | "retire" => Some(Self::Systems),
            // A list of what is open, so that a new route is shut until somebody thinks of it.
            "clean-outs" => match parts.nth(1) {
                None | Some("booking" | "choices" | "call-off") => Some(Self::Cleanouts),
                Some(_) => None,
            },
            "stock" => Some(Self::Stock),
            "plan" => Some(Self::Plan),
            _ => None,
        }
    }
}

/// How long a token may be made to last.
pub const LONGEST: TimeDelta = TimeDelta::days(400);
const SEEN_EVERY: TimeDelta = TimeDelta::minutes(5);
/// So that a token is known for what it is where it was left lying about.
const BEGINS: &str = "slackwater_";

/// A token as it stands on record.
#[derive(Clone, Debug)]
pub struct Token {
    pub id: ApiTokenId,
    pub name: Name,
    pub person_id: PersonId,
    pub person: Name,
    pub writes_in: Vec<Room>,
    pub made_at: Moment,
    pub expires_at: Moment,
    pub seen_at: Option<Moment>,
    pub ended: bool,
}

impl Token {
    pub fn lives(&self, now: Moment) -> bool {
        !self.ended && now < self.expires_at
    }
}

/// Makes one and returns what is shown once.
pub async fn make(
    tx: &mut WriteTx,
    person: PersonId,
    name: &Name,
    writes_in: &[Room],
    lasts: TimeDelta,
    now: Moment,
) -> anyhow::Result<(ApiTokenId, String)> {
    let token = format!("{BEGINS}{}", drawn_token()?);
    let new = NewToken {
        token_hash: hash(&token),
        person_id: person,
        name: name.clone(),
        writes_in: serde_json::to_string(writes_in)?,
        made_at: now,
        expires_at: now.plus(lasts.min(LONGEST)),
    };
    let id = token_store::insert(tx, &new).await?;
    Ok((id, token))
}

/// The token that a request carries, if it carries any.
pub fn carried(headers: &HeaderMap) -> Option<String> {
    let value = headers.get(header::AUTHORIZATION)?;
    let (scheme, token) = value.to_str().unwrap_or_default().split_once(' ')?;
    scheme
        .eq_ignore_ascii_case("bearer")
        .then(|| token.trim().to_owned())
}

/// Whoever a token speaks for, and where it may write.
pub async fn who(app: &App, token: &str) -> anyhow::Result<Option<(Who, Vec<Room>)>> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let found = token_store::who(&mut conn, &hash(token), now).await?;
    drop(conn);
    let Some(found) = found else {
        return Ok(None);
    };
    if found
        .seen_at
        .is_none_or(|seen| now.since(seen) >= SEEN_EVERY)
    {
        let mut tx = app.db.write().await?;
        token_store::seen(&mut tx, found.id, now).await?;
        tx.commit().await?;
    }
    Ok(Some((found.who, found.writes_in)))
}

/// Why a token may not ask for this; nothing when it may.
pub fn against(
    who: &Who,
    writes_in: &[Room],
    least: Role,
    reads: bool,
    path: &str,
) -> Option<String> {
    if !who.is_at_least(least) {
        return Some(format!(
            "This token speaks for {}, {}; this is for a {least}.",
            who.name, who.role
        ));
    }
    if reads {
        return None;
    }
    match Room::of(path) {
        None => Some("This is signed by a person, never by a program.".to_owned()),
        Some(room) if !writes_in.contains(&room) => {
            Some(format!("This token was not made to write in {room}."))
        }
        Some(_) => None,
    }
}
