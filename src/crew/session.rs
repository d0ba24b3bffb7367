//! Sessions: a random token in a cookie, and only its hash in the database.

use axum_extra::extract::cookie::{Cookie, CookieJar, SameSite};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::TimeDelta;
use sha2::{Digest, Sha256};

use super::{Who, store};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::state::App;

const COOKIE: &str = "slackwater_session";
/// A working day with some to spare; every sign-in begins a new one.
pub const LASTS: TimeDelta = TimeDelta::hours(12);

/// Begins a session and returns the cookie that carries it.
pub async fn begin(
    tx: &mut WriteTx,
    person: PersonId,
    now: Moment,
    https: bool,
) -> anyhow::Result<Cookie<'static>> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes)
        .map_err(|error| anyhow::anyhow!("no randomness for a session: {error}"))?;
    let token = URL_SAFE_NO_PAD.encode(bytes);
    store::insert_session(tx, &hash(&token), person, now, now.plus(LASTS)).await?;
    Ok(Cookie::build((COOKIE, token))
        .path("/")
        .http_only(true)
        .secure(https)
        .same_site(SameSite::Lax)
        .build())
}

/// Ends the session of this request, if it has one.
pub async fn end(tx: &mut WriteTx, jar: &CookieJar) -> sqlx::Result<()> {
    match jar.get(COOKIE) {
        Some(cookie) => store::delete_session(tx, &hash(cookie.value())).await,
        None => Ok(()),
    }
}

pub fn cleared() -> Cookie<'static> {
    Cookie::build((COOKIE, "")).path("/").build()
}

/// Who is signed in by this cookie.
pub async fn who(app: &App, jar: &CookieJar) -> anyhow::Result<Option<Who>> {
    let Some(cookie) = jar.get(COOKIE) else {
        return Ok(None);
    };
    let mut conn = app.db.read().await?;
    store::who(&mut conn, &hash(cookie.value()), app.clock.now()).await
}

fn hash(token: &str) -> String {
    URL_SAFE_NO_PAD.encode(Sha256::digest(token))
}
