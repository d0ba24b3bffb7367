//! Sessions: a random token in a cookie, and only its hash in the database.
//!
//! A session ends when somebody signs out, when it was not used for [`IDLE`], and in any case after
//! [`LASTS`]. NIST SP 800-63B-4, section 2.1.3 and 2.2.3, asks for limits that are written down and
//! suggests a day and an hour where two factors are used; a greenhouse has one factor, gloves, and
//! soaks of three hours with the rinses after them, so ours are half the day and five hours.

use axum_extra::extract::cookie::{Cookie, CookieJar, SameSite};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::TimeDelta;
use sha2::{Digest, Sha256};

use super::{Who, session_store};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::state::App;
use crate::web::Device;

/// A working day with some to spare; every sign-in begins a new one.
pub const LASTS: TimeDelta = TimeDelta::hours(12);
/// Longer than a usual soak and its rinses, shorter than a night.
pub const IDLE: TimeDelta = TimeDelta::hours(5);
/// How exactly it is known when a session was used last: not each page is worth a write.
const SEEN_EVERY: TimeDelta = TimeDelta::minutes(5);

/// A random token of 256 bits: guessing one is out of reach, so its hash needs no salt.
pub fn drawn_token() -> anyhow::Result<String> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes)
        .map_err(|error| anyhow::anyhow!("no randomness for a token: {error}"))?;
    Ok(URL_SAFE_NO_PAD.encode(bytes))
}

/// What is kept of a token.
pub fn hash(token: &str) -> String {
    URL_SAFE_NO_PAD.encode(Sha256::digest(token))
}

/// Over HTTPS the name carries the prefix with which a browser refuses to let another host set it.
pub fn cookie_name(own: &'static str, https: bool) -> String {
    if https {
        format!("__Host-{own}")
    } else {
        own.to_owned()
    }
}

const COOKIE: &str = "slackwater_session";

/// A cookie that no script reads and no other site sends along with a form.
pub fn kept(name: String, token: String, https: bool) -> Cookie<'static> {
    Cookie::build((name, token))
        .path("/")
        .http_only(true)
        .secure(https)
        .same_site(SameSite::Lax)
        .build()
}

/// Begins a session and returns the cookie that carries it.
pub async fn begin(
    tx: &mut WriteTx,
    person: PersonId,
    device: Device,
    now: Moment,
    https: bool,
) -> anyhow::Result<Cookie<'static>> {
    let token = drawn_token()?;
    session_store::insert(tx, &hash(&token), person, device, now).await?;
    Ok(kept(cookie_name(COOKIE, https), token, https))
}

/// Ends the session of this request, if it has one.
pub async fn end(tx: &mut WriteTx, jar: &CookieJar, https: bool) -> sqlx::Result<()> {
    match jar.get(&cookie_name(COOKIE, https)) {
        Some(cookie) => session_store::delete_by_hash(tx, &hash(cookie.value())).await,
        None => Ok(()),
    }
}

pub fn cleared(https: bool) -> Cookie<'static> {
    kept(cookie_name(COOKIE, https), String::new(), https)
}

/// Who is signed in by this cookie. Notes now and then that the session is in use.
pub async fn who(app: &App, jar: &CookieJar) -> anyhow::Result<Option<Who>> {
    let Some(cookie) = jar.get(&cookie_name(COOKIE, app.config.https)) else {
        return Ok(None);
    };
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let found = session_store::who(&mut conn, &hash(cookie.value()), now).await?;
    drop(conn);
    let Some((who, session, seen)) = found else {
        return Ok(None);
    };
    if now.since(seen) >= SEEN_EVERY {
        let mut tx = app.db.write().await?;
        session_store::seen(&mut tx, session, now).await?;
        tx.commit().await?;
    }
    Ok(Some(who))
}
